package storetest

import (
	"fmt"
	"slices"
	"sync"
	"time"

	"sizerun/internal/shop"
)

func (b *bench) key(s shop.ShopID, at time.Time) shop.Key {
	b.Helper()
	k := shop.Key{ID: b.id("k"), Shop: s, Hash: [32]byte{1, 2, 255}, Scope: shop.ScopeMake, Sandbox: true, Description: "the é web shop", CreatedAt: at}
	ok, err := b.s.AddKey(b.ctx, k, 0)
	b.ok(err)
	if !ok {
		b.Fatal("there was no room for a key")
	}
	return k
}

// keys are the claims about who may come in.
var keys = []claim{
	{"a key finds its shop until it is revoked, by its shop alone", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		k := b.key(a, T0)
		got, sh, err := b.s.KeyByID(b.ctx, k.ID)
		b.ok(err)
		if got != k || sh.ID != a || sh.Name != "a" || !sh.CreatedAt.Equal(T0) {
			b.Errorf("%+v of %+v", got, sh)
		}
		b.is(b.s.RevokeKey(b.ctx, other, k.ID, T0), shop.ErrAbsent)
		b.ok(b.s.RevokeKey(b.ctx, a, k.ID, T0))
		b.ok(b.s.RevokeKey(b.ctx, a, k.ID, T0.Add(time.Hour)))
		_, _, err = b.s.KeyByID(b.ctx, k.ID)
		b.is(err, shop.ErrAbsent)
		_, _, err = b.s.KeyByID(b.ctx, "never")
		b.is(err, shop.ErrAbsent)
		// Its shop can still look at it, and no other can.
		got, err = b.s.Key(b.ctx, a, k.ID)
		b.ok(err)
		if k.RevokedAt = T0; got != k {
			b.Errorf("revoked it is %+v", got)
		}
		_, err = b.s.Key(b.ctx, other, k.ID)
		b.is(err, shop.ErrAbsent)
	}},
	{"a rotated key has the new hash, and the old one beside it", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		k := b.key(a, T0)
		b.is(b.s.RotateKey(b.ctx, other, k.ID, [32]byte{9}, T0.Add(time.Hour)), shop.ErrAbsent)
		b.ok(b.s.RotateKey(b.ctx, a, k.ID, [32]byte{9}, T0.Add(time.Hour)))
		got, _, err := b.s.KeyByID(b.ctx, k.ID)
		b.ok(err)
		want := k
		want.Hash, want.OldHash, want.OldUntil = [32]byte{9}, k.Hash, T0.Add(time.Hour)
		if got != want {
			b.Errorf("%+v", got)
		}
		b.ok(b.s.RotateKey(b.ctx, a, k.ID, [32]byte{10}, T0.Add(2*time.Hour)))
		if got, _, _ = b.s.KeyByID(b.ctx, k.ID); got.OldHash != [32]byte{9} {
			b.Errorf("after a second rotation the first secret still stands beside: %+v", got)
		}
		b.ok(b.s.RevokeKey(b.ctx, a, k.ID, T0))
		b.is(b.s.RotateKey(b.ctx, a, k.ID, [32]byte{11}, T0), shop.ErrAbsent)
	}},
	{"when a key was last used only moves forward", func(b *bench) {
		s := b.shop("a")
		k := b.key(s, T0)
		for _, at := range []time.Time{T0.Add(time.Hour), T0.Add(time.Minute)} {
			b.ok(b.s.KeyUsed(b.ctx, k.ID, at))
		}
		got, err := b.s.Key(b.ctx, s, k.ID)
		b.ok(err)
		if !got.UsedAt.Equal(T0.Add(time.Hour)) {
			b.Errorf("used at %v", got.UsedAt)
		}
		b.ok(b.s.KeyUsed(b.ctx, "never", T0))
	}},
	{"a list of keys is the shop's own, the newest first, page by page", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		b.key(other, T0)
		var want, seen []string
		for i := range 5 {
			want = append(want, b.key(a, T0.Add(time.Duration(i/2)*time.Second)).ID) // two at a time
		}
		slices.Reverse(want)
		var before shop.RunPlace
		for {
			ks, err := b.s.ListKeys(b.ctx, a, before, 2)
			b.ok(err)
			if len(ks) == 0 {
				break
			}
			for _, k := range ks {
				seen = append(seen, k.ID)
				before = shop.RunPlace{CreatedAt: k.CreatedAt, ID: k.ID}
			}
		}
		if fmt.Sprint(seen) != fmt.Sprint(want) {
			b.Errorf("the list is %v, not %v", seen, want)
		}
	}},
	{"a shop has no more keys that hold than it may, however many are made at once", func(b *bench) {
		s := b.shop("a")
		b.ok(b.s.RevokeKey(b.ctx, s, b.key(s, T0).ID, T0)) // does not count
		var wg sync.WaitGroup
		for range 8 {
			wg.Go(func() {
				if _, err := b.s.AddKey(b.ctx, shop.Key{ID: b.id("k"), Shop: s, Scope: shop.ScopeRead, CreatedAt: T0}, 3); err != nil {
					b.Error(err)
				}
			})
		}
		wg.Wait()
		ks, err := b.s.ListKeys(b.ctx, s, shop.RunPlace{}, 100)
		b.ok(err)
		if len(ks) != 4 {
			b.Errorf("there are %d keys, one of them revoked", len(ks))
		}
	}},
	{"a shop is found by its name, or not at all", func(b *bench) {
		id := b.shop("Heron Street")
		s, err := b.s.ShopNamed(b.ctx, "Heron Street")
		b.ok(err)
		if s.ID != id || s.Name != "Heron Street" {
			b.Errorf("%+v", s)
		}
		_, err = b.s.ShopNamed(b.ctx, "heron street")
		b.is(err, shop.ErrAbsent)
	}},
}
