package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"sizerun/internal/config"
	"sizerun/openapi/conform"
)

// request is one of a .http file.
type request struct {
	title, name  string
	answers      []int
	method, url  string
	header       [][2]string
	body         string
	line         int
	bodyFromFile string
}

// readRequests reads a .http file: requests between lines of ###, variables in lines of @, comments in
// lines of #, of which "# @name" names a request and "# answers" says what comes back.
func readRequests(text string) (vars map[string]string, out []request, err error) {
	vars = map[string]string{}
	var r *request
	inBody := false
	for i, line := range strings.Split(text, "\n") {
		fault := func(what string) error { return fmt.Errorf("line %d: %s: %q", i+1, what, line) }
		switch {
		case strings.HasPrefix(line, "###"):
			out = append(out, request{title: strings.TrimSpace(line[3:]), line: i + 1})
			r, inBody = &out[len(out)-1], false
		case r == nil && strings.HasPrefix(line, "@"):
			name, value, ok := strings.Cut(line[1:], "=")
			if !ok {
				return nil, nil, fault("no variable")
			}
			vars[strings.TrimSpace(name)] = strings.TrimSpace(value)
		case strings.HasPrefix(line, "# @name "):
			r.name = strings.TrimSpace(line[len("# @name "):])
		case strings.HasPrefix(line, "# answers "):
			for s := range strings.SplitSeq(line[len("# answers "):], ",") {
				n, err := strconv.Atoi(strings.TrimSpace(s))
				if err != nil {
					return nil, nil, fault("no status")
				}
				r.answers = append(r.answers, n)
			}
		case inBody && strings.HasPrefix(line, "< "):
			r.bodyFromFile = line[2:]
		case inBody:
			r.body += line + "\n"
		case strings.HasPrefix(line, "#") || r == nil && line == "":
		case r == nil:
			return nil, nil, fault("it belongs to no request")
		case r.method == "":
			var ok bool
			if r.method, r.url, ok = strings.Cut(line, " "); !ok {
				return nil, nil, fault("no request")
			}
		case line == "":
			inBody = true
		default:
			name, value, ok := strings.Cut(line, ": ")
			if !ok {
				return nil, nil, fault("no header")
			}
			r.header = append(r.header, [2]string{name, value})
		}
	}
	return vars, out, nil
}

// said is what a named request was answered.
type said struct {
	header http.Header
	body   []byte
}

var reference = regexp.MustCompile(`\{\{([^{}]+)\}\}`)

// fill puts values in for what stands in {{}}: a variable, or a part of an earlier answer.
func fill(s string, vars map[string]string, earlier map[string]said) (string, error) {
	var fault error
	s = reference.ReplaceAllStringFunc(s, func(m string) string {
		what := strings.TrimSpace(m[2 : len(m)-2])
		if v, ok := vars[what]; ok {
			return v
		}
		name, path, _ := strings.Cut(what, ".response.")
		a, ok := earlier[name]
		if !ok {
			fault = fmt.Errorf("nothing is called %s", name)
			return m
		}
		if h, ok := strings.CutPrefix(path, "headers."); ok {
			return a.header.Get(h)
		}
		v, err := member(a.body, strings.TrimPrefix(path, "body.$."))
		if err != nil {
			fault = fmt.Errorf("%s: %w", what, err)
		}
		return v
	})
	return s, fault
}

// member finds a.b[0].c in JSON.
func member(doc []byte, path string) (string, error) {
	var v any
	if err := json.Unmarshal(doc, &v); err != nil {
		return "", err
	}
	for part := range strings.SplitSeq(strings.NewReplacer("[", ".", "]", "").Replace(path), ".") {
		switch w := v.(type) {
		case map[string]any:
			v = w[part]
		case []any:
			if i, err := strconv.Atoi(part); err == nil && i < len(w) {
				v = w[i]
				continue
			}
			return "", fmt.Errorf("the list has no %s", part)
		}
	}
	s, ok := v.(string)
	if !ok {
		return "", fmt.Errorf("it is %v, not a text", v)
	}
	return s, nil
}

// The collection of requests works against a real service, from the top to the end; each answer is
// what the collection says and what the contract allows; and no operation is left out.
func TestTheCollectionOfRequestsWorks(t *testing.T) {
	const file = "../../openapi/requests.http"
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	vars, all, err := readRequests(string(text))
	if err != nil {
		t.Fatal(err)
	}
	base, key := serveDemo(t)
	vars["base"], vars["key"] = base, key

	c := conform.Load(t)
	client := &http.Client{Transport: c.Transport(t, nil), Timeout: time.Minute}
	asked, earlier := map[string]bool{}, map[string]said{}
	for _, r := range all {
		if r.bodyFromFile != "" {
			b, err := os.ReadFile(filepath.Join(filepath.Dir(file), r.bodyFromFile))
			if err != nil {
				t.Fatalf("line %d: %v", r.line, err)
			}
			r.body = string(b)
		}
		get := func(s string) string {
			s, err := fill(s, vars, earlier)
			if err != nil {
				t.Fatalf("line %d, %s: %v", r.line, r.title, err)
			}
			return s
		}
		q, err := http.NewRequestWithContext(t.Context(), r.method, get(r.url), strings.NewReader(strings.TrimSpace(get(r.body))))
		if err != nil {
			t.Fatalf("line %d: %v", r.line, err)
		}
		for _, h := range r.header {
			q.Header.Set(h[0], get(h[1]))
		}
		a, err := client.Do(q)
		if err != nil {
			t.Fatalf("line %d, %s: %v", r.line, r.title, err)
		}
		b, err := io.ReadAll(a.Body)
		a.Body.Close()
		if err != nil {
			t.Fatal(err)
		}
		ok := false
		for _, want := range r.answers {
			ok = ok || a.StatusCode == want
		}
		if !ok {
			t.Errorf("line %d, %s: %s, want %v\n%s", r.line, r.title, a.Status, r.answers, b[:min(len(b), 600)])
		}
		if op := c.Find(r.method, q.URL); op != nil {
			asked[op.ID] = true
		}
		if r.name != "" {
			earlier[r.name] = said{a.Header, b}
		}
		if r.title == "Take the pattern: print page 1 at 100 % and measure its test squares, 50 mm and 2 in" && !bytes.HasPrefix(b, []byte("%PDF-")) {
			t.Errorf("the pattern is no PDF: %q", b[:min(len(b), 20)])
		}
	}
	for _, op := range c.Operations() {
		if !asked[op.ID] {
			t.Errorf("openapi/requests.http lacks a request for %s: %s %s", op.ID, op.Method, op.Path)
		}
	}
}

// serveDemo runs the service as "serve --demo" does, on a free port.
func serveDemo(t *testing.T) (base, key string) {
	t.Helper()
	t.Setenv("SIZERUN_DATA", t.TempDir())
	cfg, err := config.FromEnv()
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	h, err := build(ctx, cfg, slog.New(slog.DiscardHandler), false)
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := h.stockDemo(ctx, &out); err != nil {
		t.Fatal(err)
	}
	_, key, _ = strings.Cut(strings.TrimSpace(out.String()), ": ")
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- h.serve(ctx, ln) }()
	t.Cleanup(func() {
		cancel()
		if err := <-served; err != nil {
			t.Error(err)
		}
		if err := h.close(); err != nil {
			t.Error(err)
		}
	})
	return "http://" + ln.Addr().String(), key
}
