package change

import (
	"fmt"

	"sizerun/internal/pattern"
)

// sources makes sure that every edge knows where it came from, so that seams can be found again by
// provenance. An edge of a block piece comes from itself, whole.
func (w *work) sources() {
	for i := range w.p.Pieces {
		p := &w.p.Pieces[i]
		if p.Of == "" {
			p.Of = p.Name
		}
		for k := range p.Edges {
			if p.Edges[k].Src == (pattern.Source{}) {
				p.Edges[k].Src = pattern.Source{Piece: p.Name, Edge: p.Edges[k].Name, S1: p.Edges[k].Path.Length()}
			}
		}
	}
}

// subSource is the source of a stretch s0 … s1 of an edge of the given length. An edge that has been
// lengthened is longer than its source: places on it correspond in proportion.
func subSource(src pattern.Source, s0, s1, length float64) pattern.Source {
	at := func(s float64) float64 { return src.S0 + (src.S1-src.S0)*s/length }
	return pattern.Source{Piece: src.Piece, Edge: src.Edge, S0: at(s0), S1: at(s1)}
}

// rehome gives every seam that spoke of a piece the edges of its parts that cover the same stretch. A
// part that holds the whole edge is preferred; else the chain of parts, end to end.
func (w *work) rehome(was *pattern.Piece, parts []pattern.Piece) error {
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		sew, err1 := newChain(was, parts, s.Sew)
		to, err2 := newChain(was, parts, s.To)
		if err1 == nil {
			err1 = err2
		}
		if err1 != nil {
			f := pattern.FaultsOf(err1)[0]
			f.Detail = fmt.Sprintf("seam %s: %s", s.Name, f.Detail)
			return f
		}
		s.Sew, s.To = sew, to
		var kept [][2]pattern.MarkRef
		for _, n := range s.Notches {
			a, ok1 := newMark(was, parts, n[0], s.Sew)
			b, ok2 := newMark(was, parts, n[1], s.To)
			if ok1 && ok2 {
				kept = append(kept, [2]pattern.MarkRef{a, b})
			}
		}
		s.Notches = kept
	}
	return nil
}

func newChain(was *pattern.Piece, parts []pattern.Piece, refs []pattern.EdgeRef) ([]pattern.EdgeRef, error) {
	var out []pattern.EdgeRef
	for _, r := range refs {
		if r.Piece != was.Name {
			out = append(out, r)
			continue
		}
		i := was.EdgeNamed(r.Edge)
		if i < 0 {
			return nil, pattern.Fault{Rule: "unknown_edge", Piece: r.Piece, Edge: r.Edge, Detail: fmt.Sprintf("piece %q has no edge %q", r.Piece, r.Edge),
				Valid: pattern.Choices(was.EdgeNames()), Remedy: pattern.Suggest(r.Edge, was.EdgeNames())}
		}
		c, ok := pattern.Covering(was.Edges[i].Src, parts, r.Against)
		if !ok {
			return nil, pattern.Fault{Rule: "seam_lost", Piece: r.Piece, Edge: r.Edge,
				Detail: fmt.Sprintf("it sews %s.%s, of which a part is cut away", r.Piece, r.Edge),
				Remedy: "cut elsewhere, or end that seam before the cut"}
		}
		out = append(out, c...)
	}
	return out, nil
}

// newMark finds which part carries a mark: one that the seam runs over, if there is one.
func newMark(was *pattern.Piece, parts []pattern.Piece, r pattern.MarkRef, chain []pattern.EdgeRef) (pattern.MarkRef, bool) {
	if r.Piece != was.Name {
		return r, true
	}
	found := ""
	for i := range parts {
		if parts[i].MarkNamed(r.Mark) == nil {
			continue
		}
		if found == "" {
			found = parts[i].Name
		}
		for _, c := range chain {
			if c.Piece == parts[i].Name && touches(&parts[i], r.Mark, c.Edge) {
				return pattern.MarkRef{Piece: parts[i].Name, Mark: r.Mark}, true
			}
		}
	}
	return pattern.MarkRef{Piece: found, Mark: r.Mark}, found != ""
}

// touches: the mark lies on the edge or at one of its ends.
func touches(p *pattern.Piece, mark, edge string) bool {
	m, i := p.MarkNamed(mark), p.EdgeNamed(edge)
	if m == nil || i < 0 {
		return false
	}
	e := p.Edges[i].Path
	return m.Edge == edge || m.At.Dist(e.Start()) <= pattern.Near || m.At.Dist(e.End()) <= pattern.Near
}

// lengthFrom is how long the edges of a piece are together that came from a stretch.
func lengthFrom(p *pattern.Piece, src pattern.Source) float64 {
	l := 0.0
	for i := range p.Edges {
		s := p.Edges[i].Src
		if m := (s.S0 + s.S1) / 2; s.Piece == src.Piece && s.Edge == src.Edge && m > min(src.S0, src.S1) && m < max(src.S0, src.S1) {
			l += p.Edges[i].Path.Length()
		}
	}
	return l
}
