package drills

import (
	"context"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sizerun/internal/testkit"
	"sizerun/internal/testkit/pgtest"
	"sizerun/internal/testkit/redistest"
)

// lastRelease is the commit that the release before was made of.
const lastRelease = "4eb570e"

// A release is replaced process by process. While both are up, on the schema of the new one, orders that
// the one takes are made by the other, either way.
func TestTheReleaseBeforeWorksOnTheNewSchema(t *testing.T) {
	if testing.Short() {
		t.Skip("it builds the release before")
	}
	root := filepath.Join("..", "..")
	tree := testkit.ShortDir(t)
	// A shallow clone does not have it; then the statements of the first release are what is held to
	// (storetest.FirstRelease).
	if out, err := exec.Command("bash", "-o", "pipefail", "-c", `git -C "$1" archive "$2" | tar -x -C "$3"`, "-", root, lastRelease, tree).CombinedOutput(); err != nil {
		t.Skipf("the release before is not in this clone: %v %s", err, out)
	}
	old := filepath.Join(tree, "sizerun-before")
	c := exec.Command("go", "build", "-o", old, "./cmd/sizerun")
	c.Dir = tree
	if out, err := c.CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	now := built(t)
	pg, redis := pgtest.Start(t, nil), redistest.Start(t)
	data := t.TempDir()
	of := func(bin string) *site {
		return &site{t: t, bin: bin, pg: pg, redis: redis, env: []string{"PATH=/usr/bin:/bin", "HOME=" + t.TempDir(), "REDIS_URL=" + redis.URL(),
			"SIZERUN_DATA=" + data, "SIZERUN_DRAIN=1s"}}
	}
	before, after := of(old), of(now)
	database := "DATABASE_URL=" + pg.Database(t)
	before.env, after.env = append(before.env, database), append(after.env, database)
	before.do("migrate")
	key := before.do("key", "add", "Rookery Lane Patterns")
	after.do("migrate")

	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute)
	defer cancel()
	edge := func(s *site) *customer {
		addr := free(t)
		p := &process{s: s, name: "api", args: []string{"api"}, env: []string{"SIZERUN_ADDR=" + addr}, url: "http://" + addr}
		p.start()
		p.await()
		s.apis = []*process{p}
		return &customer{s: s, key: key}
	}
	edges := map[string]*customer{"before": edge(before), "after": edge(after)}
	for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
		doc, err := os.ReadFile(filepath.Join(tree, "testdata", d+".json")) // in words that both know
		if err != nil {
			t.Fatal(err)
		}
		if st, err := edges["before"].call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], "", doc, nil); err != nil || st >= 300 {
			t.Fatal(st, err)
		}
	}
	for _, way := range []struct {
		from, to string
		worker   *site
	}{{"before", "after", after}, {"after", "before", before}} {
		w := &process{s: way.worker, name: "worker", args: []string{"worker"}}
		w.start()
		for i := range 3 {
			var r run
			body := fmt.Appendf(nil, `{"style":"wren-petal","sizes":["14"],"stamp":"%s %d","external_id":"%[1]s-%[2]d"}`, way.from, i)
			if st, err := edges[way.from].call(ctx, http.MethodPost, "/v1/runs", fmt.Sprint(way.from, i), body, &r); err != nil || st >= 300 {
				t.Fatal(way.from, st, err)
			}
			for r.State != "done" {
				if st, err := edges[way.from].call(ctx, http.MethodGet, "/v1/runs/"+r.ID, "", nil, &r); err != nil || st != http.StatusOK || r.State == "failed" {
					t.Fatalf("ordered %s, made by the one %s: %d, %s %+v, %v", way.from, way.to, st, r.State, r.Problem, err)
				}
				time.Sleep(20 * time.Millisecond)
			}
			for _, e := range edges {
				for _, f := range r.Files {
					if st, b, err := e.once(ctx, http.MethodGet, e.s.apis[0].url+f.URL, "", nil); err != nil || st != http.StatusOK || len(b) != f.Bytes {
						t.Errorf("%s: %d, %d bytes of %d, %v", f.Name, st, len(b), f.Bytes, err)
					}
				}
			}
		}
		w.p.Stop(9)
	}
}
