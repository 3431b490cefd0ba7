package offset

import (
	"math"

	"sizerun/internal/geom"
)

// DefaultTol is how closely parallels are drawn, mm: a quarter of what is promised, because a maximum taken
// over samples falls short of the true one.
const DefaultTol = 0.005

// innerSharp is the turn inside an edge, between two of its Segs, beyond which the edge turns back on itself.
const innerSharp = 2.8

// backward, mm, is the length of a stretch running against its source that may stay in a result.
const backward = 0.01

// part is a smooth stretch of an edge with its parallel: the loop is made of these, and a corner inside an edge
// is treated like one between edges.
type part struct {
	edge   int
	seam   geom.Path
	raw    []rawSeg
	s0, s1 float64 // arc length of the stretch on its edge
	w      float64
	last   bool // of its edge
}

// Loop draws the parallel around a closed piece, each edge at its own width, each corner as its joint asks;
// joints[i] is the corner between edges[i] and the next, and may be missing. Where a corner cannot be made as
// asked the tool mitres it: Result.Made tells. The result is trimmed, never crosses itself, and
// keeps to within 4 tol of the true parallels. A tol of 0 means DefaultTol.
func Loop(edges []Edge, joints []Joint, tol float64) (Result, error) {
	if !(tol > 1e-6 && tol < 10) {
		tol = DefaultTol
	}
	parts, err := prepare(edges, joints, tol)
	if err != nil {
		return Result{}, err
	}
	return around(parts, len(edges), joints, tol)
}

// around strings the parts of n edges together, trims, and judges what is left.
func around(parts []part, n int, joints []Joint, tol float64) (Result, error) {
	res := Result{Made: make([]Corner, n), Residue: make([]float64, n)}
	raw := assemble(parts, joints, tol, &res)
	rings, err := trim(raw)
	if err != nil {
		return Result{}, &Error{err, -1, geom.Point{}}
	}
	var outer []run
	holes := 0
	for _, r := range rings {
		if ringArea(raw, r) < 0 {
			holes++
		} else if outer == nil {
			outer = r
		} else {
			return Result{}, &Error{ErrFallsApart, -1, r[0].from}
		}
	}
	switch {
	case outer == nil:
		return Result{}, &Error{ErrVanished, -1, geom.Point{}}
	case holes > 0:
		return Result{}, &Error{ErrHole, -1, geom.Point{}}
	}
	for _, r := range outer {
		// Where a bend is too tight the parallel runs back a little and forth again, and trimming cuts that
		// loop off; at the end of an edge the loop is open and nothing cuts it.
		if w := raw[r.seg]; w.back && r.from.Dist(r.to) > backward {
			return Result{}, &Error{ErrTight, w.src.Edge, r.from}
		}
	}
	res.Path, res.Sources = finish(raw, outer)
	if len(res.Path) == 0 {
		return Result{}, &Error{ErrVanished, -1, geom.Point{}}
	}
	for _, s := range res.Path {
		for _, p := range []geom.Point{s.P0, s.P1, s.P2, s.P3} {
			if !p.Finite() {
				return Result{}, &Error{ErrInput, -1, geom.Point{}}
			}
		}
	}
	return res, nil
}

