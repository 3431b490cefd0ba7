package storetest

import (
	"fmt"
	"slices"
	"sync"
	"time"

	"sizerun/internal/shop"
)

func of(n int64) *int64 { return &n }

func (b *bench) day(s shop.ShopID, sandbox bool, want shop.Day) {
	b.Helper()
	got, err := b.s.DayOf(b.ctx, s, shop.DayName(T0), sandbox)
	b.ok(err)
	if got != want {
		b.Errorf("the day (sandbox %v) has %+v, not %+v", sandbox, got, want)
	}
}

// quotas are the claims about what a shop may have.
var quotas = []claim{
	{"a shop's quota is what was set last, member by member, and can be given back", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		is := func(of shop.ShopID, want string) {
			b.Helper()
			q, err := b.s.QuotaOf(b.ctx, of)
			b.ok(err)
			got := ""
			for _, n := range []*int64{q.RunsAtOnce, q.RunsADay, q.PagesADay, q.BytesKept} {
				if n == nil {
					got += "- "
				} else {
					got += fmt.Sprint(*n) + " "
				}
			}
			if got != want {
				b.Errorf("the quota is %q, not %q", got, want)
			}
		}
		is(s, "- - - - ")
		b.ok(b.s.SetQuota(b.ctx, s, shop.QuotaSet{RunsADay: of(10), BytesKept: of(5 << 32)}, false))
		is(s, "- 10 - 21474836480 ")
		b.ok(b.s.SetQuota(b.ctx, s, shop.QuotaSet{RunsADay: of(0), PagesADay: of(7)}, false))
		is(s, "- 0 7 21474836480 ")
		is(other, "- - - - ")
		b.ok(b.s.SetQuota(b.ctx, s, shop.QuotaSet{RunsAtOnce: of(3)}, true))
		is(s, "3 - - - ")
	}},
	{"no more runs are admitted on a day than may be, however many are ordered at once", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		as := make([]shop.Admission, 16)
		for i := range as {
			as[i] = b.run(s, T0)
			as[i].RunsADay = 5
		}
		var mu sync.Mutex
		got := map[shop.VerdictKind]int{}
		var wg sync.WaitGroup
		for _, a := range as {
			wg.Go(func() {
				v, err := b.s.Admit(b.ctx, a)
				if err != nil {
					b.Error(err)
				}
				mu.Lock()
				got[v.Kind]++
				mu.Unlock()
			})
		}
		wg.Wait()
		if got[shop.Admitted] != 5 || got[shop.RunsFull] != 11 {
			b.Errorf("the verdicts are %v", got)
		}
		b.day(s, false, shop.Day{Runs: 5})
		rs, err := b.s.ListRuns(b.ctx, s, shop.RunPlace{}, 100)
		if err != nil || len(rs) != 5 {
			b.Errorf("%d runs were written, %v", len(rs), err)
		}
		if n, err := b.s.Unfinished(b.ctx, s); err != nil || n != 5 {
			b.Errorf("%d are unfinished, %v", n, err)
		}
		// Another shop's day, another day, and the sandbox's are others.
		a := b.run(other, T0)
		a.RunsADay = 1
		b.admit(a, shop.Admitted)
		a = b.run(s, T0.Add(24*time.Hour))
		a.RunsADay = 1
		b.admit(a, shop.Admitted)
		a = b.run(s, T0)
		a.RunsADay, a.Run.Sandbox, a.Run.OrderedBy = 1, true, "k1"
		b.admit(a, shop.Admitted)
		b.day(s, true, shop.Day{Runs: 1})
		if r := b.state(s, a.Run.ID, shop.StateQueued); !r.Sandbox || r.OrderedBy != "k1" {
			b.Errorf("the run came back as %+v", r)
		}
	}},
	{"pages count when they are delivered, and a full day admits no more", func(b *bench) {
		s := b.shop("a")
		a := b.run(s, T0)
		a.PagesADay = 50
		b.admit(a, shop.Admitted)
		c, err := b.s.Claim(b.ctx, a.Run.ID, T0, T0.Add(time.Minute))
		b.ok(err)
		b.ok(b.s.Finish(b.ctx, a.Run.ID, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0, Files: []shop.FileInfo{
			{ID: b.id("file"), Name: "a.pdf", Pages: 42, Bytes: 3 << 32, SHA256: "aa"}, {ID: b.id("file"), Name: "b.pdf", Pages: 8, Bytes: 1, SHA256: "bb"}}}))
		b.day(s, false, shop.Day{Runs: 1, Pages: 50})
		if n, err := b.s.BytesKept(b.ctx, s); err != nil || n != 3<<32+1 {
			b.Errorf("%d bytes are kept, %v", n, err)
		}
		if n, err := b.s.BytesKept(b.ctx, b.shop("b")); err != nil || n != 0 {
			b.Errorf("another shop keeps %d bytes, %v", n, err)
		}
		a = b.run(s, T0)
		a.PagesADay = 50
		b.admit(a, shop.PagesFull)
		a.PagesADay = 51
		b.admit(a, shop.Admitted)
		a = b.run(s, T0)
		a.PagesADay, a.RunsADay = 50, 2
		b.admit(a, shop.RunsFull) // told first: pages may shrink by a wish, runs don't
	}},
	{"a full day hides no earlier order of the same key or number", func(b *bench) {
		s := b.shop("a")
		a := b.run(s, T0)
		a.Run.ExternalID, a.RunsADay = "1001", 1
		a.Idem = &shop.Remembered{Shop: s, Scope: "POST /v1/runs", Key: "k", RunID: a.Run.ID, CreatedAt: T0}
		b.admit(a, shop.Admitted)
		again := b.run(s, T0)
		again.RunsADay, again.Idem = 1, &shop.Remembered{Shop: s, Scope: "POST /v1/runs", Key: "k", RunID: again.Run.ID, CreatedAt: T0}
		if v := b.admit(again, shop.KeyTaken); v.RunID != a.Run.ID {
			b.Errorf("%+v", v)
		}
		again = b.run(s, T0)
		again.RunsADay, again.Run.ExternalID = 1, "1001"
		b.admit(again, shop.ExternalTaken)
		b.day(s, false, shop.Day{Runs: 1})
	}},
	{"old days are forgotten", func(b *bench) {
		s := b.shop("a")
		b.admitted(s, T0)
		b.admitted(s, T0.Add(48*time.Hour))
		if n, err := b.s.ForgetDays(b.ctx, shop.DayName(T0.Add(48*time.Hour))); err != nil || n != 1 {
			b.Errorf("%d days, %v", n, err)
		}
		b.day(s, false, shop.Day{})
	}},
}

