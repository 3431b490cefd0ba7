package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// An opening lets a garment be put on: a stretch of a seam, from its upper end, that is closed by a zip, bound as a
// placket or left as a slit. Where the edge lies on the fold, a zip makes a seam of it; a slit or placket is cut into
// the fold.

type openingArgs struct {
	Piece  string   `arg:"piece" kind:"name" must:"yes" says:"The piece that is opened."`
	Edge   string   `arg:"edge" kind:"name" must:"yes" says:"The edge along which it opens: one that is sewn, or lies on the fold."`
	From   string   `arg:"from" kind:"name" default:"upper_end" says:"The corner at which it begins; upper_end is the end of the edge that lies higher."`
	Length float64  `arg:"length" kind:"length" min:"20" max:"1500" must:"yes" says:"How long it is, measured along the seam line from there."`
	How    string   `arg:"how" kind:"choice" choices:"zip,placket,slit" default:"zip" says:"How it is closed: by a zip, by a bound placket with press studs, or not, as a slit with a hook and eye."`
	Width  *float64 `arg:"width" kind:"length" min:"15" max:"120" says:"How wide the strip is that binds a placket, or a slit in a fold; left out, 50 mm for a placket and 25 mm for a slit."`
	Name   string   `arg:"name" kind:"name" default:"opening" says:"What its notch is called; a strip that binds it has _strip after it."`
}

func defineOpening() Definition {
	return Definition{
		Name:     "opening",
		Sentence: "Opens a seam, or a fold, from one end for a zip, a placket or a slit, so that the garment can be put on.",
		Promise:  "The notch where it stops lies at the stated length from its beginning on both sides, to 0.1 mm; the outline stays as it was.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Line(geom.Pt(15, 5), geom.Pt(85, 5)), geom.Line(geom.Pt(85, 5), geom.Pt(78, 90)), geom.Cubic(geom.Pt(78, 90), geom.Pt(60, 86), geom.Pt(40, 86), geom.Pt(15, 88)), geom.Line(geom.Pt(15, 88), geom.Pt(15, 5))}},
			{New, geom.Polyline(geom.Pt(18, 86), geom.Pt(18, 46))},
			{New, geom.Polyline(geom.Pt(10, 46), geom.Pt(22, 46))},
		},
		fresh: func() args { return new(openingArgs) },
	}
}

// zips are the lengths that zips are sold in, mm (common practice).
var zips = []float64{100, 120, 150, 180, 200, 220, 250, 300, 350, 400, 450, 500, 550, 600, 650, 700, 750, 800, 900, 1000}

// openSeam is what is found of an opening.
type openSeam struct {
	piece, edge string
	atStart     bool // it begins at the start of the edge, as the outline runs
	fold        bool
	seamed      bool // the fold was made a seam
	seam        string
	sides       [2][]pattern.EdgeRef // both sides walked from where it begins
	marks       [2]pattern.MarkRef
	centre      bool // both sides are the same edge, of the two halves
	strip       float64
}

func (a *openingArgs) apply(w *work) error {
	o, err := a.find(w)
	if err != nil {
		return err
	}
	if o.fold && a.How == "zip" {
		a.sewFold(w, o)
	}
	if err := a.mark(w, o); err != nil {
		return err
	}
	p := w.p.PieceNamed(o.piece)
	i := p.EdgeNamed(o.edge)
	l := p.Edges[i].Path.Length()
	from, to := 0.0, a.Length
	if !o.atStart {
		from, to = l, l-a.Length
	}
	w.p.Openings = append(w.p.Openings, pattern.Opening{Src: subSource(p.Edges[i].Src, from, to, l)})
	if err := a.bind(w, o); err != nil {
		return err
	}
	a.promises(w, o)
	a.tell(w, o)
	a.draw(w, o)
	return nil
}

