package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The button stand (TRADE 5): the centre is extended by half the button and 6 mm, or as stated, so that two
// fronts lap over each other with their centre lines meeting. One buttonhole lies at the fullest level, where a
// front gapes first; the others are spaced evenly from there.

type standArgs struct {
	Piece   string         `arg:"piece" kind:"name" default:"front" says:"The piece that is to be buttoned."`
	Edge    string         `arg:"edge" kind:"name" default:"centre_front" says:"Its centre edge; it becomes a line inside the piece."`
	Neck    string         `arg:"neck" kind:"name" default:"neck" says:"The edge at its upper end; the stand's own upper edge is called stand_ and this name."`
	Button  float64        `arg:"button" kind:"length" min:"6" max:"50" default:"15mm" says:"How large the button is across."`
	Width   *float64       `arg:"width" kind:"length" min:"8" max:"120" says:"How wide the stand is; left out, half the button and 6 mm."`
	Fullest *pattern.Place `arg:"fullest" kind:"place" says:"A place on the fullest level, where one button is to be; left out, the bust point or the point of the first dart."`
	Top     *float64       `arg:"top" kind:"length" min:"5" max:"400" says:"How far below the neck the first button lies; left out, half the button and 6 mm."`
	Spacing float64        `arg:"spacing" kind:"length" min:"20" max:"200" default:"80mm" says:"About how far the buttons are apart; the distance from first button to fullest level is divided evenly."`
	Bottom  float64        `arg:"bottom" kind:"length" min:"10" max:"600" default:"90mm" says:"How far above the lower edge the last button may lie."`
	Holes   string         `arg:"holes" kind:"choice" choices:"across,along" default:"across" says:"Whether buttonholes lie across the centre line or along it."`
	Thick   float64        `arg:"thickness" kind:"length" min:"0" max:"15" default:"3mm" says:"How thick the button is: a hole is as long as the button and this."`
	Lap     string         `arg:"lap" kind:"choice" choices:"right,left" default:"right" says:"Which side laps over, as it is worn, and has the buttonholes."`
}

func defineStand() Definition {
	return Definition{
		Name:     "button_stand",
		Sentence: "Extends a centre so that two fronts lap over each other, and marks buttons and buttonholes spaced from the fullest level.",
		Promise:  "The stand is as wide as stated all along; a button lies at the fullest level and all are evenly spaced, to 0.1 mm; the other edges stay as they were.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Line(geom.Pt(5, 5), geom.Pt(70, 5))}},
			{Outline, geom.Path{geom.Cubic(geom.Pt(70, 70), geom.Pt(52, 70), geom.Pt(45, 82), geom.Pt(44, 95)), geom.Line(geom.Pt(44, 95), geom.Pt(10, 85))}},
			{Construction, geom.Polyline(geom.Pt(70, 5), geom.Pt(70, 70))},
			{New, geom.Polyline(geom.Pt(70, 5), geom.Pt(84, 5), geom.Pt(84, 70), geom.Pt(70, 70))},
			{New, geom.Polyline(geom.Pt(73, 60), geom.Pt(58, 60))},
			{New, geom.Polyline(geom.Pt(73, 42), geom.Pt(58, 42))},
			{New, geom.Polyline(geom.Pt(73, 24), geom.Pt(58, 24))},
		},
		fresh: func() args { return new(standArgs) },
	}
}

func (a *standArgs) width() float64 {
	if a.Width != nil {
		return *a.Width
	}
	return a.Button/2 + 6
}

func (a *standArgs) check() pattern.Faults {
	if a.width() < a.Button/2 {
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/width", Detail: fmt.Sprintf("button_stand: a stand of %g mm is narrower than half the button, which would stand over its edge", *a.Width),
			Valid: fmt.Sprintf("%g to 120 mm", a.Button/2), Remedy: "make the stand wider or the button smaller"}}
	}
	return nil
}

