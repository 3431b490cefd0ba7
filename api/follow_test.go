package api_test

import (
	"bufio"
	"context"
	"encoding/json"
	"net/http"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/api"
	"sizerun/internal/shop"
)

// told is one server-sent event, or a comment.
type told struct {
	id, event, data, comment string
}

// stream is what a follower hears, read by hand as the HTML standard has it.
type stream struct {
	h      *house
	resp   *http.Response
	events chan told // closed when the stream is
}

// hearRun opens a stream; the answer must be the contract's but for its body, which has no end.
func (h *house) hearRun(path string, headers ...string) *stream {
	h.t.Helper()
	r, err := http.NewRequestWithContext(h.t.Context(), "GET", h.url+path, nil)
	if err != nil {
		h.t.Fatal(err)
	}
	if h.key != "" {
		r.Header.Set("Authorization", "Bearer "+h.key)
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	resp, err := h.wire.RoundTrip(r)
	if err != nil {
		h.t.Fatal(err)
	}
	h.t.Cleanup(func() { _ = resp.Body.Close() }) // the stream is over then
	if resp.StatusCode != 200 || resp.Header.Get("Content-Type") != "text/event-stream" || resp.Header.Get("Cache-Control") != "no-store" {
		h.t.Fatalf("%s: %d %v", path, resp.StatusCode, resp.Header)
	}
	s := &stream{h: h, resp: resp, events: make(chan told, 1000)}
	go func() {
		defer close(s.events)
		var e told
		lines := bufio.NewScanner(resp.Body)
		for lines.Scan() {
			name, value, _ := strings.Cut(lines.Text(), ": ")
			switch name {
			case "":
				if lines.Text() == "" {
					s.events <- e
					e = told{}
				} else {
					e.comment = value
				}
			case "id":
				e.id = value
			case "event":
				e.event = value
			case "data":
				e.data = value
			}
		}
	}()
	return s
}

// next is the next event; nil at the end of the stream.
func (s *stream) next() *told {
	s.h.t.Helper()
	for {
		select {
		case e, open := <-s.events:
			if !open {
				return nil
			}
			if e.event == "" { // a comment, or when to connect again
				continue
			}
			if err := s.h.contract.Valid("/components/schemas/RunEvent", []byte(e.data)); err != nil {
				s.h.t.Errorf("the data of %+v: %v", e, err)
			}
			return &e
		case <-time.After(20 * time.Second):
			s.h.t.Fatal("nothing is told")
		}
	}
}

func (e told) state(t *testing.T) string {
	t.Helper()
	var d struct{ State string }
	if err := json.Unmarshal([]byte(e.data), &d); err != nil {
		t.Fatal(err)
	}
	return d.State
}

func TestAFollowerHearsEveryStepAndTheEnd(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	s := h.hearRun(r.URL + "/events")
	last := int64(-1)
	var seen []told
	for {
		e := s.next()
		if e == nil {
			break
		}
		id, err := strconv.ParseInt(e.id, 10, 64)
		if err != nil || id <= last {
			t.Errorf("after %d comes %q", last, e.id)
		}
		last = id
		seen = append(seen, *e)
		if e.event == "progress" && e.state(t) == "making" {
			release()
		}
	}
	end := seen[len(seen)-1]
	if end.event != "end" || end.state(t) != "done" || seen[0].event != "progress" {
		t.Fatalf("heard: %+v", seen)
	}
	for _, e := range seen[:len(seen)-1] {
		if e.event != "progress" {
			t.Errorf("before the end: %+v", e)
		}
	}
	// Who connects again is told only what is new, and by 204 that there is no more.
	again := h.hearRun(r.URL+"/events", "Last-Event-ID", seen[0].id)
	if e := again.next(); e == nil || e.id != end.id || e.event != "end" {
		t.Errorf("from %s on it is told %+v", seen[0].id, e)
	}
	if e := again.next(); e != nil {
		t.Errorf("after the end comes %+v", e)
	}
	h.must(204, "GET", r.URL+"/events", "", "Last-Event-ID", end.id)
	for _, strange := range []string{"x", "-1", "99999999999999999999", ""} {
		if e := h.hearRun(r.URL+"/events", "Last-Event-ID", strange).next(); e == nil || e.event != "end" {
			t.Errorf("after %q it is told %+v", strange, e)
		}
	}
	h.must(200, "HEAD", r.URL+"/events", "")
	h.refused(404, "not_found", "GET", "/v1/runs/run_nothing/events", "")
	h.key = h.newKey("Heron Street")
	h.refused(404, "not_found", "GET", r.URL+"/events", "")
	h.refused(404, "not_found", "POST", r.URL+"/events/link", "")
}

// An EventSource can't send a key: a page is given a link, which opens this stream and nothing else.
func TestARunIsFollowedByALink(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	var l, files link
	h.must(201, "POST", r.URL+"/events/link?expires_in=60", "").into(t, &l)
	h.must(201, "POST", r.URL+"/link", "").into(t, &files)
	h.key = ""
	s := h.hearRun(l.path(t))
	if s.resp.Header.Get("Access-Control-Allow-Origin") != "*" {
		t.Errorf("a page of another origin may not read it: %v", s.resp.Header)
	}
	e := s.next()
	if e == nil || e.event != "end" {
		t.Fatalf("told: %+v", e)
	}
	h.must(204, "GET", l.path(t), "", "Last-Event-ID", e.id)
	_, stream, _ := strings.Cut(l.path(t), "?")
	path, download, _ := strings.Cut(files.path(t), "?")
	h.refused(403, "link_broken", "GET", "/e/"+r.ID+"?"+download, "")
	h.refused(403, "link_broken", "GET", path+"?"+stream, "")
	h.refused(403, "link_broken", "GET", "/e/run_other?"+stream, "")
	h.pass(time.Minute)
	h.refused(410, "link_expired", "GET", l.path(t), "")
}

func TestAStreamEndsWhenTheServiceStopsAndCanGoOnElsewhere(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.DrainDelay = 50 * time.Millisecond; p.cfg.DrainTime = 10 * time.Second })
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	s := h.hearRun(r.URL + "/events")
	for s.next().state(t) != "making" {
	}
	began := time.Now()
	if err := h.stop(); err != nil {
		t.Errorf("stopping with a follower: %v", err)
	}
	if e := s.next(); e != nil {
		t.Errorf("at the stop it is told %+v", e)
	}
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("a follower held up the stop for %v", took)
	}
}

