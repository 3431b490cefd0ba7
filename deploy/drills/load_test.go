package drills

import (
	"flag"
	"fmt"
	"net/http"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

var (
	load      = flag.Bool("load", false, "measure the service under load")
	loadRuns  = flag.Int("load-runs", 400, "runs in each measurement of throughput")
	loadHands = flag.Int("load-clients", 16, "customers at once")
)

// Aims, from the figures that the service is to reach on two cores.
const (
	aimFreshPerCore = 60.0                  // fresh single-size runs a second and core of the worker
	aimAdmission    = 3.0                   // admission against a bare insert
	aimPreview      = 10 * time.Millisecond // p99
)

// table is what the measurement prints in the end.
type table struct{ rows [][4]string }

func (b *table) row(what, got, bare, note string) {
	b.rows = append(b.rows, [4]string{what, got, bare, note})
}

func (b *table) String() string {
	var s strings.Builder
	head := [4]string{"what", "measured", "bare", "note"}
	var w [4]int
	for _, r := range append([][4]string{head}, b.rows...) {
		for i, c := range r {
			w[i] = max(w[i], len([]rune(c)))
		}
	}
	line := func(r [4]string) {
		for i, c := range r {
			s.WriteString("| " + c + strings.Repeat(" ", w[i]-len([]rune(c))) + " ")
		}
		s.WriteString("|\n")
	}
	line(head)
	line([4]string{strings.Repeat("-", w[0]), strings.Repeat("-", w[1]), strings.Repeat("-", w[2]), strings.Repeat("-", w[3])})
	for _, r := range b.rows {
		line(r)
	}
	return s.String()
}

// TestLoad is no test of the gate: it prints figures, and they hold for a machine that does nothing else.
//
//	go test ./deploy/drills -run TestLoad -load -v
func TestLoad(t *testing.T) {
	if !*load {
		t.Skip("a measurement: -load")
	}
	p := newPlant(t, built(t), 1, "SIZERUN_CONCURRENCY=2", "SIZERUN_MAX_PENDING=100000")
	var keys []string
	for i := range 4 { // several shops: one alone may not have so many bodies in hand
		keys = append(keys, p.open(fmt.Sprint("Shop ", i+1)))
	}
	n := *loadRuns
	for i := range n + 50 { // designs that nobody has ordered yet
		p.must(keys[i%len(keys)], http.MethodPost, "/v1/styles", petal(t, fmt.Sprintf("fresh-%d", i), 30+float64(i)/20), 201)
	}
	var out table
	rate := func(what string, from, n int, body func(i int) []byte) (perSecond, perCore float64) {
		t.Helper()
		began, busy, api := time.Now(), p.workers[0].busy(t), p.apis[0].busy(t)
		took := p.orders(what, from, n, keys, body)
		wall, core := time.Since(began), p.workers[0].busy(t)-busy
		api = p.apis[0].busy(t) - api
		perSecond, perCore = float64(n)/wall.Seconds(), float64(n)/core.Seconds()
		t.Logf("%s: %d in %v, %.1f/s; the worker took %v, the API %v; order to done p50 %v, p99 %v", what, n, wall.Round(time.Millisecond), perSecond, core, api, at(took, 50), at(took, 99))
		return perSecond, perCore
	}
	one := func(style, stamp string) []byte {
		return fmt.Appendf(nil, `{"style":%q,"sizes":["14"],"outputs":[{"paper":"A4"}],"stamp":%q}`, style, stamp)
	}
	rate("warming up", n, 50, func(i int) []byte { return one(fmt.Sprintf("fresh-%d", i), "") })

	p.quiet(t)
	tasks := bareQueue(t, p.redis.URL(), 5*n)
	cached, _ := rate("cached design", 0, n, func(int) []byte { return one("wren-petal", "") })
	stamped, stampedCore := rate("cached design, another stamp", 0, n, func(i int) []byte { return one("wren-petal", fmt.Sprint("made for order ", i)) })
	fresh, freshCore := rate("fresh design", 0, n, func(i int) []byte { return one(fmt.Sprintf("fresh-%d", i), "") })
	out.row("runs a second, cached design", per(cached), per(tasks), fmt.Sprintf("bare asynq enqueue and process; 1 : %.1f", tasks/cached))
	out.row("runs a second, same design, another stamp", per(stamped), per(tasks), fmt.Sprintf("%.0f a second and core of worker", stampedCore))
	out.row("runs a second, fresh single size", per(fresh), per(tasks), fmt.Sprintf("%.0f a second and core of worker (aim %.0f)", freshCore, aimFreshPerCore))

	// Admission at 50 a second, whoever else is slow: each is counted from when it was due.
	inserted := bareInsert(t, p.database, 500, 50)
	var admitted []time.Duration
	bodies := make([][]byte, 500)
	for i := range bodies {
		bodies[i] = one("wren-petal", "")
	}
	admitted = paced(500, 50, func(i int) {
		a, err := p.send(t.Context(), keys[i%len(keys)], http.MethodPost, "/v1/runs", bodies[i], "Idempotency-Key", fmt.Sprint("paced-", i))
		if err != nil || a.status >= 300 {
			t.Errorf("admission %d: %d %s %v", i, a.status, a.body, err)
		}
	})
	ratio := func(q float64) string {
		return fmt.Sprintf("%.1f ×", float64(at(admitted, q))/float64(at(inserted, q)))
	}
	out.row("admission p50, 50 a second", ms(at(admitted, 50)), ms(at(inserted, 50)), ratio(50)+fmt.Sprintf(" a bare pgx insert (aim %.0f)", aimAdmission))
	out.row("admission p99, 50 a second", ms(at(admitted, 99)), ms(at(inserted, 99)), ratio(99)+" a bare pgx insert")
	p.quiet(t)

	// A slider that is dragged: one picture after the other, each of another style.
	var looked []time.Duration
	busy := p.apis[0].busy(t)
	for i := range 500 {
		body := fmt.Appendf(nil, `{"style":%s,"sizes":["14"]}`, petal(t, "wren-petal", 30+float64(i)/20))
		began := time.Now()
		a, err := p.send(t.Context(), keys[0], http.MethodPost, "/v1/previews", body)
		if err != nil || a.status != 200 {
			t.Fatalf("preview %d: %d %s %v", i, a.status, a.body, err)
		}
		looked = append(looked, time.Since(began))
	}
	busy = (p.apis[0].busy(t) - busy) / time.Duration(len(looked))
	out.row("preview p50", ms(at(looked, 50)), "", "one size, another parameter each time; "+ms(busy)+" of processor")
	out.row("preview p99", ms(at(looked, 99)), "", "aim "+ms(aimPreview))
	if !t.Failed() {
		others, _ := os.ReadFile("/proc/loadavg") // how quiet the machine was; not every system tells
		fmt.Printf("\n%s\n%d cores, load %s\n", &out, runtime.NumCPU(), strings.TrimSpace(string(others)))
	}
}

// orders sends n orders by the customers, each waiting for hers before she sends the next, and answers how long each took.
func (p *plant) orders(what string, from, n int, keys []string, body func(i int) []byte) []time.Duration {
	took := make([]time.Duration, n)
	var next atomic.Int64
	var hands sync.WaitGroup
	for range *loadHands {
		hands.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n {
					return
				}
				i := from + k
				began := time.Now()
				r, err := p.order(p.t.Context(), keys[i%len(keys)], strings.ReplaceAll(fmt.Sprint(what, "-", i), " ", "-"), body(i))
				if err != nil || r.State != "done" {
					p.t.Errorf("%s %d is %q: %v %+v", what, i, r.State, err, r.Problem)
				}
				took[k] = time.Since(began)
			}
		})
	}
	hands.Wait()
	slices.Sort(took)
	return took
}

