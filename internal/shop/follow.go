package shop

import (
	"context"
	"errors"
	"time"
)

// FollowRun answers a run as soon as its revision is beyond the given one, and changed is true; nothing
// has changed when d is over first. ErrDraining ends whoever follows when the service stops.
func (s *Service) FollowRun(ctx context.Context, shop ShopID, id string, after int64, d time.Duration) (r Run, changed bool, err error) {
	woken, stop := s.wakes.wait(id) // before looking, so that no change is missed in between
	defer stop()
	limit := time.NewTimer(d)
	defer limit.Stop()
	poll := time.NewTicker(s.terms.PollEvery)
	defer poll.Stop()
	for {
		n, err := s.store.Revision(ctx, shop, id)
		if errors.Is(err, ErrAbsent) {
			err = notFound("run", id)
		}
		if err != nil {
			return Run{}, false, err
		}
		if n > after {
			r, err := s.Run(ctx, shop, id)
			return r, err == nil, err
		}
		select {
		case <-woken:
		case <-poll.C:
		case <-limit.C:
			return Run{}, false, nil
		case <-s.draining:
			return Run{}, false, ErrDraining
		case <-ctx.Done():
			return Run{}, false, ctx.Err()
		}
	}
}
