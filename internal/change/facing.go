package change

import (
	"errors"
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A facing (TRADE 5) is what lies between an edge of a piece and its true parallel inside: the same curve, the
// same marks, the same fold. It is cut again and sewn to the edge it was taken from. Facings of
// neighbouring pieces are sewn together as the pieces are, or joined there into one.

type facingArgs struct {
	Along       []pattern.EdgeRef `arg:"along" kind:"edges" must:"yes" says:"The edges that are faced, as piece.edge; edges of one piece must follow each other."`
	Width       float64           `arg:"width" kind:"length" min:"10" max:"300" default:"60mm" says:"How wide the facing is."`
	Name        string            `arg:"name" kind:"name" default:"facing" says:"What it is called: each piece's facing is the piece's name with this; a joined one has this name alone."`
	Join        bool              `arg:"join" kind:"flag" default:"false" says:"Whether facings of neighbouring pieces are joined into one where the pieces are sewn together."`
	Cloth       string            `arg:"cloth" kind:"name" default:"main" says:"The cloth it is cut from."`
	Finish      float64           `arg:"finish" kind:"length" min:"0" max:"20" default:"0mm" says:"What is turned under along its inner edge; nothing where that edge is overlocked or bound."`
	Interfacing bool              `arg:"interfacing" kind:"flag" default:"false" says:"Whether it is cut from interfacing, too, without allowances."`
	InsteadOf   []string          `arg:"instead_of" kind:"names" says:"Pieces that it takes the place of, such as a binding; they and their seams are left out."`
}

func defineFacing() Definition {
	return Definition{
		Name:     "facing",
		Sentence: "Makes a facing: a strip of even width that follows edges of one or several pieces, with their marks.",
		Promise:  "Its inner edge is a true parallel to 0.1 mm; its outer edge is the edge that it is sewn to; all marks are copied.",
		Sketch: []Stroke{
			{Outline, geom.Path{geom.Line(geom.Pt(50, 5), geom.Pt(50, 50)), geom.Cubic(geom.Pt(50, 50), geom.Pt(30, 50), geom.Pt(24, 70), geom.Pt(22, 88)), geom.Line(geom.Pt(22, 88), geom.Pt(4, 80))}},
			{New, geom.Path{geom.Line(geom.Pt(50, 35), geom.Pt(50, 50)), geom.Cubic(geom.Pt(50, 50), geom.Pt(30, 50), geom.Pt(24, 70), geom.Pt(22, 88)), geom.Line(geom.Pt(22, 88), geom.Pt(8, 82)), geom.Cubic(geom.Pt(8, 82), geom.Pt(12, 58), geom.Pt(24, 35), geom.Pt(50, 35))}},
		},
		fresh: func() args { return new(facingArgs) },
	}
}

// faced is the facing of one piece.
type faced struct {
	piece string   // faced piece
	edges []string // of it, in outline order
	inner string   // the name of the facing's inner edge
	line  cutLine
	led   float64 // how far an end was led off the parallel
	q     pattern.Piece
	own   []string // the edges of q that are sewn to edges
}

func (a *facingArgs) apply(w *work) error {
	if err := w.insteadOf(a.InsteadOf); err != nil {
		return err
	}
	var all []*faced
	for i, r := range a.Along {
		ptr := fmt.Sprintf("/along/%d", i)
		p, err := w.piece(ptr, r.Piece)
		if err != nil {
			return err
		}
		if _, err := w.edge(ptr, p, r.Edge); err != nil {
			return err
		}
		var f *faced
		for _, o := range all {
			if o.piece == r.Piece {
				f = o
			}
		}
		if f == nil {
			f = &faced{piece: r.Piece}
			all = append(all, f)
		}
		f.edges = append(f.edges, r.Edge)
	}
	for _, f := range all {
		if err := a.cut(w, f); err != nil {
			return err
		}
	}
	ends := a.ends(w, all)
	for _, e := range ends {
		if err := a.level(w, all, e); err != nil {
			return err
		}
	}
	a.draw(w, all)
	if a.Join {
		return a.joined(w, all, ends)
	}
	for _, f := range all {
		if err := a.lay(w, f.q, []*faced{f}); err != nil {
			return err
		}
	}
	for _, e := range ends {
		a.sewEnds(w, all[e.a].q.Name, all[e.b].q.Name, e)
	}
	return nil
}

// sewEnds sews two ends of facings as their pieces are sewn.
func (a *facingArgs) sewEnds(w *work, x, y string, e facedEnd) {
	s := pattern.Seam{Name: w.seamFree(e.seam.Name + "_" + a.Name), Sew: []pattern.EdgeRef{{Piece: x, Edge: e.ea, Against: e.seam.Sew[0].Against}}, To: []pattern.EdgeRef{{Piece: y, Edge: e.eb, Against: e.seam.To[0].Against}}}
	w.p.Seams = append(w.p.Seams, s)
	la, lb := edgeLength(w.p.PieceNamed(x), e.ea), edgeLength(w.p.PieceNamed(y), e.eb)
	w.promise(inspect.Check{Rule: "facing_ends", Piece: x, Place: e.ea, Measured: la - lb, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Where %s is sewn to %s, their ends are %.2f mm and %.2f mm long.", x, y, la, lb)})
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{x, y}, Amounts: []Amount{{"facing seam", la}},
		Text: fmt.Sprintf("Right sides together, sew %s to %s (%.0f mm), trim the allowances and press them open.", x, y, la)})
}

func edgeLength(p *pattern.Piece, edge string) float64 {
	if i := p.EdgeNamed(edge); i >= 0 {
		return p.Edges[i].Path.Length()
	}
	return 0
}

// order puts the edges of a piece in outline order and refuses a gap between them. It gives the first
// one's index.
func (f *faced) order(p *pattern.Piece) (int, error) {
	n := len(p.Edges)
	in := func(i int) bool {
		for _, e := range f.edges {
			if p.Edges[(i+n)%n].Name == e {
				return true
			}
		}
		return false
	}
	first, starts := -1, 0
	for i := range p.Edges {
		if in(i) && !in(i-1) {
			first = i
			starts++
		}
	}
	if starts != 1 || len(f.edges) > n-2 {
		return 0, pattern.Fault{Rule: "not_beside", Pointer: "/along", Piece: p.Name, Edge: f.edges[0],
			Detail: fmt.Sprintf("the edges %v of piece %q do not follow each other, or go all the way round", f.edges, p.Name),
			Valid:  pattern.Choices(p.EdgeNames()), Remedy: "name edges that follow each other, and leave at least two free"}
	}
	for k := range f.edges {
		f.edges[k] = p.Edges[(first+k)%n].Name
	}
	return first, nil
}

// chain is the faced line.
func (f *faced) chain(p *pattern.Piece) geom.Path {
	var c geom.Path
	for _, e := range f.edges {
		c = append(c, p.Edges[p.EdgeNamed(e)].Path...)
	}
	return c
}

// cut finds the parallel inside the piece and takes the facing out.
func (a *facingArgs) cut(w *work, f *faced) error {
	p := w.p.PieceNamed(f.piece)
	first, err := f.order(p)
	if err != nil {
		return err
	}
	n, k := len(p.Edges), len(f.edges)
	chain := f.chain(p)
	par, err := inner(chain, a.Width)
	if err != nil {
		return a.tooWide(p, f, err)
	}
	// The parallel ends where it meets the rest of the outline: on either side of its middle.
	var rest geom.Path
	for i := k; i < n; i++ {
		rest = append(rest, p.Edges[(first+i)%n].Path...)
	}
	mid, _ := par.Project(chain.PointAt(chain.Length() / 2))
	lo, hi := -1.0, math.Inf(1)
	var from, to spot
	for _, x := range geom.Intersect(par, rest, 1e-6) {
		at := spotAt(p, p.EdgeStart((first+k)%n)+x.T)
		if x.S <= mid && x.S > lo {
			lo, from = x.S, at
		}
		if x.S > mid && x.S < hi {
			hi, to = x.S, at
		}
	}
	if lo < 0 || math.IsInf(hi, 1) || hi-lo < 2 {
		return a.tooWide(p, f, nil)
	}
	own := &pattern.Allowance{Width: a.Finish}
	if a.Finish > 0 {
		own.Turned = 1
	}
	f.line = cutLine{from: from, to: to, path: par.Sub(lo, hi), edge: a.Name + "_edge", own: own}
	return f.take(w, a)
}

// inner is the true parallel at a distance to the left of a line that is run straight on at both ends.
func inner(chain geom.Path, by float64) (geom.Path, error) {
	far := 3*by + 20
	return parallelIn(runOut(chain, far, far), by)
}

func (a *facingArgs) tooWide(p *pattern.Piece, f *faced, err error) error {
	why := "its parallel does not run from one side of the piece to the other"
	switch {
	case errors.Is(err, offset.ErrVanished), errors.Is(err, offset.ErrTight):
		why = "the edge bends more tightly than that"
	case errors.Is(err, offset.ErrFallsApart):
		why = "the parallel falls into several parts"
	}
	return pattern.Fault{Rule: "no_parallel", Pointer: "/width", Piece: p.Name, Edge: f.edges[0],
		Detail: fmt.Sprintf("a facing of %s cannot follow %v of piece %q: %s", say(a.Width), f.edges, p.Name, why), Remedy: "make it narrower, or face fewer edges"}
}

// take cuts the facing out along its line.
func (f *faced) take(w *work, a *facingArgs) error {
	p := w.p.PieceNamed(f.piece)
	q, err := rightOf(p, f.line, f.piece+"_"+a.Name)
	if err != nil {
		return blame(err, "/along")
	}
	q.Title, q.Cut.Cloth = q.Title+" "+spoken(a.Name), a.Cloth
	q.Adds = new(0.0) // it is turned in
	for i := range q.Edges {
		q.Edges[i].Src = pattern.Source{Piece: q.Name, Edge: q.Edges[i].Name, S1: q.Edges[i].Path.Length()}
	}
	f.inner, f.q, f.own = q.Edges[len(q.Edges)-1].Name, q, append([]string(nil), f.edges...)
	return nil
}

// facedEnd is where two facings meet: the seam of their pieces, and what is left of its edges.
type facedEnd struct {
	a, b   int
	ea, eb string
	seam   pattern.Seam
}

// ends finds the seams between faced pieces that the facings take in.
func (a *facingArgs) ends(w *work, all []*faced) []facedEnd {
	has := func(f *faced, e string) bool {
		for _, o := range f.edges {
			if o == e {
				return false
			}
		}
		return f.q.EdgeNamed(e) >= 0
	}
	var out []facedEnd
	for _, s := range w.p.Seams {
		if len(s.Sew) != 1 || len(s.To) != 1 {
			continue
		}
		for i, x := range all {
			for k, y := range all {
				if x.piece == s.Sew[0].Piece && y.piece == s.To[0].Piece && i != k && has(x, s.Sew[0].Edge) && has(y, s.To[0].Edge) {
					out = append(out, facedEnd{i, k, s.Sew[0].Edge, s.To[0].Edge, s})
				}
			}
		}
	}
	return out
}

// level makes two ends that are sewn together equally long: where the faced edges meet the seam at angles that
// are not square, two true parallels may come out a little apart. The second one's last stretch is led
// to where the first one ends.
func (a *facingArgs) level(w *work, all []*faced, e facedEnd) error {
	const (
		same = 1e-6
		most = 5.0
		hand = 40.0
	)
	x, y := all[e.a], all[e.b]
	d := edgeLength(&x.q, e.ea) - edgeLength(&y.q, e.eb)
	if math.Abs(d) <= same {
		return nil
	}
	p := w.p.PieceNamed(y.piece)
	if math.Abs(d) > most {
		return pattern.Fault{Rule: "ends_differ", Pointer: "/width", Piece: y.piece, Edge: e.eb,
			Detail: fmt.Sprintf("where %s is sewn to %s, their facings would be %.1f mm and %.1f mm long", x.piece, y.piece, edgeLength(&x.q, e.ea), edgeLength(&y.q, e.eb)),
			Valid:  fmt.Sprintf("a difference of at most %g mm", most), Remedy: "true the edges so that they run on over the seam, or make the facing narrower"}
	}
	l := &y.line
	start := p.Edges[l.from.edge].Name == e.eb && y.q.Edges[0].Name == e.eb
	path := l.path
	if start {
		path = path.Reverse()
	}
	at := l.to
	if start {
		at = l.from
		at.s -= d
	} else {
		at.s += d
	}
	if at.s < 0 || at.s > p.Edges[at.edge].Path.Length() {
		return a.tooWide(p, y, nil)
	}
	keep, last := path.Split(math.Max(path.Length()/2, path.Length()-hand))
	last = reEnd(last, geom.Vec{}, 0, at.at(p).Sub(path.End()), 0)
	path = keep.Join(last)
	if start {
		path, l.from = path.Reverse(), at
	} else {
		l.to = at
	}
	l.path, y.led = path, math.Max(y.led, math.Abs(d))
	return y.take(w, a)
}

// lay puts a facing beside the pieces, sews it on, and tells about it.
func (a *facingArgs) lay(w *work, q pattern.Piece, fs []*faced) error {
	if err := w.addPiece("/name", q); err != nil {
		return err
	}
	total := 0.0
	for _, f := range fs {
		p := w.p.PieceNamed(f.piece)
		s := pattern.Seam{Name: w.seamFree(f.piece + "_" + a.Name)}
		off, lost := 0.0, 0
		for i, e := range f.edges {
			s.Sew = append(s.Sew, pattern.EdgeRef{Piece: q.Name, Edge: f.own[i]})
			s.To = append(s.To, pattern.EdgeRef{Piece: p.Name, Edge: e})
			l := edgeLength(p, e)
			total += l
			off = math.Max(off, math.Abs(edgeLength(&q, f.own[i])-l))
		}
		sew, err1 := inspect.Walk(&w.p, s.Sew)
		to, err2 := inspect.Walk(&w.p, s.To)
		if err1 != nil {
			return err1
		}
		if err2 != nil {
			return err2
		}
		for _, m := range p.Marks {
			x, on := to.MarkAt(p.Name, m.Name)
			if !on {
				continue
			}
			y, copied := sew.MarkAt(q.Name, m.Name)
			if !copied || math.Abs(x-y) > 0.1 {
				lost++
			} else if m.Kind == pattern.Notch {
				s.Notches = append(s.Notches, [2]pattern.MarkRef{{Piece: q.Name, Mark: m.Name}, {Piece: p.Name, Mark: m.Name}})
			}
		}
		w.p.Seams = append(w.p.Seams, s)
		w.promise(inspect.Check{Rule: "facing_edge", Piece: q.Name, Place: s.Name, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The edges of %s and of %s that are sewn together are equal to %.3f mm.", q.Name, p.Name, off)})
		w.promise(inspect.Check{Rule: "facing_width", Piece: q.Name, Place: f.inner, Measured: f.unparallel(&q, a.Width), Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The inner edge of the facing of %s is a true parallel at %s.", p.Name, say(a.Width))})
		w.promise(inspect.Check{Rule: "facing_marks", Piece: q.Name, Place: "marks", Measured: float64(lost), Unit: inspect.Count,
			Text: fmt.Sprintf("Every mark along the faced edges of %s is on its facing, at the same place.", p.Name)})
	}
	first := fs[0]
	text := fmt.Sprintf("Right sides together, sew %s to the edge (%.0f mm), matching notches; grade and clip the allowances, turn the facing inside, under-stitch and press.", q.Name, total)
	if a.Finish > 0 {
		text = fmt.Sprintf("Turn under %s along the inner edge of %s and stitch. ", say(a.Finish), q.Name) + text
	} else {
		text = fmt.Sprintf("Neaten the inner edge of %s. ", q.Name) + text
	}
	amounts := []Amount{{"faced edge", total}, {"width", a.Width}}
	if a.Interfacing {
		c := q.Clone()
		c.Name = q.Name + "_interfacing"
		c.Title, c.Cut.Cloth = q.Title+" interfacing", "interfacing"
		for i := range c.Edges {
			c.Edges[i].Own = &pattern.Allowance{}
			c.Edges[i].Src.Piece = c.Name
		}
		for i := range c.Marks {
			c.Marks[i].Match = ""
		}
		if err := w.addPiece("/interfacing", c); err != nil {
			return err
		}
		text = fmt.Sprintf("Fuse the interfacing to the wrong side of %s. ", q.Name) + text
		if len(w.res.Notions) == 0 {
			w.res.Notions = append(w.res.Notions, "interfacing")
		}
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: []string{q.Name, first.piece}, Text: text, Amounts: amounts})
	return nil
}

// unparallel measures the finished facing: its inner edge against its own faced edges.
func (f *faced) unparallel(q *pattern.Piece, width float64) float64 {
	var own geom.Path
	for _, e := range f.own {
		own = append(own, q.Edges[q.EdgeNamed(e)].Path...)
	}
	return unparallel(own, q.Edges[q.EdgeNamed(f.inner)].Path, width, f.led)
}

// unparallel is how far a line is from lying at a distance from another, measured at points every few
// millimetres: where the nearest point of the other, run straight on at its ends, is one of its own and no
// corner. What the last stretches were led to meet a neighbour is allowed there.
func unparallel(chain, par geom.Path, want, led float64) float64 {
	const hand = 45.0
	far := 3*want + 20
	ext := runOut(chain, far, far)
	var corners []float64
	at := far
	for i := range chain {
		if i > 0 && degrees(chain[i-1].Tangent(1), chain[i].Tangent(0)) > 0.5 {
			corners = append(corners, at)
		}
		at += chain[i].Length()
	}
	worst, l := 0.0, par.Length()
	n := int(math.Max(8, math.Min(120, l/3)))
	for i := 0; i <= n; i++ {
		s := l * float64(i) / float64(n)
		q, d := ext.Project(par.PointAt(s))
		on := q > far && q < at
		for _, c := range corners {
			on = on && math.Abs(q-c) > 1e-3
		}
		if !on {
			continue
		}
		off := math.Abs(d - want)
		if math.Min(s, l-s) < hand {
			off = math.Max(0, off-led)
		}
		worst = math.Max(worst, off)
	}
	return worst
}

// joined lays neighbouring facings together at the seams of their pieces and joins them.
func (a *facingArgs) joined(w *work, all []*faced, ends []facedEnd) error {
	if len(ends) == 0 {
		return pattern.Fault{Rule: "nothing_to_join", Pointer: "/join", Piece: all[0].piece, Detail: "no seam joins the faced pieces beside the faced edges",
			Remedy: "name edges of two pieces that meet at a seam, or leave join out"}
	}
	group := make([]int, len(all)) // which facing each has become part of
	for i := range group {
		group[i] = i
	}
	var ring []int
	for k := range ends {
		e := ends[k]
		x, y := group[e.a], group[e.b]
		if x == y {
			ring = append(ring, k) // sewn, as the pieces are: a ring cannot be cut
			continue
		}
		q, names, err := joinAt(&all[x].q, &all[y].q, e.ea, e.eb)
		if err != nil {
			return err
		}
		all[x].q = q
		for i := range all {
			if group[i] != y {
				continue
			}
			for k := range all[i].own {
				all[i].own[k] = names[all[i].own[k]]
			}
			all[i].inner = names[all[i].inner]
			for k := range ends {
				if ends[k].a == i {
					ends[k].ea = names[ends[k].ea]
				}
				if ends[k].b == i {
					ends[k].eb = names[ends[k].eb]
				}
			}
			group[i] = x
		}
	}
	alone := true
	called := map[int]string{}
	for i := range all {
		if group[i] != i {
			continue
		}
		var fs []*faced
		for k := range all {
			if group[k] == i {
				fs = append(fs, all[k])
			}
		}
		q := all[i].q
		if len(fs) > 1 && alone && w.p.PieceNamed(a.Name) == nil {
			alone = false
			q.Name, q.Title, q.Of = a.Name, title(a.Name), a.Name
			for k := range q.Edges {
				q.Edges[k].Src.Piece = q.Name
			}
		}
		called[i] = q.Name
		if err := a.lay(w, q, fs); err != nil {
			return err
		}
	}
	for _, k := range ring {
		a.sewEnds(w, called[group[ends[k].a]], called[group[ends[k].b]], ends[k])
	}
	return nil
}

func (a *facingArgs) draw(w *work, all []*faced) {
	d := plan{d: Drawing{Title: fmt.Sprintf("Facing of %s, size %s", say(a.Width), w.p.Size)}}
	for _, f := range all {
		p := w.p.PieceNamed(f.piece)
		c := f.chain(p)
		d.line(Outline, p.Name, p.Outline(), p.Name)
		d.step("On %s measure %s square to the edge at many places.", p.Name, say(a.Width))
		for i := 1; i <= 3; i++ {
			s := c.Length() * float64(i) / 4
			x := c.PointAt(s)
			y := x.Add(c.TangentAt(s).Left().Mul(a.Width))
			d.line(Construction, p.Name, geom.Polyline(x, y), "")
			d.measure(d.point(x, "edge"), d.point(y, "inner edge"), nil, "width")
		}
		d.step("Join the points by a smooth line to the two sides; trace the strip off with all its marks.")
		d.line(New, f.q.Name, f.line.path, f.inner)
	}
	if a.Join {
		d.step("Lay the strips together at their seams and trace them as one.")
	}
	w.res.Drawing = d.d
}
