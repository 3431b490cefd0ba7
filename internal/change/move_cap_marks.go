package change

import (
	"math"
	"slices"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Marks of a cap that is redrawn.

// capMarks lays the marks of a half on the redrawn one: up to the notch nearest to the underarm as far from there as
// they were, which is where no ease belongs; those that meet a mark of the armhole above it so that they part the ease
// as they did; others in proportion. before and after are the ease and gathers of the half.
func (w *work) capMarks(c *capLine, was, is *capHalf, before, after float64) {
	p := c.t.p
	type anchor struct{ from, to float64 }
	at := []anchor{{0, 0}}
	put := func(a anchor) {
		if l := at[len(at)-1]; a.from > l.from+pattern.Near && a.to > l.to+pattern.Near && a.to < is.length-pattern.Near {
			at = append(at, a)
		}
	}
	_, low := was.lowest(&c.was)
	if !math.IsInf(low, 1) {
		put(anchor{low, low})
	} else {
		low = 0
	}
	pairs := w.capPairs(c, was)
	below, foot := 0.0, 0.0
	for _, m := range pairs {
		if math.Abs(m[0]-low) <= pattern.Near {
			below, foot = m[0]-m[1], m[1]
		}
	}
	hole := was.length - before
	for _, m := range pairs {
		if m[0] <= low+pattern.Near {
			continue
		}
		share := (m[1] - foot) / (hole - foot)
		if e := before - below; math.Abs(e) > 1 {
			if s := (m[0] - m[1] - below) / e; s >= 0 && s <= 1 {
				share = s
			}
		}
		put(anchor{m[0], m[1] + below + share*(after-below)})
	}
	at = append(at, anchor{was.length, is.length})
	for k := range p.Marks {
		m := &p.Marks[k]
		x, ok := was.at(c.was.EdgeNamed(m.Edge), c.was.Marks[k].S)
		if !ok {
			continue
		}
		i := 1
		for i < len(at)-1 && at[i].from < x {
			i++
		}
		a, b := at[i-1], at[i]
		x = math.Max(0, math.Min(is.length, a.to+(b.to-a.to)*(x-a.from)/(b.from-a.from)))
		is.lay(p, m, x)
	}
}

// lay puts a mark so far from the underarm.
func (h *capHalf) lay(p *pattern.Piece, m *pattern.Mark, x float64) {
	for k, e := range h.edges {
		l := h.paths[k].Length()
		if x > l+1e-9 && k < len(h.edges)-1 {
			x -= l
			continue
		}
		m.Edge, m.S = p.Edges[e].Name, math.Min(x, l)
		if h.against {
			m.S = l - m.S
		}
		m.At = p.Edges[e].Path.PointAt(m.S)
		return
	}
}

// capPairs lists how far from the underarm the marks of a half lie that meet marks of what it is sewn to, and how far
// these do, in order.
func (w *work) capPairs(c *capLine, h *capHalf) [][2]float64 {
	var out [][2]float64
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		first, _ := w.capSeam(c, h, i)
		if !first {
			continue
		}
		to, err := inspect.Walk(&w.p, s.To)
		if err != nil {
			continue // told where the seam is looked for
		}
		for _, n := range s.Notches {
			m := c.was.MarkNamed(n[0].Mark)
			y, ok := to.MarkAt(n[1].Piece, n[1].Mark)
			if n[0].Piece != c.was.Name || m == nil || !ok {
				continue
			}
			x, ok := h.at(c.was.EdgeNamed(m.Edge), m.S)
			if !ok {
				continue
			}
			if s.Sew[0].Against != h.against {
				y = to.Len - y
			}
			out = append(out, [2]float64{x, y})
		}
	}
	slices.SortFunc(out, func(a, b [2]float64) int { return int(math.Copysign(1, a[0]-b[0])) })
	return out
}

// capSeam tells whether the Sew side of a seam is this half and nothing else, or else only touches it.
func (w *work) capSeam(c *capLine, h *capHalf, i int) (whole, some bool) {
	refs := w.p.Seams[i].Sew
	n := 0
	for _, r := range refs {
		if r.Piece == c.was.Name && slices.Contains(h.edges, c.was.EdgeNamed(r.Edge)) {
			n++
		}
	}
	return n > 0 && n == len(refs) && n == len(h.edges), n > 0
}
