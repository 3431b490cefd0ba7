package change

import (
	"fmt"
	"math"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Where the neck of a bodice lies: what necklines, collars and facings of the neck have to find alike.

// neckSide is one half of a neckline: the neck edge of a front or a back, between its centre and its
// shoulder.
type neckSide struct {
	p                      *pattern.Piece
	neck, shoulder, centre int
	// first: the outline runs centre, neck, shoulder; else shoulder, neck, centre.
	first bool
}

// necksOf finds both sides of a neckline; they are of two pieces.
func (w *work) necksOf(front, back, neck, shoulder string) (f, b neckSide, err error) {
	if front == back {
		return f, b, pattern.Fault{Rule: "given_twice", Pointer: "/back", Piece: back, Detail: fmt.Sprintf("piece %q is named as front and as back", back), Remedy: "name two pieces"}
	}
	if f, err = w.neckOf("/front", front, neck, shoulder); err != nil {
		return f, b, err
	}
	b, err = w.neckOf("/back", back, neck, shoulder)
	return f, b, err
}

// neckOf finds it. ptr is the pointer of the piece's argument.
func (w *work) neckOf(ptr, piece, neck, shoulder string) (neckSide, error) {
	var h neckSide
	p, err := w.piece(ptr, piece)
	if err != nil {
		return h, err
	}
	h.p = p
	if h.neck, err = w.edge("/neck", p, neck); err != nil {
		return h, err
	}
	if h.shoulder, err = w.edge("/shoulder", p, shoulder); err != nil {
		return h, err
	}
	for _, e := range []struct {
		ptr  string
		edge int
	}{{"/neck", h.neck}, {"/shoulder", h.shoulder}} {
		if x := &p.Edges[e.edge]; p.IsLeg(x.Name) || x.Fold {
			return h, pattern.Fault{Rule: "not_free", Pointer: e.ptr, Piece: p.Name, Edge: x.Name, Detail: fmt.Sprintf("edge %s of piece %q is the leg of a dart, or lies on the fold", x.Name, p.Name), Remedy: "name another edge"}
		}
	}
	n := len(p.Edges)
	next, prev := (h.neck+1)%n, (h.neck+n-1)%n
	switch h.shoulder {
	case next:
		h.first, h.centre = true, prev
	case prev:
		h.centre = next
	default:
		return h, pattern.Fault{Rule: "not_beside", Pointer: "/shoulder", Piece: p.Name, Edge: shoulder,
			Detail: fmt.Sprintf("edge %s of piece %q is not beside its edge %s", shoulder, p.Name, neck),
			Valid:  pattern.Choices([]string{p.Edges[prev].Name, p.Edges[next].Name}), Remedy: "name the shoulder edge that the neck runs into"}
	}
	if n < 4 || h.centre == h.shoulder {
		return h, pattern.Fault{Rule: "no_centre", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("piece %q has too few edges to have a centre, a neck and a shoulder", p.Name), Remedy: "name a front or a back"}
	}
	return h, nil
}

// alongCentre refuses a neck that does not end at the centre line, because something was added to it.
func (h *neckSide) alongCentre(ptr string) error {
	g := h.p.Grain[1].Sub(h.p.Grain[0])
	c := h.p.Edges[h.centre].Path
	d := c.EndTangent()
	if !h.first {
		d = c.StartTangent()
	}
	if a := degrees(d, g); g.Len() > 0 && math.Min(a, 180-a) > 45 {
		return pattern.Fault{Rule: "no_centre", Pointer: ptr, Piece: h.p.Name, Edge: h.p.Edges[h.centre].Name,
			Detail: fmt.Sprintf("edge %s, beside the neck of piece %q, runs across the grain: it is no centre line", h.p.Edges[h.centre].Name, h.p.Name),
			Remedy: "change the neckline before a stand or an extension is added to the centre"}
	}
	return nil
}

// hollow refuses an edge that does not rise from the centre to the shoulder by so much: a hem or a waist, which bulges
// where a neck is hollow.
func (h *neckSide) hollow(least float64) error {
	c, n := h.p.Edges[h.centre].Path, h.p.Edges[h.neck].Path
	rise := n.End().Sub(n.Start())
	up := c.EndTangent()
	if !h.first {
		rise, up = rise.Neg(), c.StartTangent().Neg()
	}
	if r := rise.Dot(up); r < least-pattern.Near {
		return pattern.Fault{Rule: "no_neck", Pointer: "/neck", Piece: h.p.Name, Edge: h.p.Edges[h.neck].Name,
			Detail: fmt.Sprintf("edge %s of piece %q is no neck: it does not rise from the centre to the shoulder, but falls by %.1f mm", h.p.Edges[h.neck].Name, h.p.Name, -r),
			Valid:  "an edge that is hollow, its end at the shoulder the highest", Remedy: "name the neck edge of a front and of a back"}
	}
	return nil
}

// chain is the neck walked from the centre to the shoulder (or back), as a seam tells it.
func (h *neckSide) chain(fromCentre bool) pattern.EdgeRef {
	return pattern.EdgeRef{Piece: h.p.Name, Edge: h.p.Edges[h.neck].Name, Against: h.first != fromCentre}
}

// neckRun is the neck of both walked from the centre back to the centre front; over a button stand, if there is
// one and over asks for it, on to its edge.
func (w *work) neckRun(f, b *neckSide, over bool) []pattern.EdgeRef {
	run := []pattern.EdgeRef{b.chain(true), f.chain(false)}
	if over {
		r := f.chain(false)
		r.Edge = f.p.Edges[f.centre].Name
		run = append(run, r)
	}
	return run
}

// opensAt tells whether an opening runs into the neck at its centre.
func (w *work) opensAt(h *neckSide) bool {
	for _, o := range w.p.Openings {
		for _, f := range o.Find(&w.p) {
			if f.Piece.Name == h.p.Name && f.Edge == h.centre && f.AtStart != h.first {
				return true
			}
		}
	}
	return false
}

// insteadOf takes out the pieces that a change takes the place of.
func (w *work) insteadOf(names []string) error {
	for i, n := range names {
		if err := w.remove(fmt.Sprintf("/instead_of/%d", i), n); err != nil {
			return err
		}
	}
	return nil
}

// neckNotches copies the notches of a neck onto the edge that is sewn to it, and pairs them. from tells where on
// the edge a place of the neck's walk lies.
func neckNotches(q *pattern.Piece, edge string, neck inspect.Chain, from func(x float64) float64) [][2]pattern.MarkRef {
	const clear = 8.0 // mm from the ends and from other notches
	path := q.Edges[q.EdgeNamed(edge)].Path
	var pairs [][2]pattern.MarkRef
	for _, l := range neck.Links {
		for _, m := range l.Piece.Marks {
			x, on := neck.MarkAt(l.Piece.Name, m.Name)
			if m.Kind != pattern.Notch || m.Edge != l.Piece.Edges[l.Edge].Name || !on || x < clear || x > neck.Len-clear {
				continue
			}
			s := from(x)
			near := false
			for _, o := range q.Marks {
				near = near || o.Edge == edge && math.Abs(o.S-s) < clear
			}
			if near {
				continue
			}
			name := free(m.Name, knows(q))
			q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: m.Count, Edge: edge, S: s, At: path.PointAt(s)})
			pairs = append(pairs, [2]pattern.MarkRef{{Piece: q.Name, Mark: name}, {Piece: l.Piece.Name, Mark: m.Name}})
		}
	}
	return pairs
}
