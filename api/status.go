package api

import (
	"context"
	"errors"
	"net/http"
	"runtime"
	"time"

	"sizerun/internal/shop"
)

func (a *API) livez(x *exchange) error {
	return x.answer(http.StatusOK, map[string]string{"status": "ok"})
}

func (a *API) readyz(x *exchange) error {
	ctx, cancel := context.WithTimeout(x.Request().Context(), 2*time.Second)
	defer cancel()
	err := a.svc.Ready(ctx)
	switch {
	case err == nil:
		return x.answer(http.StatusOK, map[string]string{"status": "ok"})
	case errors.Is(err, shop.ErrDraining):
		return &problem{kind: "unavailable", detail: "this process is shutting down", cause: err}
	}
	return &problem{kind: "unavailable", detail: "the database or the queue can't be reached", cause: err}
}

func (a *API) getVersion(x *exchange) error {
	return x.answer(http.StatusOK, map[string]string{
		"version": a.cfg.Version, "engine": a.svc.Engine(), "go": runtime.Version(), "api": a.version,
	})
}

func (a *API) getOpenapi(x *exchange) error { return x.sendTagged("application/json", a.spec) }
