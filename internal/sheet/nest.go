package sheet

import (
	"math"
	"slices"

	"sizerun/internal/geom"
)

// flat is how far the straight stretches, by which room is found and emptiness is judged, may lie
// from the true line, mm. The drawing itself keeps its curves.
const flat = 0.05

// shape is one size of one piece, ready to be drawn: the items of its Form, and which of the nest's
// lines are its own.
type shape struct {
	d        *Drawn
	outline  []geom.Point // the cut line, closed; nil where the size lacks the piece
	from, to int          // its lines
	items    []Item
	bounds   geom.Rect
}

// nest is one piece in all its sizes, turned as it will lie on the paper.
type nest struct {
	piece        int
	sizes        []shape
	small, large int          // first and last size that has the piece
	common       []Item       // drawn once: grain, fold arrows, the leader of a label
	lines        []line       // everything, common marks included
	ix           *index       // of the lines, but for those of leaders
	bounds       geom.Rect    // of everything, a label that stands outside included
	middle       []geom.Point // places for the label inside the smallest size, best first
	aside        *aside       // the label, when it stands beside the nest
	words        []word       // words that wish to stand near a place
	label        *labels      // the ways to set the label
	flat         []geom.Point // room to flatten paths in
	dots         []float64    // how near the dots of neighbouring sizes come, dot by dot
	squares      []float64    // the same of match squares
}

// word is a word that belongs to a place.
type word struct {
	s     string
	at    geom.Point
	also  []geom.Point // other places of the same mark, in other sizes
	along geom.Vec     // not zero: written along this direction, on its left side
	reach float64      // how far along it may slide each way
	size  float64
}

// owner numbers the cut lines of the sizes of the nests.
func owner(nest, size int) int { return nest*MaxSizes + size }

// newNest draws piece k of the job, turned by quarter turns.
func newNest(j *Job, k, quarters int, o Options, t *setter) nest {
	m := geom.RotateAbout(geom.Point{}, float64(quarters)*math.Pi/2)
	if quarters == 0 {
		m = geom.Identity()
	}
	drawn := j.Pieces[k].Sizes
	n := nest{piece: k, small: -1, bounds: geom.EmptyRect(), sizes: make([]shape, len(drawn))}
	n.dots, n.squares = spacing(drawn, dotsOf), spacing(drawn, squaresOf)
	for i := range drawn {
		s := &n.sizes[i]
		s.bounds = geom.EmptyRect()
		if len(drawn[i].Cut) == 0 {
			s.d = &drawn[i]
			continue
		}
		d := &drawn[i]
		if quarters != 0 {
			r := turn(drawn[i], m)
			d = &r
		}
		n.draw(s, d, i, j.style(i), o)
		if n.small < 0 {
			n.small = i
			// Room for the other sizes, which are much like the first.
			n.lines = slices.Grow(n.lines, len(n.lines)*(len(drawn)-i-1)*9/8+64)
		}
		n.large = i
		n.bounds = n.bounds.Union(s.bounds)
	}
	n.marks(o)
	n.callouts()
	n.ix = newIndex(n.bounds, n.lines)
	n.reserveLabel(j.Pieces[k].Lines, t)
	return n
}

func turn(d Drawn, m geom.Affine) Drawn {
	paths := func(ps []geom.Path) []geom.Path {
		var out []geom.Path
		for _, p := range ps {
			out = append(out, p.Transform(m))
		}
		return out
	}
	r := Drawn{Cut: d.Cut.Transform(m), Seam: paths(d.Seam), Notches: paths(d.Notches), Inner: paths(d.Inner), Folds: paths(d.Folds)}
	r.Grain = [2]geom.Point{m.Apply(d.Grain[0]), m.Apply(d.Grain[1])}
	for _, p := range d.Dots {
		r.Dots = append(r.Dots, m.Apply(p))
	}
	for _, s := range d.Squares {
		r.Squares = append(r.Squares, Square{m.Apply(s.At), m.ApplyVec(s.Dir)})
	}
	for _, c := range d.Texts {
		r.Texts = append(r.Texts, Callout{m.Apply(c.At), c.S})
	}
	return r
}

// Sizes of the marks on the pattern, mm: common practice, large enough to be seen and snipped at.
const (
	dotRadius  = 1.5
	squareSide = 5
)

