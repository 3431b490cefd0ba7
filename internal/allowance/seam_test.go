package allowance

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// drawnCut redraws a piece by its cut line, as a shop would hold it, with the marks on the cut edges.
func drawnCut(p *pattern.Piece, out Piece) *pattern.Piece {
	q := p.Clone()
	for i := range q.Edges {
		q.Edges[i].Path = out.stretch(q.Edges[i].Name, "")
	}
	q.Marks = nil
	for _, m := range p.Marks {
		if i := p.EdgeNamed(m.Edge); i >= 0 {
			n := p.Edges[i].Path.TangentAt(m.S).Right()
			at := p.Edges[i].Path.PointAt(m.S).Add(n.Mul(out.Widths[m.Edge]))
			m.S, _ = q.Edges[i].Path.Project(at)
			m.At = q.Edges[i].Path.PointAt(m.S)
		}
		q.Marks = append(q.Marks, m)
	}
	return &q
}

func TestOutAndInAgainGivesTheSeamLine(t *testing.T) {
	worst := 0.0
	for _, taper := range []float64{0, 10, 30, -20} {
		for _, w := range []float64{6, 10, 15.9} {
			p := sleeve(taper, 6)
			p.Edges[1].Path = geom.Path{geom.Cubic(p.Edges[1].Path.Start(), pt(165-taper, -60), pt(170, -25), p.Edges[1].Path.End())}
			mitre := pattern.Allowances{Default: width(w), Edges: map[string]pattern.Allowance{"*.hem": width(2 * w)}}
			out := make1(t, p, mitre)
			back, err := SeamFromCut("14", drawnCut(p, out), map[string]float64{"": w, "sleeve.hem": 2 * w})
			if err != nil {
				t.Fatalf("taper %g, %g mm: %v", taper, w, err)
			}
			for i, e := range back.Edges {
				orig := p.Edges[i].Path
				if e.Name != p.Edges[i].Name || e.From != p.Edges[i].From {
					t.Fatalf("edge %d became %s from %s", i, e.Name, e.From)
				}
				for k := 0; k <= 50; k++ {
					_, d := orig.Project(e.Path.PointAt(e.Path.Length() * float64(k) / 50))
					worst = math.Max(worst, d)
				}
				if d := e.Path.Start().Dist(orig.Start()); d > 0.02 {
					t.Errorf("taper %g, %g mm: corner %s came back %g off", taper, w, e.From, d)
				}
			}
			for i, m := range back.Marks {
				if d := m.At.Dist(p.Marks[i].At); d > 0.02 {
					t.Errorf("mark %s came back %g off", m.Name, d)
				}
				if m.Edge != p.Marks[i].Edge || math.Abs(m.S-p.Marks[i].S) > 0.02 {
					t.Errorf("mark %s came back on %s at %g, was %g", m.Name, m.Edge, m.S, p.Marks[i].S)
				}
			}
			if back.Align.Dist(p.Align) > 0.02 && drawnCut(p, out).Align.Dist(p.Align) < 1e-9 {
				t.Errorf("the alignment point moved to %v", back.Align)
			}
		}
	}
	t.Logf("out and in again: worst %.4f mm", worst)
	if worst > 0.02 {
		t.Errorf("worst %.4f mm, want 0.02", worst)
	}
}

func TestCornersOfACutLineBlockAreEdgeLineIntersections(t *testing.T) {
	// Straight edges with unequal allowances: every corner is where two lines meet, to rounding.
	pts := []geom.Point{pt(0, 0), pt(300, -8), pt(310, 200), pt(150, 260), pt(-12, 210)}
	ws := []float64{40, 15.9, 10, 6, 0}
	p := &pattern.Piece{Name: "panel"}
	names := []string{"hem", "side", "armhole", "neck", "centre"}
	for i := range pts {
		p.Edges = append(p.Edges, edge(names[i], "p"+names[i], "p"+names[(i+1)%5], pts[i], pts[(i+1)%5]))
	}
	p.Edges[4].Fold = true
	inc := map[string]float64{"panel": 15.9, "panel.hem": 40, "panel.armhole": 10, "panel.neck": 6}
	got, err := SeamFromCut("14", p, inc)
	if err != nil {
		t.Fatal(err)
	}
	for i := range pts {
		h := (i + 4) % 5
		u, v := pts[i].Sub(pts[h]).Unit(), pts[(i+1)%5].Sub(pts[i]).Unit()
		a, b := pts[i].Add(u.Left().Mul(ws[h])), pts[i].Add(v.Left().Mul(ws[i]))
		want := a.Add(u.Mul(b.Sub(a).Cross(v) / u.Cross(v)))
		if d := got.Edges[i].Path.Start().Dist(want); d > 1e-9 {
			t.Errorf("corner %s is %g off where its lines meet", got.Edges[i].From, d)
		}
	}
}

func TestDartsAreCarriedIn(t *testing.T) {
	p := skirt("leg_centre")
	got, err := SeamFromCut("14", p, map[string]float64{"": 12})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Darts) != 1 {
		t.Fatalf("%d darts", len(got.Darts))
	}
	tip := got.Edges[got.EdgeNamed("leg_side")].Path.End()
	if d := tip.Dist(pt(112, 470)); d > 1e-9 {
		t.Errorf("the dart point moved by %g", d)
	}
	if l0, l1 := p.Edges[3].Path.Length(), got.Edges[3].Path.Length(); l1 >= l0 || l0-l1 > 13 {
		t.Errorf("the leg went from %g to %g", l0, l1)
	}
	if x := got.Edges[6].Path.Bounds(); math.Abs(x.Min.X) > 1e-9 || math.Abs(x.Max.X) > 1e-9 {
		t.Errorf("the fold moved: %v", x)
	}
}

func TestAllowanceLargerThanThePieceIsRefused(t *testing.T) {
	_, err := SeamFromCut("8", sleeve(10, 0), map[string]float64{"": 140})
	fs := pattern.FaultsOf(err)
	if len(fs) == 0 || fs[0].Rule != "allowance_larger_than_piece" || fs[0].Size != "8" {
		t.Errorf("%v", err)
	}
}
