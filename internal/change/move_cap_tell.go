package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What is measured and shown of a cap that was redrawn.

// capPromises are what every redrawn cap keeps: its sides, the notches below which no ease lies, and the angles at
// crown and underarm.
func (w *work) capPromises(c *capLine) {
	t, p := c.t, c.t.p
	kept := t.kept(&c.was, t.cap, t.hemRun())
	w.promise(inspect.Check{Rule: w.change + "_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The underarm seams of %s keep their lengths to %.3f mm.", p.Name, kept)})
	off := 0.0
	for i := range c.halves {
		if m, x := c.halves[i].lowest(&c.was); m != nil {
			off = math.Max(off, math.Abs(c.below(i, m.Name)-x))
		}
	}
	w.promise(inspect.Check{Rule: w.change + "_notches", Piece: p.Name, Place: "cap", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Along the cap of %s the notches lie as far from the underarm as they did, to %.3f mm.", p.Name, off)})
	turn := c.turned()
	w.promise(inspect.Check{Rule: w.change + "_smooth", Piece: p.Name, Place: "cap", Measured: turn, Tolerance: 0.5, Unit: inspect.Degrees,
		Text: fmt.Sprintf("At crown and underarm the curve of the cap of %s turns by %.2f degrees against before.", p.Name, turn)})
}

// below is how far from the underarm a mark of a half lies now.
func (c *capLine) below(i int, mark string) float64 {
	p := c.t.p
	m := p.MarkNamed(mark)
	if m == nil {
		return math.NaN()
	}
	h := c.halves[i]
	h.paths = slices.Clone(h.paths)
	for k, e := range h.edges {
		h.paths[k] = p.Edges[e].Path
	}
	x, ok := h.at(p.EdgeNamed(m.Edge), m.S)
	if !ok {
		return math.NaN()
	}
	return x
}

// turned is by how much the corners at the ends of the curved halves have changed, at worst, in degrees.
func (c *capLine) turned() float64 {
	p := c.t.p
	n := len(p.Edges)
	most := 0.0
	curved := func(e int, end bool) bool {
		path := c.was.Edges[e].Path
		if end {
			return !path[len(path)-1].Straight
		}
		return !path[0].Straight
	}
	corner := func(i, j int) {
		a, b := inspect.Interior(c.was.Edges[i].Path, c.was.Edges[j].Path), inspect.Interior(p.Edges[i].Path, p.Edges[j].Path)
		most = math.Max(most, math.Abs(a-b)*180/math.Pi)
	}
	if e := c.halves[1].edges[0]; curved(e, false) {
		corner((e+n-1)%n, e)
	}
	if e := c.halves[0].edges[0]; curved(e, true) {
		corner(e, (e+1)%n)
	}
	l, r := c.halves[0].edges, c.halves[1].edges
	if i, j := r[len(r)-1], l[len(l)-1]; curved(i, true) && curved(j, false) {
		corner(i, j)
	}
	return most
}

// biceps is how wide a piece is across the grain between the underarm corners of its cap, and how high its crown lies
// above the middle of their line.
func (c *capLine) biceps(p *pattern.Piece) (wide, high float64) {
	a, b := p.Edges[c.halves[0].edges[0]].Path.End(), p.Edges[c.halves[1].edges[0]].Path.Start()
	return b.Sub(a).Dot(c.t.up.Right()), c.top(p).Sub(a.Lerp(b, 0.5)).Dot(c.t.up)
}

// top is the crown of a piece with this cap, and now that of the redrawn one.
func (c *capLine) top(p *pattern.Piece) geom.Point {
	es := c.halves[1].edges
	return p.Edges[es[len(es)-1]].Path.End()
}

func (c *capLine) now() geom.Point { return c.top(c.t.p) }

// hemWide is how wide the hem is across the grain.
func (t *tube) hemWide(p *pattern.Piece) float64 {
	h := p.Edges[t.hem].Path
	return h.End().Sub(h.Start()).Dot(t.up.Right())
}

// capDrawn draws how a cap was redrawn.
func (l *plan) capDrawn(c *capLine, how string, measure ...string) {
	t, p := c.t, c.t.p
	for i := range c.was.Edges {
		kind := CutAway
		if samePath(c.was.Edges[i].Path, p.Edges[i].Path) {
			kind = Outline
		}
		l.line(kind, p.Name, c.was.Edges[i].Path, c.was.Edges[i].Name)
	}
	l.step("On %s join the underarm corners: the biceps line. Square up from it to the crown.", p.Name)
	a, b := c.halves[0].under, c.halves[1].under
	foot := c.crown.Add(t.up.Mul(-c.halves[1].high))
	l.line(Construction, p.Name, geom.Polyline(a, b), "biceps line")
	l.line(Construction, p.Name, geom.Polyline(foot, c.crown), "cap height")
	na, nb, nf, nc := l.point(a, "underarm"), l.point(b, "underarm"), l.point(foot, "foot of the crown"), l.point(c.crown, "crown before")
	l.measure(na, nb, nil, "biceps width before")
	l.measure(nf, nc, nil, "cap height before")
	l.step("%s", how)
	a1, b1 := p.Edges[c.halves[0].edges[0]].Path.End(), p.Edges[c.halves[1].edges[0]].Path.Start()
	c1 := c.now()
	moved := func(n int, from, to geom.Point, what string) int {
		if from.Dist(to) <= pattern.Near {
			return n
		}
		x := l.point(to, what+" after")
		l.measure(n, x, nil, what+" moved")
		return x
	}
	nc = moved(nc, c.crown, c1, "crown")
	ends := [2]int{moved(na, a, a1, "underarm"), moved(nb, b, b1, "underarm")}
	l.step("Redraw each half of the cap between them, in its old direction at the crown and at the underarm; measure it, and keep the lower notches as far from the underarm as they were.")
	for i := range c.halves {
		h := &c.halves[i]
		for _, e := range h.edges {
			l.line(New, p.Name, p.Edges[e].Path, p.Edges[e].Name)
		}
		if len(h.edges) == 1 && i < len(measure) {
			e := p.Edges[h.edges[0]].Path
			l.measure(ends[i], nc, e, measure[i])
		}
		if m, _ := h.lowest(&c.was); m != nil {
			l.point(p.MarkNamed(m.Name).At, m.Name)
		}
	}
	lower := false
	for i := range p.Edges {
		if !slices.Contains(t.cap.edges(len(p.Edges)), i) && !samePath(c.was.Edges[i].Path, p.Edges[i].Path) {
			if !lower {
				l.step("Draw the underarm seams from the new corners, as long as they were, and the hem between them.")
			}
			lower = true
			l.line(New, p.Name, p.Edges[i].Path, p.Edges[i].Name)
		}
	}
}

func samePath(a, b geom.Path) bool {
	return slices.Equal(a, b)
}