// stand is what is found before it is made.
type stand struct {
	i          int // the centre edge
	atTop      bool
	out, down  geom.Vec
	top        geom.Point // of the centre, at the neck
	long       float64
	fullest    float64 // below top
	at         []float64
	gap        float64
	edge, neck string
	buttons    []string // the names of their dots
}

func (a *standArgs) apply(w *work) error {
	was, st, err := a.make(w)
	if err != nil {
		return err
	}
	a.tell(w, &was, w.p.PieceNamed(was.Name), &st)
	return nil
}

// make gives the piece its stand, and tells what it was.
func (a *standArgs) make(w *work) (was pattern.Piece, st stand, err error) {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return was, st, err
	}
	was = p.Clone()
	if st, err = a.find(w, &was); err != nil {
		return was, st, err
	}
	if err := a.space(&was, &st); err != nil {
		return was, st, err
	}
	q, err := a.extend(w, &was, &st)
	if err != nil {
		return was, st, err
	}
	carryCut(&was, &q)
	a.marks(&q, &st)
	w.put(q)
	// Buttoned, the front opens all the way down.
	w.p.Openings = append(w.p.Openings, pattern.Opening{Src: q.Edges[q.EdgeNamed(st.edge)].Src})
	return was, st, nil
}

func (a *standArgs) find(w *work, p *pattern.Piece) (stand, error) {
	var st stand
	var err error
	if st.i, err = w.edge("/edge", p, a.Edge); err != nil {
		return st, err
	}
	c := p.Edges[st.i]
	if !isStraight(c.Path) {
		return st, pattern.Fault{Rule: "not_straight", Pointer: "/edge", Piece: p.Name, Edge: c.Name, Detail: fmt.Sprintf("edge %s of piece %q is not straight, so that two of them cannot lap over each other", c.Name, p.Name), Remedy: "name a straight centre"}
	}
	if w.sewn(p.Name, c.Name) {
		return st, pattern.Fault{Rule: "edge_sewn", Pointer: "/edge", Piece: p.Name, Edge: c.Name, Detail: fmt.Sprintf("edge %s of piece %q is sewn to another", c.Name, p.Name), Remedy: "name a centre that no seam runs over"}
	}
	n := len(p.Edges)
	switch a.Neck {
	case p.Edges[(st.i+1)%n].Name:
		st.atTop = true
	case p.Edges[(st.i+n-1)%n].Name:
	default:
		return st, pattern.Fault{Rule: "not_beside", Pointer: "/neck", Piece: p.Name, Edge: a.Neck, Detail: fmt.Sprintf("piece %q has no edge %q beside its edge %s", p.Name, a.Neck, c.Name),
			Valid: pattern.Choices([]string{p.Edges[(st.i+1)%n].Name, p.Edges[(st.i+n-1)%n].Name}), Remedy: "name the edge at the upper end of the centre"}
	}
	st.out = c.Path.StartTangent().Right()
	st.top, st.down, st.long = c.Path.Start(), c.Path.StartTangent(), c.Path.Length()
	if st.atTop {
		st.top, st.down = c.Path.End(), st.down.Neg()
	}
	at, err := a.level(p)
	if err != nil {
		return st, err
	}
	st.fullest = at.Sub(st.top).Dot(st.down)
	if st.fullest < 5 || st.fullest > st.long-5 {
		return st, pattern.Fault{Rule: "out_of_range", Pointer: "/fullest", Piece: p.Name, Detail: fmt.Sprintf("the fullest level lies %.1f mm below the neck, not between neck and lower edge", st.fullest),
			Valid: fmt.Sprintf("5 to %.1f mm", st.long-5), Remedy: "name a place between the two"}
	}
	return st, nil
}

