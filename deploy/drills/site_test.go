package drills

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"sync"
	"syscall"
	"testing"
	"time"

	"sizerun/internal/testkit"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
	"sizerun/internal/testkit/s3test"
)

// site is the whole service, as processes.
type site struct {
	t       *testing.T
	bin     string
	env     []string
	pg      *pgtest.Server
	redis   *redistest.Server
	storage *s3test.Server
	apis    []*process
	workers []*process
}

// process is one of the service's own, which is started again after it was killed.
type process struct {
	s    *site
	name string
	args []string
	env  []string
	url  string // an API's
	mu   sync.Mutex
	p    *testkit.Process
}

func newSite(t *testing.T) *site {
	t.Helper()
	s := &site{t: t, bin: built(t), pg: pgtest.Start(t, nil), redis: redistest.Start(t), storage: s3test.Start(t)}
	s.env = append(os.Environ(), "DATABASE_URL="+s.pg.Database(t), "REDIS_URL="+s.redis.URL(), "STORAGE_URL="+s.storage.URL(),
		"STORAGE_KEY_ID="+s3test.KeyID, "STORAGE_SECRET="+s3test.Secret, "SIZERUN_DATA="+t.TempDir(), "SIZERUN_CONCURRENCY=2", "SIZERUN_DRAIN=2s",
		// A drill kills the same run more often than a year does.
		"SIZERUN_MAX_TRIES=20", "SIZERUN_WEBHOOK_ALLOW=127.0.0.1")
	s.do("migrate")
	for i := range 2 {
		addr := free(t)
		s.apis = append(s.apis, &process{s: s, name: fmt.Sprint("api ", i+1), args: []string{"api"}, env: []string{"SIZERUN_ADDR=" + addr}, url: "http://" + addr})
		s.workers = append(s.workers, &process{s: s, name: fmt.Sprint("worker ", i+1), args: []string{"worker"}})
	}
	for _, p := range append(s.apis[:2:2], s.workers...) {
		p.start()
	}
	for _, p := range s.apis {
		p.await()
	}
	return s
}

func free(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	return l.Addr().String()
}

// do runs a command to its end.
func (s *site) do(args ...string) string {
	s.t.Helper()
	c := exec.Command(s.bin, args...)
	c.Env = s.env
	var errOut bytes.Buffer
	c.Stderr = &errOut
	out, err := c.Output()
	if err != nil {
		s.t.Fatalf("sizerun %v: %v\n%s", args, err, errOut.String())
	}
	return string(bytes.TrimSpace(out))
}

func (p *process) start() {
	p.s.t.Helper()
	c := exec.Command(p.s.bin, p.args...)
	c.Env = append(p.s.env[:len(p.s.env):len(p.s.env)], p.env...)
	p.mu.Lock()
	defer p.mu.Unlock()
	p.p = testkit.Start(p.s.t, c)
}

func (p *process) await() {
	p.s.t.Helper()
	p.p.Await(p.s.t, func() error {
		a, err := http.Get(p.url + "/livez")
		if err != nil {
			return err
		}
		return a.Body.Close()
	})
}

// kill ends it as a power cut does, and starts it anew.
func (p *process) kill() {
	p.mu.Lock()
	old := p.p
	p.mu.Unlock()
	old.Stop(syscall.SIGKILL)
	p.start()
}

// customer is a storefront with a key, who asks one API after the other.
type customer struct {
	s    *site
	key  string
	next int
}

// call asks until somebody answers with something that is final. Orders carry their own key, so that
// asking again is no second order.
func (c *customer) call(ctx context.Context, method, path, key string, body []byte, into any) (int, error) {
	var last error
	for ctx.Err() == nil {
		c.next++
		at := c.s.apis[c.next%len(c.s.apis)].url
		status, b, err := c.once(ctx, method, at+path, key, body)
		switch {
		case err != nil:
			last = err
		case status >= 500 || status == 429 || status == 409 && key != "":
			last = fmt.Errorf("%s %s: %d %s", method, path, status, b)
		default:
			if into != nil && status < 300 {
				err = json.Unmarshal(b, into)
			}
			return status, err
		}
		time.Sleep(100 * time.Millisecond)
	}
	return 0, fmt.Errorf("%w; before that: %v", ctx.Err(), last)
}

func (c *customer) once(ctx context.Context, method, url, key string, body []byte) (int, []byte, error) {
	ctx, cancel := context.WithTimeout(ctx, 20*time.Second)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, method, url, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	q.Header.Set("Authorization", "Bearer "+c.key)
	if body != nil {
		q.Header.Set("Content-Type", "application/json")
	}
	if key != "" {
		q.Header.Set("Idempotency-Key", key)
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		return 0, nil, err
	}
	defer a.Body.Close()
	b, err := io.ReadAll(a.Body)
	return a.StatusCode, b, err
}

// doorbell takes webhooks and remembers which event told of which run.
type doorbell struct {
	*httptest.Server
	mu   sync.Mutex
	told map[string]map[string]bool // by run, the webhook-ids
}

func newDoorbell(t *testing.T) *doorbell {
	d := &doorbell{told: map[string]map[string]bool{}}
	d.Server = httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var b struct {
			Data struct {
				RunID string `json:"run_id"`
			} `json:"data"`
		}
		if err := json.NewDecoder(r.Body).Decode(&b); err != nil {
			w.WriteHeader(http.StatusBadRequest)
			return
		}
		d.mu.Lock()
		defer d.mu.Unlock()
		if d.told[b.Data.RunID] == nil {
			d.told[b.Data.RunID] = map[string]bool{}
		}
		d.told[b.Data.RunID][r.Header.Get("webhook-id")] = true
	}))
	t.Cleanup(d.Close)
	return d
}

func (d *doorbell) events(run string) int {
	d.mu.Lock()
	defer d.mu.Unlock()
	return len(d.told[run])
}
