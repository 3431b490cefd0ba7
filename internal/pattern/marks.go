package pattern

import (
	"fmt"
	"strconv"

	"sizerun/internal/geom"
)

// PlaceMarks finds the piece's marks on one size of it. points holds that size's named points, all
// of them; move takes a bare coordinate of the base size to this size (nil: stays). Marks may be
// told by one another in any order. Pointers begin at the piece.
func (p *BlockPiece) PlaceMarks(on *Piece, points []NamedPoint, move func(mark string, q geom.Point) geom.Point) ([]Mark, Faults) {
	var fs Faults
	out := make([]Mark, len(p.Marks))
	done := make([]bool, len(p.Marks))
	known := *on
	known.Marks = nil
	for left := len(p.Marks); left > 0; {
		moved := false
		for i := range p.Marks {
			if done[i] {
				continue
			}
			m := &p.Marks[i]
			pl := m.At
			exact := false
			switch {
			case pl.At != nil:
				if move != nil {
					q := move(m.Name, *pl.At)
					pl.At = &q
				}
			case pl.Point != "" && pl.Between == [2]string{} && pl.Edge == "":
				if _, corner := known.Corner(pl.Point); !corner {
					if q, ok := named(points, pl.Point); ok {
						pl = Place{At: &q}
						exact = true
					}
				}
			}
			if !known.Knows(pl) {
				if left > 0 && p.mayCome(pl, done) {
					continue
				}
			}
			done[i], moved = true, true
			left--
			e, s, at, err := known.Find(pl)
			mk := Mark{Kind: m.Kind, Name: m.Name, Count: m.Count, S: s, At: at, Inside: m.Inside, Match: m.Match}
			if err == nil && e >= 0 && m.Kind == Dot && pl.At != nil && at.Dist(*pl.At) > Near {
				// A dot near the outline is inside, not on it.
				e, mk.S, mk.At = -1, 0, *pl.At
			}
			if err == nil && e < 0 && m.Kind == Notch {
				_, _, _, d := known.Nearest(at)
				err = Fault{Rule: "mark_off_outline", Pointer: "", Piece: p.Name,
					Detail: fmt.Sprintf("notch %q lies %.1f mm off the outline of piece %q", m.Name, d, p.Name),
					Valid:  fmt.Sprintf("within %g mm of an edge", OnOutline), Remedy: `put it on an edge, best as a distance along it; inside a piece use a dot`}
			}
			if err == nil && e < 0 && !exact && !known.Outline().Contains(mk.At) {
				if _, _, _, d := known.Nearest(mk.At); d > OnOutline {
					err = Fault{Rule: "mark_off_outline", Piece: p.Name,
						Detail: fmt.Sprintf("%s %q at (%.1f, %.1f) lies outside piece %q", m.Kind, m.Name, mk.At.X, mk.At.Y, p.Name),
						Valid:  "inside the outline or on it", Remedy: "move it inside"}
				}
			}
			if err != nil {
				fs = append(fs, FaultsOf(err).Under(Pointer("marks", strconv.Itoa(i), "at"))...)
				continue
			}
			if e >= 0 {
				mk.Edge = known.Edges[e].Name
			}
			out[i] = mk
			known.Marks = append(known.Marks, mk)
		}
		if !moved {
			for i := range p.Marks {
				if !done[i] {
					fs = append(fs, Fault{Rule: "mark_circle", Pointer: Pointer("marks", strconv.Itoa(i), "at"), Piece: p.Name,
						Detail: fmt.Sprintf("mark %q is told by marks that are told by it", p.Marks[i].Name),
						Remedy: "tell one of them by a point or by a distance along an edge"})
				}
			}
			break
		}
	}
	return out, fs
}

// mayCome reports whether a name that pl needs is a mark that is still to be placed.
func (p *BlockPiece) mayCome(pl Place, done []bool) bool {
	for _, n := range []string{pl.Point, pl.Between[0], pl.Between[1]} {
		if n == "" {
			continue
		}
		if i := p.MarkNamed(n); i >= 0 && !done[i] {
			return true
		}
	}
	return false
}
