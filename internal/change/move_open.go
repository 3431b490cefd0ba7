package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Slash and spread. A piece is cut along lines that lead from one run of its edges (open, say the hem) to
// another (head, say the cap) and its parts are laid apart, so far at the one end and so far at the other:
//
//	nothing at the head       hinged there: flare, bell
//	nothing at the open run   hinged there: puff
//	the same at both          spread right through: gathers at both ends, pleats
//
// Between open and head lie the two sides, which stay as they are. By hand the parts stay stiff, the edges
// get a corner at every line, and are then redrawn smooth. Here the opening is spread over the cloth
// between the middles of two neighbouring parts as if there were infinitely many lines: u is the length
// walked along the head, h(u) and q(u) the two ends of the line there, ψ(u) how far the cloth has turned,
// b(u) how much is put in at the head; with n square to the line
//
//	H' = R(ψ) h' + b n      Q = H + R(ψ) (q − h)
//
// so that an edge at which nothing is put in keeps its length exactly, an edge that opens gains what is
// put in, both stay smooth, and half of each end part stays stiff, with the corners at the sides.
// Sharp keeps the parts stiff up to the lines and bridges the gaps with straight stretches: pleats.

// slash is a line that a piece is opened along, and how far: open at its end on the open run, head at
// the other. Less than nothing closes.
type slash struct {
	at, to     spot
	open, head float64
}

// swell pushes a run out by a vector, as the piece lies afterwards, most at its peak and not at all beyond from and to.
type swell struct {
	from, peak, to spot
	by             geom.Vec
}

// keep tells what does not move: the middle (half of the turn goes to either side), or the side at which
// the open run begins or ends. A side with a fold stays anyway.
type keep int

const (
	keepMiddle keep = iota
	keepStart
	keepEnd
)

// opening is what spread is asked for.
type opening struct {
	open, head run
	cuts       []slash // in order along the open run
	// within is a stretch of the head, from the end of it where the open run begins, beyond which the cloth
	// stays stiff: gathers that start and stop. nil: all of it may open.
	within *[2]spot
	// gain is how much longer the open run is to become. Lines that do not meet it squarely put in less along
	// it than across: then all are opened a little further. 0: each opens by just what it says.
	gain                 float64
	sharp                bool
	keep                 keep
	swellOpen, swellHead *swell
	ptr                  string // the argument to blame
}

// spreading is what spread did.
type spreading struct {
	cuts               []slashed
	turn               float64 // of one side against the other, radians
	openGain, headGain float64 // how much longer the two runs are
	// openPlace is where a place of the open run lies now. flatOpen and flatHead are where places of the two
	// runs would lie without a swell; openFlat and headFlat how much longer they would be.
	openPlace          func(spot) spot
	flatOpen, flatHead func(spot) geom.Point
	openFlat, headFlat float64
}

// slashed is one slash after it was opened.
type slashed struct {
	was         geom.Path // the line before, from open to head
	left, right geom.Path // its two lips, as they lie when the parts are laid out by hand
	// open and head are where the lips end on the redrawn runs, the left one first; where a run is
	// redrawn smooth both are the same place.
	open, head [2]spot
}

// laid is a stretch of a run after the opening.
type laid struct {
	edge   int
	a, b   float64 // lengths walked on the old run; equal for a gap
	ua, ub float64
	stiff  bool
	seg    geom.Seg
	long   float64 // of seg, once all is laid
}

// fan is the work of one spread.
type fan struct {
	p          *pattern.Piece
	o          opening
	head, open thread
	u          []float64 // of the knots
	cu         []float64 // of the slashes
	more       []float64 // of knots besides
	mid        []float64 // middles of the parts
	pair       ramp      // u to the length walked on the open run
	let, put   ramp      // how much is put in up to u at the open run, at the head
	psi, bend  []float64 // at the knots: how far the cloth has turned, and its slope
	turn       []float64 // per slash
	hs, qs     []geom.Seg
	he, qe     []int
	moved      []geom.Seg // hs moved, without swell
	motion     []geom.Affine
	headLaid   []laid
	openLaid   []laid
	headFlat   []laid // as they were laid before they swelled
	openFlat   []laid
	riders     map[int]geom.Affine
	aside      geom.Vec // where all lines are parallel and spread right through
	out        spreading
}

