package api_test

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"sizerun/internal/hooks"
)

// receiver is a storefront's own server.
type receiver struct {
	*httptest.Server
	mu     sync.Mutex
	got    []taken
	answer []int // of the first requests; 204 when there are no more
}

type taken struct {
	header http.Header
	body   []byte
}

func newReceiver(t *testing.T, answer ...int) *receiver {
	r := &receiver{answer: answer}
	r.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, q *http.Request) {
		b, err := io.ReadAll(q.Body)
		if err != nil {
			t.Error(err)
		}
		r.mu.Lock()
		defer r.mu.Unlock()
		status := http.StatusNoContent
		if len(r.got) < len(r.answer) {
			status = r.answer[len(r.got)]
		}
		r.got = append(r.got, taken{q.Header.Clone(), b})
		w.WriteHeader(status)
	}))
	t.Cleanup(r.Close)
	return r
}

// await waits until n webhooks have come.
func (r *receiver) await(t *testing.T, n int) []taken {
	t.Helper()
	for deadline := time.Now().Add(20 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		r.mu.Lock()
		got := r.got
		r.mu.Unlock()
		if len(got) >= n {
			return got
		}
		if time.Now().After(deadline) {
			t.Fatalf("%d webhooks came, not %d", len(got), n)
		}
	}
}

type endpoint struct {
	ID, URL, Description, Secret string
	On                           bool
	OffWhy                       *string `json:"off_why"`
}

type deliveries struct {
	Items []struct {
		Event struct {
			ID, Type string
			RunID    *string `json:"run_id"`
		}
		State string
		Tries []struct {
			Status *int
			Note   *string
		}
		NextAt *time.Time `json:"next_at"`
	}
	NextCursor *string `json:"next_cursor"`
}

// nearby lets webhooks reach this machine.
func nearby(t *testing.T) func(*plan) {
	g, err := hooks.ReadGuard("127.0.0.1")
	if err != nil {
		t.Fatal(err)
	}
	return func(p *plan) { p.poster = hooks.New(g) }
}

func (h *house) listen(r *receiver) endpoint {
	h.t.Helper()
	var e endpoint
	h.must(201, "POST", "/v1/webhooks", fmt.Sprintf(`{"url":%q,"description":"orders"}`, r.URL+"/hooks")).into(h.t, &e)
	return e
}

func (h *house) deliveries(e endpoint) deliveries {
	h.t.Helper()
	var d deliveries
	h.must(200, "GET", "/v1/webhooks/"+e.ID+"/deliveries", "").into(h.t, &d)
	return d
}

// delivered waits until the newest delivery has been, which is written down after it was taken.
func (h *house) delivered(e endpoint) deliveries {
	h.t.Helper()
	for deadline := time.Now().Add(10 * time.Second); ; time.Sleep(5 * time.Millisecond) {
		d := h.deliveries(e)
		if len(d.Items) > 0 && d.Items[0].State == "delivered" {
			return d
		}
		if time.Now().After(deadline) {
			h.t.Fatalf("the log is %+v", d)
		}
	}
}

