package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A yoke (TRADE 5): the upper part of a piece, cut off along a style line that is square to the centre. A dart
// whose point reaches the line is shut in the part that has its mouth, so that the seam takes it in; the lower
// part may be cut wider at the centre, to be gathered or pleated into the yoke.

type yokeArgs struct {
	Piece    string         `arg:"piece" kind:"name" must:"yes" says:"The piece that gets a yoke."`
	From     pattern.Place  `arg:"from" kind:"place" must:"yes" says:"Where on the outline the line begins."`
	To       *pattern.Place `arg:"to" kind:"place" says:"Where on the outline it ends; left out, it runs from the centre straight across the piece."`
	Shape    string         `arg:"shape" kind:"choice" choices:"straight,curved,pointed" default:"straight" says:"A straight line runs off the centre square and bends within a hand's breadth; a curved one bends all the way; a pointed one has a corner on its way."`
	Point    float64        `arg:"point" kind:"length" min:"-200" max:"200" default:"30mm" says:"How far the corner of a pointed line lies below the straight line between its ends; less than nothing lies above."`
	PointAt  float64        `arg:"point_at" kind:"share" min:"0.1" max:"0.9" default:"0.5" says:"How far along from beginning to end the corner of a pointed line lies."`
	Angle    float64        `arg:"angle" kind:"angle" min:"20" max:"160" default:"90" says:"A curved line's angle to the outline where it does not meet the centre, measured from the way the outline runs on; 90 is square."`
	Curve    float64        `arg:"curve" kind:"share" min:"0.05" max:"0.9" default:"0.35" says:"How long a curved line keeps the directions of its ends, as a share of the distance between them."`
	Centre   string         `arg:"centre" kind:"name" says:"The centre edge, which the line meets square; left out, the edge on the fold."`
	Square   bool           `arg:"square" kind:"flag" default:"true" says:"Whether the line is square to the centre; without, a straight line may make a point there."`
	Dart     []string       `arg:"dart" kind:"names" says:"The dart, or the darts, that the seam takes in: drawn to the line and shut."`
	Reach    float64        `arg:"reach" kind:"length" min:"0" max:"150" default:"40mm" says:"How far the point of such a dart may lie from the line; its legs are drawn longer or shorter to it."`
	Fullness float64        `arg:"fullness" kind:"length" min:"0" max:"600" default:"0mm" says:"How much wider the lower part is cut at its centre, as it is drawn: on the fold, half of what is added in all."`
	Into     string         `arg:"into" kind:"choice" choices:"gathers,box_pleat" default:"gathers" says:"What becomes of the fullness: gathers, or one box pleat at the centre."`
	Gathers  *float64       `arg:"gathers" kind:"length" min:"20" max:"1000" says:"How far from the centre the gathers reach, measured on the yoke; left out, half of the seam."`
	Hem      string         `arg:"hem" kind:"name" default:"hem" says:"The edge of the lower part at which a box pleat ends."`
	Notches  int            `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches are spread over the seam, to meet when it is sewn."`
	Line     string         `arg:"line" kind:"name" default:"yoke" says:"The name of the new edge on both parts."`
	Name     string         `arg:"name" kind:"name" says:"The name of the yoke; left out, the piece's name with _yoke."`
	Join     string         `arg:"join" kind:"name" says:"Another yoke, made before, that becomes one piece with this one: they are laid together along the straight seam between them, such as the shoulder."`
}

func defineYoke() Definition {
	return Definition{
		Name:     "yoke",
		Sentence: "Cuts a yoke off the top of a piece along a straight, curved or pointed line; the seam takes in darts that reach it, and the lower part may be fuller.",
		Promise:  "Both sides of the seam are equal to 0.1 mm, but for what is gathered or pleated; the parts are as large as the piece; the line is square to the centre within 1 degree; no mark is lost, notches meet.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(10, 5), geom.Pt(90, 5), geom.Pt(86, 60), geom.Pt(80, 95))},
			{Outline, geom.Path{geom.Cubic(geom.Pt(80, 95), geom.Pt(60, 90), geom.Pt(30, 88), geom.Pt(10, 88))}},
			{Outline, geom.Polyline(geom.Pt(10, 88), geom.Pt(10, 5))},
			{CutAway, geom.Polyline(geom.Pt(42, 89), geom.Pt(48, 56), geom.Pt(54, 90))},
			{New, geom.Path{geom.Cubic(geom.Pt(10, 54), geom.Pt(36, 54), geom.Pt(62, 57), geom.Pt(86, 64))}},
		},
		fresh: func() args { return new(yokeArgs) },
	}
}

