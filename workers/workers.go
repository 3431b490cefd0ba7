// Package workers runs the service's background work until it is told to stop.
//
//	Run       a worker process: makes runs, and all of Tend
//	Tend      what any number of processes may do at once: the relay from the outbox to the queue,
//	          the reconciler that finds forsaken runs, the deliverer of webhooks, the sweeper
//
// The handlers are thin: shop.Service knows what is to be done, and the database what was. A task
// that is over for asynq (its lease lost, its Redis gone) is not over for the run, which goes on
// under its lease in the database.
package workers

import (
	"context"
	"log/slog"
	"sync"
	"sync/atomic"
	"time"

	"github.com/hibiken/asynq"

	"sizerun/internal/observe"
	"sizerun/internal/queue"
	"sizerun/internal/shop"
)

// Service is what the workers need of shop.Service.
type Service interface {
	Perform(ctx context.Context, runID string) error
	Relay(ctx context.Context) (int, error)
	Reconcile(ctx context.Context) (int, error)
	Sweep(ctx context.Context) (int, error)
	Retire(ctx context.Context) (int, error)
	OutboxRung() <-chan struct{}
	Deliver(ctx context.Context) (int, error)
	HooksRung() <-chan struct{}
}

// Options are a worker's numbers; what is zero has a default.
type Options struct {
	Concurrency    int           // runs at a time; 2
	Drain          time.Duration // how long to wait for runs under way before they are handed back; 20 s
	RelayEvery     time.Duration // how often to look into the outbox when nobody rings; 200 ms
	HooksEvery     time.Duration // how often to look for webhooks that are due; 1 s
	ReconcileEvery time.Duration // 5 s
	SweepEvery     time.Duration // 1 h
	RetireEvery    time.Duration // how often to look for runs whose time is over; 1 min
	CheckQueue     time.Duration // how often an idle worker asks the queue; 100 ms
	Log            *slog.Logger
}

func (o Options) orDefault() Options {
	pick := func(v *time.Duration, def time.Duration) {
		if *v <= 0 {
			*v = def
		}
	}
	if o.Concurrency <= 0 {
		o.Concurrency = 2
	}
	pick(&o.Drain, 20*time.Second)
	pick(&o.RelayEvery, 200*time.Millisecond)
	pick(&o.HooksEvery, time.Second)
	pick(&o.ReconcileEvery, 5*time.Second)
	pick(&o.SweepEvery, time.Hour)
	pick(&o.RetireEvery, time.Minute)
	pick(&o.CheckQueue, 100*time.Millisecond)
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	return o
}

// handBackTime is what a run has, after its context is over, to be handed back.
const handBackTime = 5 * time.Second

// Run works until ctx is over, then drains: no new runs are taken, those under way have
// Options.Drain to end, and what is not done by then is handed back for another worker.
func Run(ctx context.Context, conn asynq.RedisConnOpt, s Service, o Options) error {
	o = o.orDefault()
	// The context of runs: ended late in the drain and not with asynq's tasks.
	base, handBack := context.WithCancel(context.WithoutCancel(ctx))
	defer handBack()
	var under atomic.Int64 // runs under way
	mux := asynq.NewServeMux()
	mux.HandleFunc(shop.TaskMake, func(_ context.Context, t *asynq.Task) error {
		under.Add(1)
		defer under.Add(-1)
		id := string(t.Payload())
		return s.Perform(observe.WithRun(base, id), id)
	})
	srv := asynq.NewServer(conn, asynq.Config{
		Concurrency:       o.Concurrency,
		Queues:            map[string]int{queue.Name: 1},
		TaskCheckInterval: o.CheckQueue,
		RetryDelayFunc:    func(int, error, *asynq.Task) time.Duration { return 2 * time.Second },
		ShutdownTimeout:   time.Second, // the drain below has waited already
		Logger:            observe.Asynq{Log: o.Log},
		LogLevel:          asynq.InfoLevel,
		ErrorHandler: asynq.ErrorHandlerFunc(func(_ context.Context, t *asynq.Task, err error) {
			o.Log.Error("a run's task broke off; the run is found again in the database", "run_id", string(t.Payload()), "error", err)
		}),
	})
	if err := srv.Start(mux); err != nil {
		return err
	}
	Tend(ctx, s, o) // until ctx is over
	srv.Stop()
	if !idle(&under, o.Drain) {
		o.Log.Info("runs under way are handed back")
	}
	handBack()
	if !idle(&under, handBackTime) {
		o.Log.Warn("a run could not be handed back; its lease will run out")
	}
	srv.Shutdown()
	idle(&under, handBackTime) // a task that began while the server was being stopped
	return nil
}

// idle waits until nothing is under way, no longer than d.
func idle(under *atomic.Int64, d time.Duration) bool {
	for end := time.Now().Add(d); under.Load() > 0; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			return false
		}
	}
	return true
}

// Tend relays, reconciles and sweeps until ctx is over.
func Tend(ctx context.Context, s Service, o Options) {
	o = o.orDefault()
	var wg sync.WaitGroup
	wg.Go(func() {
		empty(ctx, o.Log, "the outbox can't be emptied just now", o.RelayEvery, s.OutboxRung(), s.Relay)
	})
	wg.Go(func() {
		empty(ctx, o.Log, "webhooks can't be delivered just now", o.HooksEvery, s.HooksRung(), s.Deliver)
	})
	wg.Go(func() { every(ctx, o.ReconcileEvery, o.Log, "reconciling", s.Reconcile) })
	wg.Go(func() { every(ctx, o.SweepEvery, o.Log, "sweeping", s.Sweep) })
	wg.Go(func() { every(ctx, o.RetireEvery, o.Log, "retiring runs", s.Retire) })
	wg.Wait()
}

// empty takes batch after batch whenever it is rung for, or after a while. After a failure it waits
// longer and longer: the queue or the database is away, and it does not help to shout.
func empty(ctx context.Context, log *slog.Logger, trouble string, usual time.Duration, rung <-chan struct{}, batch func(context.Context) (int, error)) {
	const longest = 5 * time.Second
	wait := usual
	for {
		n, err := batch(ctx)
		switch {
		case ctx.Err() != nil:
			return
		case err != nil:
			if wait == usual {
				log.ErrorContext(ctx, trouble, "error", err)
			}
			wait = min(2*wait, max(longest, usual))
		case n > 0:
			wait = usual
			continue // there may be more
		default:
			wait = usual
		}
		t := time.NewTimer(wait)
		select {
		case <-ctx.Done():
			t.Stop()
			return
		case <-rung:
			t.Stop()
			if err != nil { // a ring does not mend what is broken
				select {
				case <-ctx.Done():
					return
				case <-time.After(usual):
				}
			}
		case <-t.C:
		}
	}
}

func every(ctx context.Context, d time.Duration, log *slog.Logger, what string, f func(context.Context) (int, error)) {
	t := time.NewTicker(d)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
		if _, err := f(ctx); err != nil && ctx.Err() == nil {
			log.ErrorContext(ctx, what+" failed", "error", err)
		}
	}
}
