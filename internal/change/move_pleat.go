package change

import (
	"fmt"
	"math"
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Pleating: a piece is cut along lines parallel to its grain, from top to hem, its parts are laid apart in
// parallel, and what is let in is trued: with the pleat folded, its underlay ends where the layer over it does,
// above and below. So the underlay's two halves are, at the top and at the hem, the mirror image and the copy of
// the stretch of edge that covers them.

// tuck is one line, and which side of it lies on top when it is folded.
type tuck struct {
	at    float64 // across the grain, from the piece's align point to the right
	right bool    // the part to the right of the line covers the underlay
	deep  float64 // how deep it is folded; twice as much is let in
}

// pleated is a piece opened for its tucks.
type pleated struct {
	piece  pattern.Piece
	shifts []float64   // how far right each part has moved, from the left
	lets   []let       // one a tuck
	seams  [][2]string // the two halves of each underlay at the top: they lie on each other
}

// let is where a tuck came to lie: its fold, the middle of its underlay, and the line that the fold is
// brought to; each from top to hem.
type let struct {
	fold, under, to geom.Path
}

// pleating is the work of one piece.
type pleating struct {
	p        *pattern.Piece
	top, hem []int // in outline order
	x        geom.Vec
	o        geom.Point
	tucks    []tuck
	ptr      string
	name     string
	topAt    []float64 // of each tuck: along the top in outline order, from right to left
	hemAt    []float64
}

func (f *pleating) across(q geom.Point) float64 { return q.Sub(f.o).Dot(f.x) }

func (f *pleating) refuse(rule, detail, valid, remedy string) error {
	return pattern.Fault{Rule: rule, Pointer: f.ptr, Piece: f.p.Name, Detail: detail, Valid: valid, Remedy: remedy}
}

// cross finds where the line at c along the grain crosses top and hem; nothing else may be crossed.
func (f *pleating) cross(c float64) (top, hem float64, err error) {
	const far = 3 * pattern.MaxCoord
	m := f.o.Add(f.x.Mul(c))
	line := geom.Polyline(m.Add(f.x.Left().Mul(far)), m.Add(f.x.Left().Mul(-far)))
	find := func(run []int) (float64, int) {
		at, n, before := 0.0, 0, 0.0
		for _, k := range run {
			e := f.p.Edges[k].Path
			l := e.Length()
			b := e.Bounds()
			if f.over(b, c) {
				for _, x := range geom.Intersect(e, line, 1e-9) {
					at, n = before+x.S, n+1
				}
			}
			before += l
		}
		return at, n
	}
	top, n := find(f.top)
	hem, m2 := find(f.hem)
	other := 0
	for i := range f.p.Edges {
		if e := f.p.Edges[i].Path; !has(f.top, i) && !has(f.hem, i) && f.over(e.Bounds(), c) {
			other += len(geom.Intersect(e, line, 1e-9))
		}
	}
	if n != 1 || m2 != 1 || other > 0 {
		return 0, 0, f.refuse("pleat_line", fmt.Sprintf("the line %.1f mm to the right of the point that %q is lined up on crosses its top %d times, its hem %d times and other edges %d times", c, f.p.Name, n, m2, other),
			"lines that cross top and hem once each, and no dart", "move the pleats, or make them less deep")
	}
	return top, hem, nil
}

// over: a line along the grain at c may meet what lies in the box.
func (f *pleating) over(b geom.Rect, c float64) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range [4]geom.Point{b.Min, b.Max, geom.Pt(b.Min.X, b.Max.Y), geom.Pt(b.Max.X, b.Min.Y)} {
		lo, hi = min(lo, f.across(q)), max(hi, f.across(q))
	}
	return c >= lo-1 && c <= hi+1
}

func has(list []int, x int) bool {
	for _, y := range list {
		if x == y {
			return true
		}
	}
	return false
}

