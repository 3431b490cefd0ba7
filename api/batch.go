package api

import (
	"net/http"

	"sizerun/internal/shop"
)

// batchItem is what came of one run of a batch.
type batchItem struct {
	Status   int          `json:"status"`
	Replayed bool         `json:"replayed"`
	Run      *runWire     `json:"run"`
	Problem  *problemWire `json:"problem"`
}

func (a *API) submitRuns(x *exchange, s shop.ShopID) error {
	key, err := x.idempotencyKey()
	if err != nil {
		return err
	}
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return err
	}
	defer done()
	got, err := a.svc.SubmitRuns(ctx, s, raw, key)
	if err != nil {
		return err
	}
	items := make([]batchItem, len(got))
	for i, g := range got {
		items[i] = a.batchItem(x, g)
	}
	return x.answer(http.StatusOK, map[string][]batchItem{"items": items})
}

func (a *API) batchItem(x *exchange, g shop.Submitted) batchItem {
	if g.Err != nil {
		p := problemOf(x, g.Err)
		if p.cause != nil {
			x.cause = p.cause
		}
		w := a.problemWire(x, p)
		return batchItem{Status: w.Status, Problem: &w}
	}
	r := a.run(g.Run)
	status := http.StatusAccepted
	if shop.Over(g.Run.State) {
		status = http.StatusCreated
	}
	return batchItem{Status: status, Replayed: g.Replayed, Run: &r}
}
