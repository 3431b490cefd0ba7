package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A strip is a new piece computed from the edges that it is sewn to: it is as long as they are, times a
// ratio, or as long as asked, and carries notches that meet theirs.

// seamRun is edges of one or several pieces end to end, as a strip runs along them: against their
// outlines, for the strip lies on the other side of the seam.
type seamRun struct {
	refs []pattern.EdgeRef
	at   []float64 // where each begins
	len  float64
	ring bool    // its two ends are sewn together
	fold [2]bool // its beginning, its end lies on the fold
	shut [2]bool // its beginning, its end lies at a seam that joins both halves of the body
	pair bool    // it is there twice: on a mirrored pair, or on both halves of a piece cut on the fold
	// words are what a sentence calls it
	words string
}

// beside is the edge next to edge i at its end (1) or its start (-1), darts and pleats folded.
func (w *work) beside(p *pattern.Piece, i, dir int) int {
	n := len(p.Edges)
	for range n {
		i = (i + dir + n) % n
		if !w.takenIn(p, i) {
			return i
		}
	}
	return i
}

// takenIn: the edge is the leg of a dart, or is sewn to its own neighbour, as the underlay of a pleat is.
func (w *work) takenIn(p *pattern.Piece, i int) bool {
	name := p.Edges[i].Name
	if p.IsLeg(name) {
		return true
	}
	n := len(p.Edges)
	prev, next := p.Edges[(i+n-1)%n].Name, p.Edges[(i+1)%n].Name
	for k := range w.p.Seams {
		s := &w.p.Seams[k]
		if len(s.Sew) != 1 || len(s.To) != 1 || s.Sew[0].Piece != p.Name || s.To[0].Piece != p.Name {
			continue
		}
		a, b := s.Sew[0].Edge, s.To[0].Edge
		if b == name {
			a, b = b, a
		}
		if a == name && (b == prev || b == next) && b != name {
			return true
		}
	}
	return false
}

// meet reports whether edge b begins where edge a ends, both walked against their outlines (or both
// along, when against is false): on one piece, or over a seam.
func (w *work) meet(a, b pattern.EdgeRef, against bool) bool {
	dir := 1
	if against {
		dir = -1
	}
	p, q := w.p.PieceNamed(a.Piece), w.p.PieceNamed(b.Piece)
	i, j := p.EdgeNamed(a.Edge), q.EdgeNamed(b.Edge)
	if p == q && i != j && w.beside(p, i, dir) == j {
		return true
	}
	x, y := p.Edges[w.beside(p, i, dir)].Name, q.Edges[w.beside(q, j, -dir)].Name
	has := func(refs []pattern.EdgeRef, piece, edge string) bool {
		for _, r := range refs {
			if r.Piece == piece && r.Edge == edge {
				return true
			}
		}
		return false
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		if has(s.Sew, a.Piece, x) && has(s.To, b.Piece, y) || has(s.To, a.Piece, x) && has(s.Sew, b.Piece, y) {
			return true
		}
	}
	return false
}

