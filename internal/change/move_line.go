package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// styleLine is a line to be drawn over a piece from one place of its outline to another.
type styleLine struct {
	from, to   spot
	leave      geom.Vec // directions at the ends
	arrive     geom.Vec
	fullness   float64 // 0: the fairest
	inflection bool
	ptr        string // pointer of the argument to blame
}

// draw draws it, and refuses one that leaves the piece or touches the outline on its way.
func (w *work) draw(p *pattern.Piece, l styleLine) (geom.Path, error) {
	a, b := l.from.at(p), l.to.at(p)
	line, err := geom.Fair(a, l.leave, b, l.arrive, geom.FairOptions{Fullness: l.fullness, AllowInflection: l.inflection})
	if err != nil {
		return nil, pattern.Fault{Rule: "no_fair_curve", Pointer: l.ptr, Piece: p.Name, Edge: p.Edges[l.to.edge].Name,
			Detail: fmt.Sprintf("no curve without an inflection leaves (%.1f, %.1f) and arrives at (%.1f, %.1f) as wanted", a.X, a.Y, b.X, b.Y),
			Valid:  "ends whose directions meet between them, or inflection: true", Remedy: "move one of the places, or allow an inflection"}
	}
	return line, w.staysInside(p, line, l.ptr)
}

// staysInside samples the line. Near its ends it may come as close to the outline as it likes, for it
// may run into an edge smoothly; on its way it has to keep clear.
func (w *work) staysInside(p *pattern.Piece, line geom.Path, ptr string) error {
	const (
		every = 2.0  // mm
		end   = 40.0 // mm from an end: a line that runs into an edge smoothly stays beside it for a while
		clear = 0.5  // mm from the outline on the way
		slack = 0.02 // mm outside the outline near an end
	)
	out := p.Outline()
	l := line.Length()
	if !(l > 1) {
		return pattern.Fault{Rule: "line_too_short", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("the line is only %.2f mm long", l), Remedy: "choose two places further apart"}
	}
	n := int(min(400, math.Ceil(l/every)))
	edge := out.Index()
	for i, q := range line.Spread(n) {
		if i == 0 || i == n {
			continue
		}
		s := l * float64(i) / float64(n)
		in := edge.Contains(q)
		nearEnd := min(s, l-s) < min(end, l/4)
		if in && nearEnd {
			continue
		}
		d := edge.Distance(q, clear)
		if in && d >= clear || !in && nearEnd && d <= slack {
			continue
		}
		e, _, at, _ := p.Nearest(q)
		switch {
		case !in && d > slack:
			return pattern.Fault{Rule: "line_leaves_piece", Pointer: ptr, Piece: p.Name, Edge: p.Edges[e].Name,
				Detail: fmt.Sprintf("the line leaves the piece %q at (%.1f, %.1f) over edge %s", p.Name, at.X, at.Y, p.Edges[e].Name),
				Valid:  "a line inside the piece", Remedy: "move its ends, or change its fullness or directions"}
		default:
			return pattern.Fault{Rule: "line_touches_outline", Pointer: ptr, Piece: p.Name, Edge: p.Edges[e].Name,
				Detail: fmt.Sprintf("the line comes within %.2f mm of edge %s of piece %q at (%.1f, %.1f)", d, p.Edges[e].Name, p.Name, at.X, at.Y),
				Valid:  fmt.Sprintf("at least %g mm between the line and the outline, away from its ends", clear), Remedy: "move its ends, or change its fullness or directions"}
		}
	}
	return nil
}

// inflections counts where a line turns from one hand to the other, beyond what rounding does.
func inflections(p geom.Path) int {
	const n = 64
	last, count := 0.0, 0
	for _, s := range p {
		if s.Straight {
			continue
		}
		for i := 0; i <= n; i++ {
			k := s.Curvature(float64(i) / n)
			if math.Abs(k) < 1e-7 {
				continue
			}
			if last*k < 0 {
				count++
			}
			last = k
		}
	}
	return count
}

// degrees is the unsigned angle between two directions.
func degrees(a, b geom.Vec) float64 { return math.Abs(a.AngleTo(b)) * 180 / math.Pi }