// prepare checks the outline and draws the parallel of every Seg.
func prepare(edges []Edge, joints []Joint, tol float64) ([]part, error) {
	const gap = 1e-3
	var parts []part
	if len(edges) == 0 {
		return nil, &Error{ErrInput, -1, geom.Point{}}
	}
	for i, e := range edges {
		if len(e.Path) == 0 || !(math.Abs(e.Width) <= reach/4) {
			return nil, &Error{ErrInput, i, geom.Point{}}
		}
		next := edges[(i+1)%len(edges)].Path
		open := i < len(joints) && (joints[i].Corner == Roof || joints[i].Corner == Free)
		if len(next) == 0 || !open && !(e.Path.End().Dist(next.Start()) <= gap) {
			return nil, &Error{ErrInput, i, e.Path.End()}
		}
		s, n := 0.0, len(parts)
		for _, g := range e.Path {
			l := g.Length()
			clean, err := regular(g)
			if err != nil {
				return nil, &Error{err, i, g.P0}
			}
			for _, c := range clean {
				ps, err := offsetSeg(c, e.Width, tol)
				if err != nil {
					return nil, &Error{err, i, c.P0}
				}
				parts = addSmooth(parts, n, part{edge: i, seam: geom.Path{c}, s0: s, s1: s + l, w: e.Width}, ps)
			}
			s += l
		}
		if len(parts) == n {
			return nil, &Error{ErrInput, i, e.Path.Start()}
		}
		parts[len(parts)-1].last = true
		for k := n; k < len(parts); k++ {
			parts[k].raw = settle(parts[k].raw)
		}
		for k := n + 1; k < len(parts); k++ {
			if math.Abs(parts[k-1].seam.EndTangent().AngleTo(parts[k].seam.StartTangent())) > innerSharp {
				return nil, &Error{ErrCusp, i, parts[k].seam.Start()}
			}
		}
	}
	return parts, nil
}

// addSmooth adds the parallel of one Seg to the parts of its edge, which begin at n: to the last of them where it
// runs on smoothly.
func addSmooth(parts []part, n int, pt part, ps []piece) []part {
	c := pt.seam[0]
	pt.raw = make([]rawSeg, 0, len(ps)+1)
	from := pt.s0
	for _, p := range ps {
		to := pt.s1
		if p.t1 < 1 {
			to = pt.s0 + lengthTo(c, p.t1)
		}
		pt.raw = append(pt.raw, rawSeg{p.seg, Source{pt.edge, -1, from, to}, p.back})
		from = to // the pieces follow each other
	}
	if len(parts) > n {
		prev := &parts[len(parts)-1]
		turn := prev.seam.EndTangent().AngleTo(c.Tangent(0))
		if s := pt.w * math.Tan(turn/2); math.Abs(turn) < 0.1 && math.Abs(s) < slack {
			k := len(prev.raw) - 1
			tip := prev.raw[k].P3.Add(prev.seam.EndTangent().Mul(s))
			prev.raw[k].Seg = withEnd(prev.raw[k].Seg, tip)
			pt.raw[0].Seg = withStart(pt.raw[0].Seg, tip)
			prev.raw = append(prev.raw, pt.raw...)
			prev.seam = append(prev.seam, c)
			prev.s1 = pt.s1
			return parts
		}
	}
	return append(parts, pt)
}

// settle drops swallowtails too small to matter, which are also too small for the grid to see: a stretch that runs
// back by less than backward goes, and its neighbours meet in its middle, or at its outer end where it has but one.
func settle(rs []rawSeg) []rawSeg {
	out := make([]rawSeg, 0, len(rs))
	for i, r := range rs {
		if !r.back || len(rs) == 1 || r.P0.Dist(r.P3) > backward || r.Length() > backward {
			out = append(out, r)
			continue
		}
		meet := r.P0.Lerp(r.P3, 0.5)
		if i == 0 {
			meet = r.P0
		} else if i == len(rs)-1 {
			meet = r.P3
		}
		if k := len(out) - 1; k >= 0 {
			out[k].Seg = withEnd(out[k].Seg, meet)
			out[k].src.S1 = r.src.S1
		}
		if i+1 < len(rs) {
			rs[i+1].Seg = withStart(rs[i+1].Seg, meet)
			if len(out) == 0 {
				rs[i+1].src.S0 = r.src.S0
			}
		}
	}
	if len(out) == 0 {
		return rs
	}
	return out
}

func lengthTo(s geom.Seg, t float64) float64 {
	if t <= 0 {
		return 0
	}
	return s.Sub(0, t).Length()
}

