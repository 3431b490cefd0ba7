package drills

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"flag"
	"fmt"
	"math/rand/v2"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"sizerun/testdata"
)

var (
	faultsWanted = flag.Int("faults", 60, "how many faults there are")
	seed         = flag.Uint64("seed", 1, "draws the moments")
)

type run struct {
	ID         string `json:"id"`
	State      string `json:"state"`
	ExternalID string `json:"external_id"`
	Problem    *struct{ Detail string }
	Files      []struct {
		Name, URL, SHA256 string
		Bytes             int
	}
}

// order is what a customer sent and what she was told.
type order struct {
	external string
	run      run
	by       *customer
}

// fault is one thing that goes wrong, and comes right again.
type fault struct {
	name   string
	weight int
	do     func(s *site, r *rand.Rand)
}

func faults() []fault {
	away := func(r *rand.Rand, least, most int) {
		time.Sleep(time.Duration(least+r.IntN(most-least)) * time.Millisecond)
	}
	return []fault{
		{"a worker is killed", 34, func(s *site, r *rand.Rand) { s.workers[r.IntN(2)].kill() }},
		{"an API is killed", 26, func(s *site, r *rand.Rand) { s.apis[r.IntN(2)].kill() }},
		{"Redis is flushed", 16, func(s *site, _ *rand.Rand) { s.redis.Flush(s.t) }},
		{"Redis is killed and comes back empty", 10, func(s *site, r *rand.Rand) { s.redis.Down(); away(r, 100, 1500); s.redis.Up(s.t) }},
		{"PostgreSQL is stopped and comes back", 8, func(s *site, r *rand.Rand) { s.pg.Down(); away(r, 200, 2000); s.pg.Up(s.t) }},
		{"the storage goes away and comes back", 6, func(s *site, r *rand.Rand) { s.storage.Down(); away(r, 200, 2000); s.storage.Up(s.t) }},
	}
}

