package change

import (
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// run is a run of edges of an outline, from the first to the last in outline order; it may go round
// over the end of the list.
type run struct{ first, last int }

// edges lists a run of an outline with n edges.
func (r run) edges(n int) []int {
	out := []int{r.first}
	for i := r.first; i != r.last; {
		i = (i + 1) % n
		out = append(out, i)
	}
	return out
}

// bead is one seg of a thread, between the lengths a and b walked.
type bead struct {
	seg  geom.Seg
	a, b float64
	edge int
}

// rider is an edge that a thread carries along whole and does not count: a leg of a dart.
type rider struct {
	edge int
	at   float64
}

// thread is a run of edges walked one way. The legs of darts ride on it: they take up no length, for
// what is opened is opened beside them and never through them.
type thread struct {
	beads  []bead
	riders []rider
	length float64
	back   bool // walked against the outline
}

func newThread(p *pattern.Piece, r run, back bool) thread {
	t := thread{back: back}
	es := r.edges(len(p.Edges))
	for k := range es {
		i := es[k]
		if back {
			i = es[len(es)-1-k]
		}
		if p.IsLeg(p.Edges[i].Name) {
			t.riders = append(t.riders, rider{i, t.length})
			continue
		}
		path := p.Edges[i].Path
		if back {
			path = path.Reverse()
		}
		for _, s := range path {
			l := s.Length()
			if l < 1e-9 {
				continue
			}
			t.beads = append(t.beads, bead{s, t.length, t.length + l, i})
			t.length += l
		}
	}
	return t
}

// bounds are the lengths walked at the two ends of an edge.
func (t *thread) bounds(edge int) (a, b float64, ok bool) {
	for _, d := range t.beads {
		if d.edge != edge {
			continue
		}
		if !ok {
			a, ok = d.a, true
		}
		b = d.b
	}
	return a, b, ok
}

// along is the length walked to a place of the outline; false when it does not lie on the thread.
func (t *thread) along(s spot) (float64, bool) {
	a, b, ok := t.bounds(s.edge)
	if !ok {
		return 0, false
	}
	if t.back {
		return math.Max(a, b-s.s), true
	}
	return math.Min(b, a+s.s), true
}

// spot is the place of the outline after a length walked.
func (t *thread) spot(x float64) spot {
	for i, d := range t.beads {
		if x <= d.b || i == len(t.beads)-1 {
			a, b, _ := t.bounds(d.edge)
			if t.back {
				return spot{d.edge, math.Max(0, b-x)}
			}
			return spot{d.edge, math.Min(b, x) - a}
		}
	}
	return spot{}
}

// cut is the stretch between two lengths walked, that lies on one bead, and the edge it is of.
func (t *thread) cut(a, b float64) (geom.Seg, int) {
	const snap = 1e-9
	m := (a + b) / 2
	for i := range t.beads {
		d := &t.beads[i]
		if m > d.b && i < len(t.beads)-1 {
			continue
		}
		t0, t1 := 0.0, 1.0
		if a > d.a+snap {
			t0 = d.seg.ParamAt(a - d.a)
		}
		if b < d.b-snap {
			t1 = d.seg.ParamAt(b - d.a)
		}
		return d.seg.Sub(t0, t1), d.edge
	}
	return geom.Seg{}, -1
}

// path is the thread as one path; over a rider it jumps.
func (t *thread) path() geom.Path {
	out := make(geom.Path, len(t.beads))
	for i := range t.beads {
		out[i] = t.beads[i].seg
	}
	return out
}

// ramp is a smooth function through given values that rises and falls nowhere more than they do, and
// rests where two of them are equal: the monotone cubic of Fritsch and Carlson (SIAM J. Numer. Anal. 17,
// 1980), with the harmonic mean of Fritsch and Butland for the slopes.
type ramp struct{ x, y, m []float64 }

func newRamp(x, y []float64) ramp {
	n := len(x)
	r := ramp{x, y, make([]float64, n)}
	h := func(i int) float64 { return x[i+1] - x[i] }
	d := func(i int) float64 { return (y[i+1] - y[i]) / h(i) }
	for i := 1; i < n-1; i++ {
		a, b := d(i-1), d(i)
		if a*b <= 0 {
			continue
		}
		w0, w1 := 2*h(i)+h(i-1), h(i)+2*h(i-1)
		r.m[i] = (w0 + w1) / (w0/a + w1/b)
	}
	if n == 2 {
		r.m[0], r.m[1] = d(0), d(0)
	} else if n > 2 {
		end := func(h0, h1, d0, d1 float64) float64 {
			m := ((2*h0+h1)*d0 - h0*d1) / (h0 + h1)
			switch {
			case m*d0 <= 0:
				return 0
			case d0*d1 <= 0 && math.Abs(m) > 3*math.Abs(d0):
				return 3 * d0
			}
			return m
		}
		r.m[0] = end(h(0), h(1), d(0), d(1))
		r.m[n-1] = end(h(n-2), h(n-3), d(n-2), d(n-3))
	}
	return r
}

// at is the value and the slope at x.
func (r *ramp) at(x float64) (y, dy float64) {
	n := len(r.x)
	i := 0
	for i < n-2 && x > r.x[i+1] {
		i++
	}
	h := r.x[i+1] - r.x[i]
	t := math.Max(0, math.Min(1, (x-r.x[i])/h))
	t2, t3 := t*t, t*t*t
	y0, y1, m0, m1 := r.y[i], r.y[i+1], r.m[i]*h, r.m[i+1]*h
	y = (2*t3-3*t2+1)*y0 + (t3-2*t2+t)*m0 + (3*t2-2*t3)*y1 + (t3-t2)*m1
	dy = ((6*t2-6*t)*(y0-y1) + (3*t2-4*t+1)*m0 + (3*t2-2*t)*m1) / h
	return y, dy
}

// where is the x at which a rising ramp takes the value y.
func (r *ramp) where(y float64) float64 {
	lo, hi := r.x[0], r.x[len(r.x)-1]
	for i := range r.x {
		if math.Abs(r.y[i]-y) < 1e-10 {
			return r.x[i]
		}
		if r.y[i] < y {
			lo = r.x[i]
		}
	}
	for i := len(r.x) - 1; i >= 0 && r.y[i] > y; i-- {
		hi = r.x[i]
	}
	x := lo
	for range 40 {
		v, d := r.at(x)
		if v < y {
			lo = x
		} else {
			hi = x
		}
		n := x - (v-y)/d
		if !(n > lo && n < hi) {
			n = (lo + hi) / 2
		}
		if math.Abs(n-x) < 1e-11 {
			return n
		}
		x = n
	}
	return x
}
