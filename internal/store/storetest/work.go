package storetest

import (
	"errors"
	"fmt"
	"sync"
	"time"

	"sizerun/internal/shop"
)

var work = []claim{
	{"of many that claim a run at once, one has it", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		var mu sync.Mutex
		got := 0
		var wg sync.WaitGroup
		for range 12 {
			wg.Go(func() {
				c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
				mu.Lock()
				defer mu.Unlock()
				switch {
				case err == nil:
					got++
					if c.Attempt != 1 || c.Tries != 1 || string(c.Request) != `{"Style":"wren-petal"}` || c.Run.State != shop.StateMaking {
						b.Errorf("%+v", c)
					}
				case !errors.Is(err, shop.ErrFenced):
					b.Error(err)
				}
			})
		}
		wg.Wait()
		if got != 1 {
			b.Errorf("%d have it", got)
		}
	}},
	{"a run is claimed again when its lease is over, and the first worker's words are lost", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c1, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		_, err = b.s.Claim(b.ctx, id, T0.Add(time.Minute-time.Microsecond), T0.Add(time.Hour))
		b.is(err, shop.ErrFenced)
		c2, err := b.s.Claim(b.ctx, id, T0.Add(time.Minute), T0.Add(2*time.Minute))
		b.ok(err)
		if c2.Attempt <= c1.Attempt || c2.Tries != 2 || !c2.Run.StartedAt.Equal(T0) {
			b.Errorf("%+v after %+v", c2, c1)
		}
		_, err = b.s.Touch(b.ctx, id, c1.Attempt, shop.Progress{Stage: "late"}, T0.Add(time.Hour))
		b.is(err, shop.ErrFenced)
		late := shop.Outcome{State: shop.StateDone, At: T0, Files: []shop.FileInfo{{ID: "late", Name: "a.pdf", SHA256: "aa"}}}
		b.is(b.s.Finish(b.ctx, id, c1.Attempt, late), shop.ErrFenced)
		b.is(b.s.HandBack(b.ctx, id, c1.Attempt, shop.HandBack{At: T0, OutboxID: b.id("out")}), shop.ErrFenced)
		_, err = b.s.File(b.ctx, s, "late")
		b.is(err, shop.ErrAbsent)
		b.ok(b.s.Finish(b.ctx, id, c2.Attempt, shop.Outcome{State: shop.StateDone, At: T0.Add(time.Second), Files: []shop.FileInfo{
			{ID: "f2", Name: "b.pdf", SHA256: "bb"}, {ID: "f1", Name: "a.pdf", SHA256: "aa"}}}))
		r := b.state(s, id, shop.StateDone)
		if len(r.Files) != 2 || r.Files[0].ID != "f2" || r.Files[1].ID != "f1" || r.Progress.Done != r.Progress.Total {
			b.Errorf("%+v", r)
		}
	}},
	{"a touch keeps the lease and stores how far it is", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		_, err = b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{Stage: "paper", Done: 2, Total: 5}, T0.Add(time.Hour))
		b.ok(err)
		_, err = b.s.Claim(b.ctx, id, T0.Add(2*time.Minute), T0.Add(time.Hour))
		b.is(err, shop.ErrFenced)
		if r := b.state(s, id, shop.StateMaking); r.Progress != (shop.Progress{Stage: "paper", Done: 2, Total: 5}) {
			b.Errorf("%+v", r.Progress)
		}
	}},
	{"over is over", func(b *bench) {
		s := b.shop("a")
		for _, end := range []string{shop.StateDone, shop.StateFailed, shop.StateCancelled} {
			id := b.admitted(s, T0)
			c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
			b.ok(err)
			b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: end, At: T0}))
			b.is(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0}), shop.ErrFenced)
			_, err = b.s.Claim(b.ctx, id, T0.Add(time.Hour), T0.Add(2*time.Hour))
			b.is(err, shop.ErrFenced)
			_, err = b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{}, T0.Add(time.Hour))
			b.is(err, shop.ErrFenced)
			if r, err := b.s.AskCancel(b.ctx, s, id, T0.Add(time.Hour)); err != nil || r.State != end {
				b.Errorf("%s became %s, %v", end, r.State, err)
			}
		}
	}},
	{"a finish is all or nothing", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		twice := shop.Outcome{State: shop.StateDone, At: T0, Files: []shop.FileInfo{{ID: "f1", Name: "a.pdf", SHA256: "aa"}, {ID: "f2", Name: "a.pdf", SHA256: "aa"}}}
		if err := b.s.Finish(b.ctx, id, c.Attempt, twice); err == nil {
			b.Error("two files of one name were attached")
		}
		b.state(s, id, shop.StateMaking)
		_, err = b.s.File(b.ctx, s, "f1")
		b.is(err, shop.ErrAbsent)
	}},
	{"a run handed back is due again when it says, and a refunded try does not count", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		at := T0
		for i, want := range []int{1, 1, 2, 3} { // tries: the first is refunded
			ds, err := b.s.TakeDue(b.ctx, at, at.Add(time.Minute), 10, 10, 10)
			b.ok(err)
			if len(ds) != 1 || ds[0].RunID != id {
				b.Fatalf("try %d: due are %v", i, ds)
			}
			// The relay has not struck the row out yet when the run comes back: both orders happen.
			if i%2 == 0 {
				b.ok(b.s.HandedOver(b.ctx, ds, at))
			}
			c, err := b.s.Claim(b.ctx, id, at, at.Add(time.Minute))
			b.ok(err)
			if c.Tries != want {
				b.Errorf("claim %d is try %d", i, c.Tries)
			}
			b.ok(b.s.HandBack(b.ctx, id, c.Attempt, shop.HandBack{At: at.Add(time.Second), OutboxID: b.id("out"), Refund: i == 0}))
			if i%2 == 1 {
				b.ok(b.s.HandedOver(b.ctx, ds, at))
			}
			if ds, err := b.s.TakeDue(b.ctx, at.Add(time.Second-time.Microsecond), at.Add(time.Minute), 10, 10, 10); err != nil || len(ds) != 0 {
				b.Errorf("due too early: %v, %v", ds, err)
			}
			_, err = b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{}, at.Add(time.Hour))
			b.is(err, shop.ErrFenced)
			at = at.Add(time.Second)
		}
	}},
	{"what was made of the same input is found, in the same shop", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		_, err := b.s.Made(b.ctx, a, "h")
		b.is(err, shop.ErrAbsent)
		for i := range 2 {
			id := b.admitted(a, T0)
			c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
			b.ok(err)
			b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0.Add(time.Duration(i) * time.Second), InputHash: "h", Engine: "e",
				Report: &shop.Summary{Pass: i}, Files: []shop.FileInfo{{ID: b.id("file"), Name: "a.pdf", SHA256: fmt.Sprint(i)}}}))
		}
		o, err := b.s.Made(b.ctx, a, "h")
		b.ok(err)
		if o.State != shop.StateDone || o.Report.Pass != 1 || len(o.Files) != 1 || o.Files[0].SHA256 != "1" {
			b.Errorf("%+v", o)
		}
		_, err = b.s.Made(b.ctx, other, "h")
		b.is(err, shop.ErrAbsent)
	}},
	{"a run that gave nothing is not found as made", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateFailed, At: T0, InputHash: "h"}))
		_, err = b.s.Made(b.ctx, s, "h")
		b.is(err, shop.ErrAbsent)
	}},
}

