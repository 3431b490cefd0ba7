// Package hooks sends webhooks: shop.Poster over HTTP.
//
//	hooks.go  the client: one request, no redirects, little of the answer read
//	guard.go  which addresses may be reached
//
// A shop tells us where to send to, so it could have us knock at doors inside the operator's network.
// Addresses are judged when they are dialled, after every name has been looked up: no spelling and no
// name that changes its mind gets past.
package hooks

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"strconv"
	"strings"
	"syscall"
	"time"

	"sizerun/internal/shop"
)

const (
	// tryTime is what one try has, from the name to the end of the answer (Standard Webhooks 1.0.0: 15 to 30 s).
	tryTime = 15 * time.Second
	// mostAnswer is how much of an answer is read, so that its connection can be used again.
	mostAnswer = 64 << 10
)

// Poster sends webhooks.
type Poster struct {
	guard  Guard
	client *http.Client
}

var _ shop.Poster = (*Poster)(nil)

// errGuarded marks what the guard refused.
type errGuarded struct{ error }

// New makes a Poster that reaches where the guard lets it.
func New(g Guard) *Poster {
	dial := func(allowed bool) func(context.Context, string, string) (net.Conn, error) {
		d := net.Dialer{Timeout: 5 * time.Second, KeepAlive: 30 * time.Second}
		if !allowed {
			d.Control = func(_, address string, _ syscall.RawConn) error {
				if err := g.address(address); err != nil {
					return errGuarded{err}
				}
				return nil
			}
		}
		return d.DialContext
	}
	tr := &http.Transport{
		// No proxy: it would do the dialling, and the guard would judge the proxy.
		Proxy: nil,
		DialContext: func(ctx context.Context, network, address string) (net.Conn, error) {
			host, _, _ := net.SplitHostPort(address)
			return dial(g.host(host))(ctx, network, address)
		},
		TLSHandshakeTimeout:    5 * time.Second,
		ResponseHeaderTimeout:  tryTime,
		MaxResponseHeaderBytes: 32 << 10,
		MaxIdleConnsPerHost:    2,
		MaxConnsPerHost:        8,
		IdleConnTimeout:        30 * time.Second,
		ForceAttemptHTTP2:      true,
		DisableCompression:     true, // nothing that could be blown up
	}
	return &Poster{guard: g, client: &http.Client{Transport: tr, Timeout: tryTime,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// Close ends idle connections.
func (p *Poster) Close() error {
	p.client.CloseIdleConnections()
	return nil
}

// Allowed implements shop.Poster. Names are not looked up here: what they mean is judged whenever they
// are dialled.
func (p *Poster) Allowed(at string) error {
	u, err := url.Parse(at)
	if err != nil {
		return errors.New("the url can't be read")
	}
	host := u.Hostname()
	if p.guard.host(host) {
		return nil
	}
	a, err := netip.ParseAddr(host)
	if err == nil {
		if err := p.guard.addr(a); err != nil {
			return err
		}
	}
	low := strings.ToLower(strings.TrimSuffix(host, "."))
	if err != nil && (!strings.Contains(low, ".") || strings.HasSuffix(low, ".localhost") || strings.HasSuffix(low, ".local") || strings.HasSuffix(low, ".internal")) {
		return fmt.Errorf("the host %s is not a public one", low)
	}
	if u.Scheme != "https" && !p.named(a) {
		return errors.New("webhooks are sent over https only")
	}
	return nil
}

// named reports whether the operator let the address through, which then may be spoken to in the clear.
func (p *Poster) named(a netip.Addr) bool {
	for _, n := range p.guard.nets {
		if a.IsValid() && n.Contains(a.Unmap()) {
			return true
		}
	}
	return false
}

// Post implements shop.Poster.
func (p *Poster) Post(ctx context.Context, at string, header map[string]string, body []byte) shop.Posted {
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, at, bytes.NewReader(body))
	if err != nil {
		return shop.Posted{Note: "the url can't be used"}
	}
	if err := p.Allowed(at); err != nil { // the operator may have changed their mind since
		return shop.Posted{Note: err.Error()}
	}
	for k, v := range header {
		r.Header.Set(k, v)
	}
	a, err := p.client.Do(r)
	if err != nil {
		return shop.Posted{Note: note(err)}
	}
	defer func() { _ = a.Body.Close() }() // what matters has been read
	_, _ = io.Copy(io.Discard, io.LimitReader(a.Body, mostAnswer))
	out := shop.Posted{Status: a.StatusCode, RetryAfter: retryAfter(a.Header.Get("Retry-After"), time.Now())}
	switch s := a.StatusCode; {
	case s >= 300 && s < 400:
		out.Note = "the endpoint answered with a redirect, which is not followed: give the address that it leads to"
	case s == http.StatusGone:
		out.Note = "the endpoint says that it is gone, and is switched off"
	case s < 200 || s >= 300:
		out.Note = "the endpoint did not take it"
	}
	return out
}

// note says what went wrong in words that tell the shop what it can mend, and nothing of our network.
func note(err error) string {
	if g, ok := errors.AsType[errGuarded](err); ok {
		return g.Error() + ", and is not dialled"
	}
	if d, ok := errors.AsType[*net.DNSError](err); ok {
		if d.IsNotFound {
			return "the host has no address"
		}
		return "the host's address could not be looked up"
	}
	if e, ok := errors.AsType[net.Error](err); ok && e.Timeout() {
		return fmt.Sprintf("there was no answer within %v", tryTime)
	}
	if errors.Is(err, syscall.ECONNREFUSED) {
		return "the endpoint refuses connections"
	}
	if strings.Contains(err.Error(), "tls:") || strings.Contains(err.Error(), "x509:") {
		return "the endpoint's certificate or TLS can't be accepted"
	}
	return "the connection broke off"
}

// retryAfter reads seconds or a date (RFC 9110, 10.2.3); 0 when there is none.
func retryAfter(s string, now time.Time) time.Duration {
	if n, err := strconv.ParseUint(s, 10, 31); err == nil {
		return time.Duration(n) * time.Second
	}
	if t, err := http.ParseTime(s); err == nil {
		return max(0, t.Sub(now))
	}
	return 0
}
