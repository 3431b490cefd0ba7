package shop

import (
	"cmp"
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	mathrand "math/rand/v2"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"

	"sizerun/internal/document"
)

// Webhooks follow Standard Webhooks 1.0.0: an id that stays the same over all tries, the time of the try,
// and HMAC-SHA256 over both and the body.

const (
	// MostEndpoints is how many a shop may have.
	MostEndpoints = 20
	// OldSecretFor is how long a secret that was replaced still signs beside the new one.
	OldSecretFor = 24 * time.Hour
	// EventsKept is how long events and their deliveries can be looked at and replayed.
	EventsKept = 30 * 24 * time.Hour

	deliverBatch = 32
	deliverEach  = 4 // of one endpoint at once
	// deliverLease is longer than a try may take.
	deliverLease = time.Minute
	secretPrefix = "whsec_"
)

// schedule is how long after one try the next follows (Standard Webhooks 1.0.0): after the last
// a delivery has failed.
var schedule = [...]time.Duration{
	5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour,
	10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour,
}

// SignHook makes the signature header's value of a webhook: one signature per secret.
func SignHook(id string, at time.Time, body []byte, secrets ...[]byte) string {
	var out []string
	for _, s := range secrets {
		h := hmac.New(sha256.New, s)
		fmt.Fprintf(h, "%s.%d.", id, at.Unix())
		h.Write(body)
		out = append(out, "v1,"+base64.StdEncoding.EncodeToString(h.Sum(nil)))
	}
	return strings.Join(out, " ")
}

// HookHeader is what a webhook is sent with.
func HookHeader(id string, at time.Time, body []byte, secrets ...[]byte) map[string]string {
	return map[string]string{
		"Content-Type":      "application/json",
		"User-Agent":        "Sizerun-Webhooks/1",
		"webhook-id":        id,
		"webhook-timestamp": strconv.FormatInt(at.Unix(), 10),
		"webhook-signature": SignHook(id, at, body, secrets...),
	}
}

// NewHookSecret makes a secret, and the text by which it is told.
func NewHookSecret() ([]byte, string) {
	s := make([]byte, 32)
	rand.Read(s) // never fails: it ends the program when the system has no randomness
	return s, secretPrefix + base64.StdEncoding.EncodeToString(s)
}

func noEndpoint(id string) error { return notFound("webhook endpoint", id) }

// AddEndpoint makes an endpoint from a document. Its secret is shown this once.
func (s *Service) AddEndpoint(ctx context.Context, shop ShopID, raw []byte) (Endpoint, string, error) {
	q, err := document.DecodeEndpoint(raw, s.terms.Documents, true)
	if err != nil {
		return Endpoint{}, "", invalid(err, "the webhook endpoint can't be like this")
	}
	e := Endpoint{ID: s.newID("hook"), Shop: shop, URL: *q.URL, CreatedAt: s.now()}
	if q.Description != nil {
		e.Description = *q.Description
	}
	if err := s.fitEndpoint(e.URL, e.Description); err != nil {
		return Endpoint{}, "", err
	}
	var text string
	e.Secret, text = NewHookSecret()
	ok, err := s.store.AddEndpoint(ctx, e, MostEndpoints)
	if err == nil && !ok {
		err = &Error{Kind: Conflict, Detail: fmt.Sprintf("this shop has %d webhook endpoints, which is as many as it may have; delete one that is no longer needed", MostEndpoints)}
	}
	if err == nil {
		s.note(ctx, shop, DidAddEndpoint, e.ID)
	}
	return e, text, err
}

func (s *Service) fitEndpoint(at, description string) error {
	if err := describes("endpoint", description); err != nil {
		return err
	}
	u, err := url.Parse(at)
	if err != nil || len(at) > 2000 || u.Host == "" || u.User != nil || u.Fragment != "" || (u.Scheme != "https" && u.Scheme != "http") || strings.ContainsFunc(at, unicode.IsControl) {
		return misfit("endpoint", "/url", "the url can't be used", "https://host/path, up to 2000 characters, without a user or a fragment", "give the address that your server takes webhooks at")
	}
	if s.poster == nil {
		return &Error{Kind: Unavailable, Detail: "this service sends no webhooks"}
	}
	if err := s.poster.Allowed(at); err != nil {
		return misfit("endpoint", "/url", err.Error(), "a public https address, or one that the operator allows", "use the public address of your server; for a machine of your own, “sizerun listen” forwards what there is to tell")
	}
	return nil
}