// draw makes the items of one size and their straight stretches.
func (n *nest) draw(s *shape, d *Drawn, size, style int, o Options) {
	s.d, s.from = d, len(n.lines)
	s.items = make([]Item, 0, 6)
	put := func(kind Kind, ps []geom.Path, closed bool, p Pen, owner int) {
		if len(ps) == 0 {
			return
		}
		keep := ps
		for i, q := range ps {
			if len(q) == 0 { // without the empty ones, which are rare
				keep = append([]geom.Path{}, ps[:i]...)
				for _, q := range ps[i:] {
					if len(q) > 0 {
						keep = append(keep, q)
					}
				}
				break
			}
		}
		for _, q := range keep {
			n.chain(q, closed, p.Width/2, owner, &s.bounds)
		}
		if len(keep) > 0 {
			s.items = append(s.items, Item{Layer: NoLayer, Stroke: &Stroke{Paths: keep, Closed: closed, Pen: p, Kind: kind}})
		}
	}
	mark := solid(style, o.mark())
	put(CutLine, []geom.Path{d.Cut}, true, pen(style, o.Line), owner(n.piece, size))
	s.outline = slices.Clone(n.flat)
	if o.SeamLines {
		put(SeamLine, d.Seam, false, solid(style, o.fine()), nobody)
	}
	put(InnerLine, d.Inner, false, Pen{Width: o.fine() + 0.07, Color: color(style), Dash: []float64{5, 1.5}}, nobody)
	put(NotchLine, d.Notches, false, mark, nobody)
	var dots, squares []geom.Path
	for i, p := range d.Dots {
		dots = append(dots, circle(p, dotSize(n.dots[i])))
	}
	for i, q := range d.Squares {
		squares = append(squares, square(q.At, q.Dir, squareSize(n.squares[i])))
	}
	put(DotMark, dots, true, mark, nobody)
	put(SquareMark, squares, true, mark, nobody)
	s.to = len(n.lines)
}

// chain adds the straight stretches of a path to the lines, and their extent to b.
func (n *nest) chain(p geom.Path, closed bool, half float64, owner int, b *geom.Rect) {
	pts := p.AppendFlat(n.flat[:0], flat)
	n.flat = pts
	if len(pts) == 0 {
		return
	}
	last := pts[0]
	lo, hi := last, last
	for _, q := range pts[1:] {
		n.lines = append(n.lines, line{last, q, half, owner})
		lo.X, lo.Y, hi.X, hi.Y = min(lo.X, q.X), min(lo.Y, q.Y), max(hi.X, q.X), max(hi.Y, q.Y)
		last = q
	}
	if closed && last != pts[0] {
		n.lines = append(n.lines, line{last, pts[0], half, owner})
	}
	*b = b.Union(geom.Rect{Min: lo, Max: hi}.Inset(-half))
}

// circle in four cubics; the handle length 4/3 (√2 − 1) errs by 0.03 % of the radius (common knowledge of
// Bézier circles).
func circle(c geom.Point, r float64) geom.Path {
	const k = 0.5522847498307936
	at := func(x, y float64) geom.Point { return geom.Pt(c.X+x*r, c.Y+y*r) }
	return geom.Path{
		geom.Cubic(at(1, 0), at(1, k), at(k, 1), at(0, 1)),
		geom.Cubic(at(0, 1), at(-k, 1), at(-1, k), at(-1, 0)),
		geom.Cubic(at(-1, 0), at(-1, -k), at(-k, -1), at(0, -1)),
		geom.Cubic(at(0, -1), at(k, -1), at(1, -k), at(1, 0)),
	}
}

func square(c geom.Point, dir geom.Vec, side float64) geom.Path {
	u := dir.Unit()
	if u == (geom.Vec{}) {
		u = geom.Vec{X: 1}
	}
	b := box{c, u, side / 2, side / 2}.corners()
	return geom.Polyline(b[0], b[1], b[2], b[3], b[0])
}

func rectPath(r geom.Rect) geom.Path {
	return geom.Polyline(r.Min, geom.Pt(r.Max.X, r.Min.Y), r.Max, geom.Pt(r.Min.X, r.Max.Y), r.Min)
}

// put adds an item that is drawn once for the nest.
func (n *nest) put(it Item) {
	n.common = append(n.common, it)
	switch {
	case it.Stroke != nil:
		for _, p := range it.Stroke.Paths {
			n.chain(p, false, it.Stroke.Pen.Width/2, nobody, &n.bounds)
		}
	case it.Fill != nil:
		for _, p := range it.Fill.Paths {
			n.chain(p, false, 0, nobody, &n.bounds)
		}
	}
}

func strokeItem(p Pen, ps ...geom.Path) Item {
	return Item{Layer: NoLayer, Stroke: &Stroke{Paths: ps, Pen: p}}
}

func kindItem(k Kind, p Pen, ps ...geom.Path) Item {
	it := strokeItem(p, ps...)
	it.Stroke.Kind = k
	return it
}

func fillItem(c RGB, ps ...geom.Path) Item {
	return Item{Layer: NoLayer, Fill: &Fill{Paths: ps, Color: c}}
}

