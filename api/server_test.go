package api_test

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"sizerun/api"
	"sizerun/internal/shop"
)

// dial is a connection on which a test speaks HTTP by hand.
func (h *house) dial() net.Conn {
	h.t.Helper()
	c, err := net.Dial("tcp", strings.TrimPrefix(h.url, "http://"))
	if err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() { c.Close() })
	return c
}

// hear is the next answer on a connection; closing says whether it is the last.
func (h *house) hear(c net.Conn, within time.Duration) (a answer, closing bool) {
	h.t.Helper()
	if err := c.SetReadDeadline(time.Now().Add(within)); err != nil {
		h.t.Fatal(err)
	}
	resp, err := http.ReadResponse(bufio.NewReader(c), nil)
	if err != nil {
		h.t.Fatalf("nothing was answered within %v: %v", within, err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatal(err)
	}
	return answer{resp.StatusCode, resp.Header, b}, resp.Close
}

func TestASlowBodyIsNotWaitedForForEver(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.BodyTime = 300 * time.Millisecond })
	for name, part := range map[string]string{
		"with a length": "Content-Length: 100\r\n\r\n{\"style\":",
		"in chunks":     "Transfer-Encoding: chunked\r\n\r\n5\r\n{\"sty\r\n",
	} {
		c := h.dial()
		fmt.Fprintf(c, "POST /v1/runs HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\n%s", h.key, part)
		a, closing := h.hear(c, 5*time.Second)
		var p problem
		a.into(t, &p)
		if a.status != 408 || p.kind() != "slow_body" {
			t.Errorf("a body that stalls %s is answered with %d %s", name, a.status, p.kind())
		}
		if !closing {
			t.Errorf("after a body that stalled %s the connection stays open", name)
		}
	}
	// Nobody's slow body, to a route that asks for a key first: answered at once, and not read to its end.
	c := h.dial()
	fmt.Fprintf(c, "POST /v1/runs HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 1000000\r\n\r\n{")
	if a, _ := h.hear(c, 5*time.Second); a.status != 401 {
		t.Errorf("a slow body without a key is answered with %d", a.status)
	}
}

// A connection that is used again starts with fresh deadlines, and a wait outlives the time that a
// body has.
func TestDeadlinesAreOfOneRequest(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.BodyTime = 300 * time.Millisecond })
	h.stock()
	release := h.maker.hold()
	time.AfterFunc(time.Second, release)
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=10").into(t, &r)
	if r.State != "done" {
		t.Errorf("the run that took longer than a body may is %s", r.State)
	}
	time.Sleep(400 * time.Millisecond)
	h.must(200, "GET", r.URL, "")
}

func TestABodyThatBreaksOffOrdersNothing(t *testing.T) {
	h := newHouse(t)
	h.stock()
	c := h.dial()
	fmt.Fprintf(c, "POST /v1/runs HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n", h.key)
	if a, _ := h.hear(c, 5*time.Second); a.status != 400 {
		t.Errorf("a body that is not framed is answered with %d", a.status)
	}
	c = h.dial()
	fmt.Fprintf(c, "POST /v1/runs HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: 100\r\n\r\n{\"style\":\"wren-petal\"}", h.key)
	c.Close()
	time.Sleep(100 * time.Millisecond)
	var runs struct{ Items []any }
	h.must(200, "GET", "/v1/runs", "").into(t, &runs)
	if len(runs.Items) != 0 {
		t.Error("half a request made a run")
	}
}

