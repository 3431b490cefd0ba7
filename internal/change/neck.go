package change

import (
	"fmt"
	"math"

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

// chain is the neck walked from the centre to the shoulder (or back), as a seam tells it.
func (h *neckSide) chain(fromCentre bool) pattern.EdgeRef {
	return pattern.EdgeRef{Piece: h.p.Name, Edge: h.p.Edges[h.neck].Name, Against: h.first != fromCentre}
}
