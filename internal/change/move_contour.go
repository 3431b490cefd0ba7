package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A contour band is the top of pieces, cut off them at an even depth with their darts shut, their sides laid
// together. What is below keeps its darts, which are shorter by that. The two are sewn together again: the
// lower edge of the band is as long as the top of what is left, for it is the same line.

// contour is a band being taken from the top of pieces: its two lines run as the seamRun that they follow does,
// from left to right, the band above.
type contour struct {
	run    seamRun
	parts  []contourPart
	name   string
	depth  float64
	lower  geom.Path
	upper  geom.Path
	sharp  [2]geom.Path // lower and upper before they were drawn over the corners
	at     []float64    // on upper, where each edge of the run begins, and where the last ends
	bend   float64      // the sharpest of those corners, degrees
	spread float64      // how far apart the sides that are laid together stand at most
	below  seamRun      // the top of what is left
}

// contourPart is what of the run lies on one piece.
type contourPart struct {
	piece       string
	was         pattern.Piece
	first, last int             // of the run's edges
	lay         []geom.Affine   // of each of them, with the darts shut, in the part's frame
	legs        []wedge         // between them
	sides       [2]int          // edges of the piece beside the run's beginning and end
	cuts        []float64       // how far below the run each side and leg is cut: sides[0], legs …, sides[1]
	waist, cut  []geom.Path     // of each edge, its line and the parallel below it, with the darts shut
	place       geom.Affine     // into the band
	kept        map[string]bool // the marks that stay on the piece
}

// joined lays paths end to end.
func joined(paths []geom.Path) geom.Path {
	var out geom.Path
	for _, p := range paths {
		if len(out) > 0 {
			p = closeTo(p, out.End(), p.End())
		}
		out = out.Join(p)
	}
	return out
}

// waistName parts the name of a waist edge from what tells which one it is: "waist_side" is a waist, side.
func waistName(edge string) (waist, which string) {
	if edge == "waist" {
		return edge, ""
	}
	if which, ok := strings.CutPrefix(edge, "waist_"); ok {
		return "waist", which
	}
	return "", edge
}

// takeContour cuts a band of that name and depth off the pieces.
func (w *work) takeContour(run seamRun, name string, depth float64) (*contour, error) {
	c := &contour{run: run, name: name, depth: depth, below: run}
	c.below.refs = append([]pattern.EdgeRef(nil), run.refs...)
	for i := 0; i < len(run.refs); {
		k := i
		for k+1 < len(run.refs) && run.refs[k+1].Piece == run.refs[i].Piece {
			k++
		}
		part := contourPart{piece: run.refs[i].Piece, first: i, last: k}
		if err := part.shut(w, run); err != nil {
			return nil, err
		}
		c.parts = append(c.parts, part)
		i = k + 1
	}
	if err := c.deepest(); err != nil {
		return nil, err
	}
	for i := range c.parts {
		if err := c.parts[i].draw(depth); err != nil {
			return nil, err
		}
	}
	if err := c.level(); err != nil {
		return nil, err
	}
	for i := range c.parts {
		if err := c.parts[i].leave(w, c); err != nil {
			return nil, err
		}
	}
	c.below.len, c.below.at = 0, nil
	for _, r := range c.below.refs {
		c.below.at = append(c.below.at, c.below.len)
		c.below.len += edgeLength(w.p.PieceNamed(r.Piece), r.Edge)
	}
	return c, c.assemble()
}