// Told to stop, the service first says that it is not ready, lets go of those who wait, answers
// what it has in hand, and only then is gone.
func TestStoppingDropsNothing(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.DrainDelay = 700 * time.Millisecond })
	h.stock()
	release := h.maker.hold()
	defer release()
	h.must(200, "GET", "/readyz", "")
	waiting := make(chan answer, 1)
	go func() { waiting <- h.do("POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=30") }()
	for deadline := time.Now().Add(5 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		var runs struct{ Items []struct{ State string } }
		h.must(200, "GET", "/v1/runs", "").into(t, &runs)
		if len(runs.Items) == 1 && runs.Items[0].State == "making" {
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("the run was never begun")
		}
	}
	stopped := make(chan error, 1)
	go func() { stopped <- h.stop() }()

	select {
	case a := <-waiting:
		if a.status != 202 || a.header.Get("Location") == "" {
			t.Errorf("who waited was answered with %d %s", a.status, a.body)
		}
	case <-time.After(500 * time.Millisecond):
		t.Error("who waits is kept waiting by a service that stops")
	}
	// Still listening, so that nobody is turned away before the balancer knows; but not ready.
	h.refused(503, "unavailable", "GET", "/readyz", "")
	h.must(200, "GET", "/livez", "")
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=30")

	if err := <-stopped; err != nil {
		t.Errorf("stopping: %v", err)
	}
	if _, err := net.DialTimeout("tcp", strings.TrimPrefix(h.url, "http://"), time.Second); err == nil {
		t.Error("the service has stopped and still listens")
	}
}

func TestADrainThatTakesTooLongIsEnded(t *testing.T) {
	stuck := make(chan struct{})
	h := newHouse(t, func(p *plan) {
		p.cfg.DrainTime = 200 * time.Millisecond
		p.over = func(s api.Service) api.Service {
			return broken{Service: s, list: func() error { <-stuck; return nil }}
		}
	})
	go func() {
		r, _ := http.NewRequest("GET", h.url+"/v1/blocks", nil)
		r.Header.Set("Authorization", "Bearer "+h.key)
		if resp, err := http.DefaultClient.Do(r); err == nil {
			resp.Body.Close()
		}
	}()
	time.Sleep(100 * time.Millisecond)
	began := time.Now()
	err := h.stop()
	close(stuck)
	if err == nil {
		t.Error("a request was broken off, and nobody was told")
	}
	if took := time.Since(began); took > 3*time.Second {
		t.Errorf("stopping took %v", took)
	}
	h.stop = func() error { return nil } // it has been judged
}

func TestReadinessTellsWhatIsAway(t *testing.T) {
	var err error
	h := newHouse(t, func(p *plan) {
		p.over = func(s api.Service) api.Service { return moody{s, &err} }
	})
	h.must(200, "GET", "/readyz", "", "Authorization", "")
	err = &shop.Error{Kind: shop.Unavailable, Detail: "dial tcp 10.0.0.5:5432"}
	p := h.refused(503, "unavailable", "GET", "/readyz", "", "Authorization", "")
	if strings.Contains(p.Detail, "10.0.0.5") {
		t.Error("readiness tells our insides")
	}
	h.must(200, "GET", "/livez", "", "Authorization", "")
}

type moody struct {
	api.Service
	err *error
}

func (m moody) Ready(context.Context) error { return *m.err }

func TestTheContractAndTheVersionAreServed(t *testing.T) {
	h := newHouse(t)
	a := h.must(200, "GET", "/openapi.json", "", "Authorization", "")
	h.must(304, "GET", "/openapi.json", "", "If-None-Match", a.header.Get("ETag"), "Authorization", "")
	var v map[string]string
	h.must(200, "GET", "/version", "", "Authorization", "").into(t, &v)
	if v["version"] != "v1.2.3" || v["engine"] != "test-1" || v["api"] == "" {
		t.Errorf("the version is %v", v)
	}
	var doc struct {
		Components struct {
			Schemas struct{ ProblemName struct{ Enum []string } }
		}
	}
	a.into(t, &doc)
	for _, name := range doc.Components.Schemas.ProblemName.Enum {
		page := h.must(200, "GET", "/problems/"+name, "", "Authorization", "")
		if !strings.HasPrefix(page.header.Get("Content-Type"), "text/html") || !strings.Contains(string(page.body), name) {
			t.Errorf("the page of %s does not tell of it", name)
		}
	}
	if len(doc.Components.Schemas.ProblemName.Enum) < 20 {
		t.Error("the contract lists hardly any problem")
	}
}

