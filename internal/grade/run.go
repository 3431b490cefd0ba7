package grade

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"sizerun/internal/draft"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Run grades a block to the named sizes, in their order. The error is pattern.Faults; each tells
// its size.
func Run(b pattern.Block, sizes []string) ([]pattern.Pattern, error) {
	if b.Draft != nil {
		return draft.Run(b, sizes)
	}
	var fs pattern.Faults
	for i, s := range sizes {
		if b.Chart.Index(s) < 0 {
			fs = append(fs, pattern.Fault{Rule: "unknown_size", Pointer: pattern.Pointer("sizes", strconv.Itoa(i)), Size: s,
				Detail: fmt.Sprintf("block %q has no size %s", b.Name, pattern.Quote(s)), Valid: pattern.Choices(b.Chart.Run), Remedy: pattern.Suggest(s, b.Chart.Run)})
		}
	}
	if len(fs) > 0 {
		return nil, fs
	}
	g, fs := newGrader(b)
	if len(fs) > 0 {
		return nil, fs
	}
	out := make([]pattern.Pattern, 0, len(sizes))
	for _, s := range sizes {
		p, more := g.size(b.Chart.Index(s))
		fs = append(fs, more...)
		out = append(out, p)
	}
	if len(fs) > 0 {
		return nil, fs
	}
	return out, nil
}

// Body grades a block onto one customer's body. It needs every measurement that a rule of the
// block uses; the pieces must be graded by shares, or the block drafted from measurements.
func Body(b pattern.Block, name string, body map[string]float64) (pattern.Pattern, error) {
	if b.Draft != nil {
		return draft.Body(b, name, body)
	}
	g, fs := newGrader(b)
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	fs = g.fits(name, body)
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	gr := growth{size: -1, body: map[string]float64{}}
	base := b.Chart.BodyOf(g.base)
	own := make(map[string]float64, len(body)) // what was not measured is nobody's: the base size is another body
	for k, v := range body {
		gr.body[k] = v - base[k]
		own[k] = v
	}
	p, fs := g.pattern(name, gr, own)
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	return p, nil
}

type grader struct {
	b     pattern.Block
	base  int
	plans []*plan
}

func newGrader(b pattern.Block) (*grader, pattern.Faults) {
	g := &grader{b: b, base: b.Chart.Index(b.Chart.Base)}
	var fs pattern.Faults
	if g.base < 0 {
		return nil, pattern.Faults{{Rule: "unknown_size", Pointer: "/sizes/base", Size: b.Chart.Base, Detail: fmt.Sprintf("the base size %s is not in the run", pattern.Quote(b.Chart.Base)),
			Valid: pattern.Choices(b.Chart.Run), Remedy: pattern.Suggest(b.Chart.Base, b.Chart.Run)}}
	}
	for i := range g.b.Pieces {
		p := &g.b.Pieces[i]
		edges, more := p.Lay(p.Drawing())
		if len(more) > 0 {
			fs = append(fs, more.Under(pattern.Pointer("pieces", p.Name))...)
			continue
		}
		g.plans = append(g.plans, newPlan(p, edges))
	}
	return g, fs
}

// size grades to a size of the run.
func (g *grader) size(i int) (pattern.Pattern, pattern.Faults) {
	gr := growth{size: i, body: make(map[string]float64, len(g.b.Chart.Body))}
	for k, v := range g.b.Chart.Body {
		gr.body[k] = v[i] - v[g.base]
	}
	return g.pattern(g.b.Chart.Run[i], gr, g.b.Chart.BodyOf(i))
}

func (g *grader) pattern(name string, gr growth, body map[string]float64) (pattern.Pattern, pattern.Faults) {
	out := pattern.Pattern{Size: name, Base: gr.size == g.base, Body: body, Pieces: make([]pattern.Piece, 0, len(g.plans))}
	var fs pattern.Faults
	for _, pl := range g.plans {
		p, more := pl.piece(name, gr)
		for _, f := range more.Under(pattern.Pointer("pieces", pl.p.Name)) {
			f.Size = name
			fs = append(fs, f)
		}
		out.Pieces = append(out.Pieces, p)
	}
	out.Seams = pattern.Pattern{Seams: g.b.Seams}.Clone().Seams
	return out, fs
}