// shut lays the edges of the run on one piece end to end with the darts between them closed, each turned about
// the dart's point.
func (t *contourPart) shut(w *work, run seamRun) error {
	p := w.p.PieceNamed(t.piece)
	t.was = p.Clone()
	n := len(p.Edges)
	at := func(i int) int { return p.EdgeNamed(run.refs[i].Edge) }
	t.lay = []geom.Affine{geom.Identity()}
	t.waist = []geom.Path{p.Edges[at(t.first)].Path.Reverse()}
	for i := t.first; i < t.last; i++ {
		here, next := at(i), at(i+1)
		lay := t.lay[len(t.lay)-1]
		found := false
		for k := range p.Darts {
			d, err := wedgeAt("/edges", p, k)
			if err != nil || (next+1)%n != d.first || (d.second+1)%n != here {
				continue
			}
			m := geom.RotateAbout(d.tip, d.a.Sub(d.tip).AngleTo(d.b.Sub(d.tip)))
			m = m.Then(geom.Translate(d.b.Sub(m.Apply(d.a))))
			lay, found = m.Then(lay), true
			t.legs = append(t.legs, d)
		}
		if !found {
			return pattern.Fault{Rule: "no_dart", Pointer: "/edges", Piece: t.piece, Edge: run.refs[i+1].Edge,
				Detail: fmt.Sprintf("%s and %s of %s do not meet over a dart", run.refs[i].Edge, run.refs[i+1].Edge, t.piece),
				Valid:  "edges with one dart between them", Remedy: "cut the band off before the waist is pleated or split"}
		}
		t.lay = append(t.lay, lay)
		t.waist = append(t.waist, p.Edges[next].Path.Reverse().Transform(lay))
	}
	t.sides = [2]int{(at(t.first) + 1) % n, (at(t.last) + n - 1) % n}
	return nil
}

// side is an edge beside the waist from there downwards, as it lies with the darts shut: the one at the
// beginning of the run (0) or at its end (1).
func (t *contourPart) side(k int) geom.Path {
	e := t.was.Edges[t.sides[k]].Path
	if k == 0 {
		return e
	}
	return e.Reverse().Transform(t.lay[len(t.lay)-1])
}

// deepest refuses a band that reaches to the points of the darts.
func (c *contour) deepest() error {
	const clear = 12.0 // mm that are left of a dart, or of a side
	most, piece, edge := math.Inf(1), "", ""
	look := func(p *pattern.Piece, i int) {
		if l := p.Edges[i].Path.Length() - clear; l < most {
			most, piece, edge = l, p.Name, p.Edges[i].Name
		}
	}
	for i := range c.parts {
		t := &c.parts[i]
		for _, d := range t.legs {
			look(&t.was, d.first)
			look(&t.was, d.second)
		}
		look(&t.was, t.sides[0])
		look(&t.was, t.sides[1])
	}
	if c.depth <= most {
		return nil
	}
	return pattern.Fault{Rule: "too_deep", Pointer: "/width", Piece: piece, Edge: edge, Detail: fmt.Sprintf("a band of %s would reach to the end of %s of %s", say(c.depth), edge, piece),
		Valid: fmt.Sprintf("up to %.1f mm", math.Max(0, most)), Remedy: "make it narrower, or move the dart first"}
}

// draw finds the parallel below the waist and where it crosses the sides and the shut darts.
func (t *contourPart) draw(depth float64) error {
	par, err := inner(joined(t.waist).Reverse(), depth)
	if err != nil {
		return pattern.Fault{Rule: "no_parallel", Pointer: "/width", Piece: t.piece, Detail: fmt.Sprintf("a band of %s cannot follow the waist of %s, which bends more tightly", say(depth), t.piece), Remedy: "make it narrower"}
	}
	par = par.Reverse()
	lines := []geom.Path{t.side(0)}
	for i, d := range t.legs {
		lines = append(lines, t.was.Edges[d.second].Path.Reverse().Transform(t.lay[i]))
	}
	lines = append(lines, t.side(1))
	var on []float64
	for _, l := range lines {
		best := math.Inf(1)
		s := 0.0
		for _, x := range geom.Intersect(par, l, 1e-6) {
			if x.T < best {
				best, s = x.T, x.S
			}
		}
		if math.IsInf(best, 1) || len(on) > 0 && s < on[len(on)-1]+1 {
			return pattern.Fault{Rule: "too_deep", Pointer: "/width", Piece: t.piece, Detail: fmt.Sprintf("%s below the waist of %s there is no line from one side to the other", say(depth), t.piece), Remedy: "make the band narrower"}
		}
		t.cuts, on = append(t.cuts, best), append(on, s)
	}
	for i := 1; i < len(on); i++ {
		t.cut = append(t.cut, par.Sub(on[i-1], on[i]))
	}
	return nil
}

