package drills

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
	"sizerun/testdata"
)

// plant is a small site that is watched from outside: one API, some workers, files on disk.
type plant struct {
	site
	database string
	storage  string
	temp     string // the processes' folder for temporary files
	numbers  map[*process]string
	client   *http.Client
}

func newPlant(t *testing.T, bin string, workers int, env ...string) *plant {
	t.Helper()
	p := &plant{site: site{t: t, bin: bin, pg: pgtest.Start(t, nil), redis: redistest.Start(t)}, storage: t.TempDir(), temp: t.TempDir(),
		numbers: map[*process]string{}, client: &http.Client{Transport: &http.Transport{MaxIdleConns: 100, MaxIdleConnsPerHost: 100}}}
	p.database = p.pg.Database(t)
	p.env = append(os.Environ(), "DATABASE_URL="+p.database, "REDIS_URL="+p.redis.URL(), "STORAGE_DIR="+p.storage, "SIZERUN_DATA="+t.TempDir(),
		"TMPDIR="+p.temp, "SIZERUN_LOG_LEVEL=warn", "SIZERUN_WEBHOOK_ALLOW=127.0.0.1", "SIZERUN_DRAIN=2s")
	p.env = append(p.env, env...)
	p.do("migrate")
	addr := free(t)
	p.apis = []*process{{s: &p.site, name: "api", args: []string{"api"}, env: []string{"SIZERUN_ADDR=" + addr}, url: "http://" + addr}}
	for i := range workers {
		p.workers = append(p.workers, &process{s: &p.site, name: fmt.Sprint("worker ", i+1), args: []string{"worker"}})
	}
	for _, s := range p.all() {
		p.numbers[s] = free(t)
		s.env = append(s.env, "SIZERUN_METRICS_ADDR="+p.numbers[s])
		s.start()
	}
	p.apis[0].await()
	t.Cleanup(p.client.CloseIdleConnections)
	return p
}

func (p *plant) all() []*process { return append(p.apis[:1:1], p.workers...) }

// answer is what a storefront gets.
type answer struct {
	status int
	header http.Header
	body   []byte
}

