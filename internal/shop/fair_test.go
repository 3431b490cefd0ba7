package shop_test

import (
	"fmt"
	"testing"

	"sizerun/internal/shop"
)

// One shop's 5,000 queued runs delay another's single one by at most two runs' time per worker: those
// that are being made when it comes, and those that are next.
func TestAThousandRunsOfOneShopDontHoldUpAnothersOne(t *testing.T) {
	const workers = 2
	h := open(t, func(d *shop.Deps) { d.Terms.Concurrent = workers })
	other := h.newShop("Heron Street")
	h.stock(other)
	first := h.order(plain)
	for i := range 5000 - 1 { // admitted as the service does, but for what it weighs
		r := first
		r.ID = fmt.Sprintf("run_%06d", i)
		_, err := h.store.Admit(h.ctx, shop.Admission{Run: r, Request: []byte(`{"Style": "sleeve", "Outputs": [{"Paper": "A4"}]}`), OutboxID: fmt.Sprintf("out_%06d", i)})
		h.ok(err)
	}
	var waiting []shop.Dispatch // the queue, in the order that it was filled
	relay := func() {
		for {
			n, err := h.Relay(h.ctx)
			h.ok(err)
			waiting = append(waiting, h.queue.take()...)
			if n == 0 {
				return
			}
		}
	}
	// Each worker takes the next one as soon as it is free; what it has in hand is claimed when it is performed.
	var making []shop.Dispatch
	next := func() {
		relay()
		for len(making) < workers && len(waiting) > 0 {
			making, waiting = append(making, waiting[0]), waiting[1:]
		}
		relay()
	}
	finish := func() shop.Dispatch {
		d := making[0]
		making = making[1:]
		h.ok(h.Perform(h.ctx, d.RunID))
		next()
		return d
	}
	next()
	for range 10 { // it is under way
		finish()
		if len(making) < workers || len(waiting) == 0 {
			t.Fatal("a worker is idle, or will be, though thousands wait")
		}
	}
	r, _, err := h.SubmitRun(h.ctx, other, []byte(`{"style": "sleeve"}`), shop.IdempotencyKey{})
	h.ok(err)
	relay()
	before := 0
	for finish().RunID != r.ID {
		if before++; before > 2*workers {
			t.Fatalf("%d runs of the other shop went before it", before)
		}
	}
	t.Logf("%d runs went before it", before)
}
