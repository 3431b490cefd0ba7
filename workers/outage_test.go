package workers_test

import (
	"context"
	"fmt"
	"testing"
	"time"

	"sizerun/internal/files"
	"sizerun/internal/queue"
	"sizerun/internal/shop"
	"sizerun/internal/store/postgres"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
	"sizerun/internal/testkit/shopkit"
	"sizerun/workers"
)

// While runs are being made, first the database and then Redis go away and come back, as an
// operator's restart or a failover would have it.
func TestServersThatGoAwayAndComeBackLoseNoRun(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	redis := redistest.Start(t)
	pg := pgtest.Start(t, func(url string) error {
		_, err := postgres.Migrate(ctx, url)
		return err
	})
	s0, err := postgres.Open(ctx, pg.Database(t), postgres.Options{MaxConns: 10})
	store := opened(t, s0, err)
	q, err := queue.Open(redis.URL())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = q.Close() }) // the test is over
	disk, err := files.NewDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	maker := &shopkit.Maker{Before: func(context.Context, shop.Making) error { time.Sleep(100 * time.Millisecond); return nil }}
	tm := terms()
	tm.MaxTries = 3
	s := shop.New(shop.Deps{Store: store, Queue: q, Files: disk, Maker: maker, Terms: tm, Log: options(t).Log})
	secret, err := s.AddKey(ctx, "Rookery Lane Patterns")
	if err != nil {
		t.Fatal(err)
	}
	sh, err := s.Authenticate(ctx, secret)
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.SaveBlock(ctx, sh.ID, shopkit.Block("plain")); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.SaveStyle(ctx, sh.ID, shopkit.Style("sleeve", "plain")); err != nil {
		t.Fatal(err)
	}
	var ids []string
	for i := range 40 {
		r, _, err := s.SubmitRun(ctx, sh.ID, fmt.Appendf(nil, `{"style": "sleeve", "stamp": "order %d"}`, i), shop.IdempotencyKey{})
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, r.ID)
	}
	working, stop := context.WithCancel(ctx)
	ended := make(chan error, 1)
	go func() { ended <- workers.Run(working, q.ConnOpt(), s, options(t)) }()
	defer func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}()
	time.Sleep(300 * time.Millisecond)
	pg.Down()
	if err := s.Ready(ctx); err == nil {
		t.Error("ready without a database")
	}
	if _, _, err := s.SubmitRun(ctx, sh.ID, []byte(`{"style": "sleeve"}`), shop.IdempotencyKey{}); shop.KindOf(err) != shop.Unavailable {
		t.Errorf("an order without a database: %v", err)
	}
	time.Sleep(700 * time.Millisecond) // longer than a lease
	pg.Up(t)
	time.Sleep(200 * time.Millisecond)
	redis.Down()
	if r, _, err := s.SubmitRun(ctx, sh.ID, []byte(`{"style": "sleeve", "stamp": "without Redis"}`), shop.IdempotencyKey{}); err != nil {
		t.Errorf("an order without Redis is taken all the same: %v", err)
	} else {
		ids = append(ids, r.ID)
	}
	time.Sleep(300 * time.Millisecond)
	redis.Up(t)
	limit := time.Now().Add(60 * time.Second)
	for i, id := range ids {
		r, err := s.WaitRun(ctx, sh.ID, id, time.Until(limit))
		if err != nil {
			t.Fatal(err)
		}
		if r.State != shop.StateDone || len(r.Files) != 2 {
			t.Errorf("order %d is %s with %d files: %+v", i, r.State, len(r.Files), r.Problem)
		}
	}
}
