package drills

import (
	"bytes"
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"sizerun/internal/testkit"
	"sizerun/internal/testkit/pgtest"
	"sizerun/testdata"
)

// A machine is lost. What was backed up while orders flowed comes back on an empty one: the same bytes for
// the same key, the order numbers known, and the orders that waited are made.
func TestABackupBringsEverythingBack(t *testing.T) {
	bin := built(t)
	t.Run("embedded", func(t *testing.T) {
		t.Parallel()
		testkit.Need(t, "sqlite3")
		comesBack(t, bin, func(*testing.T) string { return "" })
	})
	t.Run("PostgreSQL", func(t *testing.T) {
		t.Parallel()
		testkit.Need(t, "pg_dump")
		pg := pgtest.Start(t, nil)
		comesBack(t, bin, func(t *testing.T) string { return "DATABASE_URL=" + pg.Database(t) })
	})
}

// machine is one that the service runs on.
type machine struct {
	*site
	serve *process
	data  string
}

func newMachine(t *testing.T, bin, database string) *machine {
	m := &machine{site: &site{t: t, bin: bin}, data: t.TempDir()}
	addr := free(t)
	m.env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + t.TempDir(), "SIZERUN_DATA=" + m.data, "SIZERUN_ADDR=" + addr, "SIZERUN_DRAIN=1s", "SIZERUN_CONCURRENCY=1"}
	if database != "" {
		// From a file, as a secret comes.
		name, value, _ := strings.Cut(database, "=")
		file := filepath.Join(t.TempDir(), "secret")
		if err := os.WriteFile(file, []byte(value+"\n"), 0o600); err != nil {
			t.Fatal(err)
		}
		m.env = append(m.env, name+"_FILE="+file)
	}
	m.serve = &process{s: m.site, name: "serve", args: []string{"serve"}, url: "http://" + addr}
	m.apis = []*process{m.serve}
	return m
}

func (m *machine) up() {
	m.t.Helper()
	m.serve.start()
	m.serve.await()
}

// script runs one of deploy's.
func (m *machine) script(name string, args ...string) (string, error) {
	c := exec.Command(filepath.Join("..", name), args...)
	c.Env = m.env
	out, err := c.CombinedOutput()
	return string(out), err
}

func comesBack(t *testing.T, bin string, database func(*testing.T) string) {
	m := newMachine(t, bin, database(t))
	m.up()
	c := &customer{s: m.site, key: m.do("key", "add", "Rookery Lane Patterns")}
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
		doc, err := testdata.Files.ReadFile(d + ".json")
		if err != nil {
			t.Fatal(err)
		}
		if st, err := c.call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], "", doc, nil); err != nil || st >= 300 {
			t.Fatal(st, err)
		}
	}
	order := func(n int, body string) run {
		t.Helper()
		var r run
		if st, err := c.call(ctx, http.MethodPost, "/v1/runs", fmt.Sprint("key-", n), fmt.Appendf(nil, body, n), &r); err != nil || st >= 300 {
			t.Fatal(st, err)
		}
		return r
	}
	await := func(r *run) {
		t.Helper()
		for r.State != "done" {
			if st, err := c.call(ctx, http.MethodGet, "/v1/runs/"+r.ID, "", nil, r); err != nil || st != http.StatusOK || r.State == "failed" {
				t.Fatalf("%d, %s, %v", st, r.State, err)
			}
			time.Sleep(20 * time.Millisecond)
		}
	}
	download := func(r run) map[string][]byte {
		t.Helper()
		out := map[string][]byte{}
		for _, f := range r.Files {
			st, b, err := c.once(ctx, http.MethodGet, c.s.apis[0].url+f.URL, "", nil)
			if err != nil || st != http.StatusOK || len(b) != f.Bytes {
				t.Fatalf("%s: %d, %d bytes of %d, %v", f.Name, st, len(b), f.Bytes, err)
			}
			out[f.Name] = b
		}
		return out
	}
	done := order(1, `{"style":"wren-petal","sizes":["14"],"external_id":"order-%d"}`)
	await(&done)
	before := download(done)
	var waiting []run
	for n := range 4 { // one worker: some of them are not done when the backup is made
		waiting = append(waiting, order(2+n, `{"style":"wren-petal","sizes":"all","outputs":[{"paper":"A4"},{"paper":"A0"}],"stamp":"order %[1]d","external_id":"order-%[1]d"}`))
	}
	backup := filepath.Join(t.TempDir(), "it's a backup")
	if out, err := m.script("backup.sh", backup); err != nil {
		t.Fatalf("backup: %v\n%s", err, out)
	}
	if out, err := m.script("backup.sh", backup); err == nil {
		t.Errorf("it was written over: %s", out)
	}
	if out, err := m.script("restore.sh", backup); err == nil || !strings.Contains(out, "nothing was changed") {
		t.Errorf("it was restored over what is there: %v\n%s", err, out)
	}
	m.serve.p.Stop(syscall.SIGKILL)

	m2 := newMachine(t, bin, database(t))
	// A backup that was damaged is not taken, and leaves nothing behind.
	for _, name := range []string{"files/*/*", "*.d[bu]*"} {
		found, err := filepath.Glob(filepath.Join(backup, name))
		if err != nil || len(found) == 0 {
			t.Fatalf("there is no %s: %v", name, err)
		}
		spoil(t, found[0])
		if out, err := m2.script("restore.sh", backup); err == nil || !strings.Contains(out, "damaged") {
			t.Errorf("%s: %v\n%s", name, err, out)
		}
		spoil(t, found[0])
	}
	if left, err := os.ReadDir(m2.data); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if out, err := m2.script("restore.sh", backup); err != nil {
		t.Fatalf("restore: %v\n%s", err, out)
	}
	m2.up()
	c.s = m2.site
	var again run
	if st, err := c.call(ctx, http.MethodGet, "/v1/runs/"+done.ID, "", nil, &again); err != nil || st != http.StatusOK {
		t.Fatal(st, err)
	}
	after := download(again)
	for name, b := range before {
		if !bytes.Equal(b, after[name]) {
			t.Errorf("%s is another one", name)
		}
	}
	if len(before) != 2 || len(after) != len(before) {
		t.Errorf("%d files, before %d", len(after), len(before))
	}
	if st, b, err := c.once(ctx, http.MethodPost, m2.serve.url+"/v1/runs", "", []byte(`{"style":"wren-petal","external_id":"order-1"}`)); err != nil || st != http.StatusConflict {
		t.Errorf("its number is not known any more: %d %s, %v", st, b, err)
	}
	if same := order(1, `{"style":"wren-petal","sizes":["14"],"external_id":"order-%d"}`); same.ID != done.ID {
		t.Errorf("the order sent again is run %s, not %s", same.ID, done.ID)
	}
	for i := range waiting {
		await(&waiting[i])
		if n := len(download(waiting[i])); n != 3 {
			t.Errorf("order %d has %d files", 2+i, n)
		}
	}
	m2.serve.p.Stop(syscall.SIGTERM)
}

// spoil turns a byte of a file over; twice is as if nothing had been.
func spoil(t *testing.T, file string) {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	b[len(b)/2] ^= 1
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
}