// headLong is the length of an arrow's head, mm.
const headLong = 5.0

// arrowHead points along dir with its tip at p, l long.
func arrowHead(p geom.Point, dir geom.Vec, l float64) geom.Path {
	u := dir.Unit()
	a, b := p.Add(u.Mul(-l)).Add(u.Left().Mul(0.3*l)), p.Add(u.Mul(-l)).Add(u.Left().Mul(-0.3*l))
	return geom.Polyline(p, a, b, p)
}

// marks draws what the nest shows once. Grain and fold lie as in the smallest size, which is
// inside the others; where a size has its grain at another angle it gets its own arrow.
func (n *nest) marks(o Options) {
	thin := Pen{Width: o.mark()}
	var drawn []geom.Vec
	for i := range n.sizes {
		s := &n.sizes[i]
		g := s.d.Grain[1].Sub(s.d.Grain[0])
		if s.outline == nil || g.Len() < 1 {
			continue
		}
		again := false
		for _, d := range drawn {
			if math.Abs(d.AngleTo(g)) < 0.002 {
				again = true
			}
		}
		if again {
			continue
		}
		drawn = append(drawn, g)
		u := g.Unit()
		head := math.Min(headLong, g.Len()/4)
		n.put(kindItem(GrainLine, thin, geom.Polyline(s.d.Grain[0].Add(u.Mul(head/2)), s.d.Grain[1].Add(u.Mul(-head/2)))))
		n.put(fillItem(black, arrowHead(s.d.Grain[1], g, head), arrowHead(s.d.Grain[0], g.Neg(), head)))
		if len(drawn) == 1 {
			along := u
			if along.X < -1e-9 || math.Abs(along.X) < 1e-9 && along.Y < 0 {
				along = along.Neg()
			}
			n.words = append(n.words, word{s: "grain", at: s.d.Grain[0].Lerp(s.d.Grain[1], 0.5), along: along, reach: g.Len()/2 - 8, size: 3})
		}
	}
	s := &n.sizes[n.small]
	inward := geom.Vec.Left
	if s.d.Cut.Area() < 0 {
		inward = geom.Vec.Right
	}
	for _, f := range s.d.Folds {
		n.fold(f, s.d.Cut, inward, thin)
	}
}

// fold draws the bent arrow along an edge that lies on the fold: its heads touch the fold.
func (n *nest) fold(f, cut geom.Path, inward func(geom.Vec) geom.Vec, thin Pen) {
	if len(f) == 0 {
		return
	}
	l := f.Length()
	if l < 20 {
		return
	}
	depth := math.Min(9, l/4)
	mid, side := f.PointAt(l/2), inward(f.TangentAt(l/2))
	for depth > 2.5 && !cut.Contains(mid.Add(side.Mul(depth+1))) { // a narrow piece has a shallow arrow
		depth = math.Max(2.5, depth-1.5)
	}
	s0, s1 := l*0.12, l*0.88
	if l > 400 {
		s0, s1 = l*0.25, l*0.75
	}
	p0, p1 := f.PointAt(s0), f.PointAt(s1)
	in := inward(p1.Sub(p0).Unit())
	if in == (geom.Vec{}) {
		return
	}
	a, b := p0.Add(in.Mul(depth)), p1.Add(in.Mul(depth))
	tip, head := in.Mul(0.4), math.Min(headLong, depth*0.6)
	n.put(kindItem(FoldLine, thin, geom.Polyline(p0.Add(in.Mul(head/2)), a, b, p1.Add(in.Mul(head/2)))))
	n.put(fillItem(black, arrowHead(p0.Add(tip), in.Neg(), head), arrowHead(p1.Add(tip), in.Neg(), head)))
	along := b.Sub(a).Unit()
	if along.X < -1e-9 || math.Abs(along.X) < 1e-9 && along.Y < 0 {
		along = along.Neg()
	}
	n.words = append(n.words, word{s: "place on the fold", at: a.Lerp(b, 0.5), along: along, reach: a.Dist(b)/2 - 10, size: 3})
}

// callouts takes the words beside marks. A word is written once for the nest, on the largest size
// or, where that lies in a throng of lines, on a smaller one with more room.
func (n *nest) callouts() {
	var order []string
	at := map[string][]geom.Point{}
	for i := len(n.sizes) - 1; i >= 0; i-- {
		for _, c := range n.sizes[i].d.Texts {
			if c.S == "" {
				continue
			}
			if _, known := at[c.S]; !known {
				order = append(order, c.S)
			}
			at[c.S] = append(at[c.S], c.At)
		}
	}
	for _, s := range order {
		n.words = append(n.words, word{s: s, at: at[s][0], also: at[s][1:], size: 2.8})
	}
}
