package storetest

import (
	"fmt"
	"reflect"
	"slices"
	"sync"
	"time"

	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// done admits a run with everything a run can have, and ends it at the given time with one file.
func (b *bench) done(s shop.ShopID, sum string, at time.Time) shop.Admission {
	b.Helper()
	a := b.run(s, T0)
	a.Run.ExternalID = "no " + a.Run.ID
	a.Idem = &shop.Remembered{Shop: s, Scope: scope, Key: a.Run.ID, RunID: a.Run.ID, CreatedAt: T0}
	b.admit(a, shop.Admitted)
	c, err := b.s.Claim(b.ctx, a.Run.ID, T0, at)
	b.ok(err)
	b.ok(b.s.Finish(b.ctx, a.Run.ID, c.Attempt, shop.Outcome{State: shop.StateDone, At: at, InputHash: "h-" + sum, Engine: "e", Report: &shop.Summary{Pass: 1},
		Problem: &shop.Problem{Rule: "r", Faults: pattern.Faults{{Size: "order 1001"}}},
		Files:   []shop.FileInfo{{ID: b.id("file"), RunID: a.Run.ID, Name: "a.pdf", SHA256: sum}, {ID: b.id("file"), RunID: a.Run.ID, Name: "b.pdf", SHA256: sum}}}))
	return a
}

// free takes what is due and answers it.
func (b *bench) free(now time.Time) []string {
	b.Helper()
	_, sums, err := b.s.TakeDiscards(b.ctx, now, 100)
	b.ok(err)
	slices.Sort(sums)
	return sums
}

var retention = []claim{
	{"an expired run keeps what it was and nothing of whom it was for", func(b *bench) {
		s := b.shop("a")
		a := b.done(s, "aa", T0.Add(time.Hour))
		before := b.state(s, a.Run.ID, shop.StateDone)
		young := b.done(s, "bb", T0.Add(2*time.Hour))
		queued := b.admitted(s, T0)
		now := T0.Add(24 * time.Hour)
		n, err := b.s.ExpireRuns(b.ctx, T0.Add(time.Hour), now, now, 10)
		if err != nil || n != 1 {
			b.Fatalf("%d expired, %v", n, err)
		}
		got := b.state(s, a.Run.ID, shop.StateExpired)
		if !got.ExpiredAt.Equal(now) || !got.FinishedAt.Equal(before.FinishedAt) || got.Style != before.Style || got.StyleVersion != before.StyleVersion {
			b.Errorf("%+v", got)
		}
		if got.Stamp != "" || got.ExternalID != "" || len(got.Sizes) != 0 || got.Report != nil || got.Problem != nil || len(got.Files) != 0 || got.InputHash != "" {
			b.Errorf("it still tells of the order: %+v", got)
		}
		b.state(s, young.Run.ID, shop.StateDone)
		b.state(s, queued, shop.StateQueued)
		_, err = b.s.Made(b.ctx, s, "h-aa")
		b.is(err, shop.ErrAbsent)
		again := b.run(s, now)
		again.Run.ExternalID = a.Run.ExternalID
		b.admit(again, shop.Admitted)
		if n, err := b.s.ExpireRuns(b.ctx, T0.Add(time.Hour), now, now, 10); err != nil || n != 0 {
			b.Errorf("%d expired again, %v", n, err)
		}
		if gone, err := b.s.EraseRun(b.ctx, s, a.Run.ID, now, now); err != nil || !gone {
			b.Errorf("an expired run is erased: %v, %v", gone, err)
		}
	}},
	{"runs expire in batches, the oldest first, once each by many at once", func(b *bench) {
		s := b.shop("a")
		for i := range 12 {
			b.done(s, fmt.Sprint(i), T0.Add(time.Duration(i+1)*time.Minute))
		}
		if n, err := b.s.ExpireRuns(b.ctx, T0.Add(time.Hour), T0.Add(time.Hour), T0.Add(time.Hour), 2); err != nil || n != 2 {
			b.Fatalf("%d expired, %v", n, err)
		}
		if got := b.free(T0.Add(time.Hour)); !reflect.DeepEqual(got, []string{"0", "1"}) {
			b.Errorf("first of all went %v", got)
		}
		var mu sync.Mutex
		total := 0
		var wg sync.WaitGroup
		for range 4 {
			wg.Go(func() {
				for range 10 {
					n, err := b.s.ExpireRuns(b.ctx, T0.Add(time.Hour), T0.Add(time.Hour), T0.Add(time.Hour), 3)
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
		if total != 10 {
			b.Errorf("%d expired, of 10", total)
		}
	}},
	{"a run that is erased leaves nothing, and what it took is free", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		a := b.done(s, "aa", T0.Add(time.Hour))
		r := b.state(s, a.Run.ID, shop.StateDone)
		_, err := b.s.EraseRun(b.ctx, other, a.Run.ID, T0, T0)
		b.is(err, shop.ErrAbsent)
		b.state(s, a.Run.ID, shop.StateDone)
		gone, err := b.s.EraseRun(b.ctx, s, a.Run.ID, T0.Add(2*time.Hour), T0.Add(3*time.Hour))
		if err != nil || !gone {
			b.Fatalf("%v, %v", gone, err)
		}
		_, err = b.s.Run(b.ctx, s, a.Run.ID)
		b.is(err, shop.ErrAbsent)
		_, err = b.s.File(b.ctx, s, r.Files[0].ID)
		b.is(err, shop.ErrAbsent)
		_, err = b.s.Owner(b.ctx, a.Run.ID)
		b.is(err, shop.ErrAbsent)
		_, err = b.s.EraseRun(b.ctx, s, a.Run.ID, T0, T0)
		b.is(err, shop.ErrAbsent)
		if k, err := b.s.Recall(b.ctx, *a.Idem, T0); err != nil || k != nil {
			b.Errorf("its key is remembered: %+v, %v", k, err)
		}
		again := b.run(s, T0)
		again.Run.ExternalID = a.Run.ExternalID
		b.admit(again, shop.Admitted)
		// That it ended was told, and stays told.
		if evs, err := b.s.Events(b.ctx, s, shop.RunPlace{}, T0.Add(5*time.Hour), false, 10); err != nil || len(evs) != 1 || evs[0].RunID != a.Run.ID || evs[0].Type != shop.EventDone {
			b.Errorf("%+v, %v", evs, err)
		}
	}},
	{"a queued run is erased at once, and is told of as cancelled", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		if gone, err := b.s.EraseRun(b.ctx, s, id, T0.Add(time.Second), T0); err != nil || !gone {
			b.Fatalf("%v, %v", gone, err)
		}
		if ds, err := b.s.TakeDue(b.ctx, T0.Add(time.Hour), T0.Add(2*time.Hour), 10, 10, 10); err != nil || len(ds) != 0 {
			b.Errorf("in the outbox: %v, %v", ds, err)
		}
		if evs, err := b.s.Events(b.ctx, s, shop.RunPlace{}, T0.Add(time.Hour), false, 10); err != nil || len(evs) != 1 || evs[0].Type != shop.EventCancelled {
			b.Errorf("%+v, %v", evs, err)
		}
	}},
	{"a run in a worker's hands is cancelled first and erased when it is over", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		if gone, err := b.s.EraseRun(b.ctx, s, id, T0, T0); err != nil || gone {
			b.Fatalf("%v, %v", gone, err)
		}
		if n, err := b.s.EraseAsked(b.ctx, T0, 10); err != nil || n != 0 {
			b.Fatalf("%d erased under a worker's hands, %v", n, err)
		}
		cancel, err := b.s.Touch(b.ctx, id, c.Attempt, shop.Progress{}, T0.Add(time.Minute))
		if err != nil || !cancel {
			b.Errorf("the worker is told %v, %v", cancel, err)
		}
		// It may end before it hears of it; nobody is given its files any more.
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0.Add(time.Second), InputHash: "h", Report: &shop.Summary{},
			Files: []shop.FileInfo{{ID: "file_1", Name: "a.pdf", SHA256: "aa"}}}))
		_, err = b.s.Made(b.ctx, s, "h")
		b.is(err, shop.ErrAbsent)
		if n, err := b.s.EraseAsked(b.ctx, T0.Add(time.Minute), 10); err != nil || n != 1 {
			b.Fatalf("%d erased, %v", n, err)
		}
		_, err = b.s.Run(b.ctx, s, id)
		b.is(err, shop.ErrAbsent)
		if got := b.free(T0.Add(time.Minute)); !reflect.DeepEqual(got, []string{"aa"}) {
			b.Errorf("freed: %v", got)
		}
	}},
	{"a worker whose lease is over does not keep a run, and is overtaken", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		if gone, err := b.s.EraseRun(b.ctx, s, id, T0.Add(time.Minute), T0); err != nil || !gone {
			b.Fatalf("%v, %v", gone, err)
		}
		b.is(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateDone, At: T0}), shop.ErrFenced)
	}},
	{"a content is freed when its time has come and no run has it", func(b *bench) {
		s, other := b.shop("a"), b.shop("b")
		one, two := b.done(s, "shared", T0.Add(time.Hour)), b.done(other, "shared", T0.Add(time.Hour))
		erase := func(s shop.ShopID, id string, freeAt time.Time) {
			b.Helper()
			if gone, err := b.s.EraseRun(b.ctx, s, id, T0.Add(2*time.Hour), freeAt); err != nil || !gone {
				b.Fatalf("%v, %v", gone, err)
			}
		}
		erase(s, one.Run.ID, T0.Add(3*time.Hour))
		if got := b.free(T0.Add(3 * time.Hour)); len(got) != 0 {
			b.Errorf("freed in another run's hands: %v", got)
		}
		erase(other, two.Run.ID, T0.Add(5*time.Hour))
		// Until it is due the sweeper leaves it alone, too: somebody may be about to take it up.
		if has, err := b.s.Referenced(b.ctx, []string{"shared"}); err != nil || !has["shared"] {
			b.Errorf("%v, %v", has, err)
		}
		if got := b.free(T0.Add(5*time.Hour - time.Microsecond)); len(got) != 0 {
			b.Errorf("freed early: %v", got)
		}
		if got := b.free(T0.Add(5 * time.Hour)); !reflect.DeepEqual(got, []string{"shared"}) {
			b.Errorf("freed: %v", got)
		}
		if has, err := b.s.Referenced(b.ctx, []string{"shared"}); err != nil || has["shared"] {
			b.Errorf("%v, %v", has, err)
		}
		if got := b.free(T0.Add(9 * time.Hour)); len(got) != 0 {
			b.Errorf("freed twice: %v", got)
		}
	}},
	{"a content that is let go of again is kept for the longer", func(b *bench) {
		s := b.shop("a")
		for i, id := range []string{b.done(s, "x", T0.Add(time.Hour)).Run.ID, b.done(s, "x", T0.Add(time.Hour)).Run.ID} {
			if gone, err := b.s.EraseRun(b.ctx, s, id, T0.Add(2*time.Hour), T0.Add(time.Duration(3+i)*time.Hour)); err != nil || !gone {
				b.Fatalf("%v, %v", gone, err)
			}
		}
		if got := b.free(T0.Add(3 * time.Hour)); len(got) != 0 {
			b.Errorf("freed early: %v", got)
		}
		if got := b.free(T0.Add(4 * time.Hour)); len(got) != 1 {
			b.Errorf("freed: %v", got)
		}
	}},
	{"whatever a follower can see raises the revision, and nothing else does", func(b *bench) {
		s := b.shop("a")
		id := b.admitted(s, T0)
		last := b.state(s, id, shop.StateQueued).Revision
		rises := func(what string, want bool) {
			b.Helper()
			r, err := b.s.Run(b.ctx, s, id)
			b.ok(err)
			if n, err := b.s.Revision(b.ctx, s, id); err != nil || n != r.Revision {
				b.Errorf("%s: the revision alone is %d, %v", what, n, err)
			}
			if (r.Revision > last) != want {
				b.Errorf("%s: %d after %d", what, r.Revision, last)
			}
			last = r.Revision
		}
		c, err := b.s.Claim(b.ctx, id, T0, T0.Add(time.Minute))
		b.ok(err)
		rises("begun", true)
		touch := func(p shop.Progress) {
			b.Helper()
			_, err := b.s.Touch(b.ctx, id, c.Attempt, p, T0.Add(time.Minute))
			b.ok(err)
		}
		touch(shop.Progress{Stage: "grading", Done: 1, Total: 3})
		rises("progress", true)
		touch(shop.Progress{Stage: "grading", Done: 1, Total: 3})
		rises("the same progress", false)
		touch(shop.Progress{Stage: "drawing", Done: 0, Total: 3})
		rises("another stage", true)
		_, err = b.s.AskCancel(b.ctx, s, id, T0)
		b.ok(err)
		rises("a cancel", true)
		b.ok(b.s.Finish(b.ctx, id, c.Attempt, shop.Outcome{State: shop.StateCancelled, At: T0}))
		rises("the end", true)
		_, err = b.s.Revision(b.ctx, b.shop("b"), id)
		b.is(err, shop.ErrAbsent)
	}},
}
