package shop_test

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// panicky panics over every check.
type panicky struct{ shop.Maker }

func (panicky) Check(context.Context, shop.Making) ([]byte, shop.Summary, error) { panic("nil chart") }

func TestARunThatBreaksOffIsTriedAgainAndThenGivenUp(t *testing.T) {
	for name, misbehave := range map[string]func(context.Context, shop.Making) error{
		"by an error": func(context.Context, shop.Making) error { return errors.New("disk full") },
		"by a panic":  func(context.Context, shop.Making) error { panic("index out of range") },
	} {
		t.Run(name, func(t *testing.T) {
			h := open(t, nil)
			h.maker.Before = misbehave
			r := h.order(plain)
			for try := 1; try < 3; try++ {
				h.work()
				h.state(r.ID, shop.StateMaking)
				if n := h.maker.Makes.Load(); n != int64(try) {
					t.Fatalf("made %d times after try %d", n, try)
				}
				h.clock.Pass(time.Hour)
			}
			h.work()
			r = h.state(r.ID, shop.StateFailed)
			if r.Problem.Rule != shop.ProblemGaveUp || len(r.Files) != 0 || h.maker.Makes.Load() != 3 {
				t.Errorf("%+v, files %v, made %d times", r.Problem, r.Files, h.maker.Makes.Load())
			}
		})
	}
}

func TestARunThatBreaksOffOnceIsDoneInTheEnd(t *testing.T) {
	h := open(t, nil)
	var n atomic.Int64
	h.maker.Before = func(context.Context, shop.Making) error {
		if n.Add(1) < 3 {
			panic("not yet")
		}
		return nil
	}
	r := h.order(plain)
	for range 3 {
		h.work()
		h.clock.Pass(time.Hour)
	}
	h.state(r.ID, shop.StateDone)
}

func TestARunThatKillsItsWorkersIsGivenUpWithoutBeingMadeAgain(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	for range 3 { // claimed by workers that died with it
		_, err := h.store.Claim(h.ctx, r.ID, h.clock.Now(), h.clock.Now().Add(time.Minute))
		h.ok(err)
		h.clock.Pass(time.Hour)
	}
	n, err := h.Reconcile(h.ctx)
	if err != nil || n != 0 { // its first outbox row is still there
		t.Errorf("%d forsaken, %v", n, err)
	}
	h.work()
	if r = h.state(r.ID, shop.StateFailed); r.Problem.Rule != shop.ProblemGaveUp || h.maker.Makes.Load() != 0 {
		t.Errorf("%+v, made %d times", r.Problem, h.maker.Makes.Load())
	}
}

func TestARunThatHangsFreesItsRunAndKeepsItsSlot(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.RunTime, d.Terms.Concurrent = 20*time.Millisecond, 1 })
	letGo := make(chan struct{})
	var first atomic.Bool
	h.maker.Before = func(context.Context, shop.Making) error {
		if first.CompareAndSwap(false, true) {
			<-letGo // deaf to its context
		}
		return nil
	}
	r := h.order(plain)
	h.work()
	h.state(r.ID, shop.StateMaking) // handed back
	h.clock.Pass(time.Hour)
	ctx, cancel := context.WithTimeout(h.ctx, 30*time.Millisecond)
	defer cancel()
	if err := h.Perform(ctx, r.ID); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("it began while the maker still holds the only slot: %v", err)
	}
	close(letGo)
	h.work()
	if got := h.state(r.ID, shop.StateDone); len(got.Files) != 3 {
		t.Errorf("%d files", len(got.Files))
	}
}

func TestARunThatIsAlwaysTooSlowIsToldSo(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.RunTime = 10 * time.Millisecond })
	h.maker.Before = func(ctx context.Context, _ shop.Making) error { <-ctx.Done(); return ctx.Err() }
	r := h.order(plain)
	for range 3 {
		h.work()
		h.clock.Pass(time.Hour)
	}
	if r = h.state(r.ID, shop.StateFailed); r.Problem.Rule != shop.ProblemTimeout {
		t.Errorf("%+v", r.Problem)
	}
}

func TestACancelReachesTheMaker(t *testing.T) {
	h := open(t, nil)
	begun := make(chan struct{})
	h.maker.Before = func(ctx context.Context, _ shop.Making) error { close(begun); <-ctx.Done(); return ctx.Err() }
	r := h.order(plain)
	var wg sync.WaitGroup
	wg.Go(h.work)
	<-begun
	got, err := h.CancelRun(h.ctx, h.shop, r.ID)
	if err != nil || !got.CancelAsked || got.State != shop.StateMaking {
		t.Errorf("%+v, %v", got, err)
	}
	wg.Wait()
	if r = h.state(r.ID, shop.StateCancelled); len(r.Files) != 0 {
		t.Errorf("%d files", len(r.Files))
	}
}