func (a *yokeArgs) check() pattern.Faults {
	var fs pattern.Faults
	if a.Name == "" {
		a.Name = a.Piece + "_yoke"
	}
	if !pattern.ValidName(a.Name) || a.Name == a.Piece {
		fs = append(fs, pattern.Fault{Rule: "bad_name", Pointer: "/name", Detail: fmt.Sprintf("yoke: a yoke cannot be named %s", pattern.Quote(a.Name)), Valid: pattern.NameRule + ", and not the piece's own", Remedy: "give it another name"})
	}
	if a.Shape == "pointed" && len(a.Dart) > 0 {
		fs = append(fs, pattern.Fault{Rule: "pointed_dart", Pointer: "/shape", Detail: "yoke: the seam is drawn smooth over a dart that it takes in, so that it cannot be pointed", Valid: "straight, curved", Remedy: "choose another shape, or leave the dart out"})
	}
	if a.Fullness > 0 && a.Fullness < 10 {
		fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/fullness", Detail: fmt.Sprintf("yoke: %.1f mm is too little to gather or to pleat", a.Fullness), Valid: "0, or 10 to 600 mm", Remedy: "leave it out, or ask for more"})
	}
	return fs
}

// yoked is a piece being given its yoke.
type yoked struct {
	was    pattern.Piece
	piece  pattern.Piece // with its darts drawn to the line
	up     geom.Vec
	l      cutLine
	ends   [2]spot
	centre int // -1: none
	at     int // which end lies on the centre: 0, 1; -1 none
	darts  []wedge
	first  []geom.Point // where their points were
	sharp  geom.Path    // the seam of the shut part before it was swept
	sum    float64      // mm2 of the piece, darts drawn to the line
	shut   string       // the part in which darts are shut: the yoke, the lower part, or none
	upper  bool         // the yoke lies on the left of the line
	yoke   pattern.Piece
	lower  pattern.Piece
	marks  []string // dots of the darts on the seam
	slack  float64  // cm2 that truing the mouths can have moved
	gather float64  // from the centre, on the yoke
	seam   string   // what sews them together
}

func (a *yokeArgs) apply(w *work) error {
	y, err := a.part(w)
	if err != nil {
		return err
	}
	a.promises(w, y)
	var pl *yokePleat
	if a.Fullness > 0 {
		if pl, err = a.fuller(w, y); err != nil {
			return err
		}
		a.fullPromises(w, y, pl)
	}
	a.tell(w, y, pl)
	if a.Join != "" {
		return a.join(w)
	}
	return nil
}

// part takes yoke and lower part apart and sews them together again, without fullness.
func (a *yokeArgs) part(w *work) (*yoked, error) {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return nil, err
	}
	y := yoked{was: p.Clone(), piece: p.Clone(), at: -1}
	if y.up, err = upOf(p); err != nil {
		return nil, err
	}
	if y.centre, err = w.centreOf("/centre", p, a.Centre); err != nil {
		return nil, err
	}
	if err := a.line(w, &y); err != nil {
		return nil, err
	}
	if err := a.reachDarts(w, &y); err != nil {
		return nil, err
	}
	if err := a.cut(w, &y); err != nil {
		return nil, err
	}
	for _, d := range y.darts {
		w.dartSeam(a.Piece, y.was.Edges[d.first].Name, y.was.Edges[d.second].Name)
	}
	if err := w.replace(a.Piece, y.yoke, y.lower); err != nil {
		return nil, blame(err, "/name")
	}
	seam := a.seam(w, &y)
	y.seam = seam.Name
	w.p.Seams = append(w.p.Seams, seam)
	return &y, nil
}

