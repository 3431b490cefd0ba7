package allowance

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

func pt(x, y float64) geom.Point { return geom.Pt(x, y) }

// edge makes an edge from a to b, curved when two handles are given.
func edge(name, from, to string, a, b geom.Point, handles ...geom.Point) pattern.Edge {
	p := geom.Polyline(a, b)
	if len(handles) == 2 {
		p = geom.Path{geom.Cubic(a, handles[0], handles[1], b)}
	}
	return pattern.Edge{Name: name, From: from, To: to, Path: p, Src: pattern.Source{Piece: "wren", Edge: name, S1: p.Length()}}
}

// sleeve is a short set-in sleeve; taper is how much narrower the hem is than the underarm line on each side, and sag how far
// the hem curves down in its middle.
func sleeve(taper, sag float64) *pattern.Piece {
	ub, uf := pt(-178, 0), pt(172, 0)
	hb, hf := pt(-178+taper, -95), pt(172-taper, -95)
	crown := pt(6, 138)
	hem := edge("hem", "hem_back", "hem_front", hb, hf)
	if sag != 0 {
		hem = edge("hem", "hem_back", "hem_front", hb, hf, pt(hb.X+100, -95-sag), pt(hf.X-100, -95-sag))
	}
	p := &pattern.Piece{Name: "sleeve", Edges: []pattern.Edge{
		hem,
		edge("underarm_front", "hem_front", "underarm_front", hf, uf),
		edge("cap_front", "underarm_front", "crown", uf, crown, pt(112, 8), pt(70, 138)),
		edge("cap_back", "crown", "underarm_back", crown, ub, pt(-60, 138), pt(-112, 8)),
		edge("underarm_back", "underarm_back", "hem_back", ub, hb),
	}, Align: crown, Grain: [2]geom.Point{pt(0, -70), pt(0, 90)}}
	mark := func(kind pattern.MarkKind, name, e string, s float64, count int) {
		path := p.Edges[p.EdgeNamed(e)].Path
		p.Marks = append(p.Marks, pattern.Mark{Kind: kind, Name: name, Count: count, Edge: e, S: s, At: path.PointAt(s)})
	}
	mark(pattern.Notch, "front_notch", "cap_front", 84, 1)
	mark(pattern.Notch, "back_notch", "cap_back", 120, 2)
	mark(pattern.Dot, "crown", "cap_front", p.Edges[2].Path.Length(), 0)
	mark(pattern.Square, "match_a", "cap_front", 60, 0)
	p.Marks[3].Inside, p.Marks[3].Match = 15.9, "a"
	return p
}

// skirt is half a back skirt with a waist dart, cut on the fold. towards names the leg the dart is pressed to. The mouth is
// trued on the seam line only as far as equal legs do it.
func skirt(towards string) *pattern.Piece {
	w0, w1, m1, m2, tip := pt(0, 600), pt(230, 606), pt(125, 600), pt(100, 600), pt(112, 470)
	return &pattern.Piece{Name: "skirt", Edges: []pattern.Edge{
		edge("hem", "hem_centre", "hem_side", pt(0, 0), pt(270, 0)),
		edge("side", "hem_side", "waist_side", pt(270, 0), w1, pt(270, 330), pt(262, 480)),
		edge("waist_side", "waist_side", "mouth_side", w1, m1, pt(200, 602), pt(160, 600)),
		edge("leg_side", "mouth_side", "dart_point", m1, tip),
		edge("leg_centre", "dart_point", "mouth_centre", tip, m2),
		edge("waist_centre", "mouth_centre", "waist_centre", m2, w0),
		{Name: "centre", From: "waist_centre", To: "hem_centre", Path: geom.Polyline(w0, pt(0, 0)), Fold: true},
	}, Darts: []pattern.Dart{{Name: "waist", First: "leg_side", Second: "leg_centre", Towards: towards}}}
}

func width(w float64) pattern.Allowance { return pattern.Allowance{Width: w} }

func make1(t *testing.T, p *pattern.Piece, a pattern.Allowances) Piece {
	t.Helper()
	out, err := Make("14", p, a)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range out.Cut {
		if n := out.Cut[(i+1)%len(out.Cut)]; s.P3 != n.P0 {
			t.Fatalf("the cut line is open after %d", i)
		}
	}
	if out.Cut.Area() <= p.Outline().Area() {
		t.Fatalf("the cut line encloses %g, the seam line %g", out.Cut.Area(), p.Outline().Area())
	}
	if c := out.Cut.SelfCrossings(true, 1e-6); len(c) > 0 {
		t.Fatalf("the cut line crosses itself at %v", c[0].P)
	}
	at := 0.0
	for _, s := range out.Stretches {
		if math.Abs(s.S0-at) > 1e-9 || s.S1 < s.S0 || (s.Edge == "") == (s.Corner == "") {
			t.Fatalf("stretch %+v does not continue at %g", s, at)
		}
		at = s.S1
	}
	if math.Abs(at-out.Cut.Length()) > 1e-9 {
		t.Fatalf("stretches end at %g of %g", at, out.Cut.Length())
	}
	return out
}

// stretch gives the part of the cut line that belongs to an edge, or to a corner.
func (p Piece) stretch(edge, corner string) geom.Path {
	for _, s := range p.Stretches {
		if edge != "" && s.Edge == edge || corner != "" && s.Corner == corner {
			return p.Cut.Sub(s.S0, s.S1)
		}
	}
	return nil
}
