package workroom

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// The sizes whose working drawings are asked for are drawn in the companion and told in the report, the
// same numbers in both.
func TestWorkingDrawingsOfTheSizesAskedForComeAsPagesAndAsData(t *testing.T) {
	pages := map[string]int{}
	for _, c := range []struct {
		name  string
		out   document.Output
		sizes []string
	}{
		{"base", document.Output{}, []string{"14"}},
		{"two", document.Output{Drawings: []string{"22", "8"}}, []string{"8", "22"}},
		{"all", document.Output{EveryDrawing: true}, []string{"8", "14", "22"}},
	} {
		m := making(t, "8", "14", "22")
		c.out.Paper, c.out.Companion = "A4", true
		m.Request.Outputs = []document.Output{c.out}
		p, err := room(t).Make(context.Background(), m, nil)
		if err != nil {
			t.Fatal(err)
		}
		pages[c.name] = p.Files[0].Pages
		var r struct {
			Drawings []struct {
				Title, Size string
				Measures    []struct{ MM float64 }
			} `json:"working_drawings"`
			Cutting []struct {
				Cloth  string
				Pieces []struct {
					Piece, How string
					Cut        int
				}
			}
			Order []struct {
				Step    int
				Text    string
				Amounts []struct {
					Name string
					MM   map[string]float64
				}
			} `json:"order_of_sewing"`
		}
		if err := json.Unmarshal(p.Report, &r); err != nil {
			t.Fatal(err)
		}
		var sizes []string
		long := map[float64]bool{}
		for _, d := range r.Drawings {
			sizes = append(sizes, d.Size)
			sum := 0.0
			for _, x := range d.Measures {
				sum += x.MM
			}
			long[sum] = true
			if !strings.Contains(d.Title, "size "+d.Size) {
				t.Errorf("%s is of size %s", d.Title, d.Size)
			}
		}
		if !slices.Equal(sizes, c.sizes) {
			t.Errorf("%s: drawings of sizes %v", c.name, sizes)
		}
		if len(long) != len(c.sizes) && c.name != "base" {
			t.Errorf("%s: sizes share their measures: %v", c.name, long)
		}
		for i, s := range r.Order {
			if s.Step != i+1 || s.Text == "" {
				t.Errorf("step %d is numbered %d: %q", i+1, s.Step, s.Text)
			}
			for _, a := range s.Amounts {
				if len(a.MM) != 3 {
					t.Errorf("step %d tells %s in %d of 3 sizes", s.Step, a.Name, len(a.MM))
				}
			}
		}
		if len(r.Cutting) != 1 || r.Cutting[0].Cloth != "main" || len(r.Cutting[0].Pieces) != 5 || r.Cutting[0].Pieces[0].How != "on the fold" || r.Cutting[0].Pieces[2].Cut != 2 {
			t.Errorf("cutting: %+v", r.Cutting)
		}
		if len(r.Order) < 8 {
			t.Errorf("%d steps", len(r.Order))
		}
	}
	if pages["two"] != pages["base"]+1 || pages["all"] != pages["base"]+2 {
		t.Errorf("pages: %v", pages)
	}
}

func TestDrawingsOfASizeThatIsNotMadeAreRefused(t *testing.T) {
	m := making(t, "8", "14")
	m.Request.Outputs = []document.Output{{Paper: "A0"}, {Paper: "A4", Companion: true, Drawings: []string{"14", "22"}}}
	_, err := room(t).Make(context.Background(), m, nil)
	fs := pattern.FaultsOf(err)
	if len(fs) != 1 || fs[0].Rule != "unknown_size" || fs[0].Pointer != "/outputs/1/drawings/1" || fs[0].Size != "22" || !strings.Contains(fs[0].Valid, "14") {
		t.Errorf("%+v", fs)
	}
}

// A style of many changes in many sizes would be a book: it is refused before anything is made.
func TestTooManyWorkingDrawingsAreRefused(t *testing.T) {
	m := making(t)
	m.Request.Sizes = nil
	changes := make([]string, 30)
	for i := range changes {
		changes[i] = `{"change":"lengthen","piece":"sleeve","by":"1mm"}`
	}
	m.Style = []byte(fmt.Sprintf(`{"style":"many","block":"wren-w","changes":[%s],"allowances":{"default":"10mm"}}`, strings.Join(changes, ",")))
	for _, c := range []struct {
		out  document.Output
		want string
	}{
		{document.Output{EveryDrawing: true}, "/outputs/0/drawings"},
		{document.Output{Drawings: []string{"8"}}, ""},
	} {
		c.out.Paper, c.out.Companion = "A4", true
		m.Request.Outputs = []document.Output{c.out}
		_, err := room(t).Make(context.Background(), m, nil)
		got := ""
		for _, f := range pattern.FaultsOf(err) {
			if f.Rule == "count" && strings.Contains(f.Pointer, "drawings") {
				got = f.Pointer
				if !strings.Contains(f.Valid, "10 sizes") {
					t.Errorf("what is valid: %s", f.Valid)
				}
			}
		}
		if got != c.want {
			t.Errorf("%+v: refused at %q, want %q (%v)", c.out, got, c.want, err)
		}
	}
}