// level cuts two sides that are sewn together equally far down, and trues the line over the seam below them: the
// angles on both sides make a straight one. The last stretch of each line is led there.
func (c *contour) level() error {
	const (
		most  = 5.0  // mm
		meant = 12.0 // degrees: a corner that is drawn
	)
	n := len(c.parts)
	for i := range c.parts {
		if i == n-1 && (!c.run.ring || n == 1) {
			break
		}
		a, b := &c.parts[i], &c.parts[(i+1)%n]
		sa, sb := &a.cuts[len(a.cuts)-1], &b.cuts[0]
		if math.Abs(*sa-*sb) > most {
			return pattern.Fault{Rule: "ends_differ", Pointer: "/edges", Piece: b.piece, Edge: b.was.Edges[b.sides[0]].Name,
				Detail: fmt.Sprintf("where %s is sewn to %s the band would end %.1f mm down one side and %.1f mm down the other", a.piece, b.piece, *sa, *sb),
				Valid:  fmt.Sprintf("a difference of at most %g mm", most), Remedy: "true the waist over the side seam first"}
		}
		s := (*sa + *sb) / 2
		*sa, *sb = s, s
		la, lb := a.side(1), b.side(0)
		x, y := &a.cut[len(a.cut)-1], &b.cut[0]
		turn := degrees(x.EndTangent().Neg(), la.TangentAt(s)) + degrees(y.StartTangent(), lb.TangentAt(s)) - 180
		if math.Abs(turn) > meant {
			turn = 0
		}
		half := turn * math.Pi / 360
		*x, *y = ledEnd(*x, la.PointAt(s), half), ledEnd(y.Reverse(), lb.PointAt(s), -half).Reverse()
	}
	return nil
}

// ledEnd leads the last stretch of a path to another end and turns it there.
func ledEnd(p geom.Path, to geom.Point, turn float64) geom.Path {
	const hand = 40.0
	if p.End().Dist(to) < 1e-9 && math.Abs(turn) < 1e-9 {
		return p
	}
	keep, last := p.Split(math.Max(p.Length()/2, p.Length()-hand))
	last = reEnd(last, geom.Vec{}, 0, to.Sub(p.End()), turn)
	return keep.Join(closeTo(last, last.Start(), to))
}

// leave gives the piece what is left of it below the band, and puts the marks of the band by.
func (t *contourPart) leave(w *work, c *contour) error {
	p := t.was.Clone()
	n := len(p.Edges)
	down := func(i int, s float64) { // an edge that runs down from the waist
		p.Edges[i].Path = p.Edges[i].Path.Sub(s, p.Edges[i].Path.Length())
		p.Edges[i].Src = subSource(p.Edges[i].Src, s, t.was.Edges[i].Path.Length(), t.was.Edges[i].Path.Length())
	}
	up := func(i int, s float64) { // one that runs up to it
		l := p.Edges[i].Path.Length()
		p.Edges[i].Path = p.Edges[i].Path.Sub(0, l-s)
		p.Edges[i].Src = subSource(p.Edges[i].Src, 0, l-s, l)
	}
	down(t.sides[0], t.cuts[0])
	up(t.sides[1], t.cuts[len(t.cuts)-1])
	for i, d := range t.legs {
		up(d.second, t.cuts[i+1])
		down(d.first, t.cuts[i+1])
	}
	for i, m := range t.lay {
		k := p.EdgeNamed(c.run.refs[t.first+i].Edge)
		e := &p.Edges[k]
		e.Path = closeTo(t.cut[i].Transform(inverse(m)).Reverse(), p.Edges[(k+n-1)%n].Path.End(), p.Edges[(k+1)%n].Path.Start())
		// The waist is the upper edge of the band now; this edge is called after the band.
		_, rest := waistName(e.Name)
		e.Name = free(strings.TrimSuffix(c.name+"_"+rest, "_"), func(s string) bool { return p.EdgeNamed(s) >= 0 })
		e.Src = pattern.Source{Piece: p.Name, Edge: e.Name, S1: e.Path.Length()}
		c.below.refs[t.first+i].Edge = e.Name
	}
	t.carry(&p)
	for i, m := range t.lay {
		p.Lines = clipLines(p.Lines, t.cut[i].Transform(inverse(m)), p.Outline())
	}
	fitGrain(&p)
	w.put(p)
	return nil
}

