package traces_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	sdk "go.opentelemetry.io/otel/sdk/trace"
	"go.opentelemetry.io/otel/sdk/trace/tracetest"
	"go.opentelemetry.io/otel/trace"
	"go.opentelemetry.io/otel/trace/noop"

	"sizerun/api"
	"sizerun/internal/files"
	"sizerun/internal/hooks"
	"sizerun/internal/observe/traces"
	"sizerun/internal/queue"
	"sizerun/internal/queue/queuetest"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/testkit/shopkit"
	"sizerun/workers"
)

type edge struct{ *traces.Traces }

func (e edge) Asked(r *http.Request, route string) (context.Context, func(int)) {
	return e.Traces.Asked(r, route)
}

// The caller's trace, as W3C's recommendation has it.
const (
	traceID = "4bf92f3577b34da6a3ce929d0e0e4736"
	parent  = "00-" + traceID + "-00f067aa0ba902b7-01"
)

// maker has the register that the edge asks for.
type maker struct{ shopkit.Maker }

func (*maker) Changes() []byte { return []byte("[]") }

// house is an edge and a worker with nothing in common but the database, the files and the queue, and a
// doorbell that remembers what webhooks brought.
type house struct {
	t     *testing.T
	url   string
	key   string
	edge  *shop.Service
	queue *queue.Queue
	start func() // the worker
	mu    sync.Mutex
	rung  []http.Header
}

func open(t *testing.T, atEdge, atWorker trace.TracerProvider) *house {
	t.Helper()
	h := &house{t: t}
	dir := t.TempDir()
	disk, err := files.NewDisk(dir + "/files")
	h.ok(err)
	h.queue, err = queue.Embedded()
	h.ok(err)
	t.Cleanup(func() { _ = h.queue.Close() }) // the test is over
	guard, err := hooks.ReadGuard("127.0.0.1")
	h.ok(err)
	service := func(p trace.TracerProvider) *shop.Service {
		store, err := embedded.Open(t.Context(), dir)
		h.ok(err)
		t.Cleanup(func() { _ = store.Close() }) // the test is over
		return shop.New(shop.Deps{Store: store, Queue: h.queue, Files: disk, Maker: &maker{}, Poster: hooks.New(guard), Tracer: traces.New(p)})
	}
	h.edge = service(atEdge)
	worker := service(atWorker)
	a, err := api.New(api.Config{Watch: edge{traces.New(atEdge)}}, h.edge)
	h.ok(err)
	server := httptest.NewServer(a.Handler())
	t.Cleanup(server.Close)
	bell := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		h.mu.Lock()
		defer h.mu.Unlock()
		h.rung = append(h.rung, r.Header.Clone())
	}))
	t.Cleanup(bell.Close)
	h.url = server.URL
	h.key, err = h.edge.AddKey(t.Context(), "Rookery Lane Patterns")
	h.ok(err)
	h.post("/v1/blocks", shopkit.Block("plain"), "")
	h.post("/v1/styles", shopkit.Style("sleeve", "plain"), "")
	h.post("/v1/webhooks", []byte(`{"url":"`+bell.URL+`"}`), "")
	h.start = func() {
		working, stop := context.WithCancel(context.Background())
		var house sync.WaitGroup
		house.Go(func() {
			if err := workers.Run(working, h.queue.ConnOpt(), worker, workers.Options{RelayEvery: 5 * time.Millisecond, ReconcileEvery: 20 * time.Millisecond,
				HooksEvery: 5 * time.Millisecond, CheckQueue: 5 * time.Millisecond, Drain: time.Second}); err != nil {
				t.Error(err)
			}
		})
		t.Cleanup(func() { stop(); house.Wait() })
	}
	return h
}

func (h *house) ok(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) post(path string, body []byte, traceparent string) (id string) {
	h.t.Helper()
	q, err := http.NewRequestWithContext(h.t.Context(), http.MethodPost, h.url+path, bytes.NewReader(body))
	h.ok(err)
	q.Header.Set("Authorization", "Bearer "+h.key)
	q.Header.Set("Content-Type", "application/json")
	if traceparent != "" {
		q.Header.Set("traceparent", traceparent)
	}
	a, err := http.DefaultClient.Do(q)
	h.ok(err)
	defer a.Body.Close()
	raw, err := io.ReadAll(a.Body)
	h.ok(err)
	if a.StatusCode >= 300 {
		h.t.Fatalf("POST %s: %s %s", path, a.Status, raw)
	}
	var r struct{ ID string }
	h.ok(json.Unmarshal(raw, &r))
	return r.ID
}

// told waits until a webhook has come, and answers its headers.
func (h *house) told() http.Header {
	h.t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		h.mu.Lock()
		n := len(h.rung)
		h.mu.Unlock()
		if n > 0 {
			h.mu.Lock()
			defer h.mu.Unlock()
			return h.rung[0]
		}
	}
	h.t.Fatal("no webhook came")
	return nil
}

func recorded() (*tracetest.InMemoryExporter, *sdk.TracerProvider) {
	x := tracetest.NewInMemoryExporter()
	return x, sdk.NewTracerProvider(sdk.WithSyncer(x))
}

