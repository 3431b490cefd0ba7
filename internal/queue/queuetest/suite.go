// Package queuetest holds what every queue must do, as claims to be run against each.
package queuetest

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/hibiken/asynq"
	"github.com/redis/go-redis/v9"

	"sizerun/internal/queue"
	"sizerun/internal/shop"
)

// Run holds a queue against every claim; open answers a fresh one.
func Run(t *testing.T, open func(t *testing.T) *queue.Queue) {
	ctx := context.Background()
	t.Run("it answers", func(t *testing.T) {
		if err := open(t).Ping(ctx); err != nil {
			t.Error(err)
		}
	})
	t.Run("a run's id comes to a worker, and nothing else does", func(t *testing.T) {
		q := open(t)
		for i := range 20 {
			put(t, q, shop.Dispatch{ID: fmt.Sprint("out_", i), RunID: fmt.Sprint("run_", i)})
		}
		w := work(t, q, nil)
		w.await(t, 20)
		for i := range 20 {
			if n := w.count(fmt.Sprint("run_", i)); n != 1 {
				t.Errorf("run %d came %d times", i, n)
			}
		}
	})
	t.Run("the same row twice is one task", func(t *testing.T) {
		q := open(t)
		for range 3 {
			put(t, q, shop.Dispatch{ID: "out_1", RunID: "run_1"})
		}
		put(t, q, shop.Dispatch{ID: "out_2", RunID: "run_2"})
		w := work(t, q, nil)
		w.await(t, 2)
		time.Sleep(50 * time.Millisecond)
		if w.count("run_1") != 1 {
			t.Errorf("it came %d times", w.count("run_1"))
		}
	})
	t.Run("a later row of the same run is a task of its own, whatever became of the first", func(t *testing.T) {
		q := open(t)
		w := work(t, q, func(string) error { return fmt.Errorf("broken off: %w", asynq.SkipRetry) }) // kept by asynq as archived
		put(t, q, shop.Dispatch{ID: "out_1", RunID: "run_1"})
		w.await(t, 1)
		put(t, q, shop.Dispatch{ID: "out_2", RunID: "run_1"})
		w.await(t, 2)
	})
	t.Run("an idle worker has a new run within half a second", func(t *testing.T) {
		q := open(t)
		w := work(t, q, nil)
		time.Sleep(150 * time.Millisecond)
		at := time.Now()
		put(t, q, shop.Dispatch{ID: "out_1", RunID: "run_1"})
		w.await(t, 1)
		if d := time.Since(at); d > 500*time.Millisecond {
			t.Logf("it took %v", d) // the machine may be busy: told, not judged
		}
	})
	t.Run("it tells since when it remembers", func(t *testing.T) {
		q := open(t)
		began := func(now int64) int64 {
			at, err := q.Began(ctx, time.UnixMicro(now))
			if err != nil {
				t.Fatal(err)
			}
			return at.UnixMicro()
		}
		if a, b := began(1000), began(2000); a != 1000 || b != 1000 {
			t.Errorf("it began at %d, then at %d", a, b)
		}
		Flush(t, q)
		if a, b := began(3000), began(4000); a != 3000 || b != 3000 {
			t.Errorf("after a loss it began at %d, then at %d", a, b)
		}
	})
	t.Run("it tells what it holds, also after it lost everything", func(t *testing.T) {
		q := open(t)
		pending := func(want int) {
			t.Helper()
			held, err := q.Tasks(ctx)
			if err != nil || held["pending"] != want {
				t.Errorf("it holds %v, %v; %d wait", held, err, want)
			}
		}
		pending(0)
		put(t, q, shop.Dispatch{ID: "out_1", RunID: "run_1"})
		put(t, q, shop.Dispatch{ID: "out_2", RunID: "run_2"})
		pending(2)
		Flush(t, q)
		pending(0)
		put(t, q, shop.Dispatch{ID: "out_3", RunID: "run_3"})
		pending(1)
	})
	t.Run("after a Redis that lost everything, tasks flow again", func(t *testing.T) {
		q := open(t)
		w := work(t, q, nil)
		put(t, q, shop.Dispatch{ID: "out_1", RunID: "run_1"})
		w.await(t, 1)
		Flush(t, q)
		put(t, q, shop.Dispatch{ID: "out_2", RunID: "run_2"})
		w.await(t, 2)
	})
}

// Flush loses everything that is in a queue, as a failing Redis may at any moment.
func Flush(t testing.TB, q *queue.Queue) {
	t.Helper()
	c, ok := q.ConnOpt().MakeRedisClient().(redis.UniversalClient)
	if !ok {
		t.Fatal("the queue's client is none of go-redis")
	}
	defer func() { _ = c.Close() }() // it has done what it was for
	err := c.FlushAll(context.Background()).Err()
	if cluster, ok := c.(*redis.ClusterClient); ok { // whose FlushAll is one node's
		err = cluster.ForEachMaster(context.Background(), func(ctx context.Context, n *redis.Client) error { return n.FlushAll(ctx).Err() })
	}
	if err != nil {
		t.Fatal(err)
	}
}

func put(t *testing.T, q *queue.Queue, d shop.Dispatch) {
	t.Helper()
	if err := q.Enqueue(context.Background(), d); err != nil {
		t.Fatal(err)
	}
}

type worker struct {
	mu  sync.Mutex
	got map[string]int
	n   int
}

func work(t *testing.T, q *queue.Queue, f func(id string) error) *worker {
	t.Helper()
	w := &worker{got: map[string]int{}}
	srv := asynq.NewServer(q.ConnOpt(), asynq.Config{Concurrency: 4, Queues: map[string]int{queue.Name: 1}, TaskCheckInterval: 20 * time.Millisecond, LogLevel: asynq.FatalLevel})
	mux := asynq.NewServeMux()
	mux.HandleFunc(shop.TaskMake, func(_ context.Context, task *asynq.Task) error {
		id := string(task.Payload())
		w.mu.Lock()
		w.got[id]++
		w.n++
		w.mu.Unlock()
		if f != nil {
			return f(id)
		}
		return nil
	})
	if err := srv.Start(mux); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(srv.Shutdown)
	return w
}

func (w *worker) count(id string) int {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.got[id]
}

func (w *worker) await(t *testing.T, n int) {
	t.Helper()
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		w.mu.Lock()
		got := w.n
		w.mu.Unlock()
		if got >= n {
			return
		}
	}
	t.Fatalf("fewer than %d tasks came", n)
}