// Endpoints lists the shop's endpoints, the oldest first.
func (s *Service) Endpoints(ctx context.Context, shop ShopID) ([]Endpoint, error) {
	return s.store.Endpoints(ctx, shop)
}

// Endpoint answers one.
func (s *Service) Endpoint(ctx context.Context, shop ShopID, id string) (Endpoint, error) {
	e, err := s.store.Endpoint(ctx, shop, id)
	if errors.Is(err, ErrAbsent) {
		err = noEndpoint(id)
	}
	return e, err
}

// ChangeEndpoint changes what a document names. What waits for an endpoint that is switched off waits on.
func (s *Service) ChangeEndpoint(ctx context.Context, shop ShopID, id string, raw []byte) (Endpoint, error) {
	c, err := document.DecodeEndpoint(raw, s.terms.Documents, false)
	if err != nil {
		return Endpoint{}, invalid(err, "the webhook endpoint can't be like this")
	}
	e, err := s.Endpoint(ctx, shop, id)
	if err != nil {
		return e, err
	}
	if c.URL != nil {
		e.URL = *c.URL
	}
	if c.Description != nil {
		e.Description = *c.Description
	}
	if c.URL != nil || c.Description != nil {
		if err := s.fitEndpoint(e.URL, e.Description); err != nil {
			return e, err
		}
	}
	if c.On != nil && *c.On {
		e.OffAt, e.OffWhy = time.Time{}, ""
	}
	if c.On != nil && !*c.On && e.OffAt.IsZero() {
		e.OffAt, e.OffWhy = s.now(), "switched off by the shop"
	}
	if err := s.store.ChangeEndpoint(ctx, e); errors.Is(err, ErrAbsent) {
		return e, noEndpoint(id)
	} else if err != nil {
		return e, err
	}
	s.note(ctx, shop, DidChangeEndpoint, id)
	s.ringHooks()
	return e, nil
}

// RotateEndpoint gives an endpoint a new secret, shown this once; the old one signs beside it for a day,
// so that a receiver can change over without losing any.
func (s *Service) RotateEndpoint(ctx context.Context, shop ShopID, id string) (Endpoint, string, error) {
	e, err := s.Endpoint(ctx, shop, id)
	if err != nil {
		return e, "", err
	}
	e.OldSecret, e.OldUntil = e.Secret, s.now().Add(OldSecretFor)
	var text string
	e.Secret, text = NewHookSecret()
	if err := s.store.ChangeEndpoint(ctx, e); errors.Is(err, ErrAbsent) {
		return e, "", noEndpoint(id)
	} else if err != nil {
		return e, "", err
	}
	s.note(ctx, shop, DidRotateEndpoint, id)
	return e, text, nil
}

// DeleteEndpoint deletes an endpoint and what waits for it.
func (s *Service) DeleteEndpoint(ctx context.Context, shop ShopID, id string) error {
	err := s.store.DeleteEndpoint(ctx, shop, id)
	if errors.Is(err, ErrAbsent) {
		return noEndpoint(id)
	}
	if err == nil {
		s.note(ctx, shop, DidDeleteEndpoint, id)
	}
	return err
}

// TestEndpoint sends a test event to one endpoint.
func (s *Service) TestEndpoint(ctx context.Context, shop ShopID, id string) (Event, error) {
	e, err := s.Endpoint(ctx, shop, id)
	if err != nil {
		return Event{}, err
	}
	if !e.OffAt.IsZero() {
		return Event{}, &Error{Kind: Conflict, Detail: "the endpoint is switched off; switch it on before testing it"}
	}
	ev := Event{ID: s.newID("evt"), Shop: shop, Type: EventTest, CreatedAt: s.now()}
	if err := s.store.AddEvent(ctx, ev, id); err != nil {
		return Event{}, err
	}
	s.ringHooks()
	return ev, nil
}

