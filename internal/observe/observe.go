// Package observe is how the service tells its operator what it does: its log here, its numbers in
// meters, the way of an order in traces.
//
// Whoever handles a request or a run puts its id into the context; every line that is logged with
// that context carries it, so that one grep follows an order from the request to its files.
package observe

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"os"
	"strings"

	"go.opentelemetry.io/otel/trace"
)

// NewLogger makes a logger of the format "text" or "json". A line of either stays one line,
// whatever a stranger put into a name.
func NewLogger(w io.Writer, format string, level slog.Leveler) *slog.Logger {
	o := &slog.HandlerOptions{Level: level}
	if format == "json" {
		return slog.New(Handler(slog.NewJSONHandler(w, o)))
	}
	return slog.New(Handler(slog.NewTextHandler(w, o)))
}

type key int

const (
	requestKey key = iota
	runKey
)

// WithRequest puts a request's id into the context.
func WithRequest(ctx context.Context, id string) context.Context {
	return context.WithValue(ctx, requestKey, id)
}

// RequestID is the id of the request that the context belongs to, or empty.
func RequestID(ctx context.Context) string {
	id, _ := ctx.Value(requestKey).(string)
	return id
}

// WithRun puts a run's id into the context.
func WithRun(ctx context.Context, id string) context.Context {
	return context.WithValue(ctx, runKey, id)
}

// RunID is the id of the run that the context belongs to, or empty.
func RunID(ctx context.Context) string {
	id, _ := ctx.Value(runKey).(string)
	return id
}

// Handler adds the context's ids to what goes to h: request_id, run_id and trace_id.
func Handler(h slog.Handler) slog.Handler { return handler{h} }

type handler struct{ slog.Handler }

func (h handler) Handle(ctx context.Context, r slog.Record) error {
	if id := RequestID(ctx); id != "" {
		r = r.Clone()
		r.AddAttrs(slog.String("request_id", id))
	}
	if span := trace.SpanContextFromContext(ctx); span.HasTraceID() {
		r = r.Clone()
		r.AddAttrs(slog.String("trace_id", span.TraceID().String()))
	}
	if id := RunID(ctx); id != "" {
		r = r.Clone()
		r.AddAttrs(slog.String("run_id", id))
	}
	return h.Handler.Handle(ctx, r)
}

func (h handler) WithAttrs(as []slog.Attr) slog.Handler { return handler{h.Handler.WithAttrs(as)} }
func (h handler) WithGroup(name string) slog.Handler    { return handler{h.Handler.WithGroup(name)} }

// Asynq is a logger in the shape that asynq asks for. Its chatter about starting and stopping goes
// to debug.
type Asynq struct{ Log *slog.Logger }

// Debug implements asynq.Logger.
func (a Asynq) Debug(args ...any) { a.Log.Debug(line(args)) }

// Info implements asynq.Logger.
func (a Asynq) Info(args ...any) { a.Log.Debug(line(args)) }

// Warn implements asynq.Logger.
func (a Asynq) Warn(args ...any) { a.Log.Warn(line(args)) }

// Error implements asynq.Logger.
func (a Asynq) Error(args ...any) { a.Log.Error(line(args)) }

// Fatal implements asynq.Logger: asynq says it when it can't go on, and expects not to return.
func (a Asynq) Fatal(args ...any) {
	a.Log.Error(line(args), "fatal", true)
	os.Exit(1)
}

func line(args []any) string { return "asynq: " + strings.TrimSpace(fmt.Sprint(args...)) }