// audit are the claims about who did what.
var audit = []claim{
	{"what was done is the shop's own to read, the newest first, until it is old", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		var want []string
		for i := range 5 {
			n := shop.Noted{ID: b.id("aud"), Shop: s, At: T0.Add(time.Duration(i/2) * time.Second), KeyID: "k", Address: "2001:db8::1", Action: "style.saved", Subject: "wren-petal é"}
			b.ok(b.s.Note(b.ctx, n))
			want = append(want, n.ID)
		}
		b.ok(b.s.Note(b.ctx, shop.Noted{ID: b.id("aud"), Shop: other, At: T0, Action: "key.made"}))
		slices.Reverse(want)
		var seen []string
		var before shop.RunPlace
		for {
			ns, err := b.s.Noted(b.ctx, s, before, 2)
			b.ok(err)
			if len(ns) == 0 {
				break
			}
			for _, n := range ns {
				if n.Shop != s || n.KeyID != "k" || n.Address != "2001:db8::1" || n.Action != "style.saved" || n.Subject != "wren-petal é" {
					b.Errorf("%+v", n)
				}
				seen = append(seen, n.ID)
				before = shop.RunPlace{CreatedAt: n.At, ID: n.ID}
			}
		}
		if fmt.Sprint(seen) != fmt.Sprint(want) {
			b.Errorf("the list is %v, not %v", seen, want)
		}
		for _, left := range []int{1, 2, 0} { // those of the first second, the other shop's among them, one and then two at a time
			if n, err := b.s.ForgetNoted(b.ctx, T0.Add(time.Second), max(left, 1)); err != nil || n != left {
				b.Errorf("%d are forgotten, not %d, %v", n, left, err)
			}
		}
		if ns, err := b.s.Noted(b.ctx, s, shop.RunPlace{}, 10); err != nil || len(ns) != 3 {
			b.Errorf("%d are left, %v", len(ns), err)
		}
	}},
	{"an order and who ordered it are written together or not at all", func(b *bench) {
		s := b.shop("a")
		for i, want := range []shop.VerdictKind{shop.Admitted, shop.RunsFull} {
			a := b.run(s, T0)
			a.RunsADay, a.Noted = 1, &shop.Noted{ID: b.id("aud"), Shop: s, At: T0, KeyID: fmt.Sprint(i), Action: "run.ordered", Subject: a.Run.ID}
			b.admit(a, want)
		}
		if ns, err := b.s.Noted(b.ctx, s, shop.RunPlace{}, 10); err != nil || len(ns) != 1 || ns[0].KeyID != "0" {
			b.Errorf("noted are %+v, %v", ns, err)
		}
	}},
}