// stretchOf is a stretch of a run, in outline order, and which edge it is of; empty when a dart lies in it.
func (f *pleating) stretchOf(run []int, a, b float64) (geom.Path, error) {
	var out geom.Path
	at := 0.0
	for _, k := range run {
		e := f.p.Edges[k].Path
		l := e.Length()
		s0, s1 := max(0, a-at), min(l, b-at)
		at += l
		if s1-s0 <= tiny {
			continue
		}
		q := e.Sub(s0, s1)
		if len(out) > 0 && out.End().Dist(q.Start()) > pattern.Near {
			return nil, f.refuse("dart_in_pleat", fmt.Sprintf("a pleat's underlay would lie under the dart that ends at %s", f.p.Edges[k].From), "pleats beside the darts", "move the pleats, close the dart first, or make them less deep")
		}
		out = append(out, q...)
	}
	if len(out) == 0 {
		return nil, f.refuse("pleat_line", "a pleat is too shallow to be drawn", "", "make it deeper")
	}
	return out, nil
}

// pleat opens the piece. The part with a fold stays where it is, else the leftmost.
func (f *pleating) pleat() (pleated, error) {
	sort.SliceStable(f.tucks, func(i, j int) bool { return f.tucks[i].at < f.tucks[j].at })
	n := len(f.tucks)
	f.topAt, f.hemAt = make([]float64, n), make([]float64, n)
	for i, t := range f.tucks {
		var err error
		if f.topAt[i], f.hemAt[i], err = f.cross(t.at); err != nil {
			return pleated{}, err
		}
		const clear = 6.0 // mm between a pleat and the end of an edge
		ends := [2][2]float64{{f.topAt[i], runLength(f.p, f.top)}, {f.hemAt[i], runLength(f.p, f.hem)}}
		for _, e := range ends {
			if e[0] < clear || e[0] > e[1]-clear {
				return pleated{}, f.refuse("near_corner", fmt.Sprintf("pleat line %d would lie %.1f mm from the end of an edge", i+1, min(e[0], e[1]-e[0])), fmt.Sprintf("at least %g mm", clear), "move the pleats, or take fewer")
			}
		}
		if i > 0 {
			gap := t.at - f.tucks[i-1].at
			need := 0.0
			if f.tucks[i-1].right { // the underlay lies under what covers it
				need += f.tucks[i-1].deep
			}
			if !t.right {
				need += t.deep
			}
			if gap < need-1e-6 {
				return pleated{}, f.refuse("pleats_overlap", fmt.Sprintf("pleats %d and %d lie %.1f mm apart, and %.1f mm of underlay go between them", i, i+1, gap, need),
					fmt.Sprintf("at least %.1f mm", need), "move them apart, or make them less deep")
			}
		}
	}
	return f.assemble()
}

// underlay draws what is let in at one end of a tuck, from left to right: the mirror image and the copy of the
// edge that covers it. edge runs from left to right, and ends, or begins when it covers from the right, at the line.
func (f *pleating) underlay(edge geom.Path, t tuck, left float64) [2]geom.Path {
	shift := func(p geom.Path, by float64) geom.Path { return p.Transform(geom.Translate(f.x.Mul(by))) }
	flip := func(p geom.Path, about float64) geom.Path {
		return p.Reverse().Transform(geom.MirrorAbout(f.o.Add(f.x.Mul(about)), f.x.Left()))
	}
	if !t.right {
		return [2]geom.Path{shift(flip(edge, t.at), left), shift(edge, left+2*t.deep)}
	}
	return [2]geom.Path{shift(edge, left), shift(flip(edge, t.at), left+2*t.deep)}
}

// partOf is the part, from the left, in which a place lies.
func (f *pleating) partOf(q geom.Point) int {
	c := f.across(q)
	for i, t := range f.tucks {
		if c < t.at {
			return i
		}
	}
	return len(f.tucks)
}