// spread opens the piece in place. It refuses lines that do not lead from the one run to the other side
// by side inside the piece. Marks, inner lines and darts go with the cloth; edges keep names and sources.
// It does not look at seams: an edge that has grown no longer matches what it is sewn to.
func (w *work) spread(p *pattern.Piece, o opening) (spreading, error) {
	f := fan{p: p, o: o, head: newThread(p, o.head, true), open: newThread(p, o.open, false), riders: map[int]geom.Affine{}}
	if err := f.lines(w); err != nil {
		return spreading{}, err
	}
	f.knots()
	f.turns()
	if fine := f.finer(); len(fine) > 0 {
		f.more = fine
		f.knots()
		f.turns()
	}
	if o.gain > 0 && !o.sharp {
		if err := f.reach(); err != nil {
			return spreading{}, err
		}
	}
	if err := f.bearable(); err != nil {
		return spreading{}, err
	}
	f.lay()
	f.finish()
	w.made = append(w.made, p.Name)
	return f.out, nil
}

func (f *fan) refuse(rule, detail, valid, remedy string) error {
	return pattern.Fault{Rule: rule, Pointer: f.o.ptr, Piece: f.p.Name, Detail: detail, Valid: valid, Remedy: remedy}
}

// lines finds the slashes on both runs.
func (f *fan) lines(w *work) error {
	const (
		least = 2.0 // mm between two lines, and from a line to the end of a run
		most  = 200
	)
	if len(f.o.cuts) == 0 || len(f.o.cuts) > most {
		return f.refuse("no_slash", fmt.Sprintf("%d lines to open along", len(f.o.cuts)), fmt.Sprintf("1 to %d", most), "choose another number of lines")
	}
	var cs []float64
	for i, c := range f.o.cuts {
		u, ok1 := f.head.along(c.to)
		s, ok2 := f.open.along(c.at)
		if !ok1 || !ok2 {
			return f.refuse("slash_ends", fmt.Sprintf("line %d does not lead from one edge to the other", i+1), "ends on the two edges, and not on a dart", "move the line")
		}
		f.cu, cs = append(f.cu, u), append(cs, s)
	}
	for _, t := range []struct {
		x []float64
		l float64
	}{{f.cu, f.head.length}, {cs, f.open.length}} {
		last := 0.0
		for i, x := range append(append([]float64(nil), t.x...), t.l) {
			if x-last < least {
				return f.refuse("slash_order", fmt.Sprintf("lines %d and %d lie %.1f mm apart at one end", i, i+1, x-last),
					fmt.Sprintf("at least %g mm between lines, and to the ends of the edge, in the same order at both ends", least), "take fewer lines, or move them apart")
			}
			last = x
		}
	}
	for i, c := range f.o.cuts {
		line := geom.Polyline(c.at.at(f.p), c.to.at(f.p))
		if err := w.staysInside(f.p, line, f.o.ptr); err != nil {
			fs := pattern.FaultsOf(err)
			fs[0].Detail = fmt.Sprintf("line %d: %s", i+1, fs[0].Detail)
			return fs
		}
		f.out.cuts = append(f.out.cuts, slashed{was: line})
	}
	x := append(append([]float64{0}, f.cu...), f.head.length)
	y := append(append([]float64{0}, cs...), f.open.length)
	f.pair = newRamp(x, y)
	for i := 1; i < len(x); i++ {
		f.mid = append(f.mid, (x[i-1]+x[i])/2)
	}
	if f.o.within != nil {
		a, ok1 := f.head.along(f.o.within[0])
		b, ok2 := f.head.along(f.o.within[1])
		n := len(f.mid) - 1
		if !ok1 || !ok2 || a > f.cu[0]-least || b < f.cu[n-1]+least {
			return f.refuse("slash_outside", fmt.Sprintf("the lines do not lie within the stretch that opens, with %g mm to spare", least), "", "take fewer lines, or a longer stretch")
		}
		f.mid[0], f.mid[n] = math.Max(f.mid[0], a), math.Min(f.mid[n], b)
	}
	return nil
}

// gauss are the places and weights of three-point Gauss-Legendre integration on [0, 1].
var gauss = [3][2]float64{{0.1127016653792583, 5.0 / 18}, {0.5, 4.0 / 9}, {0.8872983346207417, 5.0 / 18}}

// moving is the motion that turns by a and brings from to to.
func moving(a float64, from, to geom.Point) geom.Affine {
	return geom.RotateAbout(from, a).Then(geom.Translate(to.Sub(from)))
}