// A storefront is told of its order once, by a webhook that the public library of Standard Webhooks
// takes for genuine.
func TestAStorefrontIsToldWhenItsOrderIsMade(t *testing.T) {
	h := newHouse(t, nearby(t))
	h.stock()
	rc := newReceiver(t)
	e := h.listen(rc)
	r := h.ordered()
	got := rc.await(t, 1)[0]
	wh, err := standardwebhooks.NewWebhook(e.Secret)
	if err != nil {
		t.Fatal(err)
	}
	if err := wh.Verify(got.body, got.header); err != nil {
		t.Errorf("the library says %v", err)
	}
	if err := wh.Verify(append(got.body, ' '), got.header); err == nil {
		t.Error("a changed body passes")
	}
	var told struct {
		Type string
		Data struct {
			RunID      string `json:"run_id"`
			State, URL string
			ExternalID string `json:"external_id"`
			Files      []struct{ ID, URL string }
		}
	}
	if err := json.Unmarshal(got.body, &told); err != nil {
		t.Fatal(err)
	}
	if told.Type != "run.done" || told.Data.RunID != r.ID || told.Data.State != "done" || told.Data.ExternalID != "1001/b" ||
		told.Data.URL != "https://patterns.example/v1/runs/"+r.ID || len(told.Data.Files) != len(r.Files) {
		t.Errorf("told: %s", got.body)
	}
	d := h.delivered(e)
	if len(d.Items) != 1 || d.Items[0].State != "delivered" || d.Items[0].Event.ID != got.header.Get("webhook-id") || *d.Items[0].Tries[0].Status != 204 {
		t.Errorf("the log is %+v", d)
	}
	// Nobody else sees the endpoint, nor the event.
	mine := h.key
	h.key = h.newKey("Heron Street")
	for _, p := range []string{"", "/deliveries"} {
		h.refused(404, "not_found", "GET", "/v1/webhooks/"+e.ID+p, "")
	}
	for _, p := range []string{"/test", "/rotate", "/deliveries/" + d.Items[0].Event.ID + "/replay"} {
		h.refused(404, "not_found", "POST", "/v1/webhooks/"+e.ID+p, "")
	}
	h.refused(404, "not_found", "DELETE", "/v1/webhooks/"+e.ID, "")
	h.refused(404, "not_found", "PATCH", "/v1/webhooks/"+e.ID, `{"on":false}`)
	h.key = mine
}

// What is not taken comes again, with the same id and a time of its own; a secret that is rotated signs
// beside the new one for a day.
func TestAWebhookThatIsNotTakenComesAgain(t *testing.T) {
	h := newHouse(t, nearby(t))
	h.stock()
	rc := newReceiver(t, 500, 302)
	e := h.listen(rc)
	h.ordered()
	rc.await(t, 1)
	var newer endpoint
	h.must(200, "POST", "/v1/webhooks/"+e.ID+"/rotate", "").into(t, &newer)
	h.pass(10 * time.Second)
	rc.await(t, 2)
	h.pass(10 * time.Minute)
	got := rc.await(t, 3)
	for _, secret := range []string{e.Secret, newer.Secret} {
		wh, err := standardwebhooks.NewWebhook(secret)
		if err != nil {
			t.Fatal(err)
		}
		if err := wh.VerifyIgnoringTimestamp(got[2].body, got[2].header); err != nil {
			t.Errorf("with one of both secrets: %v", err)
		}
	}
	if got[0].header.Get("webhook-id") != got[2].header.Get("webhook-id") || got[0].header.Get("webhook-timestamp") == got[2].header.Get("webhook-timestamp") ||
		string(got[0].body) != string(got[2].body) {
		t.Errorf("the tries are %v and %v", got[0].header, got[2].header)
	}
	d := h.delivered(e)
	if tr := d.Items[0].Tries; len(tr) != 3 || *tr[0].Status != 500 || *tr[1].Status != 302 || !strings.Contains(*tr[1].Note, "redirect") || *tr[2].Status != 204 {
		t.Errorf("the log is %+v", d)
	}
	// And again, because the storefront has lost it.
	h.must(202, "POST", "/v1/webhooks/"+e.ID+"/deliveries/"+d.Items[0].Event.ID+"/replay", "")
	rc.await(t, 4)
	h.refused(404, "not_found", "POST", "/v1/webhooks/"+e.ID+"/deliveries/evt_nothing/replay", "")
}

func TestAnEndpointThatIsGoneIsSwitchedOffAndSaysSo(t *testing.T) {
	h := newHouse(t, nearby(t))
	h.stock()
	rc := newReceiver(t, 410)
	e := h.listen(rc)
	h.must(202, "POST", "/v1/webhooks/"+e.ID+"/test", "")
	rc.await(t, 1)
	for deadline := time.Now().Add(10 * time.Second); e.On || e.OffWhy == nil; time.Sleep(5 * time.Millisecond) {
		h.must(200, "GET", "/v1/webhooks/"+e.ID, "").into(t, &e)
		if time.Now().After(deadline) {
			t.Fatalf("%+v", e)
		}
	}
	if !strings.Contains(*e.OffWhy, "410") {
		t.Error(*e.OffWhy)
	}
	h.refused(409, "conflict", "POST", "/v1/webhooks/"+e.ID+"/test", "")
	h.must(200, "PATCH", "/v1/webhooks/"+e.ID, `{"on":true,"description":"again"}`).into(t, &e)
	if !e.On || e.Description != "again" {
		t.Errorf("%+v", e)
	}
	h.must(202, "POST", "/v1/webhooks/"+e.ID+"/test", "")
	rc.await(t, 2)
	h.must(204, "DELETE", "/v1/webhooks/"+e.ID, "")
	h.refused(404, "not_found", "GET", "/v1/webhooks/"+e.ID, "")
}

