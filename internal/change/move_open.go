package change

import (
	"fmt"
	"math"
	"sort"

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
}

// fan is the work of one spread.
type fan struct {
	p          *pattern.Piece
	o          opening
	head, open thread
	u          []float64 // of the knots
	cu         []float64 // of the slashes
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

// knots cuts both runs so finely that a cubic a stretch tells them after the opening.
func (f *fan) knots() {
	const (
		long = 30.0 // mm of head between two knots where the cloth opens
		same = 1e-6
	)
	u := []float64{0, f.head.length}
	u = append(append(u, f.cu...), f.mid...)
	for _, d := range f.head.beads {
		for _, k := range bends(d) {
			u = append(u, d.a+(d.b-d.a)*k)
		}
		u = append(u, d.b)
	}
	for _, r := range f.head.riders {
		u = append(u, r.at)
	}
	for _, d := range f.open.beads {
		for _, k := range bends(d) {
			u = append(u, f.pair.where(d.a+(d.b-d.a)*k))
		}
		u = append(u, f.pair.where(d.b))
	}
	for _, r := range f.open.riders {
		u = append(u, f.pair.where(r.at))
	}
	if s := f.o.swellHead; s != nil {
		for _, q := range []spot{s.from, s.peak, s.to} {
			if x, ok := f.head.along(q); ok {
				u = append(u, x)
			}
		}
	}
	if s := f.o.swellOpen; s != nil {
		for _, q := range []spot{s.from, s.peak, s.to} {
			if x, ok := f.open.along(q); ok {
				u = append(u, f.pair.where(x))
			}
		}
	}
	sort.Float64s(u)
	f.u = []float64{0}
	for _, x := range u[1:] {
		last := f.u[len(f.u)-1]
		if x-last < same {
			continue
		}
		n := int(math.Ceil((x - last) / long))
		for i := 1; i < n; i++ {
			f.u = append(f.u, last+(x-last)*float64(i)/float64(n))
		}
		f.u = append(f.u, x)
	}
	f.u[len(f.u)-1] = f.head.length
	for j := range len(f.u) - 1 {
		h, he := f.head.cut(f.u[j], f.u[j+1])
		s0, _ := f.pair.at(f.u[j])
		s1, _ := f.pair.at(f.u[j+1])
		q, qe := f.open.cut(s0, s1)
		f.hs, f.he, f.qs, f.qe = append(f.hs, h), append(f.he, he), append(f.qs, q), append(f.qe, qe)
	}
}

// bends are shares of a bead between which it turns by no more than a cubic can follow when it is opened.
func bends(d bead) []float64 {
	const most = 12.0 // degrees
	if d.seg.Straight {
		return nil
	}
	turn := 0.0
	last := d.seg.Tangent(0)
	for i := 1; i <= 4; i++ {
		t := d.seg.Tangent(float64(i) / 4)
		turn += degrees(last, t)
		last = t
	}
	n := int(math.Min(16, math.Ceil(turn/most)))
	var out []float64
	for i := 1; i < n; i++ {
		out = append(out, float64(i)/float64(n))
	}
	return out
}

// gained is how much longer the open run becomes when k times as much is let in.
func (f *fan) gained(k float64) float64 {
	sum := 0.0
	for j := range f.hs {
		a, b := f.u[j], f.u[j+1]
		if f.rests(a, b) {
			continue
		}
		for _, g := range gauss {
			u := a + (b-a)*g[0]
			_, s := f.pair.at(u)
			_, l := f.let.at(u)
			h, q := f.hs[j].At(shareAt(f.hs[j], b-a, u-a)), f.across(j, u)
			t := f.qs[j].Tangent(g[0])
			sum += (b - a) * g[1] * (t.Mul(s).Add(f.square(h, q).Mul(k*l)).Len() - s)
		}
	}
	return sum
}

// reach opens all lines further, so that the open run gains what it is to.
func (f *fan) reach() error {
	const most = 2.0 // times as far
	k, ok := root(func(k float64) float64 { return f.gained(k) - f.o.gain }, 1, 1.01, 1e-6*f.o.gain)
	if !ok || !(k > 1/most && k < most) {
		return f.refuse("slash_slants", fmt.Sprintf("the lines meet the edge so slantwise that opening them by %.1f mm lengthens it by %.1f mm", f.o.gain, f.gained(1)), "lines that meet the edge about squarely", "choose another edge, or turn the grain")
	}
	cuts := append([]slash(nil), f.o.cuts...)
	for i := range cuts {
		cuts[i].open *= k
	}
	f.o.cuts = cuts
	f.turns()
	return nil
}

// turns finds by how much each line turns the cloth: by what is put in at the open run beyond what is put in
// at the head, over the length of the line, ψ' = (a − b) / |q − h|.
func (f *fan) turns() {
	n := len(f.o.cuts)
	f.turn, f.out.turn = make([]float64, n), 0
	x := append(append([]float64{0}, f.mid...), f.head.length)
	y, z := make([]float64, n+3), make([]float64, n+3)
	for i, c := range f.o.cuts {
		y[i+2], z[i+2] = y[i+1]+c.open, z[i+1]+c.head
		f.turn[i] = 2 * math.Asin(math.Max(-1, math.Min(1, (c.open-c.head)/f.out.cuts[i].was.Length()/2)))
	}
	y[n+2], z[n+2] = y[n+1], z[n+1]
	f.aside = acrossFan(f.out.cuts[0].was.End(), f.out.cuts[0].was.Start())
	for i, c := range f.o.cuts {
		if w := f.out.cuts[i].was; c.open != c.head || degrees(acrossFan(w.End(), w.Start()), f.aside) > 1e-4 {
			f.aside = geom.Vec{}
			break
		}
	}
	f.let, f.put = newRamp(x, y), newRamp(x, z)
	if f.o.sharp {
		for _, t := range f.turn {
			f.out.turn += t
		}
		return
	}
	slope := func(u float64, h, q geom.Point) float64 {
		_, a := f.let.at(u)
		_, b := f.put.at(u)
		if a == b {
			return 0
		}
		return (a - b) / math.Max(1, h.Dist(q))
	}
	f.psi, f.bend = make([]float64, len(f.u)), make([]float64, len(f.u))
	for j := range f.hs {
		h, q := f.hs[j], f.qs[j]
		du := f.u[j+1] - f.u[j]
		k0, k1 := slope(f.u[j], h.P0, q.P0), slope(f.u[j+1], h.P3, q.P3)
		f.bend[j], f.bend[j+1] = k0, k1
		f.psi[j+1] = f.psi[j]
		for _, g := range gauss {
			u := f.u[j] + du*g[0]
			f.psi[j+1] += du * g[1] * slope(u, h.At(shareAt(h, du, du*g[0])), f.across(j, u))
		}
	}
	for i := range f.turn {
		f.turn[i] = f.psi[f.knot(f.mid[i+1])] - f.psi[f.knot(f.mid[i])]
	}
	f.out.turn = f.psi[len(f.psi)-1]
}

// across is the end on the open run of the line at u, between the knots j and j + 1.
func (f *fan) across(j int, u float64) geom.Point {
	a, _ := f.pair.at(f.u[j])
	b, _ := f.pair.at(f.u[j+1])
	s, _ := f.pair.at(u)
	return f.qs[j].At(shareAt(f.qs[j], b-a, s-a))
}

// lengthAt is the length walked along a short seg of length l at the parameter t, by its speeds at the ends.
func lengthAt(s geom.Seg, l, t float64) float64 {
	v0, v1 := s.Deriv(0).Len(), s.Deriv(1).Len()
	return (3*t*t-2*t*t*t)*l + (t*t*t-2*t*t+t)*v0 + (t*t*t-t*t)*v1
}

// shareAt is the parameter at which a short seg of length l has been walked for x.
func shareAt(s geom.Seg, l, x float64) float64 {
	v0, v1 := s.Deriv(0).Len(), s.Deriv(1).Len()
	t := x / l
	for range 4 {
		off := (3*t*t-2*t*t*t)*l + (t*t*t-2*t*t+t)*v0 + (t*t*t-t*t)*v1 - x
		t -= off / ((6*t-6*t*t)*l + (3*t*t-4*t+1)*v0 + (3*t*t-2*t)*v1)
	}
	if !(t >= 0 && t <= 1) {
		return math.Max(0, math.Min(1, x/l))
	}
	return t
}

// knot is the first knot at u or after it.
func (f *fan) knot(u float64) int {
	for j := range f.u {
		if f.u[j] >= u-1e-9 {
			return j
		}
	}
	return len(f.u) - 1
}

// turned is ψ at the share t of the way from a knot to the next.
func (f *fan) turned(j int, t float64) float64 {
	du := f.u[j+1] - f.u[j]
	t2, t3 := t*t, t*t*t
	return (2*t3-3*t2+1)*f.psi[j] + (t3-2*t2+t)*du*f.bend[j] + (3*t2-2*t3)*f.psi[j+1] + (t3-t2)*du*f.bend[j+1]
}

// bearable refuses what no cloth can be opened to, or closed past.
func (f *fan) bearable() error {
	const one, all = 60.0, 300.0 // degrees
	sum := 0.0
	last := 0.0
	for i, t := range f.turn {
		sum += math.Abs(t)
		if math.Abs(t) > one*math.Pi/180 {
			l := f.out.cuts[i].was.Length()
			return f.refuse("opens_too_far", fmt.Sprintf("line %d, %.1f mm long, would open by %.0f degrees", i+1, l, math.Abs(t)*180/math.Pi),
				fmt.Sprintf("up to %g degrees a line: %.0f mm here", one, 2*l*math.Sin(one*math.Pi/360)), "open less, or along more lines")
		}
		c := f.o.cuts[i]
		room := math.Min(f.cu[i]-last, f.head.length-f.cu[i])
		if f.o.sharp && (c.open < -1e-9 || c.head < -1e-9) || -c.head > room/2 || -c.open > f.open.length/float64(2*len(f.turn)) {
			return f.refuse("closes_too_far", fmt.Sprintf("line %d would close by %.1f mm, past the cloth beside it", i+1, math.Max(-c.open, -c.head)), "", "close less, or along fewer lines")
		}
		last = f.cu[i]
	}
	if sum > all*math.Pi/180 {
		return f.refuse("opens_too_far", fmt.Sprintf("all lines together would open by %.0f degrees", sum*180/math.Pi), fmt.Sprintf("up to %g degrees in all", all), "open less")
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
				f.riders[r.edge] = m
			}
		}
		for _, r := range f.open.riders {
			if _, done := f.riders[r.edge]; !done && f.pair.where(r.at) <= u+1e-6 {
				f.riders[r.edge] = m
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
		lh, lq := laid{f.he[j], a, b, a, b, stiff, nh}, laid{f.qe[j], s0, s1, a, b, stiff, nq}
		f.headFlat, f.openFlat = append(f.headFlat, lh), append(f.openFlat, lq)
		f.headLaid = append(f.headLaid, f.swollen(lh, f.o.swellHead, &f.head, 1, 1))
		f.openLaid = append(f.openLaid, f.swollen(lq, f.o.swellOpen, &f.open, d0, d1))
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
		f.headLaid = append(f.headLaid, laid{f.he[max(0, j-1)], u, u, u, u, true, geom.Line(at, to)})
	}
	if c.open > 1e-9 {
		f.openLaid = append(f.openLaid, laid{f.qe[max(0, j-1)], s, s, u, u, true, geom.Line(q0, q1)})
	}
	// The mouth of a dart that lies just here has been walked already.
	return to.Add(f.hs[max(0, j-1)].P3.Sub(h).Rotate(turned + f.turn[i]))
}

// swollen pushes a stretch out. d0, d1 are how fast the run is walked at its ends, where it is redrawn.
func (f *fan) swollen(l laid, s *swell, t *thread, d0, d1 float64) laid {
	if s == nil {
		return l
	}
	a, _ := t.along(s.from)
	b, _ := t.along(s.peak)
	c, _ := t.along(s.to)
	rise := func(x float64) (float64, float64) {
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
	by := s.by.Rotate(-f.frameTurn()) // the frame turns it back
	y0, e0 := rise(l.a)
	y1, e1 := rise(l.b)
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
