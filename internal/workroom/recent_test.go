package workroom

import (
	"bytes"
	"context"
	"fmt"
	"sync"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// variations are orders of one design, as several buyers and one shop send them.
func variations(t testing.TB) []shop.Making {
	t.Helper()
	var out []shop.Making
	for _, stamp := range []string{"", "made for order 1", "made for order 1002, with a name that is so long that it has no room in the foot of a page: Maria Magdalena of Everywhere and Elsewhere", " ", "заказ №7"} {
		for _, o := range [][]document.Output{{{Paper: "A4"}}, {{Paper: "A0", SeamLines: true}, {Paper: "A0", PerSize: true}, {Paper: "A4", Companion: true, Drawings: []string{"14"}}}} {
			m := making(t, "8", "14")
			m.Request.Stamp, m.Request.Outputs = stamp, o
			out = append(out, m)
		}
	}
	return out
}

func sameProduct(t *testing.T, what string, got, want shop.Product) {
	t.Helper()
	if !bytes.Equal(got.Report, want.Report) || len(got.Files) != len(want.Files) || got.Summary.Pages != want.Summary.Pages {
		t.Fatalf("%s: another report, or %d files of %d", what, len(got.Files), len(want.Files))
	}
	for i := range want.Files {
		if got.Files[i].Name != want.Files[i].Name || !bytes.Equal(got.Files[i].Data, want.Files[i].Data) {
			t.Errorf("%s: %s has other bytes than when it is made anew", what, want.Files[i].Name)
		}
	}
}

// Whatever a room remembers, and however many are at it, an order gets the bytes that it would have got from a room
// that remembers nothing.
func TestARoomThatRemembersMakesTheSameBytes(t *testing.T) {
	orders := variations(t)
	want := make([]shop.Product, len(orders))
	for i, m := range orders {
		var err error
		if want[i], err = room(t).Make(context.Background(), m, nil); err != nil {
			t.Fatal(err)
		}
	}
	r := room(t)
	var all sync.WaitGroup
	for k := range 2 {
		all.Go(func() {
			for i := range orders {
				i = (i*7 + k*5) % len(orders)
				got, err := r.Make(context.Background(), orders[i], nil)
				if err != nil {
					t.Error(err)
					return
				}
				sameProduct(t, fmt.Sprintf("order %d, %q", i, orders[i].Request.Stamp), got, want[i])
			}
		})
	}
	all.Wait()
	if len(r.recent.designs) != 1 {
		t.Errorf("%d designs are kept of one", len(r.recent.designs))
	}
}

// What another order asks for is judged anew, and another design is another.
func TestARoomRemembersNoVerdictOnTheRequest(t *testing.T) {
	r, m := room(t), making(t, "14")
	if _, err := r.Make(context.Background(), m, nil); err != nil {
		t.Fatal(err)
	}
	bad := m
	bad.Request.Outputs = []document.Output{{Paper: "A4", Companion: true, Drawings: []string{"8"}}}
	if _, err := r.Make(context.Background(), bad, nil); len(pattern.FaultsOf(err)) != 1 {
		t.Errorf("a drawing of a size that is not made: %v", err)
	}
	other := m
	other.Style = bytes.Replace(m.Style, []byte(`"2in"`), []byte(`"3in"`), 1)
	a, errA := r.Make(context.Background(), m, nil)
	b, errB := r.Make(context.Background(), other, nil)
	if errA != nil || errB != nil || bytes.Equal(a.Files[0].Data, b.Files[0].Data) {
		t.Errorf("another style is the same pattern: %v %v", errA, errB)
	}
	block := m
	block.Style = nil
	c, err := r.Make(context.Background(), block, nil)
	if err != nil || bytes.Equal(a.Files[0].Data, c.Files[0].Data) {
		t.Errorf("the block alone is the same pattern: %v", err)
	}
}

// A room forgets: what it keeps has a bound.
func TestARoomKeepsFewDesignsAndSheets(t *testing.T) {
	r := room(t)
	for i, size := range wren(t).Chart.Run[:mostDesigns+1] {
		m := making(t, size)
		for _, paper := range []string{"A0", "A4", "Roll914", "Letter", "Projector"} {
			m.Request.Outputs = []document.Output{{Paper: paper}}
			if _, err := r.Make(context.Background(), m, nil); err != nil {
				t.Fatal(err)
			}
		}
		if n := len(r.recent.designs); n != min(i+1, mostDesigns) {
			t.Fatalf("after %d designs %d are kept", i+1, n)
		}
		for _, d := range r.recent.designs {
			if len(d.sheets) != mostSheets || len(d.order) != mostSheets {
				t.Fatalf("%d sheets are kept", len(d.sheets))
			}
		}
	}
}
