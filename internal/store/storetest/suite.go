// Package storetest holds what every store must do, as claims to be run against each database.
//
// The files follow shop's ports: documents and keys here, runs in runs.go, workers and the outbox
// in work.go.
package storetest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/shop"
)

// T0 is the time at which the claims begin: in microseconds, as both databases keep it.
var T0 = time.Date(2026, 3, 4, 5, 6, 7, 891234000, time.UTC)

// Opener opens a fresh store.
type Opener func(t testing.TB) shop.Store

// Run holds a store against every claim.
func Run(t *testing.T, open Opener) {
	for _, group := range []struct {
		name   string
		claims []claim
	}{{"shops", shops}, {"keys", keys}, {"documents", documents}, {"runs", runs}, {"work", work}, {"outbox", outbox}, {"upkeep", upkeep}, {"links", links}, {"quotas", quotas}, {"audit", audit}, {"offers", offers}, {"hooks", hooks}, {"watch", watch}, {"retention", retention}} {
		t.Run(group.name, func(t *testing.T) {
			for _, c := range group.claims {
				t.Run(c.says, func(t *testing.T) {
					t.Parallel()
					c.holds(&bench{T: t, s: open(t), ctx: context.Background()})
				})
			}
		})
	}
}

type claim struct {
	says  string
	holds func(b *bench)
}

// bench is one claim's test with a store and some short words.
type bench struct {
	*testing.T
	s   shop.Store
	ctx context.Context
	n   atomic.Int64
}

func (b *bench) id(prefix string) string { return fmt.Sprintf("%s_%06d", prefix, b.n.Add(1)) }

func (b *bench) ok(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

func (b *bench) is(err, want error) {
	b.Helper()
	if !errors.Is(err, want) {
		b.Fatalf("error is %v, not %v", err, want)
	}
}

func (b *bench) shop(name string) shop.ShopID {
	b.Helper()
	s, err := b.s.EnsureShop(b.ctx, shop.Shop{ID: shop.ShopID(b.id("shop")), Name: name, CreatedAt: T0})
	b.ok(err)
	return s.ID
}

func (b *bench) run(s shop.ShopID, at time.Time) shop.Admission {
	id := b.id("run")
	return shop.Admission{OutboxID: b.id("out"), Request: []byte(`{"Style":"wren-petal"}`), Run: shop.Run{
		ID: id, Shop: s, Style: "wren-petal", StyleVersion: "s1", Block: "wren-w", BlockVersion: "b1", Engine: "e1", InputHash: "h-" + id,
		State: shop.StateQueued, Sizes: []string{"8", "10", "É\"12"}, Outputs: []document.Output{{Paper: "A4", PerSize: true}},
		Stamp: "for O'Hara \"1001\"; --", Progress: shop.Progress{Stage: "queued", Total: 3}, CreatedAt: at,
	}}
}

// admitted admits a plain run and answers its id.
func (b *bench) admitted(s shop.ShopID, at time.Time) string {
	b.Helper()
	a := b.run(s, at)
	b.admit(a, shop.Admitted)
	return a.Run.ID
}

func (b *bench) admit(a shop.Admission, want shop.VerdictKind) shop.Verdict {
	b.Helper()
	v, err := b.s.Admit(b.ctx, a)
	b.ok(err)
	if v.Kind != want {
		b.Fatalf("the verdict is %d, not %d", v.Kind, want)
	}
	return v
}

func (b *bench) state(s shop.ShopID, id, want string) shop.Run {
	b.Helper()
	r, err := b.s.Run(b.ctx, s, id)
	b.ok(err)
	if r.State != want {
		b.Fatalf("the run is %s, not %s", r.State, want)
	}
	return r
}

var shops = []claim{
	{"a shop is known by its name, however often it is asked for at once", func(b *bench) {
		ids := make([]shop.ShopID, 8)
		var wg sync.WaitGroup
		for i := range ids {
			wg.Go(func() {
				s, err := b.s.EnsureShop(b.ctx, shop.Shop{ID: shop.ShopID(b.id("shop")), Name: "Rookery Lane", CreatedAt: T0})
				if err != nil {
					b.Error(err)
				}
				if !s.CreatedAt.Equal(T0) {
					b.Errorf("made at %v", s.CreatedAt)
				}
				ids[i] = s.ID
			})
		}
		wg.Wait()
		for _, id := range ids {
			if id != ids[0] {
				b.Errorf("two shops: %s and %s", id, ids[0])
			}
		}
	}},
}

var documents = []claim{
	{"a document comes back byte for byte", func(b *bench) {
		s := b.shop("a")
		raw := []byte("{ \"b\": 1,\n\t\"a\": [1.0, 2e0], \"title\": \"Ärmel \\u0041 \U0001F9F5\" }")
		d := shop.Document{Shop: s, Kind: shop.KindBlock, Name: "wren-w", Title: "Ärmel", Version: "v1", Raw: raw, SavedAt: T0}
		_, created, err := b.s.SaveDocument(b.ctx, d)
		b.ok(err)
		got, err := b.s.Document(b.ctx, s, shop.KindBlock, "wren-w", "")
		b.ok(err)
		if !created || !bytes.Equal(got.Raw, raw) || got.Title != "Ärmel" || got.Version != "v1" || !got.SavedAt.Equal(T0) {
			b.Errorf("%v, %+v", created, got)
		}
	}},
	{"a name means what was saved last, and every version stays", func(b *bench) {
		s := b.shop("a")
		save := func(version string, at time.Time, want bool) {
			b.Helper()
			d, created, err := b.s.SaveDocument(b.ctx, shop.Document{Shop: s, Kind: shop.KindStyle, Name: "n", Version: version, Block: "w", Raw: []byte(version), SavedAt: at})
			b.ok(err)
			if created != want || d.Version != version {
				b.Errorf("%s: created %v", version, created)
			}
		}
		current := func(want string) {
			b.Helper()
			d, err := b.s.Document(b.ctx, s, shop.KindStyle, "n", "")
			b.ok(err)
			if d.Version != want || string(d.Raw) != want || d.Block != "w" {
				b.Errorf("the current version is %s, not %s", d.Version, want)
			}
		}
		save("one", T0, true)
		save("two", T0.Add(time.Second), true)
		current("two")
		save("one", T0.Add(2*time.Second), false)
		current("one")
		d, err := b.s.Document(b.ctx, s, shop.KindStyle, "n", "two")
		b.ok(err)
		if string(d.Raw) != "two" {
			b.Errorf("version two is %q", d.Raw)
		}
		if d, err = b.s.Document(b.ctx, s, shop.KindStyle, "n", "one"); err != nil || !d.SavedAt.Equal(T0) {
			b.Errorf("version one was saved at %v, %v", d.SavedAt, err)
		}
	}},
	{"names are apart by shop and by kind", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		_, _, err := b.s.SaveDocument(b.ctx, shop.Document{Shop: a, Kind: shop.KindBlock, Name: "n", Version: "v", Raw: []byte("{}"), SavedAt: T0})
		b.ok(err)
		for _, at := range []struct {
			s shop.ShopID
			k shop.DocumentKind
			v string
		}{{other, shop.KindBlock, ""}, {other, shop.KindBlock, "v"}, {a, shop.KindStyle, ""}, {a, shop.KindBlock, "w"}} {
			_, err := b.s.Document(b.ctx, at.s, at.k, "n", at.v)
			b.is(err, shop.ErrAbsent)
		}
		hs, err := b.s.ListDocuments(b.ctx, other, shop.KindBlock, "", 10)
		if err != nil || len(hs) != 0 {
			b.Errorf("the other shop sees %d, %v", len(hs), err)
		}
	}},
	{"a list goes by name, page by page", func(b *bench) {
		s := b.shop("a")
		for _, n := range []string{"c", "a", "b", "B"} {
			_, _, err := b.s.SaveDocument(b.ctx, shop.Document{Shop: s, Kind: shop.KindBlock, Name: n, Version: "v", Raw: []byte("{}  "), SavedAt: T0})
			b.ok(err)
		}
		var seen []string
		after := ""
		for {
			hs, err := b.s.ListDocuments(b.ctx, s, shop.KindBlock, after, 3)
			b.ok(err)
			if len(hs) == 0 {
				break
			}
			for _, h := range hs {
				if h.Bytes != 4 || h.Raw != nil {
					b.Errorf("%s: %d bytes, raw %q", h.Name, h.Bytes, h.Raw)
				}
				seen = append(seen, h.Name)
			}
			after = hs[len(hs)-1].Name
		}
		if got := fmt.Sprint(seen); got != "[B a b c]" {
			b.Errorf("the names are %s", got)
		}
	}},
}