// carry keeps the marks that lie below the band at their places, and drops from the piece those that lie on it.
func (t *contourPart) carry(p *pattern.Piece) {
	out := p.Outline()
	p.Marks, t.kept = nil, map[string]bool{}
	for _, m := range t.was.Marks {
		if k := p.EdgeNamed(m.Edge); k >= 0 {
			if s, d := p.Edges[k].Path.Project(m.At); d <= pattern.Near {
				m.S, m.At = s, p.Edges[k].Path.PointAt(s)
				p.Marks = append(p.Marks, m)
			}
		} else if inside(out, m.At) {
			p.Marks = append(p.Marks, m)
		}
	}
	for _, m := range p.Marks {
		t.kept[m.Name] = true
	}
}

// assemble lays the parts together at their sides and draws both lines smooth.
func (c *contour) assemble() error {
	var segs [2][]geom.Path
	for i := range c.parts {
		t := &c.parts[i]
		t.place = geom.Identity()
		if i > 0 {
			b := &c.parts[i-1]
			u, v := segs[1][len(segs[1])-1].End(), segs[0][len(segs[0])-1].End()
			x, y := t.waist[0].Start(), t.cut[0].Start()
			t.place = geom.RotateAbout(x, y.Sub(x).AngleTo(v.Sub(u))).Then(geom.Translate(u.Sub(x)))
			mine, other := t.side(0).Sub(0, t.cuts[0]), b.side(1).Sub(0, b.cuts[len(b.cuts)-1])
			c.spread = math.Max(c.spread, math.Max(t.place.Apply(y).Dist(v), apart(mine.Transform(t.place), other.Transform(b.place))))
		}
		for k := range t.lay {
			segs[0], segs[1] = append(segs[0], t.cut[k].Transform(t.place)), append(segs[1], t.waist[k].Transform(t.place))
		}
	}
	for i, p := range []*geom.Path{&c.lower, &c.upper} {
		var at []float64
		l := 0.0
		for _, q := range segs[i] {
			at = append(at, l)
			l += q.Length()
		}
		c.sharp[i] = joined(segs[i])
		q, bend, err := c.smooth(c.sharp[i], at[1:])
		if err != nil {
			return err
		}
		*p, c.bend = q, math.Max(c.bend, bend)
		if i == 1 {
			at = append(at, l)
			c.at = at
		}
	}
	return nil
}

// smooth draws a line over its corners, as long as it is; a line without corners stays as it is.
func (c *contour) smooth(p geom.Path, corners []float64) (geom.Path, float64, error) {
	const (
		none  = 0.3  // degrees
		meant = 25.0 // degrees: no sweep of the hand goes over that
	)
	bend := sharpest(p)
	if bend < none {
		return p, bend, nil
	}
	q, ok := sweep(p, corners, p.Length())
	if bend > meant || !ok {
		return nil, bend, pattern.Fault{Rule: "no_sweep", Pointer: "/edges", Piece: c.parts[0].piece,
			Detail: fmt.Sprintf("with darts shut and sides laid together the waist has a corner of %.0f degrees, and no smooth line of its length comes near it", bend),
			Valid:  fmt.Sprintf("corners of at most %g degrees", meant), Remedy: "true the waist over its darts and side seams first"}
	}
	return q, bend, nil
}