// TestOrdersOutliveEverything is the drill.
func TestOrdersOutliveEverything(t *testing.T) {
	if testing.Short() {
		t.Skip("a drill of a minute and more")
	}
	s := newSite(t)
	bell := newDoorbell(t)
	ctx, cancel := context.WithTimeout(context.Background(), 3*time.Minute+time.Duration(*faultsWanted)*3*time.Second)
	defer cancel()
	var customers []*customer
	for _, name := range []string{"Rookery Lane Patterns", "Heron Street"} {
		c := &customer{s: s, key: s.do("key", "add", name)}
		customers = append(customers, c)
		for _, d := range []string{"blocks/wren-w", "styles/wren-petal"} {
			doc, err := testdata.Files.ReadFile(d + ".json")
			if err != nil {
				t.Fatal(err)
			}
			if st, err := c.call(ctx, http.MethodPost, "/v1/"+strings.Split(d, "/")[0], "", doc, nil); err != nil || st >= 300 {
				t.Fatal(st, err)
			}
		}
		if st, err := c.call(ctx, http.MethodPost, "/v1/webhooks", "", fmt.Appendf(nil, `{"url":%q}`, bell.URL), nil); err != nil || st != 201 {
			t.Fatal(st, err)
		}
	}

	// Orders flow until the last fault is over.
	flowing, stop := context.WithCancel(ctx)
	var taken []order
	var mu sync.Mutex
	var flow sync.WaitGroup
	for k, c := range customers {
		flow.Go(func() {
			r := rand.New(rand.NewPCG(*seed, uint64(100+k)))
			for i := 0; flowing.Err() == nil; i++ {
				o := order{external: fmt.Sprintf("order-%d-%d", k, i), by: c}
				sizes := []string{`["14"]`, `["8","10"]`, `"all"`}[r.IntN(3)]
				// Every third is a design that was ordered before.
				stamp := ""
				if r.IntN(3) > 0 {
					stamp = o.external
				}
				body := fmt.Appendf(nil, `{"style":"wren-petal","sizes":%s,"stamp":%q,"external_id":%q}`, sizes, stamp, o.external)
				// An order on its way is sent again until it is answered, like any good storefront does.
				st, err := c.call(ctx, http.MethodPost, "/v1/runs", o.external, body, &o.run)
				if err != nil || st >= 300 {
					t.Errorf("order %s: %d, %v", o.external, st, err)
					return
				}
				mu.Lock()
				taken = append(taken, o)
				mu.Unlock()
				time.Sleep(time.Duration(100+r.IntN(400)) * time.Millisecond)
			}
		})
	}

	r := rand.New(rand.NewPCG(*seed, 7))
	all := faults()
	sum := 0
	for _, f := range all {
		sum += f.weight
	}
	did := map[string]int{}
	for i := range *faultsWanted {
		time.Sleep(time.Duration(50+r.IntN(500)) * time.Millisecond)
		if i == *faultsWanted/2 { // once, for long
			s.pg.Down()
			time.Sleep(10 * time.Second)
			s.pg.Up(t)
			did["PostgreSQL is stopped for 10 s"]++
			continue
		}
		at := r.IntN(sum)
		for _, f := range all {
			if at -= f.weight; at < 0 {
				f.do(s, r)
				did[f.name]++
				break
			}
		}
	}
	stop()
	flow.Wait()
	began := time.Now()

	// And now it is counted.
	for i := range taken {
		o := &taken[i]
		for o.run.State != "done" && o.run.State != "failed" && o.run.State != "cancelled" {
			if _, err := o.by.call(ctx, http.MethodGet, "/v1/runs/"+o.run.ID, "", nil, &o.run); err != nil {
				t.Fatalf("%s is %s: %v", o.external, o.run.State, err)
			}
			time.Sleep(20 * time.Millisecond)
		}
		if o.run.State != "done" || o.run.ExternalID != o.external {
			t.Errorf("%s: run %s of %s is %s: %+v", o.external, o.run.ID, o.run.ExternalID, o.run.State, o.run.Problem)
		}
		for _, f := range o.run.Files {
			_, b, err := o.by.once(ctx, http.MethodGet, s.apis[0].url+f.URL, "", nil)
			sum := sha256.Sum256(b)
			if err != nil || len(b) != f.Bytes || hex.EncodeToString(sum[:]) != f.SHA256 {
				t.Errorf("%s: %s has %d bytes of %d, %v", o.external, f.Name, len(b), f.Bytes, err)
			}
		}
		if len(o.run.Files) != 2 {
			t.Errorf("%s has %d files", o.external, len(o.run.Files))
		}
	}
	settled := time.Since(began)
	ids := map[string]string{}
	for k, c := range customers {
		cursor, listed := "", 0
		for {
			var page struct {
				Items      []run   `json:"items"`
				NextCursor *string `json:"next_cursor"`
			}
			if _, err := c.call(ctx, http.MethodGet, "/v1/runs?limit=200&cursor="+cursor, "", nil, &page); err != nil {
				t.Fatal(err)
			}
			for _, r := range page.Items {
				if was, twice := ids[r.ExternalID]; twice {
					t.Errorf("%s has the runs %s and %s", r.ExternalID, was, r.ID)
				}
				ids[r.ExternalID] = r.ID
				listed++
			}
			if page.NextCursor == nil {
				break
			}
			cursor = *page.NextCursor
		}
		if n := len(slices.DeleteFunc(slices.Clone(taken), func(o order) bool { return o.by != c })); n != listed {
			t.Errorf("customer %d has ordered %d and sees %d runs", k, n, listed)
		}
	}
	// Each run is told of, by one event; how often it is sent is Standard Webhooks' at-least-once.
	for _, o := range taken {
		if ids[o.external] != o.run.ID {
			t.Errorf("%s was told of run %s, the list has %s", o.external, o.run.ID, ids[o.external])
		}
		for bell.events(o.run.ID) == 0 && ctx.Err() == nil {
			time.Sleep(20 * time.Millisecond)
		}
		if n := bell.events(o.run.ID); n != 1 {
			t.Errorf("%s: run %s was told of by %d events", o.external, o.run.ID, n)
		}
	}
	if len(taken) < *faultsWanted {
		t.Errorf("only %d orders flowed in %d faults", len(taken), *faultsWanted)
	}
	t.Logf("%d orders, %d faults: %v; all over %v after the last", len(taken), *faultsWanted, did, settled.Round(100*time.Millisecond))
}