// assemble lays the parts apart and closes the outline.
func (f *pleating) assemble() (pleated, error) {
	p, n := f.p, len(f.tucks)
	out := pleated{piece: p.Clone(), shifts: make([]float64, n+1), lets: make([]let, n)}
	for i, t := range f.tucks {
		out.shifts[i+1] = out.shifts[i] + 2*t.deep
	}
	for i := range p.Edges {
		if p.Edges[i].Fold {
			by := out.shifts[f.partOf(p.Edges[i].Path.PointAt(p.Edges[i].Path.Length()/2))]
			for k := range out.shifts {
				out.shifts[k] -= by
			}
			break
		}
	}
	move := func(part int) geom.Affine { return geom.Translate(f.x.Mul(out.shifts[part])) }
	type under struct{ top, hem [2]geom.Path }
	unders := make([]under, n)
	for i, t := range f.tucks {
		c := t.at - t.deep
		if t.right {
			c = t.at + t.deep
		}
		a, b, err := f.cross(c)
		if err != nil {
			return out, err
		}
		top, err := f.stretchOf(f.top, min(a, f.topAt[i]), max(a, f.topAt[i]))
		if err != nil {
			return out, err
		}
		hem, err := f.stretchOf(f.hem, min(b, f.hemAt[i]), max(b, f.hemAt[i]))
		if err != nil {
			return out, err
		}
		unders[i] = under{f.underlay(top.Reverse(), t, out.shifts[i]), f.underlay(hem, t, out.shifts[i])}
		u := unders[i]
		x := [3]geom.Path{geom.Polyline(u.top[0].Start(), u.hem[0].Start()), geom.Polyline(u.top[0].End(), u.hem[0].End()), geom.Polyline(u.top[1].End(), u.hem[1].End())}
		out.lets[i] = let{x[0], x[1], x[2]}
		if t.right {
			out.lets[i] = let{x[2], x[1], x[0]}
		}
	}
	q := &out.piece
	q.Edges, q.Marks = nil, nil
	mark := func(name string, from, len0 float64, to string, at float64) { // marks of a stretch
		for _, m := range p.Marks {
			if m.Edge == name && m.S >= from-1e-9 && m.S <= from+len0+1e-9 {
				m.Edge, m.S = to, at+min(max(m.S-from, 0), len0)
				if q.MarkNamed(m.Name) == nil {
					q.Marks = append(q.Marks, m)
				}
			}
		}
	}
	named := func(n string) bool { return q.EdgeNamed(n) >= 0 || p.EdgeNamed(n) >= 0 }
	topDone, hemDone := 0.0, 0.0
	for i := range p.Edges {
		e := p.Edges[i]
		l := e.Path.Length()
		switch {
		case has(f.hem, i):
			// The hem stays one edge: it is turned as one.
			var path geom.Path
			s := 0.0
			for k := range f.tucks {
				d := f.hemAt[k] - hemDone
				if d < 0 || d >= l {
					continue
				}
				if d-s > tiny {
					mark(e.Name, s, d-s, e.Name, path.Length())
					path = append(path, e.Path.Sub(s, d).Transform(move(k))...)
				}
				path = append(append(path, unders[k].hem[0]...), unders[k].hem[1]...)
				s = d
			}
			if l-s > tiny {
				mark(e.Name, s, l-s, e.Name, path.Length())
				path = append(path, e.Path.Sub(s, l).Transform(move(f.partOf(e.Path.PointAt((s+l)/2))))...)
			}
			e.Path = path
			q.Edges = append(q.Edges, e)
			hemDone += l
		case has(f.top, i):
			s := 0.0
			first := true
			for k := n - 1; k >= 0; k-- { // from right to left
				d := f.topAt[k] - topDone
				if d < 0 || d >= l {
					continue
				}
				if d-s > tiny {
					f.topPart(q, e, s, d, l, move(k+1), first, mark, named)
					first = false
				}
				for h := 1; h >= 0; h-- {
					u := unders[k].top[h].Reverse()
					name := free(fmt.Sprintf("%s_%d_under", f.name, k+1), named)
					ne := pattern.Edge{Name: name, Path: u, Own: e.Own, Src: pattern.Source{Piece: p.Name, Edge: name, S1: u.Length()}}
					q.Edges = append(q.Edges, ne)
					if h == 0 {
						out.seams = append(out.seams, [2]string{q.Edges[len(q.Edges)-2].Name, name})
					}
				}
				s = d
			}
			if l-s > tiny {
				f.topPart(q, e, s, l, l, move(f.partOf(e.Path.PointAt((s+l)/2))), first, mark, named)
			}
			topDone += l
		default:
			mark(e.Name, 0, l, e.Name, 0)
			e.Path = e.Path.Transform(move(f.partOf(e.Path.PointAt(l / 2))))
			q.Edges = append(q.Edges, e)
		}
	}
	f.nameNew(q)
	f.carry(q, move)
	return out, nil
}

