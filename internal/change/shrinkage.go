package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Shrinkage (TRADE 5): cloth that shrinks by s in the wash is cut 1/(1−s) times as long, along the warp and
// along the weft by its own. ISO 5077 and AATCC 135 tell how s is measured; 3 % is usually the most that is borne.
//
// Every piece is scaled along and across its own grain line. Strips cut the other way of the cloth than
// what they are sewn to come out unequal on paper and equal after the wash: seams keep the difference as
// their ease.

type shrinkageArgs struct {
	Warp  float64 `arg:"warp" kind:"share" min:"-0.05" max:"0.2" default:"0.03" says:"The share by which the cloth shrinks along its length; negative where it grows."`
	Weft  float64 `arg:"weft" kind:"share" min:"-0.05" max:"0.2" default:"0.02" says:"The share by which it shrinks across."`
	Cloth string  `arg:"cloth" kind:"name" default:"main" says:"The pieces cut from this cloth are enlarged."`
}

func defineShrinkage() Definition {
	return Definition{
		Name:     "shrinkage",
		Sentence: "Enlarges every piece of a cloth along its warp and weft, so that it has its size after the wash.",
		Promise:  "Shrunk again by the shares stated, every edge has the length it had and every mark lies where it lay, to 0.1 mm.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(25, 15), geom.Pt(75, 15), geom.Pt(70, 80), geom.Pt(30, 80), geom.Pt(25, 15))},
			{New, geom.Polyline(geom.Pt(15, 5), geom.Pt(85, 5), geom.Pt(79, 93), geom.Pt(21, 93), geom.Pt(15, 5))},
			{Construction, geom.Polyline(geom.Pt(50, 25), geom.Pt(50, 70))},
		},
		fresh: func() args { return new(shrinkageArgs) },
	}
}

// along scales by k along u and by j across it.
func along(u geom.Vec, k, j float64) geom.Affine {
	u = u.Unit()
	// j·I + (k−j)·u·uᵀ
	return geom.Affine{A: j + (k-j)*u.X*u.X, B: (k - j) * u.X * u.Y, C: (k - j) * u.X * u.Y, D: j + (k-j)*u.Y*u.Y}
}

// scaled carries a piece over an affine map: paths, marks, lines, grain. Sources stay: places on an edge correspond
// to them in proportion.
func scaled(p pattern.Piece, m geom.Affine) pattern.Piece {
	q := p.Clone()
	for i := range q.Edges {
		was := q.Edges[i].Path
		now := was.Transform(m)
		l0, l1 := was.Length(), now.Length()
		for k := range q.Marks {
			mk := &q.Marks[k]
			if mk.Edge != q.Edges[i].Name {
				continue
			}
			switch {
			case mk.S <= 0:
				mk.S = 0
			case mk.S >= l0:
				mk.S = l1
			default:
				mk.S = was.Sub(0, mk.S).Transform(m).Length()
			}
		}
		q.Edges[i].Path = now
	}
	for k := range q.Marks {
		mk := &q.Marks[k]
		mk.At = m.Apply(mk.At)
		if e := q.EdgeNamed(mk.Edge); e >= 0 {
			mk.At = q.Edges[e].Path.PointAt(mk.S)
		}
	}
	for k := range q.Lines {
		q.Lines[k].Path = q.Lines[k].Path.Transform(m)
	}
	q.Grain = [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}
	q.Align = m.Apply(p.Align)
	return q
}

