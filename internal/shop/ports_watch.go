package shop

import (
	"context"
	"encoding/json"
	"time"
)

// Watch is what an operator wants to know of the database. Nothing that the service does depends on it.
type Watch interface {
	// Backlog counts what is not done yet.
	Backlog(ctx context.Context, now time.Time) (Backlog, error)
	// RequestOf answers what Admission.Request was.
	RequestOf(ctx context.Context, shop ShopID, run string) ([]byte, error)
}

// Backlog is what is not done yet, all shops together.
type Backlog struct {
	Waiting       int       // runs that nobody is at
	OldestWaiting time.Time // when the oldest of them was ordered; zero when there is none
	Making        int       // runs under a live lease
	Outbox        int       // runs that are not in the queue yet
	HooksDue      int       // webhooks whose time has come
	OldestHookDue time.Time
}

// Meter is told what happens, for whoever counts it. Its methods return at once, and may be called by
// many goroutines. What it is told is of few kinds, whatever strangers send.
type Meter interface {
	// RunBegan tells of a run that a worker takes for the first time, and how long it has waited.
	RunBegan(waited time.Duration)
	// StageTook tells how long a stage of making took, whether it went well or not.
	StageTook(stage string, d time.Duration)
	// RunRetried tells of a try that was broken off and does not end the run.
	RunRetried()
	// RunOver tells of a run that has ended; problem is one of Problem…, or empty.
	RunOver(state, problem string)
	// FileDelivered tells of a file of a run that has ended.
	FileDelivered(paper string, pages int, bytes int64)
	// HookTried tells of a try to deliver a webhook.
	HookTried(outcome string, d time.Duration)
}

// How a try to deliver a webhook may end.
const (
	HookDelivered = "delivered"
	HookRefused   = "refused"   // an answer that is no 2xx; it is tried again
	HookNoAnswer  = "no_answer" // it is tried again
	HookGivenUp   = "given_up"  // the last try, or the endpoint is gone
)

// Tracer follows an order from the request to the last webhook. What it carries is a traceparent (W3C
// Trace Context): it is kept with the run, so that it outlives every process and every queue.
type Tracer interface {
	// Carried answers the trace that ctx belongs to, or empty.
	Carried(ctx context.Context) string
	// Begin begins a span: in the trace that was carried, or in ctx's own when carried is empty. end is
	// told what went wrong, if anything.
	Begin(ctx context.Context, name, carried string, about ...string) (_ context.Context, end func(error))
}

// Backlog counts what is not done yet.
func (s *Service) Backlog(ctx context.Context) (Backlog, error) { return s.store.Backlog(ctx, s.now()) }

// stage begins a stage of making; whoever calls what it answers ends it.
func (s *Service) stage(ctx context.Context, name string) func(error) {
	began := time.Now()
	_, end := s.tracer.Begin(ctx, "stage "+name, "")
	return func(err error) {
		s.meter.StageTook(name, time.Since(began))
		end(err)
	}
}

// carried is what is kept with a run besides the request itself. It has a member of its own in the
// stored request: a program that does not know it passes it over.
type carried struct {
	Traceparent string `json:"traceparent,omitempty"`
}

func traceOf(request []byte) string {
	var c carried
	if json.Unmarshal(request, &c) != nil || len(c.Traceparent) > 100 {
		return "" // a trace is never a reason to fail
	}
	return c.Traceparent
}

// hookOutcome is the kind of a try's end.
func hookOutcome(p Posted, next Delivery) string {
	switch {
	case next.State == DeliveryDelivered:
		return HookDelivered
	case next.State == DeliveryFailed:
		return HookGivenUp
	case p.Status == 0:
		return HookNoAnswer
	}
	return HookRefused
}

// unwatched is a Meter and a Tracer for those who have none.
type unwatched struct{}

func (unwatched) RunBegan(time.Duration)           {}
func (unwatched) StageTook(string, time.Duration)  {}
func (unwatched) RunRetried()                      {}
func (unwatched) RunOver(string, string)           {}
func (unwatched) FileDelivered(string, int, int64) {}
func (unwatched) HookTried(string, time.Duration)  {}
func (unwatched) Carried(context.Context) string   { return "" }
func (unwatched) Begin(ctx context.Context, _, _ string, _ ...string) (context.Context, func(error)) {
	return ctx, func(error) {}
}
