package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// The neckline (TRADE 5) of a front and a back together. Both shoulders give up, or gain, the same
// length, so that they stay equal; where the neck meets the shoulder the two inner angles make a straight
// angle, so that the line runs on over the seam; at the centre it is square, unless it is a V.

type necklineArgs struct {
	Front         string   `arg:"front" kind:"name" default:"front" says:"The front."`
	Back          string   `arg:"back" kind:"name" default:"back" says:"The back."`
	Neck          string   `arg:"neck" kind:"name" default:"neck" says:"The neck edge of both."`
	Shoulder      string   `arg:"shoulder" kind:"name" default:"shoulder" says:"The shoulder edge of both."`
	Shape         string   `arg:"shape" kind:"choice" choices:"round,v,square,boat" default:"round" says:"The shape of the front neck."`
	BackShape     string   `arg:"back_shape" kind:"choice" choices:"round,v,square,boat" default:"round" says:"The shape of the back neck."`
	Lower         float64  `arg:"lower" kind:"length" min:"-80" max:"350" default:"0mm" says:"How far the front neck is lowered at the centre; less than nothing raises it."`
	LowerBack     float64  `arg:"lower_back" kind:"length" min:"-80" max:"400" default:"0mm" says:"How far the back neck is lowered at the centre; less than nothing raises it."`
	Widen         float64  `arg:"widen" kind:"length" min:"-40" max:"150" default:"0mm" says:"How far the neck is widened along both shoulders; less than nothing narrows it."`
	Fullness      float64  `arg:"fullness" kind:"share" min:"0.05" max:"0.95" says:"How full a round front neck is; left out, the fairest curve is drawn."`
	BackFullness  float64  `arg:"back_fullness" kind:"share" min:"0.05" max:"0.95" says:"The same for a round back neck."`
	ShoulderAngle *float64 `arg:"shoulder_angle" kind:"angle" min:"50" max:"130" says:"The angle between front neck and shoulder; the back has what is left to 180. Left out, it is square for a round or boat neck, and as the line asks for in a V or a square one."`
	Strips        string   `arg:"strips" kind:"choice" choices:"lengthen,remove" default:"lengthen" says:"What becomes of straight strips that are sewn to the neck, such as a binding: they follow its new length, or are left out."`
}

func defineNeckline() Definition {
	return Definition{
		Name:     "neckline",
		Sentence: "Draws a new neckline on front and back: lower or higher, wider, round, V, square or boat.",
		Promise:  "Both shoulders change by the same length; the line runs on smoothly over the shoulder seam and is square to the centre (a V excepted); everything below it stays as it was.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(50, 5), geom.Pt(50, 55))},
			{Outline, geom.Polyline(geom.Pt(26, 88), geom.Pt(5, 78))},
			{Outline, geom.Polyline(geom.Pt(74, 88), geom.Pt(95, 78))},
			{CutAway, geom.Path{geom.Cubic(geom.Pt(34, 92), geom.Pt(36, 78), geom.Pt(42, 72), geom.Pt(50, 72)), geom.Cubic(geom.Pt(50, 72), geom.Pt(58, 72), geom.Pt(64, 78), geom.Pt(66, 92))}},
			{New, geom.Path{geom.Cubic(geom.Pt(26, 88), geom.Pt(30, 65), geom.Pt(36, 55), geom.Pt(50, 55)), geom.Cubic(geom.Pt(50, 55), geom.Pt(64, 55), geom.Pt(70, 65), geom.Pt(74, 88))}},
		},
		fresh: func() args { return new(necklineArgs) },
	}
}

func (a *necklineArgs) check() pattern.Faults {
	if a.Front == a.Back {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/back", Detail: "neckline: front and back are the same piece", Remedy: "name one front and one back"}}
	}
	return nil
}

// newNeck is one side's new line as it is found.
type newNeck struct {
	neckSide
	ptr              string // of the argument that lowers it
	shape            string
	lower            float64
	fullness         float64
	centreAt, tip    geom.Point
	across, out, low geom.Vec // at the centre into the piece; along the shoulder from the neck; down the centre
	angle            float64  // between neck and shoulder, radians
	path             geom.Path
	was              pattern.Piece
	before           geom.Path
	shoulderWas      float64
}

