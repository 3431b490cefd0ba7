package drills

import (
	"encoding/json"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"sizerun/internal/testkit"
)

var (
	soakRuns = flag.Int("soak", 150, "mixed runs in the soak")
	raced    = flag.Bool("raced", false, "soak a binary built with the race detector")
)

// A process that has made thousands of orders holds no more than one that has made a few: of goroutines, open files,
// temporary files and memory. All that storefronts do is mixed, what is refused, cancelled and broken off included.
//
//	go test ./deploy/drills -run Soak -v -timeout 1h -soak 2000
//	go test ./deploy/drills -run Soak -v -timeout 1h -raced
func TestASoakLeavesEverythingFlat(t *testing.T) {
	if testing.Short() {
		t.Skip("half a minute of orders")
	}
	bin, races := "", filepath.Join(t.TempDir(), "race")
	if *raced {
		bin = builtRaced(t)
	} else {
		bin = built(t)
	}
	p := newPlant(t, bin, 2, "SIZERUN_CONCURRENCY=4", "SIZERUN_MAX_PENDING=100000", "GORACE=log_path="+races)
	bell := newDoorbell(t)
	var keys []string
	for i := range 2 {
		key := p.open(fmt.Sprint("Shop ", i+1))
		p.must(key, http.MethodPost, "/v1/webhooks", fmt.Appendf(nil, `{"url":%q}`, bell.URL), 201)
		keys = append(keys, key)
	}
	// As much to begin with as fills caches and pools.
	warm := max(*soakRuns/3, 60)
	p.soak(t, 0, warm, keys)
	before := p.settled(t)
	p.soak(t, warm, *soakRuns, keys)
	after := p.settled(t)
	for i, s := range p.all() {
		t.Logf("%s after %4d: %v\n%s after %4d: %v", s.name, warm, before[i], s.name, warm+*soakRuns, after[i])
		b, a := before[i], after[i]
		for what, v := range map[string][3]int64{
			// A pool's connections come and go by the few.
			"goroutines": {int64(b.goroutines), int64(a.goroutines), 12},
			"open files": {int64(b.files), int64(a.files), 8},
			"threads":    {int64(b.threads), int64(a.threads), 6},
			// A collection may come in the midst of an order, and a worker keeps the designs it made last.
			"heap": {b.heap, a.heap, b.heap/2 + 16<<20},
		} {
			if v[1] > v[0]+v[2] {
				t.Errorf("%s: %s grew from %d to %d, by more than %d", s.name, what, v[0], v[1], v[2])
			}
		}
		// The race detector keeps shadows of what was freed.
		if grown := a.rss - b.rss; !*raced && grown > b.rss/3+16<<20 {
			t.Errorf("%s: resident memory grew from %d to %d", s.name, b.rss, a.rss)
		}
	}
	if left := p.leftovers(); len(left) > 0 {
		t.Errorf("%d files are left over: %.500q", len(left), left)
	}
	for _, s := range p.all() { // a race is written down as it is seen
		s.p.Stop(syscall.SIGTERM)
	}
	if found, _ := filepath.Glob(races + "*"); len(found) > 0 {
		for _, f := range found {
			b, _ := os.ReadFile(f)
			t.Errorf("a data race:\n%.4000s", b)
		}
	}
}

func builtRaced(t *testing.T) string {
	t.Helper()
	testkit.Need(t, "gcc")
	bin := testkit.ShortDir(t) + "/sizerun"
	if out, err := exec.Command("go", "build", "-race", "-o", bin, "sizerun/cmd/sizerun").CombinedOutput(); err != nil {
		t.Fatalf("go build -race: %v\n%s", err, out)
	}
	return bin
}

// settled waits until nothing is under way and idle connections are closed, and reads what the processes hold. The
// least of several looks counts: a collection may just be due.
func (p *plant) settled(t *testing.T) []state {
	t.Helper()
	p.quiet(t)
	p.client.CloseIdleConnections()
	out := make([]state, len(p.all()))
	for i, s := range p.all() {
		for k := range 20 {
			st, err := p.look(s)
			if err != nil {
				t.Fatal(err)
			}
			if k == 0 {
				out[i] = st
			}
			o := &out[i]
			*o = state{min(o.goroutines, st.goroutines), min(o.files, st.files), min(o.threads, st.threads), min(o.heap, st.heap), min(o.rss, st.rss)}
			time.Sleep(50 * time.Millisecond)
		}
	}
	return out
}

// soak does n things, eight customers at once.
func (p *plant) soak(t *testing.T, from, n int, keys []string) {
	t.Helper()
	var next atomic.Int64
	var hands sync.WaitGroup
	var mu sync.Mutex
	did := map[string]int{}
	for range 8 {
		hands.Go(func() {
			for {
				k := int(next.Add(1)) - 1
				if k >= n || t.Failed() {
					return
				}
				i := from + k
				r := rand.New(rand.NewPCG(*seed, uint64(i)))
				what := p.visit(t, r, keys[i%len(keys)], i)
				mu.Lock()
				did[what]++
				mu.Unlock()
			}
		})
	}
	hands.Wait()
	var kinds []string
	for what, n := range did {
		kinds = append(kinds, fmt.Sprintf("%d × %s", n, what))
	}
	slices.Sort(kinds)
	t.Logf("%d: %s", n, strings.Join(kinds, ", "))
}