func TestWhatCanBeNoEndpointIsRefusedByPlace(t *testing.T) {
	h := newHouse(t)
	for body, pointer := range map[string]string{
		`{"url":"http://shop.example/"}`:                       "/url",
		`{"url":"https://127.0.0.1/"}`:                         "/url",
		`{"url":"https://[::ffff:10.0.0.1]/"}`:                 "/url",
		`{"url":"https://localhost/"}`:                         "/url",
		`{"url":"ftp://shop.example/"}`:                        "/url",
		`{"url":"https://user:pw@shop.example/"}`:              "/url",
		`{"url":"not a url"}`:                                  "/url",
		`{"url":""}`:                                           "/url",
		`{"url":"https://shop.example/","description":"a\nb"}`: "/description",
		`{"url":"https://shop.example/","colour":"red"}`:       "/colour",
		`{"url":12}`: "/url",
		`{"url":"https://` + strings.Repeat("a", 2000) + `.b"}`: "/url",
	} {
		p := h.refused(422, "invalid", "POST", "/v1/webhooks", body)
		if len(p.Errors) == 0 || p.Errors[0].Pointer != pointer || p.Errors[0].Remedy == "" {
			t.Errorf("%.80s is refused with %+v", body, p.Errors)
		}
	}
	h.refused(422, "invalid", "POST", "/v1/webhooks", `{}`)
	for i := range 20 {
		h.must(201, "POST", "/v1/webhooks", fmt.Sprintf(`{"url":"https://shop.example/%d"}`, i))
	}
	h.refused(409, "conflict", "POST", "/v1/webhooks", `{"url":"https://shop.example/one-more"}`)
	var e endpoint
	var list struct{ Items []endpoint }
	h.must(200, "GET", "/v1/webhooks", "").into(t, &list)
	if e = list.Items[0]; len(list.Items) != 20 || e.Secret != "" {
		t.Errorf("%d endpoints, and the secret is told again: %q", len(list.Items), e.Secret)
	}
	h.refused(422, "invalid", "PATCH", "/v1/webhooks/"+e.ID, `{}`)
	h.refused(422, "invalid", "PATCH", "/v1/webhooks/"+e.ID, `{"url":"https://10.0.0.1/"}`)
}

// Whoever can't be called asks: with the cursor of the last page nothing is missed and nothing told twice.
func TestEventsCanBeAskedFor(t *testing.T) {
	h := newHouse(t)
	h.stock()
	type events struct {
		Items      []struct{ ID, Type string }
		NextCursor string `json:"next_cursor"`
	}
	var page events
	h.must(200, "GET", "/v1/events", "").into(t, &page)
	if len(page.Items) != 0 || page.NextCursor == "" {
		t.Fatalf("%+v", page)
	}
	seen := map[string]bool{}
	for i := range 5 {
		h.must(201, "POST", "/v1/runs", fmt.Sprintf(`{"style":"wren-petal","stamp":"%d"}`, i), "Prefer", "wait=20")
		h.pass(3 * time.Second)
		h.must(200, "GET", "/v1/events?limit=2&cursor="+page.NextCursor, "").into(t, &page)
		for _, e := range page.Items {
			if seen[e.ID] || e.Type != "run.done" {
				t.Errorf("%s %s is told again", e.Type, e.ID)
			}
			seen[e.ID] = true
		}
	}
	if len(seen) != 5 {
		t.Errorf("told were %d of 5", len(seen))
	}
	h.refused(400, "malformed", "GET", "/v1/events?cursor=cnVuCjEKMg", "")
}
