package shop_test

import (
	"context"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// laying is a maker that lays out before it makes.
type laying struct {
	shop.Maker
	refuse error
}

func (l laying) Estimate(_ context.Context, m shop.Making) (shop.Estimate, error) {
	return shop.Estimate{Pages: 7 * len(m.Request.Outputs), Bytes: 1000, Points: 10}, l.refuse
}

func TestACheckTellsWhatARunWouldDeliver(t *testing.T) {
	h := open(t, func(d *shop.Deps) { d.Maker = laying{Maker: d.Maker} })
	a, err := h.Check(h.ctx, h.shop, []byte(`{"style": "sleeve", "outputs": [{"paper": "A4"}, {"paper": "A0"}]}`))
	h.ok(err)
	if a.Estimate == nil || a.Estimate.Pages != 14 {
		t.Errorf("estimated: %+v", a.Estimate)
	}
	if a, err = h.Check(h.ctx, h.shop, []byte(`{"style": "sleeve"}`)); err != nil || a.Estimate == nil || a.Estimate.Pages != 7 {
		t.Errorf("estimated without outputs: %+v, %v", a.Estimate, err)
	}
	// A block alone is not ordered.
	if a, err = h.Check(h.ctx, h.shop, []byte(`{"block": "plain"}`)); err != nil || a.Estimate != nil {
		t.Errorf("estimated of a block: %+v, %v", a.Estimate, err)
	}
}

// What no paper takes is refused before anything is queued, by a check and by an order alike.
func TestWhatNoPaperTakesIsRefusedBeforeQueueing(t *testing.T) {
	fault := pattern.Faults{{Rule: "too_much_drawing", Pointer: "/outputs", Detail: "too many lines", Remedy: "print fewer sizes"}}
	h := open(t, func(d *shop.Deps) { d.Maker = laying{d.Maker, fault} })
	_, _, err := h.SubmitRun(h.ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	if e := h.refused(err, shop.Invalid); len(e.Faults) != 1 || e.Faults[0].Pointer != "/outputs" {
		t.Errorf("%+v", e.Faults)
	}
	_, err = h.Check(h.ctx, h.shop, []byte(`{"style": "sleeve"}`))
	h.refused(err, shop.Invalid)
	// Where a check fails no paper is laid out: the run is made for its report.
	h.maker.FailChecks.Store(true)
	_, _, err = h.SubmitRun(h.ctx, h.shop, []byte(plain), shop.IdempotencyKey{})
	h.ok(err)
	_, _, err = h.SubmitRun(h.ctx, h.shop, []byte(`{"style": "sleeve", "deliver": "anyway"}`), shop.IdempotencyKey{})
	h.refused(err, shop.Invalid)
}
