package api

import (
	"context"
	"errors"
	"net/http"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// refuse answers with the problem that err stands for.
func (a *API) refuse(c echo.Context, err error) {
	x, ok := c.(*exchange)
	if !ok { // before attend could name it; not known to happen
		x = &exchange{Context: c, id: requestID(c.Request())}
	}
	p := problemOf(x, err)
	if p.cause != nil {
		x.cause = p.cause
	}
	if x.Response().Committed {
		return // the answer is under way; the log has the error
	}
	a.write(x, p)
}

// ofKind is the table from the use cases' kinds of error to problems.
var ofKind = map[shop.Kind]string{
	shop.Invalid:      "invalid",
	shop.Malformed:    "malformed",
	shop.NotFound:     "not_found",
	shop.Conflict:     "conflict",
	shop.Unauthorized: "unauthorized",
	shop.Forbidden:    "forbidden",
	shop.TooLarge:     "too_large",
	shop.TooMany:      "too_many",
	shop.Unavailable:  "unavailable",
	shop.Full:         "storage_full",
	shop.Expired:      "link_expired",
}

// problemOf finds the problem for an error. What is not known to be the caller's is ours, and is
// told to the log and not to the caller.
func problemOf(x *exchange, err error) *problem {
	if p, ok := errors.AsType[*problem](err); ok {
		return p
	}
	if e, ok := errors.AsType[*shop.Error](err); ok && ofKind[e.Kind] != "" {
		p := &problem{kind: ofKind[e.Kind], detail: e.Detail, errors: errorItems(e.Faults), retry: e.RetryAfter, scopes: e.Scopes, cause: e.Cause}
		switch {
		case e.Kind == shop.Conflict && e.RunID != "":
			p.kind, p.run = "external_id_taken", e.RunID
		case e.Kind == shop.Conflict && e.RetryAfter > 0:
			p.kind = "request_in_progress"
		case shop.KeyReused(err):
			p.kind = "idempotency_key_reused"
		}
		return p
	}
	if e, ok := errors.AsType[*echo.HTTPError](err); ok {
		switch e.Code {
		case http.StatusNotFound:
			return refusal("not_found", "there is no such path; /openapi.json lists them all")
		case http.StatusMethodNotAllowed:
			return refusal("method_not_allowed", "use "+x.Response().Header().Get(echo.HeaderAllow)+" here")
		}
	}
	if errors.Is(err, context.Canceled) {
		return &problem{kind: "unavailable", detail: "the request was broken off", cause: err}
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return &problem{kind: "unavailable", detail: "it took too long; ask again in a few seconds", cause: err}
	}
	return &problem{kind: "internal", detail: "tell whoever runs the service the request_id, and the cause can be found", cause: err}
}

func isTooLarge(err error) bool {
	_, ok := errors.AsType[*http.MaxBytesError](err)
	return ok
}