// find finds the edge, the end that the opening begins at and what is sewn there.
func (a *openingArgs) find(w *work) (*openSeam, error) {
	const clear = 10.0 // mm that the notch keeps from the edge's other end
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return nil, err
	}
	i, err := w.edge("/edge", p, a.Edge)
	if err != nil {
		return nil, err
	}
	e := &p.Edges[i]
	o := &openSeam{piece: p.Name, edge: e.Name, fold: e.Fold}
	switch a.From {
	case e.From:
		o.atStart = true
	case e.To:
	case "upper_end":
		o.atStart = e.Path.Start().Y > e.Path.End().Y
	default:
		return nil, pattern.Fault{Rule: "unknown_end", Pointer: "/from", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s of piece %q does not end at %q", e.Name, p.Name, a.From),
			Valid: pattern.Choices([]string{e.From, e.To, "upper_end"}), Remedy: "begin at one of its two ends"}
	}
	if p.IsLeg(e.Name) {
		return nil, pattern.Fault{Rule: "dart_leg", Pointer: "/edge", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s of piece %q is the leg of a dart", e.Name, p.Name), Remedy: "name the edge of a seam"}
	}
	if l := e.Path.Length(); a.Length > l-clear {
		return nil, pattern.Fault{Rule: "out_of_range", Pointer: "/length", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("an opening of %s does not fit on edge %s of piece %q, which is %.1f mm long", say(a.Length), e.Name, p.Name, l),
			Valid: fmt.Sprintf("20 to %.1f mm", math.Max(20, l-clear)), Remedy: "make it shorter"}
	}
	for _, x := range w.p.Openings {
		for _, f := range x.Find(&w.p) {
			if f.Piece.Name == p.Name && f.Edge == i && (f.AtStart == o.atStart || f.Length+a.Length > e.Path.Length()) {
				return nil, pattern.Fault{Rule: "opened_twice", Pointer: "/edge", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s of piece %q opens there already, by %.1f mm", e.Name, p.Name, f.Length), Remedy: "leave one of the two openings out"}
			}
		}
	}
	return o, a.sides(w, p, o)
}

// sides finds the two sides of the seam that is opened, each walked from where the opening begins.
func (a *openingArgs) sides(w *work, p *pattern.Piece, o *openSeam) error {
	own := pattern.EdgeRef{Piece: p.Name, Edge: o.edge, Against: !o.atStart}
	if o.fold {
		o.centre = true
		o.sides = [2][]pattern.EdgeRef{{own}, {own}}
		return nil
	}
	for k := range w.p.Seams {
		s := &w.p.Seams[k]
		for side, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			for n, r := range refs {
				if r.Piece != p.Name || r.Edge != o.edge {
					continue
				}
				if s.Cap || s.Gathers {
					return pattern.Fault{Rule: "wrong_seam", Pointer: "/edge", Piece: p.Name, Edge: o.edge, Detail: fmt.Sprintf("seam %s sets in a sleeve or is gathered, and can't be opened", s.Name), Remedy: "open another seam"}
				}
				mine, other := walkFrom(refs, r.Against != own.Against), walkFrom([2][]pattern.EdgeRef{s.To, s.Sew}[side], r.Against != own.Against)
				if at := n; at != 0 && r.Against == own.Against || at != len(refs)-1 && r.Against != own.Against {
					return pattern.Fault{Rule: "inside_seam", Pointer: "/from", Piece: p.Name, Edge: o.edge, Detail: fmt.Sprintf("edge %s of piece %q begins inside seam %s, not at its end", o.edge, p.Name, s.Name),
						Valid: "an end of the seam", Remedy: "begin where the seam does"}
				}
				o.seam, o.sides = s.Name, [2][]pattern.EdgeRef{mine, other}
				o.centre = len(other) == 1 && other[0].Piece == p.Name && other[0].Edge == o.edge
				return nil
			}
		}
	}
	if p.Cut.Pair {
		// Two halves that nothing has sewn together yet: this change does.
		o.centre, o.sides = true, [2][]pattern.EdgeRef{{own}, {own}}
		a.sewHalves(w, o)
		return nil
	}
	return pattern.Fault{Rule: "edge_free", Pointer: "/edge", Piece: p.Name, Edge: o.edge, Detail: fmt.Sprintf("edge %s of piece %q is not sewn to anything, and does not lie on the fold", o.edge, p.Name), Remedy: "name the edge of a seam"}
}

