package api_test

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"sizerun/api"
	"sizerun/internal/document"
	"sizerun/internal/files"
	"sizerun/internal/hooks"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/store/postgres"
	"sizerun/internal/store/sqlstore"
	"sizerun/internal/testkit/pgtest"
	"sizerun/openapi/conform"
)

// house is the whole service but for the maker: the real use cases over the embedded store and a
// folder of files, behind the real server. Every answer that its client sees is held against the
// contract.
type house struct {
	t        testing.TB
	svc      *shop.Service
	maker    *maker
	server   *api.Server
	url      string
	key      string
	contract *conform.Contract
	wire     *http.Transport
	client   *http.Client
	log      *journal
	later    *atomic.Int64 // by how much the service's clock is ahead
	stop     func() error  // ends the server as cmd does
}

type plan struct {
	cfg   api.Config
	over  func(api.Service) api.Service // wraps the service
	store func(testing.TB) *sqlstore.Store
	make  shop.Maker // instead of the small one
	// poster sends webhooks; nowhere when nil.
	poster shop.Poster
}

func onDisk(t testing.TB) *sqlstore.Store {
	store, err := embedded.Open(t.Context(), t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	return store
}

// onPostgres keeps the house's documents and runs in a PostgreSQL of its own, when there is one on
// this machine.
func onPostgres(p *plan) {
	p.store = func(t testing.TB) *sqlstore.Store {
		url := pgtest.Start(t, func(url string) error {
			_, err := postgres.Migrate(context.Background(), url)
			return err
		}).Database(t)
		store, err := postgres.Open(context.Background(), url, postgres.Options{MaxConns: 8})
		if err != nil {
			t.Fatal(err)
		}
		return store
	}
}

func newHouse(t *testing.T, plans ...func(*plan)) *house {
	t.Helper()
	return openHouse(t, plans...)
}

func openHouse(t testing.TB, plans ...func(*plan)) *house {
	t.Helper()
	p := plan{store: onDisk, cfg: api.Config{PublicURL: "https://patterns.example", Version: "v1.2.3"}, over: func(s api.Service) api.Service { return s }}
	for _, f := range plans {
		f(&p)
	}
	h := &house{t: t, maker: &maker{}, log: &journal{}, later: &atomic.Int64{}}
	if p.poster == nil {
		p.poster = hushed{hooks.New(hooks.Guard{})}
	}
	p.cfg.Log = slog.New(slog.NewTextHandler(h.log, nil))

	store := p.store(t)
	if p.make == nil {
		p.make = h.maker
	}
	disk, err := files.NewDisk(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	q := make(queue, 1000)
	h.svc = shop.New(shop.Deps{Store: store, Queue: q, Files: disk, Maker: p.make, Poster: p.poster, Terms: shop.Terms{PublicURL: p.cfg.PublicURL},
		Clock: func() time.Time { return time.Now().Add(time.Duration(h.later.Load())) }})
	work, rest := context.WithCancel(context.Background())
	var hands sync.WaitGroup
	hands.Go(func() { // a relay
		for {
			select {
			case <-work.Done():
				return
			case <-h.svc.OutboxRung():
			case <-time.After(50 * time.Millisecond):
			}
			if _, err := h.svc.Relay(work); err != nil && work.Err() == nil {
				t.Errorf("relay: %v", err)
			}
		}
	})
	hands.Go(func() { // who delivers
		for {
			select {
			case <-work.Done():
				return
			case <-h.svc.HooksRung():
			case <-time.After(20 * time.Millisecond):
			}
			if _, err := h.svc.Deliver(work); err != nil && work.Err() == nil {
				t.Errorf("deliver: %v", err)
			}
		}
	})
	for range 2 {
		hands.Go(func() { // a worker
			for {
				select {
				case <-work.Done():
					return
				case id := <-q:
					if err := h.svc.Perform(work, id); err != nil && work.Err() == nil {
						t.Errorf("perform: %v", err)
					}
				}
			}
		})
	}

	if h.server, err = api.NewServer(p.cfg, p.over(h.svc)); err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	h.url = "http://" + ln.Addr().String()
	serving, stop := context.WithCancel(context.Background())
	ended := make(chan error, 1)
	go func() { ended <- h.server.Serve(serving, ln) }()
	for deadline := time.Now().Add(10 * time.Second); !strings.Contains(h.log.String(), "msg=listening"); time.Sleep(time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the server does not say that it listens")
		}
	}
	h.stop = sync.OnceValue(func() error {
		stop()
		return <-ended
	})
	wire := &http.Transport{DisableCompression: true}
	h.wire, h.contract = wire, conform.Load(t)
	h.client = h.as(t).client
	t.Cleanup(func() {
		wire.CloseIdleConnections()
		if err := h.stop(); err != nil {
			t.Errorf("stopping: %v", err)
		}
		rest()
		hands.Wait()
		if err := store.Close(); err != nil {
			t.Errorf("closing the store: %v", err)
		}
	})
	h.key = h.newKey("Rookery Lane Patterns")
	return h
}

// hushed judges addresses like the real one and sends nothing: tests don't call strangers.
type hushed struct{ *hooks.Poster }

func (hushed) Post(context.Context, string, map[string]string, []byte) shop.Posted {
	return shop.Posted{Note: "nothing is sent"}
}

// as is the same house seen by another test, which its failures are told to.
func (h *house) as(t testing.TB) *house {
	o := *h
	o.t = t
	o.client = &http.Client{
		Transport:     h.contract.Transport(t, h.wire),
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	return &o
}

// pass lets time pass for the service.
func (h *house) pass(d time.Duration) { h.later.Add(int64(d)) }

// shopID is whose key the house has.
func (h *house) shopID() shop.ShopID {
	h.t.Helper()
	s, err := h.svc.Authenticate(h.t.Context(), h.key)
	if err != nil {
		h.t.Fatal(err)
	}
	return s.ID
}

func (h *house) newKey(name string) string {
	h.t.Helper()
	key, err := h.svc.AddKey(h.t.Context(), name)
	if err != nil {
		h.t.Fatal(err)
	}
	return key
}

type queue chan string

func (q queue) Enqueue(_ context.Context, d shop.Dispatch) error { q <- d.RunID; return nil }
func (q queue) Ping(context.Context) error                       { return nil }

func (q queue) Began(context.Context, time.Time) (time.Time, error) { return time.Time{}, nil }

// answer is what came back.
type answer struct {
	status int
	header http.Header
	body   []byte
}

// into reads the body as JSON.
func (a answer) into(t testing.TB, v any) {
	t.Helper()
	if err := json.Unmarshal(a.body, v); err != nil {
		t.Fatalf("%d %s: %v", a.status, a.body, err)
	}
}

type problem struct {
	Type, Title, Detail string
	Status              int
	RequestID           string `json:"request_id"`
	Run                 string
	Errors              []struct{ Pointer, Parameter, Rule, Size, Piece, Edge, Detail, Valid, Remedy string }
}

// kind is the last part of a problem's type.
func (p problem) kind() string { return p.Type[strings.LastIndex(p.Type, "/")+1:] }

// do sends a request with the house's key. Headers are pairs; a header of "" is left out.
func (h *house) do(method, path, body string, headers ...string) answer {
	h.t.Helper()
	var rd io.Reader
	if body != "" {
		rd = strings.NewReader(body)
	}
	r, err := http.NewRequestWithContext(h.t.Context(), method, h.url+path, rd)
	if err != nil {
		h.t.Fatal(err)
	}
	r.Header.Set("Authorization", "Bearer "+h.key)
	if body != "" {
		r.Header.Set("Content-Type", "application/json")
	}
	for i := 0; i < len(headers); i += 2 {
		r.Header.Del(headers[i])
		if headers[i+1] != "" {
			r.Header.Set(headers[i], headers[i+1])
		}
	}
	return h.send(r)
}

func (h *house) send(r *http.Request) answer {
	h.t.Helper()
	resp, err := h.client.Do(r)
	if err != nil {
		h.t.Fatalf("%s %s: %v", r.Method, r.URL, err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		h.t.Fatalf("%s %s: %v", r.Method, r.URL, err)
	}
	return answer{resp.StatusCode, resp.Header, b}
}

// must is do for requests that have to end with the given status.
func (h *house) must(status int, method, path, body string, headers ...string) answer {
	h.t.Helper()
	a := h.do(method, path, body, headers...)
	if a.status != status {
		h.t.Fatalf("%s %s: %d %s, want %d", method, path, a.status, a.body, status)
	}
	return a
}

// refused is must for refusals; it gives the problem.
func (h *house) refused(status int, kind, method, path, body string, headers ...string) problem {
	h.t.Helper()
	var p problem
	h.must(status, method, path, body, headers...).into(h.t, &p)
	if p.kind() != kind {
		h.t.Fatalf("%s %s: the problem is %q, want %q: %s", method, path, p.kind(), kind, p.Detail)
	}
	return p
}

// example is a body of the contract's.
func example(t testing.TB, operation, name string) string {
	t.Helper()
	c := conform.Load(t)
	for _, op := range c.Operations() {
		if op.ID == operation {
			b, err := json.Marshal(c.Examples(op)[name])
			if err != nil || string(b) == "null" {
				t.Fatalf("%s has no example %s", operation, name)
			}
			return string(b)
		}
	}
	t.Fatalf("there is no operation %s", operation)
	return ""
}

// stock puts the contract's block and style into the house.
func (h *house) stock() {
	h.t.Helper()
	h.must(201, "POST", "/v1/blocks", example(h.t, "saveBlock", "sleeve"))
	h.must(201, "POST", "/v1/styles", example(h.t, "saveStyle", "petal"))
}

type run struct {
	ID, URL, State, Deliver string
	Sizes                   []string
	ExternalID              *string `json:"external_id"`
	Problem                 *problem
	Report                  *struct {
		Pass, Warn, Fail int
		URL              string
	}
	Files []struct {
		ID, Name, SHA256, URL string
		MediaType             string `json:"media_type"`
		Bytes                 int
	}
	CancelAsked bool `json:"cancel_asked"`
}

// maker stands in for the pipeline: it reads the documents as the real one does and makes small
// files that depend on all of its input. What it should do besides is told by the stamp.
type maker struct {
	mu   sync.Mutex
	gate chan struct{} // Make waits for it to be closed, when there is one
}

func (m *maker) hold() (release func()) {
	c := make(chan struct{})
	m.mu.Lock()
	m.gate = c
	m.mu.Unlock()
	return sync.OnceFunc(func() { close(c) })
}

func (m *maker) sizes(in shop.Making) ([]string, error) {
	b, err := document.DecodeBlock(in.Block, document.DefaultLimits())
	if err != nil {
		return nil, pattern.FaultsOf(err).Under("/block")
	}
	if in.Style != nil {
		if _, err := document.DecodeStyle(in.Style, document.DefaultLimits()); err != nil {
			return nil, pattern.FaultsOf(err).Under("/style")
		}
	}
	sizes := in.Request.Sizes
	if sizes == nil {
		sizes = b.Chart.Run
	}
	for i, s := range sizes {
		if b.Chart.Index(s) < 0 {
			return nil, pattern.Faults{{Rule: "unknown_size", Pointer: fmt.Sprintf("/sizes/%d", i), Size: s,
				Detail: "the block has no size " + pattern.Quote(s), Valid: pattern.Choices(b.Chart.Run), Remedy: pattern.Suggest(s, b.Chart.Run)}}
		}
	}
	for _, body := range in.Request.Bodies {
		sizes = append(sizes[:len(sizes):len(sizes)], body.Name)
	}
	return sizes, nil
}

func (m *maker) Check(_ context.Context, in shop.Making) ([]byte, shop.Summary, error) {
	sizes, err := m.sizes(in)
	if err != nil {
		return nil, shop.Summary{}, err
	}
	s := shop.Summary{Sizes: sizes, Pieces: 2}
	checks := []map[string]any{}
	for _, size := range sizes {
		verdict := "pass"
		if in.Request.Stamp == "will not sew" {
			verdict = "fail"
			s.Fail++
		} else {
			s.Pass++
		}
		s.BySize = append(s.BySize, shop.SizeSummary{Size: size, Pass: s.Pass, Fail: s.Fail})
		checks = append(checks, map[string]any{"rule": "cap_ease", "size": size, "measured": 9.4, "want": [2]float64{6, 14}, "tolerance": 0.1, "unit": "mm", "verdict": verdict, "text": "The cap is longer than the armhole."})
	}
	b, err := json.Marshal(map[string]any{"sizes": sizes, "pass": s.Pass, "warn": 0, "fail": s.Fail, "checks": checks})
	return b, s, err
}

func (m *maker) Make(ctx context.Context, in shop.Making, progress func(string, int, int)) (shop.Product, error) {
	m.mu.Lock()
	gate := m.gate
	m.mu.Unlock()
	if gate != nil {
		select {
		case <-gate:
		case <-ctx.Done():
			return shop.Product{}, ctx.Err()
		}
	}
	report, s, err := m.Check(ctx, in)
	if err != nil {
		return shop.Product{}, err
	}
	p := shop.Product{Report: report, Summary: s, Failed: s.Fail > 0}
	for i, o := range in.Request.Outputs {
		progress("write", i, len(in.Request.Outputs))
		sum := sha256.Sum256(fmt.Appendf(nil, "%s|%s|%+v|%+v", in.Block, in.Style, in.Request, o))
		p.Files = append(p.Files, shop.ProductFile{Name: "wren-petal_" + o.Paper + ".pdf", MediaType: "application/pdf", Paper: o.Paper, Pages: 1,
			Data: bytes.Repeat(sum[:], 40)})
	}
	p.Summary.Pages = len(p.Files)
	return p, nil
}

func (m *maker) Preview(_ context.Context, in shop.Making) ([]byte, error) {
	sizes, err := m.sizes(in)
	return fmt.Appendf(nil, "<svg xmlns=\"http://www.w3.org/2000/svg\" data-sizes=\"%d\"/>", len(sizes)), err
}

func (m *maker) Changes() []byte {
	return []byte(`[{"name":"lengthen","sentence":"Makes a piece longer.","promise":"","parameters":{"type":"object","properties":{"by":{"description":"How much."}}},"drawing":[]},
		{"name":"petal","sentence":"Two halves that overlap.","promise":"The cap keeps its length.","parameters":{"type":"object","properties":{}},"drawing":[{"kind":"seam","path":"M0 0L100 100"}]}]`)
}

func (m *maker) Version() string { return "test-1" }

// journal is a log that may be read while it is written.
type journal struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (j *journal) Write(p []byte) (int, error) {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.Write(p)
}

func (j *journal) String() string {
	j.mu.Lock()
	defer j.mu.Unlock()
	return j.b.String()
}
