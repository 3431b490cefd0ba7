package change

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// cutLine is a line drawn over a piece, and what its parts are to call it.
type cutLine struct {
	from, to spot
	path     geom.Path // from from to to
	edge     string    // name of the new edge on both parts
	src      pattern.Source
	own      *pattern.Allowance
}

// frag is a stretch of an old edge that a new edge is.
type frag struct {
	old    int // index of the old edge, -1 for the new line
	s0, s1 float64
}

// tiny is the length below which a stretch is no edge of its own: the line ends at a corner then.
const tiny = 1e-6

// leftOf cuts out of pc what lies on the left hand of one who walks the line; rightOf the rest. Both
// keep the old edges where they are, as the same curves, and carry marks, lines and darts.
func leftOf(pc *pattern.Piece, l cutLine, name string) (pattern.Piece, error) {
	return part(pc, l.to, l.from, l.path, l, name)
}

func rightOf(pc *pattern.Piece, l cutLine, name string) (pattern.Piece, error) {
	return part(pc, l.from, l.to, l.path.Reverse(), l, name)
}

// part keeps the outline from a round to b and closes it by back, which runs from b to a.
func part(pc *pattern.Piece, a, b spot, back geom.Path, l cutLine, name string) (pattern.Piece, error) {
	var frags []frag
	add := func(i int, s0, s1 float64) {
		if s1-s0 > tiny {
			frags = append(frags, frag{i, s0, s1})
		}
	}
	n := len(pc.Edges)
	long := func(i int) float64 { return pc.Edges[i].Path.Length() }
	if a.edge == b.edge && b.s > a.s {
		add(a.edge, a.s, b.s)
	} else {
		add(a.edge, a.s, long(a.edge))
		for i := (a.edge + 1) % n; i != b.edge; i = (i + 1) % n {
			add(i, 0, long(i))
		}
		add(b.edge, 0, b.s)
	}
	if len(frags) == 0 {
		return pattern.Piece{}, pattern.Fault{Rule: "no_part", Piece: pc.Name, Detail: "the line cuts nothing off", Remedy: "choose two different places"}
	}
	q := pc.Clone()
	q.Name, q.Edges = name, nil
	for _, f := range frags {
		e := pc.Edges[f.old]
		whole := f.s0 <= tiny && f.s1 >= long(f.old)-tiny
		if !whole {
			e.Path = e.Path.Sub(f.s0, f.s1)
			e.Src = subSource(e.Src, f.s0, f.s1, long(f.old))
		}
		e.Name = free(e.Name, func(s string) bool { return q.EdgeNamed(s) >= 0 })
		if f.s0 > tiny {
			e.From = ""
		}
		if f.s1 < long(f.old)-tiny {
			e.To = ""
		}
		q.Edges = append(q.Edges, e)
	}
	back = closeTo(back, q.Edges[len(q.Edges)-1].Path.End(), q.Edges[0].Path.Start())
	line := pattern.Edge{Path: back, Own: l.own, Src: l.src}
	line.Name = free(l.edge, func(s string) bool { return q.EdgeNamed(s) >= 0 })
	if line.Src == (pattern.Source{}) {
		line.Src = pattern.Source{Piece: name, Edge: line.Name, S1: back.Length()}
	}
	q.Edges = append(q.Edges, line)
	frags = append(frags, frag{old: -1})
	nameCorners(&q, line.Name)
	if err := carryMarks(pc, &q, frags); err != nil {
		return pattern.Piece{}, err
	}
	if err := carryDarts(pc, &q, frags); err != nil {
		return pattern.Piece{}, err
	}
	q.Lines = clipLines(pc.Lines, l.path, q.Outline())
	carryCut(pc, &q)
	fitGrain(&q)
	return q, nil
}

// nameCorners gives the two ends of a new line names of their own; corners that it ends at keep theirs.
func nameCorners(q *pattern.Piece, line string) {
	n := len(q.Edges)
	for i := range q.Edges {
		e, next := &q.Edges[i], &q.Edges[(i+1)%n]
		if e.Name == line && i == n-1 {
			break
		}
		if next.Name != line {
			if e.To == "" || next.From == "" {
				e.To = next.From
			}
		}
	}
	last := n - 1
	prev, first := &q.Edges[last-1], &q.Edges[0]
	taken := knows(q)
	if prev.To == "" {
		prev.To = free(line+"_start", taken)
	}
	q.Edges[last].From = prev.To
	if first.From == "" {
		first.From = free(line+"_end", taken)
	}
	q.Edges[last].To = first.From
}

// closeTo lets a path begin and end exactly at the given points, which it does but for rounding.
func closeTo(p geom.Path, a, b geom.Point) geom.Path {
	q := append(geom.Path{}, p...)
	first := &q[0]
	if first.Straight {
		*first = geom.Line(a, first.P3)
	} else {
		first.P0 = a
	}
	last := &q[len(q)-1]
	if last.Straight {
		*last = geom.Line(last.P0, b)
	} else {
		last.P3 = b
	}
	return q
}

// carryCut: a part that no longer touches the fold is cut as a mirrored pair for every piece that was
// cut on the fold.
func carryCut(pc, q *pattern.Piece) {
	had, has := false, false
	for i := range pc.Edges {
		had = had || pc.Edges[i].Fold
	}
	for i := range q.Edges {
		has = has || q.Edges[i].Fold
	}
	if had && !has && !pc.Cut.Pair {
		q.Cut.Count = min(2*pc.Cut.Count, pattern.MaxCut)
		q.Cut.Pair = true
	}
}

// replace puts parts where a piece was, and gives the seams that spoke of it a new home.
func (w *work) replace(old string, parts ...pattern.Piece) error {
	k := -1
	for i := range w.p.Pieces {
		if w.p.Pieces[i].Name == old {
			k = i
		}
	}
	was := w.p.Pieces[k]
	for _, q := range parts {
		for i := range w.p.Pieces {
			if i != k && w.p.Pieces[i].Name == q.Name {
				return pattern.Fault{Rule: "name_taken", Piece: q.Name, Detail: fmt.Sprintf("there is a piece %q already", q.Name),
					Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
			}
		}
		w.made = append(w.made, q.Name)
	}
	all := append([]pattern.Piece(nil), w.p.Pieces[:k]...)
	all = append(all, parts...)
	w.p.Pieces = append(all, w.p.Pieces[k+1:]...)
	return w.rehome(&was, parts)
}