// fits checks a customer's body against what the block's rules need.
func (g *grader) fits(name string, body map[string]float64) pattern.Faults {
	var fs pattern.Faults
	used := map[string]bool{}
	for _, pl := range g.plans {
		if how := madeBy(pl.p); how != "" {
			fs = append(fs, pattern.Fault{Rule: "no_shares", Pointer: pattern.Pointer("pieces", pl.p.Name, how), Size: name, Piece: pl.p.Name,
				Detail: fmt.Sprintf("piece %q is graded by %s, which knows the sizes of the run only", pl.p.Name, how),
				Valid:  "pieces graded by shares of the size chart", Remedy: `write its rules as shares ("grade"), or order a size of the run`})
		}
		for i := range pl.rules {
			for _, t := range append(append([]term(nil), pl.rules[i].x...), pl.rules[i].y...) {
				used[t.measure] = true
			}
		}
	}
	chart := make([]string, 0, len(g.b.Chart.Body))
	for k := range g.b.Chart.Body {
		chart = append(chart, k)
	}
	for _, k := range sortedKeys(used) {
		if _, ok := body[k]; !ok {
			fs = append(fs, pattern.Fault{Rule: "missing_measurement", Pointer: pattern.Pointer("body", k), Size: name,
				Detail: fmt.Sprintf("the block's rules need the measurement %q", k), Valid: "needed: " + pattern.Choices(sortedKeys(used)), Remedy: fmt.Sprintf("measure %q and add it", k)})
		}
	}
	for _, k := range sortedKeys(body) {
		col, ok := g.b.Chart.Body[k]
		if !ok {
			fs = append(fs, pattern.Fault{Rule: "unknown_measurement", Pointer: pattern.Pointer("body", k), Size: name,
				Detail: fmt.Sprintf("the size chart has no measurement %s", pattern.Quote(k)), Valid: pattern.Choices(chart), Remedy: pattern.Suggest(k, chart)})
			continue
		}
		lo, hi := reach(col)
		if v := body[k]; !(v >= lo && v <= hi) {
			fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: pattern.Pointer("body", k), Size: name,
				Detail: fmt.Sprintf("%s is %.1f mm", k, v), Valid: fmt.Sprintf("%.0f to %.0f mm, a third beyond the chart", lo, hi),
				Remedy: "check the value and its unit; a body that far from the chart needs a block of its own"})
		}
	}
	return fs
}

