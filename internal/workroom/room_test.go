package workroom

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
	"sizerun/testdata"
)

var update = flag.Bool("update", false, "write the goldens and the demo blocks that are made from others")

// demo is a document of Rookery Lane Patterns.
func demo(t testing.TB, name string) []byte {
	t.Helper()
	b, err := testdata.Files.ReadFile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// making is an order of the demo style.
func making(t testing.TB, sizes ...string) shop.Making {
	t.Helper()
	m := shop.Making{Block: demo(t, "blocks/wren-w"), Style: demo(t, "styles/wren-petal")}
	m.Request = document.RunRequest{Style: "wren-petal", Sizes: sizes, Outputs: []document.Output{{Paper: "A0"}}}
	return m
}

func room(t testing.TB) *Room {
	t.Helper()
	r, err := New(document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// made makes a style of the demo, without paper.
func made(t testing.TB, block, style []byte, sizes ...string) maker.Made {
	t.Helper()
	m, err := room(t).make(context.Background(), shop.Making{Block: block, Style: style, Request: document.RunRequest{Sizes: sizes}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestTheDemoSewsInEverySize(t *testing.T) {
	m := made(t, demo(t, "blocks/wren-w"), demo(t, "styles/wren-petal"))
	if len(m.Sizes) != 12 {
		t.Fatalf("%d sizes", len(m.Sizes))
	}
	rules := map[string]int{}
	for _, c := range m.Report.Checks {
		rules[c.Rule]++
		if c.Verdict == "fail" {
			t.Errorf("size %s %s %s %s: %s", c.Size, c.Piece, c.Place, c.Rule, c.Text)
		}
	}
	for _, rule := range []string{"seam_length", "notch_walk", "runs_on", "cap_ease", "cap_ease_split", "outline_simple",
		"mark_inside", "hem_turn", "growth", "grain_inside", "petal_together"} {
		if rules[rule] == 0 {
			t.Errorf("no check %s was made", rule)
		}
	}
}

// TestGolden holds the demo's geometry: corners, perimeters and areas to 0.001 mm, so that a change
// of any package below is seen as a change of what is cut.
func TestGolden(t *testing.T) {
	m := made(t, demo(t, "blocks/wren-w"), demo(t, "styles/wren-petal"))
	var b strings.Builder
	for _, s := range m.Sizes {
		for k := range s.Pattern.Pieces {
			p := &s.Pattern.Pieces[k]
			fmt.Fprintf(&b, "%s %s cut %.3f area %.1f\n", s.Pattern.Size, p.Name, s.Cut[k].Cut.Length(), s.Cut[k].Cut.Area())
			for i := range p.Edges {
				e := &p.Edges[i]
				at := e.Path.Start()
				fmt.Fprintf(&b, "  %s %s (%.3f, %.3f) %.3f\n", e.From, e.Name, at.X+0, at.Y+0, e.Path.Length())
			}
		}
	}
	golden := filepath.Join("..", "..", "testdata", "goldens", "wren-petal.txt")
	if *update {
		if err := os.MkdirAll(filepath.Dir(golden), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	got := strings.Split(b.String(), "\n")
	for i, line := range strings.Split(string(want), "\n") {
		// A rounded digit may fall the other way on a processor that fuses multiply and add.
		if i >= len(got) || !sameNumbers(got[i], line, 0.0011) {
			t.Fatalf("line %d: got %q, the golden has %q; run with -update when the change is meant", i+1, append(got, make([]string, i+1)...)[i], line)
		}
	}
	if len(got) != len(strings.Split(string(want), "\n")) {
		t.Fatalf("%d lines, the golden has %d", len(got), len(strings.Split(string(want), "\n")))
	}
}

// sameNumbers compares two lines word by word, numbers within tol.
func sameNumbers(a, b string, tol float64) bool {
	x, y := strings.Fields(a), strings.Fields(b)
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		if x[i] == y[i] {
			continue
		}
		var p, q float64
		if _, err := fmt.Sscanf(strings.Trim(x[i], "(),"), "%g", &p); err != nil {
			return false
		}
		if _, err := fmt.Sscanf(strings.Trim(y[i], "(),"), "%g", &q); err != nil || math.Abs(p-q) > tol {
			return false
		}
	}
	return true
}

func TestTheSameOrderGivesTheSameBytes(t *testing.T) {
	m := making(t, "6", "14", "28")
	m.Request.Outputs = []document.Output{{Paper: "A4"}, {Paper: "Letter", PerSize: true}}
	a, err := room(t).Make(context.Background(), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := room(t).Make(context.Background(), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(a.Files) != 4 || len(b.Files) != 4 || !bytes.Equal(a.Report, b.Report) {
		t.Fatalf("%d and %d files", len(a.Files), len(b.Files))
	}
	names := map[string]bool{}
	for i, f := range a.Files {
		if !bytes.Equal(f.Data, b.Files[i].Data) {
			t.Errorf("%s differs", f.Name)
		}
		names[f.Name] = true
	}
	if len(names) != 4 {
		t.Errorf("files share names: %v", names)
	}
}

func TestAPatternThatDoesNotSewIsNotDelivered(t *testing.T) {
	m := making(t, "14")
	// A cap that is 30 mm higher no longer eases into its armhole.
	m.Block = bytes.Replace(m.Block, []byte(`"crown": [0, 156]`), []byte(`"crown": [0, 186]`), 1)
	p, err := room(t).Make(context.Background(), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !p.Failed || len(p.Files) != 0 || len(p.Report) == 0 {
		t.Fatalf("failed %v, %d files, %d bytes of report", p.Failed, len(p.Files), len(p.Report))
	}
	var report struct {
		Checks []struct{ Rule, Verdict string }
	}
	if err := json.Unmarshal(p.Report, &report); err != nil {
		t.Fatal(err)
	}
	failed := map[string]bool{}
	for _, c := range report.Checks {
		if c.Verdict == "fail" {
			failed[c.Rule] = true
		}
	}
	if !failed["cap_ease"] && !failed["seam_length"] {
		t.Errorf("what failed was %v", failed)
	}
	m.Request.DeliverAnyway = true
	if p, err = room(t).Make(context.Background(), m, nil); err != nil || len(p.Files) != 1 {
		t.Fatalf("anyway: %v, %d files", err, len(p.Files))
	}
}

func TestRefusalsNameThePlaceAndTheRemedy(t *testing.T) {
	style := func(old, new string) func(*shop.Making) {
		return func(m *shop.Making) {
			if !bytes.Contains(m.Style, []byte(old)) {
				t.Fatalf("the demo style has no %s", old)
			}
			m.Style = bytes.Replace(m.Style, []byte(old), []byte(new), 1)
		}
	}
	for name, c := range map[string]struct {
		spoil   func(*shop.Making)
		pointer string
	}{
		"no size at all":       {func(m *shop.Making) { m.Request.Sizes = []string{} }, "/sizes"},
		"unknown size":         {func(m *shop.Making) { m.Request.Sizes = []string{"15"} }, "/sizes/0"},
		"unknown paper":        {func(m *shop.Making) { m.Request.Outputs[0].Paper = "A9" }, "/outputs/0/paper"},
		"no JSON":              {func(m *shop.Making) { m.Style = []byte(`{"style"`) }, "/style"},
		"unknown change":       {style(`"change": "petal"`, `"change": "petall"`), "/style/changes/0/change"},
		"unknown piece":        {style(`"piece": "sleeve"`, `"piece": "sleave"`), "/style/changes/0"},
		"hem too long":         {style(`"hem_in": "2in"`, `"hem_in": "100in"`), "/style/changes/0"},
		"share out of range":   {style(`"cap_share": 0.5`, `"cap_share": 1.5`), "/style/changes/0/cap_share"},
		"edge that is not":     {style(`"sleeve_back.hem"`, `"sleeve_back.ham"`), "/style/allowances/edges/sleeve_back.ham"},
		"allowance too large":  {style(`"default": "5/8in"`, `"default": "290mm"`), "/style/allowances"},
		"allowance impossible": {style(`"default": "5/8in"`, `"default": "50in"`), "/style/allowances/default"},
	} {
		t.Run(name, func(t *testing.T) {
			m := making(t, "6", "14", "28")
			c.spoil(&m)
			p, err := room(t).Make(context.Background(), m, nil)
			var fs pattern.Faults
			if !errors.As(err, &fs) || len(fs) == 0 {
				t.Fatalf("want a refusal, got %v and %d files", err, len(p.Files))
			}
			for _, f := range fs {
				if !strings.HasPrefix(f.Pointer, c.pointer) {
					t.Errorf("pointer %q, want %q…: %s", f.Pointer, c.pointer, f)
				}
				if f.Remedy == "" || f.Detail == "" || f.Rule == "" {
					t.Errorf("no rule, detail or remedy: %+v", f)
				}
			}
		})
	}
}

func TestMakingStopsWhenItIsToldTo(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	_, err := room(t).Make(ctx, making(t), func(stage string, done, _ int) {
		if stage == string(maker.Making) && done == 3 {
			cancel()
		}
	})
	if !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v", err)
	}
}

func TestOneCustomersBodyGoesTheSameWay(t *testing.T) {
	m := making(t)
	m.Request.Sizes = []string{}
	// Between sizes 14 and 16 of the chart in every measurement.
	m.Request.Bodies = []document.Body{{Name: "order 1001", Body: map[string]float64{"bust": 940, "waist": 780, "hip": 1020,
		"neck": 377, "shoulder": 123.5, "nape_to_waist": 412, "scye_depth": 215.5, "upper_arm": 296}}}
	p, err := room(t).Make(context.Background(), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	if p.Failed || len(p.Files) != 1 || p.Summary.Sizes[0] != "order 1001" {
		t.Errorf("%+v", p.Summary)
	}
}

// TestEveryDemoStyleSews makes each style of Rookery Lane for its whole run: all checks green.
func TestEveryDemoStyleSews(t *testing.T) {
	styles, err := testdata.Files.ReadDir("styles")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range styles {
		name := strings.TrimSuffix(f.Name(), ".json")
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			raw := demo(t, "styles/"+name)
			s, err := document.DecodeStyle(raw, document.DefaultLimits())
			if err != nil {
				t.Fatal(err)
			}
			if s.Name != name {
				t.Errorf("the style in %s.json is called %s", name, s.Name)
			}
			m := made(t, demo(t, "blocks/"+s.Block), raw)
			if len(m.Sizes) != len(m.Block.Chart.Run) || m.Report.Pass < 50 {
				t.Errorf("%d sizes of %d, %d checks passed", len(m.Sizes), len(m.Block.Chart.Run), m.Report.Pass)
			}
			for _, c := range m.Report.Checks {
				if c.Verdict == "fail" {
					t.Errorf("size %s %s %s %s: %s", c.Size, c.Piece, c.Place, c.Rule, c.Text)
				}
			}
		})
	}
}
