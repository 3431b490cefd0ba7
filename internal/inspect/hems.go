package inspect

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// allowance is what an edge gets: resolved with the cut line, else what the edge itself asks for.
func (w *watch) allowance(p *pattern.Piece, e *pattern.Edge) pattern.Allowance {
	if c := w.s.cut(p.Name); c != nil {
		if a, ok := c.Allow[e.Name]; ok {
			return a
		}
	}
	if e.Own != nil {
		return *e.Own
	}
	return pattern.Allowance{}
}

// hems judges every curved edge that is turned.
func (w *watch) hems() {
	for i := range w.s.Pattern.Pieces {
		p := &w.s.Pattern.Pieces[i]
		for k := range p.Edges {
			e := &p.Edges[k]
			a := w.allowance(p, e)
			if a.Turned < 1 || a.Width <= 0 || e.Fold {
				continue
			}
			t := a.Width / float64(a.Turned)
			off := HemTurn(e.Path, t)
			most := w.o.HemTurnMost
			w.say(Check{Rule: "hem_turn", Piece: p.Name, Place: e.Name, Measured: off,
				Want: pattern.Range{Min: -w.o.HemTurn, Max: w.o.HemTurn}, Bearable: &pattern.Range{Min: -most, Max: most}, Unit: Percent,
				Text: fmt.Sprintf("Turned by %.2f mm, the edge of %s.%s is %.1f %% %s than the line it is laid on; past %g %% a hem ripples or pulls on woven cloth: use a narrower hem, a facing or bias binding.",
					t, p.Name, e.Name, math.Abs(off), longer(off), w.o.HemTurn)})
		}
	}
}

func longer(off float64) string {
	if off < 0 {
		return "shorter"
	}
	return "longer"
}

// HemTurn is by how many per cent the parallel at t outside an edge is longer than the one at t inside
// it, on which it lies once it is folded at the edge. Over a turn of dθ a parallel at t gains t·dθ, so
// that the two lengths are L ± tθ (exact while no radius is smaller than t). Round and hollow
// stretches do not cancel: cloth that ripples here is no help to cloth that pulls there; the sign is
// that of the greater one.
func HemTurn(p geom.Path, t float64) float64 {
	const n = 96
	l, round, hollow := 0.0, 0.0, 0.0
	for _, s := range p {
		l += s.Length()
		if s.Straight {
			continue
		}
		last := s.Tangent(0)
		for i := 1; i <= n; i++ {
			d := s.Tangent(float64(i) / n)
			if a := last.AngleTo(d); a > 0 {
				round += a
			} else {
				hollow -= a
			}
			last = d
		}
	}
	turn := round + hollow
	inner := l - t*turn
	if inner <= 0 {
		return math.Copysign(999, round-hollow)
	}
	off := 100 * 2 * t * turn / inner
	if hollow > round {
		// The outside parallel is the shorter one here.
		return -100 * 2 * t * turn / (l + t*turn)
	}
	return off
}