var outbox = []claim{
	{"a shop has no more with the queue than its share, and the next shop has its own", func(b *bench) {
		many, one := b.shop("a"), b.shop("b")
		for range 50 {
			b.admitted(many, T0)
		}
		take := func(want int) []shop.Dispatch {
			b.Helper()
			ds, err := b.s.TakeDue(b.ctx, T0.Add(time.Second), T0.Add(time.Minute), 100, 1000, 4)
			b.ok(err)
			if len(ds) != want {
				b.Fatalf("%d were taken, not %d", len(ds), want)
			}
			return ds
		}
		ds := take(4)
		take(0) // those that another relay has in hand count
		b.ok(b.s.HandedOver(b.ctx, ds, T0))
		take(0)
		id := b.admitted(one, T0.Add(time.Second))
		if got := take(1); got[0].RunID != id {
			b.Errorf("the other shop's run is not handed over: %v", got)
		}
		c, err := b.s.Claim(b.ctx, ds[0].RunID, T0, T0.Add(time.Minute))
		b.ok(err)
		take(0) // what is being made counts
		b.ok(b.s.Finish(b.ctx, ds[0].RunID, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0}))
		take(1)
	}},
	{"of many relays at once, each row goes to one", func(b *bench) {
		s := b.shop("a")
		for range 40 {
			b.admitted(s, T0)
		}
		var mu sync.Mutex
		seen := map[string]int{}
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				for range 40 { // a relay that finds everything taken comes again
					ds, err := b.s.TakeDue(b.ctx, T0, T0.Add(time.Minute), 7, 1000, 1000)
					if err != nil {
						b.Error(err)
						return
					}
					mu.Lock()
					for _, d := range ds {
						seen[d.RunID]++
					}
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		if len(seen) != 40 {
			b.Errorf("%d of 40 runs were taken", len(seen))
		}
		for id, n := range seen {
			if n != 1 {
				b.Errorf("%s was taken %d times", id, n)
			}
		}
	}},
	{"a relay that dies gives its rows back by and by", func(b *bench) {
		id := b.admitted(b.shop("a"), T0)
		for i, at := range []time.Duration{0, 9 * time.Second, 10 * time.Second} {
			ds, err := b.s.TakeDue(b.ctx, T0.Add(at), T0.Add(at+10*time.Second), 10, 10, 10)
			b.ok(err)
			if want := i != 1; (len(ds) == 1 && ds[0].RunID == id) != want {
				b.Errorf("after %v: %v", at, ds)
			}
		}
	}},
	{"shops take turns", func(b *bench) {
		big, small := b.shop("big"), b.shop("small")
		for range 30 {
			b.admitted(big, T0)
		}
		late := b.admitted(small, T0.Add(time.Minute))
		ds, err := b.s.TakeDue(b.ctx, T0.Add(time.Hour), T0.Add(2*time.Hour), 5, 1000, 1000)
		b.ok(err)
		for i, d := range ds {
			if d.RunID == late && i <= 1 {
				return
			}
		}
		b.Errorf("the small shop's run is not among the first: %v", ds)
	}},
	{"no more is handed over than may be in flight", func(b *bench) {
		s := b.shop("a")
		for range 10 {
			b.admitted(s, T0)
		}
		take := func(want int) []shop.Dispatch {
			b.Helper()
			ds, err := b.s.TakeDue(b.ctx, T0.Add(time.Second), T0.Add(time.Minute), 100, 4, 4)
			b.ok(err)
			if len(ds) != want {
				b.Fatalf("%d were taken, not %d", len(ds), want)
			}
			return ds
		}
		ds := take(4)
		b.ok(b.s.HandedOver(b.ctx, ds, T0))
		take(0)
		c, err := b.s.Claim(b.ctx, ds[0].RunID, T0, T0.Add(time.Minute))
		b.ok(err)
		take(0)
		b.ok(b.s.Finish(b.ctx, ds[0].RunID, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0}))
		take(1)
	}},
	{"forsaken runs are found, and only those", func(b *bench) {
		s := b.shop("a")
		find := func(at, before time.Duration, all bool, want int) {
			b.Helper()
			n, err := b.s.Forsaken(b.ctx, shop.Forsaken{Now: T0.Add(at), HandedBefore: T0.Add(before), AllLeases: all, Limit: 100, NewID: func() string { return b.id("out") }})
			b.ok(err)
			if n != want {
				b.Fatalf("%d are forsaken, not %d", n, want)
			}
		}
		hand := func(at time.Duration, want int) {
			b.Helper()
			ds, err := b.s.TakeDue(b.ctx, T0.Add(at), T0.Add(at+time.Minute), 10, 10, 10)
			b.ok(err)
			if len(ds) != want {
				b.Fatalf("%d are due, not %d", len(ds), want)
			}
			b.ok(b.s.HandedOver(b.ctx, ds, T0.Add(at)))
		}
		id := b.admitted(s, T0)
		find(time.Hour, time.Hour, false, 0) // still in the outbox, whatever its age
		hand(time.Hour, 1)
		find(2*time.Hour, time.Hour-time.Second, false, 0) // handed over lately
		find(2*time.Hour, time.Hour, false, 1)             // the queue has lost it
		find(2*time.Hour, time.Hour, false, 0)             // found once
		hand(2*time.Hour, 1)
		_, err := b.s.Claim(b.ctx, id, T0.Add(2*time.Hour), T0.Add(3*time.Hour))
		b.ok(err)
		find(3*time.Hour-time.Second, 3*time.Hour, false, 0) // a worker is at it
		find(3*time.Hour, 0, false, 1)                       // the worker has died: no need to wait for the queue
		hand(3*time.Hour, 1)
		_, err = b.s.Claim(b.ctx, id, T0.Add(3*time.Hour), T0.Add(9*time.Hour))
		b.ok(err)
		find(3*time.Hour, 3*time.Hour, true, 1) // the only process has started anew
		hand(3*time.Hour, 1)
		c, err := b.s.Claim(b.ctx, id, T0.Add(3*time.Hour), T0.Add(9*time.Hour)) // and may claim at once
		b.ok(err)
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0.Add(3 * time.Hour)}))
		find(99*time.Hour, 99*time.Hour, true, 0)
	}},
	{"of many reconcilers at once, each forsaken run is found by one", func(b *bench) {
		s := b.shop("a")
		for range 20 {
			b.admitted(s, T0)
		}
		ds, err := b.s.TakeDue(b.ctx, T0, T0.Add(time.Minute), 100, 100, 100)
		b.ok(err)
		b.ok(b.s.HandedOver(b.ctx, ds, T0))
		var mu sync.Mutex
		total := 0
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				for range 10 {
					n, err := b.s.Forsaken(b.ctx, shop.Forsaken{Now: T0.Add(time.Hour), HandedBefore: T0.Add(time.Hour), Limit: 3, NewID: func() string { return b.id("out") }})
					if err != nil {
						b.Error(err)
						return
					}
					mu.Lock()
					total += n
					mu.Unlock()
				}
			})
		}
		wg.Wait()
		if total != 20 {
			b.Errorf("%d were found, of 20", total)
		}
	}},
}