// runOf finds the edges, and the direction in which they follow each other.
func (w *work) runOf(ptr string, edges []pattern.EdgeRef) (seamRun, error) {
	at := func(i int) string {
		if len(edges) == 1 {
			return ptr
		}
		return ptr + pattern.Pointer(fmt.Sprint(i))
	}
	for i, r := range edges {
		p, err := w.piece(at(i), r.Piece)
		if err != nil {
			return seamRun{}, err
		}
		k, err := w.edge(at(i), p, r.Edge)
		if err != nil {
			return seamRun{}, err
		}
		f := pattern.Fault{Pointer: at(i), Piece: p.Name, Edge: r.Edge, Remedy: "name an edge that is free"}
		switch {
		case p.Edges[k].Fold:
			f.Rule, f.Detail = "edge_on_fold", fmt.Sprintf("edge %s.%s lies on the fold", p.Name, r.Edge)
			return seamRun{}, f
		case p.IsLeg(r.Edge):
			f.Rule, f.Detail = "dart_leg", fmt.Sprintf("edge %s.%s is the leg of a dart", p.Name, r.Edge)
			return seamRun{}, f
		case w.sewn(p.Name, r.Edge):
			f.Rule, f.Detail = "edge_sewn", fmt.Sprintf("edge %s.%s is sewn to something already", p.Name, r.Edge)
			return seamRun{}, f
		}
	}
	inOrder := func(against bool) (int, bool) {
		for i := 1; i < len(edges); i++ {
			if !w.meet(edges[i-1], edges[i], against) {
				return i, false
			}
		}
		return 0, true
	}
	run := seamRun{refs: append([]pattern.EdgeRef(nil), edges...)}
	if bad, ok := inOrder(true); !ok {
		if _, ok := inOrder(false); !ok {
			a, b := edges[bad-1], edges[bad]
			return run, pattern.Fault{Rule: "edges_apart", Pointer: at(bad), Piece: b.Piece, Edge: b.Edge,
				Detail: fmt.Sprintf("%s.%s does not run on into %s.%s", a.Piece, a.Edge, b.Piece, b.Edge),
				Valid:  "edges that follow each other on a piece, over a dart or over a seam", Remedy: "list them in the order in which they meet"}
		}
		for i := range edges {
			run.refs[len(edges)-1-i] = edges[i]
		}
	}
	for i := range run.refs {
		p := w.p.PieceNamed(run.refs[i].Piece)
		run.refs[i].Against = true
		run.at = append(run.at, run.len)
		run.len += p.Edges[p.EdgeNamed(run.refs[i].Edge)].Path.Length()
		run.pair = run.pair || p.Cut.Pair && p.Cut.Count > 1
		for k := range p.Edges {
			run.pair = run.pair || p.Edges[k].Fold
		}
	}
	first, last := run.refs[0], run.refs[len(run.refs)-1]
	run.ring = w.meet(last, first, true)
	run.words = w.runSaid(run.refs)
	p, q := w.p.PieceNamed(first.Piece), w.p.PieceNamed(last.Piece)
	x, y := &p.Edges[w.beside(p, p.EdgeNamed(first.Edge), 1)], &q.Edges[w.beside(q, q.EdgeNamed(last.Edge), -1)]
	run.fold = [2]bool{x.Fold, y.Fold}
	run.shut = [2]bool{w.sewnToItself(p.Name, x.Name), w.sewnToItself(q.Name, y.Name)}
	return run, nil
}

// sewnToItself: the edge is sewn to that of the other half of the body.
func (w *work) sewnToItself(piece, edge string) bool {
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		if len(s.Sew) == 1 && len(s.To) == 1 && s.Sew[0].Piece == piece && s.Sew[0].Edge == edge && s.To[0].Piece == piece && s.To[0].Edge == edge {
			return true
		}
	}
	return false
}

// turned is the run walked from its end to its beginning, as on the mirrored half.
func (r seamRun) turned() []pattern.EdgeRef {
	out := make([]pattern.EdgeRef, len(r.refs))
	for i, x := range r.refs {
		x.Against = !x.Against
		out[len(out)-1-i] = x
	}
	return out
}

// The ways in which a strip is cut.
const (
	cutEach  = "each"  // one for every side of the body
	cutWhole = "whole" // one that goes over both halves
	cutFold  = "fold"  // half of that one, its middle on the fold of the cloth
	cutAuto  = "auto"
)

// strip is what a change asks of one.
type strip struct {
	name, title, cloth string // title: the name, unless given
	run                seamRun
	long               float64 // of the sewn edge, for one run
	high               float64
	as                 string // cutEach, cutWhole, cutFold; cutAuto: a ring each, else whole where there is a fold
	over               float64
	hangs              bool     // it lies below its seam
	grain              geom.Vec // of a strip that lies above its seam, along x
	foldLine           bool
	gathered           bool   // the longer side is gathered onto the shorter one
	far                string // name of its other long edge
	farOwn, endOwn     *pattern.Allowance
	sewOwn             *pattern.Allowance // of its sewn edge
	notches            int                // on each edge that has none yet
	count              int                // strips laid over each other, at least 1
	interfaced         bool               // one of them is
	body               string             // what of the body it goes round, "" when that isn't told
	longest            float64            // a longer one is cut as equal lengths and joined; 0: as one
	lengths            int                // in how many lengths, whatever they are; 0: as few as may be
	rings              bool               // its lengths are half rings
}

