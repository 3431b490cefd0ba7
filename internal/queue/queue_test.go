package queue_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/hibiken/asynq"

	"sizerun/internal/queue"
	"sizerun/internal/queue/queuetest"
	"sizerun/internal/shop"
	"sizerun/internal/testkit/redistest"
)

func closing(t testing.TB, q *queue.Queue, err error) *queue.Queue {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := q.Close(); err != nil {
			t.Error(err)
		}
	})
	return q
}

func TestEmbedded(t *testing.T) {
	queuetest.Run(t, func(t *testing.T) *queue.Queue {
		q, err := queue.Embedded()
		return closing(t, q, err)
	})
}

func TestRedis(t *testing.T) {
	queuetest.Run(t, func(t *testing.T) *queue.Queue {
		q, err := queue.Open(redistest.Start(t).URL())
		return closing(t, q, err)
	})
}

func TestCluster(t *testing.T) {
	t.Parallel()
	server := redistest.StartCluster(t)
	queuetest.Run(t, func(t *testing.T) *queue.Queue {
		server.Flush(t)
		q, err := queue.Open(server.URL())
		return closing(t, q, err)
	})
}

func TestSentinel(t *testing.T) {
	t.Parallel()
	server := redistest.StartSentinel(t)
	queuetest.Run(t, func(t *testing.T) *queue.Queue {
		q, err := queue.Open(server.URL())
		closing(t, q, err)
		queuetest.Flush(t, q)
		return q
	})
}

// The master dies; a replica takes over, and so does the queue, without being told.
func TestAQueueFollowsTheSentinelsToTheNextMaster(t *testing.T) {
	t.Parallel()
	server := redistest.StartSentinel(t)
	q, err := queue.Open(server.URL())
	closing(t, q, err)
	ctx := t.Context()
	if err := q.Enqueue(ctx, shop.Dispatch{ID: "out_1", RunID: "run_1"}); err != nil {
		t.Fatal(err)
	}
	server.KillMaster()
	for end := time.Now().Add(20 * time.Second); ; time.Sleep(20 * time.Millisecond) {
		if err = q.Enqueue(ctx, shop.Dispatch{ID: "out_2", RunID: "run_2"}); err == nil {
			return
		}
		if time.Now().After(end) {
			t.Fatal(err)
		}
	}
}

func TestARedisThatIsAwayIsNoticedAndComesBack(t *testing.T) {
	server := redistest.Start(t)
	q, err := queue.Open(server.URL())
	closing(t, q, err)
	server.Down()
	ctx := context.Background()
	if err := q.Ping(ctx); err == nil {
		t.Error("it answers")
	}
	if err := q.Enqueue(ctx, shop.Dispatch{ID: "out_1", RunID: "run_1"}); err == nil {
		t.Error("it took a run")
	}
	server.Up(t)
	if err := q.Enqueue(ctx, shop.Dispatch{ID: "out_1", RunID: "run_1"}); err != nil {
		t.Error(err)
	}
}

// A relay shares out by how many runs are made at a time, which the queue hears from the workers.
func TestAQueueKnowsItsWorkers(t *testing.T) {
	opened, err := queue.Embedded()
	q := closing(t, opened, err)
	count := func() int {
		n, err := q.Workers(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	if n := count(); n != 0 {
		t.Fatalf("%d workers before there is any", n)
	}
	for _, name := range []string{queue.Name, "something else"} {
		srv := asynq.NewServer(q.ConnOpt(), asynq.Config{Concurrency: 3, Queues: map[string]int{name: 1}, LogLevel: asynq.FatalLevel})
		if err := srv.Start(asynq.NewServeMux()); err != nil {
			t.Fatal(err)
		}
		t.Cleanup(srv.Shutdown)
	}
	for until := time.Now().Add(10 * time.Second); count() == 0; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("the workers are not heard of")
		}
	}
	if n := count(); n != 3 {
		t.Errorf("%d runs at a time, not 3", n)
	}
}

func TestEveryFormOfURLIsRead(t *testing.T) {
	for url, want := range map[string]string{
		"redis://user:p%40ss@h:6379/3":                            "h:6379",
		"redis-socket:///run/redis.sock?db=1":                     "/run/redis.sock",
		"redis-sentinel://:pw@h1:26379,h2:26379/2?master=sizerun": "h1:26379",
		"redis-cluster://u:pw@h1:6379,h2:6379":                    "h1:6379",
	} {
		q, err := queue.Open(url)
		closing(t, q, err)
		var addr string
		switch o := q.ConnOpt().(type) {
		case asynq.RedisClientOpt:
			addr = o.Addr
		case asynq.RedisFailoverClientOpt:
			addr = o.SentinelAddrs[0]
			if o.MasterName != "sizerun" || o.DB != 2 || o.Password != "pw" || len(o.SentinelAddrs) != 2 {
				t.Errorf("%s: %+v", url, o)
			}
		case asynq.RedisClusterClientOpt:
			addr = o.Addrs[0]
			if o.Username != "u" || o.Password != "pw" || len(o.Addrs) != 2 {
				t.Errorf("%s: %+v", url, o)
			}
		}
		if addr != want {
			t.Errorf("%s goes to %q", url, addr)
		}
	}
}

func TestABadURLIsToldWithoutThePassword(t *testing.T) {
	for _, url := range []string{"", "s3cr3t", "http://:s3cr3t@h:1", "redis://:s3cr3t@h:port/0", "redis://:s3cr3t@h:1/x", "redis-sentinel://:s3cr3t@h:1",
		"redis-sentinel://:s3cr3t@h1,h2?master=m", "redis-cluster://:s3cr3t@", "redis-cluster://:s3cr3t%zz@h:1", "redis-sentinel://:s3cr3t@h:1/-1?master=m"} {
		q, err := queue.Open(url)
		if err == nil {
			closing(t, q, nil)
			t.Errorf("%q is taken", url)
		} else if strings.Contains(err.Error(), "s3cr3t") {
			t.Errorf("%q: %v", url, err)
		}
	}
}

func BenchmarkEnqueue(b *testing.B) {
	run := func(b *testing.B, q *queue.Queue) {
		for b.Loop() {
			id := shop.NewID("out")
			if err := q.Enqueue(b.Context(), shop.Dispatch{ID: id, RunID: id}); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.Run("embedded", func(b *testing.B) {
		q, err := queue.Embedded()
		run(b, closing(b, q, err))
	})
	b.Run("redis", func(b *testing.B) {
		q, err := queue.Open(redistest.Start(b).URL())
		run(b, closing(b, q, err))
	})
}
