package main

import (
	"context"
	"io"
	"net"
	"net/http"
	"os"
	"strings"
	"testing"
	"time"

	"sizerun/internal/config"
	"sizerun/internal/observe"
	"sizerun/testdata"
)

// An order of the real service, as a Prometheus sees it.
func TestTheNumbersOfTheWholeServiceAreShown(t *testing.T) {
	free, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	numbers := free.Addr().String()
	free.Close()
	cfg, err := config.Load([]string{"SIZERUN_DATA=" + t.TempDir(), "SIZERUN_METRICS_ADDR=" + numbers}, os.ReadFile)
	if err != nil {
		t.Fatal(err)
	}
	h, err := build(t.Context(), cfg, observe.NewLogger(io.Discard, cfg.LogFormat, cfg.LogLevel), false)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	served := make(chan error, 1)
	go func() { served <- h.watched(ctx, func() error { return h.serve(ctx, ln) }) }()
	key, err := h.service.AddKey(ctx, demoShop)
	if err != nil {
		t.Fatal(err)
	}
	f := storefront{base: "http://" + ln.Addr().String(), key: key}
	for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
		doc, err := testdata.Files.ReadFile(d + ".json")
		if err != nil {
			t.Fatal(err)
		}
		if err := f.call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], doc, nil); err != nil {
			t.Fatal(err)
		}
	}
	var r runJSON
	if err := f.call(ctx, http.MethodPost, "/v1/runs", []byte(`{"style":"wren-petal","sizes":["14"]}`), &r); err != nil {
		t.Fatal(err)
	}
	if err := f.watch(ctx, io.Discard, &r, time.Minute); err != nil {
		t.Fatal(err)
	}
	if _, err := f.get(ctx, "/v1/nothing/secret-of-a-stranger"); err == nil {
		t.Error("there is something")
	}
	text, err := storefront{base: "http://" + numbers}.get(ctx, "/metrics")
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		`sizerun_runs_total{problem="",state="done"} 1`,
		`sizerun_http_requests_total{method="POST",route="/v1/runs",status="202"} 1`,
		`sizerun_http_requests_total{method="GET",route="none",status="404"} 1`,
		// No grading and making: in one process the worker finds what admission has made to judge the order.
		`sizerun_run_stage_seconds_count{stage="drawing"} 1`, `sizerun_run_stage_seconds_count{stage="keeping"} 1`,
		`sizerun_files_total{paper="A4"} 1`, `sizerun_run_wait_seconds_count 1`,
		`sizerun_runs_waiting 0`, `sizerun_up{what="database"} 1`, `sizerun_up{what="queue"} 1`,
	} {
		if !strings.Contains(string(text), "\n"+line+"\n") {
			t.Errorf("no line %s", line)
		}
	}
	if strings.Contains(string(text), "secret-of-a-stranger") {
		t.Error("a path is shown")
	}
	if t.Failed() {
		t.Logf("%s", text)
	}
	stop()
	if err := <-served; err != nil {
		t.Error(err)
	}
	if err := h.close(); err != nil {
		t.Error(err)
	}
	if a, err := http.Get("http://" + numbers + "/metrics"); err == nil {
		a.Body.Close()
		t.Error("the numbers are shown when all is over")
	}
}
