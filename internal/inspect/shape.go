package inspect

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// far stands for "no limit" in a range: it can be written down, infinity cannot.
const far = 1e6

// shapes checks each piece's outline, cut line, radii and grain.
func (w *watch) shapes() {
	for i := range w.s.Pattern.Pieces {
		p := &w.s.Pattern.Pieces[i]
		out := p.Outline()
		w.closed(p)
		w.outline(p, out)
		w.cutLine(p, out)
		w.radii(p)
		w.grain(p, out)
	}
}

func (w *watch) closed(p *pattern.Piece) {
	gap, at := 0.0, ""
	for i := range p.Edges {
		e, n := &p.Edges[i], &p.Edges[(i+1)%len(p.Edges)]
		if d := e.Path.End().Dist(n.Path.Start()); d > gap || math.IsNaN(d) {
			gap, at = d, e.To
		}
	}
	w.say(Check{Rule: "outline_closed", Piece: p.Name, Place: at, Measured: gap, Tolerance: w.o.Closed, Unit: MM,
		Text: fmt.Sprintf("The edges of %s follow each other with gaps of at most %.3f mm.", p.Name, gap)})
}

func (w *watch) outline(p *pattern.Piece, out geom.Path) {
	a := out.Area() / 100
	w.say(Check{Rule: "outline_turn", Piece: p.Name, Place: "outline", Measured: a, Want: pattern.Range{Min: 0.01, Max: far}, Unit: "cm2",
		Text: fmt.Sprintf("The outline of %s runs counter-clockwise around %.1f square centimetres.", p.Name, a)})
	x := out.SelfCrossings(true, w.o.Closed)
	text := fmt.Sprintf("The outline of %s does not cross itself.", p.Name)
	place := "outline"
	if len(x) > 0 {
		e, _ := p.OnOutline(x[0].S)
		f, _ := p.OnOutline(x[0].T)
		place = p.Edges[e].Name
		text = fmt.Sprintf("The outline of %s crosses itself at (%.1f, %.1f), where %s meets %s.", p.Name, x[0].P.X, x[0].P.Y, p.Edges[e].Name, p.Edges[f].Name)
	}
	w.say(Check{Rule: "outline_simple", Piece: p.Name, Place: place, Measured: float64(len(x)), Unit: Count, Text: text})
}

func (w *watch) cutLine(p *pattern.Piece, out geom.Path) {
	c := w.s.cut(p.Name)
	if c == nil {
		return
	}
	x := c.Cut.SelfCrossings(true, w.o.Closed)
	text := fmt.Sprintf("The cut line of %s does not cross itself.", p.Name)
	if len(x) > 0 {
		text = fmt.Sprintf("The cut line of %s crosses itself at (%.1f, %.1f): an allowance is too wide for its curve.", p.Name, x[0].P.X, x[0].P.Y)
	}
	w.say(Check{Rule: "cut_simple", Piece: p.Name, Place: "cut line", Measured: float64(len(x)), Unit: Count, Text: text})
	more := (c.Cut.Area() - out.Area()) / 100
	w.say(Check{Rule: "cut_outside", Piece: p.Name, Place: "cut line", Measured: more, Want: pattern.Range{Min: 0, Max: far}, Tolerance: 0.01, Unit: "cm2",
		Text: fmt.Sprintf("The allowances of %s add %.1f square centimetres.", p.Name, more)})
}

// bends are the smallest radii of an edge on its hollow side (outward parallels shrink there) and on
// its round side (inward ones do); far where there is none.
func bends(p geom.Path) (hollow, round float64) {
	const n = 64
	hollow, round = far, far
	for _, s := range p {
		if s.Straight {
			continue
		}
		for i := 0; i <= n; i++ {
			k := s.Curvature(float64(i) / n)
			switch {
			case k < -1/far:
				hollow = min(hollow, -1/k)
			case k > 1/far:
				round = min(round, 1/k)
			}
		}
	}
	return hollow, round
}

func (w *watch) radii(p *pattern.Piece) {
	for i := range p.Edges {
		e := &p.Edges[i]
		a := w.allowance(p, e)
		if a.Width <= 0 || e.Fold {
			continue
		}
		hollow, round := bends(e.Path)
		if hollow < far {
			w.say(Check{Rule: "small_radius", Piece: p.Name, Place: e.Name, Measured: hollow, Want: pattern.Range{Min: a.Width, Max: far}, Unit: MM,
				Text: fmt.Sprintf("The hollow of %s.%s has a smallest radius of %.1f mm; its allowance is %.1f mm wide and must not fold over itself.", p.Name, e.Name, hollow, a.Width)})
		}
		if a.Turned > 0 && round < far {
			t := a.Width / float64(a.Turned)
			w.say(Check{Rule: "hem_radius", Piece: p.Name, Place: e.Name, Measured: round, Want: pattern.Range{Min: t, Max: far}, Unit: MM,
				Text: fmt.Sprintf("The round of %s.%s has a smallest radius of %.1f mm, and the hem is turned by %.1f mm.", p.Name, e.Name, round, t)})
		}
	}
}

