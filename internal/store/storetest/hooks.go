package storetest

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"sizerun/internal/shop"
)

func (b *bench) endpoint(s shop.ShopID) shop.Endpoint {
	b.Helper()
	e := shop.Endpoint{ID: b.id("hook"), Shop: s, URL: "https://shop.example/hooks?x=1", Description: "orders é", Secret: []byte{0, 1, 255}, CreatedAt: T0.Add(time.Duration(b.n.Load()) * time.Millisecond)}
	ok, err := b.s.AddEndpoint(b.ctx, e, 100)
	b.ok(err)
	if !ok {
		b.Fatal("there was no room for an endpoint")
	}
	return e
}

// over ends a run and answers its id.
func (b *bench) over(s shop.ShopID, state string, at time.Time) string {
	b.Helper()
	id := b.admitted(s, at)
	c, err := b.s.Claim(b.ctx, id, at, at.Add(time.Minute))
	b.ok(err)
	b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: state, At: at}))
	return id
}

func (b *bench) take(at time.Time, limit, each int) []shop.Delivery {
	b.Helper()
	ds, err := b.s.TakeDeliveries(b.ctx, at, at.Add(time.Minute), limit, each)
	b.ok(err)
	return ds
}

// hooks are the claims about what is told and to whom.
var hooks = []claim{
	{"an endpoint comes back as it was put, and to its own shop only", func(b *bench) {
		one, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		e := b.endpoint(one)
		e.URL, e.Secret, e.OldSecret, e.OldUntil, e.OffAt, e.OffWhy = "https://new.example/", []byte("new"), []byte{0, 1, 255}, T0.Add(time.Hour), T0, "gone"
		b.ok(b.s.ChangeEndpoint(b.ctx, e))
		got, err := b.s.Endpoint(b.ctx, one, e.ID)
		b.ok(err)
		if got.URL != e.URL || got.Description != e.Description || !bytes.Equal(got.Secret, e.Secret) || !bytes.Equal(got.OldSecret, e.OldSecret) ||
			!got.OldUntil.Equal(e.OldUntil) || !got.OffAt.Equal(T0) || got.OffWhy != "gone" || !got.CreatedAt.Equal(e.CreatedAt.Truncate(time.Microsecond)) || got.Shop != one {
			b.Errorf("came back as %+v", got)
		}
		_, err = b.s.Endpoint(b.ctx, other, e.ID)
		b.is(err, shop.ErrAbsent)
		e.Shop = other
		b.is(b.s.ChangeEndpoint(b.ctx, e), shop.ErrAbsent)
		b.is(b.s.DeleteEndpoint(b.ctx, other, e.ID), shop.ErrAbsent)
		if es, err := b.s.Endpoints(b.ctx, other); err != nil || len(es) != 0 {
			b.Errorf("another shop sees %v, %v", es, err)
		}
		b.ok(b.s.DeleteEndpoint(b.ctx, one, e.ID))
		b.is(b.s.DeleteEndpoint(b.ctx, one, e.ID), shop.ErrAbsent)
	}},
	{"a shop has no more endpoints than it may, however many are made at once", func(b *bench) {
		s := b.shop("Rookery Lane")
		var wg sync.WaitGroup
		for range 8 {
			wg.Go(func() {
				if _, err := b.s.AddEndpoint(b.ctx, shop.Endpoint{ID: b.id("hook"), Shop: s, URL: "https://x.example", Secret: []byte{1}, CreatedAt: T0}, 3); err != nil {
					b.Error(err)
				}
			})
		}
		wg.Wait()
		if es, err := b.s.Endpoints(b.ctx, s); err != nil || len(es) != 3 {
			b.Errorf("%d endpoints, %v", len(es), err)
		}
	}},
	{"a run that ends makes one event, and a delivery for each endpoint that is on", func(b *bench) {
		one, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		on, off := b.endpoint(one), b.endpoint(one)
		b.endpoint(other)
		off.OffAt = T0
		b.ok(b.s.ChangeEndpoint(b.ctx, off))
		run := b.over(one, shop.StateFailed, T0)
		ds := b.take(T0, 10, 10)
		if len(ds) != 1 || ds[0].Endpoint.ID != on.ID || !bytes.Equal(ds[0].Endpoint.Secret, on.Secret) || ds[0].State != shop.DeliveryWaiting || ds[0].Tries != 0 ||
			ds[0].Event.RunID != run || ds[0].Event.Type != shop.EventFailed || ds[0].Event.Shop != one || !ds[0].Event.CreatedAt.Equal(T0) {
			b.Fatalf("due are %+v", ds)
		}
		e, err := b.s.Event(b.ctx, one, ds[0].Event.ID)
		b.ok(err)
		if e != ds[0].Event {
			b.Errorf("the event is %+v", e)
		}
		_, err = b.s.Event(b.ctx, other, e.ID)
		b.is(err, shop.ErrAbsent)
	}},
	{"a run that is cancelled in the queue is told of, once", func(b *bench) {
		s := b.shop("Rookery Lane")
		b.endpoint(s)
		id := b.admitted(s, T0)
		for range 2 {
			if _, err := b.s.AskCancel(b.ctx, s, id, T0.Add(time.Second)); err != nil {
				b.Fatal(err)
			}
		}
		if ds := b.take(T0.Add(time.Second), 10, 10); len(ds) != 1 || ds[0].Event.Type != shop.EventCancelled || ds[0].Event.RunID != id {
			b.Errorf("due are %+v", ds)
		}
	}},
	{"a delivery is in one pair of hands until its lease is over", func(b *bench) {
		s := b.shop("Rookery Lane")
		b.endpoint(s)
		for i := range 20 {
			b.over(s, shop.StateDone, T0.Add(time.Duration(i)*time.Millisecond))
		}
		now := T0.Add(time.Second)
		var mu sync.Mutex
		seen := map[string]int{}
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				for {
					ds, err := b.s.TakeDeliveries(b.ctx, now, now.Add(time.Minute), 3, 100)
					if err != nil {
						b.Error(err)
						return
					}
					mu.Lock()
					for _, d := range ds {
						seen[d.Event.ID]++
					}
					n := len(seen)
					mu.Unlock()
					if n == 20 {
						return
					}
				}
			})
		}
		wg.Wait()
		for id, n := range seen {
			if n != 1 {
				b.Errorf("%s was taken %d times", id, n)
			}
		}
		if ds := b.take(now.Add(time.Minute-time.Microsecond), 100, 100); len(ds) != 0 {
			b.Errorf("%d were taken before the lease was over", len(ds))
		}
		if ds := b.take(now.Add(time.Minute), 100, 100); len(ds) != 20 {
			b.Errorf("%d were taken when the lease was over", len(ds))
		}
	}},
	{"one endpoint's many deliveries don't hold up another's", func(b *bench) {
		s, t := b.shop("Rookery Lane"), b.shop("Heron Street")
		many, few := b.endpoint(s), b.endpoint(t)
		for i := range 10 {
			b.over(s, shop.StateDone, T0.Add(time.Duration(i)*time.Millisecond))
		}
		b.over(t, shop.StateDone, T0.Add(time.Second))
		of := map[string]int{}
		for _, d := range b.take(T0.Add(time.Minute), 4, 2) {
			of[d.Endpoint.ID]++
		}
		if of[many.ID] != 2 || of[few.ID] != 1 {
			b.Errorf("taken were %v", of)
		}
	}},
	{"a try is logged, and what comes next is kept; who comes too late is told", func(b *bench) {
		s := b.shop("Rookery Lane")
		e := b.endpoint(s)
		b.over(s, shop.StateDone, T0)
		first := b.take(T0, 10, 10)[0]
		next := first
		next.Tries, next.NextAt = 1, T0.Add(5*time.Minute)
		b.ok(b.s.Tried(b.ctx, first, shop.Try{At: T0, Status: 500, Note: "did not take it", Took: 1234567 * time.Nanosecond}, next))
		b.is(b.s.Tried(b.ctx, first, shop.Try{At: T0}, next), shop.ErrFenced)
		if ds := b.take(T0.Add(4*time.Minute), 10, 10); len(ds) != 0 {
			b.Error("it was due before its time")
		}
		second := b.take(T0.Add(5*time.Minute), 10, 10)[0]
		last := second
		last.Tries, last.State = 2, shop.DeliveryDelivered
		b.ok(b.s.Tried(b.ctx, second, shop.Try{At: T0.Add(5 * time.Minute), Status: 204, Took: time.Second}, last))
		if ds := b.take(T0.Add(time.Hour), 10, 10); len(ds) != 0 {
			b.Error("a delivered one is due")
		}
		ds, err := b.s.Deliveries(b.ctx, s, e.ID, shop.RunPlace{}, 10)
		b.ok(err)
		if len(ds) != 1 || ds[0].State != shop.DeliveryDelivered || ds[0].Tries != 2 || len(ds[0].Log) != 2 ||
			ds[0].Log[0] != (shop.Try{At: T0, Status: 500, Note: "did not take it", Took: 1234 * time.Microsecond}) || ds[0].Log[1].Status != 204 {
			b.Errorf("the log is %+v", ds)
		}
	}},
	{"a delivery can be replayed, its log kept; and an event sent where it was not meant for", func(b *bench) {
		s, other := b.shop("Rookery Lane"), b.shop("Heron Street")
		e := b.endpoint(s)
		b.over(s, shop.StateDone, T0)
		d := b.take(T0, 10, 10)[0]
		failed := d
		failed.Tries, failed.State = 1, shop.DeliveryFailed
		b.ok(b.s.Tried(b.ctx, d, shop.Try{At: T0, Status: 500}, failed))
		b.ok(b.s.Replay(b.ctx, s, e.ID, d.Event.ID, T0.Add(time.Hour)))
		again := b.take(T0.Add(time.Hour), 10, 10)
		if len(again) != 1 || again[0].Tries != 0 || again[0].Event != d.Event {
			b.Fatalf("due are %+v", again)
		}
		later := b.endpoint(s)
		b.ok(b.s.Replay(b.ctx, s, later.ID, d.Event.ID, T0.Add(time.Hour)))
		if ds := b.take(T0.Add(time.Hour), 10, 10); len(ds) != 1 || ds[0].Endpoint.ID != later.ID {
			b.Errorf("due are %+v", ds)
		}
		if ds, err := b.s.Deliveries(b.ctx, s, e.ID, shop.RunPlace{}, 10); err != nil || len(ds[0].Log) != 1 {
			b.Errorf("the log is %+v, %v", ds, err)
		}
		b.is(b.s.Replay(b.ctx, s, e.ID, "evt_nothing", T0), shop.ErrAbsent)
		b.is(b.s.Replay(b.ctx, other, e.ID, d.Event.ID, T0), shop.ErrAbsent)
		b.is(b.s.Replay(b.ctx, other, b.endpoint(other).ID, d.Event.ID, T0), shop.ErrAbsent)
	}},
	{"nothing is due at an endpoint that is off; what waited comes when it is on", func(b *bench) {
		s := b.shop("Rookery Lane")
		e := b.endpoint(s)
		b.over(s, shop.StateDone, T0)
		e.OffAt = T0
		b.ok(b.s.ChangeEndpoint(b.ctx, e))
		if ds := b.take(T0.Add(time.Hour), 10, 10); len(ds) != 0 {
			b.Errorf("due are %+v", ds)
		}
		e.OffAt = time.Time{}
		b.ok(b.s.ChangeEndpoint(b.ctx, e))
		if ds := b.take(T0.Add(time.Hour), 10, 10); len(ds) != 1 {
			b.Errorf("due are %+v", ds)
		}
	}},
	{"events are listed in order, page by page, none twice", func(b *bench) {
		s := b.shop("Rookery Lane")
		b.over(b.shop("Heron Street"), shop.StateDone, T0)
		var want []string
		for i := range 7 {
			id := b.over(s, shop.StateDone, T0.Add(time.Duration(i/2)*time.Second)) // pairs at one time
			want = append(want, "evt_"+strings.TrimPrefix(id, "run_"))
		}
		var got []string
		var from shop.RunPlace
		for {
			es, err := b.s.Events(b.ctx, s, from, T0.Add(time.Hour), false, 3)
			b.ok(err)
			if len(es) == 0 {
				break
			}
			for _, e := range es {
				got = append(got, e.ID)
			}
			last := es[len(es)-1]
			from = shop.RunPlace{CreatedAt: last.CreatedAt, ID: last.ID}
		}
		if !slices.Equal(got, want) {
			b.Errorf("listed are %v, want %v", got, want)
		}
		es, err := b.s.Events(b.ctx, s, shop.RunPlace{}, T0.Add(time.Second), true, 3)
		b.ok(err)
		got = nil
		for _, e := range es {
			got = append(got, e.ID)
		}
		if !slices.Equal(got, want[1:4]) {
			b.Errorf("the newest up to a time are %v, want %v", got, want[1:4])
		}
	}},
	{"old events are forgotten, with their deliveries and tries", func(b *bench) {
		s := b.shop("Rookery Lane")
		e := b.endpoint(s)
		for i := range 5 {
			b.over(s, shop.StateDone, T0.Add(time.Duration(i)*time.Hour))
		}
		d := b.take(T0, 1, 1)[0]
		b.ok(b.s.Tried(b.ctx, d, shop.Try{At: T0}, d))
		for i, want := range []int{2, 1, 0} {
			n, err := b.s.ForgetEvents(b.ctx, T0.Add(3*time.Hour), 2)
			b.ok(err)
			if n != want {
				b.Errorf("batch %d forgot %d", i, n)
			}
		}
		if ds, err := b.s.Deliveries(b.ctx, s, e.ID, shop.RunPlace{}, 10); err != nil || len(ds) != 2 {
			b.Errorf("%d are left, %v", len(ds), err)
		}
		b.ok(b.s.AddEvent(b.ctx, shop.Event{ID: b.id("evt"), Shop: s, Type: shop.EventTest, CreatedAt: T0.Add(9 * time.Hour)}, e.ID))
		ds, err := b.s.Deliveries(b.ctx, s, e.ID, shop.RunPlace{}, 2)
		b.ok(err)
		before := shop.RunPlace{CreatedAt: ds[1].Event.CreatedAt, ID: ds[1].Event.ID}
		more, err := b.s.Deliveries(b.ctx, s, e.ID, before, 2)
		b.ok(err)
		if len(ds) != 2 || ds[0].Event.Type != shop.EventTest || ds[0].Event.RunID != "" || len(more) != 1 {
			b.Error(fmt.Sprint("the newest are ", ds, ", then ", more))
		}
	}},
}
