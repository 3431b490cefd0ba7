package pattern

import (
	"math"

	"sizerun/internal/geom"
)

// Whether an outline meets itself is asked of every piece in every size, and of every document
// that a stranger sends. geom.Path.SelfCrossings answers exactly and lists all crossings, but its
// time grows without bound on curves that lie on one another. Here the outline is flattened to
// less than the trade's tolerance and the first meeting ends the search; the work is bounded by
// the number of points whatever the outline.

// meets is a place at which an outline meets itself.
type meets struct {
	at   geom.Point
	a, b int // the edges there
	// tangled: the outline is too intricate to tell.
	tangled bool
}

const (
	flatTolerance = Near / 2
	flatMost      = 40000 // points of one piece; a bigger outline is flattened more coarsely
	leaf          = 8     // chords of a leaf of the tree of boxes
	touch         = 1e-6  // mm: closer counts as touching
	apartAlong    = 0.01  // mm along the outline; what is nearer than that is a neighbour
	// pairsPerLeaf bounds the search. Outlines that sew have fewer than 10.
	pairsPerLeaf = 200
)

// chain is a flattened outline: chord i leads from pts[i] to pts[i+1] and belongs to edge of[i].
type chain struct {
	pts   []geom.Point
	of    []int32
	way   []float64   // arc length at pts[i]
	boxes []geom.Rect // boxes[k] spans node k of a binary tree, root 1
	left  int         // pairs of leaves that may still be compared
	found *meets
}

// meetsItself finds a place at which the outline meets itself, nil when it does not.
func meetsItself(edges []Edge) *meets {
	c := flatten(edges)
	n := len(c.of)
	if n < 3 {
		return nil
	}
	for i := range n {
		u, v := c.pts[i+1].Sub(c.pts[i]), c.pts[(i+1)%n+1].Sub(c.pts[(i+1)%n])
		if u.Dot(v) < 0 && math.Abs(u.Cross(v)) <= 1e-9*u.Len()*v.Len() {
			return &meets{at: c.pts[i+1], a: int(c.of[i]), b: int(c.of[(i+1)%n])}
		}
	}
	c.left = pairsPerLeaf*(n/leaf+1) + 1000
	c.boxes = make([]geom.Rect, 4*(n/leaf+1)+4)
	c.build(1, 0, n)
	c.self(1, 0, n)
	if c.found == nil && c.left < 0 {
		return &meets{tangled: true}
	}
	return c.found
}

func flatten(edges []Edge) *chain {
	size := geom.EmptyRect()
	for i := range edges {
		for _, s := range edges[i].Path {
			size = size.Add(s.P0).Add(s.P1).Add(s.P2)
		}
	}
	for tol := math.Max(flatTolerance, (size.W()+size.H())*5e-6); ; tol *= 4 {
		c := &chain{pts: make([]geom.Point, 0, 512), of: make([]int32, 0, 512)}
		for i := range edges {
			for _, s := range edges[i].Path {
				n := chords(s, tol)
				for k := range n {
					p := s.At(float64(k) / float64(n))
					if m := len(c.pts); m > 0 && c.pts[m-1].Dist(p) <= touch {
						continue
					}
					c.pts = append(c.pts, p)
					c.of = append(c.of, int32(i))
				}
			}
			if len(c.pts) > flatMost {
				break
			}
		}
		if len(c.pts) > flatMost && tol < MaxCoord {
			continue
		}
		for len(c.pts) > 1 && c.pts[len(c.pts)-1].Dist(c.pts[0]) <= touch {
			c.pts, c.of = c.pts[:len(c.pts)-1], c.of[:len(c.of)-1]
		}
		c.pts = append(c.pts, c.pts[0])
		c.way = make([]float64, len(c.pts))
		for i := 1; i < len(c.pts); i++ {
			c.way[i] = c.way[i-1] + c.pts[i].Dist(c.pts[i-1])
		}
		return c
	}
}

// chords tells into how many chords a Seg is to be cut to stay within tol: by the second
// difference of its control points, which bounds its second derivative.
func chords(s geom.Seg, tol float64) int {
	if s.Straight {
		return 1
	}
	d := math.Max(s.P0.Sub(s.P1).Add(s.P2.Sub(s.P1)).Len(), s.P1.Sub(s.P2).Add(s.P3.Sub(s.P2)).Len())
	return int(math.Max(2, math.Min(math.Ceil(math.Sqrt(0.75*d/tol)), flatMost)))
}

