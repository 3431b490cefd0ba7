package change

import (
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// What goes with the cloth when a piece is opened: edges, marks, lines, grain.

// finish puts the opened outline together, on the frame that keeps what is to stay.
func (f *fan) finish() {
	p := f.p
	was := p.Clone()
	n := len(p.Edges)
	frame := f.frame()
	start, end := f.motion[0].Then(frame), f.motion[len(f.motion)-1].Then(frame)
	paths := make([]geom.Path, n)
	for i := (f.o.head.last + 1) % n; i != f.o.open.first; i = (i + 1) % n {
		paths[i] = was.Edges[i].Path.Transform(start)
	}
	for i := (f.o.open.last + 1) % n; i != f.o.head.first; i = (i + 1) % n {
		paths[i] = was.Edges[i].Path.Transform(end)
	}
	for i, m := range f.riders {
		paths[i] = was.Edges[i].Path.Transform(m.Then(frame))
	}
	for _, ls := range [2][]laid{f.openLaid, f.headLaid} {
		for i := range ls {
			ls[i].long = ls[i].seg.Length()
		}
	}
	for _, l := range f.openLaid {
		paths[l.edge] = append(paths[l.edge], l.seg.Transform(frame))
	}
	for _, l := range f.headLaid {
		paths[l.edge] = append(paths[l.edge], l.seg.Transform(frame))
	}
	for _, e := range f.o.head.edges(n) {
		if _, ok := f.riders[e]; !ok {
			paths[e] = paths[e].Reverse()
		}
	}
	for i := range paths {
		paths[i] = tidied(was.Edges[i].Path, mended(paths[i]))
	}
	for i := range paths {
		p.Edges[i].Path = closeTo(paths[i], paths[i].Start(), paths[(i+1)%n].Start())
	}
	f.carry(&was, frame)
	gain := func(r run) float64 {
		g := 0.0
		for _, i := range r.edges(n) {
			g += p.Edges[i].Path.Length() - was.Edges[i].Path.Length()
		}
		return g
	}
	f.out.openGain, f.out.headGain = gain(f.o.open), gain(f.o.head)
	f.out.openPlace = func(s spot) spot {
		x, ok := f.open.along(s)
		if !ok {
			return s
		}
		return f.placed(&f.open, f.openLaid, x)[0]
	}
	f.out.flatOpen = func(s spot) geom.Point { return frame.Apply(f.flatAt(&f.open, f.openFlat, s)) }
	f.out.flatHead = func(s spot) geom.Point { return frame.Apply(f.flatAt(&f.head, f.headFlat, s)) }
	for k, ls := range [2][]laid{f.openFlat, f.headFlat} {
		l := 0.0
		for _, g := range ls {
			l += g.seg.Length()
		}
		if k == 0 {
			f.out.openFlat = l - f.open.length
		} else {
			f.out.headFlat = l - f.head.length
		}
	}
	for i := range f.out.cuts {
		c := &f.out.cuts[i]
		c.left = c.was.Transform(f.partMotion(i).Then(frame))
		q, h := c.left.Start(), c.left.End()
		half := math.Asin(math.Max(-1, math.Min(1, (f.o.cuts[i].open-f.o.cuts[i].head)/q.Dist(h)/2)))
		n := acrossFan(h, q).Rotate(half)
		c.right = geom.Polyline(q.Add(n.Mul(f.o.cuts[i].open)), h.Add(n.Mul(f.o.cuts[i].head)))
		s, _ := f.pair.at(f.cu[i])
		c.open, c.head = f.placed(&f.open, f.openLaid, s), f.placed(&f.head, f.headLaid, f.cu[i])
	}
}

// tidied makes one straight line of a straight edge that has stayed so.
func tidied(was, is geom.Path) geom.Path {
	const off = 1e-7 // mm
	if !isStraight(was) {
		return is
	}
	a, d := is.Start(), is.End().Sub(is.Start())
	u := d.Unit()
	for _, s := range is {
		for _, q := range [4]geom.Point{s.P0, s.P1, s.P2, s.P3} {
			if k := q.Sub(a); math.Abs(k.Cross(u)) > off || k.Dot(u) < -off || k.Dot(u) > d.Len()+off {
				return is
			}
		}
	}
	return geom.Polyline(is.Start(), is.End())
}

// partMotion is how the i-th part lies: it touches the redrawn edge at its middle.
func (f *fan) partMotion(i int) geom.Affine {
	return f.motion[f.knot(f.mid[i])]
}

// stays is what does not move: what was asked for, or a side that lies on the fold.
func (f *fan) stays() keep {
	n := len(f.p.Edges)
	for i := (f.o.head.last + 1) % n; i != f.o.open.first; i = (i + 1) % n {
		if f.p.Edges[i].Fold {
			return keepStart
		}
	}
	for i := (f.o.open.last + 1) % n; i != f.o.head.first; i = (i + 1) % n {
		if f.p.Edges[i].Fold {
			return keepEnd
		}
	}
	return f.o.keep
}

// frameTurn is by how much the whole is turned back, so that what stays is not turned.
func (f *fan) frameTurn() float64 {
	switch f.stays() {
	case keepStart:
		return 0
	case keepEnd:
		return -f.out.turn
	}
	return -f.out.turn / 2
}

// frame moves the whole so that what is to be kept lies where it was.
func (f *fan) frame() geom.Affine {
	last := len(f.hs) - 1
	switch f.stays() {
	case keepStart:
		return geom.Identity()
	case keepEnd:
		return moving(f.frameTurn(), f.motion[last+1].Apply(f.hs[last].P3), f.hs[last].P3)
	}
	return moving(f.frameTurn(), f.move(f.p.Align), f.p.Align)
}

// move is where a point of the cloth comes to lie, before the frame.
func (f *fan) move(q geom.Point) geom.Point {
	side := func(h, o geom.Point) float64 { return o.Sub(h).Cross(q.Sub(h)) }
	for j := range f.hs {
		h, o := f.hs[j], f.qs[j]
		if j == 0 && side(h.P0, o.P0) <= 0 {
			return f.motion[0].Apply(q)
		}
		// Over the mouth of a dart the cloth goes with what lies before it.
		if side(h.P0, o.P0) < 0 {
			return f.motion[j].Apply(q)
		}
		if side(h.P3, o.P3) >= 0 && (j < len(f.hs)-1 || side(h.P3, o.P3) > 0) {
			continue
		}
		if f.o.sharp || f.rests(f.u[j], f.u[j+1]) {
			return f.motion[j].Apply(q)
		}
		lo, hi := 0.0, 1.0
		for range 30 {
			t := (lo + hi) / 2
			if side(h.At(t), o.At(t)) >= 0 {
				lo = t
			} else {
				hi = t
			}
		}
		return moving(f.turned(j, lo), h.At(lo), f.moved[j].At(lo)).Apply(q)
	}
	return f.motion[len(f.motion)-1].Apply(q)
}

// placed is where a place of the old run lies on the new one: left and right of a gap that opened there.
func (f *fan) placed(t *thread, ls []laid, x float64) [2]spot {
	const same = 1e-7
	old := t.spot(x)
	for _, d := range t.beads { // a corner belongs to the edge before it in the walk
		if math.Abs(d.b-x) < same {
			old.edge = d.edge
			break
		}
	}
	l, left, right := 0.0, -1.0, -1.0
	for _, g := range ls {
		if g.edge != old.edge {
			continue
		}
		n := g.long
		switch {
		case g.b < x-same || g.a > x+same:
		case g.b-g.a < same: // the gap
			left, right = l, l+n
		case right < 0 || g.a < x-same:
			k := n
			if x < g.b-same {
				k = x - g.a
				if !g.stiff {
					u := x
					if t == &f.open {
						u = f.pair.where(x)
					}
					k = g.seg.Sub(0, math.Max(0, math.Min(1, (u-g.ua)/(g.ub-g.ua)))).Length()
				}
			}
			left, right = l+k, l+k
		}
		l += n
	}
	if t.back {
		return [2]spot{{old.edge, math.Max(0, l-left)}, {old.edge, math.Max(0, l-right)}}
	}
	return [2]spot{{old.edge, math.Min(l, left)}, {old.edge, math.Min(l, right)}}
}

// flatAt is where a place of an old run was laid before it swelled.
func (f *fan) flatAt(t *thread, ls []laid, s spot) geom.Point {
	x, ok := t.along(s)
	if !ok {
		return s.at(f.p)
	}
	for i, g := range ls {
		if x > g.b && i < len(ls)-1 {
			continue
		}
		if g.stiff {
			return g.seg.At(g.seg.ParamAt(x - g.a))
		}
		u := x
		if t == &f.open {
			u = f.pair.where(x)
		}
		return g.seg.At(math.Max(0, math.Min(1, (u-g.ua)/(g.ub-g.ua))))
	}
	return s.at(f.p)
}

// carry moves marks, inner lines, and finds the grain line a place.
func (f *fan) carry(was *pattern.Piece, frame geom.Affine) {
	p := f.p
	n := len(p.Edges)
	on := map[int]*thread{}
	for _, i := range f.o.open.edges(n) {
		on[i] = &f.open
	}
	for _, i := range f.o.head.edges(n) {
		on[i] = &f.head
	}
	for k := range p.Marks {
		m := &p.Marks[k]
		i := was.EdgeNamed(m.Edge)
		if i < 0 {
			m.At = frame.Apply(f.move(m.At))
			continue
		}
		if t := on[i]; t != nil {
			if x, ok := t.along(spot{i, m.S}); ok {
				m.S = f.markOn(t, i, x)
			}
		}
		m.S = math.Max(0, math.Min(m.S, p.Edges[i].Path.Length()))
		m.At = p.Edges[i].Path.PointAt(m.S)
	}
	for k := range p.Lines {
		q := append(geom.Path{}, p.Lines[k].Path...)
		for i := range q {
			mv := func(x geom.Point) geom.Point { return frame.Apply(f.move(x)) }
			if q[i].Straight {
				q[i] = geom.Line(mv(q[i].P0), mv(q[i].P3))
			} else {
				q[i] = geom.Cubic(mv(q[i].P0), mv(q[i].P1), mv(q[i].P2), mv(q[i].P3))
			}
		}
		p.Lines[k].Path = q
	}
	p.Align = frame.Apply(f.move(p.Align))
	fitGrain(p)
}

// markOn is the place on the new edge of a mark after the length x walked on the old run.
func (f *fan) markOn(t *thread, edge int, x float64) float64 {
	ls := f.headLaid
	if t == &f.open {
		ls = f.openLaid
	}
	a, b, _ := t.bounds(edge)
	switch {
	case x <= a+1e-7 && !t.back, x >= b-1e-7 && t.back:
		return 0
	case x >= b-1e-7, x <= a+1e-7:
		return math.Inf(1)
	}
	return f.placed(t, ls, x)[0].s
}

// slashesAlong draws n lines along a direction, evenly over what both runs span across it: lines along
// the grain from hem to cap. nil: some do not reach.
func slashesAlong(p *pattern.Piece, open, head run, n int, d geom.Vec) []slash {
	o, h := newThread(p, open, false), newThread(p, head, true)
	if len(o.beads) == 0 || len(h.beads) == 0 {
		return nil
	}
	l0, h0 := spans(o.path(), d)
	l1, h1 := spans(h.path(), d)
	lo, hi := math.Max(l0, l1), math.Min(h0, h1)
	var at []float64
	for i := range n {
		at = append(at, lo+(hi-lo)*float64(i+1)/float64(n+1))
	}
	return slashesAt(&o, &h, at, d)
}

// slashesWithin draws n lines along a direction, evenly between two places of the head.
func slashesWithin(p *pattern.Piece, open, head run, n int, d geom.Vec, within [2]spot) []slash {
	o, h := newThread(p, open, false), newThread(p, head, true)
	a := d.Unit().Right()
	x := func(s spot) float64 { return s.at(p).Sub(geom.Point{}).Dot(a) }
	lo, hi := x(within[0]), x(within[1])
	l, r := spans(o.path(), d)
	lo, hi = math.Max(math.Min(lo, hi), l), math.Min(math.Max(lo, hi), r)
	var at []float64
	for i := range n {
		at = append(at, lo+(hi-lo)*(float64(i)+0.5)/float64(n))
	}
	return slashesAt(&o, &h, at, d)
}

// spans is how far a run reaches across a direction.
func spans(q geom.Path, d geom.Vec) (lo, hi float64) {
	a := d.Unit().Right()
	x0, x1 := q.Start().Sub(geom.Point{}).Dot(a), q.End().Sub(geom.Point{}).Dot(a)
	return math.Min(x0, x1), math.Max(x0, x1)
}

// slashesAt draws lines along a direction, each so far across it.
func slashesAt(o, h *thread, across []float64, d geom.Vec) []slash {
	op, hp := o.path(), h.path()
	u := d.Unit()
	var out []slash
	for _, c := range across {
		at := geom.Point{}.Add(u.Right().Mul(c))
		line := geom.Polyline(at.Add(u.Mul(-2*pattern.MaxCoord)), at.Add(u.Mul(2*pattern.MaxCoord)))
		xo, xh := geom.Intersect(op, line, 1e-7), geom.Intersect(hp, line, 1e-7)
		if len(xo) == 0 || len(xh) == 0 {
			return nil
		}
		out = append(out, slash{at: o.spot(xo[0].S), to: h.spot(xh[0].S)})
	}
	if len(out) > 1 {
		a, _ := o.along(out[0].at)
		if b, _ := o.along(out[1].at); b < a {
			slices.Reverse(out)
		}
	}
	return out
}

// slashesEven joins equal shares of both runs; darts do not count.
func slashesEven(p *pattern.Piece, open, head run, n int) []slash {
	o, h := newThread(p, open, false), newThread(p, head, true)
	var out []slash
	for i := range n {
		k := float64(i+1) / float64(n+1)
		out = append(out, slash{at: o.spot(o.length * k), to: h.spot(h.length * k)})
	}
	return out
}