// visit is one thing that a storefront does, looked at to its end.
func (p *plant) visit(t *testing.T, r *rand.Rand, key string, i int) string {
	idem := fmt.Sprint("soak-", i)
	size := []string{"6", "8", "14", "22", "28"}[r.IntN(5)]
	paper := []string{"A4", "Letter", "A0", "A4+Letter"}[r.IntN(4)]
	made := func(what, state string, body []byte) string {
		o, err := p.order(t.Context(), key, idem, body)
		if err != nil || o.State != state {
			t.Errorf("%s %d is %q: %v %+v", what, i, o.State, err, o.Problem)
			return what
		}
		if state != "done" {
			return what
		}
		for _, f := range o.Files {
			a, err := p.send(t.Context(), key, http.MethodGet, f.URL, nil)
			if err != nil || a.status != 200 || len(a.body) != f.Bytes {
				t.Errorf("%s %d: %s is %d with %d bytes of %d, %v", what, i, f.Name, a.status, len(a.body), f.Bytes, err)
			}
		}
		return what
	}
	expect := func(what string, status int, method, path string, body []byte, header ...string) string {
		a, err := p.send(t.Context(), key, method, path, body, header...)
		if err != nil || a.status != status {
			t.Errorf("%s %d: %d %.300s %v", what, i, a.status, a.body, err)
		}
		return what
	}
	switch k := r.IntN(20); {
	case k < 5:
		return made("fresh body", "done", fmt.Appendf(nil, `{"style":"wren-petal","body":{"name":"order %d","body":{"bust":%d,"waist":%d,"hip":1020,"neck":377,"shoulder":124,"nape_to_waist":412,"scye_depth":216,"upper_arm":296}},"outputs":[{"paper":%q}]}`, i, 920+r.IntN(40), 760+r.IntN(40), paper))
	case k < 8:
		return made("known design", "done", fmt.Appendf(nil, `{"style":"wren-petal","sizes":[%q]}`, size))
	case k < 11:
		return made("stamped", "done", fmt.Appendf(nil, `{"style":"wren-petal","sizes":[%q],"stamp":"made for order %d","outputs":[{"paper":%q}]}`, size, i, paper))
	case k < 12:
		return made("whole run", "done", fmt.Appendf(nil, `{"style":"wren-petal","sizes":"all","outputs":[{"paper":"A0"},{"paper":"A4","kind":"companion"}],"stamp":"%d"}`, i%3))
	case k < 14:
		return expect("preview", 200, http.MethodPost, "/v1/previews", fmt.Appendf(nil, `{"style":%s,"sizes":[%q]}`, petal(t, "wren-petal", 30+float64(r.IntN(40))), size))
	case k < 15:
		return expect("check", 200, http.MethodPost, "/v1/checks", fmt.Appendf(nil, `{"style":"wren-petal","sizes":[%q]}`, size))
	case k < 16:
		return expect("refused", 422, http.MethodPost, "/v1/runs", fmt.Appendf(nil, `{"style":"wren-petal","sizes":["%d"]}`, 100+i), "Idempotency-Key", idem)
	case k < 17:
		return expect("not JSON", 400, http.MethodPost, "/v1/runs", []byte(`{"style":`))
	case k < 18:
		return p.cancelled(t, key, idem, i)
	case k < 19: // who does not wait for the answer
		a, err := p.send(t.Context(), key, http.MethodPost, "/v1/runs", fmt.Appendf(nil, `{"style":"wren-petal","stamp":"left %d"}`, i), "Idempotency-Key", idem)
		if err != nil || a.status >= 300 {
			t.Errorf("left %d: %d %.300s %v", i, a.status, a.body, err)
		}
		return "left alone"
	default:
		o, err := p.order(t.Context(), key, idem, fmt.Appendf(nil, `{"style":"wren-petal","sizes":[%q]}`, size))
		if err != nil || o.State != "done" {
			t.Errorf("archive %d is %q: %v", i, o.State, err)
			return "archive"
		}
		return expect("archive", 200, http.MethodGet, "/v1/runs/"+o.ID+"/archive", nil)
	}
}

// cancelled is an order that is taken back at once: it ends as cancelled, or was quicker.
func (p *plant) cancelled(t *testing.T, key, idem string, i int) string {
	a, err := p.send(t.Context(), key, http.MethodPost, "/v1/runs", fmt.Appendf(nil, `{"style":"wren-petal","stamp":"back %d"}`, i), "Idempotency-Key", idem)
	var o run
	if err == nil {
		err = json.Unmarshal(a.body, &o)
	}
	if err != nil || a.status >= 300 {
		t.Errorf("cancelled %d: %d %.300s %v", i, a.status, a.body, err)
		return "cancelled"
	}
	if a, err = p.send(t.Context(), key, http.MethodPost, "/v1/runs/"+o.ID+"/cancel", nil); err != nil || a.status >= 300 {
		t.Errorf("cancelling %d: %d %.300s %v", i, a.status, a.body, err)
	}
	if o, err = p.order(t.Context(), key, idem, fmt.Appendf(nil, `{"style":"wren-petal","stamp":"back %d"}`, i)); err != nil || o.State != "cancelled" && o.State != "done" {
		t.Errorf("cancelled %d is %q: %v", i, o.State, err)
	}
	return "cancelled"
}
