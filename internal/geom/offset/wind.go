package offset

import (
	"math"
	"slices"

	"sizerun/internal/geom"
)

// Trimming works on a polygon with whole-number corners, on which the side of a point to a line is
// known exactly. What is a crossing, and in which order crossings follow one another, is decided there and
// nowhere else; only then are the crossings of the true curves found by Newton's method. Deciding with
// rounded numbers fails on real pieces: two tests that must agree do not.

const (
	// reach bounds coordinates, mm: sums and products of grid differences over 24 m fit 64 bits.
	reach = 12000
	// gridUnits per mm. Two to the sixteenth, a unit of 1.5e-5 mm.
	gridUnits = 65536
	// flatness of the polygon, mm.
	flatness = 0.003
	// sliver, mm²: smaller rings are dust of the grid.
	sliver = 0.05
	// tries with a shifted grid before an outline counts as ambiguous.
	tries = 6
	// maxVertices bounds the polygon: a piece has about a thousand, and in the worst case the search for
	// crossings takes their square. Indices must fit 16 bits.
	maxVertices = 1 << 15
	// beside, mm, is the distance that a raw loop must keep from itself to need no polygon: much more than the
	// polygon may be off.
	beside = 0.02
	// strayed, mm, is how far Newton's method may move a crossing.
	strayed = 0.05
)

type gridPoint struct{ x, y int64 }

// vertex of the polygon: the raw Seg and parameter it stands for.
type vertex struct {
	gridPoint
	seg int
	t   float64
}

// run is a stretch of one raw Seg on the boundary.
type run struct {
	seg      int
	t0, t1   float64
	from, to geom.Point
	// atNode tells that the run begins at a crossing rather than where the raw loop has a joint.
	atNode bool
}

// trim finds the rings of the boundary of what the raw closed loop winds around.
func trim(raw []rawSeg) ([][]run, error) {
	// Most raw loops need no trimming, and most of those can be proved to need none.
	if line := segs(raw); line.Clear(beside) {
		if line.Area() <= 0 {
			return nil, nil
		}
		return [][]run{whole(raw)}, nil
	}
	for try := range tries {
		vs := polygon(raw, try)
		if len(vs) > maxVertices {
			return nil, ErrPrecision
		}
		if rings, ok := trimOnce(raw, vs, try); ok {
			return rings, nil
		}
	}
	return nil, ErrAmbiguous
}

func trimOnce(raw []rawSeg, vs []vertex, try int) ([][]run, bool) {
	if len(vs) < 3 {
		return nil, true
	}
	ps, tied := passages(vs)
	if tied && try < tries-1 {
		// A corner exactly on another side, or two sides on one line: shift the grid's corners.
		return nil, false
	}
	if len(ps) == 0 {
		if doubleArea(vs) <= 0 {
			return nil, true
		}
		return [][]run{whole(raw)}, true
	}
	w, ok := windings(vs, ps)
	if !ok {
		return nil, false
	}
	return rings(raw, vs, ps, w)
}

// polygon flattens the raw loop on the grid. Tries after the first shift every corner a little, the
// same way every time.
func polygon(raw []rawSeg, try int) []vertex {
	box := geom.EmptyRect()
	for _, r := range raw {
		box = box.Add(r.P0).Add(r.P3)
	}
	mid := box.Center()
	vs := make([]vertex, 0, 16*len(raw))
	add := func(p geom.Point, seg int, t float64) {
		g := gridPoint{int64(math.Round((p.X - mid.X) * gridUnits)), int64(math.Round((p.Y - mid.Y) * gridUnits))}
		if try > 0 {
			h := uint64(len(vs)+1)*0x9e3779b97f4a7c15 + uint64(try)*0xbf58476d1ce4e5b9
			h ^= h >> 29
			g.x += int64(h%5) - 2
			g.y += int64(h>>8%5) - 2
		}
		if n := len(vs); n > 0 && vs[n-1].gridPoint == g {
			return
		}
		vs = append(vs, vertex{g, seg, t})
	}
	for i, r := range raw {
		n := 1
		if !r.Straight {
			m := max(r.Deriv2(0).Len(), r.Deriv2(1).Len())
			n = int(max(1, min(512, math.Ceil(math.Sqrt(m/(8*flatness))))))
		}
		for k := range n {
			t := float64(k) / float64(n)
			add(r.At(t), i, t)
		}
	}
	for len(vs) > 1 && vs[len(vs)-1].gridPoint == vs[0].gridPoint {
		vs = vs[:len(vs)-1]
	}
	return vs
}

func doubleArea(vs []vertex) float64 {
	a := 0.0
	for i, p := range vs {
		q := vs[(i+1)%len(vs)]
		a += float64(p.x)*float64(q.y) - float64(q.x)*float64(p.y)
	}
	return a
}

// turn is positive when r lies left of p → q, exactly zero when it lies on that line.
func turn(p, q, r gridPoint) int64 {
	return (q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x)
}

// passage is the loop running through a crossing: on which polygon edge and how far along it, with its
// twin, and by how much the winding number on the left changes.
type passage struct {
	edge  int
	along float64
	twin  int
	delta int
}

