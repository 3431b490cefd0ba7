package geom

import "math"

// Index is a Path made ready for many questions about places near it: its Segs cut into short
// pieces, each with the box of its control points. Whatever lies clear of a box needs no more
// than four comparisons, and a piece is so short that few boxes are met.
type Index struct {
	bits []bit
	// closing leads from the end of an open Path back to its start.
	closing Seg
	open    bool
}

type bit struct {
	Seg
	box Rect
}

// bitsOfSeg is how many pieces a curve is cut into. The box of a piece then is about a hundredth
// of the curve's length thick where it bends like a cap.
const bitsOfSeg = 8

// Index prepares the Path.
func (p Path) Index() *Index {
	n := 0
	for _, s := range p {
		if n++; !s.Straight {
			n += bitsOfSeg - 1
		}
	}
	x := &Index{bits: make([]bit, 0, n)}
	for _, s := range p {
		if !s.Straight {
			for k := bitsOfSeg; k > 1; k-- {
				var a Seg
				a, s = s.Split(1 / float64(k))
				x.bits = append(x.bits, bit{a, a.hull()})
			}
		}
		x.bits = append(x.bits, bit{s, s.hull()})
	}
	if len(p) > 0 && p.End() != p.Start() {
		x.closing, x.open = Line(p.End(), p.Start()), true
	}
	return x
}

// Distance is how far q is from the Path, +Inf when all of it is farther than most: that spares
// the exact distance from what lies out of reach.
func (x *Index) Distance(q Point, most float64) float64 {
	best := math.Nextafter(most, math.Inf(1))
	found := false
	for i := range x.bits {
		b := &x.bits[i]
		if q.X < b.box.Min.X-best || q.X > b.box.Max.X+best || q.Y < b.box.Min.Y-best || q.Y > b.box.Max.Y+best {
			continue
		}
		if b.box.distance(q) >= best {
			continue
		}
		if _, d := b.nearest(q); d < best {
			best, found = d, true
		}
	}
	if !found {
		return math.Inf(1)
	}
	return best
}

// Contains is what Path.Contains tells.
func (x *Index) Contains(q Point) bool {
	w := 0
	for i := range x.bits {
		b := &x.bits[i]
		if b.box.Max.Y < q.Y || b.box.Min.Y > q.Y || b.box.Max.X < q.X {
			continue
		}
		w += b.windsRight(q, 0)
	}
	if x.open {
		w += x.closing.windsRight(q, 0)
	}
	return w != 0
}

// Spread gives the points at arc lengths 0, l/n, 2l/n … l of a Path of length l: what PointAt
// tells, found in one walk.
func (p Path) Spread(n int) []Point {
	if len(p) == 0 || n < 1 {
		return nil
	}
	out := make([]Point, 0, n+1)
	starts := p.starts()
	l := starts[len(p)]
	for i, s := range p {
		var v speed
		if !s.Straight {
			v = s.speed()
		}
		long := starts[i+1] - starts[i]
		t, at := 0.0, 0.0
		for len(out) <= n {
			d := l*float64(len(out))/float64(n) - starts[i]
			if d > long && (i < len(p)-1 || len(out) < n) {
				break
			}
			switch {
			case !(d > 0) || long == 0:
				out = append(out, s.P0)
				continue
			case d >= long:
				t = 1
			case s.Straight:
				t = d / long
			default:
				t = v.onward(t, at, d, long)
			}
			at = d
			out = append(out, s.At(t))
		}
	}
	for len(out) <= n { // what rounding left over
		out = append(out, p.End())
	}
	return out
}

// onward is the parameter at arc length d of a curve of length l, found from that at, the
// parameter at a smaller arc length.
func (v *speed) onward(t, at, d, l float64) float64 {
	lo, hi := t, 1.0
	n := t + (d-at)/max(v.at(t), 1e-3*l)
	if !(n < hi) {
		n = (lo + hi) / 2
	}
	f := at - d + v.integral(t, n, 0)
	for range 80 {
		t = n
		if math.Abs(f) <= 1e-13*l {
			break
		}
		if f > 0 {
			hi = t
		} else {
			lo = t
		}
		n = t - f/v.at(t)
		if !(n > lo && n < hi) {
			n = (lo + hi) / 2
		}
		if n == t {
			break
		}
		if n > t {
			f += v.integral(t, n, 0)
		} else {
			f -= v.integral(n, t, 0)
		}
	}
	return t
}
