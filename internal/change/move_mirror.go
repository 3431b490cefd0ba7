package change

import (
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// mirror reflects a piece in the line through at with direction d. The outline still runs
// counter-clockwise: edges come in reverse order and are walked the other way, which their sources
// tell by running down.
func mirror(p pattern.Piece, at geom.Point, d geom.Vec) pattern.Piece {
	m := geom.MirrorAbout(at, d)
	q := p.Clone()
	n := len(p.Edges)
	for i, e := range p.Edges {
		l := e.Path.Length()
		e.Path = e.Path.Reverse().Transform(m)
		e.From, e.To = e.To, e.From
		e.Src.S0, e.Src.S1 = e.Src.S1, e.Src.S0
		if e.Own != nil {
			a := *e.Own
			a.Start, a.End = a.End, a.Start
			e.Own = &a
		}
		q.Edges[n-1-i] = e
		for k := range q.Marks {
			if q.Marks[k].Edge == e.Name {
				q.Marks[k].S = l - q.Marks[k].S
			}
		}
	}
	for k := range q.Marks {
		q.Marks[k].At = m.Apply(q.Marks[k].At)
	}
	for k := range q.Lines {
		q.Lines[k].Path = q.Lines[k].Path.Transform(m)
	}
	for k := range q.Darts {
		q.Darts[k].First, q.Darts[k].Second = q.Darts[k].Second, q.Darts[k].First
	}
	q.Grain = [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}
	q.Align = m.Apply(p.Align)
	return q
}
