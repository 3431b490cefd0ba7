package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// The petal sleeve (TRADE 4.1): a short set-in sleeve cut into two halves that overlap at the cap and
// sweep apart to the hem. The back half is what lies on the back side of a curve that runs from a point
// of the front cap to a point of the hem near the back underarm; the front half is the same, mirrored,
// and is made just so: the sleeve is mirrored, its back half made, and that mirrored back.

// petalArgs are its parameters. Where a value may be given for each half, "back" is the half that
// keeps the back underarm; its curve begins on the front cap.
type petalArgs struct {
	Piece       string  `arg:"piece" kind:"name" default:"sleeve" says:"The sleeve that is cut into two halves."`
	CapShare    Each    `arg:"cap_share" kind:"share" min:"0.05" max:"0.95" default:"0.5" says:"How far down the cap a half's curve begins: the share of the way along the cap from the crown dot to the dot (or, without a dot, the notch) of the other half."`
	CapAlong    *Each   `arg:"cap_along" kind:"length" min:"10" max:"600" says:"Instead of cap_share: how far from the crown, along the cap, a half's curve begins."`
	HemIn       Each    `arg:"hem_in" kind:"length" min:"5" max:"1000" default:"2in" says:"How far in from a half's own underarm, along the hem, its curve runs into the hem."`
	Fullness    *Each   `arg:"fullness" kind:"share" min:"0.05" max:"0.95" says:"How full the curve is: 0.05 cuts the corner short, 0.95 goes almost into it; left out, the fairest curve is drawn."`
	Inflection  bool    `arg:"inflection" kind:"flag" default:"false" says:"Whether the curve may bend both ways."`
	Top         string  `arg:"top" kind:"choice" choices:"back,front" default:"back" says:"Which half lies on top where they overlap."`
	Match       string  `arg:"match" kind:"choice" choices:"squares,notches" default:"squares" says:"How the overlap is marked near each of its ends."`
	MatchIn     float64 `arg:"match_in" kind:"length" min:"6" max:"200" default:"20mm" says:"How far from each end of the overlap, along the cap, it is marked."`
	MatchInside float64 `arg:"match_inside" kind:"length" min:"0" max:"60" default:"5/8in" says:"How far inside the cut edge a match square lies."`
	Hem         string  `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the sleeve."`
	Narrow      float64 `arg:"narrow_hem" kind:"length" min:"4" max:"40" default:"12.7mm" says:"The allowance of the narrow hem, turned twice, on the curved edge and the hem that it runs into."`
	Crown       string  `arg:"crown" kind:"name" default:"crown" says:"The dot at the crown."`
	BackMark    string  `arg:"back_mark" kind:"name" says:"The dot or notch of the back cap that cap_share is measured to; left out, the dot nearest to the crown, or the notch."`
	FrontMark   string  `arg:"front_mark" kind:"name" says:"The same on the front cap."`
}

func definePetal() Definition {
	return Definition{
		Name:     "petal",
		Sentence: "Cuts a short set-in sleeve into two halves that overlap at the cap and sweep apart to the hem, like petals.",
		Promise:  "Laid together by their marks, the halves give back the cap of the plain sleeve to 0.1 mm; both carry the crown dot; seams still match.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Cubic(geom.Pt(95, 50), geom.Pt(80, 52), geom.Pt(75, 95), geom.Pt(50, 95)), geom.Cubic(geom.Pt(50, 95), geom.Pt(25, 95), geom.Pt(20, 52), geom.Pt(5, 50))}},
			{Outline, geom.Polyline(geom.Pt(5, 50), geom.Pt(9, 8), geom.Pt(25, 8))},
			{Outline, geom.Polyline(geom.Pt(75, 8), geom.Pt(91, 8), geom.Pt(95, 50))},
			{CutAway, geom.Polyline(geom.Pt(25, 8), geom.Pt(75, 8))},
			{New, geom.Path{geom.Cubic(geom.Pt(69, 84), geom.Pt(69, 36), geom.Pt(52, 8), geom.Pt(25, 8))}},
			{New, geom.Path{geom.Cubic(geom.Pt(31, 84), geom.Pt(31, 36), geom.Pt(48, 8), geom.Pt(75, 8))}},
		},
		fresh: func() args { return new(petalArgs) },
	}
}

