package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The band collar (TRADE 5): a stand-up strip as long as the neck seam. Raised at the front it lies nearer to the
// neck: its seam is then a parabola, level at the centre back, and its length is solved for.

type bandCollarArgs struct {
	Front     string   `arg:"front" kind:"name" default:"front" says:"The front."`
	Back      string   `arg:"back" kind:"name" default:"back" says:"The back."`
	Neck      string   `arg:"neck" kind:"name" default:"neck" says:"The neck edge of both."`
	Shoulder  string   `arg:"shoulder" kind:"name" default:"shoulder" says:"The shoulder edge of both."`
	Height    float64  `arg:"height" kind:"length" min:"10" max:"120" default:"30mm" says:"How high the band stands."`
	Rise      float64  `arg:"rise" kind:"length" min:"0" max:"60" default:"15mm" says:"How far its front end is raised; nothing gives a straight strip."`
	To        string   `arg:"to" kind:"choice" choices:"centre,edge" default:"centre" says:"Whether it ends at the centre front or runs on over the button stand to its edge."`
	Name      string   `arg:"name" kind:"name" default:"collar" says:"What the new piece is called."`
	InsteadOf []string `arg:"instead_of" kind:"names" says:"Pieces that it takes the place of, such as a binding; they and their seams are left out."`
}

func defineBandCollar() Definition {
	return Definition{
		Name:     "band_collar",
		Sentence: "Makes a stand-up band collar as long as the neck it is sewn to, straight or raised at the front.",
		Promise:  "Its seam is as long as the neck to 0.1 mm; it is equally high everywhere to 0.1 mm and square to the fold at the centre back.",
		Sketch: []Stroke{
			{New, geom.Path{geom.Cubic(geom.Pt(5, 35), geom.Pt(35, 35), geom.Pt(65, 40), geom.Pt(92, 52)), geom.Line(geom.Pt(92, 52), geom.Pt(83, 72)), geom.Cubic(geom.Pt(83, 72), geom.Pt(60, 62), geom.Pt(32, 57), geom.Pt(5, 57))}},
			{Construction, geom.Polyline(geom.Pt(5, 57), geom.Pt(5, 35), geom.Pt(95, 35))},
		},
		fresh: func() args { return new(bandCollarArgs) },
	}
}

// parabola is level at its start and ends at (x, rise).
func parabola(x, rise float64) geom.Path {
	if rise == 0 {
		return geom.Polyline(geom.Pt(0, 0), geom.Pt(x, 0))
	}
	return geom.Path{geom.Cubic(geom.Pt(0, 0), geom.Pt(x/3, 0), geom.Pt(2*x/3, rise/3), geom.Pt(x, rise))}
}

// parabolaLong is the one of a length; false when it would rise, or fall, by more than a quarter of it.
func parabolaLong(long, rise float64) (geom.Path, bool) {
	x, ok := root(func(x float64) float64 { return parabola(x, rise).Length() - long }, long, long-rise*rise/long, 1e-9)
	if !ok || math.Abs(rise) > long/4 || !(x > math.Abs(rise)) {
		return nil, false
	}
	return parabola(x, rise), true
}

func (a *bandCollarArgs) apply(w *work) error {
	long, at, err := a.make(w)
	if err != nil {
		return err
	}
	a.tell(w, w.p.PieceNamed(a.Name), long, at)
	return nil
}

