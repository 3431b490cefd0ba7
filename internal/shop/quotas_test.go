package shop_test

import (
	"context"
	"fmt"
	"strings"
	"testing"
	"time"

	"sizerun/internal/shop"
)

func of(n int64) *int64 { return &n }

func (h *house) quota(q shop.QuotaSet) {
	h.Helper()
	h.ok(h.SetQuota(h.ctx, h.shop, q, false))
}

func (h *house) submit(ctx context.Context) error {
	_, _, err := h.SubmitRun(ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	return err
}

func TestADaysRunsAreRefusedBeforeTheyAreQueuedUntilTheDayIsOver(t *testing.T) {
	h := open(t, nil)
	h.quota(shop.QuotaSet{RunsADay: of(2)})
	h.ok(h.submit(h.ctx))
	h.ok(h.submit(h.ctx))
	e := h.refused(h.submit(h.ctx), shop.TooMany)
	// It is 05:06:07 and a little.
	if e.RetryAfter < 18*time.Hour+53*time.Minute || e.RetryAfter > 18*time.Hour+54*time.Minute || !strings.Contains(e.Detail, "2 runs today") {
		t.Errorf("after %v: %s", e.RetryAfter, e.Detail)
	}
	rs, _, err := h.Runs(h.ctx, h.shop, "", 0)
	if err != nil || len(rs) != 2 {
		t.Errorf("%d runs are there, %v", len(rs), err)
	}
	other := h.newShop("another")
	h.stock(other)
	_, _, err = h.SubmitRun(h.ctx, other, []byte(plain), shop.IdempotencyKey{})
	h.ok(err)
	h.clock.Pass(e.RetryAfter)
	h.ok(h.submit(h.ctx))
}

func TestADaysPagesAndTheFilesKeptAreBounded(t *testing.T) {
	h := open(t, nil)
	h.quota(shop.QuotaSet{PagesADay: of(1)})
	h.ok(h.submit(h.ctx)) // what is begun is finished
	h.work()
	e := h.refused(h.submit(h.ctx), shop.TooMany)
	if !strings.Contains(e.Detail, "pages") || e.RetryAfter < time.Hour {
		t.Errorf("after %v: %s", e.RetryAfter, e.Detail)
	}
	h.quota(shop.QuotaSet{PagesADay: of(0), BytesKept: of(1)})
	if e := h.refused(h.submit(h.ctx), shop.Full); !strings.Contains(e.Detail, "delete runs") {
		t.Error(e.Detail)
	}
	rs, _, err := h.Runs(h.ctx, h.shop, "", 0)
	h.ok(err)
	for _, r := range rs {
		_, _, err := h.DeleteRun(h.ctx, h.shop, r.ID)
		h.ok(err)
	}
	h.ok(h.submit(h.ctx))
}

func TestUnfinishedRunsAreBoundedAsAnOperatorSays(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Terms.Pending = 3; d.Terms.RunsADay = 1000 })
	h.quota(shop.QuotaSet{RunsAtOnce: of(1)})
	h.ok(h.submit(h.ctx))
	if e := h.refused(h.submit(h.ctx), shop.TooMany); e.RetryAfter > time.Minute || !strings.Contains(e.Detail, "1 unfinished") {
		t.Errorf("after %v: %s", e.RetryAfter, e.Detail)
	}
	h.ok(h.SetQuota(h.ctx, h.shop, shop.QuotaSet{}, true)) // back to the settings
	h.ok(h.submit(h.ctx))
	h.ok(h.submit(h.ctx))
	h.refused(h.submit(h.ctx), shop.TooMany)
	u, err := h.Usage(h.ctx, h.shop)
	h.ok(err)
	if u.Unfinished != 3 || u.Today.Runs != 3 || u.Quota != (shop.Quota{RunsAtOnce: 3, RunsADay: 1000}) || u.Day != "2026-03-04" || !u.ResetsAt.Equal(time.Date(2026, 3, 5, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("%+v", u)
	}
	for _, n := range []int64{-1, shop.MaxQuota + 1} {
		h.refused(h.SetQuota(h.ctx, h.shop, shop.QuotaSet{RunsADay: of(n)}, false), shop.Invalid)
	}
}

