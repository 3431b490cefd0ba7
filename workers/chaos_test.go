package workers_test

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"log/slog"
	"os"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/internal/files"
	"sizerun/internal/observe"
	"sizerun/internal/queue"
	"sizerun/internal/queue/queuetest"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/store/postgres"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
	"sizerun/internal/testkit/shopkit"
	"sizerun/workers"
)

// site is where a service stands: a store that several processes can open, and a queue likewise.
type site struct {
	store func(t *testing.T) shop.Store
	queue func(t *testing.T) *queue.Queue
	flush func(t *testing.T)
}

func embeddedSite(t *testing.T) site {
	dir := t.TempDir()
	q, err := queue.Embedded()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = q.Close() }) // the test is over
	return site{
		store: func(t *testing.T) shop.Store {
			s, err := embedded.Open(context.Background(), dir)
			return opened(t, s, err)
		},
		queue: func(*testing.T) *queue.Queue { return q },
		flush: func(t *testing.T) { queuetest.Flush(t, q) },
	}
}

func serversSite(t *testing.T) site {
	redis := redistest.Start(t)
	url := pgtest.Start(t, func(url string) error {
		_, err := postgres.Migrate(context.Background(), url)
		return err
	}).Database(t)
	return site{
		store: func(t *testing.T) shop.Store {
			s, err := postgres.Open(context.Background(), url, postgres.Options{MaxConns: 10})
			return opened(t, s, err)
		},
		queue: func(t *testing.T) *queue.Queue {
			q, err := queue.Open(redis.URL())
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = q.Close() }) // the test is over
			return q
		},
		flush: func(t *testing.T) { redis.Flush(t) },
	}
}

func opened[S interface {
	shop.Store
	Close() error
}](t *testing.T, s S, err error) shop.Store {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s
}

// terms are short, so that what takes minutes in a day's work takes moments here.
func terms() shop.Terms {
	return shop.Terms{RunTime: 2500 * time.Millisecond, LeaseFor: 400 * time.Millisecond, TouchEvery: 40 * time.Millisecond, MaxTries: 6,
		RetryAfter: 10 * time.Millisecond, Concurrent: 4, InFlight: 10, StaleAfter: 700 * time.Millisecond, PollEvery: 20 * time.Millisecond}
}

func options(t *testing.T) workers.Options {
	o := workers.Options{Concurrency: 4, Drain: 2 * time.Second, RelayEvery: 20 * time.Millisecond, ReconcileEvery: 100 * time.Millisecond,
		SweepEvery: 200 * time.Millisecond, CheckQueue: 20 * time.Millisecond}
	if testing.Verbose() && os.Getenv("CHAOS_LOG") != "" {
		o.Log = observe.NewLogger(t.Output(), "text", slog.LevelInfo)
	}
	return o
}

// tally counts how often each run was finished, as the database took it. It also cuts workers off:
// what the first worker of a run says to keep its lease is lost on the way, both ways.
type tally struct {
	shop.Store
	mu       *sync.Mutex
	finished map[string]int
	fenced   *atomic.Int64
}

func (c tally) Touch(ctx context.Context, id string, attempt int, p shop.Progress, until time.Time) (bool, error) {
	if attempt == 1 {
		return false, nil
	}
	return c.Store.Touch(ctx, id, attempt, p, until)
}

func (c tally) Finish(ctx context.Context, id string, attempt int, o shop.Outcome) error {
	err := c.Store.Finish(ctx, id, attempt, o)
	c.mu.Lock()
	defer c.mu.Unlock()
	switch {
	case err == nil:
		c.finished[id]++
	case errors.Is(err, shop.ErrFenced):
		c.fenced.Add(1)
	}
	return err
}

// Two worker processes with two relays and two reconcilers make a hundred orders, while the queue
// loses everything several times and the maker errs, panics, hangs and comes late. Each run must be
// finished exactly once, with one set of files.
func TestNoRunIsLostAndNoneIsMadeTwice(t *testing.T) {
	t.Parallel()
	t.Run("embedded", func(t *testing.T) { t.Parallel(); chaos(t, embeddedSite(t)) })
	t.Run("PostgreSQL and Redis", func(t *testing.T) { t.Parallel(); chaos(t, serversSite(t)) })
}

