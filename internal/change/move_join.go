package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// joinAt lays piece b against piece a, edge eb on edge ea, and makes one piece of the two without that
// seam. Both edges must be straight and equal. It tells what b's edges are called now.
func joinAt(a, b *pattern.Piece, ea, eb string) (pattern.Piece, map[string]string, error) {
	const same = 0.1
	i, j := a.EdgeNamed(ea), b.EdgeNamed(eb)
	if i < 0 || j < 0 {
		return pattern.Piece{}, nil, pattern.Fault{Rule: "unknown_edge", Piece: a.Name, Edge: ea, Detail: fmt.Sprintf("%s and %s have no edges %s and %s to be joined at", a.Name, b.Name, ea, eb), Remedy: "leave them apart"}
	}
	x, y := a.Edges[i].Path, b.Edges[j].Path
	if !isStraight(x) || !isStraight(y) || math.Abs(x.Length()-y.Length()) > same {
		return pattern.Piece{}, nil, pattern.Fault{Rule: "cannot_join", Piece: a.Name, Edge: ea,
			Detail: fmt.Sprintf("%s and %s cannot be laid together at %s (%.1f mm) and %s (%.1f mm)", a.Name, b.Name, ea, x.Length(), eb, y.Length()),
			Valid:  "two straight edges of the same length", Remedy: "leave them apart"}
	}
	fold := func(p *pattern.Piece) bool {
		for k := range p.Edges {
			if p.Edges[k].Fold {
				return true
			}
		}
		return false
	}
	fa, fb := fold(a), fold(b)
	if fa && fb {
		return pattern.Piece{}, nil, pattern.Fault{Rule: "two_folds", Piece: a.Name, Edge: ea, Detail: fmt.Sprintf("joined, %s and %s would lie on two folds of the cloth", a.Name, b.Name), Remedy: "leave them apart"}
	}
	turn := y.StartTangent().AngleTo(x.StartTangent().Neg())
	m := geom.RotateAbout(y.Start(), turn)
	m = m.Then(geom.Translate(x.End().Sub(y.Start())))
	q := a.Clone()
	if fb {
		q.Cut = b.Cut
	}
	q.Edges, q.Darts = nil, append([]pattern.Dart(nil), a.Darts...)
	n, k := len(a.Edges), len(b.Edges)
	for s := 1; s < n; s++ {
		q.Edges = append(q.Edges, a.Edges[(i+s)%n])
	}
	names := map[string]string{}
	corners := func(s string) bool { return knows(a)(s) }
	last := len(q.Edges) - 1
	corner := map[string]string{b.Edges[j].To: q.Edges[last].To, b.Edges[j].From: q.Edges[0].From}
	for s := 1; s < k; s++ {
		e := b.Edges[(j+s)%k]
		was := e.Name
		e.Name = free(was, func(t string) bool { return q.EdgeNamed(t) >= 0 || t == ea })
		names[was] = e.Name
		e.Path = e.Path.Transform(m)
		e.Src = pattern.Source{Piece: q.Name, Edge: e.Name, S1: e.Path.Length()}
		for _, c := range []*string{&e.From, &e.To} {
			if _, ok := corner[*c]; !ok {
				corner[*c] = free(*c, corners)
			}
			*c = corner[*c]
		}
		q.Edges = append(q.Edges, e)
	}
	first, end := &q.Edges[last+1], &q.Edges[len(q.Edges)-1]
	first.Path = closeTo(first.Path, q.Edges[last].Path.End(), first.Path.End())
	end.Path = closeTo(end.Path, end.Path.Start(), q.Edges[0].Path.Start())
	// Marks that lay on the seam are inside now; those at its ends lie on the edge beside.
	q.Marks = nil
	for _, c := range a.Marks {
		if c.Edge == ea {
			c = offSeam(&q, c)
		}
		q.Marks = append(q.Marks, c)
	}
	for _, c := range b.Marks {
		c.At = m.Apply(c.At)
		if c.Edge == eb {
			c = offSeam(&q, c)
		} else if c.Edge != "" {
			c.Edge = names[c.Edge]
		}
		if o := q.MarkNamed(c.Name); o != nil {
			if o.At.Dist(c.At) <= same {
				continue
			}
			c.Name = free(c.Name, func(t string) bool { return knows(&q)(t) })
		}
		q.Marks = append(q.Marks, c)
	}
	for _, l := range b.Lines {
		l.Path = l.Path.Transform(m)
		q.Lines = append(q.Lines, l)
	}
	for _, d := range b.Darts {
		d.First, d.Second = names[d.First], names[d.Second]
		if t, ok := names[d.Towards]; ok {
			d.Towards = t
		}
		q.Darts = append(q.Darts, d)
	}
	fitGrain(&q)
	return q, names, nil
}

// offSeam takes a mark off an edge that is no longer there.
func offSeam(q *pattern.Piece, m pattern.Mark) pattern.Mark {
	e, s, at, d := q.Nearest(m.At)
	if d <= pattern.Near {
		m.Edge, m.S, m.At = q.Edges[e].Name, s, at
		return m
	}
	m.Edge, m.S = "", 0
	if m.Kind == pattern.Notch {
		m.Kind, m.Count = pattern.Dot, 0
	}
	return m
}
