package api

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"net/netip"
	"runtime/debug"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// slowestReader is how many bytes a second a caller must take, or it is cut off.
const slowestReader = 16 << 10

// callerGone stands in the log for an answer that nobody heard.
const callerGone = 499

// attend goes around every exchange: it names it, bounds its time, catches what panics, turns what
// goes wrong into a problem, and writes the one log line.
func (a *API) attend(next echo.HandlerFunc) echo.HandlerFunc {
	return func(c echo.Context) error {
		began := time.Now()
		r := c.Request()
		route := c.Path() // what fits no route has a path of the caller's making here
		if !a.patterns[route] {
			route = ""
		}
		watched, answered := a.cfg.Watch.Asked(r, route)
		status := http.StatusInternalServerError // when it is broken off in mid-answer
		defer func() { answered(status) }()
		x := &exchange{Context: c, id: requestID(r), caller: r.Context()}
		h := c.Response().Header()
		h.Set(headerRequestID, x.id)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Content-Security-Policy", "default-src 'none'; frame-ancestors 'none'; sandbox")
		h.Set("Cache-Control", "private, no-cache")

		// The deadlines are this request's: a connection that is used again gets new ones. Where
		// the connection can't do it (in tests), the use case is bounded all the same.
		rc := http.NewResponseController(c.Response().Writer)
		if r.ContentLength != 0 {
			_ = rc.SetReadDeadline(began.Add(a.cfg.BodyTime))
		}
		_ = rc.SetWriteDeadline(began.Add(a.cfg.BodyTime + a.cfg.AnswerTime + longestWait + 10*time.Second))
		ctx, cancel := context.WithTimeout(watched, a.cfg.BodyTime+a.cfg.AnswerTime+longestWait)
		defer cancel()
		c.SetRequest(r.WithContext(ctx))

		if err := a.guarded(next, x); err != nil {
			a.refuse(x, err)
			if errors.Is(err, context.Canceled) && r.Context().Err() != nil {
				// The caller is gone, and with it whoever would have heard this; no fault of ours.
				status = callerGone
				a.told(x, began, callerGone)
				return nil
			}
		}
		status = c.Response().Status
		a.told(x, began, c.Response().Status)
		return nil
	}
}

// guarded turns a panic into an error. When a part of an answer is out already the connection is
// broken off, so that the caller sees that it is not whole.
func (a *API) guarded(next echo.HandlerFunc, x *exchange) (err error) {
	defer func() {
		p := recover()
		if p == nil {
			return
		}
		if e, ok := p.(error); ok && errors.Is(e, http.ErrAbortHandler) {
			panic(p)
		}
		err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		if x.Response().Committed {
			a.log.Error("panic in mid-answer", "request_id", x.id, "route", x.Path(), "error", err.Error())
			panic(http.ErrAbortHandler)
		}
	}()
	return next(x)
}

// told writes the log line. What comes from outside is made harmless first.
func (a *API) told(x *exchange, began time.Time, status int) {
	level := slog.LevelInfo
	r := x.Request()
	attrs := []slog.Attr{
		slog.String("request_id", x.id),
		slog.String("method", oneLine(r.Method, 16)),
		slog.Int("status", status),
		slog.Int64("bytes", x.Response().Size),
		slog.Duration("took", time.Since(began)),
		slog.String("from", x.RealIP()),
	}
	if p := x.Path(); p != "" {
		attrs = append(attrs, slog.String("route", p))
	}
	if status >= 400 {
		attrs = append(attrs, slog.String("path", oneLine(r.URL.Path, 200)))
	}
	if x.shop.ID != "" {
		attrs = append(attrs, slog.String("shop", string(x.shop.ID)), slog.String("key", x.shop.KeyID))
	}
	if x.cause != nil {
		attrs = append(attrs, slog.String("error", x.cause.Error()))
	}
	if status >= 500 {
		level = slog.LevelError
	}
	a.log.LogAttrs(context.WithoutCancel(r.Context()), level, "request", attrs...)
}

