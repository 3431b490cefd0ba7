package change

import (
	"fmt"
	"math"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// join lays another yoke to this one along the seam between them, which is no seam any more: the front's shoulder
// part is cut in one with the back's yoke.
func (a *yokeArgs) join(w *work) error {
	o, err := w.piece("/join", a.Join)
	if err != nil {
		return err
	}
	between := -1
	var mine, other pattern.EdgeRef
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		if len(s.Sew) != 1 || len(s.To) != 1 {
			continue
		}
		for _, r := range [2][2]pattern.EdgeRef{{s.Sew[0], s.To[0]}, {s.To[0], s.Sew[0]}} {
			if r[0].Piece == a.Name && r[1].Piece == a.Join {
				between, mine, other = i, r[0], r[1]
			}
		}
	}
	if between < 0 || a.Join == a.Name {
		return pattern.Fault{Rule: "no_seam", Pointer: "/join", Piece: a.Join, Detail: fmt.Sprintf("no seam sews a whole edge of %s to one of %s", a.Join, a.Name), Valid: "a piece that is sewn to the yoke along one edge", Remedy: "make that yoke first, so that it has the whole shoulder, or leave join out"}
	}
	x := w.p.PieceNamed(a.Name).Clone()
	marks := map[string]string{}
	b := o.Clone()
	for i := range b.Marks {
		m := &b.Marks[i]
		was := m.Name
		if x.MarkNamed(m.Name) != nil {
			m.Name = free(a.Join+"_"+m.Name, func(n string) bool { return knows(&x)(n) || knows(&b)(n) })
		}
		marks[was] = m.Name
	}
	q, names, err := joinAt(&x, &b, mine.Edge, other.Edge)
	if err != nil {
		return blame(err, "/join")
	}
	long := x.Edges[x.EdgeNamed(mine.Edge)].Path.Length()
	w.p.Seams = append(w.p.Seams[:between], w.p.Seams[between+1:]...)
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			for k := range refs {
				if refs[k].Piece == a.Join {
					refs[k].Piece, refs[k].Edge = a.Name, names[refs[k].Edge]
				}
			}
		}
		for k := range s.Notches {
			for h := range s.Notches[k] {
				if r := &s.Notches[k][h]; r.Piece == a.Join {
					r.Piece, r.Mark = a.Name, marks[r.Mark]
				}
			}
		}
	}
	var pieces []pattern.Piece
	for _, p := range w.p.Pieces {
		if p.Name != a.Join {
			pieces = append(pieces, p)
		}
	}
	w.p.Pieces = pieces
	w.put(q)
	a.joined(w, &x, &b, w.p.PieceNamed(a.Name), names)
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{a.Name},
		Text:    fmt.Sprintf("%s is cut in one with %s: between them nothing is sewn.", titled(a.Join), a.Name),
		Amounts: []Amount{{"seam that is gone", long}}})
	d := plan{d: w.res.Drawing}
	d.step("Lay %s to it along the seam between them, %s long, and trace both as one.", a.Join, say(long))
	d.line(New, a.Name, q.Outline(), a.Name)
	w.res.Drawing = d.d
	return nil
}

// joined measures the one piece against the two.
func (a *yokeArgs) joined(w *work, x, b, q *pattern.Piece, names map[string]string) {
	off := (q.Outline().Area() - x.Outline().Area() - b.Outline().Area()) / 100
	w.promise(inspect.Check{Rule: "yoke_joined", Piece: q.Name, Place: "outline", Measured: off, Tolerance: 0.1, Unit: "cm2",
		Text: fmt.Sprintf("Joined, %s is as large as both parts were.", q.Name)})
	worst := 0.0
	for i := range b.Edges {
		e := &b.Edges[i]
		if n, ok := names[e.Name]; ok {
			worst = math.Max(worst, math.Abs(edgeLength(q, n)-e.Path.Length()))
		}
	}
	for i := range x.Edges {
		e := &x.Edges[i]
		if q.EdgeNamed(e.Name) >= 0 {
			worst = math.Max(worst, math.Abs(edgeLength(q, e.Name)-e.Path.Length()))
		}
	}
	w.promise(inspect.Check{Rule: "yoke_joined_lengths", Piece: q.Name, Place: "outline", Measured: worst, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Joined, every other edge of %s keeps its length, to %.3f mm.", q.Name, worst)})
}
