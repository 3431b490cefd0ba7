package shop_test

import (
	"context"
	"fmt"
	"testing"

	"sizerun/internal/files"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/store/postgres"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/shopkit"
)

// An order from its bytes to the database: decoded, weighed, admitted. The maker's check is a small
// one here; what it costs for a real style is measured with the maker.
func BenchmarkSubmitRun(b *testing.B) {
	b.Run("embedded", func(b *testing.B) {
		s, err := embedded.Open(b.Context(), b.TempDir())
		if err != nil {
			b.Fatal(err)
		}
		defer s.Close()
		submit(b, s)
	})
	b.Run("PostgreSQL", func(b *testing.B) {
		server := pgtest.Start(b, func(url string) error {
			_, err := postgres.Migrate(context.Background(), url)
			return err
		})
		s, err := postgres.Open(b.Context(), server.Database(b), postgres.Options{})
		if err != nil {
			b.Fatal(err)
		}
		defer s.Close()
		submit(b, s)
	})
}

func submit(b *testing.B, st shop.Store) {
	disk, err := files.NewDisk(b.TempDir())
	if err != nil {
		b.Fatal(err)
	}
	s := shop.New(shop.Deps{Store: st, Queue: &queue{}, Files: disk, Maker: &shopkit.Maker{}, Terms: shop.Terms{Pending: 10_000_000}})
	secret, err := s.AddKey(b.Context(), "Rookery Lane Patterns")
	if err != nil {
		b.Fatal(err)
	}
	sh, err := s.Authenticate(b.Context(), secret)
	if err != nil {
		b.Fatal(err)
	}
	if _, _, err := s.SaveBlock(b.Context(), sh.ID, shopkit.Block("plain")); err != nil {
		b.Fatal(err)
	}
	if _, _, err := s.SaveStyle(b.Context(), sh.ID, shopkit.Style("sleeve", "plain")); err != nil {
		b.Fatal(err)
	}
	round := 0
	// The same input again, and every buyer's own stamp.
	for name, body := range map[string]func(n int) []byte{
		"same":    func(int) []byte { return []byte(`{"style": "sleeve", "stamp": "order"}`) },
		"stamped": func(n int) []byte { return fmt.Appendf(nil, `{"style": "sleeve", "stamp": "order %d"}`, n) },
	} {
		b.Run(name, func(b *testing.B) {
			round++
			n := round * 1_000_000_000 // a benchmark is run more than once; keys are not
			for b.Loop() {
				n++
				if _, _, err := s.SubmitRun(b.Context(), sh.ID, body(n), shop.IdempotencyKey{Key: fmt.Sprint(name, n), Scope: "POST /v1/runs"}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
