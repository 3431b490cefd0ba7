package shop

import (
	"context"
	"errors"
	"time"
)

const (
	relayBatch = 100
	relayLease = 10 * time.Second // a relay that dies in the middle of a batch holds it up so long
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

// Relay hands due outbox rows to the queue, one batch, and says how many. Any number of relays may
// work at once. A row that was handed over but not struck out is handed over again: the queue is
// told the same task, and a worker is the wiser by its claim.
func (s *Service) Relay(ctx context.Context) (int, error) {
	now := s.now()
	ds, err := s.store.TakeDue(ctx, now, now.Add(relayLease), relayBatch, s.terms.InFlight)
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