// passages lists all crossings of the polygon with itself, in order along the loop. A tie, a corner on the line of
// another side, counts as left and is told.
func passages(vs []vertex) (out []passage, tied bool) {
	n := len(vs)
	type box struct{ x0, x1, y0, y1 int64 }
	boxes := make([]box, n)
	// Sides in order of their left ends: the end and the index share one word, which sorts fast.
	const indexBits = 16
	order := make([]int64, n)
	for i := range vs {
		p, q := vs[i], vs[(i+1)%n]
		boxes[i] = box{min(p.x, q.x), max(p.x, q.x), min(p.y, q.y), max(p.y, q.y)}
		order[i] = boxes[i].x0<<indexBits | int64(i)
	}
	slices.Sort(order)
	var ps []passage
	for k, first := range order {
		i := int(first & (1<<indexBits - 1))
		a := &boxes[i]
		for _, second := range order[k+1:] {
			if second>>indexBits > a.x1 {
				break
			}
			j := int(second & (1<<indexBits - 1))
			b := &boxes[j]
			if b.y0 > a.y1 || b.y1 < a.y0 {
				continue
			}
			if d := i - j; d == 1 || d == -1 || d == n-1 || d == 1-n {
				continue
			}
			e, f := min(i, j), max(i, j)
			p, q := vs[e].gridPoint, vs[(e+1)%n].gridPoint
			r, s := vs[f].gridPoint, vs[(f+1)%n].gridPoint
			tr, ts, tp, tq := turn(p, q, r), turn(p, q, s), turn(r, s, p), turn(r, s, q)
			lr, ls, lp, lq := tr >= 0, ts >= 0, tp >= 0, tq >= 0
			if tr == 0 || ts == 0 || tp == 0 || tq == 0 {
				// It only matters where they touch: neither lies wholly beside the other.
				if !(tr > 0 && ts > 0 || tr < 0 && ts < 0 || tp > 0 && tq > 0 || tp < 0 && tq < 0) {
					tied = true
				}
			}
			if lr == ls || lp == lq {
				continue
			}
			ux, uy := float64(q.x-p.x), float64(q.y-p.y)
			vx, vy := float64(s.x-r.x), float64(s.y-r.y)
			den := ux*vy - uy*vx
			if den == 0 {
				continue
			}
			wx, wy := float64(r.x-p.x), float64(r.y-p.y)
			// f crosses e from right to left when s is left: then e passes from f's left to its right.
			d := 1
			if ls {
				d = -1
			}
			m := len(ps)
			ps = append(ps,
				passage{e, (wx*vy - wy*vx) / den, m + 1, d},
				passage{f, (wx*uy - wy*ux) / den, m, -d})
		}
	}
	along := make([]int, len(ps))
	for i := range along {
		along[i] = i
	}
	slices.SortFunc(along, func(a, b int) int {
		switch p, q := ps[a], ps[b]; {
		case p.edge != q.edge:
			return p.edge - q.edge
		case p.along < q.along:
			return -1
		case p.along > q.along:
			return 1
		}
		return a - b
	})
	back := make([]int, len(ps))
	for to, from := range along {
		back[from] = to
	}
	out = make([]passage, len(ps))
	for to, from := range along {
		out[to] = ps[from]
		out[to].twin = back[ps[from].twin]
	}
	return out, tied
}

// windings gives the winding number on the left of the strand that follows each passage. It is known at
// the polygon's lowest corner, which nothing else can surround, and changes by one at
// every crossing.
func windings(vs []vertex, ps []passage) ([]int, bool) {
	n := len(vs)
	low := 0
	for i, v := range vs {
		if v.y < vs[low].y || v.y == vs[low].y && v.x < vs[low].x {
			low = i
		}
	}
	p, q, r := vs[(low+n-1)%n].gridPoint, vs[low].gridPoint, vs[(low+1)%n].gridPoint
	at := 0
	if turn(p, q, r) >= 0 {
		at = 1
	}
	first := 0 // the first passage after the lowest corner
	for first < len(ps) && ps[first].edge < low {
		first++
	}
	w := make([]int, len(ps))
	v := at
	for k := range ps {
		i := (first + k) % len(ps)
		v += ps[i].delta
		w[i] = v
	}
	return w, v == at
}

// rings follows the strands whose left side is wound around once, changing strand at every crossing.
func rings(raw []rawSeg, vs []vertex, ps []passage, w []int) ([][]run, bool) {
	n := len(ps)
	nodes := make([]node, n)
	for i, p := range ps {
		if p.twin > i {
			was, wasTwin := position(raw, vs, p), position(raw, vs, ps[p.twin])
			a, b, at := polish(raw, was, wasTwin)
			nodes[i], nodes[p.twin] = node{a, was, at}, node{b, wasTwin, at}
		}
	}
	used := make([]bool, n)
	var out [][]run
	for i := range ps {
		if w[i] != 1 || used[i] {
			continue
		}
		var ring []run
		for k := i; !used[k]; {
			used[k] = true
			next := (k + 1) % n
			ring = strand(ring, raw, nodes[k], nodes[next], k >= next)
			k = ps[next].twin
			if w[k] != 1 {
				return nil, false
			}
		}
		if a := ringArea(raw, ring); math.Abs(a) >= sliver {
			out = append(out, ring)
		}
	}
	return out, true
}

