package workers_test

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"sizerun/internal/files"
	"sizerun/internal/queue"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/testkit/redistest"
	"sizerun/internal/testkit/shopkit"
	"sizerun/workers"
)

// Runs go through everything on a Cluster that loses what it holds, and on a Redis whose master dies while
// Sentinels watch: two workers with a queue each, orders before, during and after.
func TestRunsAreMadeOnEveryFormOfRedis(t *testing.T) {
	t.Run("Cluster", func(t *testing.T) {
		t.Parallel()
		c := redistest.StartCluster(t)
		madeOn(t, c.URL(), func() { c.Flush(t) })
	})
	t.Run("Sentinel", func(t *testing.T) {
		t.Parallel()
		s := redistest.StartSentinel(t)
		madeOn(t, s.URL(), s.KillMaster)
	})
}

func madeOn(t *testing.T, url string, trouble func()) {
	dir := t.TempDir()
	disk, err := files.NewDisk(dir + "/files")
	if err != nil {
		t.Fatal(err)
	}
	maker := &shopkit.Maker{Before: func(context.Context, shop.Making) error { time.Sleep(20 * time.Millisecond); return nil }}
	service := func() (*shop.Service, *queue.Queue) {
		st, err := embedded.Open(t.Context(), dir)
		store := opened(t, st, err)
		q, err := queue.Open(url)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = q.Close() }) // the test is over
		return shop.New(shop.Deps{Store: store, Queue: q, Files: disk, Maker: maker, Terms: terms(), Log: options(t).Log}), q
	}
	s, _ := service()
	secret, err := s.AddKey(t.Context(), "Rookery Lane Patterns")
	if err != nil {
		t.Fatal(err)
	}
	sh, err := s.Authenticate(t.Context(), secret)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.SaveBlock(t.Context(), sh.ID, shopkit.Block("plain")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.SaveStyle(t.Context(), sh.ID, shopkit.Style("sleeve", "plain")); err != nil {
		t.Fatal(err)
	}
	working, stop := context.WithCancel(context.Background())
	var house sync.WaitGroup
	for range 2 {
		w, q := service()
		house.Go(func() {
			if err := workers.Run(working, q.ConnOpt(), w, options(t)); err != nil {
				t.Error(err)
			}
		})
	}
	t.Cleanup(func() { stop(); house.Wait() })
	var ids []string
	for i := range 30 {
		r, _, err := s.SubmitRun(t.Context(), sh.ID, fmt.Appendf(nil, `{"style": "sleeve", "stamp": "order %d"}`, i), shop.IdempotencyKey{})
		if err != nil {
			t.Fatal(err)
		}
		if ids = append(ids, r.ID); i == 15 {
			trouble()
		}
	}
	limit := time.Now().Add(60 * time.Second)
	for i, id := range ids {
		r, err := s.WaitRun(t.Context(), sh.ID, id, time.Until(limit))
		if err != nil {
			t.Fatal(err)
		}
		if r.State != shop.StateDone || len(r.Files) != 2 {
			t.Errorf("order %d is %s with %d files: %+v", i, r.State, len(r.Files), r.Problem)
		}
	}
}