var upkeep = []claim{
	{"it answers", func(b *bench) { b.ok(b.s.Ping(b.ctx)) }},
	{"an end of the caller's patience is told as such", func(b *bench) {
		ctx, cancel := context.WithCancel(b.ctx)
		cancel()
		_, err := b.s.Run(ctx, "s", "r")
		b.is(err, context.Canceled)
	}},
	{"a file is its shop's, and its content is known as in use", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		id := b.admitted(a, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		f := shop.FileInfo{ID: "file_1", RunID: id, Name: "a.pdf", MediaType: "application/pdf", Paper: "A4", Pages: 42, Bytes: 5 << 32, SHA256: "aa"}
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0, Files: []shop.FileInfo{f}}))
		got, err := b.s.File(b.ctx, a, "file_1")
		b.ok(err)
		if got != f {
			b.Errorf("%+v", got)
		}
		_, err = b.s.File(b.ctx, other, "file_1")
		b.is(err, shop.ErrAbsent)
		_, err = b.s.File(b.ctx, a, "file_2")
		b.is(err, shop.ErrAbsent)
		has, err := b.s.Referenced(b.ctx, []string{"aa", "bb"})
		if err != nil || !has["aa"] || has["bb"] {
			b.Errorf("%v, %v", has, err)
		}
		has, err = b.s.Referenced(b.ctx, nil)
		if err != nil || len(has) != 0 {
			b.Errorf("%v, %v", has, err)
		}
	}},
	{"old idempotency keys are forgotten", func(b *bench) {
		s := b.shop("a")
		for i, at := range []time.Time{T0, T0.Add(time.Hour)} {
			a := b.run(s, at)
			a.Idem = &shop.Remembered{Shop: s, Scope: "POST /v1/runs", Key: fmt.Sprint(i), RunID: a.Run.ID, CreatedAt: at}
			b.admit(a, shop.Admitted)
		}
		n, err := b.s.Forget(b.ctx, T0.Add(time.Minute))
		if err != nil || n != 1 {
			b.Errorf("%d, %v", n, err)
		}
		for key, want := range map[string]bool{"0": false, "1": true} {
			k, err := b.s.Recall(b.ctx, shop.Remembered{Shop: s, Scope: "POST /v1/runs", Key: key}, T0.Add(time.Hour))
			b.ok(err)
			if (k != nil) != want {
				b.Errorf("key %s: %+v", key, k)
			}
		}
	}},
}
