// Package traces follows an order through the service by OpenTelemetry: from the request, with the
// caller's own trace when it sends one (W3C Trace Context), to the worker that makes the run, its stages,
// and the webhooks that tell of it.
//
// Spans are sent to where OTEL_EXPORTER_OTLP_ENDPOINT says, by OTLP over HTTP; the other OTEL_… settings
// of the specification hold as well. Without an endpoint nothing is recorded nor sent, and a caller's
// trace is carried on all the same.
package traces

import (
	"context"
	"net/http"
	"os"

	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	"go.opentelemetry.io/otel/exporters/otlp/otlptrace/otlptracehttp"
	"go.opentelemetry.io/otel/propagation"
	"go.opentelemetry.io/otel/sdk/resource"
	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/trace"
	"go.opentelemetry.io/otel/trace/noop"

	"sizerun/internal/shop"
)

// Traces is a shop.Tracer.
type Traces struct{ tracer trace.Tracer }

var _ shop.Tracer = (*Traces)(nil)

// New follows orders with a provider's tracer.
func New(p trace.TracerProvider) *Traces { return &Traces{p.Tracer("sizerun")} }

// FromEnv sends spans to where the environment says. close sends what is left.
func FromEnv(ctx context.Context, version string) (t *Traces, closing func(context.Context) error, err error) {
	if os.Getenv("OTEL_EXPORTER_OTLP_ENDPOINT") == "" && os.Getenv("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT") == "" {
		return New(noop.NewTracerProvider()), func(context.Context) error { return nil }, nil
	}
	out, err := otlptracehttp.New(ctx)
	if err != nil {
		return nil, nil, err
	}
	// What the environment says of us comes last, and so has the last word.
	us, err := resource.New(ctx, resource.WithAttributes(attribute.String("service.name", "sizerun"), attribute.String("service.version", version)),
		resource.WithFromEnv())
	if err != nil {
		return nil, nil, err
	}
	p := sdk.NewTracerProvider(sdk.WithBatcher(out), sdk.WithResource(us))
	return New(p), p.Shutdown, nil
}

const parentHeader = "traceparent"

// Carried implements shop.Tracer.
func (t *Traces) Carried(ctx context.Context) string {
	c := propagation.MapCarrier{}
	propagation.TraceContext{}.Inject(ctx, c)
	return c.Get(parentHeader)
}

func resumed(ctx context.Context, parent string) context.Context {
	if parent == "" {
		return ctx
	}
	return propagation.TraceContext{}.Extract(ctx, propagation.MapCarrier{parentHeader: parent})
}

// Begin implements shop.Tracer.
func (t *Traces) Begin(ctx context.Context, name, carried string, about ...string) (context.Context, func(error)) {
	kind := trace.SpanKindInternal
	if carried != "" {
		kind = trace.SpanKindConsumer // it was ordered elsewhere, some time ago
	}
	ctx, span := t.tracer.Start(resumed(ctx, carried), name, trace.WithSpanKind(kind), trace.WithAttributes(pairs(about)...))
	return ctx, func(err error) {
		if err != nil {
			span.SetStatus(codes.Error, short(err.Error()))
		}
		span.End()
	}
}

// Asked begins the span of a request; what it answers is told the status.
func (t *Traces) Asked(r *http.Request, route string) (context.Context, func(status int)) {
	name := r.Method
	if route != "" {
		name += " " + route
	}
	ctx, span := t.tracer.Start(resumed(r.Context(), r.Header.Get(parentHeader)), short(name), trace.WithSpanKind(trace.SpanKindServer),
		trace.WithAttributes(attribute.String("http.request.method", short(r.Method)), attribute.String("http.route", route)))
	return ctx, func(status int) {
		span.SetAttributes(attribute.Int("http.response.status_code", status))
		if status >= 500 {
			span.SetStatus(codes.Error, "")
		}
		span.End()
	}
}

func pairs(about []string) []attribute.KeyValue {
	var out []attribute.KeyValue
	for i := 0; i+1 < len(about); i += 2 {
		out = append(out, attribute.String(about[i], about[i+1]))
	}
	return out
}

// short bounds what a stranger, or a panic's stack, can put into a span.
func short(s string) string { return s[:min(len(s), 500)] }
