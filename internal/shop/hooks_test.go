package shop_test

import (
	"context"
	"encoding/base64"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// The vector of the Standard Webhooks specification 1.0.0 and its libraries.
func TestASignatureIsTheSpecificationsOwn(t *testing.T) {
	secret, err := base64.StdEncoding.DecodeString("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
	if err != nil {
		t.Fatal(err)
	}
	const want = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
	at := time.Unix(1614265330, 0)
	if got := shop.SignHook("msg_p5jXN8AQM9LWM0D4loKWxJek", at, []byte(`{"test": 2432232314}`), secret); got != want {
		t.Errorf("%s, want %s", got, want)
	}
	both := shop.SignHook("msg_p5jXN8AQM9LWM0D4loKWxJek", at, []byte(`{"test": 2432232314}`), []byte("newer"), secret)
	if parts := strings.Split(both, " "); len(parts) != 2 || parts[1] != want {
		t.Errorf("with two secrets: %s", both)
	}
}

func TestASecretIsOfTheSpecifiedLength(t *testing.T) {
	raw, text := shop.NewHookSecret()
	b, err := base64.StdEncoding.DecodeString(strings.TrimPrefix(text, "whsec_"))
	if err != nil || !slices.Equal(b, raw) || len(raw) < 24 || len(raw) > 64 {
		t.Errorf("%s: %d bytes, %v", text, len(raw), err)
	}
}

// door is an endpoint that answers as it is told.
type door struct {
	mu      sync.Mutex
	answers []shop.Posted
	at      []string // the webhook-timestamps
	clock   func() time.Time
	tries   []time.Time
}

func (d *door) Allowed(string) error { return nil }

func (d *door) Post(_ context.Context, _ string, header map[string]string, _ []byte) shop.Posted {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.at, d.tries = append(d.at, header["webhook-timestamp"]), append(d.tries, d.clock())
	if len(d.answers) == 0 {
		return shop.Posted{}
	}
	a := d.answers[0]
	if len(d.answers) > 1 {
		d.answers = d.answers[1:]
	}
	return a
}

// toldAt opens a house with one endpoint and one event for it.
func toldAt(t *testing.T, answers ...shop.Posted) (*house, *door, shop.Endpoint, shop.Event) {
	t.Helper()
	d := &door{answers: answers}
	h := open(t, func(deps *shop.Deps) { deps.Poster = d })
	d.clock = h.clock.Now
	e, _, err := h.AddEndpoint(h.ctx, h.shop, []byte(`{"url":"https://shop.example/hooks"}`))
	h.ok(err)
	ev, err := h.TestEndpoint(h.ctx, h.shop, e.ID)
	h.ok(err)
	return h, d, e, ev
}

// drive lets time pass until nothing waits any more.
func (h *house) drive(e shop.Endpoint) shop.Delivery {
	h.Helper()
	for range 100_000 {
		_, err := h.Deliver(h.ctx)
		h.ok(err)
		ds, _, err := h.Deliveries(h.ctx, h.shop, e.ID, "", 1)
		h.ok(err)
		if ds[0].State != shop.DeliveryWaiting {
			return ds[0]
		}
		h.clock.Pass(max(time.Second, ds[0].NextAt.Sub(h.clock.Now())))
	}
	h.Fatal("it waits for ever")
	return shop.Delivery{}
}

// Ten tries over three days, each a little later than the schedule so that what failed together does not
// come back together; then it has failed, and can be replayed.
func TestADeadEndpointIsTriedTenTimesOverThreeDays(t *testing.T) {
	h, d, e, ev := toldAt(t, shop.Posted{Status: 500})
	if got := h.drive(e); got.State != shop.DeliveryFailed || got.Tries != 10 || len(got.Log) != 10 {
		t.Errorf("%+v", got)
	}
	want := []time.Duration{5 * time.Second, 5 * time.Minute, 30 * time.Minute, 2 * time.Hour, 5 * time.Hour, 10 * time.Hour, 14 * time.Hour, 20 * time.Hour, 24 * time.Hour}
	for i, w := range want {
		if got := d.tries[i+1].Sub(d.tries[i]); got < w || got > w+w/10+3*time.Second {
			t.Errorf("try %d came after %v, the schedule has %v", i+2, got, w)
		}
	}
	if slices.Compare(d.at, slices.Sorted(slices.Values(d.at))) != 0 || d.at[0] == d.at[9] {
		t.Errorf("the timestamps are %v", d.at)
	}
	d.answers = []shop.Posted{{Status: 200}}
	h.ok(h.ReplayDelivery(h.ctx, h.shop, e.ID, ev.ID))
	if got := h.drive(e); got.State != shop.DeliveryDelivered || len(got.Log) != 11 {
		t.Errorf("after a replay: %+v", got)
	}
	if got, err := h.Endpoint(h.ctx, h.shop, e.ID); err != nil || !got.OffAt.IsZero() {
		t.Errorf("it was switched off: %+v, %v", got, err)
	}
}

func TestWhatAnEndpointAnswersDecides(t *testing.T) {
	for _, c := range []struct {
		answer shop.Posted
		state  string
		tries  int
		wait   time.Duration // before the second try
	}{
		{shop.Posted{Status: 200}, shop.DeliveryDelivered, 1, 0},
		{shop.Posted{Status: 299}, shop.DeliveryDelivered, 1, 0},
		{shop.Posted{Status: 410}, shop.DeliveryFailed, 1, 0},
		{shop.Posted{Status: 301}, shop.DeliveryFailed, 10, 5 * time.Second},
		{shop.Posted{Status: 0, Note: "no answer"}, shop.DeliveryFailed, 10, 5 * time.Second},
		{shop.Posted{Status: 429, RetryAfter: time.Hour}, shop.DeliveryFailed, 10, time.Hour},
		{shop.Posted{Status: 503, RetryAfter: 1000 * time.Hour}, shop.DeliveryFailed, 10, 24 * time.Hour},
		{shop.Posted{Status: 500, RetryAfter: time.Hour}, shop.DeliveryFailed, 10, 5 * time.Second},
	} {
		t.Run(fmt.Sprint(c.answer.Status, c.answer.RetryAfter), func(t *testing.T) {
			h, d, e, _ := toldAt(t, c.answer)
			if got := h.drive(e); got.State != c.state || got.Tries != c.tries {
				t.Errorf("%s after %d tries", got.State, got.Tries)
			}
			if len(d.tries) > 1 {
				if got := d.tries[1].Sub(d.tries[0]); got < c.wait || got > c.wait+c.wait/10+3*time.Second {
					t.Errorf("the second try came after %v", got)
				}
			}
			got, err := h.Endpoint(h.ctx, h.shop, e.ID)
			h.ok(err)
			if off := !got.OffAt.IsZero(); off != (c.answer.Status == 410) {
				t.Errorf("switched off: %v %s", off, got.OffWhy)
			}
		})
	}
}

// A deliverer that is stopped in mid-try leaves the delivery to whoever comes next, and no try is counted.
func TestATryThatWeBreakOffDoesNotCount(t *testing.T) {
	h, d, e, _ := toldAt(t, shop.Posted{Note: "broken off"}, shop.Posted{Status: 204})
	gone, stop := context.WithCancel(h.ctx)
	d.clock = func() time.Time { stop(); return h.clock.Now() }
	if _, err := h.Deliver(gone); err != nil {
		t.Fatal(err)
	}
	h.clock.Pass(2 * time.Minute)
	d.clock = h.clock.Now
	if got := h.drive(e); got.State != shop.DeliveryDelivered || len(got.Log) != 1 {
		t.Errorf("%+v", got)
	}
}

func TestOldEventsAreSwept(t *testing.T) {
	h, _, e, _ := toldAt(t, shop.Posted{Status: 204})
	h.drive(e)
	h.clock.Pass(shop.EventsKept + time.Hour)
	if _, err := h.Sweep(h.ctx); err != nil {
		t.Fatal(err)
	}
	if ds, _, err := h.Deliveries(h.ctx, h.shop, e.ID, "", 10); err != nil || len(ds) != 0 {
		t.Errorf("%d are left, %v", len(ds), err)
	}
}
