package api

import (
	"io"
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

func (a *API) submitRun(x *exchange, s shop.ShopID) error {
	key, err := x.idempotencyKey()
	if err != nil {
		return err
	}
	r, replayed, err := a.admit(x, s, key)
	if err != nil {
		return err
	}
	if d := x.wait(); d > 0 && !shop.Over(r.State) {
		// The run is admitted whatever becomes of the waiting, so a failure to wait is no problem.
		later, err := a.svc.WaitRun(x.Request().Context(), s, r.ID, d)
		if err == nil {
			r = later
		} else if x.Request().Context().Err() == nil {
			a.log.Warn("a caller could not wait for its run", "request_id", x.id, "run", r.ID, "error", err.Error())
		}
	}
	h := x.Response().Header()
	h.Set(echo.HeaderLocation, runURL(r.ID))
	if replayed {
		h.Set("Idempotent-Replayed", "true")
	}
	if shop.Over(r.State) {
		return x.answer(http.StatusCreated, a.run(r))
	}
	h.Set(echo.HeaderRetryAfter, "1")
	return x.answer(http.StatusAccepted, a.run(r))
}

// admit holds the body only as long as it is judged, not while its caller waits.
func (a *API) admit(x *exchange, s shop.ShopID, key shop.IdempotencyKey) (shop.Run, bool, error) {
	ctx, raw, done, err := a.receive(x, s)
	if err != nil {
		return shop.Run{}, false, err
	}
	defer done()
	return a.svc.SubmitRun(ctx, s, raw, key)
}

func (a *API) listRuns(x *exchange, s shop.ShopID) error {
	cursor, limit, err := x.page()
	if err != nil {
		return err
	}
	rs, next, err := a.svc.Runs(x.Request().Context(), s, cursor, limit)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, listOf(rs, next, a.runHead))
}

func (a *API) getRun(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	r, err := a.svc.WaitRun(x.Request().Context(), s, id, x.wait())
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, a.run(r))
}

func (a *API) cancelRun(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	r, err := a.svc.CancelRun(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	if shop.Over(r.State) {
		return x.answer(http.StatusOK, a.run(r))
	}
	x.Response().Header().Set(echo.HeaderRetryAfter, "1")
	return x.answer(http.StatusAccepted, a.run(r))
}

func (a *API) listRunFiles(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	r, err := a.svc.Run(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	return x.answer(http.StatusOK, list[fileWire]{Items: filesOf(r.Files)})
}

// mostReport bounds what is read into memory for one answer; a report of the largest run is far
// below it.
const mostReport = 64 << 20

func (a *API) getRunReport(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	ctx := x.Request().Context()
	r, err := a.svc.Run(ctx, s, id)
	if err != nil {
		return err
	}
	for _, f := range r.Files {
		if f.Name != shop.ReportName {
			continue
		}
		_, rd, err := a.svc.OpenFile(ctx, s, f.ID)
		if err != nil {
			return err
		}
		defer func() { _ = rd.Close() }() // it was only read
		b, err := io.ReadAll(io.LimitReader(rd, mostReport))
		if err != nil {
			return err
		}
		return x.sendTagged("application/json", b)
	}
	return refusal("not_found", "the run has no report: it is not made yet, or it could not be made")
}
