package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What the changes of darts share: the dart that is asked for, its pivot, and what is measured afterwards.

// dartArgs are common to the changes that close a dart about a point.
type dartArgs struct {
	Piece  string         `arg:"piece" kind:"name" must:"yes" says:"The piece with the dart."`
	Dart   string         `arg:"dart" kind:"name" says:"The dart; left out where the piece has only one."`
	Bust   *pattern.Place `arg:"bust" kind:"place" says:"The point that the dart is pivoted about, most often the bust point; left out, it is told by beyond."`
	Beyond float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line; 0 pivots about the dart's own point."`
}

// find gives the piece, its dart and the pivot.
func (a *dartArgs) find(w *work) (*pattern.Piece, wedge, geom.Point, error) {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return nil, wedge{}, geom.Point{}, err
	}
	d, err := w.wedge("/dart", p, a.Dart)
	if err != nil {
		return nil, wedge{}, geom.Point{}, err
	}
	about, ptr := d.tip.Add(d.middle().Mul(a.Beyond)), "/beyond"
	if a.Bust != nil {
		ptr = "/bust"
		if _, _, about, err = p.Find(*a.Bust); err != nil {
			return nil, wedge{}, geom.Point{}, pattern.FaultsOf(err).Under(ptr)
		}
	}
	about, err = pivotPoint(ptr, p, d, about)
	if err != nil {
		return nil, wedge{}, geom.Point{}, err
	}
	if d.tip.Dist(about) > pattern.Near && !p.Outline().Contains(about) && d.tip.Sub(about).Dot(d.middle()) < 0 {
		return nil, wedge{}, geom.Point{}, pattern.Fault{Rule: "pivot_outside", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("the pivot at (%.1f, %.1f) lies outside piece %q", about.X, about.Y, p.Name),
			Valid: "a point inside the piece", Remedy: "choose a point nearer to the dart"}
	}
	return p, d, about, nil
}

// check refuses a pivot that is told twice.
func (a *dartArgs) check(change string) pattern.Faults {
	if a.Bust != nil && a.Beyond > 0 {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/beyond", Detail: change + ": the pivot is told by bust and by beyond", Remedy: "give one of them"}}
	}
	return nil
}

// atBust: the pivot is not the dart's own point, which is set back already.
func (a *dartArgs) atBust() bool { return a.Bust != nil || a.Beyond > 0 }

// keptLengths is by how much the edges of a piece, legs of darts and the exempt ones left out, have changed
// their length, at worst. Stretches that an edge was cut into count together, on all its parts.
func keptLengths(was *pattern.Piece, exempt []string, parts ...*pattern.Piece) float64 {
	skip := map[string]bool{}
	for _, n := range exempt {
		skip[n] = true
	}
	worst := 0.0
	for i := range was.Edges {
		e := &was.Edges[i]
		if skip[e.Name] || was.IsLeg(e.Name) {
			continue
		}
		lo, hi := math.Min(e.Src.S0, e.Src.S1), math.Max(e.Src.S0, e.Src.S1)
		l := 0.0
		for _, q := range parts {
			for k := range q.Edges {
				f := &q.Edges[k]
				if f.Src.Piece == e.Src.Piece && f.Src.Edge == e.Src.Edge && math.Min(f.Src.S0, f.Src.S1) >= lo-1e-4 && math.Max(f.Src.S0, f.Src.S1) <= hi+1e-4 {
					l += f.Path.Length()
				}
			}
		}
		worst = math.Max(worst, math.Abs(l-e.Path.Length()))
	}
	return worst
}

