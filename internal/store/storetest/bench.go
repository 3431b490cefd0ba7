package storetest

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// Benchmark measures the hot paths of a store.
func Benchmark(b *testing.B, open Opener) {
	ctx := context.Background()
	prepare := func(b *testing.B) (shop.Store, shop.ShopID, func() shop.Admission) {
		s := open(b)
		sh, err := s.EnsureShop(ctx, shop.Shop{ID: "s", Name: "Rookery Lane", CreatedAt: T0})
		if err != nil {
			b.Fatal(err)
		}
		var n atomic.Int64
		return s, sh.ID, func() shop.Admission {
			id := fmt.Sprintf("run_%09d", n.Add(1))
			return shop.Admission{OutboxID: "out" + id, Request: []byte(`{}`), Most: 10_000_000, Run: shop.Run{ID: id, Shop: sh.ID, Style: "wren-petal",
				StyleVersion: "s", Block: "wren-w", BlockVersion: "b", Engine: "e", InputHash: id, Sizes: []string{"8", "10"}, CreatedAt: T0}}
		}
	}
	b.Run("Admit", func(b *testing.B) {
		s, sh, next := prepare(b)
		for b.Loop() {
			a := next()
			a.Most = 0
			a.Idem = &shop.Remembered{Shop: sh, Scope: scope, Key: a.Run.ID, RunID: a.Run.ID, CreatedAt: T0}
			if _, err := s.Admit(ctx, a); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Admit16", func(b *testing.B) {
		s, _, next := prepare(b)
		b.SetParallelism(8) // 16 goroutines on 2 cores
		b.RunParallel(func(pb *testing.PB) {
			for pb.Next() {
				a := next()
				a.Most = 0
				if _, err := s.Admit(ctx, a); err != nil {
					b.Error(err)
					return
				}
			}
		})
	})
	b.Run("Admit after 10000 unfinished", func(b *testing.B) {
		s, _, next := prepare(b)
		for range 10_000 {
			a := next()
			a.Most = 0
			if _, err := s.Admit(ctx, a); err != nil {
				b.Fatal(err)
			}
		}
		for b.Loop() {
			if _, err := s.Admit(ctx, next()); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Life", func(b *testing.B) { // admit, relay, claim, finish
		s, _, next := prepare(b)
		for b.Loop() {
			a := next()
			a.Most = 0
			if _, err := s.Admit(ctx, a); err != nil {
				b.Fatal(err)
			}
			ds, err := s.TakeDue(ctx, T0, T0.Add(time.Hour), 1, 1000, 1000)
			if err != nil || len(ds) != 1 {
				b.Fatal(ds, err)
			}
			if err := s.HandedOver(ctx, ds, T0); err != nil {
				b.Fatal(err)
			}
			c, err := s.Claim(ctx, a.Run.ID, T0, T0.Add(time.Hour))
			if err != nil {
				b.Fatal(err)
			}
			if err := s.Finish(ctx, a.Run.ID, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0, Files: []shop.FileInfo{{ID: a.Run.ID, Name: "a.pdf", SHA256: "aa"}}}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Run", func(b *testing.B) {
		s, sh, next := prepare(b)
		a := next()
		if _, err := s.Admit(ctx, a); err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			if _, err := s.Run(ctx, sh, a.Run.ID); err != nil {
				b.Fatal(err)
			}
		}
	})
}