// ReplayDelivery sends an event to an endpoint again, whatever became of it.
func (s *Service) ReplayDelivery(ctx context.Context, shop ShopID, id, event string) error {
	if _, err := s.Endpoint(ctx, shop, id); err != nil {
		return err
	}
	err := s.store.Replay(ctx, shop, id, event, s.now())
	if errors.Is(err, ErrAbsent) {
		return notFound("event", event)
	}
	s.ringHooks()
	return err
}

// Deliveries lists what went to an endpoint, the newest first.
func (s *Service) Deliveries(ctx context.Context, shop ShopID, id, cursor string, limit int) ([]Delivery, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	before, err := readPlace("delivery", cursor)
	if err != nil {
		return nil, "", err
	}
	if _, err := s.Endpoint(ctx, shop, id); err != nil {
		return nil, "", err
	}
	ds, err := s.store.Deliveries(ctx, shop, id, before, limit+1)
	if err != nil || len(ds) <= limit {
		return ds, "", err
	}
	last := ds[limit-1].Event
	return ds[:limit], placeCursor("delivery", last.CreatedAt, last.ID), nil
}

// Told is an event with the body that is told of it.
type Told struct {
	Event
	Body json.RawMessage
}

// settling is how long an event is kept back from the list: one that another transaction dated a little
// earlier may still come, and whoever has read on would miss it.
const settling = 2 * time.Second

// Events lists what there was to tell, the oldest first, those after the cursor: whoever asks again with
// the last cursor misses nothing. Without one it begins with the newest page.
func (s *Service) Events(ctx context.Context, shop ShopID, cursor string, limit int) ([]Told, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	from, err := readPlace("event", cursor)
	if err != nil {
		return nil, "", err
	}
	evs, err := s.store.Events(ctx, shop, from, s.now().Add(-settling), cursor == "", limit)
	if err != nil {
		return nil, "", err
	}
	out := make([]Told, len(evs))
	for i, e := range evs {
		b, err := s.tell(ctx, e)
		if err != nil {
			return nil, "", err
		}
		out[i] = Told{e, b}
	}
	if len(evs) > 0 {
		last := evs[len(evs)-1]
		cursor = placeCursor("event", last.CreatedAt, last.ID)
	} else if cursor == "" { // nothing yet: from the beginning of time
		cursor = placeCursor("event", time.UnixMicro(0), "")
	}
	return out, cursor, nil
}

// tell is what is told of an event: links, no files, and nothing of the buyer but the shop's own number.
func (s *Service) tell(ctx context.Context, e Event) ([]byte, error) {
	type file struct {
		ID     string `json:"id"`
		Name   string `json:"name"`
		Bytes  int64  `json:"bytes"`
		SHA256 string `json:"sha256"`
		URL    string `json:"url"`
	}
	type data struct {
		RunID      string  `json:"run_id,omitempty"`
		URL        string  `json:"url,omitempty"`
		State      string  `json:"state,omitempty"`
		Style      string  `json:"style,omitempty"`
		ExternalID *string `json:"external_id"`
		Problem    *string `json:"problem"`
		Files      []file  `json:"files"`
	}
	d := data{RunID: e.RunID, Files: []file{}}
	if e.RunID != "" {
		d.URL = s.terms.PublicURL + "/v1/runs/" + url.PathEscape(e.RunID)
		d.State = strings.TrimPrefix(e.Type, "run.")
		r, err := s.store.Run(ctx, e.Shop, e.RunID)
		switch {
		case errors.Is(err, ErrAbsent): // erased since
		case err != nil:
			return nil, err
		default:
			if d.Style = r.Style; r.ExternalID != "" {
				d.ExternalID = &r.ExternalID
			}
			if r.Problem != nil {
				d.Problem = &r.Problem.Rule
			}
			const most = 50 // a body stays below 20 kB; the run tells the rest
			for _, f := range r.Files[:min(len(r.Files), most)] {
				d.Files = append(d.Files, file{f.ID, f.Name, f.Bytes, f.SHA256, s.terms.PublicURL + "/v1/files/" + url.PathEscape(f.ID)})
			}
		}
	}
	return json.Marshal(struct {
		Type      string `json:"type"`
		Timestamp string `json:"timestamp"`
		Data      data   `json:"data"`
	}{e.Type, e.CreatedAt.UTC().Format(time.RFC3339Nano), d})
}