// assemble works out every corner and strings parts and corners into one raw loop.
func assemble(parts []part, joints []Joint, tol float64, res *Result) []rawSeg {
	n := len(parts)
	plans := make([]plan, n)
	corners := make([]corner, n)
	for i := range parts {
		a, b := &parts[i], &parts[(i+1)%n]
		var j Joint
		if a.last && a.edge < len(joints) {
			j = joints[a.edge]
		}
		limit := j.Limit
		if !(limit >= 1) {
			limit = DefaultLimit
		}
		corners[i] = meeting(parts, i, (i+1)%n, limit*max(math.Abs(a.w), math.Abs(b.w)), tol)
		plans[i] = corners[i].plan(j)
	}
	// A part cut back from both ends past itself is shorter than its neighbours' widths: then the raw
	// ends are joined and the trimming decides.
	for i := range parts {
		before := (i + n - 1) % n
		from, to := plans[before].b, plans[i].a
		if !from.cut && !to.cut {
			continue
		}
		lo, hi := -1.0, float64(len(parts[i].raw))
		if from.cut {
			lo = float64(from.idx) + from.t
		}
		if to.cut {
			hi = float64(len(parts[i].raw)-1-to.idx) + 1 - to.t
		}
		if lo >= hi-1e-9 {
			plans[before] = corners[before].plain()
			plans[i] = corners[i].plain()
		}
	}
	size := 0
	for i := range parts {
		size += len(parts[i].raw) + len(plans[i].mid) + 2
	}
	raw := make([]rawSeg, 0, size)
	for i := range parts {
		p := &parts[i]
		before := plans[(i+n-1)%n]
		raw = appendPart(raw, p, before.b, plans[i].a)
		for _, s := range plans[i].mid {
			src := Source{-1, p.edge, 0, 0}
			if !p.last {
				src = Source{p.edge, -1, p.s1, p.s1}
			}
			raw = append(raw, rawSeg{s, src, false})
		}
		if p.last {
			res.Made[p.edge] = plans[i].made
			res.Residue[p.edge] = plans[i].residue
		}
	}
	// Neighbours share their joint to the last bit.
	for i := range raw {
		j := (i + 1) % len(raw)
		if raw[i].P3 != raw[j].P0 {
			raw[j].Seg = withStart(raw[j].Seg, raw[i].P3)
		}
	}
	return raw
}

// meeting looks at the corner between two parts from within.
func meeting(parts []part, i, j int, limit, tol float64) corner {
	a, b := &parts[i], &parts[j]
	u, v := a.seam.EndTangent(), b.seam.StartTangent()
	c := corner{v: a.seam.End(), turn: u.AngleTo(v), limit: limit, tol: tol}
	c.a = side{at: a.seam.End(), foot: a.raw[len(a.raw)-1].P3, n: u.Right(), beyond: u, w: a.w, seam: a.seam.Reverse()}
	c.b = side{at: b.seam.Start(), foot: b.raw[0].P0, n: v.Right(), beyond: v.Neg(), w: b.w, seam: b.seam, away: b.raw}
	for m := len(a.raw) - 1; m >= 0; m-- {
		c.a.away = append(c.a.away, rawSeg{a.raw[m].Reverse(), a.raw[m].src, a.raw[m].back})
	}
	return c
}

