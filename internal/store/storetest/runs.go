package storetest

import (
	"fmt"
	"reflect"
	"sync"
	"time"

	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

const scope = "POST /v1/runs"

var runs = []claim{
	{"a run comes back as it was admitted", func(b *bench) {
		s := b.shop("a")
		a := b.run(s, T0)
		a.Run.ExternalID, a.Run.DeliverAnyway = "1001", true
		b.admit(a, shop.Admitted)
		got, err := b.s.Run(b.ctx, s, a.Run.ID)
		b.ok(err)
		if !reflect.DeepEqual(got, a.Run) {
			b.Errorf("got\n%+v, wanted\n%+v", got, a.Run)
		}
	}},
	{"another shop's run is absent", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		id := b.admitted(a, T0)
		_, err := b.s.Run(b.ctx, other, id)
		b.is(err, shop.ErrAbsent)
		_, err = b.s.AskCancel(b.ctx, other, id, T0)
		b.is(err, shop.ErrAbsent)
		b.state(a, id, shop.StateQueued)
	}},
	{"an external id is one run's, per shop", func(b *bench) {
		a, other := b.shop("a"), b.shop("b")
		first := b.run(a, T0)
		first.Run.ExternalID = "1001"
		b.admit(first, shop.Admitted)
		again := b.run(a, T0)
		again.Run.ExternalID = "1001"
		if v := b.admit(again, shop.ExternalTaken); v.RunID != first.Run.ID {
			b.Errorf("it is said to be %s's", v.RunID)
		}
		_, err := b.s.Run(b.ctx, a, again.Run.ID)
		b.is(err, shop.ErrAbsent)
		theirs := b.run(other, T0)
		theirs.Run.ExternalID = "1001"
		b.admit(theirs, shop.Admitted)
		b.admitted(a, T0) // any number may have none
		b.admitted(a, T0)
	}},
	{"an idempotency key has one run, of fifty that come at once", func(b *bench) {
		s := b.shop("a")
		var mu sync.Mutex
		ids := map[string]int{}
		admitted := 0
		var wg sync.WaitGroup
		for range 50 {
			wg.Go(func() {
				a := b.run(s, T0)
				a.Run.ExternalID = "1001" // the key counts first, or a replay would look like a conflict
				a.Idem = &shop.Remembered{Shop: s, Scope: scope, Key: "k", Print: [32]byte{7}, RunID: a.Run.ID, CreatedAt: T0}
				v, err := b.s.Admit(b.ctx, a)
				if err != nil {
					b.Error(err)
					return
				}
				mu.Lock()
				defer mu.Unlock()
				ids[v.RunID]++
				switch v.Kind {
				case shop.Admitted:
					admitted++
				case shop.KeyTaken:
					if v.Earlier == nil || v.Earlier.Print != [32]byte{7} || !v.Earlier.CreatedAt.Equal(T0) {
						b.Errorf("the earlier one is %+v", v.Earlier)
					}
				default:
					b.Errorf("verdict %d", v.Kind)
				}
			})
		}
		wg.Wait()
		if admitted != 1 || len(ids) != 1 {
			b.Errorf("%d admitted, %d runs", admitted, len(ids))
		}
		rs, err := b.s.ListRuns(b.ctx, s, shop.RunPlace{}, 10)
		if err != nil || len(rs) != 1 {
			b.Errorf("%d runs, %v", len(rs), err)
		}
	}},
	{"an idempotency key is its shop's and its route's, for a day", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		with := func(s shop.ShopID, scope string, at time.Time, want shop.VerdictKind) {
			b.Helper()
			a := b.run(s, at)
			a.Idem = &shop.Remembered{Shop: s, Scope: scope, Key: "k", RunID: a.Run.ID, CreatedAt: at}
			b.admit(a, want)
		}
		with(s, scope, T0, shop.Admitted)
		with(other, scope, T0, shop.Admitted)
		with(s, "POST /v1/other", T0, shop.Admitted)
		with(s, scope, T0.Add(shop.IdempotencyKept-time.Second), shop.KeyTaken)
		with(s, scope, T0.Add(shop.IdempotencyKept), shop.Admitted)
		with(s, scope, T0.Add(shop.IdempotencyKept+time.Second), shop.KeyTaken)
	}},
	{"what is not admitted leaves nothing behind", func(b *bench) {
		s := b.shop("a")
		first := b.run(s, T0)
		first.Run.ExternalID = "1001"
		b.admit(first, shop.Admitted)
		again := b.run(s, T0)
		again.Run.ExternalID = "1001"
		again.Idem = &shop.Remembered{Shop: s, Scope: scope, Key: "k", RunID: again.Run.ID, CreatedAt: T0}
		b.admit(again, shop.ExternalTaken)
		k, err := b.s.Recall(b.ctx, *again.Idem, T0)
		if err != nil || k != nil {
			b.Errorf("the key is remembered: %+v, %v", k, err)
		}
		ds, err := b.s.TakeDue(b.ctx, T0, T0.Add(time.Minute), 10, 10, 10)
		if err != nil || len(ds) != 1 || ds[0].RunID != first.Run.ID {
			b.Errorf("in the outbox: %v, %v", ds, err)
		}
	}},
	{"a shop has no more unfinished runs than it may", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		var ids []string
		for range 3 {
			a := b.run(s, T0)
			a.Most = 3
			b.admit(a, shop.Admitted)
			ids = append(ids, a.Run.ID)
		}
		full := b.run(s, T0)
		full.Most = 3
		b.admit(full, shop.ShopFull)
		theirs := b.run(other, T0)
		theirs.Most = 3
		b.admit(theirs, shop.Admitted)
		_, err := b.s.AskCancel(b.ctx, s, ids[0], T0)
		b.ok(err)
		b.admit(full, shop.Admitted)
	}},
	{"a list is the newest first, page by page, through equal times", func(b *bench) {
		s := b.shop("a")
		b.admitted(b.shop("b"), T0)
		var want []string
		for i := range 7 {
			want = append([]string{b.admitted(s, T0.Add(time.Duration(i/3)*time.Microsecond))}, want...)
		}
		var got []string
		var at shop.RunPlace
		for {
			rs, err := b.s.ListRuns(b.ctx, s, at, 2)
			b.ok(err)
			if len(rs) == 0 {
				break
			}
			for _, r := range rs {
				got = append(got, r.ID)
			}
			last := rs[len(rs)-1]
			at = shop.RunPlace{CreatedAt: last.CreatedAt, ID: last.ID}
		}
		if fmt.Sprint(got) != fmt.Sprint(want) {
			b.Errorf("got\n%v, wanted\n%v", got, want)
		}
	}},
	{"a queued run is cancelled at once, and stays so", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		r, err := b.s.AskCancel(b.ctx, s, id, T0.Add(time.Second))
		b.ok(err)
		if r.State != shop.StateCancelled || !r.FinishedAt.Equal(T0.Add(time.Second)) {
			b.Errorf("%s at %v", r.State, r.FinishedAt)
		}
		_, err = b.s.Claim(b.ctx, id, T0.Add(2*time.Second), T0.Add(time.Minute))
		b.is(err, shop.ErrFenced)
		if ds, err := b.s.TakeDue(b.ctx, T0.Add(time.Hour), T0.Add(2*time.Hour), 10, 10, 10); err != nil || len(ds) != 0 {
			b.Errorf("still in the outbox: %v, %v", ds, err)
		}
		r, err = b.s.AskCancel(b.ctx, s, id, T0.Add(time.Hour))
		if err != nil || !r.FinishedAt.Equal(T0.Add(time.Second)) {
			b.Errorf("cancelled again at %v, %v", r.FinishedAt, err)
		}
	}},
	{"a run that is being made is told of the cancel", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		asked, err := b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{}, T0.Add(time.Minute))
		if err != nil || asked {
			b.Errorf("asked %v, %v", asked, err)
		}
		r, err := b.s.AskCancel(b.ctx, s, id, T0.Add(time.Second))
		if err != nil || r.State != shop.StateMaking || !r.CancelAsked {
			b.Errorf("%s, asked %v, %v", r.State, r.CancelAsked, err)
		}
		if asked, err = b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{}, T0.Add(time.Minute)); err != nil || !asked {
			b.Errorf("asked %v, %v", asked, err)
		}
	}},
	{"a run that waits for another try is cancelled at once", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		b.ok(b.s.HandBack(b.ctx, id, c.Attempt, shop.HandBack{At: T0.Add(time.Hour), OutboxID: b.id("out")}))
		r, err := b.s.AskCancel(b.ctx, s, id, T0.Add(time.Second))
		if err != nil || r.State != shop.StateCancelled {
			b.Errorf("%s, %v", r.State, err)
		}
	}},
	{"why a run failed, and its report, come back whole", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		p := &shop.Problem{Rule: shop.ProblemRefused, Detail: "“ä” \\ \"", Faults: pattern.Faults{{Rule: "out_of_range", Pointer: "/changes/0/hem_in", Size: "8", Valid: "0 to 40 mm", Remedy: "less"}}}
		sum := &shop.Summary{Sizes: []string{"8"}, Pieces: 4, Pass: 10, Warn: 1, Fail: 2, Pages: 3, BySize: []shop.SizeSummary{{Size: "8", Pass: 10, Warn: 1, Fail: 2}}}
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateFailed, Problem: p, Report: sum, At: T0.Add(time.Second), Engine: "e2", InputHash: "h2"}))
		r := b.state(s, id, shop.StateFailed)
		if !reflect.DeepEqual(r.Problem, p) || !reflect.DeepEqual(r.Report, sum) || r.Engine != "e2" || r.InputHash != "h2" ||
			!r.StartedAt.Equal(T0) || !r.FinishedAt.Equal(T0.Add(time.Second)) {
			b.Errorf("%+v\n%+v\n%+v", r, r.Problem, r.Report)
		}
	}},
}