// named waits for a span.
func named(t *testing.T, x *tracetest.InMemoryExporter, name string) tracetest.SpanStub {
	t.Helper()
	var seen []string
	for end := time.Now().Add(10 * time.Second); time.Now().Before(end); time.Sleep(2 * time.Millisecond) {
		seen = nil
		for _, s := range x.GetSpans() {
			seen = append(seen, s.Name)
			if s.Name == name && s.SpanContext.TraceID().String() == traceID {
				return s
			}
		}
	}
	t.Fatalf("there is no span %q of the caller's trace: %q", name, seen)
	return tracetest.SpanStub{}
}

// One trace: the caller's own, from her request over the queue, which loses everything meanwhile, to the
// worker, its stages, and the webhook.
func TestATraceRunsFromTheRequestOverTheQueueToTheWebhook(t *testing.T) {
	t.Parallel()
	atEdge, p := recorded()
	atWorker, q := recorded()
	h := open(t, p, q)
	h.post("/v1/runs", []byte(`{"style":"sleeve"}`), parent)
	if n, err := h.edge.Relay(t.Context()); err != nil || n != 1 {
		t.Fatalf("%d relayed, %v", n, err)
	}
	queuetest.Flush(t, h.queue)
	h.start()
	told := h.told()

	asked := named(t, atEdge, "POST /v1/runs")
	run := named(t, atWorker, "run")
	stage := named(t, atWorker, "stage grade")
	kept := named(t, atWorker, "stage keeping")
	hook := named(t, atWorker, "webhook")
	if asked.Parent.SpanID().String() != "00f067aa0ba902b7" || asked.SpanKind != trace.SpanKindServer {
		t.Errorf("the request's span is %v under %s", asked.SpanKind, asked.Parent.SpanID())
	}
	for what, s := range map[string]tracetest.SpanStub{"run": run, "webhook": hook} {
		if s.Parent.SpanID() != asked.SpanContext.SpanID() || s.SpanKind != trace.SpanKindConsumer {
			t.Errorf("the %s's span is not the request's child", what)
		}
	}
	if stage.Parent.SpanID() != run.SpanContext.SpanID() || kept.Parent.SpanID() != run.SpanContext.SpanID() {
		t.Error("the stages' spans are not the run's children")
	}
	if want := "00-" + traceID + "-" + hook.SpanContext.SpanID().String() + "-01"; told.Get("traceparent") != want {
		t.Errorf("the webhook carries %q, not %q", told.Get("traceparent"), want)
	}
}

// A service that records nothing carries a caller's trace on all the same.
func TestWithoutAnExporterACallersTraceIsCarriedOn(t *testing.T) {
	t.Parallel()
	h := open(t, noop.NewTracerProvider(), noop.NewTracerProvider())
	h.start()
	h.post("/v1/runs", []byte(`{"style":"sleeve"}`), parent)
	if got := h.told().Get("traceparent"); got != parent {
		t.Errorf("the webhook carries %q", got)
	}
}

// What is no trace is passed over: it never hinders an order, and none is made up where nothing records.
func TestWhatIsNoTraceIsPassedOver(t *testing.T) {
	t.Parallel()
	h := open(t, noop.NewTracerProvider(), noop.NewTracerProvider())
	h.start()
	h.post("/v1/runs", []byte(`{"style":"sleeve"}`), "00-"+strings.Repeat("0", 32)+"-"+strings.Repeat("é", 2000))
	if got, there := h.told()["Traceparent"]; there {
		t.Errorf("the webhook carries %q", got)
	}
}

func TestNothingIsSentUnlessTheEnvironmentSaysWhere(t *testing.T) {
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", "")
	t.Setenv("OTEL_EXPORTER_OTLP_TRACES_ENDPOINT", "")
	tr, closing, err := traces.FromEnv(t.Context(), "v1")
	if err != nil {
		t.Fatal(err)
	}
	ctx, end := tr.Begin(t.Context(), "run", "")
	end(nil)
	if got := tr.Carried(ctx); got != "" {
		t.Errorf("a trace was made up: %s", got)
	}
	if err := closing(t.Context()); err != nil {
		t.Error(err)
	}

	var mu sync.Mutex
	sent := map[string]int{}
	collector := httptest.NewServer(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		b, _ := io.ReadAll(r.Body) // what is lacking shows below
		mu.Lock()
		defer mu.Unlock()
		if bytes.Contains(b, []byte("sizerun")) && bytes.Contains(b, []byte("run.id")) {
			sent[r.URL.Path]++
		}
	}))
	defer collector.Close()
	t.Setenv("OTEL_EXPORTER_OTLP_ENDPOINT", collector.URL)
	tr, closing, err = traces.FromEnv(t.Context(), "v1")
	if err != nil {
		t.Fatal(err)
	}
	_, end = tr.Begin(t.Context(), "run", parent, "run.id", "run_1")
	end(nil)
	if err := closing(t.Context()); err != nil {
		t.Error(err)
	}
	mu.Lock()
	defer mu.Unlock()
	if sent["/v1/traces"] != 1 {
		t.Errorf("the collector was sent %v", sent)
	}
}