// topPart is a visible stretch of the top.
func (f *pleating) topPart(q *pattern.Piece, e pattern.Edge, s0, s1, l float64, m geom.Affine, first bool, mark func(string, float64, float64, string, float64), named func(string) bool) {
	was := e
	if !first || q.EdgeNamed(e.Name) >= 0 {
		e.Name = free(e.Name, named)
	}
	e.Path = was.Path.Sub(s0, s1).Transform(m)
	e.Src = subSource(was.Src, s0, s1, l)
	if s0 > tiny {
		e.From = ""
	}
	if s1 < l-tiny {
		e.To = ""
	}
	mark(was.Name, s0, s1-s0, e.Name, 0)
	q.Edges = append(q.Edges, e)
}

// nameNew names the corners that the underlays made.
func (f *pleating) nameNew(q *pattern.Piece) {
	n := len(q.Edges)
	taken := knows(q)
	k := 0
	for i := range q.Edges {
		e, next := &q.Edges[i], &q.Edges[(i+1)%n]
		name := e.To
		if next.From != "" {
			name = next.From
		}
		if name == "" {
			k++
			name = free(fmt.Sprintf("%s_corner_%d", f.name, k), taken)
		}
		e.To, next.From = name, name
		e.Path = closeTo(e.Path, e.Path.Start(), next.Path.Start())
	}
}

// carry takes what lies inside along with its part, and cuts inner lines at the pleats.
func (f *pleating) carry(q *pattern.Piece, move func(int) geom.Affine) {
	for i := range q.Marks {
		if e := q.EdgeNamed(q.Marks[i].Edge); e >= 0 {
			q.Marks[i].At = q.Edges[e].Path.PointAt(q.Marks[i].S)
		}
	}
	for _, m := range f.p.Marks {
		if m.Edge == "" {
			m.At = move(f.partOf(m.At)).Apply(m.At)
			q.Marks = append(q.Marks, m)
		}
	}
	q.Lines = nil
	for _, l := range f.p.Lines {
		pieces := []geom.Path{l.Path}
		for i := range f.tucks {
			c := f.o.Add(f.x.Mul(f.tucks[i].at))
			line := geom.Polyline(c.Add(f.x.Left().Mul(1e5)), c.Add(f.x.Left().Mul(-1e5)))
			var next []geom.Path
			for _, p := range pieces {
				at := 0.0
				for _, x := range geom.Intersect(p, line, 1e-9) {
					if x.S-at > 1 {
						next = append(next, p.Sub(at, x.S))
						at = x.S
					}
				}
				if end := p.Length(); end-at > 1 {
					next = append(next, p.Sub(at, end))
				}
			}
			pieces = next
		}
		for k, p := range pieces {
			x := pattern.InnerLine{Name: l.Name, Path: p.Transform(move(f.partOf(p.PointAt(p.Length() / 2))))}
			if k > 0 {
				x.Name = fmt.Sprintf("%s_%d", l.Name, k+1)
			}
			q.Lines = append(q.Lines, x)
		}
	}
	g := f.p.Grain
	m := move(f.partOf(g[0].Lerp(g[1], 0.5)))
	q.Grain = [2]geom.Point{m.Apply(g[0]), m.Apply(g[1])}
	q.Align = move(f.partOf(f.p.Align)).Apply(f.p.Align)
}

// drawOn draws the lines of the pleats on the finished piece, with dots at the top where a fold is brought to its
// placement line.
func (r *pleated) drawOn(q *pattern.Piece, name, match string) {
	for i, t := range r.lets {
		for k, l := range [3]geom.Path{t.fold, t.to, t.under} {
			name := fmt.Sprintf("%s_%d_%s", name, i+1, [3]string{"fold", "to", "under"}[k])
			q.Lines = append(q.Lines, pattern.InnerLine{Name: name, Path: l})
			if k < 2 {
				e, s := cornerAt(q, l.Start())
				q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: free(name, knows(q)), Edge: e, S: s, At: l.Start(), Match: fmt.Sprintf("%s_%d", match, i+1)})
			}
		}
	}
}