// half is what is found for one half on the sleeve, turned so that the half is the back one.
type half struct {
	side   string // "back", "front"
	mark   string // the mark of the other half's cap
	hem    int
	cut    cutLine
	along  float64 // crown to the cap point
	whole  float64 // crown to the mark
	hemLen float64
	hemIn  float64
	edge   string // what the curve is called on the half: petal, unless the sleeve has a petal already
}

func (a *petalArgs) apply(w *work) error {
	plain, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	for _, n := range []string{"_back", "_front"} {
		if w.p.PieceNamed(a.Piece+n) != nil {
			return pattern.Fault{Rule: "name_taken", Pointer: "/piece", Piece: a.Piece + n, Detail: fmt.Sprintf("there is a piece %q already", a.Piece+n), Remedy: "cut this sleeve before that piece is made"}
		}
	}
	was := plain.Clone()
	if was.MarkNamed(a.Crown) == nil {
		var dots []string
		for _, m := range was.Marks {
			dots = append(dots, m.Name)
		}
		return pattern.Fault{Rule: "unknown_point", Pointer: "/crown", Piece: was.Name, Detail: fmt.Sprintf("piece %q has no mark %q, by which its halves are laid together", was.Name, a.Crown),
			Valid: pattern.Choices(dots), Remedy: "name the dot at the top of the cap"}
	}
	axis := was.Grain[1].Sub(was.Grain[0])
	if axis.Len() < 1e-6 {
		return pattern.Fault{Rule: "no_grain", Pointer: "/piece", Piece: was.Name, Detail: fmt.Sprintf("piece %q has no grain line, so nothing tells which way is down", was.Name), Remedy: "give it a grain line"}
	}
	over := func(p pattern.Piece) pattern.Piece { return mirror(p, was.Align, axis) }
	flipped := over(was)
	back, err := a.find(w, &was, "back", a.FrontMark)
	if err != nil {
		return err
	}
	front, err := a.find(w, &flipped, "front", a.BackMark)
	if err != nil {
		return err
	}
	// The match marks are put on the plain sleeve, so that the halves carry the same ones.
	if err := a.matchMarks(&was, back, "front"); err != nil {
		return err
	}
	if err := a.matchMarks(&flipped, front, "back"); err != nil {
		return err
	}
	unflipped := over(flipped)
	for _, m := range unflipped.Marks {
		if was.MarkNamed(m.Name) == nil {
			was.Marks = append(was.Marks, m)
		}
	}
	flipped = over(was)
	own := &pattern.Allowance{Width: a.Narrow, Turned: 2}
	back.cut.own, front.cut.own = own, own
	b, err := a.cutHalf(&was, &back, a.Piece+"_back")
	if err != nil {
		return err
	}
	f, err := a.cutHalf(&flipped, &front, a.Piece+"_front")
	if err != nil {
		return err
	}
	f = over(f)
	curve := &f.Edges[f.EdgeNamed(front.edge)]
	curve.Src = pattern.Source{Piece: f.Name, Edge: curve.Name, S1: curve.Path.Length()}
	titles := func(q *pattern.Piece, side string) {
		if q.Title != "" {
			q.Title += ", " + side + " half"
		}
	}
	titles(&b, "back")
	titles(&f, "front")
	if err := w.replace(a.Piece, b, f); err != nil {
		return err
	}
	front = front.back(over)
	a.promises(w, &was, &b, &f, back, front)
	a.steps(w, &b, &f, back, front)
	a.drawing(w, &was, &b, &f, back, front)
	return nil
}

// back turns what was found on the mirrored sleeve back over; only what is drawn or measured later.
func (h half) back(over func(pattern.Piece) pattern.Piece) half {
	p := over(pattern.Piece{Edges: []pattern.Edge{{Path: h.cut.path}}, Grain: [2]geom.Point{{Y: 1}, {}}})
	h.cut.path = p.Edges[0].Path.Reverse()
	return h
}