func (a *shrinkageArgs) apply(w *work) error {
	before, err := w.eases()
	if err != nil {
		return err
	}
	k, j := 1/(1-a.Warp), 1/(1-a.Weft)
	found := false
	var cloths []string
	l := plan{d: Drawing{Title: "Shrinkage, size " + w.p.Size}}
	l.step("Draw the grain line of every piece on to both its ends, and lines square to it through its corners.")
	worst, shift := 0.0, 0.0
	for i := range w.p.Pieces {
		p := &w.p.Pieces[i]
		cloths = append(cloths, p.Cut.Cloth)
		if p.Cut.Cloth != a.Cloth {
			continue
		}
		found = true
		g := p.Grain[1].Sub(p.Grain[0])
		if g.Len() < 1e-6 {
			return pattern.Fault{Rule: "no_grain", Pointer: "/cloth", Piece: p.Name, Detail: fmt.Sprintf("piece %q has no grain line, so nothing tells its warp from its weft", p.Name), Remedy: "give it a grain line"}
		}
		was := p.Clone()
		o := was.Align
		m := geom.Translate(geom.Point{}.Sub(o)).Then(along(g, k, j)).Then(geom.Translate(o.Sub(geom.Point{})))
		*p = scaled(was, m)
		p.Shrinks = pattern.Shrinkage{Warp: 1 - (1-was.Shrinks.Warp)*(1-a.Warp), Weft: 1 - (1-was.Shrinks.Weft)*(1-a.Weft)}
		w.made = append(w.made, p.Name)
		d, s := a.washed(&was, p)
		worst, shift = math.Max(worst, d), math.Max(shift, s)
		if len(l.d.Measures) == 0 { // one piece shows it; all are done alike
			l.line(Outline, p.Name, was.Outline(), p.Name)
			l.step("Enlarge all lengths along the grain %.4f times and across it %.4f times, from the point that the sizes are lined up on.", k, j)
			x, y := l.point(p.Grain[0], "tail of the grain"), l.point(p.Grain[1], "head of the grain")
			l.measure(x, y, nil, fmt.Sprintf("was %.1f mm", g.Len()))
			l.line(New, p.Name, p.Outline(), p.Name)
		}
	}
	if !found {
		return pattern.Fault{Rule: "unknown_cloth", Pointer: "/cloth", Piece: "every piece", Detail: fmt.Sprintf("no piece is cut from %q", a.Cloth), Valid: pattern.Choices(cloths), Remedy: pattern.Suggest(a.Cloth, cloths)}
	}
	w.promise(inspect.Check{Rule: "shrinkage_edges", Piece: "every piece", Place: "edges", Measured: worst, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Washed, every edge comes back to its length within %.3f mm.", worst)})
	w.promise(inspect.Check{Rule: "shrinkage_marks", Piece: "every piece", Place: "marks", Measured: shift, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Washed, every mark comes back to its place within %.3f mm.", shift)})
	after, err := w.eases()
	if err != nil {
		return err
	}
	for i := range after {
		s := &w.p.Seams[i]
		if d := after[i] - before[i]; math.Abs(d) > 1e-9 {
			s.Ease = pattern.Range{Min: s.Ease.Min + d, Max: s.Ease.Max + d}
		}
	}
	w.res.Drawing = l.d
	w.res.Drawing.Steps = append(w.res.Drawing.Steps, fmt.Sprintf("Redraw the curves through the new points and carry the marks over; do the same to every piece of %s cloth.", a.Cloth))
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Text: fmt.Sprintf("Wash and dry a measured square of the %s cloth first: the pieces allow for %.1f %% of shrinkage along it and %.1f %% across. Do not wash the cloth itself before cutting.", a.Cloth, 100*a.Warp, 100*a.Weft),
		Amounts: []Amount{{"300 mm along the cloth wash to", 300 * (1 - a.Warp)}, {"300 mm across wash to", 300 * (1 - a.Weft)}}})
	return nil
}

// washed shrinks the made piece by the stated shares, by plain sums over points laid on it, and tells how far the
// lengths of its edges and the places of its marks are off what they were.
func (a *shrinkageArgs) washed(was, now *pattern.Piece) (edges, marks float64) {
	u := now.Grain[1].Sub(now.Grain[0]).Unit()
	wash := func(q geom.Point) geom.Point {
		v := q.Sub(now.Align)
		x, y := v.Dot(u)*(1-a.Warp), v.Dot(u.Right())*(1-a.Weft)
		return was.Align.Add(u.Mul(x)).Add(u.Right().Mul(y))
	}
	for i := range now.Edges {
		l := 0.0
		pts := now.Edges[i].Path.Flatten(0.002)
		for k := 1; k < len(pts); k++ {
			l += wash(pts[k]).Dist(wash(pts[k-1]))
		}
		edges = math.Max(edges, math.Abs(l-was.Edges[i].Path.Length()))
	}
	for k := range now.Marks {
		marks = math.Max(marks, wash(now.Marks[k].At).Dist(was.Marks[k].At))
	}
	return edges, marks
}
