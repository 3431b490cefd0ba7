package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// laidNeck is a front and a back laid shoulder to shoulder: the centre back upright below the origin, where the neck
// begins, the back to the right of it and the front above.
type laidNeck struct {
	back, front     geom.Path // from centre back to shoulder, from shoulder to centre front
	shoulders       [2]geom.Path
	turns, shoulder float64 // how far the two necks turn from end to end, laid together without overlap; radians, mm
}

// A neck that a collar is drawn on bends, but has no corner past cornerless; where front and back meet it may turn by
// more, which the collar's seam spreads.
const (
	cornerless = 0.9  // degrees
	overMost   = 30.0 // degrees
)

// layShoulders lays them with their shoulders over each other by overlap at the armhole.
func layShoulders(f, b *neckSide, overlap float64) (laidNeck, error) {
	var l laidNeck
	// walked gives neck and shoulder from the centre outwards, on a piece that lies with its centre upright, to the
	// right of it: a piece drawn to the left is turned over.
	walked := func(h *neckSide) (neck, shoulder geom.Path) {
		neck, shoulder = h.p.Edges[h.neck].Path, h.p.Edges[h.shoulder].Path
		if h.first {
			m := geom.Scale(-1, 1)
			return neck.Transform(m), shoulder.Transform(m)
		}
		return neck.Reverse(), shoulder.Reverse()
	}
	bn, bs := walked(b)
	fn, fs := walked(f)
	for _, h := range []*neckSide{f, b} {
		n := h.p.Edges[h.neck].Path
		for i := 1; i < len(n); i++ {
			if d := degrees(n[i-1].Tangent(1), n[i].Tangent(0)); d > cornerless {
				return l, pattern.Fault{Rule: "neck_corner", Pointer: "/neck", Piece: h.p.Name, Edge: h.p.Edges[h.neck].Name, Detail: fmt.Sprintf("the neck of %s has a corner of %.1f degrees, which a collar cannot follow", h.p.Name, d),
					Valid: fmt.Sprintf("at most %g degrees", cornerless), Remedy: "draw a round neckline first"}
			}
		}
	}
	// The back: its centre upright. The neck of a back is square to it, or nearly.
	c := b.p.Edges[b.centre].Path
	down := c.StartTangent()
	if b.first {
		down = c.EndTangent().Neg()
		down.X = -down.X
	}
	m := geom.Translate(geom.Pt(0, 0).Sub(bn.Start())).Then(geom.RotateAbout(geom.Pt(0, 0), down.AngleTo(geom.Vec{Y: -1})))
	l.back, l.shoulders[0] = bn.Transform(m), bs.Transform(m)
	// The front is drawn to the same side now; laid shoulder to shoulder it is turned over, and walked the other way.
	over := geom.Scale(-1, 1)
	fn, fs = fn.Reverse().Transform(over), fs.Transform(over)
	out := func(s geom.Path) geom.Vec { return s.End().Sub(s.Start()) }
	l.shoulder = math.Min(out(fs).Len(), out(bs).Len())
	if most := 0.6 * l.shoulder; overlap > most {
		return l, pattern.Fault{Rule: "out_of_range", Pointer: "/overlap", Piece: f.p.Name, Edge: f.p.Edges[f.shoulder].Name, Detail: fmt.Sprintf("shoulders of %.1f mm cannot overlap by %s", l.shoulder, say(overlap)),
			Valid: fmt.Sprintf("0 to %.1f mm", math.Min(60, most)), Remedy: "let them overlap less"}
	}
	place := func(turn float64) geom.Affine {
		m := geom.RotateAbout(fn.Start(), out(fs).AngleTo(out(l.shoulders[0]))-turn)
		return m.Then(geom.Translate(l.back.End().Sub(m.Apply(fn.Start()))))
	}
	flat := fn.Transform(place(0))
	l.turns = turning(l.back) + l.back.EndTangent().AngleTo(flat.StartTangent()) + turning(flat)
	if kink := l.back.EndTangent().AngleTo(flat.StartTangent()) * 180 / math.Pi; math.Abs(kink) > overMost {
		return l, pattern.Fault{Rule: "neck_corner", Pointer: "/neck", Piece: f.p.Name, Edge: f.p.Edges[f.neck].Name, Detail: fmt.Sprintf("laid together, the necks of front and back turn by %.0f degrees at the shoulder", math.Abs(kink)),
			Valid: fmt.Sprintf("at most %g degrees", overMost), Remedy: "draw a neckline that runs on over the shoulder first"}
	}
	lay := place(2 * math.Asin(overlap/(2*l.shoulder)))
	l.front, l.shoulders[1] = fn.Transform(lay), fs.Transform(lay)
	return l, nil
}

// turning is by how much a line turns from its start to its end, to the left.
func turning(p geom.Path) float64 {
	const n = 16
	sum, last := 0.0, p.StartTangent()
	for _, s := range p {
		for i := range n + 1 {
			t := s.Tangent(float64(i) / n)
			sum += last.AngleTo(t)
			last = t
		}
	}
	return sum
}
