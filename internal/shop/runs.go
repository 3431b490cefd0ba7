package shop

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"
)

// Run answers a run of the shop, with its files.
func (s *Service) Run(ctx context.Context, shop ShopID, id string) (Run, error) {
	r, err := s.store.Run(ctx, shop, id)
	if errors.Is(err, ErrAbsent) || (err == nil && !ActorOf(ctx).sees(r)) {
		return Run{}, notFound("run", id)
	}
	return s.dated(r), err
}

// file answers a file of the shop, as far as whoever asks may see its run.
func (s *Service) file(ctx context.Context, shop ShopID, id string) (FileInfo, error) {
	f, err := s.store.File(ctx, shop, id)
	if err == nil && ActorOf(ctx).Scope == ScopeStorefront {
		var r Run
		if r, err = s.store.Run(ctx, shop, f.RunID); err == nil && !ActorOf(ctx).sees(r) {
			err = ErrAbsent
		}
	}
	if errors.Is(err, ErrAbsent) {
		return FileInfo{}, notFound("file", id)
	}
	return f, err
}

// Runs lists the shop's runs, the newest first, without their files.
func (s *Service) Runs(ctx context.Context, shop ShopID, cursor string, limit int) ([]Run, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	before, err := readRunCursor(cursor)
	if err != nil {
		return nil, "", err
	}
	rs, err := s.store.ListRuns(ctx, shop, before, limit+1)
	for i := range rs {
		rs[i] = s.dated(rs[i])
	}
	if err != nil || len(rs) <= limit {
		return rs, "", err
	}
	rs = rs[:limit]
	return rs, runCursor(rs[limit-1]), nil
}

// firstPoll is how soon WaitRun looks again for the first time.
const firstPoll = 20 * time.Millisecond

// WaitRun answers the run when it is over, or as it stands after d, or when the service drains.
func (s *Service) WaitRun(ctx context.Context, shop ShopID, id string, d time.Duration) (Run, error) {
	woken, stop := s.wakes.wait(id) // before looking, so that no end is missed in between
	defer stop()
	limit := time.NewTimer(d)
	defer limit.Stop()
	// Nobody rings here for a run that is made in another process. Most are made in a few hundredths of a second, so
	// looking begins often and becomes seldom.
	pause := min(firstPoll, s.terms.PollEvery)
	poll := time.NewTimer(pause)
	defer poll.Stop()
	for {
		r, err := s.Run(ctx, shop, id)
		if err != nil || Over(r.State) || d <= 0 {
			return r, err
		}
		select {
		case <-woken:
		case <-poll.C:
			pause = min(pause*3/2, s.terms.PollEvery)
			poll.Reset(pause)
		case <-limit.C:
			return s.Run(ctx, shop, id)
		case <-s.draining:
			return r, nil
		case <-ctx.Done():
			return r, ctx.Err()
		}
	}
}

// CancelRun asks that a run be cancelled: a queued one is at once, one that is being made soon, and
// one that is over stays as it is. The answer tells which.
func (s *Service) CancelRun(ctx context.Context, shop ShopID, id string) (Run, error) {
	if ActorOf(ctx).Scope == ScopeStorefront {
		if _, err := s.Run(ctx, shop, id); err != nil {
			return Run{}, err
		}
	}
	now := s.now()
	r, err := s.store.AskCancel(ctx, shop, id, now)
	if errors.Is(err, ErrAbsent) {
		return Run{}, notFound("run", id)
	}
	if err == nil {
		if r.State == StateCancelled && r.FinishedAt.Equal(now) { // just now, and by nobody else
			s.meter.RunOver(StateCancelled, "")
		}
		s.note(ctx, shop, DidCancel, id)
		s.wakes.ring(id)
		s.ringHooks()
	}
	return s.dated(r), err
}

// RunFiles lists the files of a run, in the order they were made.
func (s *Service) RunFiles(ctx context.Context, shop ShopID, id string) ([]FileInfo, error) {
	r, err := s.Run(ctx, shop, id)
	return r.Files, err
}

// OpenFile answers a file of the shop and its bytes, which the caller closes.
func (s *Service) OpenFile(ctx context.Context, shop ShopID, id string) (FileInfo, io.ReadSeekCloser, error) {
	f, err := s.file(ctx, shop, id)
	if err != nil {
		return FileInfo{}, nil, err
	}
	r, err := s.content(ctx, f)
	if err != nil {
		return FileInfo{}, nil, err
	}
	return f, r, nil
}

// content opens a file's bytes, which are as many as it says.
func (s *Service) content(ctx context.Context, f FileInfo) (io.ReadSeekCloser, error) {
	r, n, err := s.files.Open(ctx, f.SHA256)
	if err != nil {
		return nil, fmt.Errorf("file %s of run %s: content %s: %w", f.ID, f.RunID, f.SHA256, err)
	}
	if n != f.Bytes {
		_ = r.Close() // not read
		return nil, fmt.Errorf("file %s of run %s: content %s has %d bytes, not %d", f.ID, f.RunID, f.SHA256, n, f.Bytes)
	}
	return r, nil
}

// wakes lets whoever waits for a run in this process know at once that something happened to it.
type wakes struct {
	mu sync.Mutex
	m  map[string]map[chan struct{}]bool
}

func (w *wakes) wait(id string) (<-chan struct{}, func()) {
	c := make(chan struct{}, 1)
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.m == nil {
		w.m = make(map[string]map[chan struct{}]bool)
	}
	if w.m[id] == nil {
		w.m[id] = make(map[chan struct{}]bool)
	}
	w.m[id][c] = true
	return c, func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.m[id], c)
		if len(w.m[id]) == 0 {
			delete(w.m, id)
		}
	}
}

func (w *wakes) ring(id string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	for c := range w.m[id] {
		select {
		case c <- struct{}{}:
		default:
		}
	}
}