func (w *work) promiseLengths(was *pattern.Piece, exempt []string, parts ...*pattern.Piece) {
	off := keptLengths(was, exempt, parts...)
	w.promise(inspect.Check{Rule: "dart_lengths", Piece: parts[0].Name, Place: "outline", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Every kept edge of %s is as long as it was, to %.3f mm.", was.Name, off)})
}

// promiseMarks counts the marks of a piece that none of its parts has any more.
func (w *work) promiseMarks(was *pattern.Piece, parts ...*pattern.Piece) {
	lost := 0
	for _, m := range was.Marks {
		there := false
		for _, q := range parts {
			there = there || q.MarkNamed(m.Name) != nil
		}
		if !there {
			lost++
		}
	}
	w.promise(inspect.Check{Rule: "dart_marks", Piece: was.Name, Place: "marks", Measured: float64(lost), Unit: inspect.Count,
		Text: fmt.Sprintf("Every mark of %s is still there.", was.Name)})
}

// promiseFold measures the line at a dart's mouth as it lies when the dart is folded.
func (w *work) promiseFold(q *pattern.Piece, d wedge) {
	n := len(q.Edges)
	in, out := q.Edges[(d.first+n-1)%n].Path.EndTangent(), q.Edges[(d.second+1)%n].Path.StartTangent()
	turn := d.a.Sub(d.tip).AngleTo(d.b.Sub(d.tip))
	w.promise(inspect.Check{Rule: "dart_fold", Piece: q.Name, Place: d.name, Measured: degrees(in.Rotate(turn), out), Tolerance: 2, Bearable: &pattern.Range{Min: 0, Max: 6}, Unit: inspect.Degrees,
		Text: fmt.Sprintf("With dart %s of %s folded, the seam line runs on smoothly over its mouth.", d.name, q.Name)})
}

// filled is the area of a piece with one dart filled up to a point instead of to its own.
func filled(p *pattern.Piece, d wedge, about geom.Point) float64 {
	legs := p.Edges[d.first].Path.Join(p.Edges[d.second].Path)
	whole := p.Outline().Area() - legs.Join(geom.Polyline(d.b, d.a)).Area()
	return whole + geom.Polyline(d.a, about, d.b, d.a).Area()
}

// press names the leg to whose side a dart is pressed: upright darts towards the centre, level ones downwards
// (common practice).
func press(q *pattern.Piece, d wedge, how string) string {
	dart := q.Darts[d.dart]
	switch how {
	case "first":
		return dart.First
	case "second":
		return dart.Second
	}
	u := q.Grain[1].Sub(q.Grain[0]).Unit()
	m := d.middle()
	centre := q.Align
	for i := range q.Edges {
		if q.Edges[i].Fold {
			centre = q.Edges[i].Path.PointAt(q.Edges[i].Path.Length() / 2)
		}
	}
	nearer := func(v geom.Vec) string {
		if d.a.Sub(d.b).Dot(v) > 0 {
			return dart.First
		}
		return dart.Second
	}
	if math.Abs(m.Dot(u)) >= math.Sqrt2/2 {
		v := u.Right()
		if centre.Sub(d.a).Dot(v) < 0 {
			v = v.Neg()
		}
		return nearer(v)
	}
	return nearer(geom.Vec{Y: -1})
}

// pressedWhere tells where a leg's side lies, for a sewer.
func pressedWhere(q *pattern.Piece, d wedge, leg string) string {
	v := d.a.Sub(d.b)
	if leg == q.Darts[d.dart].Second {
		v = v.Neg()
	}
	centre := q.Align.Sub(d.a.Lerp(d.b, 0.5))
	for i := range q.Edges {
		if q.Edges[i].Fold {
			centre = q.Edges[i].Path.PointAt(q.Edges[i].Path.Length() / 2).Sub(d.a.Lerp(d.b, 0.5))
		}
	}
	switch {
	case math.Abs(v.Y) >= math.Abs(v.X) && v.Y < 0:
		return "downwards"
	case math.Abs(v.Y) >= math.Abs(v.X):
		return "upwards"
	case centre.X*v.X > 0:
		return "towards the centre"
	}
	return "towards the side"
}

// dartSeam takes a seam that sews the two legs of a dart to each other out of the pattern: the dart is no
// longer sewn as one. Its ease goes with it.
func (w *work) dartSeam(piece, first, second string) {
	var kept []pattern.Seam
	for _, s := range w.p.Seams {
		if len(s.Sew) == 1 && len(s.To) == 1 && s.Sew[0].Piece == piece && s.To[0].Piece == piece {
			a, b := s.Sew[0].Edge, s.To[0].Edge
			if a == first && b == second || a == second && b == first {
				continue
			}
		}
		kept = append(kept, s)
	}
	w.p.Seams = kept
}