// make lays the collar to the neck, and tells how long that is and where the shoulder lies on it.
func (a *bandCollarArgs) make(w *work) (long, at float64, err error) {
	if err := w.insteadOf(a.InsteadOf); err != nil {
		return 0, 0, err
	}
	f, b, err := w.necksOf(a.Front, a.Back, a.Neck, a.Shoulder)
	if err != nil {
		return 0, 0, err
	}
	if a.To == "edge" {
		if f.alongCentre("/to") == nil {
			return 0, 0, pattern.Fault{Rule: "no_stand", Pointer: "/to", Piece: a.Front, Edge: f.p.Edges[f.centre].Name, Detail: fmt.Sprintf("the neck of %s ends at its centre: there is no button stand to run on over", a.Front),
				Valid: "centre", Remedy: "add a button stand first, or end the collar at the centre"}
		}
	}
	seam := pattern.Seam{Name: w.seamFree("neck_" + a.Name), To: w.neckRun(&f, &b, a.To == "edge")}
	neck, err := inspect.Walk(&w.p, seam.To)
	if err != nil {
		return 0, 0, err
	}
	long = neck.Len
	low, ok := parabolaLong(long, a.Rise)
	if !ok {
		return 0, 0, pattern.Fault{Rule: "out_of_range", Pointer: "/rise", Piece: a.Front, Edge: a.Neck, Detail: fmt.Sprintf("a band %.1f mm long cannot be raised by %s", long, say(a.Rise)),
			Valid: fmt.Sprintf("0 to %.1f mm", math.Min(60, long/4)), Remedy: "raise it less"}
	}
	top, err := parallelIn(low, a.Height)
	if err != nil {
		return 0, 0, pattern.Fault{Rule: "no_parallel", Pointer: "/height", Piece: a.Front, Detail: fmt.Sprintf("a band raised by %s bends too tightly to be %s high", say(a.Rise), say(a.Height)), Remedy: "make it lower, or raise it less"}
	}
	up := top.Reverse()
	q := newPiece(a.Name, "Band collar", pattern.Cut{Count: 2, Cloth: "main", Layers: 2, Interfaced: 1},
		pattern.Edge{Name: "neck_edge", From: "back_low", Path: low},
		pattern.Edge{Name: "front_end", From: "front_low", Path: geom.Polyline(low.End(), up.Start())},
		pattern.Edge{Name: "upper_edge", From: "front_high", Path: up},
		pattern.Edge{Name: "centre_back", From: "back_high", Path: geom.Polyline(up.End(), low.Start()), Fold: true})
	q.Grain = [2]geom.Point{geom.Pt(20, 0.2*a.Height), geom.Pt(20, 0.8*a.Height)}
	fitGrain(&q)
	at = neck.Links[1].Start
	q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Count: 1, Name: "shoulder", Edge: "neck_edge", S: at, At: low.PointAt(at)})
	if a.To == "edge" {
		s := neck.Links[2].Start
		if long-s >= 5 {
			q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Count: 1, Name: "centre_front", Edge: "neck_edge", S: s, At: low.PointAt(s)})
		}
	}
	seam.Notches = neckNotches(&q, "neck_edge", neck, func(x float64) float64 { return x })
	if err := w.addPiece("/name", q); err != nil {
		return 0, 0, err
	}
	seam.Sew = []pattern.EdgeRef{{Piece: a.Name, Edge: "neck_edge"}}
	w.p.Seams = append(w.p.Seams, seam)
	return long, at, nil
}

func (a *bandCollarArgs) tell(w *work, q *pattern.Piece, long, at float64) {
	low, up := q.Edges[0].Path, q.Edges[2].Path
	w.promise(inspect.Check{Rule: "collar_length", Piece: q.Name, Place: "neck_edge", Measured: low.Length() - long, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The seam of %s is %.2f mm long, the neck %.2f mm.", q.Name, low.Length(), long)})
	w.promise(inspect.Check{Rule: "collar_height", Piece: q.Name, Place: "upper_edge", Measured: unparallel(low, up.Reverse(), a.Height, 0), Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("%s is %s high everywhere.", title(q.Name), say(a.Height))})
	w.promise(inspect.Check{Rule: "collar_square", Piece: q.Name, Place: "centre_back", Measured: degrees(q.Edges[3].Path.EndTangent(), low.StartTangent()) - 90, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("The seam of %s is square to the fold at the centre back.", q.Name)})
	w.res.Steps = append(w.res.Steps,
		Step{Stage: Prepare, Pieces: []string{q.Name}, Text: fmt.Sprintf("Interface one %s. Right sides together, sew the two along ends and upper edge (%.0f mm), grade, turn and press.", q.Name, up.Length()), Amounts: []Amount{{"height", a.Height}, {"upper edge, half", up.Length()}}},
		Step{Stage: Collar, Pieces: []string{q.Name, a.Front, a.Back}, Text: fmt.Sprintf("Sew %s to the neck (%.0f mm a half): centre back to centre back, the notch, %.0f mm from there, to the shoulder seam.", q.Name, long, at), Amounts: []Amount{{"neck, half", long}, {"centre back to shoulder", at}}})
	w.res.Notions = append(w.res.Notions, "interfacing")
	d := plan{d: Drawing{Title: fmt.Sprintf("Band collar, size %s", w.p.Size)}}
	d.step("Measure the neck from centre back to its front end: %s. Draw a line of about that length, square to the fold.", say(long))
	d.line(Construction, q.Name, geom.Polyline(low.Start(), geom.Pt(low.End().X, 0)), "level")
	x := d.point(low.Start(), "centre back")
	d.step("Raise its front end by %s and draw the seam as a smooth curve, level at the fold, until it is as long as the neck.", say(a.Rise))
	y := d.point(low.End(), "front end")
	d.line(New, q.Name, low, "neck_edge")
	d.measure(x, y, low, "neck")
	z := d.point(low.PointAt(at), "shoulder")
	d.measure(x, z, low.Sub(0, at), "centre back to shoulder")
	d.step("Draw the upper edge parallel to it, %s above.", say(a.Height))
	d.line(New, q.Name, up, "upper_edge")
	t := d.point(up.End(), "upper centre back")
	d.measure(x, t, nil, "height")
	w.res.Drawing = d.d
}