// made is what came of a strip.
type madeStrip struct {
	piece *pattern.Piece
	sewn  []string // its sewn edges: one, or one a half
	as    string
	seams []string
	total float64
	n     int // how many lengths are joined to one strip
	// lengths: it is cut as that many pieces that are all the same, and goes over both halves of a body whose
	// middle lies on a fold.
	lengths bool
	joined  bool // its two ends are sewn together
}

// sewnLength is how long the sewn edges of the whole strip are together.
func (m *madeStrip) sewnLength() float64 {
	l := 0.0
	for _, e := range m.sewn {
		l += edgeLength(m.piece, e)
	}
	return l * float64(m.n)
}

// addStrip draws the strip, notches both sides and sews them together.
func (w *work) addStrip(s strip) (madeStrip, error) {
	m := madeStrip{as: s.as, n: 1}
	if s.title == "" {
		s.title = titled(s.name)
	}
	if w.p.PieceNamed(s.name) != nil {
		return m, pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: s.name, Detail: fmt.Sprintf("there is a piece %q already", s.name),
			Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
	}
	if s.as == cutAuto {
		m.as = cutEach
		if !s.run.ring && (s.run.fold[0] || s.run.fold[1]) {
			m.as = cutWhole
		}
	}
	if m.as != cutEach && s.run.ring {
		return m, pattern.Fault{Rule: "no_middle", Pointer: "/cut", Piece: s.run.refs[0].Piece, Detail: "the edges close to a ring, so that the strip has no middle to mirror it about",
			Valid: cutEach, Remedy: "cut one for each side"}
	}
	m.total = s.long
	if m.as == cutWhole {
		m.total *= 2
	}
	if most := pattern.MaxCoord - 500; m.total+s.over > most || !(s.long > 1) {
		return m, pattern.Fault{Rule: "out_of_range", Pointer: "/edges", Piece: s.name, Detail: fmt.Sprintf("the strip would be %.0f mm long", m.total+s.over),
			Valid: fmt.Sprintf("1 to %.0f mm", most), Remedy: "make it in shorter parts"}
	}
	// The middle lies at the end of the run, unless only its beginning lies on the fold.
	midFirst := s.run.fold[0] && !s.run.fold[1]
	if n := s.inLengths(m.as); n > 1 || s.rings || s.longest > 0 && s.all(m.as) > s.longest+1e-6 {
		return m, w.addLengths(s, &m, n, midFirst)
	}
	p := s.draw(&m, midFirst)
	m.piece = &p
	halves := [][]pattern.EdgeRef{s.run.refs}
	if m.as == cutWhole {
		halves = append(halves, s.run.turned())
		if midFirst {
			halves[0], halves[1] = halves[1], halves[0]
		}
	}
	for h, refs := range halves {
		seam := s.notch(w, &p, m.sewn[h], refs)
		seam.Name = w.seamFree(s.name + "_" + s.run.refs[0].Edge)
		own := []pattern.EdgeRef{{Piece: s.name, Edge: m.sewn[h]}}
		d := s.long - s.run.len
		seam.Sew, seam.To, seam.Ease = own, refs, pattern.Range{Min: d, Max: d}
		if math.Abs(d) < 1e-6 {
			seam.Ease = pattern.Range{}
		}
		if s.gathered && d < 0 {
			seam.Sew, seam.To, seam.Ease = refs, own, pattern.Range{Min: -d, Max: -d}
			for i, n := range seam.Notches {
				seam.Notches[i] = [2]pattern.MarkRef{n[1], n[0]}
			}
		}
		seam.Gathers = s.gathered && math.Abs(d) > 1e-6
		w.p.Seams = append(w.p.Seams, seam)
		m.seams = append(m.seams, seam.Name)
	}
	if joined := s.joined(m.as, midFirst); joined && s.over == 0 {
		end := pattern.Seam{Name: w.seamFree(s.name + "_join"), Sew: []pattern.EdgeRef{{Piece: s.name, Edge: "end"}}, To: []pattern.EdgeRef{{Piece: s.name, Edge: "begin", Against: true}}}
		if m.as == cutFold {
			e := "begin"
			if midFirst {
				e = "end"
			}
			end.Sew, end.To = []pattern.EdgeRef{{Piece: s.name, Edge: e}}, []pattern.EdgeRef{{Piece: s.name, Edge: e}}
		}
		w.p.Seams = append(w.p.Seams, end)
	}
	s.finished(w, &p, &m)
	w.p.Pieces = append(w.p.Pieces, p)
	w.made = append(w.made, s.name)
	m.piece = &w.p.Pieces[len(w.p.Pieces)-1]
	return m, nil
}

