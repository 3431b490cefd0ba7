package api

import (
	"context"
	"fmt"
	"io"
	"mime"
	"net/http"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// receive takes the document that a request carries. What it gives back holds until done is called;
// from here on, the use case has AnswerTime.
func (a *API) receive(x *exchange, s shop.ShopID) (ctx context.Context, raw []byte, done func(), err error) {
	leave, err := a.bodies.take(s)
	if err != nil {
		return nil, nil, nil, err
	}
	if raw, err = a.body(x); err != nil {
		leave()
		return nil, nil, nil, err
	}
	ctx, cancel := context.WithTimeout(x.Request().Context(), a.cfg.AnswerTime)
	return ctx, raw, func() { cancel(); leave() }, nil
}

// body reads the document that a request carries, whole. It holds only for plain JSON: a body that
// was packed could unpack to any size, so it is refused and not unpacked.
func (a *API) body(x *exchange) ([]byte, error) {
	r := x.Request()
	for _, e := range r.Header.Values(echo.HeaderContentEncoding) {
		if !strings.EqualFold(strings.TrimSpace(e), "identity") {
			return nil, refusal("unsupported_media_type", "the body is compressed; send it as it is")
		}
	}
	types := r.Header.Values(echo.HeaderContentType)
	if len(types) != 1 {
		return nil, refusal("unsupported_media_type", "send one document, with “Content-Type: application/json”")
	}
	kind, params, err := mime.ParseMediaType(types[0])
	if err != nil || kind != "application/json" {
		return nil, refusal("unsupported_media_type", "this is read as application/json and nothing else")
	}
	for k, v := range params {
		if k != "charset" || !strings.EqualFold(v, "utf-8") {
			return nil, refusal("unsupported_media_type", "JSON is in UTF-8 and has no other parameters")
		}
	}
	if r.ContentLength > a.cfg.MaxBody {
		return nil, a.tooLarge()
	}
	b, err := io.ReadAll(http.MaxBytesReader(x.Response().Writer, r.Body, a.cfg.MaxBody))
	switch {
	case err == nil:
		// All is here: from now on, the deadline is the use case's.
		_ = http.NewResponseController(x.Response().Writer).SetReadDeadline(time.Time{})
		return b, nil
	case isTooLarge(err):
		return nil, a.tooLarge()
	case timedOut(err):
		x.Response().Header().Set(echo.HeaderConnection, "close")
		return nil, refusal("slow_body", fmt.Sprintf("a body has %s to arrive", a.cfg.BodyTime))
	}
	x.cause = err
	return nil, refusal("malformed", "the body broke off, or is not framed as HTTP has it")
}

func (a *API) tooLarge() *problem {
	return refusal("too_large", fmt.Sprintf("a body has at most %d bytes", a.cfg.MaxBody))
}