// grain: both ends of the arrow lie on the piece, and it is long enough to lay a ruler along.
func (w *watch) grain(p *pattern.Piece, out geom.Path) {
	v := p.Grain[1].Sub(p.Grain[0])
	outside := 0.0
	for _, q := range p.Grain {
		if !out.Contains(q) {
			_, d := out.Project(q)
			outside = max(outside, d)
		}
	}
	w.say(Check{Rule: "grain_inside", Piece: p.Name, Place: "grain", Measured: outside, Tolerance: w.o.OnEdge, Unit: MM,
		Text: fmt.Sprintf("The grain line of %s lies on the piece to %.1f mm.", p.Name, outside)})
	most := longest(out, v.Unit())
	share := 0.0
	if most > 0 {
		share = 100 * v.Len() / most
	}
	bear := pattern.Range{Min: w.o.GrainShare.Min / 3, Max: w.o.GrainShare.Max}
	w.say(Check{Rule: "grain_length", Piece: p.Name, Place: "grain", Measured: share, Want: w.o.GrainShare, Bearable: &bear, Tolerance: 0.5, Unit: Percent,
		Text: fmt.Sprintf("The grain line of %s is %.0f mm long, %.0f %% of what the piece has room for in that direction.", p.Name, v.Len(), share)})
}

// longest is the longest line in direction u that the piece has room for, among lines laid across it.
func longest(out geom.Path, u geom.Vec) float64 {
	const lines = 64
	pts := out.Flatten(0.5)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, q := range pts {
		c := q.Sub(geom.Point{}).Dot(u.Right())
		lo, hi = min(lo, c), max(hi, c)
	}
	var at [lines]float64
	for i := range at {
		at[i] = lo + (hi-lo)*(float64(i)+0.5)/lines
	}
	most := 0.0
	for _, line := range Stretches(pts, geom.Point{}, u, at[:]) {
		for _, s := range line {
			most = max(most, s[1]-s[0])
		}
	}
	return most
}

// Stretches lists for each of several lines in direction u where it lies inside a closed polygon,
// measured along it from o. The lines are told in order by how far to the right of o they run.
func Stretches(poly []geom.Point, o geom.Point, u geom.Vec, lines []float64) [][][2]float64 {
	if len(poly) == 0 {
		return make([][][2]float64, len(lines))
	}
	// One walk round the polygon, passing lines on the way: passed lines lie left of where it stands.
	type crossing struct {
		line int
		at   float64
	}
	r := u.Right()
	all := make([]crossing, 0, 3*len(lines))
	from := make([]int, len(lines)+1)
	last := poly[len(poly)-1].Sub(o)
	c0, at0 := last.Dot(r), last.Dot(u)
	k := sort.Search(len(lines), func(i int) bool { return lines[i] > c0 })
	for _, q := range poly {
		c1, at1 := q.Sub(o).Dot(r), q.Sub(o).Dot(u)
		cross := func(i int) {
			all = append(all, crossing{i, at0 + (at1-at0)*((c0-lines[i])/(c0-c1))})
			from[i+1]++
		}
		for ; k < len(lines) && lines[k] <= c1; k++ {
			cross(k)
		}
		for ; k > 0 && lines[k-1] > c1; k-- {
			cross(k - 1)
		}
		c0, at0 = c1, at1
	}
	for k := range lines {
		from[k+1] += from[k]
	}
	at, n := make([]float64, len(all)), make([]int, len(lines))
	for _, x := range all {
		at[from[x.line]+n[x.line]] = x.at
		n[x.line]++
	}
	pairs := make([][2]float64, len(at)/2)
	out := make([][][2]float64, len(lines))
	for k := range lines {
		cut := at[from[k]:from[k+1]]
		slices.Sort(cut)
		in := pairs[: len(cut)/2 : len(cut)/2]
		pairs = pairs[len(in):]
		for i := range in {
			in[i] = [2]float64{cut[2*i], cut[2*i+1]}
		}
		out[k] = in
	}
	return out
}