// quiet waits until the workers have nothing left to do.
func (p *plant) quiet(t *testing.T) {
	t.Helper()
	last := time.Duration(-1)
	for range 100 {
		now := time.Duration(0)
		for _, w := range p.workers {
			now += w.busy(t)
		}
		if last >= 0 && now-last <= 20*time.Millisecond {
			return
		}
		last = now
		time.Sleep(500 * time.Millisecond)
	}
	t.Fatal("the workers find no end")
}

// paced calls f at a steady rate, however long each call takes, and answers how long after its due time each was over.
func paced(n, perSecond int, f func(i int)) []time.Duration {
	took := make([]time.Duration, n)
	began := time.Now()
	var all sync.WaitGroup
	for i := range n {
		due := began.Add(time.Duration(i) * time.Second / time.Duration(perSecond))
		time.Sleep(time.Until(due))
		all.Go(func() {
			f(i)
			took[i] = time.Since(due)
		})
	}
	all.Wait()
	slices.Sort(took)
	return took
}

// at is a percentile of sorted durations, or of those that are sorted here.
func at(ds []time.Duration, percent float64) time.Duration {
	s := slices.Clone(ds)
	slices.Sort(s)
	return s[min(len(s)-1, int(float64(len(s))*percent/100))]
}

func ms(d time.Duration) string { return fmt.Sprintf("%.2f ms", float64(d.Microseconds())/1000) }
func per(v float64) string      { return fmt.Sprintf("%.0f/s", v) }
