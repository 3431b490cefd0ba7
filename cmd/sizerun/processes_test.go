package main

import (
	"context"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"sizerun/internal/testkit"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
	"sizerun/internal/testkit/s3test"
	"sizerun/testdata"
)

// fleet is the service as separate processes on one PostgreSQL and one Redis.
type fleet struct {
	t   *testing.T
	bin string
	env []string
}

func newFleet(t *testing.T, databaseURL, redisURL string, env ...string) *fleet {
	t.Helper()
	bin := filepath.Join(t.TempDir(), "sizerun")
	if out, err := exec.Command("go", "build", "-o", bin, ".").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return &fleet{t: t, bin: bin, env: append(append(os.Environ(), "DATABASE_URL="+databaseURL, "REDIS_URL="+redisURL,
		"SIZERUN_CONCURRENCY=1", "SIZERUN_DRAIN=2s"), env...)}
}

func (f *fleet) command(env []string, args ...string) *exec.Cmd {
	c := exec.Command(f.bin, args...)
	c.Env = append(f.env[:len(f.env):len(f.env)], env...)
	return c
}

// do runs a command to its end.
func (f *fleet) do(args ...string) string {
	f.t.Helper()
	out, err := f.command(nil, args...).CombinedOutput()
	if err != nil {
		f.t.Fatalf("sizerun %v: %v\n%s", args, err, out)
	}
	return strings.TrimSpace(string(out))
}

func (f *fleet) worker() *testkit.Process { return testkit.Start(f.t, f.command(nil, "worker")) }

// api starts an edge on a free port and waits until it is ready.
func (f *fleet) api() string {
	f.t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		f.t.Fatal(err)
	}
	addr := ln.Addr().String()
	ln.Close()
	p := testkit.Start(f.t, f.command([]string{"SIZERUN_ADDR=" + addr}, "api"))
	p.Await(f.t, func() error {
		a, err := http.Get("http://" + addr + "/readyz")
		if err != nil {
			return err
		}
		defer a.Body.Close()
		if a.StatusCode != http.StatusOK {
			return fmt.Errorf("not ready: %s", a.Status)
		}
		return nil
	})
	return "http://" + addr
}

// TestSeveralProcessesShareTheWork migrates from three processes at once, starts two edges and two
// workers, orders from both edges, kills a worker and flushes Redis meanwhile, and counts: every run
// is done, once, with its files whole.
func TestSeveralProcessesShareTheWork(t *testing.T) {
	t.Run("and a folder", func(t *testing.T) {
		t.Parallel()
		shareTheWork(t, "SIZERUN_DATA="+t.TempDir())
	})
	t.Run("and object storage, as on several machines", func(t *testing.T) {
		t.Parallel()
		// A folder of files would be refused: there is a file in its place.
		none := filepath.Join(t.TempDir(), "none")
		if err := os.WriteFile(none, nil, 0o600); err != nil {
			t.Fatal(err)
		}
		shareTheWork(t, "SIZERUN_DATA="+none, "STORAGE_URL="+s3test.Start(t).URL(), "STORAGE_KEY_ID="+s3test.KeyID, "STORAGE_SECRET="+s3test.Secret)
	})
}

func shareTheWork(t *testing.T, env ...string) {
	redis := redistest.Start(t)
	f := newFleet(t, pgtest.Start(t, nil).Database(t), redis.URL(), env...)
	var wg sync.WaitGroup
	for range 3 {
		wg.Go(func() {
			if out, err := f.command(nil, "migrate").CombinedOutput(); err != nil {
				t.Errorf("migrate: %v\n%s", err, out)
			}
		})
	}
	wg.Wait()
	key := f.do("key", "add", demoShop)
	edges := []storefront{{f.api(), key}, {f.api(), key}}
	first := f.worker()
	f.worker()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
		doc, err := testdata.Files.ReadFile(d + ".json")
		if err != nil {
			t.Fatal(err)
		}
		if err := edges[0].call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], doc, nil); err != nil {
			t.Fatal(err)
		}
	}
	const runs = 24
	ordered := make([]runJSON, runs)
	for i := range ordered {
		// Stamps make each of them a fresh one.
		body := fmt.Sprintf(`{"style":"wren-petal","sizes":"all","outputs":[{"paper":"A4"},{"paper":"A0"}],"stamp":"order %d","external_id":"order-%d"}`, i, i)
		if err := edges[i%2].call(ctx, http.MethodPost, "/v1/runs", []byte(body), &ordered[i]); err != nil {
			t.Fatal(err)
		}
		switch i {
		case runs / 3:
			first.Stop(syscall.SIGKILL)
			f.worker()
		case runs / 2:
			redis.Flush(t)
		}
	}
	ids := map[string]bool{}
	for i := range ordered {
		r := &ordered[i]
		if ids[r.ID] {
			t.Errorf("run %s was given twice", r.ID)
		}
		ids[r.ID] = true
		if err := edges[(i+1)%2].watch(ctx, devNull{}, r, 2*time.Minute); err != nil {
			t.Fatalf("run %d: %v", i, err)
		}
		if r.State != "done" || len(r.Files) != 3 {
			raw, _ := json.Marshal(r)
			t.Errorf("run %d: %s", i, raw)
			continue
		}
		for _, file := range r.Files {
			b, err := edges[0].get(ctx, file.URL)
			if err != nil || len(b) != file.Bytes {
				t.Errorf("run %d %s: %d bytes, %v", i, file.Name, len(b), err)
			}
		}
	}
}

type devNull struct{}

func (devNull) Write(b []byte) (int, error) { return len(b), nil }

func TestProcessesThatShareNothingAreRefused(t *testing.T) {
	for _, command := range []string{"api", "worker", "migrate"} {
		t.Setenv("DATABASE_URL", "")
		t.Setenv("REDIS_URL", "")
		code, _, errOut := call(t, command)
		if code != exitFailed || !strings.Contains(errOut, "DATABASE_URL") {
			t.Errorf("%s: exit %d\n%s", command, code, errOut)
		}
	}
}