// send sends one request and reads the whole answer.
func (p *plant) send(ctx context.Context, key, method, path string, body []byte, header ...string) (answer, error) {
	q, err := http.NewRequestWithContext(ctx, method, p.apis[0].url+path, strings.NewReader(string(body)))
	if err != nil {
		return answer{}, err
	}
	q.Header.Set("Authorization", "Bearer "+key)
	if len(body) > 0 {
		q.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(header); i += 2 {
		q.Header.Set(header[i], header[i+1])
	}
	r, err := p.client.Do(q)
	if err != nil {
		return answer{}, err
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	return answer{r.StatusCode, r.Header, b}, err
}

// must sends a request that has to be answered with one of the statuses.
func (p *plant) must(key, method, path string, body []byte, want ...int) answer {
	p.t.Helper()
	a, err := p.send(p.t.Context(), key, method, path, body)
	if err != nil {
		p.t.Fatal(err)
	}
	for _, w := range want {
		if a.status == w {
			return a
		}
	}
	p.t.Fatalf("%s %s: %d %s", method, path, a.status, a.body)
	return a
}

// open makes a shop with the demo's block and style, and answers its key.
func (p *plant) open(name string) string {
	p.t.Helper()
	key := p.do("key", "add", name)
	p.must(key, http.MethodPost, "/v1/blocks", document(p.t, "blocks/wren-w"), 201)
	p.must(key, http.MethodPost, "/v1/styles", document(p.t, "styles/wren-petal"), 201)
	return key
}

func document(t *testing.T, name string) []byte {
	t.Helper()
	b, err := testdata.Files.ReadFile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// petal is the demo style under another name with another depth of hem.
func petal(t *testing.T, name string, hem float64) []byte {
	t.Helper()
	var s map[string]any
	if err := json.Unmarshal(document(t, "styles/wren-petal"), &s); err != nil {
		t.Fatal(err)
	}
	s["style"] = name
	s["changes"].([]any)[0].(map[string]any)["hem_in"] = hem
	b, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// order is sent once and waited for until it is over.
func (p *plant) order(ctx context.Context, key, idem string, body []byte) (run, error) {
	a, err := p.send(ctx, key, http.MethodPost, "/v1/runs", body, "Prefer", "wait=30", "Idempotency-Key", idem)
	var r run
	for {
		switch {
		case err != nil:
			return r, err
		case a.status >= 300:
			return r, fmt.Errorf("%d %s", a.status, a.body)
		}
		if err := json.Unmarshal(a.body, &r); err != nil {
			return r, err
		}
		if r.State == "done" || r.State == "failed" || r.State == "cancelled" {
			return r, nil
		}
		a, err = p.send(ctx, key, http.MethodGet, "/v1/runs/"+r.ID, nil, "Prefer", "wait=30")
	}
}

// state is what a process holds, read from outside.
type state struct {
	goroutines, files, threads int
	heap, rss                  int64 // bytes; heap is what was alive at the last collection
}

func (s state) String() string {
	return fmt.Sprintf("%3d goroutines  %3d files  %2d threads  heap %5.1f MB  resident %5.1f MB", s.goroutines, s.files, s.threads, float64(s.heap)/1e6, float64(s.rss)/1e6)
}

// look reads /proc and the process's own numbers.
func (p *plant) look(s *process) (state, error) {
	var st state
	pid := s.pid()
	fds, err := os.ReadDir(fmt.Sprintf("/proc/%d/fd", pid))
	if err != nil {
		return st, err
	}
	st.files = len(fds)
	status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return st, err
	}
	for line := range strings.Lines(string(status)) {
		name, value, _ := strings.Cut(line, ":")
		n, _ := strconv.ParseInt(strings.TrimSuffix(strings.TrimSpace(value), " kB"), 10, 64)
		switch name {
		case "VmRSS":
			st.rss = n * 1024
		case "Threads":
			st.threads = int(n)
		}
	}
	r, err := http.Get("http://" + p.numbers[s] + "/metrics")
	if err != nil {
		return st, err
	}
	defer r.Body.Close()
	b, err := io.ReadAll(r.Body)
	if err != nil {
		return st, err
	}
	for line := range strings.Lines(string(b)) {
		name, value, _ := strings.Cut(strings.TrimSpace(line), " ")
		v, _ := strconv.ParseFloat(value, 64)
		switch name {
		case "go_goroutines":
			st.goroutines = int(v)
		case "go_memstats_next_gc_bytes":
			st.heap = int64(v / 2) // it is set to twice of what was alive at the last collection
		}
	}
	if st.goroutines == 0 || st.heap == 0 {
		return st, errors.New("the process tells no numbers")
	}
	return st, nil
}

func (p *process) pid() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.p.PID()
}

// busy is the processor time that a process has taken so far: fields 14 and 15 of proc(5)'s stat, in hundredths of
// a second, which is what every Linux tells.
func (p *process) busy(t *testing.T) time.Duration {
	t.Helper()
	b, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", p.pid()))
	if err != nil {
		t.Fatal(err)
	}
	f := strings.Fields(string(b[strings.LastIndexByte(string(b), ')')+1:]))
	user, errU := strconv.Atoi(f[11])
	system, errS := strconv.Atoi(f[12])
	if errU != nil || errS != nil {
		t.Fatalf("stat tells %q", b)
	}
	return time.Duration(user+system) * 10 * time.Millisecond
}

// leftovers lists what the processes left in the folder for temporary files, and half-written files of the storage.
func (p *plant) leftovers() []string {
	p.t.Helper()
	var out []string
	for _, dir := range []string{p.temp, p.storage} {
		err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			// The storage's whole files are named by their SHA-256.
			if name := d.Name(); dir == p.temp || len(name) != 64 {
				out = append(out, path)
			}
			return nil
		})
		if err != nil {
			p.t.Fatal(err)
		}
	}
	return out
}
