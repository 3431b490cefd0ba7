package meters_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/internal/observe/meters"
	"sizerun/internal/shop"
)

type database struct {
	b     shop.Backlog
	err   error
	asked atomic.Int64
}

func (d *database) Backlog(context.Context) (shop.Backlog, error) {
	d.asked.Add(1)
	return d.b, d.err
}

type tasks struct {
	held map[string]int
	err  error
}

func (q tasks) Tasks(context.Context) (map[string]int, error) { return q.held, q.err }

// seen is what a Prometheus gets.
func seen(t *testing.T, m *meters.Meters) string {
	t.Helper()
	w := httptest.NewRecorder()
	m.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, "/metrics", nil))
	if w.Code != http.StatusOK {
		t.Fatalf("%d: %s", w.Code, w.Body)
	}
	return w.Body.String()
}

func has(t *testing.T, text string, lines ...string) {
	t.Helper()
	for _, l := range lines {
		if !strings.Contains(text, "\n"+l+"\n") {
			name, _, _ := strings.Cut(l, "{")
			t.Errorf("no line %s; of its name there are\n%s", l, strings.Join(regexp.MustCompile(`(?m)^`+name+`.*$`).FindAllString(text, 20), "\n"))
		}
	}
}

func TestWhatHappensIsCounted(t *testing.T) {
	m := meters.New("v1", "engine-1")
	m.RunBegan(3 * time.Second)
	m.RunBegan(-time.Second) // another machine's clock
	m.StageTook("grading", 20*time.Millisecond)
	m.RunRetried()
	m.RunOver(shop.StateDone, "")
	m.RunOver(shop.StateFailed, shop.ProblemChecks)
	m.FileDelivered("A4", 12, 1000)
	m.FileDelivered("A4", 2, 500)
	m.HookTried(shop.HookDelivered, time.Millisecond)
	m.Answered("/v1/runs/:id", "GET", 200, time.Millisecond)
	has(t, seen(t, m),
		`sizerun_runs_total{problem="",state="done"} 1`, `sizerun_runs_total{problem="checks_failed",state="failed"} 1`, `sizerun_runs_total{problem="gave_up",state="failed"} 0`,
		`sizerun_run_retries_total 1`, `sizerun_run_wait_seconds_count 2`, `sizerun_run_wait_seconds_sum 3`,
		`sizerun_run_stage_seconds_bucket{stage="grading",le="0.025"} 1`, `sizerun_run_stage_seconds_bucket{stage="grading",le="0.01"} 0`,
		`sizerun_files_total{paper="A4"} 2`, `sizerun_file_bytes_total{paper="A4"} 1500`, `sizerun_file_pages_total{paper="A4"} 14`,
		`sizerun_webhook_tries_total{outcome="delivered"} 1`, `sizerun_webhook_tries_total{outcome="given_up"} 0`,
		`sizerun_http_requests_total{method="GET",route="/v1/runs/:id",status="200"} 1`, `sizerun_build_info{engine="engine-1",version="v1"} 1`)
	if !strings.Contains(seen(t, m), "\ngo_goroutines ") {
		t.Error("the runtime is not shown")
	}
}

// Ten thousand strangers make no more series than a few.
func TestStrangersMakeNoSeries(t *testing.T) {
	m := meters.New("v1", "e")
	before := strings.Count(seen(t, m), "\n")
	for i := range 10_000 {
		s := fmt.Sprint(i)
		m.Answered("/v1/"+s, "BREW"+s, 100000+i, time.Millisecond)
		m.FileDelivered(s, 1, 1)
		m.StageTook(s, time.Millisecond)
		m.RunOver(s, s)
	}
	text := seen(t, m)
	has(t, text, `sizerun_http_requests_total{method="other",route="other",status="other"} 9800`)
	if n := strings.Count(text, "\n") - before; n > 201*20+33*20+33*3+33*33 {
		t.Errorf("%d more lines", n)
	}
}

func TestTheBacklogIsAskedForWhenSomebodyLooks(t *testing.T) {
	m := meters.New("v1", "e")
	d := &database{b: shop.Backlog{Waiting: 7, OldestWaiting: time.Now().Add(-time.Hour), Making: 2, Outbox: 5, HooksDue: 3, OldestHookDue: time.Now().Add(-time.Minute)}}
	m.Watch(d, tasks{held: map[string]int{"pending": 4}})
	text := seen(t, m)
	has(t, text, `sizerun_runs_waiting 7`, `sizerun_runs_making 2`, `sizerun_outbox_rows 5`, `sizerun_webhooks_due 3`,
		`sizerun_queue_tasks{state="pending"} 4`, `sizerun_up{what="database"} 1`, `sizerun_up{what="queue"} 1`)
	var age, hookAge float64
	_, after, _ := strings.Cut(text, "\nsizerun_oldest_waiting_seconds ")
	_, hooks, _ := strings.Cut(text, "\nsizerun_oldest_webhook_due_seconds ")
	if _, err := fmt.Sscan(after, &age); err != nil || age < 3600 || age > 3660 {
		t.Errorf("the oldest waits %g s, %v", age, err)
	}
	if _, err := fmt.Sscan(hooks, &hookAge); err != nil || hookAge < 60 || hookAge > 120 {
		t.Errorf("the oldest webhook is due %g s, %v", hookAge, err)
	}
	for range 50 {
		seen(t, m)
	}
	if n := d.asked.Load(); n > 2 {
		t.Errorf("the database was asked %d times", n)
	}
}

func TestWhatDoesNotAnswerIsNotShown(t *testing.T) {
	m := meters.New("v1", "e")
	m.Watch(&database{b: shop.Backlog{Waiting: 7}, err: errors.New("away")}, tasks{err: errors.New("away")})
	text := seen(t, m)
	has(t, text, `sizerun_up{what="database"} 0`, `sizerun_up{what="queue"} 0`)
	for _, name := range []string{"sizerun_runs_waiting ", "sizerun_oldest_waiting_seconds ", "sizerun_queue_tasks{"} {
		if strings.Contains(text, "\n"+name) {
			t.Errorf("%s is shown", name)
		}
	}
}

func TestItServesOnAPortOfItsOwnUntilItIsToldToStop(t *testing.T) {
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	addr := ln.Addr().String()
	m := meters.New("v1", "e")
	log := slog.New(slog.DiscardHandler)
	if _, err := m.Serve(t.Context(), addr, log); err == nil {
		t.Error("it has an address that is taken")
	}
	ln.Close()
	ctx, stop := context.WithCancel(t.Context())
	wait, err := m.Serve(ctx, addr, log)
	if err != nil {
		t.Fatal(err)
	}
	for path, want := range map[string]int{"/metrics": 200, "/": 404, "/debug/pprof/": 404} {
		a, err := http.Get("http://" + addr + path)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, a.Body); err != nil || a.StatusCode != want {
			t.Errorf("%s: %s, %v", path, a.Status, err)
		}
		a.Body.Close()
	}
	stop()
	if err := wait(); err != nil {
		t.Error(err)
	}
}
