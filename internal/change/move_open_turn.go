package change

import (
	"fmt"
	"math"
	"sort"

	"sizerun/internal/geom"
)

// How far a fan turns: where it is cut for telling, what is put in where, and what is too much.

// knots cuts both runs so finely that a cubic a stretch tells them after the opening.
func (f *fan) knots() {
	const (
		long = 30.0 // mm of head between two knots where the cloth opens
		same = 1e-6
	)
	u := []float64{0, f.head.length}
	u = append(append(append(u, f.cu...), f.mid...), f.more...)
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
	f.hs, f.he, f.qs, f.qe = nil, nil, nil, nil
	for j := range len(f.u) - 1 {
		h, he := f.head.cut(f.u[j], f.u[j+1])
		s0, _ := f.pair.at(f.u[j])
		s1, _ := f.pair.at(f.u[j+1])
		q, qe := f.open.cut(s0, s1)
		f.hs, f.he, f.qs, f.qe = append(f.hs, h), append(f.he, he), append(f.qs, q), append(f.qe, qe)
	}
}

// bends are shares of a bead between which it turns by no more than a cubic can follow when it is opened. They
// lie where it turns, which may be all at one end.
func bends(d bead) []float64 {
	const (
		most   = 12.0 // degrees
		looked = 16
	)
	if d.seg.Straight {
		return nil
	}
	var turn [looked + 1]float64
	last := d.seg.Tangent(0)
	for i := 1; i <= looked; i++ {
		t := d.seg.Tangent(float64(i) / looked)
		turn[i] = turn[i-1] + degrees(last, t)
		last = t
	}
	n := int(math.Min(looked, math.Ceil(turn[looked]/most)))
	var out []float64
	for i, k := 1, 1; i < n; i++ {
		want := turn[looked] * float64(i) / float64(n)
		for turn[k] < want {
			k++
		}
		t := (float64(k-1) + (want-turn[k-1])/(turn[k]-turn[k-1])) / looked
		out = append(out, d.seg.Sub(0, t).Length()/(d.b-d.a))
	}
	return out
}

// finer are places between knots from which to which the cloth turns by more than is told well by one cubic:
// beside a short line a little cloth turns far.
func (f *fan) finer() []float64 {
	const most = 4 * math.Pi / 180
	var out []float64
	if f.o.sharp {
		return nil
	}
	for j := range f.hs {
		n := math.Min(8, math.Ceil(math.Abs(f.psi[j+1]-f.psi[j])/most))
		for i := 1.0; i < n; i++ {
			out = append(out, f.u[j]+(f.u[j+1]-f.u[j])*i/n)
		}
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
