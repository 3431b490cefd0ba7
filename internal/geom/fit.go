package geom

import (
	"errors"
	"math"
	"slices"
)

// A dense polyline (a digitised edge, a flattened curve) becomes few cubics in three steps:
// corners are found and kept, the stretches between them are covered greedily with the longest
// cubics that stay within tolerance, and each cubic is a least squares fit of its handles that
// measures the distance square to the curve only (see fitcubic.go).

// ErrTolerance is told when a tolerance is not a positive number.
var ErrTolerance = errors.New("geom: a fit needs a tolerance above zero")

// Fit turns a dense polyline into few cubics that pass within tol of each of its points. Its ends
// are kept, corners stay corners, and straight stretches between corners become lines. Noise of
// up to a quarter of tol (one standard deviation) is smoothed away; more is followed, at the cost
// of more cubics.
func Fit(pts []Point, tol float64) (Path, error) {
	f, err := newFitter(pts, tol)
	if err != nil {
		return nil, err
	}
	corners := f.corners()
	var out Path
	for i := 1; i < len(corners); i++ {
		a, b := corners[i-1], corners[i]
		var t0, t1 Vec
		if len(corners) == 2 && f.closedSmoothly() {
			t0 = f.pts[1].Sub(f.pts[len(f.pts)-2]).Unit()
			t1 = t0
		}
		out = append(out, f.run(a, b, t0, t1)...)
	}
	return out, nil
}

// FitSmooth fits cubics without looking for corners, leaving along t0 and arriving along t1. A
// zero Vec leaves that direction free.
func FitSmooth(pts []Point, t0, t1 Vec, tol float64) (Path, error) {
	f, err := newFitter(pts, tol)
	if err != nil {
		return nil, err
	}
	for _, t := range [2]Vec{t0, t1} {
		if t != (Vec{}) && !finiteDirection(t) {
			return nil, ErrNoDirection
		}
	}
	return f.run(0, len(f.pts)-1, t0.Unit(), t1.Unit()), nil
}

// fitter is a polyline with the length along it at every point.
type fitter struct {
	pts   []Point
	s     []float64
	tol   float64
	noise float64 // standard deviation of the points off a smooth curve, estimated
}

func newFitter(pts []Point, tol float64) (*fitter, error) {
	pts, err := distinct(pts)
	if err != nil {
		return nil, err
	}
	if !(tol > 0) || math.IsInf(tol, 0) {
		return nil, ErrTolerance
	}
	f := &fitter{pts: fillGaps(pts), tol: tol}
	f.s = make([]float64, len(f.pts))
	for i := 1; i < len(f.pts); i++ {
		f.s[i] = f.s[i-1] + f.pts[i].Dist(f.pts[i-1])
	}
	// What is more than half the tolerance is shape, not noise.
	f.noise = min(f.estimateNoise(), tol/2)
	return f, nil
}

// fillGaps puts points on chords much longer than both their neighbours: such a chord stands for
// a straight stretch, and a fit that saw its ends only could bulge between them.
func fillGaps(pts []Point) []Point {
	const much, most = 3, 48
	n := len(pts)
	if n < 4 {
		return pts
	}
	out := make([]Point, 0, n)
	for i := range n - 1 {
		out = append(out, pts[i])
		l, beside := pts[i].Dist(pts[i+1]), 0.0
		if i > 0 {
			beside = pts[i-1].Dist(pts[i])
		}
		if i < n-2 {
			beside = max(beside, pts[i+1].Dist(pts[i+2]))
		}
		if l > much*beside {
			k := int(min(most, math.Ceil(l/beside)))
			for j := 1; j < k; j++ {
				out = append(out, pts[i].Lerp(pts[i+1], float64(j)/float64(k)))
			}
		}
	}
	return append(out, pts[n-1])
}

