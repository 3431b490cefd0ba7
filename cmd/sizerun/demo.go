package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"sizerun/internal/config"
	"sizerun/internal/observe"
	"sizerun/internal/shop"
	"sizerun/testdata"
)

type demoCmd struct {
	Out   string        `required:"" help:"The folder for the files; it is made when it is not there."`
	Serve bool          `help:"Keep the service up afterwards, and print its address and a key."`
	Wait  time.Duration `default:"2m" help:"The longest to wait for the run."`
}

const demoShop = "Rookery Lane Patterns"

// Run starts the embedded service on a free port, does over HTTP what a storefront would, and leaves
// the run, its report and its files in the folder.
func (c *demoCmd) Run(ctx context.Context, t *terminal) error {
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return err
	}
	data, err := os.MkdirTemp("", "sizerun-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(data) //nolint:errcheck // a temporary folder
	cfg, err := config.Load([]string{"SIZERUN_DATA=" + data}, os.ReadFile)
	if err != nil {
		return err
	}
	h, err := build(ctx, cfg, observe.NewLogger(io.Discard, cfg.LogFormat, cfg.LogLevel), false)
	if err != nil {
		return err
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return errors.Join(err, h.close())
	}
	serving, stop := context.WithCancel(ctx)
	defer stop()
	served := make(chan error, 1)
	go func() { served <- h.serve(serving, ln) }()
	err = c.order(ctx, t, h, "http://"+ln.Addr().String())
	if err == nil && c.Serve {
		<-ctx.Done()
	}
	stop()
	return errors.Join(err, <-served, h.close())
}

// order is the storefront's side.
func (c *demoCmd) order(ctx context.Context, t *terminal, h *house, base string) error {
	key, err := h.service.AddKey(ctx, demoShop)
	if err != nil {
		return err
	}
	f := storefront{base: base, key: key}
	fmt.Fprintf(t.out, "service   %s\n", base)
	for _, d := range []struct{ kind, file string }{{"blocks", "wren-w"}, {"styles", "wren-petal"}} {
		doc, err := testdata.Files.ReadFile(d.kind + "/" + d.file + ".json")
		if err != nil {
			return err
		}
		if err := f.call(ctx, http.MethodPost, "/v1/"+d.kind, doc, nil); err != nil {
			return err
		}
		fmt.Fprintf(t.out, "posted    %s %s\n", strings.TrimSuffix(d.kind, "s"), d.file)
	}
	var r runJSON
	body := []byte(`{"style":"wren-petal","sizes":"all","outputs":[{"paper":"A4"},{"paper":"Letter"},{"paper":"A0"},{"paper":"A4","kind":"companion"}]}`)
	if err := f.call(ctx, http.MethodPost, "/v1/runs", body, &r); err != nil {
		return err
	}
	fmt.Fprintf(t.out, "ordered   %s\n", r.ID)
	if err := f.watch(ctx, t.err, &r, c.Wait); err != nil {
		return err
	}
	raw, err := f.get(ctx, r.URL)
	if err != nil {
		return err
	}
	if err := writeWhole(filepath.Join(c.Out, "run.json"), raw); err != nil {
		return err
	}
	files := []fileLine{{Name: "run.json", Bytes: len(raw)}}
	for _, file := range r.Files {
		b, err := f.get(ctx, file.URL)
		if err != nil {
			return err
		}
		if err := writeWhole(filepath.Join(c.Out, filepath.Base(file.Name)), b); err != nil {
			return err
		}
		files = append(files, file.fileLine)
	}
	r.Report.Summary.BySize = r.Report.BySize
	printClosing(t.out, r.Report.Summary, files, c.Out)
	if r.State != shop.StateDone {
		return fmt.Errorf("the run is %s: %s", r.State, r.Problem.Detail)
	}
	if c.Serve {
		fmt.Fprintf(t.out, "\nserving at %s until interrupted\nkey %s\n", base, key)
	}
	return nil
}

// runJSON is as much of the run resource as the demo shows.
type runJSON struct {
	ID       string `json:"id"`
	URL      string `json:"url"`
	State    string `json:"state"`
	Progress struct {
		Stage       string `json:"stage"`
		Done, Total int
	} `json:"progress"`
	Problem struct {
		Detail string `json:"detail"`
	} `json:"problem"`
	Report struct {
		shop.Summary
		BySize []shop.SizeSummary `json:"by_size"`
	} `json:"report"`
	Files []struct {
		fileLine
		URL string
	} `json:"files"`
}

// storefront calls the service as a shop's own program would.
type storefront struct{ base, key string }

func (f storefront) do(ctx context.Context, method, path string, body []byte) ([]byte, error) {
	q, err := http.NewRequestWithContext(ctx, method, f.base+path, bytes.NewReader(body))
	if err != nil {
		return nil, err
	}
	q.Header.Set("Authorization", "Bearer "+f.key)
	if body != nil {
		q.Header.Set("Content-Type", "application/json")
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		return nil, err
	}
	defer a.Body.Close()
	b, err := io.ReadAll(io.LimitReader(a.Body, 256<<20))
	if err != nil {
		return nil, err
	}
	if a.StatusCode >= 400 {
		return nil, fmt.Errorf("%s %s answers %s: %s", method, path, strconv.Itoa(a.StatusCode), b)
	}
	return b, nil
}

func (f storefront) get(ctx context.Context, path string) ([]byte, error) {
	return f.do(ctx, http.MethodGet, path, nil)
}

func (f storefront) call(ctx context.Context, method, path string, body []byte, into any) error {
	b, err := f.do(ctx, method, path, body)
	if err != nil || into == nil {
		return err
	}
	return json.Unmarshal(b, into)
}

// watch polls the run until it is over, and shows its progress.
func (f storefront) watch(ctx context.Context, w io.Writer, r *runJSON, longest time.Duration) error {
	const every = 100 * time.Millisecond
	end := time.Now().Add(longest)
	for !shop.Over(r.State) {
		if time.Now().After(end) {
			return fmt.Errorf("the run was not over after %s", longest)
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-time.After(every):
		}
		if err := f.call(ctx, http.MethodGet, r.URL, nil, r); err != nil {
			return err
		}
		fmt.Fprintf(w, "\r%-8s  %-12s %d/%d   ", r.State, r.Progress.Stage, r.Progress.Done, r.Progress.Total)
	}
	fmt.Fprint(w, "\r\x1b[K")
	return nil
}