// finished tells how far a strip that hangs below its seam reaches, and what is measured round it.
func (s *strip) finished(w *work, p *pattern.Piece, m *madeStrip) {
	adds := 0.0
	if s.hangs {
		if adds = s.high; s.foldLine {
			adds /= 2
		}
		t := pattern.Term{Times: m.n}
		if m.as == cutFold && !m.lengths {
			t.Times = 2
		}
		edges := []string{s.far}
		if s.over > 0 {
			edges = m.sewn // the overlap lies under
		}
		for _, e := range edges {
			t.Edges = append(t.Edges, pattern.EdgeRef{Piece: s.name, Edge: e})
		}
		w.res.Finished = append(w.res.Finished, pattern.Finished{Name: s.name, Says: titled(s.name) + ", round", Body: s.body, Terms: []pattern.Term{t}})
	}
	p.Adds = &adds
}

// joined: the ends of the strip are sewn together, because those of what it is sewn to are.
func (s *strip) joined(as string, midFirst bool) bool {
	if as == cutEach {
		return s.run.ring
	}
	closed := func(k int) bool { return s.run.fold[k] || s.hangs && s.run.shut[k] } // an opening is above, not at a hem
	return closed(0) && !midFirst || closed(1) && midFirst
}

// draw is the rectangle: its sewn edge along the x axis from 0, the rest above; turned over when it hangs.
func (s *strip) draw(m *madeStrip, midFirst bool) pattern.Piece {
	t, h, o := m.total, s.high, s.over
	p := pattern.Piece{Name: s.name, Title: s.title, Of: s.name, Cut: pattern.Cut{Count: max(1, s.count), Cloth: s.cloth}}
	if m.as == cutEach && s.run.pair {
		p.Cut.Count, p.Cut.Pair = 2*p.Cut.Count, true
	}
	if s.count > 1 {
		p.Cut.Layers = s.count
	}
	if s.interfaced {
		p.Cut.Interfaced = p.Cut.Count / max(1, s.count)
	}
	add := func(name, from, to string, a, b geom.Point, own *pattern.Allowance) {
		e := pattern.Edge{Name: name, From: from, To: to, Path: geom.Polyline(a, b), Own: own}
		e.Src = pattern.Source{Piece: s.name, Edge: name, S1: a.Dist(b)}
		p.Edges = append(p.Edges, e)
	}
	x0, x1 := 0.0, t // with the overlap
	if m.as == cutFold && !midFirst {
		x0 -= o
	} else {
		x1 += o
	}
	if x0 < 0 {
		add("overlap", "begin_low", "begin_lap", geom.Pt(x0, 0), geom.Pt(0, 0), s.sewOwn)
	}
	first := "begin_low"
	if x0 < 0 {
		first = "begin_lap"
	}
	last := "end_low"
	if x1 > t {
		last = "end_lap"
	}
	if m.as == cutWhole {
		m.sewn = []string{"stitched", "stitched_left"}
		add("stitched", first, "middle_low", geom.Pt(0, 0), geom.Pt(t/2, 0), s.sewOwn)
		add("stitched_left", "middle_low", last, geom.Pt(t/2, 0), geom.Pt(t, 0), s.sewOwn)
	} else {
		m.sewn = []string{"stitched"}
		add("stitched", first, last, geom.Pt(0, 0), geom.Pt(t, 0), s.sewOwn)
	}
	if x1 > t {
		add("overlap", "end_lap", "end_low", geom.Pt(t, 0), geom.Pt(x1, 0), s.sewOwn)
	}
	add("end", "end_low", "end_high", geom.Pt(x1, 0), geom.Pt(x1, h), s.endOwn)
	add(s.far, "end_high", "begin_high", geom.Pt(x1, h), geom.Pt(x0, h), s.farOwn)
	add("begin", "begin_high", "begin_low", geom.Pt(x0, h), geom.Pt(x0, 0), s.endOwn)
	if m.as == cutFold {
		k := p.EdgeNamed("end")
		if midFirst {
			k = p.EdgeNamed("begin")
		}
		e := &p.Edges[k]
		e.Name, e.Fold, e.Own = "middle", true, nil
		e.Src.Edge = "middle"
	}
	mid := geom.Pt((x0+x1)/2, h/2)
	turn := geom.RotateAbout(mid, math.Pi)
	g := s.grain.Unit()
	if s.foldLine && g.Y == 0 {
		mid.Y = h / 4 // clear of the fold line
	}
	room := math.Inf(1) // half of what there is room for along the grain
	if g.X != 0 {
		room = math.Min(room, (x1-x0)/2/math.Abs(g.X))
	}
	if g.Y != 0 {
		room = math.Min(room, h/2/math.Abs(g.Y))
	}
	p.Grain = [2]geom.Point{mid.Add(g.Mul(-0.7 * room)), mid.Add(g.Mul(0.7 * room))}
	if s.foldLine {
		p.Lines = append(p.Lines, pattern.InnerLine{Name: "fold_line", Path: geom.Polyline(geom.Pt(x0, h/2), geom.Pt(x1, h/2))})
	}
	if o > 0 {
		x := t
		if x0 < 0 {
			x = 0
		}
		p.Lines = append(p.Lines, pattern.InnerLine{Name: "lap_line", Path: geom.Polyline(geom.Pt(x, 0), geom.Pt(x, h))})
	}
	if s.hangs {
		for i := range p.Edges {
			p.Edges[i].Path = p.Edges[i].Path.Transform(turn)
		}
		for i := range p.Lines {
			p.Lines[i].Path = p.Lines[i].Path.Transform(turn)
		}
	}
	// A nest is lined up on the fold where there is one, else on the beginning.
	p.Align = p.Edges[p.EdgeNamed(m.sewn[0])].Path.Start()
	if m.as == cutFold && !midFirst {
		p.Align = p.Edges[p.EdgeNamed(m.sewn[0])].Path.End()
	}
	return p
}