// estimateNoise takes fourth differences square to the line, which a smooth curve hardly has: of
// independent noise σ they have the deviation √70·σ. The median is deaf to corners.
func (f *fitter) estimateNoise() float64 {
	p := f.pts
	var d []float64
	for k := 2; k < len(p)-2; k++ {
		x := p[k-2].X - 4*p[k-1].X + 6*p[k].X - 4*p[k+1].X + p[k+2].X
		y := p[k-2].Y - 4*p[k-1].Y + 6*p[k].Y - 4*p[k+1].Y + p[k+2].Y
		d = append(d, math.Abs(p[k+1].Sub(p[k-1]).Unit().Cross(Vec{x, y})))
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	return d[len(d)/2] / (0.6745 * math.Sqrt(70))
}

func (f *fitter) closedSmoothly() bool {
	n := len(f.pts)
	if n < 8 || f.pts[0].Dist(f.pts[n-1]) > 1e-6 {
		return false
	}
	return math.Abs(f.pts[n-1].Sub(f.pts[n-2]).AngleTo(f.pts[1].Sub(f.pts[0]))) < sharp
}

const (
	// sharp is a turn, in radians, that no dense polyline of a smooth curve makes at one point:
	// flattened to 0.05 mm, an arc of 2 mm radius turns by 0.45 a chord.
	sharp = 0.52
	// slight is the least turn beyond the bend on either side that counts as a corner.
	slight = 0.14
)

// corners lists the indices of both ends and of the corners between them. At a corner the
// directions reached from either side, each carried on with the bend it has there, disagree.
func (f *fitter) corners() []int {
	n := len(f.pts)
	reach := 100 * f.noise
	turn := make([]float64, n)
	corner := make([]bool, n)
	for k := 1; k < n-1; k++ {
		in, bendIn, okIn := f.side(k, -1, reach)
		out, bendOut, okOut := f.side(k, 1, reach)
		if !okIn {
			bendIn = bendOut
		}
		if !okOut {
			bendOut = bendIn
		}
		turn[k] = in.Neg().AngleTo(out)
		jump := turn[k] - bendIn/2 - bendOut/2
		least := max(slight, 0.35*(math.Abs(bendIn)+math.Abs(bendOut)))
		if reach > 0 {
			least = max(least, 18*f.noise/max(reach, f.s[k]-f.s[k-1]))
		}
		corner[k] = math.Abs(turn[k]) > sharp || jump*turn[k] > 0 && math.Abs(jump) > least && math.Abs(turn[k]) > math.Abs(jump)/2
	}
	idx := []int{0}
	for k := 1; k < n-1; k++ {
		if !corner[k] {
			continue
		}
		// Of several within reach, the sharpest is the corner.
		best := true
		for j := k - 1; j > 0 && (f.s[k]-f.s[j] < reach || j == k-1); j-- {
			best = best && (!corner[j] || f.s[k]-f.s[j] >= reach || math.Abs(turn[j]) < math.Abs(turn[k]))
		}
		for j := k + 1; j < n-1 && f.s[j]-f.s[k] < reach; j++ {
			best = best && (!corner[j] || math.Abs(turn[j]) <= math.Abs(turn[k]))
		}
		if best {
			idx = append(idx, k)
		}
	}
	return append(idx, n-1)
}

// side looks from point k along the polyline, dir +1 or -1: the way to a point at least reach
// off, and the turn from there to the next as far again, as a share of a bend over equal steps.
func (f *fitter) side(k, dir int, reach float64) (way Vec, bend float64, ok bool) {
	at := func(from int) int {
		j := from + dir
		for j+dir >= 0 && j+dir < len(f.pts) && math.Abs(f.s[j]-f.s[from]) < reach {
			j += dir
		}
		return j
	}
	a := at(k)
	way = f.pts[a].Sub(f.pts[k])
	if a <= 0 || a >= len(f.pts)-1 {
		return way, 0, false
	}
	b := at(a)
	next := f.pts[b].Sub(f.pts[a])
	h, g := way.Len(), next.Len()
	bend = way.AngleTo(next) * 2 * h / (h + g)
	if dir < 0 {
		bend = -bend
	}
	return way, bend, true
}

// run covers the points a … b without a corner. A zero Vec is a free direction.
//
// The knots depend on where the covering begins, so it is tried from both ends.
func (f *fitter) run(a, b int, t0, t1 Vec) Path {
	// A line wants to be as straight as the points can tell.
	if t0 == (Vec{}) && t1 == (Vec{}) && f.bulge(a, b) <= min(f.tol, max(f.tol/20, 4*f.noise)) {
		return Path{Line(f.pts[a], f.pts[b])}
	}
	out := f.cover(a, b, t0, t1)
	if len(out) <= 2 {
		return out
	}
	n := len(f.pts) - 1
	back := &fitter{pts: slices.Clone(f.pts), s: make([]float64, n+1), tol: f.tol, noise: f.noise}
	slices.Reverse(back.pts)
	for i := range back.s {
		back.s[i] = f.s[n] - f.s[n-i]
	}
	if q := back.cover(n-b, n-a, t1.Neg(), t0.Neg()); len(q) < len(out) {
		out = q.Reverse()
	}
	return out
}

// cover covers the points a … b from a on.
func (f *fitter) cover(a, b int, t0, t1 Vec) Path {
	var out Path
	here := stage{k: a, at: f.pts[a], t: t0}
	f.look(&here, b, t1)
	for !here.done {
		if here.reach <= here.k+1 {
			// Two points: nothing to fit. Their chord, bent to the direction it starts with.
			s := f.short(here.k, here.at, here.t, t1, here.k+1 == b)
			out = append(out, s)
			if here.k+1 == b {
				return out
			}
			here = stage{k: here.k + 1, at: s.P3, t: s.Tangent(1)}
			f.look(&here, b, t1)
			continue
		}
		// Of several places for the knot the one from which most is reached next.
		var best stage
		for i, next := range f.knots(here) {
			if i > 0 && next.k < best.reach && f.fit(next.k, best.reach, next.at, f.pts[best.reach], next.t, Vec{}).err > f.tol {
				continue // does not reach as far
			}
			f.look(&next, b, t1)
			if i == 0 || next.done && !best.done || next.done == best.done && next.reach > best.reach {
				best = next
			}
			if best.done {
				break
			}
		}
		out = append(out, best.before)
		here = best
	}
	return append(out, here.ahead)
}

// stage is a knot of a run: where it is, which cubic led there, and how far one more would go.
type stage struct {
	k      int
	at     Point
	t      Vec
	before Seg
	ahead  Seg
	reach  int
	done   bool // ahead goes all the way
}

// look finds how far one cubic goes from the stage on the way to b.
func (f *fitter) look(st *stage, b int, t1 Vec) {
	whole := f.fit(st.k, b, st.at, f.pts[b], st.t, t1)
	if whole.err <= f.tol {
		st.ahead, st.reach, st.done = whole.seg, b, true
		return
	}
	st.ahead, st.reach = f.longest(st.k, b, st.at, st.t, whole.err)
}

// knots proposes ends for the cubic that the stage has ahead. The longest one fits worst where it
// ends, and its direction there is not to be trusted: the knot is set back a little, to where the
// long cubic is still good. Where the curve underneath changes its law, the longest cubic runs on
// past that place; a cubic that ends before it fits many times better, so the last place with a
// small error is proposed as well.
func (f *fitter) knots(st stage) []stage {
	from, e := st.k, st.reach
	var out []stage
	k := from + 1 + sortSearch(f.s[from+1:e], f.s[from]+0.92*(f.s[e]-f.s[from]))
	k = max(from+1, min(k, e))
	u, _ := st.ahead.nearest(f.pts[k])
	t, knot := st.ahead.Tangent(u), f.pts[k]
	if f.noise > f.tol/20 {
		knot = st.ahead.At(u)
	}
	if part := f.fit(from, k, st.at, knot, st.t, t); k > from+1 && part.err <= f.tol {
		out = append(out, stage{k: k, at: knot, t: t, before: part.seg})
	} else {
		out = append(out, stage{k: e, at: f.pts[e], t: st.ahead.Tangent(1), before: st.ahead})
	}
	for _, share := range [3]float64{0.3, 0.05, 0.005} {
		small := max(share*f.tol, 4*f.noise)
		if small >= f.tol {
			break
		}
		lo, hi := from+2, k
		var seg Seg
		for hi-lo > 1 {
			m := (lo + hi) / 2
			if r := f.fit(from, m, st.at, f.pts[m], st.t, Vec{}); r.err <= small {
				lo, seg = m, r.seg
			} else {
				hi = m
			}
		}
		if seg != (Seg{}) && f.s[lo]-f.s[from] > 0.4*(f.s[e]-f.s[from]) {
			out = append(out, stage{k: lo, at: f.pts[lo], t: seg.Tangent(1), before: seg})
			k = lo
		}
	}
	return out
}

func sortSearch(s []float64, v float64) int {
	i, _ := slices.BinarySearch(s, v)
	return i
}

// bulge is the largest distance of the points from the chord a … b, or infinite when they run
// back along it.
func (f *fitter) bulge(a, b int) float64 {
	d := f.pts[b].Sub(f.pts[a])
	u, l := d.Unit(), d.Len()
	worst, reached := 0.0, 0.0
	if l == 0 {
		return math.Inf(1)
	}
	for _, p := range f.pts[a : b+1] {
		v := p.Sub(f.pts[a])
		along := u.Dot(v)
		if along < reached-f.tol || along > l+f.tol {
			return math.Inf(1)
		}
		reached = max(reached, along)
		worst = max(worst, math.Abs(u.Cross(v)))
	}
	return worst
}

// short is the piece between a point and the next.
func (f *fitter) short(from int, at Point, t0, t1 Vec, last bool) Seg {
	q := f.pts[from+1]
	d := q.Sub(at)
	if t0 == (Vec{}) {
		t0 = d.Unit()
	}
	if !last || t1 == (Vec{}) {
		t1 = d.Unit()
	}
	h := d.Len() / 3
	return Cubic(at, at.Add(t0.Mul(h)), q.Add(t1.Mul(-h)), q)
}

// longest finds the last point up to which one cubic stays within tolerance, its end direction
// free. err is what the whole way to b leaves. The error of a fit grows with about the fourth
// power of its length, which tells where to try.
func (f *fitter) longest(from, b int, at Point, t0 Vec, err float64) (Seg, int) {
	good, bad := from+1, b
	var seg Seg
	for range 24 {
		if bad-good <= max(1, (good-from)/40) {
			break
		}
		share := math.Pow(0.8*f.tol/max(err, 1e-3*f.tol), 0.25)
		if math.IsNaN(share) || share < 0.05 {
			share = 0.05
		}
		base := bad
		if err <= f.tol {
			base = good
		}
		e := from + sortSearch(f.s[from:b], f.s[from]+share*(f.s[base]-f.s[from]))
		// Keep off the ends of the bracket, so that it shrinks.
		w := max(1, (bad-good)/8)
		e = max(good+w, min(e, bad-w))
		if e <= good || e >= bad {
			e = (good + bad) / 2
		}
		r := f.fit(from, e, at, f.pts[e], t0, Vec{})
		err = r.err
		if r.err <= f.tol {
			good, seg = e, r.seg
		} else {
			bad = e
		}
	}
	return seg, good
}