// find places a half's curve on a sleeve on which the half is the back one: the outline, counter-
// clockwise, runs over the hem from back to front, up, and over the cap from front to back.
func (a *petalArgs) find(w *work, p *pattern.Piece, side, mark string) (half, error) {
	h := half{side: side, mark: mark}
	crown, err := w.spotOf("/crown", p, pattern.Place{Point: a.Crown})
	if err != nil {
		return h, blame(err, "/crown")
	}
	if h.hem, err = w.edge("/hem", p, a.Hem); err != nil {
		return h, err
	}
	other := map[string]string{"back": "front", "front": "back"}[side]
	c := crown.outlinePos(p)
	reach := capReach(p, c, h.hem)
	if err := a.sideMark(p, &h, other, c, reach); err != nil {
		return h, err
	}
	pick := func(e Each) float64 {
		if side == "back" {
			return e.Back
		}
		return e.Front
	}
	h.along = pick(a.CapShare) * h.whole
	if a.CapAlong != nil {
		h.along = pick(*a.CapAlong)
		if h.along > reach-pattern.MinEdge-10 {
			return h, pattern.Fault{Rule: "out_of_range", Pointer: "/cap_along", Piece: p.Name,
				Detail: fmt.Sprintf("%s half: %.1f mm from the crown is past the %s cap, which is %.1f mm long", side, h.along, other, reach),
				Valid:  fmt.Sprintf("10 to %.1f mm", reach-10), Remedy: "begin the curve nearer to the crown"}
		}
	}
	if h.along < a.MatchIn+5 {
		return h, pattern.Fault{Rule: "overlap_too_short", Pointer: "/match_in", Piece: p.Name,
			Detail: fmt.Sprintf("%s half: its curve begins %.1f mm from the crown, so that it cannot be marked %.1f mm from there with 5 mm to spare", side, h.along, a.MatchIn),
			Valid:  fmt.Sprintf("6 to %.1f mm", h.along-5), Remedy: "mark the overlap nearer to its ends, or begin the curve further from the crown"}
	}
	h.hemIn = pick(a.HemIn)
	h.hemLen = p.Edges[h.hem].Path.Length()
	if h.hemIn > h.hemLen-1 {
		return h, pattern.Fault{Rule: "out_of_range", Pointer: "/hem_in", Piece: p.Name, Edge: a.Hem,
			Detail: fmt.Sprintf("%s half: %.1f mm in from the underarm is past the hem, which is %.1f mm long", side, h.hemIn, h.hemLen),
			Valid:  fmt.Sprintf("5 to %.1f mm", h.hemLen-1), Remedy: "run into the hem nearer to the underarm"}
	}
	from, to := spotAt(p, c-h.along), spot{h.hem, h.hemIn}
	l := styleLine{from: from, to: to, leave: down(p, crown.at(p)), arrive: p.Edges[h.hem].Path.TangentAt(h.hemIn).Neg(), inflection: a.Inflection, ptr: "/cap_share"}
	if a.CapAlong != nil {
		l.ptr = "/cap_along"
	}
	if a.Fullness != nil {
		l.fullness = pick(*a.Fullness)
	}
	line, err := w.draw(p, l)
	if err != nil {
		return h, onHalf(err, side)
	}
	h.cut = cutLine{from: from, to: to, path: line, edge: "petal"}
	return h, nil
}

// blame puts a fault that has a pointer of its own under the argument that asked.
func blame(err error, ptr string) error {
	fs := pattern.FaultsOf(err)
	for i := range fs {
		fs[i].Pointer = ptr
	}
	return fs
}

func onHalf(err error, side string) error {
	fs := append(pattern.Faults(nil), pattern.FaultsOf(err)...)
	for i := range fs {
		fs[i].Detail = side + " half: " + fs[i].Detail
	}
	return fs
}

// down is the direction of the grain that leads from the crown to the hem's side of the piece.
func down(p *pattern.Piece, crown geom.Point) geom.Vec {
	d := p.Grain[1].Sub(p.Grain[0]).Unit()
	if p.Outline().Bounds().Center().Sub(crown).Dot(d) < 0 {
		return d.Neg()
	}
	return d
}