func (c *chain) build(node, lo, hi int) geom.Rect {
	var r geom.Rect
	if hi-lo <= leaf {
		r = geom.Rect{Min: c.pts[lo], Max: c.pts[lo]}
		for _, p := range c.pts[lo+1 : hi+1] {
			r.Min.X, r.Min.Y = min(r.Min.X, p.X), min(r.Min.Y, p.Y)
			r.Max.X, r.Max.Y = max(r.Max.X, p.X), max(r.Max.Y, p.Y)
		}
	} else {
		m := (lo + hi) / 2
		r = c.build(2*node, lo, m).Union(c.build(2*node+1, m, hi))
	}
	for node >= len(c.boxes) {
		c.boxes = append(c.boxes, geom.Rect{})
	}
	c.boxes[node] = r
	return r
}

// self compares the chords of one node with one another, pair those of two nodes.
func (c *chain) self(node, lo, hi int) {
	if c.found != nil || c.left < 0 {
		return
	}
	if hi-lo <= leaf {
		c.compare(lo, hi, lo, hi)
		return
	}
	m := (lo + hi) / 2
	c.self(2*node, lo, m)
	c.self(2*node+1, m, hi)
	c.pair(2*node, lo, m, 2*node+1, m, hi)
}

func (c *chain) pair(a, a0, a1, b, b0, b1 int) {
	if c.found != nil || c.left < 0 || !c.boxes[a].Inset(-touch).Overlaps(c.boxes[b]) {
		return
	}
	switch {
	case a1-a0 <= leaf && b1-b0 <= leaf:
		c.left--
		c.compare(a0, a1, b0, b1)
	case a1-a0 >= b1-b0:
		m := (a0 + a1) / 2
		c.pair(2*a, a0, m, b, b0, b1)
		c.pair(2*a+1, m, a1, b, b0, b1)
	default:
		m := (b0 + b1) / 2
		c.pair(a, a0, a1, 2*b, b0, m)
		c.pair(a, a0, a1, 2*b+1, m, b1)
	}
}

func (c *chain) compare(a0, a1, b0, b1 int) {
	n := len(c.of)
	all := c.way[n]
	for i := a0; i < a1; i++ {
		p, q := c.pts[i], c.pts[i+1]
		x0, x1 := min(p.X, q.X)-touch, max(p.X, q.X)+touch
		y0, y1 := min(p.Y, q.Y)-touch, max(p.Y, q.Y)+touch
		for j := max(b0, i+2); j < b1; j++ {
			if i == 0 && j == n-1 {
				continue // neighbours round the end
			}
			r, s := c.pts[j], c.pts[j+1]
			if r.X < x0 && s.X < x0 || r.X > x1 && s.X > x1 || r.Y < y0 && s.Y < y0 || r.Y > y1 && s.Y > y1 {
				continue
			}
			if at, near := near(p, q, r, s); near {
				gap := c.way[j] - c.way[i+1]
				if gap <= apartAlong || all-c.way[j+1]+c.way[i] <= apartAlong {
					continue
				}
				c.found = &meets{at: at, a: int(c.of[i]), b: int(c.of[j])}
				return
			}
		}
	}
}

// near reports whether two chords cross or come within touch of each other.
func near(p, q, r, s geom.Point) (geom.Point, bool) {
	u, v := q.Sub(p), s.Sub(r)
	a, b := u.Cross(r.Sub(p)), u.Cross(s.Sub(p))
	c, d := v.Cross(p.Sub(r)), v.Cross(q.Sub(r))
	if (a > 0) != (b > 0) && (c > 0) != (d > 0) && a != b {
		return r.Lerp(s, a/(a-b)), true
	}
	for _, e := range [4][3]geom.Point{{p, r, s}, {q, r, s}, {r, p, q}, {s, p, q}} {
		w := e[2].Sub(e[1])
		t := math.Max(0, math.Min(1, e[0].Sub(e[1]).Dot(w)/w.Dot(w)))
		if e[0].Dist(e[1].Add(w.Mul(t))) <= touch {
			return e[0], true
		}
	}
	return geom.Point{}, false
}