func chaos(t *testing.T, where site) {
	const orders = 100
	ctx := context.Background()
	var mu sync.Mutex
	tries := map[string]int{}
	var errs, panics, hangs, deaf atomic.Int64
	maker := &shopkit.Maker{Before: func(ctx context.Context, m shop.Making) error {
		mu.Lock()
		tries[m.Request.Stamp]++
		try := tries[m.Request.Stamp]
		mu.Unlock()
		if try > 3 { // the fourth try of any order goes well, so that each must be done in the end
			return nil
		}
		h := fnv.New32a()
		fmt.Fprintf(h, "%s/%d", m.Request.Stamp, try)
		switch dice := h.Sum32() % 100; {
		case dice < 10:
			errs.Add(1)
			return errors.New("disk full")
		case dice < 15:
			panics.Add(1)
			panic("index out of range")
		case dice < 20:
			hangs.Add(1)
			<-ctx.Done()
			return ctx.Err()
		case dice < 24:
			deaf.Add(1)
			time.Sleep(3 * time.Second) // past its time, and then goes on
		case dice < 36:
			time.Sleep(1500 * time.Millisecond) // past its lease, if nobody hears it keep it
		default:
			time.Sleep(time.Duration(dice) * time.Millisecond / 4)
		}
		return nil
	}}
	disk, err := files.NewDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	count := tally{mu: &sync.Mutex{}, finished: map[string]int{}, fenced: &atomic.Int64{}}
	service := func() (*shop.Service, *queue.Queue) {
		c := count
		c.Store = where.store(t)
		q := where.queue(t)
		return shop.New(shop.Deps{Store: c, Queue: q, Files: disk, Maker: maker, Terms: terms(), Log: options(t).Log}), q
	}
	edge, _ := service()
	secret, err := edge.AddKey(ctx, "Rookery Lane Patterns")
	if err != nil {
		t.Fatal(err)
	}
	sh, err := edge.Authenticate(ctx, secret)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := edge.SaveBlock(ctx, sh.ID, shopkit.Block("plain")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := edge.SaveStyle(ctx, sh.ID, shopkit.Style("sleeve", "plain")); err != nil {
		t.Fatal(err)
	}
	working, stop := context.WithCancel(ctx)
	var house sync.WaitGroup
	for range 2 {
		s, q := service()
		house.Go(func() {
			if err := workers.Run(working, q.ConnOpt(), s, options(t)); err != nil {
				t.Error(err)
			}
		})
	}
	defer house.Wait()
	defer stop()

	ids := make([]string, orders)
	for i := range ids {
		r, _, err := edge.SubmitRun(ctx, sh.ID, fmt.Appendf(nil, `{"style": "sleeve", "stamp": "order %d"}`, i), shop.IdempotencyKey{Key: fmt.Sprint(i)})
		if err != nil {
			t.Fatal(err)
		}
		ids[i] = r.ID
		if i%25 == 24 {
			time.Sleep(50 * time.Millisecond)
			where.flush(t)
		}
	}
	limit := time.Now().Add(60 * time.Second)
	for i, id := range ids {
		r, err := edge.WaitRun(ctx, sh.ID, id, time.Until(limit))
		if err != nil {
			t.Fatal(err)
		}
		if i == orders/2 {
			where.flush(t)
		}
		if r.State != shop.StateDone || len(r.Files) != 2 {
			t.Errorf("order %d is %s with %d files: %+v", i, r.State, len(r.Files), r.Problem)
		}
		for _, f := range r.Files {
			_, rd, err := edge.OpenFile(ctx, sh.ID, f.ID)
			if err != nil {
				t.Errorf("order %d: %v", i, err)
				continue
			}
			_ = rd.Close() // only read
		}
	}
	time.Sleep(time.Second) // for late ones to come home
	stop()
	house.Wait()
	count.mu.Lock()
	defer count.mu.Unlock()
	for _, id := range ids {
		if n := count.finished[id]; n != 1 {
			t.Errorf("%s was finished %d times", id, n)
		}
	}
	if errs.Load() == 0 || panics.Load() == 0 || hangs.Load() == 0 || deaf.Load() == 0 || count.fenced.Load() == 0 {
		t.Error("the chaos was not one")
	}
	t.Logf("%d orders, %d makings: %d errors, %d panics, %d hangs, %d deaf; %d late finishes fenced off",
		orders, maker.Makes.Load(), errs.Load(), panics.Load(), hangs.Load(), deaf.Load(), count.fenced.Load())
}

func TestAWorkerThatIsToldToStopHandsBackWhatItCanNotEnd(t *testing.T) {
	t.Parallel()
	t.Run("embedded", func(t *testing.T) { t.Parallel(); drain(t, embeddedSite(t)) })
	t.Run("PostgreSQL and Redis", func(t *testing.T) { t.Parallel(); drain(t, serversSite(t)) })
}

func drain(t *testing.T, where site) {
	ctx := context.Background()
	disk, err := files.NewDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	begun := make(chan struct{}, 10)
	maker := &shopkit.Maker{Before: func(ctx context.Context, m shop.Making) error {
		begun <- struct{}{}
		if m.Request.Stamp == "long" {
			<-ctx.Done()
			return ctx.Err()
		}
		time.Sleep(50 * time.Millisecond) // short enough to end within the drain
		return nil
	}}
	tm := terms()
	tm.RunTime, tm.MaxTries = time.Minute, 1
	q := where.queue(t)
	s := shop.New(shop.Deps{Store: where.store(t), Queue: q, Files: disk, Maker: maker, Terms: tm})
	if _, err := s.AddKey(ctx, "a"); err != nil {
		t.Fatal(err)
	}
	secret, err := s.AddKey(ctx, "a")
	if err != nil {
		t.Fatal(err)
	}
	sh, err := s.Authenticate(ctx, secret)
	if err != nil {
		t.Fatal(err)
	}
	_, _, err1 := s.SaveBlock(ctx, sh.ID, shopkit.Block("plain"))
	_, _, err2 := s.SaveStyle(ctx, sh.ID, shopkit.Style("sleeve", "plain"))
	long, _, err3 := s.SubmitRun(ctx, sh.ID, []byte(`{"style": "sleeve", "stamp": "long"}`), shop.IdempotencyKey{})
	short, _, err4 := s.SubmitRun(ctx, sh.ID, []byte(`{"style": "sleeve", "stamp": "short"}`), shop.IdempotencyKey{})
	if err := errors.Join(err1, err2, err3, err4); err != nil {
		t.Fatal(err)
	}
	o := options(t)
	o.Drain = 300 * time.Millisecond
	working, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- workers.Run(working, q.ConnOpt(), s, o) }()
	<-begun
	<-begun
	stop()
	select {
	case err := <-ended:
		if err != nil {
			t.Fatal(err)
		}
	case <-time.After(20 * time.Second):
		t.Fatal("it does not stop")
	}
	if r, err := s.Run(ctx, sh.ID, short.ID); err != nil || r.State != shop.StateDone {
		t.Errorf("the short one is %s, %v", r.State, err)
	}
	if r, err := s.Run(ctx, sh.ID, long.ID); err != nil || r.State != shop.StateMaking {
		t.Errorf("the long one is %s, %v", r.State, err)
	}
	// The next worker has it at once, and its only try was not used up.
	maker.Before = nil
	working, stop = context.WithCancel(ctx)
	go func() { ended <- workers.Run(working, q.ConnOpt(), s, o) }()
	r, err := s.WaitRun(ctx, sh.ID, long.ID, 20*time.Second)
	if err != nil || r.State != shop.StateDone {
		t.Errorf("in the end the long one is %s, %v: %+v", r.State, err, r.Problem)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