// level finds the fullest level.
func (a *standArgs) level(p *pattern.Piece) (geom.Point, error) {
	if a.Fullest != nil {
		_, _, at, err := p.Find(*a.Fullest)
		if err != nil {
			return at, pattern.FaultsOf(err).Under("/fullest")
		}
		return at, nil
	}
	if m := p.MarkNamed("bust_point"); m != nil {
		return m.At, nil
	}
	if len(p.Darts) > 0 {
		if i := p.EdgeNamed(p.Darts[0].First); i >= 0 {
			return p.Edges[i].Path.End(), nil
		}
	}
	return geom.Point{}, pattern.Fault{Rule: "no_level", Pointer: "/fullest", Piece: p.Name, Detail: fmt.Sprintf("nothing tells where piece %q is fullest: it has neither a bust_point nor a dart", p.Name),
		Valid: pattern.Choices(p.PlaceNames()), Remedy: "give a place on the fullest level"}
}

// space finds where the buttons lie below the neck.
func (a *standArgs) space(p *pattern.Piece, st *stand) error {
	top := a.Button/2 + 6
	if a.Top != nil {
		top = *a.Top
	}
	last := st.long - a.Bottom
	if top > last+1e-9 || st.fullest > last+1e-9 {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/bottom", Piece: p.Name, Edge: a.Edge,
			Detail: fmt.Sprintf("no button may lie lower than %.1f mm below the neck, but the first is to be at %.1f mm and the fullest level is at %.1f mm", last, top, st.fullest),
			Valid:  fmt.Sprintf("10 to %.1f mm", math.Max(10, st.long-math.Max(top, st.fullest))), Remedy: "let the last button lie lower"}
	}
	st.gap = a.Spacing
	first := st.fullest
	if st.fullest-top > a.Spacing/3 {
		n := math.Max(1, math.Round((st.fullest-top)/a.Spacing))
		st.gap = (st.fullest - top) / n
		first = top
	}
	if st.gap < a.Button {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/spacing", Piece: p.Name, Detail: fmt.Sprintf("buttons of %g mm would be only %.1f mm apart", a.Button, st.gap),
			Valid: fmt.Sprintf("at least %g mm", a.Button), Remedy: "space them further apart"}
	}
	for i := 0; ; i++ {
		at := first + float64(i)*st.gap
		if at > last+1e-6 || i >= 60 {
			return nil
		}
		st.at = append(st.at, at)
	}
}

