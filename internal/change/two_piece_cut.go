package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// cut cuts the sleeve along both seams and shapes the parts towards the hem. Each part's side is leant over from the
// biceps line down and keeps its length, so that what is sewn to each other stays equal.
func (a *twoPieceArgs) cut(w *work, s *twoPiece) (upper, back, front pattern.Piece, err error) {
	p := &s.was
	parts := func(q *pattern.Piece, line geom.Path, edge, left, right string) (l, r pattern.Piece, err error) {
		ends := [2]spot{}
		for i, x := range [2]geom.Point{line.Start(), line.End()} {
			e, at, _, _ := q.Nearest(x)
			ends[i] = spot{e, at}
		}
		c := cutLine{from: ends[0], to: ends[1], path: line, edge: edge}
		if l, err = leftOf(q, c, left); err == nil {
			r, err = rightOf(q, c, right)
		}
		if err != nil {
			err = blame(err, "/"+edge)
		}
		return l, r, err
	}
	lower := free(a.Under+"_front", func(n string) bool { return w.p.PieceNamed(n) != nil })
	front, rest, err := parts(p, s.forearm, "forearm", lower, a.Upper)
	if err != nil {
		return
	}
	upper, back, err = parts(&rest, s.hindarm, "hindarm", a.Upper, a.Under)
	if err != nil {
		return
	}
	if err = a.shape(&upper, s, a.HindarmOut/2, a.ForearmOut/2); err != nil {
		return
	}
	if err = a.shape(&back, s, 0, a.HindarmOut/2); err != nil {
		return
	}
	err = a.shape(&front, s, a.ForearmOut/2, 0)
	return
}

// shape brings the hem's left end in by l and its right end by r.
func (a *twoPieceArgs) shape(p *pattern.Piece, s *twoPiece, l, r float64) error {
	const (
		narrowest = 20.0 // mm of hem
		most      = 0.2  // of its length that a seam may lean over: more is no shaping but another sleeve
	)
	if l == 0 && r == 0 {
		return nil
	}
	n := len(p.Edges)
	t := tube{p: p, hem: p.EdgeNamed(a.Hem), up: s.t.up}
	t.left, t.right = (t.hem+n-1)%n, (t.hem+1)%n
	was := p.Clone()
	in := t.up.Right()
	wide := func(q *pattern.Piece) float64 {
		return q.Edges[t.right].Path.Start().Sub(q.Edges[t.left].Path.End()).Dot(in)
	}
	for _, side := range []struct {
		i  int
		by float64
		in geom.Vec
	}{{t.left, l, in}, {t.right, r, in.Neg()}} {
		if side.by == 0 {
			continue
		}
		path := p.Edges[side.i].Path
		if side.i == t.right {
			path = path.Reverse()
		}
		from := s.foreLevel
		if p.Edges[side.i].Name == "hindarm" {
			from = s.hindLevel
		}
		var low geom.Path
		long := path.Length() - from
		if side.by <= most*long {
			low = drawnIn(path.Sub(from, path.Length()), side.in.Mul(side.by), t.up)
		}
		if low == nil {
			return pattern.Fault{Rule: "out_of_range", Pointer: "/" + p.Edges[side.i].Name + "_out", Piece: a.Piece, Detail: fmt.Sprintf("the %s seam, %.1f mm long below the biceps line, cannot lean over by %.1f mm", p.Edges[side.i].Name, long, side.by),
				Valid: fmt.Sprintf("up to %.1f mm", 2*most*long), Remedy: "take less out, or lengthen the sleeve first"}
		}
		path = path.Sub(0, from).Join(closeTo(low, path.PointAt(from), low.End()))
		if side.i == t.right {
			path = path.Reverse()
		}
		p.Edges[side.i].Path = path
	}
	if d := wide(p); d < narrowest {
		ptr := "/hindarm_out"
		if p.Edges[t.left].Name == "forearm" || l < r {
			ptr = "/forearm_out"
		}
		return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: a.Piece, Edge: a.Hem, Detail: fmt.Sprintf("the hem of a part, %.1f mm wide, would be %.1f mm wide", wide(&was), d), Valid: fmt.Sprintf("at least %g mm", narrowest), Remedy: "take less out, or set the seam further under"}
	}
	p.Edges[t.hem].Path = hemBetween(&was, p, &t, in, wide(p)/wide(&was))
	t.carryAll(&was, t.sway(&was))
	return nil
}