func (a *necklineArgs) apply(w *work) error {
	sides, err := a.make(w)
	if err != nil {
		return err
	}
	a.tell(w, sides)
	return nil
}

// make gives both pieces their new neck.
func (a *necklineArgs) make(w *work) ([2]*newNeck, error) {
	sides := [2]*newNeck{{ptr: "/lower", shape: a.Shape, lower: a.Lower, fullness: a.Fullness}, {ptr: "/lower_back", shape: a.BackShape, lower: a.LowerBack, fullness: a.BackFullness}}
	names := [2]string{a.Front, a.Back}
	lens, err := w.neckSeams(names, a.Neck)
	if err != nil {
		return sides, err
	}
	if sides[0].neckSide, sides[1].neckSide, err = w.necksOf(a.Front, a.Back, a.Neck, a.Shoulder); err != nil {
		return sides, err
	}
	for i, n := range sides {
		ptr := [2]string{"/front", "/back"}[i]
		if err := n.alongCentre(ptr); err != nil {
			return sides, err
		}
		n.was = n.p.Clone()
		if err := n.grow(a); err != nil {
			return sides, err
		}
	}
	eases := w.easesByName()
	a.angles(sides[0], sides[1])
	for _, n := range sides {
		if err := n.draw(a); err != nil {
			return sides, err
		}
		q, err := n.cut(a)
		if err != nil {
			return sides, err
		}
		w.put(q)
		if n.shape != "square" {
			continue
		}
		// The corner of a square neck is a corner of the outline: two edges, each with its allowance.
		p := w.p.PieceNamed(q.Name)
		names := [2]string{a.Neck, a.Neck + "_side"}
		if !n.first {
			names[0], names[1] = names[1], names[0]
		}
		if err := w.splitEdge(p, p.EdgeNamed(a.Neck), n.path[0].Length(), names, a.Neck+"_corner"); err != nil {
			return sides, err
		}
	}
	if err := a.strips(w, lens); err != nil {
		return sides, err
	}
	return sides, w.seamsMatch("/shoulder", eases, "name a front and a back that are sewn together at that edge")
}

// grow finds the two ends of the new line, and lengthens centre and shoulder straight on to where it
// lies outside.
func (n *newNeck) grow(a *necklineArgs) error {
	const least = 10.0 // mm that must be left of a shoulder, and twice that of a centre
	p := &n.was
	c, s := p.Edges[n.centre].Path, p.Edges[n.shoulder].Path
	if most := c.Length() - 2*least; n.lower > most {
		return pattern.Fault{Rule: "out_of_range", Pointer: n.ptr, Piece: p.Name, Edge: p.Edges[n.centre].Name,
			Detail: fmt.Sprintf("lowered by %.1f mm the neck leaves too little of edge %s, which is %.1f mm long", n.lower, p.Edges[n.centre].Name, c.Length()),
			Valid:  fmt.Sprintf("-80 to %.1f mm", math.Max(0, most)), Remedy: "lower it less"}
	}
	if most := s.Length() - least; a.Widen > most {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/widen", Piece: p.Name, Edge: p.Edges[n.shoulder].Name,
			Detail: fmt.Sprintf("widened by %.1f mm the neck leaves too little of edge %s, which is %.1f mm long", a.Widen, p.Edges[n.shoulder].Name, s.Length()),
			Valid:  fmt.Sprintf("-40 to %.1f mm", math.Max(0, most)), Remedy: "widen it less"}
	}
	n.before, n.shoulderWas = p.Edges[n.neck].Path, s.Length()
	up, wide := math.Max(0, -n.lower), math.Max(0, -a.Widen)
	if n.first {
		c, s = runOut(c, 0, up), runOut(s, wide, 0)
	} else {
		c, s = runOut(c, up, 0), runOut(s, 0, wide)
	}
	for _, m := range []struct {
		edge  int
		path  geom.Path
		shift float64 // marks stay on their place
	}{{n.centre, c, up}, {n.shoulder, s, wide}} {
		p.Edges[m.edge].Path = m.path
		atStart := (m.edge == n.centre) != n.first
		for k := range p.Marks {
			if p.Marks[k].Edge == p.Edges[m.edge].Name && atStart {
				p.Marks[k].S += m.shift
			}
		}
	}
	sc, ss := math.Max(0, n.lower), math.Max(0, a.Widen)
	if n.first {
		sc = c.Length() - sc
		n.low = c.TangentAt(sc).Neg()
		n.across = c.TangentAt(sc).Left()
		n.out = s.TangentAt(ss)
		p.Edges[n.neck].Path = geom.Polyline(c.End(), s.Start())
	} else {
		ss = s.Length() - ss
		n.low = c.TangentAt(sc)
		n.across = c.TangentAt(sc).Left()
		n.out = s.TangentAt(ss).Neg()
		p.Edges[n.neck].Path = geom.Polyline(s.End(), c.Start())
	}
	n.centreAt, n.tip = c.PointAt(sc), s.PointAt(ss)
	if n.tip.Sub(n.centreAt).Dot(n.across) < 5 {
		return pattern.Fault{Rule: "neck_vanishes", Pointer: "/widen", Piece: p.Name, Edge: p.Edges[n.neck].Name,
			Detail: fmt.Sprintf("the neck of %s would be less than 5 mm wide a side", p.Name), Remedy: "narrow it less"}
	}
	return nil
}