// walkFrom walks a side of a seam as it is listed, or from its other end.
func walkFrom(refs []pattern.EdgeRef, back bool) []pattern.EdgeRef {
	out := append([]pattern.EdgeRef(nil), refs...)
	if back {
		for i, r := range refs {
			r.Against = !r.Against
			out[len(refs)-1-i] = r
		}
	}
	return out
}

// sewHalves sews an edge of a mirrored pair to that of the other half.
func (a *openingArgs) sewHalves(w *work, o *openSeam) {
	o.seam = w.seamFree(o.edge)
	w.p.Seams = append(w.p.Seams, pattern.Seam{Name: o.seam, Sew: o.sides[0], To: o.sides[1]})
}

// sewFold makes a seam of a fold: the piece is cut as a mirrored pair.
func (a *openingArgs) sewFold(w *work, o *openSeam) {
	q := w.p.PieceNamed(o.piece).Clone()
	q.Edges[q.EdgeNamed(o.edge)].Fold = false
	q.Cut.Count, q.Cut.Pair = 2*q.Cut.Count, true
	w.put(q)
	o.seamed = true
	a.sewHalves(w, o)
}

// mark puts a notch where the opening stops on both sides; on a fold, which has no allowance, a dot.
func (a *openingArgs) mark(w *work, o *openSeam) error {
	kind, count := pattern.Notch, 1
	if o.fold && !o.seamed {
		kind, count = pattern.Dot, 0
	}
	for k, refs := range o.sides {
		if k == 1 && o.centre {
			o.marks[1] = o.marks[0]
			break
		}
		c, err := inspect.Walk(&w.p, refs)
		if err != nil {
			return err
		}
		p, e, s := onChain(c, a.Length)
		if p == nil || a.Length > c.Len {
			return pattern.Fault{Rule: "out_of_range", Pointer: "/length", Piece: o.piece, Edge: o.edge, Detail: fmt.Sprintf("the other side of the seam is only %.1f mm long", c.Len), Valid: fmt.Sprintf("20 to %.1f mm", c.Len), Remedy: "make it shorter"}
		}
		name := free(a.Name+"_end", knows(p))
		p.Marks = append(p.Marks, pattern.Mark{Kind: kind, Count: count, Name: name, Edge: p.Edges[e].Name, S: s, At: p.Edges[e].Path.PointAt(s)})
		w.made = append(w.made, p.Name)
		o.marks[k] = pattern.MarkRef{Piece: p.Name, Mark: name}
	}
	if o.centre {
		return nil
	}
	for k := range w.p.Seams {
		if s := &w.p.Seams[k]; s.Name == o.seam {
			pair := o.marks
			if !sameChain(s.Sew, o.sides[0]) {
				pair[0], pair[1] = pair[1], pair[0]
			}
			s.Notches = append(s.Notches, pair)
		}
	}
	return nil
}

// spoken is a name of the document as people read it.
func spoken(name string) string { return strings.ReplaceAll(name, "_", " ") }

// sameChain: both name the same edges.
func sameChain(a, b []pattern.EdgeRef) bool {
	has := func(r pattern.EdgeRef) bool {
		for _, x := range b {
			if x.Piece == r.Piece && x.Edge == r.Edge {
				return true
			}
		}
		return false
	}
	for _, r := range a {
		if !has(r) {
			return false
		}
	}
	return true
}

