package hooks

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"net/netip"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

func guard(t testing.TB, list string) Guard {
	t.Helper()
	g, err := ReadGuard(list)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

// Addresses within a network, in every spelling, are not dialled; public ones are.
func TestOnlyPublicAddressesAreDialled(t *testing.T) {
	g := guard(t, "")
	for _, bad := range []string{"127.0.0.1", "127.9.9.9", "0.0.0.0", "0.1.2.3", "10.1.2.3", "172.16.0.1", "172.31.255.255", "192.168.1.1", "169.254.169.254",
		"100.64.0.1", "100.127.255.255", "192.0.0.1", "192.0.2.1", "198.18.0.1", "198.19.255.255", "198.51.100.7", "203.0.113.9", "224.0.0.1", "240.0.0.1", "255.255.255.255",
		"::", "::1", "::127.0.0.1", "::ffff:127.0.0.1", "::ffff:10.0.0.1", "64:ff9b::7f00:1", "64:ff9b::a00:1", "64:ff9b:1::1", "2002:7f00:1::", "2001::1", "2001:db8::1",
		"fe80::1", "fe80::1%eth0", "fc00::1", "fd12:3456::1", "fec0::1", "ff02::1", "100::1"} {
		if err := g.addr(netip.MustParseAddr(bad)); err == nil {
			t.Errorf("%s would be dialled", bad)
		}
	}
	for _, good := range []string{"1.1.1.1", "8.8.8.8", "172.15.255.255", "172.32.0.1", "100.63.255.255", "100.128.0.1", "198.17.255.255", "2606:4700::1111", "2a00:1450::5", "::ffff:8.8.8.8"} {
		if err := g.addr(netip.MustParseAddr(good)); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
	own := guard(t, "10.2.0.0/16, 127.0.0.1, hooks.rookery.internal")
	for a, ok := range map[string]bool{"10.2.3.4": true, "10.3.0.1": false, "127.0.0.1": true, "::ffff:127.0.0.1": true, "127.0.0.2": false} {
		if err := own.addr(netip.MustParseAddr(a)); (err == nil) != ok {
			t.Errorf("with an operator's list, %s: %v", a, err)
		}
	}
	for _, bad := range []string{"http://x", "a b", "*.example.com", "10.0.0.0/33", "host:80"} {
		if _, err := ReadGuard(bad); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}

func TestAnEndpointsURLIsJudgedWhenItIsGiven(t *testing.T) {
	p := New(guard(t, "hooks.rookery.internal, 10.9.0.0/16"))
	for _, bad := range []string{"https://localhost/x", "https://LOCALHOST./x", "https://a.localhost/", "https://printer.local/", "https://metadata.google.internal/", "https://intranet/",
		"https://127.0.0.1/", "https://[::1]/", "https://[::ffff:10.0.0.1]/", "http://example.com/", "http://93.184.216.34/"} {
		if err := p.Allowed(bad); err == nil {
			t.Errorf("%s was taken", bad)
		}
	}
	for _, good := range []string{"https://example.com/hooks?x=1", "https://example.com:8443/", "http://hooks.rookery.internal:9000/x", "http://10.9.1.1/", "https://93.184.216.34/"} {
		if err := p.Allowed(good); err != nil {
			t.Errorf("%s: %v", good, err)
		}
	}
}

// A name that leads inside is refused when it is dialled, whatever it led to before.
func TestAHostIsJudgedByTheAddressThatIsDialled(t *testing.T) {
	var knocked atomic.Int32
	s := httptest.NewTLSServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { knocked.Add(1) }))
	defer s.Close()
	_, port, _ := net.SplitHostPort(s.Listener.Addr().String())
	// localtest-style names can't be looked up here, so the dialler is asked itself.
	p := New(guard(t, ""))
	for _, host := range []string{"127.0.0.1", "localhost", "[::ffff:127.0.0.1]", "0x7f.1"} {
		r, err := http.NewRequest(http.MethodPost, "https://"+host+":"+port+"/", nil)
		if err != nil {
			continue
		}
		a, err := p.client.Do(r)
		if err == nil {
			_ = a.Body.Close()
			t.Errorf("%s was reached", host)
			continue
		}
		if n := note(err); host != "0x7f.1" && !strings.Contains(n, "not a public one") {
			t.Errorf("%s: %s (%v)", host, n, err)
		}
	}
	if knocked.Load() != 0 {
		t.Error("somebody was let in")
	}
}

func TestOneTryIsOneRequestWhateverComesBack(t *testing.T) {
	var asked atomic.Int32
	mux := http.NewServeMux()
	mux.HandleFunc("/ok", func(w http.ResponseWriter, r *http.Request) {
		asked.Add(1)
		b, _ := io.ReadAll(r.Body)
		if r.Method != http.MethodPost || r.Header.Get("webhook-id") != "evt_1" || string(b) != `{"a":1}` {
			w.WriteHeader(http.StatusTeapot)
		}
		w.WriteHeader(http.StatusNoContent)
	})
	mux.HandleFunc("/moved", func(w http.ResponseWriter, _ *http.Request) {
		asked.Add(1)
		w.Header().Set("Location", "/ok")
		w.WriteHeader(http.StatusTemporaryRedirect)
	})
	mux.HandleFunc("/busy", func(w http.ResponseWriter, _ *http.Request) {
		w.Header().Set("Retry-After", "120")
		w.WriteHeader(http.StatusServiceUnavailable)
	})
	mux.HandleFunc("/gone", func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusGone) })
	mux.HandleFunc("/endless", func(w http.ResponseWriter, r *http.Request) {
		for r.Context().Err() == nil {
			if _, err := fmt.Fprint(w, strings.Repeat("x", 1<<16)); err != nil {
				return
			}
		}
	})
	s := httptest.NewServer(mux)
	defer s.Close()
	p := New(guard(t, "127.0.0.1"))
	defer func() { _ = p.Close() }()
	post := func(path string) (int, time.Duration, string) {
		r := p.Post(context.Background(), s.URL+path, map[string]string{"webhook-id": "evt_1"}, []byte(`{"a":1}`))
		return r.Status, r.RetryAfter, r.Note
	}
	if st, _, n := post("/ok"); st != 204 || n != "" {
		t.Error(st, n)
	}
	if st, _, n := post("/moved"); st != 307 || !strings.Contains(n, "redirect") || asked.Load() != 2 {
		t.Error(st, n, asked.Load())
	}
	if st, wait, _ := post("/busy"); st != 503 || wait != 2*time.Minute {
		t.Error(st, wait)
	}
	if st, _, _ := post("/gone"); st != 410 {
		t.Error(st)
	}
	began := time.Now()
	if st, _, _ := post("/endless"); st != 200 || time.Since(began) > tryTime {
		t.Error(st, time.Since(began))
	}
	s.Close()
	if st, _, n := post("/ok"); st != 0 || n != "the endpoint refuses connections" {
		t.Error(st, n)
	}
}

func TestRetryAfterIsSecondsOrADate(t *testing.T) {
	now := time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)
	for s, want := range map[string]time.Duration{"": 0, "x": 0, "-5": 0, "90": 90 * time.Second, "Wed, 04 Mar 2026 05:07:07 GMT": time.Minute, "Wed, 04 Mar 2026 05:00:00 GMT": 0} {
		if got := retryAfter(s, now); got != want {
			t.Errorf("%q is %v", s, got)
		}
	}
}
