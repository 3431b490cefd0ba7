package api

import (
	"net/http"

	"sizerun/internal/shop"
)

// usedWire is what was used of what may be; a null limit is any number.
type usedWire struct {
	Used  int64  `json:"used"`
	Limit *int64 `json:"limit"`
}

func usedOf(used, limit int64) usedWire {
	w := usedWire{Used: used}
	if limit > 0 {
		w.Limit = &limit
	}
	return w
}

type dayWire struct {
	Runs  usedWire `json:"runs"`
	Pages usedWire `json:"pages"`
}

func (a *API) getUsage(x *exchange, s shop.ShopID) error {
	u, err := a.svc.Usage(x.Request().Context(), s)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, struct {
		Day        string   `json:"day"`
		ResetsAt   *string  `json:"resets_at"`
		Today      dayWire  `json:"today"`
		Sandbox    dayWire  `json:"sandbox_today"`
		RunsAtOnce usedWire `json:"runs_at_once"`
		BytesKept  usedWire `json:"bytes_kept"`
	}{
		Day: u.Day, ResetsAt: stamp(u.ResetsAt),
		Today:      dayWire{usedOf(u.Today.Runs, u.Quota.RunsADay), usedOf(u.Today.Pages, u.Quota.PagesADay)},
		Sandbox:    dayWire{usedOf(u.Sandbox.Runs, u.SandboxsQuota.RunsADay), usedOf(u.Sandbox.Pages, u.SandboxsQuota.PagesADay)},
		RunsAtOnce: usedOf(u.Unfinished, u.Quota.RunsAtOnce),
		BytesKept:  usedOf(u.BytesKept, u.Quota.BytesKept),
	})
}

// notedWire is one thing that was done.
type notedWire struct {
	ID      string  `json:"id"`
	At      *string `json:"at"`
	Key     *string `json:"key"` // null: whoever runs the service
	Address *string `json:"address"`
	Action  string  `json:"action"`
	Subject string  `json:"subject"`
}

func (a *API) listAudit(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	ns, next, err := a.svc.Audit(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(ns, next, func(n shop.Noted) notedWire {
		return notedWire{ID: n.ID, At: stamp(n.At), Key: given(n.KeyID), Address: given(n.Address), Action: n.Action, Subject: n.Subject}
	}))
}
