package storetest

import (
	"bytes"
	"time"

	"sizerun/internal/shop"
)

// offers are the claims about what is published.
var offers = []claim{
	{"what is published is the last that was, the shop's own, until it is withdrawn", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		_, err := b.s.Offer(b.ctx, s, "wren-petal")
		b.is(err, shop.ErrAbsent)
		o := shop.Offer{Shop: s, Style: "wren-petal", StyleVersion: "s1", Block: "wren-w", BlockVersion: "b1", Raw: []byte(`{"sizes": "all" }`), PublishedAt: T0}
		b.ok(b.s.Publish(b.ctx, o))
		o.StyleVersion, o.BlockVersion, o.Raw, o.PublishedAt = "s2", "b2", []byte(`{}`), T0.Add(time.Hour)
		b.ok(b.s.Publish(b.ctx, o))
		got, err := b.s.Offer(b.ctx, s, "wren-petal")
		b.ok(err)
		if got.StyleVersion != "s2" || got.Block != "wren-w" || got.BlockVersion != "b2" || !bytes.Equal(got.Raw, o.Raw) || !got.PublishedAt.Equal(o.PublishedAt) || got.Shop != s || got.Style != o.Style {
			b.Errorf("%+v", got)
		}
		_, err = b.s.Offer(b.ctx, other, "wren-petal")
		b.is(err, shop.ErrAbsent)
		b.is(b.s.Withdraw(b.ctx, other, "wren-petal"), shop.ErrAbsent)
		b.ok(b.s.Withdraw(b.ctx, s, "wren-petal"))
		b.is(b.s.Withdraw(b.ctx, s, "wren-petal"), shop.ErrAbsent)
		_, err = b.s.Offer(b.ctx, s, "wren-petal")
		b.is(err, shop.ErrAbsent)
	}},
}