// bind cuts the strip that a placket, or a slit in the fold, is bound with.
func (a *openingArgs) bind(w *work, o *openSeam) error {
	if a.How == "zip" || a.How == "slit" && !o.fold {
		return nil
	}
	const spare = 20.0 // mm to be cut off at its ends
	wide, on := 25.0, "bias strip"
	if a.How == "placket" {
		wide, on = 50, "placket strip"
	}
	if a.Width != nil {
		wide = *a.Width
	}
	o.strip = 2*a.Length + spare
	name := a.Name + "_strip"
	q := newPiece(name, title(a.Name)+" "+on, pattern.Cut{Count: 1, Cloth: "main"},
		pattern.Edge{Name: "stitched", From: "begin_low", Path: geom.Polyline(geom.Pt(0, 0), geom.Pt(o.strip, 0)), Own: &pattern.Allowance{}},
		pattern.Edge{Name: "end", From: "end_low", Path: geom.Polyline(geom.Pt(o.strip, 0), geom.Pt(o.strip, wide)), Own: &pattern.Allowance{}},
		pattern.Edge{Name: "folded", From: "end_high", Path: geom.Polyline(geom.Pt(o.strip, wide), geom.Pt(0, wide)), Own: &pattern.Allowance{}},
		pattern.Edge{Name: "begin", From: "begin_high", Path: geom.Polyline(geom.Pt(0, wide), geom.Pt(0, 0)), Own: &pattern.Allowance{}})
	mid, along := geom.Pt(o.strip/2, wide/2), geom.Vec{X: 0.35 * o.strip}
	if a.How == "slit" {
		along = geom.Vec{X: 0.35 * wide, Y: 0.35 * wide}
	}
	q.Grain = [2]geom.Point{mid.Add(along.Neg()), mid.Add(along)}
	return w.addPiece("/name", q)
}

