package api

import (
	"context"
	"errors"
	"html"
	"net/http"
	"runtime"
	"strconv"
	"strings"
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

// getProblemType is the page that a problem's type opens.
func (a *API) getProblemType(x *exchange) error {
	name, err := x.part("type")
	if err != nil {
		return err
	}
	k, ok := kinds[name]
	if !ok {
		return refusal("not_found", "there is no problem of that type")
	}
	what := "It ends a run, and stands in the run's problem."
	if k.status != 0 {
		what = "It comes with the status " + strconv.Itoa(k.status) + " " + http.StatusText(k.status) + "."
	}
	var b strings.Builder
	b.WriteString("<!doctype html>\n<html lang=\"en\">\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" content=\"width=device-width\">\n")
	for _, line := range [][2]string{{"title", name}, {"h1", k.title}, {"p", "Problem type: " + name + ". " + what}, {"p", k.about}} {
		b.WriteString("<" + line[0] + ">" + html.EscapeString(line[1]) + "</" + line[0] + ">\n")
	}
	b.WriteString("</html>\n")
	x.Response().Header().Set("Cache-Control", "public, max-age=3600")
	return x.send(http.StatusOK, "text/html; charset=utf-8", []byte(b.String()))
}