func TestACancelOfAQueuedRunMakesNothing(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	if _, err := h.Relay(h.ctx); err != nil {
		t.Fatal(err)
	}
	if got, err := h.CancelRun(h.ctx, h.shop, r.ID); err != nil || got.State != shop.StateCancelled {
		t.Errorf("%s, %v", got.State, err)
	}
	h.ok(h.Perform(h.ctx, r.ID)) // the queue has it already
	h.state(r.ID, shop.StateCancelled)
	if h.maker.Makes.Load() != 0 {
		t.Error("it was made")
	}
}

func TestAShutdownHandsTheRunBackWithoutCountingTheTry(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.MaxTries = 1 })
	begun := make(chan struct{}, 1)
	var deaf atomic.Bool
	deaf.Store(true)
	h.maker.Before = func(ctx context.Context, _ shop.Making) error {
		if deaf.Load() {
			begun <- struct{}{}
			<-ctx.Done()
			return ctx.Err()
		}
		return nil
	}
	r := h.order(plain)
	for range 3 {
		ctx, shutdown := context.WithCancel(h.ctx)
		var wg sync.WaitGroup
		wg.Go(func() {
			if err := h.Perform(ctx, r.ID); err != nil {
				t.Error(err)
			}
		})
		<-begun
		shutdown()
		wg.Wait()
		h.state(r.ID, shop.StateMaking)
	}
	deaf.Store(false)
	h.work()
	h.state(r.ID, shop.StateDone)
}

func TestAnOvertakenWorkerStopsAndLeavesNothing(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.LeaseFor = time.Minute })
	begun, stopped := make(chan struct{}), make(chan error, 1)
	var first atomic.Bool
	h.maker.Before = func(ctx context.Context, _ shop.Making) error {
		if !first.CompareAndSwap(false, true) {
			return nil
		}
		close(begun)
		<-ctx.Done()
		stopped <- context.Cause(ctx)
		return nil // and goes on to make everything, late
	}
	r := h.order(plain)
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := h.Perform(h.ctx, r.ID); err != nil {
			t.Error(err)
		}
	})
	<-begun
	// Another worker, which believes the lease to be over.
	_, err := h.store.Claim(h.ctx, r.ID, h.clock.Now().Add(time.Hour), h.clock.Now().Add(2*time.Hour))
	h.ok(err)
	if err := <-stopped; !errors.Is(err, shop.ErrFenced) {
		t.Errorf("stopped by %v", err)
	}
	wg.Wait()
	h.state(r.ID, shop.StateMaking)
	h.clock.Pass(5 * time.Hour)
	h.work()
	if got := h.state(r.ID, shop.StateDone); len(got.Files) != 3 {
		t.Errorf("%d files", len(got.Files))
	}
}

func TestProgressIsStoredWhileItIsMade(t *testing.T) {
	h := open(t, nil)
	seen := make(chan struct{})
	h.maker.Before = func(context.Context, shop.Making) error { <-seen; return nil }
	slow := &slowly{Maker: h.maker, at: make(chan int), wait: make(chan struct{})}
	h2 := shop.New(shop.Deps{Store: h.store, Queue: h.queue, Files: h.files, Maker: slow, Clock: h.clock.Now, Terms: shop.Terms{TouchEvery: 4 * time.Millisecond}})
	close(seen)
	r := h.order(plain)
	var wg sync.WaitGroup
	wg.Go(func() {
		if err := h2.Perform(h.ctx, r.ID); err != nil {
			t.Error(err)
		}
	})
	for want := 1; want <= 3; want++ {
		<-slow.at
		for end := time.Now().Add(5 * time.Second); ; time.Sleep(time.Millisecond) {
			if got := h.state(r.ID, shop.StateMaking); got.Progress == (shop.Progress{Stage: "grade", Done: want, Total: 3}) {
				break
			} else if time.Now().After(end) {
				t.Fatalf("size %d: stored is %+v", want, got.Progress)
			}
		}
		slow.wait <- struct{}{}
	}
	wg.Wait()
	h.state(r.ID, shop.StateDone)
}

// slowly stops after each step of progress until it is told to go on.
type slowly struct {
	shop.Maker
	at   chan int
	wait chan struct{}
}

func (s *slowly) Make(ctx context.Context, m shop.Making, progress func(string, int, int)) (shop.Product, error) {
	return s.Maker.Make(ctx, m, func(stage string, done, total int) {
		progress(stage, done, total)
		s.at <- done
		<-s.wait
	})
}

