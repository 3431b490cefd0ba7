package shop_test

import (
	"context"
	"errors"
	"sync"
	"testing"
	"time"

	"sizerun/internal/files"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/testkit/shopkit"
)

// house is a service with everything around it, on the embedded store, and a queue that the test
// empties by hand.
type house struct {
	*testing.T
	*shop.Service
	ctx   context.Context
	maker *shopkit.Maker
	store shop.Store
	files *files.Disk
	queue *queue
	clock *clock
	shop  shop.ShopID
}

// queue keeps what was enqueued.
type queue struct {
	mu   sync.Mutex
	got  []shop.Dispatch
	away error
	lost time.Time // when it last lost everything
}

func (q *queue) Began(context.Context, time.Time) (time.Time, error) {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.lost, q.away
}

func (q *queue) Enqueue(_ context.Context, d shop.Dispatch) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.away != nil {
		return q.away
	}
	q.got = append(q.got, d)
	return nil
}

func (q *queue) Ping(context.Context) error {
	q.mu.Lock()
	defer q.mu.Unlock()
	return q.away
}

func (q *queue) take() []shop.Dispatch {
	q.mu.Lock()
	defer q.mu.Unlock()
	got := q.got
	q.got = nil
	return got
}

type clock struct {
	mu sync.Mutex
	at time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(time.Microsecond) // no two moments are the same
	return c.at
}

func (c *clock) Pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

func open(t *testing.T, set func(*shop.Deps)) *house {
	t.Helper()
	dir := t.TempDir()
	st, err := embedded.Open(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := st.Close(); err != nil {
			t.Error(err)
		}
	})
	fs, err := files.NewDisk(dir + "/files")
	if err != nil {
		t.Fatal(err)
	}
	h := &house{T: t, ctx: context.Background(), maker: &shopkit.Maker{}, store: st, files: fs, queue: &queue{},
		clock: &clock{at: time.Date(2026, 3, 4, 5, 6, 7, 0, time.UTC)}}
	d := shop.Deps{Store: st, Queue: h.queue, Files: fs, Maker: h.maker, Clock: h.clock.Now,
		Terms: shop.Terms{TouchEvery: 4 * time.Millisecond, PollEvery: 10 * time.Millisecond}}
	if set != nil {
		set(&d)
	}
	h.Service = shop.New(d)
	h.shop = h.newShop("Rookery Lane Patterns")
	h.stock(h.shop)
	return h
}

func (h *house) ok(err error) {
	h.Helper()
	if err != nil {
		h.Fatal(err)
	}
}

func (h *house) refused(err error, want shop.Kind) *shop.Error {
	h.Helper()
	var e *shop.Error
	if !errors.As(err, &e) || e.Kind != want {
		h.Fatalf("the answer is %v, not %v", err, want)
	}
	if e.Detail == "" {
		h.Errorf("%v: nothing is said", e.Kind)
	}
	return e
}

func (h *house) newShop(name string) shop.ShopID {
	h.Helper()
	secret, err := h.AddKey(h.ctx, name)
	h.ok(err)
	s, err := h.Authenticate(h.ctx, secret)
	h.ok(err)
	return s.ID
}

// stock gives a shop the block and the style.
func (h *house) stock(s shop.ShopID) {
	h.Helper()
	_, _, err := h.SaveBlock(h.ctx, s, shopkit.Block("plain"))
	h.ok(err)
	_, _, err = h.SaveStyle(h.ctx, s, shopkit.Style("sleeve", "plain"))
	h.ok(err)
}

func (h *house) order(body string) shop.Run {
	h.Helper()
	r, _, err := h.SubmitRun(h.ctx, h.shop, []byte(body), shop.IdempotencyKey{})
	h.ok(err)
	return r
}

// work relays and performs until nothing is due.
func (h *house) work() {
	h.Helper()
	for {
		_, err := h.Relay(h.ctx)
		h.ok(err)
		ds := h.queue.take()
		if len(ds) == 0 {
			return
		}
		for _, d := range ds {
			h.ok(h.Perform(h.ctx, d.RunID))
		}
	}
}

func (h *house) state(id, want string) shop.Run {
	h.Helper()
	r, err := h.Run(h.ctx, h.shop, id)
	h.ok(err)
	if r.State != want {
		h.Fatalf("the run is %s, not %s: %+v", r.State, want, r.Problem)
	}
	return r
}

const plain = `{"style": "sleeve", "sizes": "all", "outputs": [{"paper": "A4"}, {"paper": "A0"}], "stamp": "order 1001"}`

// Run is the service's, not the test's.
func (h *house) Run(ctx context.Context, s shop.ShopID, id string) (shop.Run, error) {
	return h.Service.Run(ctx, s, id)
}