func TestBodiesInHandAreBoundedPerShop(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.BodiesPerShop = 2; p.cfg.BodyTime = 20 * time.Second })
	h.stock()
	var open []net.Conn
	for range 2 {
		c := h.dial()
		fmt.Fprintf(c, "POST /v1/runs HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer %s\r\nContent-Type: application/json\r\nContent-Length: 22\r\nExpect: 100-continue\r\n\r\n", h.key)
		// The server bids the body come when it has it in hand, and not before.
		bid := make([]byte, len("HTTP/1.1 100 Continue\r\n\r\n"))
		if _, err := io.ReadFull(c, bid); err != nil || !strings.Contains(string(bid), "100 Continue") {
			t.Fatalf("%q %v", bid, err)
		}
		fmt.Fprint(c, "{")
		open = append(open, c)
	}
	if a := h.do("POST", "/v1/checks", `{"style":"wren-petal"}`); a.status != 429 || a.header.Get("Retry-After") != "1" {
		t.Errorf("a third body at once is answered with %d", a.status)
	}
	h.do("POST", "/v1/checks", `{"style":"wren-petal"}`, "Authorization", "Bearer "+h.newKey("Another Shop")) // is not held up
	for _, c := range open {
		if _, err := io.WriteString(c, `"style":"wren-petal"}`); err != nil {
			t.Fatal(err)
		}
		if a, _ := h.hear(c, 5*time.Second); a.status != 202 {
			t.Errorf("a body that came slowly is answered with %d", a.status)
		}
	}
	h.must(200, "POST", "/v1/checks", `{"style":"wren-petal"}`)
}

func TestSettingsThatCannotBeUsedAreRefused(t *testing.T) {
	for _, bad := range []string{"patterns.example", "ftp://x", "https://", "https://u:p@x", "https://x/?a=b", "https://x/#f", "://"} {
		if _, err := api.NewServer(api.Config{PublicURL: bad}, changeless{text: `[]`}); err == nil {
			t.Errorf("the public URL %q is taken", bad)
		}
	}
	for _, bad := range []string{"", "{}", "[1]", `[{}]`, `[{"name":"a"},{"name":"a"}]`, "[", "null x"} {
		if _, err := api.NewServer(api.Config{}, changeless{text: bad}); err == nil {
			t.Errorf("the register %q is taken", bad)
		}
	}
	if _, err := api.NewServer(api.Config{PublicURL: "https://x.example/patterns/"}, changeless{text: `[]`}); err != nil {
		t.Error(err)
	}
}

type changeless struct {
	api.Service
	text string
}

func (c changeless) Changes() []byte { return []byte(c.text) }

// A caller that goes away while it waits is no failure of ours, and its run goes on.
func TestACallerThatGoesAwayIsNoFailure(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	where := h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).header.Get("Location")
	gone, leave := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer leave()
	r, err := http.NewRequestWithContext(gone, "GET", h.url+where, nil)
	if err != nil {
		t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.key)
	r.Header.Set("Prefer", "wait=30")
	if resp, err := http.DefaultClient.Do(r); err == nil {
		resp.Body.Close()
		t.Fatal("the caller was answered before it left")
	}
	for deadline := time.Now().Add(5 * time.Second); !strings.Contains(h.log.String(), "status=499"); time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatalf("the log does not tell that the caller has gone:\n%s", h.log)
		}
	}
	if strings.Contains(h.log.String(), "level=ERROR") {
		t.Errorf("a caller's leaving is told as an error:\n%s", h.log)
	}
	release()
	var after run
	h.must(200, "GET", where, "", "Prefer", "wait=10").into(t, &after)
	if after.State != "done" {
		t.Errorf("after its caller has gone the run is %s", after.State)
	}
}