// reach is how far from the chart a body may be: a third below its least and above its greatest.
func reach(col []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range col {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return math.Floor(lo * 2 / 3), math.Ceil(hi * 4 / 3)
}

// madeBy names the way of grading that holds for stock sizes only, "" for shares.
func madeBy(p *pattern.BlockPiece) string {
	switch {
	case p.Digitised != nil:
		return "digitised"
	case p.Steps != nil:
		return "steps"
	}
	return ""
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// piece makes one piece in one size. Pointers of faults begin at the piece.
func (pl *plan) piece(size string, gr growth) (pattern.Piece, pattern.Faults) {
	p := pl.p
	out := pattern.Piece{Name: p.Name, Title: p.Title, Cut: p.Cut, Of: p.Name, Darts: append([]pattern.Dart(nil), p.Darts...)}
	drawn, own := p.Digitised[size]
	own = own && gr.size >= 0
	var points []pattern.NamedPoint
	var fs pattern.Faults
	if own {
		out.Edges, fs = p.Lay(drawn)
		fs = fs.Under(pattern.Pointer("digitised", size))
		if len(fs) > 0 {
			return out, fs
		}
	} else {
		d := pl.moves(gr)
		for i, path := range pl.redraw(d) {
			e := &p.Outline[i]
			out.Edges = append(out.Edges, pattern.Edge{Name: e.Name, From: e.From, To: e.To, Path: path, Fold: e.Fold,
				Src: pattern.Source{Piece: p.Name, Edge: e.Name, S1: path.Length()}})
		}
	}
	if fs := pl.sound(&out, gr); len(fs) > 0 {
		return out, fs
	}
	to := make([]geom.Point, len(out.Edges))
	for i := range out.Edges {
		to[i] = out.Edges[i].Path.Start()
	}
	inner := func(q geom.Point) geom.Point { return pl.field.move(q, to) }
	for _, n := range p.Points {
		q, given := drawn.PointNamed(n.Name)
		switch r, ruled := pl.named[n.Name]; {
		case own && given:
		case ruled:
			q = n.At.Add(pl.rules[r].move(gr))
		default:
			q = pl.followPoint(n, &out, inner)
		}
		points = append(points, pattern.NamedPoint{Name: n.Name, At: q})
	}
	out.Marks, fs = p.PlaceMarks(&out, points, func(mark string, q geom.Point) geom.Point {
		if r, ok := pl.named[mark]; ok {
			return q.Add(pl.rules[r].move(gr))
		}
		return pl.along(q, &out, inner)
	})
	if own {
		fs = append(fs, drawnMarks(p, &out, drawn, size)...)
	}
	for _, l := range p.Lines {
		via := make([]geom.Point, len(l.Via))
		for i, q := range l.Via {
			via[i] = inner(q)
		}
		out.Lines = append(out.Lines, pattern.InnerLine{Name: l.Name, Path: geom.Polyline(via...)})
	}
	out.Grain = moveGrain(p.Grain, inner)
	if own && drawn.Grain != nil {
		out.Grain = *drawn.Grain
	}
	for _, n := range points {
		if n.Name == p.Align {
			out.Align = n.At
		}
	}
	return out, fs
}

// followPoint finds a named point without a rule: a corner where it is now, a place on an edge in
// proportion along it, an inner place by the field.
func (pl *plan) followPoint(n pattern.NamedPoint, out *pattern.Piece, inner func(geom.Point) geom.Point) geom.Point {
	if q, ok := out.Corner(n.Name); ok {
		return q
	}
	return pl.along(n.At, out, inner)
}

// along moves a bare coordinate: on the outline in proportion along its edge, else by the field.
func (pl *plan) along(q geom.Point, out *pattern.Piece, inner func(geom.Point) geom.Point) geom.Point {
	start := 0
	for e, end := range pl.ends {
		base := geom.Path(pl.segs[start:end])
		start = end
		if !base.Bounds().Inset(-pattern.OnOutline).Contains(q) {
			continue
		}
		if s, d := base.Project(q); d <= pattern.Near {
			now := out.Edges[e].Path
			return now.PointAt(s / base.Length() * now.Length())
		}
	}
	return inner(q)
}

// drawnMarks puts marks where a digitised drawing has them.
func drawnMarks(p *pattern.BlockPiece, out *pattern.Piece, d pattern.Drawing, size string) pattern.Faults {
	var fs pattern.Faults
	for i := range out.Marks {
		m := &out.Marks[i]
		q, ok := d.Marks[m.Name]
		if !ok {
			continue
		}
		e, s, at, dist := out.Nearest(q)
		ptr := pattern.Pointer("digitised", size, "marks", m.Name)
		onEdge := dist <= pattern.Near || m.Edge != "" && dist <= pattern.OnOutline
		switch {
		case onEdge:
			// A corner belongs to the edge that begins there.
			if n := (e + 1) % len(out.Edges); out.Edges[n].Path.Start().Dist(at) <= 1e-6 {
				e, s = n, 0
			}
			m.Edge, m.S, m.At = out.Edges[e].Name, s, at
		case m.Kind == pattern.Notch || m.Edge != "" || !out.Outline().Contains(q):
			fs = append(fs, pattern.Fault{Rule: "mark_off_outline", Pointer: ptr, Size: size, Piece: p.Name,
				Detail: fmt.Sprintf("mark %q lies %.1f mm off the outline of piece %q", m.Name, dist, p.Name),
				Valid:  fmt.Sprintf("within %g mm of an edge", pattern.OnOutline), Remedy: "digitise it again, or leave it out: then it is found by its place"})
		default:
			m.Edge, m.S, m.At = "", 0, q
		}
	}
	return fs
}

// moveGrain moves the grain arrow with the piece and lets it grow, but never turns it: it lies
// along the warp in every size.
func moveGrain(g [2]geom.Point, inner func(geom.Point) geom.Point) [2]geom.Point {
	a, b := inner(g[0]), inner(g[1])
	if a == g[0] && b == g[1] {
		return g
	}
	v := g[1].Sub(g[0])
	u := v.Unit()
	l := math.Max(v.Len()/2, b.Sub(a).Dot(u))
	mid := a.Lerp(b, 0.5)
	return [2]geom.Point{mid.Add(u.Mul(-l / 2)), mid.Add(u.Mul(l / 2))}
}

// sound refuses a size in which the piece is no piece any more.
func (pl *plan) sound(out *pattern.Piece, gr growth) pattern.Faults {
	for i := range out.Edges {
		e := &out.Edges[i]
		if l := e.Path.Length(); !(l >= pattern.MinEdge) {
			return pattern.Faults{{Rule: "edge_length", Pointer: pattern.Pointer("outline", strconv.Itoa(i)), Piece: out.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q is %.3f mm long", e.Name, l), Valid: fmt.Sprintf("at least %g mm", pattern.MinEdge), Remedy: "check the rules of its two ends"}}
		}
		for _, s := range e.Path {
			for _, q := range [4]geom.Point{s.P0, s.P1, s.P2, s.P3} {
				if !q.Finite() || math.Abs(q.X) > 2*pattern.MaxCoord || math.Abs(q.Y) > 2*pattern.MaxCoord {
					return pattern.Faults{{Rule: "out_of_range", Pointer: pattern.Pointer("outline", strconv.Itoa(i)), Piece: out.Name, Edge: e.Name,
						Detail: fmt.Sprintf("edge %q runs off the sheet", e.Name), Valid: pattern.CoordRule, Remedy: "check the rules of its two ends"}}
				}
			}
		}
	}
	if o := out.Outline(); o.Clear(pattern.Near) && o.Area() >= 1 {
		return nil // nothing that CheckOutline looks for can be there
	}
	fs := pattern.CheckOutline(out.Name, out.Edges)
	for i := range fs {
		if gr.size >= 0 {
			fs[i].Detail += "; the grading turns the piece inside out"
			fs[i].Remedy = "check the rules of the points there: their signs, their shares, the size from which they count"
		} else {
			fs[i].Detail += "; the rules do not reach this body"
			fs[i].Remedy = "check the measurements; a body that far from the chart needs a block of its own"
		}
	}
	return fs
}