// place is a raw Seg and a parameter on it; node is a passage on the true curves.
type place struct {
	seg int
	t   float64
}

type node struct {
	place
	was place // on the polygon, before Newton's method
	at  geom.Point
}

// position turns a passage into a place on the raw loop.
func position(raw []rawSeg, vs []vertex, p passage) place {
	a, b := vs[p.edge], vs[(p.edge+1)%len(vs)]
	switch {
	case a.seg == b.seg && b.t > a.t:
		return place{a.seg, a.t + (b.t-a.t)*p.along}
	case b.t == 0 && (a.seg+1)%len(raw) == b.seg:
		return place{a.seg, a.t + (1-a.t)*p.along}
	default:
		// Segs shorter than the grid lie in between: stay on the first of them.
		return place{a.seg, min(1, a.t+(1-a.t)*p.along)}
	}
}

// polish moves a crossing of the polygon to the crossing of the true curves, over to a neighbouring Seg
// where it lies there.
func polish(raw []rawSeg, a, b place) (place, place, geom.Point) {
	start := raw[a.seg].At(a.t)
	p, q := a, b
	for range 24 {
		u, v := raw[p.seg], raw[q.seg]
		r := v.At(q.t).Sub(u.At(p.t))
		if r.Len() < 1e-13 {
			break
		}
		du, dv := u.Deriv(p.t), v.Deriv(q.t)
		det := du.Cross(dv)
		if math.Abs(det) < 1e-12*du.Len()*dv.Len() || det == 0 {
			break
		}
		p = hop(raw, place{p.seg, p.t + r.Cross(dv)/det})
		q = hop(raw, place{q.seg, q.t + r.Cross(du)/det})
	}
	x, y := raw[p.seg].At(p.t), raw[q.seg].At(q.t)
	if x.Dist(y) < 1e-6 && x.Dist(start) < strayed {
		return p, q, x.Lerp(y, 0.5)
	}
	return a, b, start.Lerp(raw[b.seg].At(b.t), 0.5)
}

// hop carries a parameter outside [0, 1] over to the neighbouring Seg.
func hop(raw []rawSeg, p place) place {
	n := len(raw)
	switch {
	case p.t > 1 && p.t < 1.5:
		if next := raw[(p.seg+1)%n]; next.Length() > 1e-9 {
			l := (p.t - 1) * raw[p.seg].Deriv(1).Len()
			if d := next.Deriv(0).Len(); d > 1e-9 {
				return place{(p.seg + 1) % n, min(1, l/d)}
			}
		}
	case p.t < 0 && p.t > -0.5:
		if prev := raw[(p.seg+n-1)%n]; prev.Length() > 1e-9 {
			l := -p.t * raw[p.seg].Deriv(0).Len()
			if d := prev.Deriv(1).Len(); d > 1e-9 {
				return place{(p.seg + n - 1) % n, max(0, 1-l/d)}
			}
		}
	}
	p.t = max(0, min(1, p.t))
	return p
}

// strand adds the raw Segs between two nodes. wrap tells that the way leads over the loop's end. Order is
// the polygon's: where two close crossings changed places on the true curves, nothing lies
// between them, rather than the whole loop.
func strand(ring []run, raw []rawSeg, from, to node, wrap bool) []run {
	n := len(raw)
	way := to.was.number() - from.was.number()
	if wrap {
		way += float64(n)
	}
	if way+moved(to, n)-moved(from, n) <= 0 {
		return append(ring, run{from.seg, from.t, from.t, from.at, to.at, true})
	}
	wrap = wrap && from.seg == to.seg && way > float64(n)/2
	if from.seg == to.seg && !wrap && from.t <= to.t {
		return append(ring, run{from.seg, from.t, to.t, from.at, to.at, true})
	}
	ring = append(ring, run{from.seg, from.t, 1, from.at, raw[from.seg].P3, true})
	for k := (from.seg + 1) % n; k != to.seg; k = (k + 1) % n {
		ring = append(ring, run{k, 0, 1, raw[k].P0, raw[k].P3, false})
	}
	return append(ring, run{to.seg, 0, to.t, raw[to.seg].P0, to.at, false})
}

// number orders places along the loop.
func (p place) number() float64 { return float64(p.seg) + p.t }

// moved is how far along the loop of n Segs Newton's method carried a node, either way round.
func moved(v node, n int) float64 {
	d := v.number() - v.was.number()
	return d - float64(n)*math.Round(d/float64(n))
}

func whole(raw []rawSeg) []run {
	out := make([]run, len(raw))
	for i, r := range raw {
		out[i] = run{i, 0, 1, r.P0, r.P3, false}
	}
	return out
}

func ringArea(raw []rawSeg, ring []run) float64 {
	a := 0.0
	for _, r := range ring {
		if r.t1 > r.t0 {
			a += raw[r.seg].Sub(r.t0, r.t1).Area()
		}
	}
	return a
}