// join lays the two lower parts together at the underarm seam, which goes.
func (a *twoPieceArgs) join(w *work, s *twoPiece, back, front *pattern.Piece) (pattern.Piece, error) {
	under, names, err := joinAt(back, front, s.backSide, s.front)
	if err != nil {
		return under, blame(err, "/piece")
	}
	// What came from the sleeve still tells so.
	for i := range front.Edges {
		if k := under.EdgeNamed(names[front.Edges[i].Name]); k >= 0 {
			under.Edges[k].Src = front.Edges[i].Src
		}
	}
	var pieces []pattern.Piece
	for _, p := range w.p.Pieces {
		switch p.Name {
		case back.Name:
			pieces = append(pieces, under)
		case front.Name:
		default:
			pieces = append(pieces, p)
		}
	}
	w.p.Pieces = pieces
	made := w.made[:0]
	for _, n := range w.made {
		if n != front.Name {
			made = append(made, n)
		}
	}
	w.made = made
	var seams []pattern.Seam
	for _, m := range w.p.Seams {
		gone := false
		for _, refs := range [2][]pattern.EdgeRef{m.Sew, m.To} {
			for i := range refs {
				r := &refs[i]
				gone = gone || r.Piece == back.Name && r.Edge == s.backSide
				if r.Piece == front.Name {
					r.Piece, r.Edge = under.Name, names[r.Edge]
				}
			}
		}
		for i := range m.Notches {
			for k := range m.Notches[i] {
				if m.Notches[i][k].Piece == front.Name {
					m.Notches[i][k].Piece = under.Name
				}
			}
		}
		if !gone {
			seams = append(seams, m)
		}
	}
	w.p.Seams = seams
	before := under.Outline().Area()
	if err := a.smoothArmhole(&under, s, names); err != nil {
		return under, err
	}
	under = a.oneHem(&under, names[a.Hem])
	s.redrawn = under.Outline().Area() - before
	return under, nil
}

// smoothArmhole bends the line that the cap has over the underarm, where sides that were drawn straight leave a corner
// in it. The cap keeps its length, so that what lies beyond moves by some tenths of a millimetre: the forearm seam as
// it is, the hem drawn on to it.
func (a *twoPieceArgs) smoothArmhole(q *pattern.Piece, s *twoPiece, names map[string]string) error {
	const (
		least  = 0.2  // degrees: smooth already
		corner = 40.0 // degrees: meant
		reach  = 50.0 // mm
	)
	i, k, f := q.EdgeNamed(s.was.Edges[s.t.cap.last].Name), q.EdgeNamed(names[s.was.Edges[s.t.cap.first].Name]), q.EdgeNamed("forearm")
	if i < 0 || k != (i+1)%len(q.Edges) || f != (k+1)%len(q.Edges) {
		return nil
	}
	x, y := q.Edges[i].Path, q.Edges[k].Path
	if d := degrees(x.EndTangent(), y.StartTangent()); d < least || d > corner {
		return nil
	}
	lx, ly := x.Length(), y.Length()
	line, err := bendJoint(x, y, math.Min(reach, math.Min(lx, ly)/2))
	if err != nil {
		return pattern.Fault{Rule: "no_fair_curve", Pointer: "/piece", Piece: a.Piece, Edge: q.Edges[i].Name, Detail: "the armhole line of the under sleeve cannot be drawn smooth over the underarm", Remedy: "draw the sides of the sleeve more upright"}
	}
	q.Edges[i].Path, q.Edges[k].Path = line.Split(lx * line.Length() / (lx + ly))
	e, hem := &q.Edges[f], &q.Edges[(f+1)%len(q.Edges)]
	d := q.Edges[k].Path.End().Sub(e.Path.Start())
	e.Path = e.Path.Transform(geom.Translate(d))
	e.Path = closeTo(e.Path, q.Edges[k].Path.End(), e.Path.End())
	hem.Path = closeTo(reEnd(hem.Path, d, 0, geom.Vec{}, 0), e.Path.End(), hem.Path.End())
	for j := range q.Marks {
		m := &q.Marks[j]
		if n := q.EdgeNamed(m.Edge); n >= 0 {
			m.S = math.Min(m.S, q.Edges[n].Path.Length())
			m.At = q.Edges[n].Path.PointAt(m.S)
		}
	}
	return nil
}

// oneHem makes one edge of the two that the hem of the under sleeve has: first the front part's, then the back's. Where
// the parts were shaped, or meet at a corner, it is drawn anew in one sweep, at the old angles to both seams.
func (a *twoPieceArgs) oneHem(p *pattern.Piece, frontHem string) pattern.Piece {
	q := p.Clone()
	n := len(p.Edges)
	i, k := p.EdgeNamed(frontHem), p.EdgeNamed(a.Hem)
	first := p.Edges[i].Path
	hem := p.Edges[k]
	sharp := degrees(first.EndTangent(), hem.Path.StartTangent())
	hem.From, hem.Path = p.Edges[i].From, first.Join(hem.Path)
	long := hem.Path.Length()
	if a.redraws(sharp) {
		hem.Path = swept(hem.Path.Start(), hem.Path.StartTangent(), hem.Path.End(), hem.Path.EndTangent())
	}
	q.Edges = []pattern.Edge{hem}
	for j := (k + 1) % n; j != i; j = (j + 1) % n {
		q.Edges = append(q.Edges, p.Edges[j])
	}
	for j := range q.Marks {
		switch m := &q.Marks[j]; m.Edge {
		case frontHem:
			m.Edge = a.Hem
		case a.Hem:
			m.S += first.Length()
		}
		if m := &q.Marks[j]; m.Edge == a.Hem {
			m.S *= hem.Path.Length() / long
			m.At = hem.Path.PointAt(m.S)
		}
	}
	return q
}

