package storetest

import (
	"time"

	"sizerun/internal/shop"
)

// watch are the claims about what an operator is told.
var watch = []claim{
	{"the backlog is what is not done yet, and how old the oldest of it is", func(b *bench) {
		backlog := func(at time.Time) shop.Backlog {
			b.Helper()
			got, err := b.s.Backlog(b.ctx, at)
			b.ok(err)
			return got
		}
		if got := backlog(T0); got != (shop.Backlog{}) {
			b.Errorf("of nothing: %+v", got)
		}
		one, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		second, first := b.admitted(one, T0.Add(time.Minute)), b.admitted(other, T0)
		b.over(one, shop.StateDone, T0.Add(-time.Hour))
		if got := backlog(T0); got.Waiting != 2 || got.Making != 0 || got.Outbox != 2 || !got.OldestWaiting.Equal(T0.Truncate(time.Microsecond)) {
			b.Errorf("two wait: %+v", got)
		}
		c, err := b.s.Claim(b.ctx, first, T0, T0.Add(time.Hour))
		b.ok(err)
		if got := backlog(T0); got.Waiting != 1 || got.Making != 1 || !got.OldestWaiting.Equal(T0.Add(time.Minute).Truncate(time.Microsecond)) {
			b.Errorf("one is being made: %+v", got)
		}
		if got := backlog(T0.Add(time.Hour)); got.Waiting != 2 || got.Making != 0 {
			b.Errorf("its worker is silent: %+v", got)
		}
		b.ok(b.s.HandBack(b.ctx, first, c.Attempt, shop.HandBack{At: T0, OutboxID: b.id("out")}))
		if got := backlog(T0); got.Waiting != 2 || got.Making != 0 {
			b.Errorf("it is handed back: %+v", got)
		}
		for _, id := range []string{first, second} {
			for _, s := range []shop.ShopID{one, other} {
				if _, err := b.s.AskCancel(b.ctx, s, id, T0); err != nil {
					b.is(err, shop.ErrAbsent)
				}
			}
		}
		if got := backlog(T0); got.Waiting != 0 || got.Outbox != 0 || !got.OldestWaiting.IsZero() {
			b.Errorf("all is over: %+v", got)
		}
	}},
	{"webhooks are behind from when they are due, if their endpoint is on", func(b *bench) {
		s := b.shop("Rookery Lane")
		e := b.endpoint(s)
		b.over(s, shop.StateDone, T0)
		got, err := b.s.Backlog(b.ctx, T0.Add(-time.Second))
		b.ok(err)
		if got.HooksDue != 0 || !got.OldestHookDue.IsZero() {
			b.Errorf("before its time: %+v", got)
		}
		got, err = b.s.Backlog(b.ctx, T0.Add(time.Second))
		b.ok(err)
		if got.HooksDue != 1 || !got.OldestHookDue.Equal(T0.Truncate(time.Microsecond)) {
			b.Errorf("due: %+v", got)
		}
		e.OffAt = T0
		b.ok(b.s.ChangeEndpoint(b.ctx, e))
		got, err = b.s.Backlog(b.ctx, T0.Add(time.Second))
		b.ok(err)
		if got.HooksDue != 0 {
			b.Errorf("switched off: %+v", got)
		}
	}},
	{"a run's request comes back as it was kept, to its own shop only", func(b *bench) {
		one, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		id := b.admitted(one, T0)
		raw, err := b.s.RequestOf(b.ctx, one, id)
		b.ok(err)
		if string(raw) != `{"Style":"wren-petal"}` {
			b.Errorf("%s", raw)
		}
		_, err = b.s.RequestOf(b.ctx, other, id)
		b.is(err, shop.ErrAbsent)
		_, err = b.s.RequestOf(b.ctx, one, "run_unknown")
		b.is(err, shop.ErrAbsent)
	}},
}