func TestWaitingEndsWithTheRunWithTimeAndWithTheService(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.PollEvery = time.Hour }) // so that only the wake-up can end it
	r := h.order(plain)
	got, err := h.WaitRun(h.ctx, h.shop, r.ID, 10*time.Millisecond)
	if err != nil || got.State != shop.StateQueued {
		t.Errorf("after its time: %s, %v", got.State, err)
	}
	done := make(chan shop.Run, 1)
	go func() {
		r, err := h.WaitRun(h.ctx, h.shop, r.ID, time.Minute)
		if err != nil {
			t.Error(err)
		}
		done <- r
	}()
	time.Sleep(10 * time.Millisecond)
	h.work()
	if got := <-done; got.State != shop.StateDone || len(got.Files) != 3 {
		t.Errorf("woken at %s", got.State)
	}
	r = h.order(`{"style": "sleeve", "stamp": "another"}`)
	go func() { time.Sleep(10 * time.Millisecond); h.Drain() }()
	if got, err := h.WaitRun(h.ctx, h.shop, r.ID, time.Minute); err != nil || got.State != shop.StateQueued {
		t.Errorf("while draining: %s, %v", got.State, err)
	}
	if err := h.Ready(h.ctx); !errors.Is(err, shop.ErrDraining) {
		t.Errorf("ready: %v", err)
	}
}

func TestReadyNeedsDatabaseAndQueue(t *testing.T) {
	h := open(t, nil)
	h.ok(h.Ready(h.ctx))
	h.queue.mu.Lock()
	h.queue.away = errors.New("connection refused")
	h.queue.mu.Unlock()
	if err := h.Ready(h.ctx); err == nil {
		t.Error("ready without a queue")
	}
}

func TestAQueueThatIsAwayLosesNothing(t *testing.T) {
	h := open(t, nil)
	h.queue.away = errors.New("connection refused")
	r := h.order(plain) // is accepted all the same
	if _, err := h.Relay(h.ctx); err == nil {
		t.Error("the relay did not notice")
	}
	h.queue.away = nil
	h.clock.Pass(time.Minute)
	h.work()
	h.state(r.ID, shop.StateDone)
}

func TestARunThatTheQueueLostIsFoundAgain(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	if n, err := h.Relay(h.ctx); err != nil || n != 1 {
		t.Fatal(n, err)
	}
	h.queue.take() // lost
	if n, err := h.Reconcile(h.ctx); err != nil || n != 0 {
		t.Errorf("%d forsaken too early, %v", n, err)
	}
	h.clock.Pass(time.Hour)
	if n, err := h.Reconcile(h.ctx); err != nil || n != 1 {
		t.Errorf("%d forsaken, %v", n, err)
	}
	h.work()
	h.state(r.ID, shop.StateDone)
}

func TestASingleProcessFindsItsRunsAtOnceWhenItStartsAnew(t *testing.T) {
	h := open(t, nil)
	queued, making := h.order(plain), h.order(`{"style": "sleeve"}`)
	if n, err := h.Relay(h.ctx); err != nil || n != 2 {
		t.Fatal(n, err)
	}
	h.queue.take() // the queue died with the process, and so did the worker that had claimed the second
	_, err := h.store.Claim(h.ctx, making.ID, h.clock.Now(), h.clock.Now().Add(time.Hour))
	h.ok(err)
	if n, err := h.Recover(h.ctx); err != nil || n != 2 {
		t.Errorf("%d recovered, %v", n, err)
	}
	h.work()
	h.state(queued.ID, shop.StateDone)
	h.state(making.ID, shop.StateDone)
}

func TestASweepFreesWhatNoRunHas(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Clock = nil; d.Terms.OrphanAge = 50 * time.Millisecond })
	r := h.order(plain)
	h.work()
	orphan, err := h.files.Put(h.ctx, []byte("an attempt that was overtaken"))
	h.ok(err)
	if n, err := h.Sweep(h.ctx); err != nil || n != 0 {
		t.Errorf("%d freed too early, %v", n, err)
	}
	time.Sleep(100 * time.Millisecond)
	if n, err := h.Sweep(h.ctx); err != nil || n != 1 {
		t.Errorf("%d freed, %v", n, err)
	}
	if _, _, err := h.files.Open(h.ctx, orphan); !errors.Is(err, shop.ErrAbsent) {
		t.Errorf("the orphan: %v", err)
	}
	for _, f := range h.state(r.ID, shop.StateDone).Files {
		_, rd, err := h.OpenFile(h.ctx, h.shop, f.ID)
		h.ok(err)
		h.ok(rd.Close())
	}
}

func TestAQueueThatLostItsMemoryIsNotWaitedFor(t *testing.T) {
	h := open(t, nil)
	r := h.order(plain)
	if n, err := h.Relay(h.ctx); err != nil || n != 1 {
		t.Fatalf("%d handed over, %v", n, err)
	}
	h.queue.take()
	if n, err := h.Reconcile(h.ctx); err != nil || n != 0 {
		t.Fatalf("a run that waits its turn was put in the outbox again: %d, %v", n, err)
	}
	h.queue.lost = h.clock.Now()
	if n, err := h.Reconcile(h.ctx); err != nil || n != 1 {
		t.Fatalf("%d found, %v", n, err)
	}
	h.work()
	h.state(r.ID, shop.StateDone)
	if n, err := h.Reconcile(h.ctx); err != nil || n != 0 {
		t.Errorf("%d found once it was done, %v", n, err)
	}
}
