// Package meters counts what the service does, and shows it to a Prometheus on a port of its own.
//
//	New       the counters; they implement shop.Meter and count the edge's answers
//	Watch     what is asked when somebody looks: the backlog in the database, the queue
//	Serve     GET /metrics
//
// Whatever a stranger sends, there are no more series than the program has routes, states and papers:
// every label's values are counted, and those beyond a bound become "other". A shop's name or id is in no
// label; the log has them.
package meters

import (
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"sizerun/internal/shop"
)

// Meters is a shop.Meter.
type Meters struct {
	registry *prometheus.Registry

	runs, hooks, answers, files, bytes, pages *prometheus.CounterVec
	stage, hookTime, answerTime               *prometheus.HistogramVec
	wait                                      prometheus.Histogram
	retries                                   prometheus.Counter

	routes, papers, stages, problems bounded
}

var _ shop.Meter = (*Meters)(nil)

// The buckets, in seconds: a single size takes some ten milliseconds, a run of many sizes on many papers
// seconds, and the longest a run may take is an hour.
var (
	workBuckets   = []float64{.005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30, 60, 300}
	waitBuckets   = []float64{.1, .25, .5, 1, 2.5, 5, 10, 30, 60, 300, 900, 3600, 21600}
	answerBuckets = []float64{.001, .0025, .005, .01, .025, .05, .1, .25, .5, 1, 2.5, 5, 10, 30}
)

// New makes the counters. version is the build's, engine the maker's.
func New(version, engine string) *Meters {
	m := &Meters{registry: prometheus.NewRegistry()}
	counter := func(name, help string, labels ...string) *prometheus.CounterVec {
		c := prometheus.NewCounterVec(prometheus.CounterOpts{Name: "sizerun_" + name, Help: help}, labels)
		m.registry.MustRegister(c)
		return c
	}
	spread := func(name, help string, buckets []float64, labels ...string) *prometheus.HistogramVec {
		h := prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "sizerun_" + name, Help: help, Buckets: buckets}, labels)
		m.registry.MustRegister(h)
		return h
	}
	m.runs = counter("runs_total", "Runs that have ended, by how; problem is empty when there was none.", "state", "problem")
	m.retries = counter("run_retries_total", "Tries that were broken off and did not end their run.").WithLabelValues()
	m.hooks = counter("webhook_tries_total", "Tries to deliver a webhook, by how they ended.", "outcome")
	m.answers = counter("http_requests_total", "Answers, by the route's pattern, the method and the status.", "route", "method", "status")
	m.files = counter("files_total", "Files of runs that have ended; paper is empty for what is no paper.", "paper")
	m.bytes = counter("file_bytes_total", "Bytes of these files.", "paper")
	m.pages = counter("file_pages_total", "Pages of these files.", "paper")
	m.stage = spread("run_stage_seconds", "How long a stage of making a run took.", workBuckets, "stage")
	m.wait = prometheus.NewHistogram(prometheus.HistogramOpts{Name: "sizerun_run_wait_seconds", Help: "How long runs waited until a worker first took them.", Buckets: waitBuckets})
	m.hookTime = spread("webhook_seconds", "How long an endpoint took to answer.", answerBuckets, "outcome")
	m.answerTime = spread("http_seconds", "How long an answer took, the time that the caller asked to wait included.", answerBuckets, "route", "method")
	m.routes.most, m.papers.most, m.stages.most, m.problems.most = 200, 32, 32, 32
	build := prometheus.NewGaugeVec(prometheus.GaugeOpts{Name: "sizerun_build_info", Help: "1, with the versions."}, []string{"version", "engine"})
	build.WithLabelValues(version, engine).Set(1)
	m.registry.MustRegister(m.wait, build, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	// What an alert looks at is there from the beginning: a rate needs a nought to rise from.
	for _, s := range []string{shop.StateDone, shop.StateFailed, shop.StateCancelled} {
		m.runs.WithLabelValues(s, "")
	}
	for _, p := range []string{shop.ProblemChecks, shop.ProblemRefused, shop.ProblemTimeout, shop.ProblemGaveUp} {
		m.runs.WithLabelValues(shop.StateFailed, p)
	}
	for _, o := range []string{shop.HookDelivered, shop.HookRefused, shop.HookNoAnswer, shop.HookGivenUp} {
		m.hooks.WithLabelValues(o)
	}
	return m
}

// bounded keeps a label to few values. The first ones that come are kept: they are the program's own.
type bounded struct {
	most int
	mu   sync.Mutex
	seen map[string]bool
}

const other = "other"

func (b *bounded) value(v string) string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.seen[v] {
		return v
	}
	if len(b.seen) >= b.most || len(v) > 100 {
		return other
	}
	if b.seen == nil {
		b.seen = map[string]bool{}
	}
	b.seen[v] = true
	return v
}

// RunBegan implements shop.Meter.
func (m *Meters) RunBegan(waited time.Duration) { m.wait.Observe(max(0, waited.Seconds())) }

// StageTook implements shop.Meter.
func (m *Meters) StageTook(stage string, d time.Duration) {
	m.stage.WithLabelValues(m.stages.value(stage)).Observe(d.Seconds())
}

// RunRetried implements shop.Meter.
func (m *Meters) RunRetried() { m.retries.Inc() }

// RunOver implements shop.Meter.
func (m *Meters) RunOver(state, problem string) {
	m.runs.WithLabelValues(m.problems.value(state), m.problems.value(problem)).Inc()
}

// FileDelivered implements shop.Meter.
func (m *Meters) FileDelivered(paper string, pages int, bytes int64) {
	p := m.papers.value(paper)
	m.files.WithLabelValues(p).Inc()
	m.bytes.WithLabelValues(p).Add(float64(bytes))
	m.pages.WithLabelValues(p).Add(float64(pages))
}

// HookTried implements shop.Meter.
func (m *Meters) HookTried(outcome string, d time.Duration) {
	m.hooks.WithLabelValues(outcome).Inc()
	m.hookTime.WithLabelValues(outcome).Observe(d.Seconds())
}

var methods = map[string]bool{"GET": true, "HEAD": true, "POST": true, "PUT": true, "PATCH": true, "DELETE": true, "OPTIONS": true}

// Answered counts an answer of the edge. route is the pattern that the request fitted, empty when none.
func (m *Meters) Answered(route, method string, status int, took time.Duration) {
	if route == "" {
		route = "none"
	}
	if !methods[method] {
		method = other
	}
	r := m.routes.value(route)
	m.answers.WithLabelValues(r, method, statusText(status)).Inc()
	m.answerTime.WithLabelValues(r, method).Observe(took.Seconds())
}

func statusText(s int) string {
	if s < 100 || s > 599 {
		return other
	}
	return string([]byte{'0' + byte(s/100), '0' + byte(s/10%10), '0' + byte(s%10)})
}