// extend lengthens the edges beside the centre over it; the neck and sewn edges stay as they are and get a
// new edge beside them.
func (a *standArgs) extend(w *work, p *pattern.Piece, st *stand) (pattern.Piece, error) {
	const steep = 75.0 // degrees from square to the centre
	n := len(p.Edges)
	prev, next := (st.i+n-1)%n, (st.i+1)%n
	c := p.Edges[st.i]
	q := p.Clone()
	st.edge = free("stand_edge", func(s string) bool { return p.EdgeNamed(s) >= 0 })
	width := a.width()
	var ends [2]geom.Point
	var runs [2]geom.Vec
	for k, dir := range [2]geom.Vec{p.Edges[prev].Path.EndTangent(), p.Edges[next].Path.StartTangent().Neg()} {
		if d := degrees(dir, st.out); d > steep {
			e := p.Edges[[2]int{prev, next}[k]].Name
			return q, pattern.Fault{Rule: "too_steep", Pointer: "/edge", Piece: p.Name, Edge: e, Detail: fmt.Sprintf("edge %s meets the centre at %.0f degrees from square, too steep to be run on over a stand", e, d),
				Valid: fmt.Sprintf("at most %g degrees", steep), Remedy: "true that edge square to the centre"}
		}
		runs[k] = dir.Unit().Mul(width / dir.Unit().Dot(st.out))
		ends[k] = [2]geom.Point{c.Path.Start(), c.Path.End()}[k].Add(runs[k])
	}
	taken := knows(p)
	low, high := free("stand_start", taken), free("stand_end", taken)
	edge := pattern.Edge{Name: st.edge, From: low, To: high, Path: geom.Polyline(ends[0], ends[1])}
	edge.Src = pattern.Source{Piece: p.Name, Edge: edge.Name, S1: edge.Path.Length()}
	before, after := []pattern.Edge(nil), []pattern.Edge(nil)
	notch := func(edge string, s float64, at geom.Point, name string) {
		name = free(name, func(t string) bool {
			if q.MarkNamed(t) != nil {
				return true
			}
			for _, e := range p.Edges {
				if e.From == t && !(e.From == c.From || e.From == c.To) {
					return true
				}
			}
			return false
		})
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: 1, Edge: edge, S: s, At: at})
	}
	for k, i := range [2]int{prev, next} {
		e := &q.Edges[i]
		run := runs[k].Len()
		if e.Name == a.Neck || w.sewn(p.Name, e.Name) {
			x := pattern.Edge{Name: free("stand_"+e.Name, func(s string) bool { return p.EdgeNamed(s) >= 0 }), Own: e.Own}
			if k == 0 {
				x.From, x.To, x.Path = c.From, low, geom.Polyline(c.Path.Start(), ends[0])
				before = append(before, x)
			} else {
				x.From, x.To, x.Path = high, c.To, geom.Polyline(ends[1], c.Path.End())
				after = append(after, x)
			}
			if e.Name == a.Neck {
				st.neck = x.Name
			}
			continue
		}
		was := e.Path.Length()
		if k == 0 {
			e.Path, e.To = runOut(e.Path, 0, run), low
			notch(e.Name, was, c.Path.Start(), c.From)
		} else {
			e.Path, e.From = runOut(e.Path, run, 0), high
			for m := range q.Marks {
				if q.Marks[m].Edge == e.Name {
					q.Marks[m].S += run
				}
			}
			notch(e.Name, run, c.Path.End(), c.To)
		}
	}
	for _, x := range [2][]pattern.Edge{before, after} {
		for k := range x {
			x[k].Src = pattern.Source{Piece: p.Name, Edge: x[k].Name, S1: x[k].Path.Length()}
		}
	}
	edges := append([]pattern.Edge(nil), q.Edges[:st.i]...)
	edges = append(append(append(edges, before...), edge), after...)
	q.Edges = append(edges, q.Edges[st.i+1:]...)
	// What was marked on the centre: notches go over to the new edge, at their level; dots stay.
	for k := range q.Marks {
		m := &q.Marks[k]
		if m.Edge != a.Edge {
			continue
		}
		if m.Kind == pattern.Notch {
			e, s, at, _ := q.Nearest(m.At.Add(st.out.Mul(width)))
			m.Edge, m.S, m.At = q.Edges[e].Name, s, at
		} else {
			e, s, at, d := q.Nearest(m.At)
			m.Edge, m.S = "", 0
			if d <= pattern.Near {
				m.Edge, m.S, m.At = q.Edges[e].Name, s, at
			}
		}
	}
	q.Lines = append(q.Lines, pattern.InnerLine{Name: a.Edge, Path: c.Path})
	return q, nil
}

// marks puts buttons and buttonholes on the centre line.
func (a *standArgs) marks(q *pattern.Piece, st *stand) {
	long := a.Button + a.Thick
	over := math.Min(3, a.width()-2) // a hole across begins a little over the centre, so that the button sits on it
	taken := knows(q)
	for i, at := range st.at {
		c := st.top.Add(st.down.Mul(at))
		name := free(fmt.Sprintf("button_%d", i+1), taken)
		st.buttons = append(st.buttons, name)
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: name, At: c})
		x, y := c.Add(st.out.Mul(over)), c.Add(st.out.Mul(over-long))
		if a.Holes == "along" {
			x, y = c.Add(st.down.Mul(-long/2)), c.Add(st.down.Mul(long/2))
		}
		hole := free(fmt.Sprintf("buttonhole_%d", i+1), func(n string) bool {
			return slices.ContainsFunc(q.Lines, func(l pattern.InnerLine) bool { return l.Name == n })
		})
		q.Lines = append(q.Lines, pattern.InnerLine{Name: hole, Path: geom.Polyline(x, y)})
	}
}