// redraws: the hem of the under sleeve is drawn anew, the parts of it meeting at a corner of so many degrees.
func (a *twoPieceArgs) redraws(sharp float64) bool {
	const least = 0.2
	return sharp > least || a.ForearmOut > 0 || a.HindarmOut > 0
}

// bendAt opens the hindarm side of a piece by so much about the elbow, hinged at the forearm side, which keeps its
// length.
func (a *twoPieceArgs) bendAt(p *pattern.Piece, s *twoPiece, by float64, upper bool) error {
	const (
		reach = 65.0 // mm: the cloth further from the elbow stays stiff
		near  = 5e-3 // mm
	)
	if by == 0 {
		return nil
	}
	fore, hind := p.EdgeNamed("forearm"), p.EdgeNamed("hindarm")
	lf, lh := p.Edges[fore].Path.Length(), p.Edges[hind].Path.Length()
	// On the upper sleeve the hindarm edge runs down from the cap and the forearm edge up to it; on the under sleeve it
	// is the other way round.
	at := func(edge int, l, d float64) spot {
		if upper == (edge == fore) {
			d = l - d
		}
		return spot{edge, d}
	}
	o := opening{open: run{hind, hind}, head: run{fore, fore}, ptr: "/bend", keep: keepStart,
		cuts: []slash{{at: at(hind, lh, s.hindElbow), to: at(fore, lf, s.foreElbow)}}}
	within := [2]spot{at(fore, lf, s.foreElbow-reach), at(fore, lf, s.foreElbow+reach)}
	if !upper {
		within[0], within[1] = within[1], within[0]
		o.keep = keepEnd
	}
	o.within = &within
	// What the opening promises to gain it gains to some hundredths; the rest is asked for once more.
	was, ask := p.Clone(), by
	for range 5 {
		q := was.Clone()
		o.gain, o.cuts[0].open = ask, ask
		if _, err := (&work{}).spread(&q, o); err != nil {
			return err
		}
		*p = q
		off := q.Edges[hind].Path.Length() - lh - by
		if math.Abs(off) <= near {
			return nil
		}
		ask -= off
	}
	return pattern.Fault{Rule: "out_of_range", Pointer: "/bend", Piece: a.Piece, Edge: "hindarm", Detail: fmt.Sprintf("the hindarm seam cannot be opened by %.1f mm", by), Remedy: "bend it less"}
}

// seams sews the pieces to each other, with notches that meet: single ones at the forearm, double ones at the hindarm.
// Ease lies between those of the elbow.
func (a *twoPieceArgs) seams(w *work, s *twoPiece, upper, under *pattern.Piece) []pattern.Seam {
	const (
		clear  = 15.0 // mm
		beside = 60.0 // mm above and below the elbow
	)
	out := make([]pattern.Seam, 0, 2)
	for k, edge := range [2]string{"forearm", "hindarm"} {
		line, ease := [2]geom.Path{s.forearm, s.hindarm}[k], [2]float64{0, a.ElbowEase}[k]
		m := pattern.Seam{Name: w.seamFree(a.Piece + "_" + edge), Sew: []pattern.EdgeRef{{Piece: upper.Name, Edge: edge}}, To: []pattern.EdgeRef{{Piece: under.Name, Edge: edge, Against: true}},
			SmoothStart: true, SmoothEnd: true, Ease: pattern.Range{Min: ease, Max: ease}}
		long := line.Length()
		from := [2]float64{long / 3, long / 3} // from the cap, and from the hem
		if s.elbow > 0 {
			e := [2]float64{s.foreElbow, s.hindElbow}[k]
			from = [2]float64{max(clear, e-beside), max(clear, long-e-beside)}
		}
		for i, d := range from {
			if long < 3*clear {
				continue
			}
			name := free(fmt.Sprintf("%s_notch_%d", edge, i+1), func(n string) bool { return knows(upper)(n) || knows(under)(n) })
			for _, q := range []*pattern.Piece{upper, under} {
				e := q.Edges[q.EdgeNamed(edge)]
				at := d
				// The cap lies at the start of the upper hindarm and of the under forearm.
				if (i == 0) != ((edge == "hindarm") == (q == upper)) {
					at = e.Path.Length() - d
				}
				q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: k + 1, Edge: edge, S: at, At: e.Path.PointAt(at), Match: a.Piece + "_" + name})
			}
			m.Notches = append(m.Notches, [2]pattern.MarkRef{{Piece: upper.Name, Mark: name}, {Piece: under.Name, Mark: name}})
		}
		out = append(out, m)
	}
	return out
}