// lay walks the fan from its start, which stays, to its end.
func (f *fan) lay() {
	at := f.hs[0].P0
	stiffTurn, part := 0.0, 0
	ride := func(u float64, m geom.Affine) {
		for _, r := range f.head.riders {
			if _, done := f.riders[r.edge]; !done && r.at <= u+1e-6 {
				f.riders[r.edge] = m.Then(geom.Translate(f.lifted(f.o.swellHead, &f.head, r.at)))
			}
		}
		for _, r := range f.open.riders {
			if _, done := f.riders[r.edge]; !done && f.pair.where(r.at) <= u+1e-6 {
				f.riders[r.edge] = m.Then(geom.Translate(f.lifted(f.o.swellOpen, &f.open, r.at)))
			}
		}
	}
	for j := range f.hs {
		h, q := f.hs[j], f.qs[j]
		a, b := f.u[j], f.u[j+1]
		du := b - a
		var p0, p1 float64
		stiff := true
		if !f.o.sharp {
			p0, p1 = f.psi[j], f.psi[j+1]
			stiff = f.rests(a, b)
		} else {
			for part < len(f.cu) && f.cu[part] <= a+1e-9 {
				at = f.gap(part, j, at, stiffTurn)
				stiffTurn += f.turn[part]
				part++
			}
			p0, p1 = stiffTurn, stiffTurn
		}
		if j > 0 {
			at = at.Add(h.P0.Sub(f.hs[j-1].P3).Rotate(p0)) // over the mouth of a dart
		}
		m := moving(p0, h.P0, at)
		ride(a, m)
		f.motion = append(f.motion, m)
		var nh, nq geom.Seg
		if stiff {
			nh, nq = h.Transform(m), q.Transform(m)
			nh.P0 = at
			at = nh.P3
		} else {
			n0, n1 := f.square(h.P0, q.P0), f.square(h.P3, q.P3)
			_, g0 := f.put.at(a)
			_, g1 := f.put.at(b)
			_, l0 := f.let.at(a)
			_, l1 := f.let.at(b)
			end := f.walked(j, at)
			d0 := h.Tangent(0).Add(n0.Mul(g0)).Rotate(p0)
			d1 := h.Tangent(1).Add(n1.Mul(g1)).Rotate(p1)
			nh = geom.Cubic(at, at.Add(d0.Mul(du/3)), end.Add(d1.Mul(-du/3)), end)
			a0 := at.Add(q.P0.Sub(h.P0).Rotate(p0))
			a1 := end.Add(q.P3.Sub(h.P3).Rotate(p1))
			_, s0 := f.pair.at(a)
			_, s1 := f.pair.at(b)
			c0 := q.Tangent(0).Mul(s0).Add(n0.Mul(l0)).Rotate(p0)
			c1 := q.Tangent(1).Mul(s1).Add(n1.Mul(l1)).Rotate(p1)
			nq = geom.Cubic(a0, a0.Add(c0.Mul(du/3)), a1.Add(c1.Mul(-du/3)), a1)
			at = end
		}
		f.moved = append(f.moved, nh)
		s0, d0 := f.pair.at(a)
		s1, d1 := f.pair.at(b)
		lh, lq := laid{edge: f.he[j], a: a, b: b, ua: a, ub: b, stiff: stiff, seg: nh}, laid{edge: f.qe[j], a: s0, b: s1, ua: a, ub: b, stiff: stiff, seg: nq}
		f.headFlat, f.openFlat = append(f.headFlat, lh), append(f.openFlat, lq)
		f.headLaid = append(f.headLaid, f.swollen(lh, f.o.swellHead, &f.head, 1, 1))
		f.openLaid = append(f.openLaid, f.swollen(lq, f.o.swellOpen, &f.open, d0, d1))
	}
	if !f.o.sharp {
		for _, ls := range [2][]laid{f.openFlat, f.openLaid} {
			f.even(ls, f.qs)
		}
		for _, ls := range [2][]laid{f.headFlat, f.headLaid} {
			f.even(ls, f.hs)
		}
	}
	last := len(f.hs) - 1
	psi := f.out.turn
	m := moving(psi, f.hs[last].P3, at)
	ride(math.Inf(1), m)
	f.motion = append(f.motion, m)
}

// rests: between a and b nothing is put in.
func (f *fan) rests(a, b float64) bool {
	const none = 1e-12
	for _, r := range []*ramp{&f.let, &f.put} {
		y0, _ := r.at(a)
		y1, _ := r.at(b)
		if math.Abs(y1-y0) > none {
			return false
		}
	}
	return true
}

