package drills

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/hibiken/asynq"
	"github.com/jackc/pgx/v5/pgxpool"
)

// What the service stands on, without the service: no figure of ours can be better than these.

// bareQueue is how many tasks a second asynq takes and hands over when each does nothing, with as many workers as
// the service has.
func bareQueue(t *testing.T, url string, n int) float64 {
	t.Helper()
	opt := asynq.RedisClientOpt{Network: "unix", Addr: strings.TrimPrefix(url, "redis-socket://"), DB: 1}
	server := asynq.NewServer(opt, asynq.Config{Concurrency: 2, LogLevel: asynq.FatalLevel, TaskCheckInterval: 50 * time.Millisecond})
	var done sync.WaitGroup
	done.Add(n)
	if err := server.Start(asynq.HandlerFunc(func(context.Context, *asynq.Task) error { done.Done(); return nil })); err != nil {
		t.Fatal(err)
	}
	defer server.Shutdown()
	client := asynq.NewClient(opt)
	defer client.Close()
	began := time.Now()
	var hands sync.WaitGroup
	for h := range 8 {
		hands.Go(func() {
			for i := h; i < n; i += 8 {
				if _, err := client.Enqueue(asynq.NewTask("nothing", []byte("run_019a0000000000000000000000000000")), asynq.TaskID(fmt.Sprint(i)), asynq.MaxRetry(2)); err != nil {
					t.Error(err)
					done.Done()
				}
			}
		})
	}
	hands.Wait()
	done.Wait()
	return float64(n) / time.Since(began).Seconds()
}

// bareInsert is one row as large as a run's, at a steady rate.
func bareInsert(t *testing.T, url string, n, perSecond int) []time.Duration {
	t.Helper()
	pool, err := pgxpool.New(t.Context(), url)
	if err != nil {
		t.Fatal(err)
	}
	defer pool.Close()
	if _, err := pool.Exec(t.Context(), "CREATE TABLE bare (id text PRIMARY KEY, shop text NOT NULL, state text NOT NULL, request jsonb NOT NULL, created_at timestamptz NOT NULL)"); err != nil {
		t.Fatal(err)
	}
	request, err := json.Marshal(map[string]any{"style": "wren-petal", "sizes": []string{"14"}, "outputs": []any{map[string]any{"paper": "A4"}}})
	if err != nil {
		t.Fatal(err)
	}
	return paced(n, perSecond, func(i int) {
		if _, err := pool.Exec(t.Context(), "INSERT INTO bare (id, shop, state, request, created_at) VALUES ($1, $2, $3, $4, $5)", fmt.Sprint("run_", i), "shop_1", "queued", request, time.Now()); err != nil {
			t.Error(err)
		}
	})
}