// wish is the angle between neck and shoulder that a shape asks for by itself; 0 when it has none.
func (n *newNeck) wish() float64 {
	switch n.shape {
	case "v":
		return math.Abs(n.out.AngleTo(n.centreAt.Sub(n.tip)))
	case "square":
		return math.Abs(n.out.AngleTo(n.low))
	}
	return 0
}

// angles shares a straight angle between front and back.
func (a *necklineArgs) angles(f, b *newNeck) {
	f.angle = math.Pi / 2
	switch {
	case a.ShoulderAngle != nil:
		f.angle = *a.ShoulderAngle * math.Pi / 180
	case f.wish() > 0:
		f.angle = f.wish()
	case b.wish() > 0:
		f.angle = math.Pi - b.wish()
	}
	b.angle = math.Pi - f.angle
}

// inward is the direction in which the neck leaves the shoulder.
func (n *newNeck) inward() geom.Vec {
	if n.first {
		return n.out.Rotate(n.angle)
	}
	return n.out.Rotate(-n.angle)
}

// draw draws the line from the centre to the shoulder, and turns it to run with the outline.
func (n *newNeck) draw(a *necklineArgs) error {
	m := n.inward()
	refuse := func(detail, remedy string) error {
		return pattern.Fault{Rule: "no_neckline", Pointer: n.ptr, Piece: n.was.Name, Edge: a.Neck,
			Detail: fmt.Sprintf("the %s neckline of %s %s", n.shape, n.was.Name, detail), Remedy: remedy}
	}
	x, y, ok := meet(n.centreAt, n.across, n.tip, m)
	var p geom.Path
	switch n.shape {
	case "v":
		p = bend(n.tip, m, n.centreAt)
		if p == nil {
			return refuse("would turn by more than 60 degrees below the shoulder", "lower it more, or choose another shape or shoulder_angle")
		}
		p = p.Reverse()
	case "square", "boat":
		if !ok || x < 5 || y < 5 {
			return refuse("has no corner: square to the centre and along the shoulder's angle the two lines do not meet 5 mm inside", "lower it more, or choose another shape or shoulder_angle")
		}
		k := n.centreAt.Add(n.across.Unit().Mul(x))
		if n.shape == "square" {
			p = geom.Polyline(n.centreAt, k, n.tip)
			break
		}
		// A boat: straight across the middle, then up to the shoulder.
		const middle = 0.5
		h := n.centreAt.Lerp(k, middle)
		c, err := geom.Fair(h, n.across, n.tip, m.Neg(), geom.FairOptions{Fullness: n.fullness})
		if err != nil {
			return refuse("cannot be drawn fair", "lower it more, or choose another shoulder_angle")
		}
		p = append(geom.Polyline(n.centreAt, h), c...)
	default:
		c, err := geom.Fair(n.centreAt, n.across, n.tip, m.Neg(), geom.FairOptions{Fullness: n.fullness})
		if err != nil {
			return refuse("cannot be drawn without bending both ways", "lower it more, widen it less, or choose another shoulder_angle")
		}
		p = c
	}
	if !n.first {
		p = p.Reverse()
	}
	n.path = p
	return nil
}

