package shop

import (
	"context"
	"errors"
	"sync"
	"time"
)

const (
	relayBatch = 100
	// inQueueEach runs per worker are all of one shop's that may be with the queue and the workers: one that is
	// made and one that comes next, so that no worker is idle. Whoever orders while another shop has thousands
	// waiting has these before it, and no more.
	inQueueEach = 2
	relayLease  = 10 * time.Second // a relay that dies in the middle of a batch holds it up so long
)

func (s *Service) ringOutbox() {
	select {
	case s.outbox <- struct{}{}:
	default:
	}
}

// OutboxRung is rung when this process has put something in the outbox; a relay that listens need
// not wait for its next look.
func (s *Service) OutboxRung() <-chan struct{} { return s.outbox }

// workers remembers how many runs all processes together make at a time.
type workers struct {
	mu sync.Mutex
	n  int
	at time.Time
}

const workersFor = 5 * time.Second

// count asks the queue, which hears from every worker, now and then; a queue that does not know stands for
// this process alone.
func (w *workers) count(ctx context.Context, s *Service) int {
	w.mu.Lock()
	defer w.mu.Unlock()
	q, ok := s.queue.(Staffed)
	if !ok {
		return s.terms.Concurrent
	}
	if now := time.Now(); w.n == 0 || now.Sub(w.at) > workersFor {
		n, err := q.Workers(ctx)
		if err != nil {
			s.log.DebugContext(ctx, "the queue does not tell its workers", "error", err)
		}
		w.n, w.at = max(n, 1), now
		if n == 0 {
			w.n = s.terms.Concurrent
		}
	}
	return w.n
}

// Relay hands due outbox rows to the queue, one batch, and says how many. Any number of relays may
// work at once. A row that was handed over but not struck out is handed over again: the queue is
// told the same task, and a worker is the wiser by its claim.
func (s *Service) Relay(ctx context.Context) (int, error) {
	now := s.now()
	ds, err := s.store.TakeDue(ctx, now, now.Add(relayLease), relayBatch, s.terms.InFlight, inQueueEach*s.workers.count(ctx, s))
	if err != nil || len(ds) == 0 {
		return 0, err
	}
	handed := ds[:0:0]
	var failure error
	for _, d := range ds {
		if failure = s.queue.Enqueue(ctx, d); failure != nil {
			break // the rest would fare the same; they are due again when the lease is over
		}
		handed = append(handed, d)
	}
	if len(handed) == 0 {
		return 0, failure
	}
	return len(handed), errors.Join(failure, s.store.HandedOver(ctx, handed, s.now()))
}

// Reconcile finds unfinished runs that nobody is at, because the queue lost them or their worker
// died, and puts them in the outbox again.
//
// A run that was handed over and not begun may just be waiting its turn, so it is given StaleAfter;
// but when the queue remembers only since later, it has lost the run and there is nothing to wait for.
func (s *Service) Reconcile(ctx context.Context) (int, error) {
	now := s.now()
	began, err := s.queue.Began(ctx, now)
	if err != nil {
		return 0, err // the queue is away: there is nothing to hand over to
	}
	before := now.Add(-s.terms.StaleAfter)
	if began.After(before) {
		before = began
	}
	return s.forsaken(ctx, before, false)
}

// Recover is Reconcile for a process that has just started and knows that it is the only one:
// every run that claims to be in some worker's hands is forsaken.
func (s *Service) Recover(ctx context.Context) (int, error) {
	return s.forsaken(ctx, s.now(), true)
}

func (s *Service) forsaken(ctx context.Context, handedBefore time.Time, all bool) (int, error) {
	total := 0
	for {
		const batch = 500
		now := s.now()
		n, err := s.store.Forsaken(ctx, Forsaken{Now: now, HandedBefore: handedBefore, AllLeases: all, Limit: batch,
			NewID: func() string { return s.newID("out") }})
		total += n
		if err != nil || n < batch {
			if total > 0 {
				s.log.WarnContext(ctx, "forsaken runs put in the outbox again", "runs", total)
				s.ringOutbox()
			}
			return total, err
		}
	}
}

// Sweep forgets old idempotency keys and frees contents that no run has. It says how many contents
// it freed.
func (s *Service) Sweep(ctx context.Context) (int, error) {
	now := s.now()
	if _, err := s.store.Forget(ctx, now.Add(-IdempotencyKept)); err != nil {
		return 0, err
	}
	if err := s.dropLinkKeys(ctx); err != nil {
		return 0, err
	}
	for {
		const batch = 1000
		if n, err := s.store.ForgetEvents(ctx, now.Add(-EventsKept), batch); err != nil {
			return 0, err
		} else if n < batch {
			break
		}
	}
	if err := s.forgetOld(ctx, now); err != nil {
		return 0, err
	}
	old := now.Add(-s.terms.OrphanAge)
	freed := 0
	var batch []string
	free := func() error {
		has, err := s.store.Referenced(ctx, batch)
		if err != nil {
			return err
		}
		for _, sum := range batch {
			if !has[sum] {
				if err := s.files.Delete(ctx, sum, old); err != nil {
					return err
				}
				freed++
			}
		}
		batch = batch[:0]
		return nil
	}
	err := s.files.Walk(ctx, func(sum string, modified time.Time) error {
		if modified.After(old) {
			return nil
		}
		if batch = append(batch, sum); len(batch) < 500 {
			return nil
		}
		return free()
	})
	if err == nil && len(batch) > 0 {
		err = free()
	}
	if freed > 0 {
		s.log.InfoContext(ctx, "unused contents freed", "contents", freed)
	}
	return freed, err
}
