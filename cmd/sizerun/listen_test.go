package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	standardwebhooks "github.com/standard-webhooks/standard-webhooks/libraries/go"

	"sizerun/internal/config"
	"sizerun/testdata"
)

// told is a writer that can be read meanwhile.
type told struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (w *told) Write(p []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.Write(p)
}

func (w *told) String() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.b.String()
}

// A developer orders on her own machine, and her server is told as it will be told in earnest.
func TestListenForwardsWhatThereIsToTell(t *testing.T) {
	t.Setenv("SIZERUN_DATA", t.TempDir())
	cfg, err := config.FromEnv()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	h, err := build(ctx, cfg, slog.New(slog.DiscardHandler), false)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	key, err := h.service.AddKey(ctx, demoShop)
	if err != nil {
		t.Fatal(err)
	}
	serving, stop := context.WithCancel(ctx)
	served := make(chan error, 1)
	go func() { served <- h.serve(serving, ln) }()
	defer func() {
		stop()
		if err := <-served; err != nil {
			t.Error(err)
		}
		if err := h.close(); err != nil {
			t.Error(err)
		}
	}()
	base := "http://" + ln.Addr().String()
	f := storefront{base, key}
	for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
		doc, err := testdata.Files.ReadFile(d + ".json")
		if err != nil {
			t.Fatal(err)
		}
		if err := f.call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], doc, nil); err != nil {
			t.Fatal(err)
		}
	}

	type hook struct {
		header http.Header
		body   []byte
	}
	hooks := make(chan hook, 4)
	mine := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		b, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
		}
		hooks <- hook{r.Header.Clone(), b}
	}))
	defer mine.Close()
	t.Setenv("SIZERUN_KEY", key)
	var out told
	listening := make(chan int, 1)
	go func() {
		listening <- run(ctx, []string{"listen", "--url", base, "--forward", mine.URL + "/hooks", "--every", "50ms", "--count", "1"}, &out, io.Discard)
	}()
	for !strings.Contains(out.String(), "forwarding") {
		if time.Sleep(5 * time.Millisecond); ctx.Err() != nil {
			t.Fatal("it does not begin:", out.String())
		}
	}
	var r runJSON
	if err := f.call(ctx, http.MethodPost, "/v1/runs", []byte(`{"style":"wren-petal","sizes":["14"],"external_id":"1001"}`), &r); err != nil {
		t.Fatal(err)
	}
	select {
	case k := <-hooks:
		_, secret, _ := strings.Cut(strings.Split(out.String(), "\n")[0], "the secret: ")
		wh, err := standardwebhooks.NewWebhook(secret)
		if err != nil {
			t.Fatal(err)
		}
		if err := wh.Verify(k.body, k.header); err != nil {
			t.Errorf("the library says %v", err)
		}
		var b struct {
			Data struct {
				RunID string `json:"run_id"`
			}
		}
		if err := json.Unmarshal(k.body, &b); err != nil || b.Data.RunID != r.ID {
			t.Errorf("told of %s: %s", r.ID, k.body)
		}
	case <-ctx.Done():
		t.Fatal("nothing was forwarded:", out.String())
	}
	if code := <-listening; code != exitOK || !strings.Contains(out.String(), "200 OK") {
		t.Errorf("exit %d\n%s", code, out.String())
	}
}

func TestListenNeedsAKeyAndAnAddress(t *testing.T) {
	t.Setenv("SIZERUN_KEY", "")
	for _, args := range [][]string{{"listen"}, {"listen", "--forward", "nowhere"}, {"listen", "--forward", "http://localhost:1/"}} {
		if code, _, errOut := call(t, args...); code == exitOK || errOut == "" {
			t.Errorf("%v: exit %d %s", args, code, errOut)
		}
	}
}