// cut gives the piece its new neck. The edges keep their names and the corners theirs.
func (n *newNeck) cut(a *necklineArgs) (pattern.Piece, error) {
	p := &n.was
	was := p.Edges[n.neck]
	c, s := p.Edges[n.centre].Path, p.Edges[n.shoulder].Path
	cs, ss := math.Max(0, n.lower), math.Max(0, a.Widen)
	l := cutLine{path: n.path, edge: was.Name, src: was.Src, own: was.Own}
	var q pattern.Piece
	var err error
	if n.first {
		l.from, l.to = spot{n.centre, c.Length() - cs}, spot{n.shoulder, ss}
	} else {
		l.from, l.to = spot{n.shoulder, s.Length() - ss}, spot{n.centre, cs}
	}
	q, err = part(p, l.to, l.from, n.path, l, p.Name)
	if err != nil {
		return q, blame(err, n.ptr)
	}
	last := len(q.Edges) - 1
	e := &q.Edges[last]
	for _, r := range [2][2]string{{e.From, was.From}, {e.To, was.To}} {
		for k := range q.Edges {
			if q.Edges[k].From == r[0] {
				q.Edges[k].From = r[1]
			}
			if q.Edges[k].To == r[0] {
				q.Edges[k].To = r[1]
			}
		}
	}
	// Marks of the neck itself keep their share of it.
	old := n.before.Length()
	for _, m := range p.Marks {
		if m.Edge == was.Name && q.MarkNamed(m.Name) == nil {
			m.S *= e.Path.Length() / old
			m.At = e.Path.PointAt(m.S)
			q.Marks = append(q.Marks, m)
		}
	}
	n.p = &q
	// The outline begins where it did.
	for k := range q.Edges {
		if q.Edges[k].Name == p.Edges[0].Name {
			q.Edges = append(append([]pattern.Edge(nil), q.Edges[k:]...), q.Edges[:k]...)
			break
		}
	}
	return q, nil
}

// neckSeam is a seam over the neck, as it was sewn before.
type neckSeam struct {
	seam  int
	onTo  bool // the neck is the side that is sewn to
	other string
	ease  float64
}

// neckSeams finds what is sewn to the two necks.
func (w *work) neckSeams(names [2]string, neck string) ([]neckSeam, error) {
	eases, err := w.eases()
	if err != nil {
		return nil, err
	}
	var out []neckSeam
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for k, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			on := false
			for _, r := range refs {
				on = on || r.Edge == neck && (r.Piece == names[0] || r.Piece == names[1])
			}
			if on {
				other := s.To
				if k == 1 {
					other = s.Sew
				}
				out = append(out, neckSeam{i, k == 1, other[0].Piece, eases[i]})
			}
		}
	}
	return out, nil
}

