package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// put lays a piece where the piece of that name was, and keeps the seams as they are: their edges must
// still be called the same. Pairs of notches of which one is gone go too.
func (w *work) put(q pattern.Piece) {
	for i := range w.p.Pieces {
		if w.p.Pieces[i].Name == q.Name {
			w.p.Pieces[i] = q
		}
	}
	w.made = append(w.made, q.Name)
	w.lostNotches()
}

// addPiece lays a new piece beside the others.
func (w *work) addPiece(ptr string, q pattern.Piece) error {
	if w.p.PieceNamed(q.Name) != nil {
		return pattern.Fault{Rule: "name_taken", Pointer: ptr, Piece: q.Name, Detail: fmt.Sprintf("there is a piece %q already", q.Name),
			Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
	}
	w.p.Pieces = append(w.p.Pieces, q)
	w.made = append(w.made, q.Name)
	return nil
}

// remove takes a piece out, with every seam that it was sewn by.
func (w *work) remove(ptr, name string) error {
	if _, err := w.piece(ptr, name); err != nil {
		return err
	}
	var pieces []pattern.Piece
	for _, p := range w.p.Pieces {
		if p.Name != name {
			pieces = append(pieces, p)
		}
	}
	w.p.Pieces = pieces
	var seams []pattern.Seam
	for _, s := range w.p.Seams {
		uses := false
		for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			for _, r := range refs {
				uses = uses || r.Piece == name
			}
		}
		if !uses {
			seams = append(seams, s)
		}
	}
	w.p.Seams = seams
	w.gone = append(w.gone, name)
	return nil
}

// lostNotches drops the pairs of notches of which one lay on cut-away cloth.
func (w *work) lostNotches() {
	there := func(r pattern.MarkRef) bool {
		p := w.p.PieceNamed(r.Piece)
		return p != nil && p.MarkNamed(r.Mark) != nil
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		var kept [][2]pattern.MarkRef
		for _, n := range s.Notches {
			if there(n[0]) && there(n[1]) {
				kept = append(kept, n)
			}
		}
		s.Notches = kept
	}
}

// seamFree makes a seam name that none has.
func (w *work) seamFree(name string) string {
	return free(name, func(n string) bool {
		for i := range w.p.Seams {
			if w.p.Seams[i].Name == n {
				return true
			}
		}
		return false
	})
}

// runOut lengthens a path straight on at its start and at its end.
func runOut(p geom.Path, start, end float64) geom.Path {
	q := append(geom.Path{}, p...)
	if start > 0 {
		a := p.Start().Add(p.StartTangent().Mul(-start))
		if q[0].Straight {
			q[0] = geom.Line(a, q[0].P3)
		} else {
			q = append(geom.Path{geom.Line(a, p.Start())}, q...)
		}
	}
	if end > 0 {
		b := p.End().Add(p.EndTangent().Mul(end))
		if n := len(q) - 1; q[n].Straight {
			q[n] = geom.Line(q[n].P0, b)
		} else {
			q = append(q, geom.Line(p.End(), b))
		}
	}
	return q
}

// meet is where the line through a along u meets the one through b along v: how far along each.
func meet(a geom.Point, u geom.Vec, b geom.Point, v geom.Vec) (s, t float64, ok bool) {
	d := u.Cross(v)
	if math.Abs(d) < 1e-9*u.Len()*v.Len() || u.Len() == 0 || v.Len() == 0 {
		return 0, 0, false
	}
	w := b.Sub(a)
	return w.Cross(v) / d, w.Cross(u) / d, true
}

// root finds where f crosses zero, from two guesses, by the secant method held to where f is a number.
// It reports false when it does not settle within tol.
func root(f func(float64) float64, x0, x1, tol float64) (float64, bool) {
	f0, f1 := f(x0), f(x1)
	for range 60 {
		if math.Abs(f1) <= tol {
			return x1, true
		}
		if math.IsNaN(f1) || math.IsNaN(f0) || f1 == f0 {
			return x1, false
		}
		x0, x1, f0 = x1, x1-f1*(x1-x0)/(f1-f0), f1
		f1 = f(x1)
	}
	return x1, math.Abs(f1) <= tol
}

// newPiece closes edges given by name, first corner and path into a piece of its own.
func newPiece(name, title string, cut pattern.Cut, edges ...pattern.Edge) pattern.Piece {
	p := pattern.Piece{Name: name, Title: title, Cut: cut, Of: name, Edges: edges}
	n := len(p.Edges)
	for i := range p.Edges {
		e := &p.Edges[i]
		e.To = p.Edges[(i+1)%n].From
		e.Path = closeTo(e.Path, e.Path.Start(), p.Edges[(i+1)%n].Path.Start())
		e.Src = pattern.Source{Piece: name, Edge: e.Name, S1: e.Path.Length()}
	}
	return p
}

// splitEdge makes two edges of one at s: the first keeps what first says, the corner between them is
// named. Marks keep their places, seams get both.
func (w *work) splitEdge(p *pattern.Piece, edge int, s float64, names [2]string, corner string) error {
	was := p.Clone()
	q := p.Clone()
	e := was.Edges[edge]
	l := e.Path.Length()
	for i := range names {
		names[i] = free(names[i], func(n string) bool { k := was.EdgeNamed(n); return k >= 0 && k != edge })
	}
	a, b := e, e
	a.Path, b.Path = e.Path.Split(s)
	a.Name, b.Name = names[0], names[1]
	a.To = free(corner, knows(&was))
	b.From = a.To
	a.Src, b.Src = subSource(e.Src, 0, s, l), subSource(e.Src, s, l, l)
	q.Edges = append(append(append([]pattern.Edge(nil), was.Edges[:edge]...), a, b), was.Edges[edge+1:]...)
	for k := range q.Marks {
		m := &q.Marks[k]
		if m.Edge != e.Name {
			continue
		}
		m.Edge = a.Name
		if m.S > s {
			m.Edge, m.S = b.Name, m.S-s
		}
	}
	*p = q
	return w.rehome(&was, []pattern.Piece{q})
}
