package meters

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"sizerun/internal/shop"
)

// Backlogs is asked for the backlog; *shop.Service is one.
type Backlogs interface {
	Backlog(ctx context.Context) (shop.Backlog, error)
}

// Tasks is asked what the queue holds, by its own names for the states; *queue.Queue is one.
type Tasks interface {
	Tasks(ctx context.Context) (map[string]int, error)
}

const (
	// askTime is how long the database or the queue has to answer.
	askTime = 3 * time.Second
	// goodFor is how long an answer is shown again: however often somebody looks, the database is asked
	// no more often than this.
	goodFor = 2 * time.Second
)

// Watch adds the backlog, and what the queue holds, to what is shown. Every process shows the same, so
// it takes the greatest and not the sum of them.
func (m *Meters) Watch(b Backlogs, q Tasks) {
	m.registry.MustRegister(&watcher{backlogs: b, tasks: q})
}

type watcher struct {
	backlogs Backlogs
	tasks    Tasks

	mu      sync.Mutex
	asked   time.Time
	backlog *shop.Backlog // nil: the database did not answer
	held    map[string]int
}

func gauge(name, help string, labels ...string) *prometheus.Desc {
	return prometheus.NewDesc("sizerun_"+name, help, labels, nil)
}

var (
	descUp       = gauge("up", "1 when it answered just now, 0 when not.", "what")
	descWaiting  = gauge("runs_waiting", "Runs that nobody is at.")
	descOldest   = gauge("oldest_waiting_seconds", "How long ago the oldest of them was ordered; 0 when there is none.")
	descMaking   = gauge("runs_making", "Runs that are being made.")
	descOutbox   = gauge("outbox_rows", "Runs that are not in the queue yet.")
	descHooks    = gauge("webhooks_due", "Webhooks whose time has come.")
	descHooksAge = gauge("oldest_webhook_due_seconds", "How long the oldest of them is due; 0 when there is none.")
	descTasks    = gauge("queue_tasks", "What the queue holds, by its states.", "state")
)

// Describe implements prometheus.Collector.
func (w *watcher) Describe(c chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descUp, descWaiting, descOldest, descMaking, descOutbox, descHooks, descHooksAge, descTasks} {
		c <- d
	}
}

// Collect implements prometheus.Collector. What does not answer is not shown: an old number would look
// like a true one.
func (w *watcher) Collect(c chan<- prometheus.Metric) {
	w.mu.Lock()
	defer w.mu.Unlock()
	now := time.Now()
	if now.Sub(w.asked) >= goodFor {
		w.ask()
		w.asked = now
	}
	put := func(d *prometheus.Desc, v float64, labels ...string) {
		c <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	age := func(t time.Time) float64 {
		if t.IsZero() {
			return 0
		}
		return max(0, now.Sub(t).Seconds())
	}
	up := map[bool]float64{true: 1}
	put(descUp, up[w.backlog != nil], "database")
	put(descUp, up[w.held != nil], "queue")
	if b := w.backlog; b != nil {
		put(descWaiting, float64(b.Waiting))
		put(descOldest, age(b.OldestWaiting))
		put(descMaking, float64(b.Making))
		put(descOutbox, float64(b.Outbox))
		put(descHooks, float64(b.HooksDue))
		put(descHooksAge, age(b.OldestHookDue))
	}
	for state, n := range w.held {
		put(descTasks, float64(n), state)
	}
}

func (w *watcher) ask() {
	ctx, stop := context.WithTimeout(context.Background(), askTime)
	defer stop()
	w.backlog, w.held = nil, nil
	var both sync.WaitGroup
	both.Go(func() {
		if b, err := w.backlogs.Backlog(ctx); err == nil {
			w.backlog = &b
		}
	})
	both.Go(func() {
		if h, err := w.tasks.Tasks(ctx); err == nil {
			w.held = h
		}
	})
	both.Wait()
}

// Handler answers GET /metrics.
func (m *Meters) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /metrics", promhttp.HandlerFor(m.registry, promhttp.HandlerOpts{MaxRequestsInFlight: 4, Timeout: 10 * time.Second, Registry: m.registry}))
	return mux
}

// Serve listens on addr and answers until ctx is over. It fails at once when the address can't be had.
func (m *Meters) Serve(ctx context.Context, addr string, log *slog.Logger) (wait func() error, err error) {
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	log.Info("metrics", "address", ln.Addr().String())
	s := &http.Server{Handler: m.Handler(), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 10 * time.Second, WriteTimeout: 20 * time.Second,
		IdleTimeout: time.Minute, MaxHeaderBytes: 16 << 10, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelDebug)}
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(ln) }()
	stop := context.AfterFunc(ctx, func() { _ = s.Close() }) // whoever is looking just then looks again
	return func() error {
		err := <-ended
		stop()
		if errors.Is(err, http.ErrServerClosed) {
			return nil
		}
		return err
	}, nil
}