// strips lets a straight strip follow the neck, or leaves it out; anything else has to come later.
func (a *necklineArgs) strips(w *work, seams []neckSeam) error {
	if a.Strips == "remove" {
		gone := map[string]bool{}
		for _, s := range seams {
			if s.other == a.Front || s.other == a.Back || gone[s.other] {
				continue
			}
			gone[s.other] = true
			if err := w.remove("/strips", s.other); err != nil {
				return err
			}
		}
		return nil
	}
	for _, ns := range seams {
		s := &w.p.Seams[ns.seam]
		neck, strip := s.Sew, s.To
		sign := -1.0
		if ns.onTo {
			neck, strip, sign = s.To, s.Sew, 1
		}
		c, err := inspect.Walk(&w.p, neck)
		if err != nil {
			return err
		}
		if len(strip) != 1 || !w.lengthenStrip(strip[0], c.Len+sign*ns.ease) {
			return pattern.Fault{Rule: "seam_broken", Pointer: "/strips", Piece: ns.other, Detail: fmt.Sprintf("seam %s sews %s to the neck, and would no longer match", s.Name, ns.other),
				Valid: "a straight strip with its two ends alike", Remedy: "change the neckline before " + ns.other + " is made, or leave it out with strips: remove"}
		}
		q := w.p.PieceNamed(strip[0].Piece)
		w.made = append(w.made, q.Name)
		to, err := inspect.Walk(&w.p, strip)
		if err != nil {
			return err
		}
		for _, n := range s.Notches {
			on, by := n[0], n[1]
			if ns.onTo {
				on, by = n[1], n[0]
			}
			at, ok := c.MarkAt(on.Piece, on.Mark)
			m := q.MarkNamed(by.Mark)
			if !ok || m == nil || m.Edge != strip[0].Edge {
				continue
			}
			m.S = at * to.Len / c.Len
			if strip[0].Against {
				m.S = to.Len - m.S
			}
			m.At = q.Edges[q.EdgeNamed(m.Edge)].Path.PointAt(m.S)
		}
	}
	return nil
}

// lengthenStrip makes a straight strip's edge as long as wanted, its opposite edge likewise; its ends and
// its grain keep their directions. It reports false for what is no such strip.
func (w *work) lengthenStrip(r pattern.EdgeRef, want float64) bool {
	p := w.p.PieceNamed(r.Piece)
	if p == nil || len(p.Edges) != 4 || !(want > 1) {
		return false
	}
	i := p.EdgeNamed(r.Edge)
	if i < 0 {
		return false
	}
	for k := range p.Edges {
		if !isStraight(p.Edges[k].Path) {
			return false
		}
	}
	e := p.Edges[i].Path
	u := e.StartTangent()
	opposite := p.Edges[(i+2)%4].Path
	if degrees(opposite.StartTangent(), u.Neg()) > 1e-3 {
		return false
	}
	by := want - e.Length()
	// The end that is not on the fold moves.
	far := e.End()
	if p.Edges[(i+1)%4].Fold {
		u, far = u.Neg(), e.Start()
	}
	mid := p.Outline().Bounds().Center()
	side := far.Sub(mid).Dot(u) / 4
	move := func(q geom.Point) geom.Point {
		if q.Sub(mid).Dot(u) > side {
			return q.Add(u.Mul(by))
		}
		return q
	}
	olds := make([]float64, 4)
	for k := range p.Edges {
		olds[k] = p.Edges[k].Path.Length()
		p.Edges[k].Path = geom.Polyline(move(p.Edges[k].Path.Start()), move(p.Edges[k].Path.End()))
	}
	for k := range p.Marks {
		m := &p.Marks[k]
		if j := p.EdgeNamed(m.Edge); j >= 0 {
			m.S *= p.Edges[j].Path.Length() / olds[j]
			m.At = p.Edges[j].Path.PointAt(m.S)
		} else {
			m.At = move(m.At)
		}
	}
	fitGrain(p)
	return true
}

// made is the new neck as it stands on the finished piece.
func (n *newNeck) made(q *pattern.Piece, neck string) geom.Path {
	p := q.Edges[q.EdgeNamed(neck)].Path
	if i := q.EdgeNamed(neck + "_side"); n.shape == "square" && i >= 0 {
		if n.first {
			return p.Join(q.Edges[i].Path)
		}
		return q.Edges[i].Path.Join(p)
	}
	return p
}