// notch gives the strip a notch for every notch of the run and for every seam that it crosses. Edges
// without a notch that are long enough get some first.
func (s *strip) notch(w *work, p *pattern.Piece, edge string, refs []pattern.EdgeRef) pattern.Seam {
	const (
		clear = 8.0 // mm from a corner
		apart = 40.0
	)
	var seam pattern.Seam
	path := p.Edges[p.EdgeNamed(edge)].Path
	k := s.long / s.run.len
	put := func(name string, count int, at float64) string {
		name = free(name, knows(p))
		p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: count, Edge: edge, S: at, At: path.PointAt(at)})
		return name
	}
	walked := 0.0
	for i, r := range refs {
		q := w.p.PieceNamed(r.Piece)
		e := q.EdgeNamed(r.Edge)
		l := q.Edges[e].Path.Length()
		if i > 0 && walked*k > clear && (s.run.len-walked)*k > clear {
			put(fmt.Sprintf("%s_seam", r.Edge), 1, walked*k)
		}
		if s.notches > 0 {
			s.ownNotches(q, e, l, apart)
		}
		for j := range q.Marks {
			n := &q.Marks[j]
			at := n.S
			if r.Against {
				at = l - at
			}
			at = (walked + at) * k
			if n.Kind != pattern.Notch || n.Edge != r.Edge || at < clear || s.long-at < clear {
				continue
			}
			name := put(n.Name, n.Count, at)
			seam.Notches = append(seam.Notches, [2]pattern.MarkRef{{Piece: s.name, Mark: name}, {Piece: r.Piece, Mark: n.Name}})
		}
		walked += l
	}
	return seam
}

// ownNotches spreads notches over an edge that has none.
func (s *strip) ownNotches(q *pattern.Piece, e int, l, apart float64) {
	for j := range q.Marks {
		if q.Marks[j].Kind == pattern.Notch && q.Marks[j].Edge == q.Edges[e].Name {
			return
		}
	}
	for i := range s.notches {
		at := l * float64(i+1) / float64(s.notches+1)
		if l/float64(s.notches+1) < apart/2 {
			return
		}
		name := free(fmt.Sprintf("%s_%s_%d", s.name, q.Edges[e].Name, i+1), knows(q))
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: 1, Edge: q.Edges[e].Name, S: at, At: q.Edges[e].Path.PointAt(at)})
	}
}