// cut takes the parts apart and shuts the darts.
func (a *yokeArgs) cut(w *work, y *yoked) error {
	left, err := leftOf(&y.piece, y.l, a.Name)
	if err != nil {
		return blame(err, "/to")
	}
	right, err := rightOf(&y.piece, y.l, a.Name)
	if err != nil {
		return blame(err, "/to")
	}
	y.yoke, y.lower = left, right
	y.upper = left.Outline().Bounds().Center().Sub(right.Outline().Bounds().Center()).Dot(y.up) > 0
	if !y.upper {
		y.yoke, y.lower = right, left
	}
	y.lower.Name = a.Piece
	for _, q := range []*pattern.Piece{&y.yoke, &y.lower} {
		e := &q.Edges[len(q.Edges)-1]
		if e.Name != a.Line {
			return pattern.Fault{Rule: "name_taken", Pointer: "/line", Piece: a.Piece, Edge: a.Line, Detail: fmt.Sprintf("there is an edge %q already", a.Line), Valid: "not " + pattern.Choices(y.was.EdgeNames()), Remedy: "choose another name for the line"}
		}
		e.Src = pattern.Source{Piece: q.Name, Edge: e.Name, S1: e.Path.Length()}
	}
	if y.was.Title != "" {
		y.yoke.Title = y.was.Title + " yoke"
	}
	for i, d := range y.darts {
		q := &y.yoke
		if hasDart(&y.lower, d.name) {
			q = &y.lower
		}
		if y.shut != "" && y.shut != q.Name {
			return pattern.Fault{Rule: "darts_apart", Pointer: dartPointer(a.Dart, i), Piece: a.Piece, Detail: fmt.Sprintf("dart %q opens on the other side of the line", d.name), Valid: "darts on one side of it", Remedy: "let the seam take in the darts of one side only"}
		}
		y.shut = q.Name
		if err := a.shutOne(w, y, q, d, dartPointer(a.Dart, i)); err != nil {
			return err
		}
	}
	if y.shut == "" {
		return nil
	}
	return a.sweepSeam(y)
}

func hasDart(p *pattern.Piece, name string) bool {
	for _, d := range p.Darts {
		if d.Name == name {
			return true
		}
	}
	return false
}

// shutOne shuts a dart in one part.
func (a *yokeArgs) shutOne(w *work, y *yoked, q *pattern.Piece, d wedge, ptr string) error {
	const clear = 10.0 // mm of seam on both sides of a dart
	now, err := w.wedge(ptr, q, d.name)
	if err != nil {
		return err
	}
	k := q.EdgeNamed(a.Line)
	e := q.Edges[k].Path
	s, off := e.Project(now.tip)
	if off > pattern.Near || s < clear || s > e.Length()-clear {
		return pattern.Fault{Rule: "near_corner", Pointer: ptr, Piece: a.Piece, Edge: y.was.Edges[d.first].Name, Detail: fmt.Sprintf("dart %q meets the line %.1f mm from its end", d.name, math.Min(s, e.Length()-s)), Valid: fmt.Sprintf("at least %g mm", clear), Remedy: "move the line"}
	}
	dot := ""
	for _, m := range q.Marks {
		if m.At.Dist(now.tip) <= pattern.Near {
			dot = m.Name
		}
	}
	if dot == "" {
		dot = free(d.name+"_point", knows(q))
		leg := q.Edges[now.second].Path
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: dot, Edge: q.Edges[now.second].Name, At: leg.Start()})
	}
	shut, round, err := w.shutAt(q, now, k, s, ptr)
	if err != nil {
		return err
	}
	y.slack += round.area()
	y.marks = append(y.marks, dot)
	*q = shut
	return nil
}

// sweptMost, mm, is by how much a hand's tracing over a shut dart leaves its corner (common practice).
const sweptMost = 5.0