func (a *necklineArgs) tell(w *work, sides [2]*newNeck) {
	d := plan{d: Drawing{Title: fmt.Sprintf("Neckline, size %s", w.p.Size)}}
	total := 0.0
	var lost, inner [2]float64
	for i, n := range sides {
		q := w.p.PieceNamed(n.was.Name)
		neck := n.made(q, a.Neck)
		total += neck.Length()
		sh := q.Edges[q.EdgeNamed(a.Shoulder)].Path
		lost[i] = n.shoulderWas - sh.Length()
		c := q.Edges[q.EdgeNamed(n.was.Edges[n.centre].Name)].Path
		side, square, tip := [2]string{"front", "back"}[i], 0.0, geom.Point{}
		if n.first {
			inner[i] = inspect.Interior(neck, sh)
			square = degrees(c.EndTangent(), neck.StartTangent()) - 90
			tip = neck.End()
		} else {
			inner[i] = inspect.Interior(sh, neck)
			square = degrees(neck.EndTangent(), c.StartTangent()) - 90
			tip = neck.Start()
		}
		if n.shape != "v" {
			w.promise(inspect.Check{Rule: "neckline_square", Piece: q.Name, Place: a.Neck, Measured: square, Tolerance: 1, Unit: inspect.Degrees,
				Text: fmt.Sprintf("The neck of %s meets its centre square.", q.Name)})
		}
		at := neck.Start()
		from := n.before.Start()
		if !n.first {
			at, from = neck.End(), n.before.End()
		}
		w.promise(inspect.Check{Rule: "neckline_depth", Piece: q.Name, Place: n.was.Edges[n.centre].Name, Measured: at.Sub(from).Dot(n.low), Want: pattern.Range{Min: n.lower, Max: n.lower}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The neck of %s lies %.1f mm lower at the centre.", q.Name, at.Sub(from).Dot(n.low))})
		d.line(Outline, q.Name, n.was.Outline(), q.Name)
		if n.lower == 0 {
			d.step("On the %s the neck stays where it is at the centre.", side)
		} else {
			d.step("On the %s go %s %s from the neck along the centre line.", side, say(math.Abs(n.lower)), map[bool]string{true: "down", false: "up"}[n.lower > 0])
		}
		x, y := d.point(from, side+" neck, centre"), d.point(at, side+" new centre")
		if n.lower != 0 {
			d.measure(x, y, nil, "lowered")
		}
		if a.Widen == 0 {
			d.step("Along the %s shoulder the neck stays where it is.", side)
		} else {
			d.step("Along the %s shoulder go %s %s.", side, say(math.Abs(a.Widen)), map[bool]string{true: "out", false: "in"}[a.Widen > 0])
		}
		was := n.before.End()
		if !n.first {
			was = n.before.Start()
		}
		z, t := d.point(was, side+" neck, shoulder"), d.point(tip, side+" new shoulder")
		if a.Widen != 0 {
			d.measure(z, t, nil, "widened")
		}
		d.line(Construction, q.Name, geom.Polyline(at, at.Add(n.across.Mul(30))), "square to the centre")
		d.line(Construction, q.Name, geom.Polyline(tip, tip.Add(n.inward().Mul(30))), fmt.Sprintf("%.0f° to the shoulder", n.angle*180/math.Pi))
		d.step("Join the two by the %s line of the %s neck; it leaves the shoulder at %.0f°.", n.shape, side, n.angle*180/math.Pi)
		d.line(CutAway, q.Name, n.before, "old neck")
		d.line(New, q.Name, neck, a.Neck)
		d.measure(y, t, neck, side+" neck")
	}
	w.promise(inspect.Check{Rule: "neckline_shoulders", Piece: a.Front, Place: a.Shoulder, Measured: lost[0] - lost[1], Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The front shoulder gives up %.2f mm, the back shoulder %.2f mm.", lost[0], lost[1])})
	w.promise(inspect.Check{Rule: "neckline_runs_on", Piece: a.Front, Place: a.Neck, Measured: (inner[0] + inner[1] - math.Pi) * 180 / math.Pi, Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("Front neck and back neck make %.1f and %.1f degrees with the shoulder: the line runs on over the seam.", inner[0]*180/math.Pi, inner[1]*180/math.Pi)})
	w.res.Drawing = d.d
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{a.Front, a.Back},
		Text:    fmt.Sprintf("Stay-stitch the neck just inside its seam line as soon as it is cut, so that it does not stretch: it is to stay %.0f mm long from centre front to centre back (%.0f mm in all).", total, 2*total),
		Amounts: []Amount{{"neck, half", total}, {"neck, whole", 2 * total}}})
}
