package inspect

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// marks: each lies where it says it does, on the piece, and clear of the corners.
func (w *watch) marks() {
	for i := range w.s.Pattern.Pieces {
		p := &w.s.Pattern.Pieces[i]
		if len(p.Marks) == 0 {
			continue
		}
		var out geom.Path // for marks inside only
		corners := w.corners(p)
		for k := range p.Marks {
			m := &p.Marks[k]
			off := 0.0
			if m.Edge != "" {
				e := p.EdgeNamed(m.Edge)
				if e < 0 {
					w.say(Check{Rule: "mark_edge", Piece: p.Name, Place: m.Name, Measured: 1, Unit: Count,
						Text: fmt.Sprintf("The mark %s of %s lies on an edge %s that is not there.", m.Name, p.Name, m.Edge)})
					continue
				}
				off = p.Edges[e].Path.PointAt(m.S).Dist(m.At)
			} else {
				if out == nil {
					out = p.Outline()
				}
				if !out.Contains(m.At) {
					_, off = out.Project(m.At)
				}
			}
			w.say(Check{Rule: "mark_inside", Piece: p.Name, Place: m.Name, Measured: off, Tolerance: w.o.OnEdge, Unit: MM,
				Text: fmt.Sprintf("The %s %s lies on %s, off by %.2f mm.", m.Kind, m.Name, p.Name, off)})
			w.clear(p, m, corners)
		}
	}
}

// place is a named point of an outline.
type place struct {
	name string
	at   geom.Point
}

// corners lists where the outline turns: an edge's end where it runs on smoothly is no corner.
func (w *watch) corners(p *pattern.Piece) []place {
	out := make([]place, 0, len(p.Edges))
	for i := range p.Edges {
		in, on := p.Edges[(i+len(p.Edges)-1)%len(p.Edges)].Path, p.Edges[i].Path
		if turn := math.Abs(Interior(in, on)-math.Pi) * 180 / math.Pi; turn < w.o.CornerTurn {
			continue
		}
		out = append(out, place{p.Edges[i].From, on.Start()})
	}
	return out
}

// clear: a notch near a corner is cut away with it. A dot exactly on a corner states that corner, as a
// crown dot does.
func (w *watch) clear(p *pattern.Piece, m *pattern.Mark, corners []place) {
	near, at := far, ""
	for _, c := range corners {
		if d := m.At.Dist(c.at); d < near {
			near, at = d, c.name
		}
	}
	if at == "" || m.Kind == pattern.Dot && near <= w.o.OnEdge {
		return
	}
	w.say(Check{Rule: "mark_corner", Piece: p.Name, Place: m.Name, Measured: near, Want: pattern.Range{Min: w.o.Corner, Max: far}, Unit: MM,
		Text: fmt.Sprintf("The %s %s of %s is %.1f mm from the corner %s.", m.Kind, m.Name, p.Name, near, at)})
}
