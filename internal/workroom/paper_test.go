package workroom

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/geom"
	"sizerun/internal/maker"
	"sizerun/internal/testkit"
)

// seen is a path as PyMuPDF, which knows nothing of this project, reads it off a page, in mm.
type seen struct {
	Kind []string
	Segs [][][2]float64
}

// path turns it into geometry again.
func (s seen) path() geom.Path {
	var p geom.Path
	for i, g := range s.Segs {
		pt := func(k int) geom.Point { return geom.Pt(g[k][0], g[k][1]) }
		switch {
		case s.Kind[i] == "c" && len(g) == 4:
			p = append(p, geom.Cubic(pt(0), pt(1), pt(2), pt(3)))
		case s.Kind[i] == "l" && len(g) == 2:
			p = append(p, geom.Line(pt(0), pt(1)))
		}
	}
	// The operator that closes a path draws its last line; the reader doesn't list it.
	if len(p) > 3 && p.End().Dist(p.Start()) > 1e-3 {
		p = append(p, geom.Line(p.End(), p.Start()))
	}
	return p
}

// TestPaperAndGeometryAgree reads the printed nest back with an independent reader and finds each
// cut line of each size in that size's layer, with its perimeter, width, height and area.
func TestPaperAndGeometryAgree(t *testing.T) {
	python := testkit.NeedPython(t, "fitz")
	m := making(t)
	// Papers on which no piece is cut by a page's border.
	m.Request.Outputs = nil
	for _, paper := range []string{"A0", "Roll914", "Projector"} {
		m.Request.Outputs = append(m.Request.Outputs, document.Output{Paper: paper})
	}
	p, err := room(t).Make(context.Background(), m, nil)
	if err != nil {
		t.Fatal(err)
	}
	sizes := made(t, m.Block, m.Style).Sizes
	for _, f := range p.Files {
		t.Run(f.Paper, func(t *testing.T) { agrees(t, python, f.Data, sizes) })
	}
}

func agrees(t *testing.T, python string, data []byte, sizes []maker.Size) {
	file := filepath.Join(t.TempDir(), "nest.pdf")
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	raw, err := exec.Command(python, filepath.Join("testdata", "layers.py"), file).Output()
	if err != nil {
		t.Fatal(err)
	}
	var layers map[string][]seen
	if err := json.Unmarshal(raw, &layers); err != nil {
		t.Fatal(err)
	}
	byLayer := map[string][]geom.Path{}
	for size, all := range layers {
		for _, s := range all {
			if q := s.path(); len(q) > 3 {
				byLayer[size] = append(byLayer[size], q)
			}
		}
	}
	const tol = 0.05 // mm; on an area, that much along the perimeter
	worst := 0.0
	for _, s := range sizes {
		for _, c := range s.Cut {
			box := c.Cut.Bounds()
			best := math.Inf(1)
			for _, q := range byLayer[s.Pattern.Size] {
				b := q.Bounds()
				// A piece may lie turned by a quarter.
				d := math.Min(math.Max(math.Abs(b.W()-box.W()), math.Abs(b.H()-box.H())), math.Max(math.Abs(b.W()-box.H()), math.Abs(b.H()-box.W())))
				d = math.Max(d, math.Abs(q.Length()-c.Cut.Length()))
				d = math.Max(d, math.Abs(math.Abs(q.Area())-c.Cut.Area())/c.Cut.Length())
				best = math.Min(best, d)
			}
			if !(best <= tol) {
				t.Errorf("size %s %s: the nearest line on paper is off by %.3f mm", s.Pattern.Size, c.Name, best)
			}
			worst = math.Max(worst, best)
		}
	}
	t.Logf("largest difference between paper and geometry: %.5f mm", worst)
}
