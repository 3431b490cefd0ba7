package storetest

import (
	"bytes"
	"time"

	"sizerun/internal/shop"
)

// links are the claims about the keys that links are signed with.
var links = []claim{
	{"link keys come back as they were put, the newest first", func(b *bench) {
		if ks, err := b.s.LinkKeys(b.ctx); err != nil || len(ks) != 0 {
			b.Fatalf("%v, %v", ks, err)
		}
		for i := range 3 {
			b.ok(b.s.AddLinkKey(b.ctx, shop.LinkKey{ID: b.id("k"), Secret: bytes.Repeat([]byte{0, byte(i), 255}, 11), CreatedAt: T0.Add(time.Duration(i) * time.Hour)}))
		}
		ks, err := b.s.LinkKeys(b.ctx)
		b.ok(err)
		for i, k := range ks {
			if want := T0.Add(time.Duration(2-i) * time.Hour); !k.CreatedAt.Equal(want) || !bytes.Equal(k.Secret, bytes.Repeat([]byte{0, byte(2 - i), 255}, 11)) {
				b.Errorf("key %d is %+v", i, k)
			}
		}
		n, err := b.s.DropLinkKeys(b.ctx, T0.Add(time.Hour))
		b.ok(err)
		if ks, err := b.s.LinkKeys(b.ctx); err != nil || n != 1 || len(ks) != 2 || !ks[1].CreatedAt.Equal(T0.Add(time.Hour)) {
			b.Errorf("%d keys were dropped, and %+v are left, %v", n, ks, err)
		}
	}},
	{"the owner of a run and of a file is known by the id", func(b *bench) {
		one, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		for _, s := range []shop.ShopID{one, other} {
			run := b.admitted(s, T0)
			c, err := b.s.Claim(b.ctx, run, T0, T0.Add(time.Minute))
			b.ok(err)
			file := shop.FileInfo{ID: b.id("file"), RunID: run, Name: "a.pdf", MediaType: "application/pdf", SHA256: "x"}
			b.ok(b.s.Finish(b.ctx, run, c.Attempt, shop.Outcome{State: shop.StateDone, Files: []shop.FileInfo{file}, At: T0}))
			for _, id := range []string{run, file.ID} {
				if got, err := b.s.Owner(b.ctx, id); err != nil || got != s {
					b.Errorf("%s is %s's, not %s's: %v", id, got, s, err)
				}
			}
		}
		_, err := b.s.Owner(b.ctx, "run_nobodys")
		b.is(err, shop.ErrAbsent)
	}},
}