// sweepSeam draws the seam of the shut part smooth and as long as the other part's, and dots both where the
// darts were.
func (a *yokeArgs) sweepSeam(y *yoked) error {
	q, o := &y.yoke, &y.lower
	if y.shut == y.lower.Name {
		q, o = o, q
	}
	e := &q.Edges[q.EdgeNamed(a.Line)]
	y.sharp = e.Path
	var corners []float64
	for _, n := range y.marks {
		corners = append(corners, q.MarkNamed(n).S)
	}
	for i := range corners { // along the line
		for k := range i {
			if corners[i] < corners[k] {
				corners[i], corners[k] = corners[k], corners[i]
			}
		}
	}
	other := &o.Edges[o.EdgeNamed(a.Line)]
	l := other.Path.Length()
	path, ok := sweep(e.Path, corners, l)
	if !ok || apartAt(y.sharp, path, 60) > sweptMost {
		return pattern.Fault{Rule: "no_sweep", Pointer: "/dart", Piece: a.Piece, Edge: a.Line, Detail: "with its darts shut the seam cannot be drawn smooth without leaving where they put it", Valid: "darts that are smaller or further apart", Remedy: "take in fewer darts, or draw the line further from their mouths"}
	}
	was := e.Path.Length()
	e.Path = path
	for i := range q.Marks {
		if m := &q.Marks[i]; m.Edge == a.Line {
			m.S *= path.Length() / was
			m.At = path.PointAt(m.S)
		}
	}
	for _, n := range y.marks {
		m := q.MarkNamed(n)
		m.Kind, m.Count, m.Match = pattern.Dot, 0, a.Piece+"_"+n
		c := *m
		c.S = l - m.S
		c.At = other.Path.PointAt(c.S)
		if o.MarkNamed(n) == nil {
			o.Marks = append(o.Marks, c)
		}
	}
	fitGrain(q)
	return nil
}

// seam sews the parts together again: the lower part onto the yoke, for it may be the longer one.
func (a *yokeArgs) seam(w *work, y *yoked) pattern.Seam {
	yoke, lower := w.p.PieceNamed(a.Name), w.p.PieceNamed(a.Piece)
	ye, le := yoke.Edges[yoke.EdgeNamed(a.Line)].Path, lower.Edges[lower.EdgeNamed(a.Line)].Path
	seam := pattern.Seam{Name: w.seamFree(a.Piece + "_" + a.Line), Sew: []pattern.EdgeRef{{Piece: a.Piece, Edge: a.Line}}, To: []pattern.EdgeRef{{Piece: a.Name, Edge: a.Line, Against: true}}}
	start, end := y.ends[1], y.ends[0] // the lower part lies on the right of the line, and runs along it backwards
	if !y.upper {
		start, end = end, start
	}
	seam.SmoothStart, seam.SmoothEnd = midEdge(&y.was, start), midEdge(&y.was, end)
	total := le.Length()
	// Gathers lie between the centre and a notch; the others are spread over the rest.
	lo, hi := 0.0, total
	var at []float64
	if a.Fullness > 0 && a.Into == "gathers" && y.at >= 0 {
		y.gather = total / 2
		if a.Gathers != nil {
			y.gather = math.Min(*a.Gathers, total-10)
		}
		if a.centreFirst(y) {
			at, lo = append(at, y.gather), y.gather
		} else {
			at, hi = append(at, total-y.gather), total-y.gather
		}
	}
	stretches := [][2]float64{{lo, hi}}
	if c := cornerOf(le); a.Shape == "pointed" && c > lo && c < hi {
		stretches = [][2]float64{{lo, c}, {c, hi}}
	}
	for _, b := range stretches {
		for i := range a.Notches {
			if step := (b[1] - b[0]) / float64(a.Notches+1); step >= 10 {
				at = append(at, b[0]+step*float64(i+1))
			}
		}
	}
	for i, s := range at {
		name := free(fmt.Sprintf("%s_notch_%d", a.Line, i+1), func(n string) bool { return knows(yoke)(n) || knows(lower)(n) })
		m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Match: a.Piece + "_" + name, Edge: a.Line, S: s, At: le.PointAt(s)}
		lower.Marks = append(lower.Marks, m)
		m.S = ye.Length() - s
		m.At = ye.PointAt(m.S)
		yoke.Marks = append(yoke.Marks, m)
		seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: a.Piece, Mark: name}, {Piece: a.Name, Mark: name}})
	}
	for _, n := range y.marks {
		seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: a.Piece, Mark: n}, {Piece: a.Name, Mark: n}})
	}
	return seam
}

// cornerOf is where a line has its sharpest corner.
func cornerOf(p geom.Path) float64 {
	most, at, s := 0.0, 0.0, 0.0
	for i := 1; i < len(p); i++ {
		s += p[i-1].Length()
		if turn := degrees(p[i-1].Tangent(1), p[i].Tangent(0)); turn > most {
			most, at = turn, s
		}
	}
	return at
}

// centreFirst: the seam, walked along the lower part, begins at the centre.
func (a *yokeArgs) centreFirst(y *yoked) bool { return (y.at == 1) == y.upper }