func (a *openingArgs) promises(w *work, o *openSeam) {
	for k, refs := range o.sides {
		if k == 1 && o.centre {
			break
		}
		at := math.NaN()
		if c, err := inspect.Walk(&w.p, refs); err == nil {
			if x, ok := c.MarkAt(o.marks[k].Piece, o.marks[k].Mark); ok {
				at = x
			}
		}
		w.promise(inspect.Check{Rule: "opening_length", Piece: o.marks[k].Piece, Place: o.marks[k].Mark, Measured: at - a.Length, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The opening on %s is marked %.2f mm from where it begins; %s are asked for.", o.marks[k].Piece, at, say(a.Length))})
	}
	// Two parts that were cut along one line have it from the same place: each of them opens by the length.
	open := 0.0
	for _, f := range w.p.Openings[len(w.p.Openings)-1].Find(&w.p) {
		if f.Piece.Name == o.piece && f.Piece.Edges[f.Edge].Name == o.edge {
			open += f.Length
		}
	}
	w.promise(inspect.Check{Rule: "opening_there", Piece: o.piece, Place: o.edge, Measured: open - a.Length, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Edge %s of %s opens by %.1f mm.", o.edge, o.piece, open)})
}

func (a *openingArgs) tell(w *work, o *openSeam) {
	p := w.p.PieceNamed(o.piece)
	begin := "its lower end"
	if e := p.Edges[p.EdgeNamed(o.edge)].Path; (e.Start().Y > e.End().Y) == o.atStart {
		begin = "its upper end"
	}
	where := fmt.Sprintf("the %s of %s", spoken(o.edge), o.piece)
	if !o.centre {
		where += ", on the left side only"
	}
	pieces := []string{o.piece}
	amounts := []Amount{{"opening", a.Length}}
	add := func(st Stage, text string, tellsSeam bool) {
		s := Step{Stage: st, Pieces: pieces, Text: text, Amounts: amounts}
		if tellsSeam {
			s.Seams = []string{o.seam}
		}
		w.res.Steps = append(w.res.Steps, s)
	}
	sew := fmt.Sprintf("Leave the seam open along %s, from %s to the notch, %s", where, begin, say(a.Length))
	if o.seamed || o.centre && !o.fold {
		sew = fmt.Sprintf("Right sides together, sew the two halves of %s along the %s, from the notch on; the first %s from %s stay open", o.piece, spoken(o.edge), say(a.Length), begin)
	}
	switch a.How {
	case "zip":
		zip := zips[len(zips)-1]
		for i := len(zips) - 1; i >= 0 && zips[i] >= a.Length-1e-9; i-- {
			zip = zips[i]
		}
		sold := fmt.Sprintf("zip, %g cm", zip/10)
		if zip > a.Length+1e-9 {
			sold += fmt.Sprintf(", shortened to the opening of %g mm", math.Round(a.Length))
		}
		if zip < a.Length {
			sold = fmt.Sprintf("zip by the metre, %g mm", math.Round(a.Length))
		}
		w.res.Notions = append(w.res.Notions, sold, "hook and eye")
		add(Prepare, sew+"; close that stretch with large basting stitches; "+NeatenOpen+".", o.centre)
		add(Collar, fmt.Sprintf("Lay the closed zip face down on the basted stretch of %s, its teeth on the seam, its stop at the notch; baste and sew it 6 to 7 mm from the teeth on both sides and across below the stop. Take the basting out. Leave a lining open there, too, and sew it to the tape by hand. Sew a hook and eye above the zip when its upper end is finished.", where), false)
	case "placket":
		w.res.Notions = append(w.res.Notions, fmt.Sprintf("%d press studs", max(2, int(math.Round(a.Length/60)))))
		cut := sew + "."
		if o.fold {
			cut = fmt.Sprintf("Cut %s open along the fold, from %s to the dot, %s.", o.piece, begin, say(a.Length))
		}
		add(Prepare, cut+fmt.Sprintf(" Pull the opening straight and sew %s_strip along it (%.0f mm and a little at the ends) right sides together, 5 mm from the edge; turn the strip's other edge under, fold it over and stitch it down. Sew press studs to it when the upper end is finished.", a.Name, 2*a.Length), o.centre && !o.fold)
	default:
		w.res.Notions = append(w.res.Notions, "hook and eye")
		if o.fold {
			add(Prepare, fmt.Sprintf("Cut %s open along the fold, from %s to the dot, %s, and bind the slit with %s_strip. Sew a hook and eye to its upper end when that is finished.", o.piece, begin, say(a.Length), a.Name), false)
		} else {
			add(Prepare, sew+"; press the allowances back and stitch them down on both sides and across at the notch. Sew a hook and eye to its upper end when that is finished.", o.centre)
		}
	}
}

func (a *openingArgs) draw(w *work, o *openSeam) {
	d := plan{d: Drawing{Title: fmt.Sprintf("Opening of %s, size %s", say(a.Length), w.p.Size)}}
	for k, m := range o.marks {
		if k == 1 && o.centre {
			break
		}
		p := w.p.PieceNamed(m.Piece)
		d.line(Outline, p.Name, p.Outline(), p.Name)
		c, err := inspect.Walk(&w.p, o.sides[k])
		if err != nil {
			continue
		}
		l := c.Links[0]
		e := l.Piece.Edges[l.Edge].Path
		if l.Against {
			e = e.Reverse()
		}
		d.step("On %s measure %s along the %s from its end and mark the place where the opening stops.", p.Name, say(a.Length), spoken(l.Piece.Edges[l.Edge].Name))
		x, y := d.point(e.Start(), "begins"), d.point(p.MarkNamed(m.Mark).At, "stops")
		var along geom.Path
		if e.Length() >= a.Length {
			along = e.Sub(0, a.Length)
			d.line(New, p.Name, along, "opening")
		}
		d.measure(x, y, along, "opening")
	}
	if o.strip > 0 {
		d.step("Cut a strip %.0f mm long to bind it: twice its length, and 20 mm.", o.strip)
	}
	if o.seamed {
		d.step("The fold becomes a seam: cut %s twice, with an allowance there.", o.piece)
	}
	w.res.Drawing = d.d
}