// authenticate finds the shop by the key (RFC 6750, header only).
func (a *API) authenticate(x *exchange) error {
	if wait := a.wrong.wait(x.RealIP(), time.Now()); wait > 0 {
		return &problem{kind: "too_many", detail: "too many wrong keys came from this address", retry: wait}
	}
	vs := x.Request().Header.Values(echo.HeaderAuthorization)
	if len(vs) == 0 {
		return refusal("unauthorized", "the request needs the shop's key; send it as “Authorization: Bearer szr_…”")
	}
	scheme, key, _ := strings.Cut(vs[0], " ")
	key = strings.TrimSpace(key)
	if len(vs) > 1 || !strings.EqualFold(scheme, "Bearer") || key == "" || len(key) > 500 {
		return refusal("unauthorized", "the request needs one key of the shop; send it as “Authorization: Bearer szr_…”")
	}
	sh, err := a.svc.Authenticate(x.Request().Context(), key)
	if err != nil {
		if shop.KindOf(err) == shop.Unauthorized {
			a.wrong.note(x.RealIP(), time.Now())
			return &problem{kind: "unauthorized", detail: "the key does not hold: it is mistyped, or it was revoked", wrongKey: true}
		}
		return err
	}
	x.shop = sh
	return nil
}

// wrongKeys counts the wrong keys that came from each address, minute by minute. It guards the
// database, not the keys: those have 256 bits.
type wrongKeys struct {
	most  int
	mu    sync.Mutex
	since time.Time
	n     map[netip.Prefix]int
}

const wrongKeysAddresses = 10_000 // when more are seen in a minute, counting starts anew

func (w *wrongKeys) wait(ip string, now time.Time) time.Duration {
	w.mu.Lock()
	defer w.mu.Unlock()
	left := w.since.Add(time.Minute).Sub(now)
	if left <= 0 || left > time.Minute {
		w.since, w.n = now, nil
		return 0
	}
	if w.n[networkOf(ip)] < w.most {
		return 0
	}
	return left
}

func (w *wrongKeys) note(ip string, now time.Time) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.n == nil || len(w.n) >= wrongKeysAddresses {
		w.n = make(map[netip.Prefix]int)
	}
	w.n[networkOf(ip)]++
}

// networkOf is what one caller can have many addresses of: in IPv6, a /64.
func networkOf(ip string) netip.Prefix {
	addr, err := netip.ParseAddr(ip)
	if err != nil {
		return netip.Prefix{}
	}
	addr = addr.Unmap().WithZone("")
	bits := 32
	if addr.Is6() {
		bits = 64
	}
	p, _ := addr.Prefix(bits)
	return p
}

// hands counts the bodies that are being read or judged, so that their memory is bounded and one
// shop can't have it all.
type hands struct {
	most, each int
	mu         sync.Mutex
	n          int
	of         map[shop.ShopID]int
}

func (h *hands) take(s shop.ShopID) (leave func(), err error) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.of[s] >= h.each {
		return nil, &problem{kind: "too_many", detail: fmt.Sprintf("this shop has %d documents in hand at once; send the next when one is answered", h.each), retry: time.Second}
	}
	if h.n >= h.most {
		return nil, &problem{kind: "unavailable", detail: "too many documents are in hand; send it again in a second", retry: time.Second}
	}
	if h.of == nil {
		h.of = make(map[shop.ShopID]int)
	}
	h.n++
	h.of[s]++
	return sync.OnceFunc(func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.n--
		if h.of[s]--; h.of[s] == 0 {
			delete(h.of, s)
		}
	}), nil
}

// trust believes the given proxies and nobody else.
func trust(ps []netip.Prefix) []echo.TrustOption {
	out := []echo.TrustOption{echo.TrustLoopback(false), echo.TrustLinkLocal(false), echo.TrustPrivateNet(false)}
	for _, p := range ps {
		p = p.Masked()
		out = append(out, echo.TrustIPRange(&net.IPNet{IP: p.Addr().AsSlice(), Mask: net.CIDRMask(p.Bits(), p.Addr().BitLen())}))
	}
	return out
}

// timedOut reports whether a read ended because its deadline passed.
func timedOut(err error) bool {
	ne, ok := errors.AsType[net.Error](err)
	return ok && ne.Timeout()
}