// yokePleat is the box pleat of the lower part.
type yokePleat struct {
	f pleating
	r pleated
}

// fuller cuts the lower part wider at its centre.
func (a *yokeArgs) fuller(w *work, y *yoked) (*yokePleat, error) {
	lower := w.p.PieceNamed(a.Piece)
	if y.at < 0 {
		return nil, pattern.Fault{Rule: "no_centre", Pointer: "/fullness", Piece: a.Piece, Detail: "the line does not meet the centre of the piece, where fullness is added", Valid: "a line that begins or ends at the centre", Remedy: "end it there, name the centre edge, or leave the fullness out"}
	}
	c := lower.EdgeNamed(y.was.Edges[y.centre].Name)
	if c < 0 {
		return nil, pattern.Fault{Rule: "no_centre", Pointer: "/fullness", Piece: a.Piece, Detail: "nothing of the centre is left below the yoke", Remedy: "draw the line higher"}
	}
	n := len(lower.Edges)
	for _, k := range [2]int{(c + n - 1) % n, (c + 1) % n} {
		if e := lower.Edges[k].Name; e != a.Line && w.sewn(a.Piece, e) {
			return nil, pattern.Fault{Rule: "edge_sewn", Pointer: "/fullness", Piece: a.Piece, Edge: e, Detail: fmt.Sprintf("%s is sewn to something, which would no longer match", e), Valid: "an edge that is not sewn", Remedy: "give the piece its yoke before something is sewn to that edge"}
		}
	}
	if a.Into == "box_pleat" {
		return a.boxPleat(w, y, c)
	}
	if a.Gathers != nil && *a.Gathers > y.gather+pattern.Near {
		return nil, pattern.Fault{Rule: "no_room", Pointer: "/gathers", Piece: a.Piece, Edge: a.Line, Detail: fmt.Sprintf("the seam has room for gathers of only %.1f mm beside the centre", y.gather), Valid: fmt.Sprintf("20 to %.1f mm", y.gather), Remedy: "let the gathers reach less far"}
	}
	if err := widen(lower, c, a.Fullness, "/fullness"); err != nil {
		return nil, err
	}
	fitGrain(lower)
	w.p.Seams[len(w.p.Seams)-1].Drawn = a.Fullness
	return nil, nil
}

// boxPleat lays half a box pleat beside the fold: the panel over it is as wide on each side of the centre as the
// pleat is deep, so that its inner folds meet behind the centre.
func (a *yokeArgs) boxPleat(w *work, y *yoked, centre int) (*yokePleat, error) {
	lower := w.p.PieceNamed(a.Piece)
	hem, err := w.edge("/hem", lower, a.Hem)
	if err != nil {
		return nil, err
	}
	if !lower.Edges[centre].Fold {
		return nil, pattern.Fault{Rule: "no_fold", Pointer: "/into", Piece: a.Piece, Edge: lower.Edges[centre].Name, Detail: "half a box pleat is laid at a centre on the fold", Valid: "a centre on the fold, or gathers", Remedy: "cut the piece on the fold, or gather the fullness"}
	}
	deep := a.Fullness / 2
	was := lower.Clone()
	f := pleating{p: &was, top: []int{was.EdgeNamed(a.Line)}, hem: []int{hem}, x: y.up.Right(), o: was.Align, ptr: "/fullness", name: a.Line + "_pleat"}
	const hair = 1e-3 // mm: the line along the centre itself would cross nothing
	c := f.across(was.Edges[centre].Path.Start())
	if f.across(was.Outline().Bounds().Center()) < c {
		f.tucks = []tuck{{c - deep, true, deep - hair}}
	} else {
		f.tucks = []tuck{{c + deep, false, deep - hair}}
	}
	r, err := f.pleat()
	if err != nil {
		return nil, err
	}
	q := r.piece
	r.drawOn(&q, f.name, a.Piece+"_"+f.name)
	if err := w.replace(a.Piece, q); err != nil {
		return nil, blame(err, "/piece")
	}
	for _, s := range r.seams {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Piece + "_" + s[1]), Sew: []pattern.EdgeRef{{Piece: a.Piece, Edge: s[0]}}, To: []pattern.EdgeRef{{Piece: a.Piece, Edge: s[1], Against: true}}})
	}
	return &yokePleat{f, r}, nil
}
