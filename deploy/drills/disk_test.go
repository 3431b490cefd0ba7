package drills

import (
	"context"
	"encoding/json"
	"net/http"
	"os/exec"
	"strings"
	"testing"
	"time"

	"sizerun/internal/testkit"
	"sizerun/testdata"
)

// The disk is full when an order is to be kept: it is neither lost nor half there, and is delivered when
// there is room again.
func TestAFullDiskLosesNoOrder(t *testing.T) {
	disk := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("this machine lets nobody make a small disk: %v %s", err, out)
	}
	t.Cleanup(func() {
		if out, err := exec.Command("umount", disk).CombinedOutput(); err != nil {
			t.Errorf("umount: %v %s", err, out)
		}
	})
	s := &site{t: t, bin: built(t)}
	addr := free(t)
	s.env = []string{"PATH=/usr/bin:/bin", "HOME=" + t.TempDir(), "SIZERUN_DATA=" + t.TempDir(), "STORAGE_DIR=" + disk, "SIZERUN_ADDR=" + addr, "SIZERUN_MAX_TRIES=20", "SIZERUN_DRAIN=1s"}
	p := &process{s: s, name: "serve", args: []string{"serve"}, url: "http://" + addr}
	p.start()
	p.await()
	s.apis = []*process{p}
	c := &customer{s: s, key: s.do("key", "add", "Rookery Lane Patterns")}
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
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
	var r run
	if st, err := c.call(ctx, http.MethodPost, "/v1/runs", "order-1", []byte(`{"style":"wren-petal"}`), &r); err != nil || st >= 300 {
		t.Fatal(st, err)
	}
	// It is tried, and there is no room: the run waits, and shows no half file.
	time.Sleep(3 * time.Second)
	if _, err := c.call(ctx, http.MethodGet, "/v1/runs/"+r.ID, "", nil, &r); err != nil || r.State == "done" || r.State == "failed" || len(r.Files) > 0 {
		t.Fatalf("on a full disk the order is %s with %d files, %v", r.State, len(r.Files), err)
	}
	if out, err := exec.Command("mount", "-o", "remount,size=64m", disk).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	for r.State != "done" {
		if _, err := c.call(ctx, http.MethodGet, "/v1/runs/"+r.ID, "", nil, &r); err != nil || r.State == "failed" {
			t.Fatalf("with room again the order is %s, %v", r.State, err)
		}
		time.Sleep(50 * time.Millisecond)
	}
	for _, f := range r.Files {
		st, b, err := c.once(ctx, http.MethodGet, p.url+f.URL, "", nil)
		if err != nil || st != http.StatusOK || len(b) != f.Bytes {
			t.Errorf("%s: %d, %d bytes of %d, %v", f.Name, st, len(b), f.Bytes, err)
		}
		if strings.HasSuffix(f.Name, ".json") && !json.Valid(b) {
			t.Errorf("%s is not whole", f.Name)
		}
	}
}

// built is the program, built once for a test.
func built(t *testing.T) string {
	t.Helper()
	bin := testkit.ShortDir(t) + "/sizerun"
	if out, err := exec.Command("go", "build", "-o", bin, "sizerun/cmd/sizerun").CombinedOutput(); err != nil {
		t.Fatalf("go build: %v\n%s", err, out)
	}
	return bin
}