// capReach is how far the cap reaches back along the outline from the crown: to the first corner.
func capReach(p *pattern.Piece, c float64, hem int) float64 {
	const corner = 15 // degrees
	l := p.Length()
	best := math.Mod(c-p.EdgeStart(hem)-p.Edges[hem].Path.Length()+2*l, l)
	n := len(p.Edges)
	for i := range p.Edges {
		in, out := p.Edges[(i+n-1)%n].Path, p.Edges[i].Path
		if degrees(in.EndTangent(), out.StartTangent()) < corner {
			continue
		}
		if d := math.Mod(c-p.EdgeStart(i)+2*l, l); d > 1 && d < best {
			best = d
		}
	}
	return best
}

// sideMark finds the mark of the other half's cap and how far from the crown it lies.
func (a *petalArgs) sideMark(p *pattern.Piece, h *half, other string, c, reach float64) error {
	l := p.Length()
	var names []string
	best := math.Inf(1)
	bestDot := false
	for i := range p.Marks {
		m := &p.Marks[i]
		e := p.EdgeNamed(m.Edge)
		if e < 0 || m.Name == a.Crown || m.Kind == pattern.Square {
			continue
		}
		d := math.Mod(c-p.EdgeStart(e)-m.S+2*l, l)
		if d <= 1 || d > reach+pattern.Near {
			continue
		}
		names = append(names, m.Name)
		if h.mark != "" {
			if m.Name == h.mark {
				best = d
			}
			continue
		}
		dot := m.Kind == pattern.Dot
		if dot && !bestDot || dot == bestDot && d < best {
			best, bestDot = d, dot
			h.whole = d
		}
	}
	if math.IsInf(best, 1) {
		if a.CapAlong != nil && h.mark == "" {
			return nil
		}
		f := pattern.Fault{Rule: "unknown_mark", Pointer: "/" + other + "_mark", Piece: p.Name, Detail: fmt.Sprintf("the %s cap of %q has no dot or notch to measure to", other, p.Name),
			Valid: pattern.Choices(names), Remedy: "put a dot on the cap, or give cap_along"}
		if h.mark != "" {
			f.Detail = fmt.Sprintf("the %s cap of %q has no mark %q", other, p.Name, h.mark)
			f.Remedy = pattern.Suggest(h.mark, names)
		}
		return f
	}
	h.whole = best
	if h.mark == "" {
		for i := range p.Marks {
			m := &p.Marks[i]
			if e := p.EdgeNamed(m.Edge); e >= 0 && m.Name != a.Crown && math.Abs(math.Mod(c-p.EdgeStart(e)-m.S+2*l, l)-best) < 1e-9 && (m.Kind == pattern.Dot) == bestDot {
				h.mark = m.Name
			}
		}
	}
	return nil
}

// matchMarks marks the overlap near the end where a half's curve begins.
func (a *petalArgs) matchMarks(p *pattern.Piece, h half, cap string) error {
	at := spotAt(p, h.cut.from.outlinePos(p)+a.MatchIn)
	m := pattern.Mark{Kind: pattern.Square, Name: free("overlap_"+cap, knows(p)), Edge: p.Edges[at.edge].Name, S: at.s, At: at.at(p), Inside: a.MatchInside, Match: a.Piece + "_overlap_" + cap}
	if a.Match == "notches" {
		m.Kind, m.Count, m.Inside = pattern.Notch, 1, 0
	}
	p.Marks = append(p.Marks, m)
	return nil
}

// cutHalf keeps the back side of the curve. The stub of the hem that the curve runs into is turned with
// it: one narrow hem goes round.
func (a *petalArgs) cutHalf(p *pattern.Piece, h *half, name string) (pattern.Piece, error) {
	q, err := rightOf(p, h.cut, name)
	if err != nil {
		return q, blame(err, "/cap_share")
	}
	h.edge = q.Edges[len(q.Edges)-1].Name
	if i := q.EdgeNamed(a.Hem); i >= 0 {
		q.Edges[i].Own = h.cut.own
	}
	return q, nil
}

func (a *petalArgs) check() pattern.Faults {
	if a.BackMark != "" && a.BackMark == a.FrontMark {
		return pattern.Faults{{Rule: "given_twice", Pointer: "/front_mark", Detail: "petal: back_mark and front_mark are the same mark", Remedy: "name one mark on each half of the cap"}}
	}
	return nil
}