func (a *standArgs) tell(w *work, was, q *pattern.Piece, st *stand) {
	e := q.Edges[q.EdgeNamed(st.edge)].Path
	lo, hi := math.Inf(1), 0.0
	for _, x := range []geom.Point{e.Start(), e.PointAt(e.Length() / 2), e.End()} {
		d := x.Sub(st.top).Dot(st.out)
		lo, hi = math.Min(lo, d), math.Max(hi, d)
	}
	off := hi - a.width()
	if math.Abs(lo-a.width()) > math.Abs(off) {
		off = lo - a.width()
	}
	w.promise(inspect.Check{Rule: "stand_width", Piece: q.Name, Place: st.edge, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The stand of %s is %.2f to %.2f mm wide; %s are asked for.", q.Name, lo, hi, say(a.width()))})
	full, least, most, last := math.Inf(1), math.Inf(1), 0.0, math.NaN()
	for _, name := range st.buttons {
		m := q.MarkNamed(name)
		if m == nil {
			continue
		}
		t := m.At.Sub(st.top).Dot(st.down)
		full = math.Min(full, math.Abs(t-st.fullest))
		if !math.IsNaN(last) {
			least, most = math.Min(least, t-last), math.Max(most, t-last)
		}
		last = t
	}
	w.promise(inspect.Check{Rule: "button_at_fullest", Piece: q.Name, Place: "fullest level", Measured: full, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("A button of %s lies %.2f mm from the fullest level.", q.Name, full)})
	if len(st.at) > 1 {
		w.promise(inspect.Check{Rule: "buttons_even", Piece: q.Name, Place: "buttons", Measured: most - least, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The buttons of %s are %.1f mm apart.", q.Name, most)})
	}
	kept := 0.0
	for i := range was.Edges {
		n := was.Edges[i].Name
		if k := q.EdgeNamed(n); k >= 0 && n != a.Edge {
			if d := math.Abs(q.Edges[k].Path.Length() - was.Edges[i].Path.Length()); w.sewn(q.Name, n) {
				kept = math.Max(kept, d)
			}
		}
	}
	w.promise(inspect.Check{Rule: "stand_kept", Piece: q.Name, Place: "seams", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The sewn edges of %s keep their lengths to %.3f mm.", q.Name, kept)})
	under := map[string]string{"right": "left", "left": "right"}[a.Lap]
	long := a.Button + a.Thick
	w.res.Notions = append(w.res.Notions, fmt.Sprintf("%d buttons, %g mm", len(st.at), a.Button))
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: []string{q.Name},
		Text: fmt.Sprintf("Work %d buttonholes of %s, %s the centre line, on the %s side, and sew the buttons to the %s one on its centre line: the first %s below the neck, then %.1f mm apart; one lies at the fullest level. Closed, the two centre lines lie on each other.",
			len(st.at), say(long), a.Holes, a.Lap, under, say(st.at[0]), st.gap),
		Amounts: []Amount{{"buttonhole", long}, {"first button below neck", st.at[0]}, {"apart", st.gap}, {"stand", a.width()}}})
	d := plan{d: Drawing{Title: fmt.Sprintf("Button stand on %s, size %s", q.Name, w.p.Size)}}
	d.line(Outline, q.Name, was.Outline(), q.Name)
	d.step("Extend %s by %s: draw a line beside the centre line and run the edges at its ends on to it.", q.Name, say(a.width()))
	x, y := d.point(st.top, "centre"), d.point(st.top.Add(st.out.Mul(a.width())), "stand")
	d.measure(x, y, nil, "stand")
	d.line(New, q.Name, e, st.edge)
	d.step("Mark the fullest level on the centre line, and divide the distance to the first button evenly; go on downwards.")
	for i, at := range st.at {
		n := d.point(st.top.Add(st.down.Mul(at)), fmt.Sprintf("button %d", i+1))
		if i == 0 {
			d.measure(x, n, nil, "first button")
		} else {
			d.measure(n-1, n, nil, "apart")
		}
	}
	d.step("Draw the buttonholes, %s long, %s the centre line.", say(long), a.Holes)
	for _, l := range q.Lines[len(q.Lines)-len(st.at):] {
		d.line(New, q.Name, l.Path, l.Name)
	}
	w.res.Drawing = d.d
}