func TestFollowersOfOneShopAreBounded(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	var open []*stream
	for range api.MostStreamsEach {
		open = append(open, h.hearRun(r.URL+"/events"))
	}
	p := h.refused(429, "too_many", "GET", r.URL+"/events", "")
	if !strings.Contains(p.Detail, strconv.Itoa(api.MostStreamsEach)) {
		t.Errorf("the bound is not told: %s", p.Detail)
	}
	// Another shop is not concerned.
	mine := h.key
	h.key = h.newKey("Heron Street")
	h.stock()
	var theirs run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &theirs)
	if e := h.hearRun(theirs.URL + "/events").next(); e == nil {
		t.Error("another shop hears nothing")
	}
	// Who leaves makes room.
	h.key = mine
	open[0].resp.Body.Close()
	for until := time.Now().Add(10 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		req, err := http.NewRequestWithContext(t.Context(), "GET", h.url+r.URL+"/events", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Authorization", "Bearer "+mine)
		resp, err := h.wire.RoundTrip(req)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode == 200 {
			break
		}
		if time.Now().After(until) {
			t.Fatal("who has left still takes up room")
		}
	}
}

func TestAQuietStreamShowsThatItLives(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.Heartbeat = 20 * time.Millisecond })
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	s := h.hearRun(r.URL + "/events")
	for quiet := 0; quiet < 3; {
		select {
		case e, open := <-s.events:
			if !open {
				t.Fatal("the stream ended")
			}
			if e.comment != "" {
				quiet++
			}
		case <-time.After(20 * time.Second):
			t.Fatal("the stream is silent")
		}
	}
}

// A database that is away does not end a stream: whoever connects again and gets a 503 gives up for good.
func TestAStreamOutlivesAnOutage(t *testing.T) {
	m := &outage{}
	h := newHouse(t, func(p *plan) { p.over = func(s api.Service) api.Service { m.Service = s; return m } })
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	m.left.Store(1)
	s := h.hearRun(r.URL + "/events")
	release()
	for {
		e := s.next()
		if e == nil {
			t.Fatal("the stream ended before the run")
		}
		if e.event == "end" {
			break
		}
	}
	if m.left.Load() != 0 {
		t.Error("there was no outage")
	}
}

// outage answers so many questions of followers as if the database was away.
type outage struct {
	api.Service
	left atomic.Int64
}

func (o *outage) FollowRun(ctx context.Context, s shop.ShopID, id string, after int64, d time.Duration) (shop.Run, bool, error) {
	if o.left.Load() > 0 {
		o.left.Add(-1)
		return shop.Run{}, false, &shop.Error{Kind: shop.Unavailable, Detail: "away"}
	}
	return o.Service.FollowRun(ctx, s, id, after, d)
}