// Deliver sends due deliveries, one batch, and says how many it took. Any number of processes may at once.
func (s *Service) Deliver(ctx context.Context) (int, error) {
	if s.poster == nil {
		return 0, nil
	}
	now := s.now()
	ds, err := s.store.TakeDeliveries(ctx, now, now.Add(deliverLease), deliverBatch, deliverEach)
	if err != nil {
		return 0, err
	}
	errs := make([]error, len(ds))
	var wg sync.WaitGroup
	for i, d := range ds {
		wg.Go(func() { errs[i] = s.deliver(ctx, d) })
	}
	wg.Wait()
	return len(ds), errors.Join(errs...)
}

func (s *Service) deliver(ctx context.Context, d Delivery) (err error) {
	trace := ""
	if d.Event.RunID != "" {
		if request, err := s.store.RequestOf(ctx, d.Event.Shop, d.Event.RunID); err == nil { // a trace is never a reason to fail
			trace = traceOf(request)
		}
	}
	ctx, end := s.tracer.Begin(ctx, "webhook", trace, "run.id", d.Event.RunID, "webhook.id", d.Event.ID)
	var failed error
	defer func() { end(cmp.Or(err, failed)) }()
	body, err := s.tell(ctx, d.Event)
	if err != nil {
		return err
	}
	at := s.now()
	secrets := [][]byte{d.Endpoint.Secret}
	if len(d.Endpoint.OldSecret) > 0 && at.Before(d.Endpoint.OldUntil) {
		secrets = append(secrets, d.Endpoint.OldSecret)
	}
	began := time.Now()
	header := HookHeader(d.Event.ID, at, body, secrets...)
	if parent := s.tracer.Carried(ctx); parent != "" {
		header["traceparent"] = parent
	}
	p := s.poster.Post(ctx, d.Endpoint.URL, header, body)
	if ctx.Err() != nil && p.Status == 0 { // broken off by us: the lease runs out, and the try did not count
		return nil
	}
	// What went out is written down even when ctx is over.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
	defer stop()
	next := after(d, p, at)
	s.meter.HookTried(hookOutcome(p, next), time.Since(began))
	if next.State != DeliveryDelivered {
		failed = fmt.Errorf("not delivered: status %d, %s", p.Status, p.Note)
	}
	if p.Status == 410 {
		e := d.Endpoint
		e.OffAt, e.OffWhy = at, "the endpoint answered 410 Gone"
		if err := s.store.ChangeEndpoint(ctx, e); err != nil && !errors.Is(err, ErrAbsent) {
			return err
		}
	}
	s.log.InfoContext(ctx, "webhook", "endpoint", d.Endpoint.ID, "event", d.Event.ID, "run", d.Event.RunID, "try", d.Tries+1, "status", p.Status, "state", next.State, "note", p.Note)
	err = s.store.Tried(ctx, d, Try{At: at, Status: p.Status, Note: p.Note, Took: time.Since(began)}, next)
	if errors.Is(err, ErrFenced) {
		return nil
	}
	return err
}

// after says what comes after a try. Only 2xx is a delivery; a redirect is not followed, for it may
// lead anywhere.
func after(d Delivery, p Posted, now time.Time) Delivery {
	next := d
	next.Tries++
	switch {
	case p.Status >= 200 && p.Status < 300:
		next.State, next.NextAt = DeliveryDelivered, now
		return next
	case p.Status == 410 || d.Tries >= len(schedule):
		next.State, next.NextAt = DeliveryFailed, now
		return next
	}
	wait := schedule[d.Tries]
	// Up to a tenth more, so that what failed together does not come back together.
	wait += time.Duration(mathrand.Int64N(int64(wait)/10 + 1))
	if p.Status == 429 || p.Status == 503 {
		wait = max(wait, min(p.RetryAfter, 24*time.Hour))
	}
	next.State, next.NextAt = DeliveryWaiting, now.Add(wait)
	return next
}

func (s *Service) ringHooks() {
	select {
	case s.hooked <- struct{}{}:
	default:
	}
}

// HooksRung is rung when this process has made something to deliver.
func (s *Service) HooksRung() <-chan struct{} { return s.hooked }
