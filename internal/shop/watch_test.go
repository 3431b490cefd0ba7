package shop_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"sizerun/internal/shop"
)

// tally remembers what a Meter is told.
type tally struct {
	mu     sync.Mutex
	said   []string
	waited []time.Duration
}

func (m *tally) say(format string, args ...any) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.said = append(m.said, fmt.Sprintf(format, args...))
}

func (m *tally) RunBegan(d time.Duration) {
	m.say("began")
	m.mu.Lock()
	defer m.mu.Unlock()
	m.waited = append(m.waited, d)
}
func (m *tally) StageTook(stage string, _ time.Duration) { m.say("stage %s", stage) }
func (m *tally) RunRetried()                             { m.say("retried") }
func (m *tally) RunOver(state, problem string)           { m.say("over %s %s", state, problem) }
func (m *tally) FileDelivered(paper string, pages int, bytes int64) {
	m.say("file %q %d %t", paper, pages, bytes > 0)
}
func (m *tally) HookTried(outcome string, _ time.Duration) { m.say("hook %s", outcome) }

// told answers what was said since it was asked last.
func (m *tally) told() []string {
	m.mu.Lock()
	defer m.mu.Unlock()
	said := m.said
	m.said = nil
	return said
}

func metered(t *testing.T, more func(*shop.Deps)) (*house, *tally) {
	m := &tally{}
	return open(t, func(d *shop.Deps) {
		if d.Meter = m; more != nil {
			more(d)
		}
	}), m
}

func same(t *testing.T, what string, got []string, want ...string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("%s is told as %q, not %q", what, got, want)
	}
}

func TestAMeterIsToldOfEveryRunOnce(t *testing.T) {
	h, m := metered(t, nil)
	r := h.order(plain)
	h.clock.Pass(time.Minute)
	h.work()
	h.state(r.ID, shop.StateDone)
	same(t, "a run", m.told(), "began", "stage grade", "stage keeping", "over done ", `file "A4" 3 true`, `file "A0" 3 true`, `file "" 0 true`)
	if d := m.waited[0]; d < time.Minute || d > time.Minute+time.Second {
		t.Errorf("it has waited %v", d)
	}
	h.ok(h.Perform(h.ctx, r.ID)) // told twice by the queue
	same(t, "a run that is over", m.told())

	// Broken off twice, and then whole: it began once.
	n := 0
	h.maker.Before = func(context.Context, shop.Making) error {
		if n++; n < 3 {
			return errors.New("disk full")
		}
		return nil
	}
	r = h.order(`{"style": "sleeve", "stamp": "order 2"}`)
	for range 3 {
		h.work()
		h.clock.Pass(time.Hour)
	}
	h.state(r.ID, shop.StateDone)
	same(t, "a run that broke off", m.told(), "began", "retried", "retried", "stage grade", "stage keeping", "over done ", `file "A4" 3 true`, `file "" 0 true`)

	h.maker.FailChecks.Store(true)
	h.order(`{"style": "sleeve", "stamp": "order 3"}`)
	h.work()
	same(t, "a run that would not sew", m.told(), "began", "stage grade", "stage keeping", "over failed checks_failed", `file "" 0 true`)
}

func TestACancelIsCountedOnce(t *testing.T) {
	h, m := metered(t, nil)
	r := h.order(plain)
	for range 3 {
		_, err := h.CancelRun(h.ctx, h.shop, r.ID)
		h.ok(err)
	}
	h.work()
	same(t, "a cancelled run", m.told(), "over cancelled ")
}

func TestWebhooksAreCountedByHowTheyEnd(t *testing.T) {
	d := &door{answers: []shop.Posted{{Status: 500}, {}, {Status: 302}, {Status: 200}}}
	h, m := metered(t, func(deps *shop.Deps) { deps.Poster = d })
	d.clock = h.clock.Now
	e, _, err := h.AddEndpoint(h.ctx, h.shop, []byte(`{"url":"https://shop.example/hooks"}`))
	h.ok(err)
	_, err = h.TestEndpoint(h.ctx, h.shop, e.ID)
	h.ok(err)
	h.drive(e)
	same(t, "a webhook", m.told(), "hook refused", "hook no_answer", "hook refused", "hook delivered")
	d.answers = []shop.Posted{{Status: 410}}
	_, err = h.TestEndpoint(h.ctx, h.shop, e.ID)
	h.ok(err)
	h.drive(e)
	same(t, "a webhook to an endpoint that is gone", m.told(), "hook given_up")
}