// appendPart adds the parallel of one part between its two ends.
func appendPart(raw []rawSeg, p *part, from, to end) []rawSeg {
	src := func(s float64, r rawSeg) float64 { return r.src.S0 + (r.src.S1-r.src.S0)*s }
	first, last := 0, len(p.raw)-1
	if from.cut {
		first = from.idx
	} else if f := p.raw[0].P0; f.Dist(from.to) >= slack {
		raw = append(raw, rawSeg{geom.Line(from.to, f), Source{p.edge, -1, p.s0 - f.Dist(from.to), p.s0}, false})
		from.to = f
	}
	if to.cut {
		last -= to.idx
	}
	base := len(raw)
	raw = append(raw, p.raw[first:last+1]...)
	r := &raw[len(raw)-1]
	if to.cut {
		t := 1 - to.t
		s1 := src(t, *r)
		r.Seg = withEnd(r.Sub(0, t), to.to)
		r.src.S1 = s1
	}
	r = &raw[base]
	if from.cut {
		t := from.t
		if to.cut && first == last {
			t /= 1 - to.t // of what is left
		}
		s0 := src(t, *r)
		r.Seg = withStart(r.Sub(t, 1), from.to)
		r.src.S0 = s0
	} else if r.P0 != from.to {
		r.Seg = withStart(r.Seg, from.to)
	}
	if !to.cut {
		r = &raw[len(raw)-1]
		switch d := r.P3.Dist(to.to); {
		case d < slack:
			r.Seg = withEnd(r.Seg, to.to)
		default:
			raw = append(raw, rawSeg{geom.Line(r.P3, to.to), Source{p.edge, -1, p.s1, p.s1 + d}, false})
		}
	}
	return raw
}

// finish turns the runs of one ring into a Path: dust dropped, straight runs of one edge joined, begun where the
// first edge begins.
func finish(raw []rawSeg, ring []run) (geom.Path, []Source) {
	const dust = 1e-6
	path, from := make(geom.Path, 0, len(ring)), make([]Source, 0, len(ring))
	for _, r := range ring {
		if r.t1 <= r.t0 {
			continue
		}
		w := raw[r.seg]
		s := w.Seg
		if r.t0 > 0 || r.t1 < 1 {
			s = s.Sub(r.t0, r.t1)
		}
		s = withStart(withEnd(s, r.to), r.from)
		if s.P0.Dist(s.P3) < dust && (s.Straight || s.Length() < dust) {
			continue
		}
		src := w.src
		src.S0, src.S1 = w.src.S0+(w.src.S1-w.src.S0)*r.t0, w.src.S0+(w.src.S1-w.src.S0)*r.t1
		path, from = append(path, s), append(from, src)
	}
	if len(path) == 0 {
		return nil, nil
	}
	// Begin at the first Seg of the lowest edge whose forerunner is of another; where there is but one edge, where it
	// begins again: a forerunner that is run on past a corner of the edge reaches back, too.
	first, best, sure := 0, math.MaxInt, false
	for i, s := range from {
		prev := from[(i+len(from)-1)%len(from)]
		other := prev.Edge != s.Edge
		if s.Edge >= 0 && (s.Edge < best || s.Edge == best && other && !sure) && (other || prev.S1 > s.S0+1) {
			first, best, sure = i, s.Edge, other
		}
	}
	outP, outS := make(geom.Path, 0, len(path)), make([]Source, 0, len(path))
	for i := range path {
		i = (first + i) % len(path)
		s := path[i]
		if k := len(outP) - 1; k >= 0 {
			s = withStart(s, outP[k].P3)
			p, f := outP[k], from[i]
			if p.Straight && s.Straight && outS[k].Edge == f.Edge && outS[k].Corner == f.Corner && math.Abs(outS[k].S1-f.S0) < 1 && collinear(p, s) {
				outP[k] = geom.Line(p.P0, s.P3)
				outS[k].S1 = f.S1
				continue
			}
		}
		outP, outS = append(outP, s), append(outS, from[i])
	}
	if k := len(outP) - 1; k >= 0 && outP[k].P3 != outP[0].P0 {
		outP[k] = withEnd(outP[k], outP[0].P0)
	}
	return outP, outS
}

// collinear reports whether two lines run on as one: their joint lies on the joined line.
func collinear(a, b geom.Seg) bool {
	d := b.P3.Sub(a.P0)
	u := d.Unit()
	return math.Abs(u.Cross(a.P3.Sub(a.P0))) < 1e-9 && a.P3.Sub(a.P0).Dot(u) > 0 && b.P3.Sub(b.P0).Dot(u) > 0
}
