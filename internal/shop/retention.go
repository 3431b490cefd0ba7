package shop

import (
	"context"
	"errors"
	"time"
)

// A run is kept for Terms.KeepRuns after it is over. Then it expires: its files go, and everything that
// says for whom it was made: stamp, sizes and measurements, report, external_id. What stays is a row with
// its id, style and times, so that lists stay whole and an old address tells that the run has expired, not
// that it never was. The external_id goes too: it leads to a buyer, and without the files it would
// only stand in the way of making the order again.
//
// Deleting a run erases the row as well.

const retireBatch = 200

// dated tells when the run expires. It is worked out, not kept: a setting that changes counts for
// every run.
func (s *Service) dated(r Run) Run {
	switch {
	case !r.ExpiredAt.IsZero():
		r.ExpiresAt = r.ExpiredAt
	case !r.FinishedAt.IsZero():
		r.ExpiresAt = r.FinishedAt.Add(s.terms.KeepRuns)
	}
	return r
}

// freeAfter is how long contents that a run let go of are left alone: longer than any worker takes from
// looking for a content, or putting one, to giving it to its run.
func (s *Service) freeAfter() time.Duration { return s.terms.RunTime + s.terms.LeaseFor + time.Minute }

// DeleteRun erases a run. One that is being made is cancelled and erased when it stops; then it is
// answered as it stands, and gone is false.
func (s *Service) DeleteRun(ctx context.Context, shop ShopID, id string) (r Run, gone bool, err error) {
	now := s.now()
	gone, err = s.store.EraseRun(ctx, shop, id, now, now.Add(s.freeAfter()))
	if errors.Is(err, ErrAbsent) {
		return Run{}, false, notFound("run", id)
	}
	if err != nil {
		return Run{}, false, err
	}
	s.note(ctx, shop, DidErase, id)
	s.quotas.drop(shop) // it keeps less now
	s.wakes.ring(id)
	s.ringHooks()
	s.log.InfoContext(ctx, "run deleted", "run", id, "shop", string(shop), "gone", gone)
	if gone {
		return Run{}, true, nil
	}
	r, err = s.Run(ctx, shop, id)
	if KindOf(err) == NotFound { // it has stopped in between, and is gone
		return Run{}, true, nil
	}
	return r, false, err
}

// Retire lets go of what has had its time: runs that were deleted while they were made, runs that
// expire, contents that no run has any more. It says how many.
func (s *Service) Retire(ctx context.Context) (int, error) {
	total, err := s.eraseAsked(ctx)
	if err != nil {
		return total, err
	}
	expired, err := s.batches(func(now time.Time) (int, error) {
		return s.store.ExpireRuns(ctx, now.Add(-s.terms.KeepRuns), now, now.Add(s.freeAfter()), retireBatch)
	})
	total += expired
	if err != nil {
		return total, err
	}
	freed, err := s.batches(func(now time.Time) (int, error) {
		n, free, err := s.store.TakeDiscards(ctx, now, retireBatch)
		for _, sum := range free {
			// What can't be freed now has no run: the sweeper finds it.
			err = errors.Join(err, s.files.Delete(ctx, sum, now.Add(-s.freeAfter())))
		}
		return n, err
	})
	if total+freed > 0 {
		s.log.InfoContext(ctx, "retired", "expired", expired, "erased", total-expired, "contents", freed)
	}
	return total + freed, err
}

func (s *Service) eraseAsked(ctx context.Context) (int, error) {
	return s.batches(func(now time.Time) (int, error) {
		return s.store.EraseAsked(ctx, now.Add(s.freeAfter()), retireBatch)
	})
}

// batches calls f until a batch is not full: each is a transaction of its own, so that nobody waits long.
func (s *Service) batches(f func(now time.Time) (int, error)) (int, error) {
	total := 0
	for {
		n, err := f(s.now())
		total += n
		if err != nil || n < retireBatch {
			return total, err
		}
	}
}