// walked is where the head comes to from at, between the knots j and j + 1.
func (f *fan) walked(j int, at geom.Point) geom.Point {
	h, a, du := f.hs[j], f.u[j], f.u[j+1]-f.u[j]
	if f.aside != (geom.Vec{}) { // nothing turns, and all is laid off the same way
		w0, _ := f.put.at(a)
		w1, _ := f.put.at(a + du)
		return at.Add(h.P3.Sub(h.P0)).Add(f.aside.Mul(w1 - w0))
	}
	for _, g := range gauss {
		t := g[0]
		x := lengthAt(h, du, t)
		_, put := f.put.at(a + x)
		d := h.Deriv(t)
		d = d.Add(f.square(h.At(t), f.across(j, a+x)).Mul(put * d.Len()))
		at = at.Add(d.Rotate(f.turned(j, x/du)).Mul(g[1]))
	}
	return at
}

// acrossFan is the direction square to a line of the fan, towards its end.
func acrossFan(h, q geom.Point) geom.Vec { return q.Sub(h).Unit().Left() }

// square is the direction in which the cloth beside a line is laid off; where parallel lines are spread right
// through, it is the same for all that lie between them.
func (f *fan) square(h, q geom.Point) geom.Vec {
	if f.aside != (geom.Vec{}) {
		return f.aside
	}
	return acrossFan(h, q)
}

// gap opens one slash between stiff parts.
func (f *fan) gap(i, j int, at geom.Point, turned float64) geom.Point {
	h, q := f.hs[j].P0, f.qs[j].P0
	if j > 0 {
		at = at.Add(h.Sub(f.hs[j-1].P3).Rotate(turned))
	}
	n := f.square(h, q).Rotate(turned + f.turn[i]/2)
	c := f.o.cuts[i]
	q0 := at.Add(q.Sub(h).Rotate(turned))
	u, s := f.cu[i], 0.0
	s, _ = f.pair.at(u)
	to, q1 := at.Add(n.Mul(c.head)), q0.Add(n.Mul(c.open))
	if c.head > 1e-9 {
		f.headLaid = append(f.headLaid, laid{edge: f.he[max(0, j-1)], a: u, b: u, ua: u, ub: u, stiff: true, seg: geom.Line(at, to)})
	}
	if c.open > 1e-9 {
		f.openLaid = append(f.openLaid, laid{edge: f.qe[max(0, j-1)], a: s, b: s, ua: u, ub: u, stiff: true, seg: geom.Line(q0, q1)})
	}
	// The mouth of a dart that lies just here has been walked already.
	return to.Add(f.hs[max(0, j-1)].P3.Sub(h).Rotate(turned + f.turn[i]))
}

// rise is how much of its swell a run has after the length x walked, and the slope there.
func (s *swell) rise(t *thread, x float64) (share, slope float64) {
	a, _ := t.along(s.from)
	b, _ := t.along(s.peak)
	c, _ := t.along(s.to)
	switch {
	case x > a && x <= b:
		k := (x - a) / (b - a)
		return k * k * (3 - 2*k), 6 * k * (1 - k) / (b - a)
	case x > b && x < c:
		k := (c - x) / (c - b)
		return k * k * (3 - 2*k), -6 * k * (1 - k) / (c - b)
	}
	return 0, 0
}

// lifted is what a dart is pushed out by, whole: where the run over its mouth is.
func (f *fan) lifted(s *swell, t *thread, x float64) geom.Vec {
	if s == nil {
		return geom.Vec{}
	}
	share, _ := s.rise(t, x)
	return s.by.Rotate(-f.frameTurn()).Mul(share)
}

// swollen pushes a stretch out. d0, d1 are how fast the run is walked at its ends, where it is redrawn.
func (f *fan) swollen(l laid, s *swell, t *thread, d0, d1 float64) laid {
	if s == nil {
		return l
	}
	by := s.by.Rotate(-f.frameTurn()) // the frame turns it back
	y0, e0 := s.rise(t, l.a)
	y1, e1 := s.rise(t, l.b)
	if y0 == 0 && y1 == 0 {
		return l
	}
	g := l.seg
	h0, h1 := d0*(l.ub-l.ua)/3, d1*(l.ub-l.ua)/3
	if l.stiff { // walked as it was drawn
		h0, h1 = g.P1.Dist(g.P0), g.P3.Dist(g.P2)
	}
	g.P0, g.P3 = g.P0.Add(by.Mul(y0)), g.P3.Add(by.Mul(y1))
	g.P1 = g.P1.Add(by.Mul(y0 + e0*h0))
	g.P2 = g.P2.Add(by.Mul(y1 - e1*h1))
	g.Straight = false
	l.seg, l.stiff = g, false
	return l
}