// A sandbox has its own small day, and what it makes is another thing than the real one.
func TestASandboxHasASmallDayOfItsOwn(t *testing.T) {
	h := open(t, nil)
	play := shop.WithActor(h.ctx, shop.Actor{KeyID: "k1", Scope: shop.ScopeMake, Sandbox: true})
	first, _, err := h.SubmitRun(play, h.shop, []byte(plain), shop.IdempotencyKey{})
	h.ok(err)
	live := h.order(plain)
	if !first.Sandbox || first.OrderedBy != "k1" || live.Sandbox || first.InputHash == live.InputHash {
		t.Errorf("sandbox %+v\nlive %+v", first, live)
	}
	samples := map[bool]int{}
	h.maker.Before = func(_ context.Context, m shop.Making) error { samples[m.Request.Sample]++; return nil }
	h.work()
	if samples[true] != 1 || samples[false] != 1 {
		t.Errorf("what was made is a sample: %v", samples)
	}
	for range shop.SandboxQuota().RunsADay - 1 {
		h.ok(h.submit(play))
	}
	if e := h.refused(h.submit(play), shop.TooMany); !strings.Contains(e.Detail, "sandbox") {
		t.Error(e.Detail)
	}
	h.ok(h.submit(h.ctx))
	u, err := h.Usage(h.ctx, h.shop)
	h.ok(err)
	if u.Today.Runs != 2 || u.Sandbox.Runs != shop.SandboxQuota().RunsADay {
		t.Errorf("%+v", u)
	}
}

// Whatever changes something is in the log with who did it and from where; what was refused is not.
func TestWhatIsDoneIsNoted(t *testing.T) {
	h := open(t, nil)
	ctx := shop.WithActor(h.ctx, shop.Actor{KeyID: "k1", Address: "192.0.2.7", Scope: shop.ScopeAdmin})
	r, _, err := h.SubmitRun(ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	h.ok(err)
	_, err = h.CancelRun(ctx, h.shop, r.ID)
	h.ok(err)
	_, _, err = h.DeleteRun(ctx, h.shop, r.ID)
	h.ok(err)
	k, _, err := h.MakeKey(ctx, h.shop, []byte(`{"scope": "read"}`))
	h.ok(err)
	_, _, err = h.RotateKey(ctx, h.shop, k.ID, 0)
	h.ok(err)
	h.ok(h.RevokeKey(ctx, h.shop, k.ID))
	h.quota(shop.QuotaSet{RunsADay: of(5)})
	h.refused(h.RevokeKey(ctx, h.shop, "nobody"), shop.NotFound)
	_, _, err = h.SubmitRun(ctx, h.shop, []byte(`{"style": "none"}`), shop.IdempotencyKey{})
	h.refused(err, shop.Invalid)
	var got []string
	for cursor, first := "", true; first || cursor != ""; first = false {
		var ns []shop.Noted
		ns, cursor, err = h.Audit(h.ctx, h.shop, cursor, 3)
		h.ok(err)
		for _, n := range ns {
			got = append(got, n.Action)
			operator := n.Action == shop.DidSetQuota || len(got) > 7 // stock was given and the first key made by nobody's key
			if operator != (n.KeyID == "") || operator != (n.Address == "") || n.At.IsZero() {
				t.Errorf("%+v", n)
			}
		}
	}
	want := "[quota.set key.revoked key.rotated key.made run.erased run.cancelled run.ordered style.saved block.saved key.made]"
	if fmt.Sprint(got) != want {
		t.Errorf("noted: %v", got)
	}
	other := h.newShop("another")
	if ns, _, err := h.Audit(h.ctx, other, "", 0); err != nil || len(ns) != 1 {
		t.Errorf("another shop sees %+v, %v", ns, err)
	}
	h.clock.Pass(shop.AuditKept + time.Hour)
	_, err = h.Sweep(h.ctx)
	h.ok(err)
	if ns, _, err := h.Audit(h.ctx, h.shop, "", 0); err != nil || len(ns) != 0 {
		t.Errorf("a year later there are still %d, %v", len(ns), err)
	}
}
