package postgres_test

import (
	"io/fs"
	"path"
	"slices"

	"context"
	"strings"
	"sync"
	"testing"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/postgres"
	"sizerun/internal/store/storetest"
	"sizerun/internal/testkit/pgtest"
	"sizerun/migrations"
)

func migrate(url string) error {
	_, err := postgres.Migrate(context.Background(), url)
	return err
}

func opener(server *pgtest.Server) storetest.Opener {
	return func(t testing.TB) shop.Store {
		t.Helper()
		s, err := postgres.Open(context.Background(), server.Database(t), postgres.Options{MaxConns: 16})
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
}

func TestStore(t *testing.T) { storetest.Run(t, opener(pgtest.Start(t, migrate))) }

func BenchmarkStore(b *testing.B) { storetest.Benchmark(b, opener(pgtest.Start(b, migrate))) }

func TestManyMigrateAtOnceAndItHappensOnce(t *testing.T) {
	url := pgtest.Start(t, nil).Database(t)
	ctx := context.Background()
	if ok, err := postgres.Current(ctx, url); err != nil || ok {
		t.Errorf("an empty database is current: %v, %v", ok, err)
	}
	var mu sync.Mutex
	var applied []string
	var wg sync.WaitGroup
	for range 5 {
		wg.Go(func() {
			names, err := postgres.Migrate(ctx, url)
			if err != nil {
				t.Error(err)
			}
			mu.Lock()
			defer mu.Unlock()
			applied = append(applied, names...)
		})
	}
	wg.Wait()
	all, err := fs.Glob(migrations.Postgres, "postgres/*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for i := range all {
		all[i] = path.Base(all[i])
	}
	if len(all) == 0 || !slices.Equal(applied, all) { // each once, in order, whoever was first
		t.Errorf("applied: %v, there are %v", applied, all)
	}
	if ok, err := postgres.Current(ctx, url); err != nil || !ok {
		t.Errorf("after it: %v, %v", ok, err)
	}
}

func TestABadURLIsToldWithoutThePassword(t *testing.T) {
	for _, url := range []string{"postgres://u:s3cr3t@h:notaport/d", "postgres://u:s3cr3t@[/", "host=h port=s3cr3t"} {
		_, err := postgres.Open(context.Background(), url, postgres.Options{})
		if err == nil || strings.Contains(err.Error(), "s3cr3t") {
			t.Errorf("%q: %v", url, err)
		}
		if _, err = postgres.Migrate(context.Background(), url); err == nil || strings.Contains(err.Error(), "s3cr3t") {
			t.Errorf("migrating %q: %v", url, err)
		}
	}
}

func TestADatabaseThatIsAwayIsUnavailableAndComesBack(t *testing.T) {
	server := pgtest.Start(t, migrate)
	s := opener(server)(t)
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	if _, err := s.EnsureShop(ctx, shop.Shop{ID: "s", Name: "Rookery Lane", CreatedAt: storetest.T0}); err != nil {
		t.Fatal(err)
	}
	server.Down()
	for i := range 3 { // the first meets a broken connection, later ones a closed door
		if _, err := s.Run(ctx, "s", "r"); shop.KindOf(err) != shop.Unavailable {
			t.Errorf("call %d: %v", i, err)
		}
	}
	if err := s.Ping(ctx); shop.KindOf(err) != shop.Unavailable {
		t.Errorf("ping: %v", err)
	}
	server.Up(t)
	if sh, err := s.EnsureShop(ctx, shop.Shop{ID: "other", Name: "Rookery Lane", CreatedAt: storetest.T0}); err != nil || sh.ID != "s" {
		t.Errorf("back again: %v, %v", sh, err)
	}
}
