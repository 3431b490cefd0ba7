package change

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What is promised, said and drawn of a strip.

// stripPromises measures the strip that was made against what it is sewn to.
func (w *work) stripPromises(s *strip, m *madeStrip, what string) {
	run, err := inspect.Walk(&w.p, s.run.refs)
	if err != nil {
		return
	}
	for _, e := range m.sewn {
		l := edgeLength(m.piece, e) * float64(m.n)
		want := run.Len * s.long / s.run.len
		if m.lengths && m.as != cutEach {
			run.Len, want = 2*run.Len, 2*want
		}
		w.promise(inspect.Check{Rule: w.change + "_length", Piece: s.name, Place: e, Measured: l - want, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("%s.%s is %.1f mm long for %.1f mm of %s.", s.name, e, l, run.Len, what)})
	}
	if m.lengths {
		return // the lengths are alike: none of them has notches of its own
	}
	off := 0.0
	for _, n := range m.seams {
		for i := range w.p.Seams {
			seam := &w.p.Seams[i]
			if seam.Name != n {
				continue
			}
			a, err1 := inspect.Walk(&w.p, seam.Sew)
			b, err2 := inspect.Walk(&w.p, seam.To)
			if err1 != nil || err2 != nil {
				off = math.Inf(1)
				continue
			}
			for _, x := range seam.Notches {
				d, ok1 := a.MarkAt(x[0].Piece, x[0].Mark)
				e, ok2 := b.MarkAt(x[1].Piece, x[1].Mark)
				if !ok1 || !ok2 {
					off = math.Inf(1)
					continue
				}
				off = math.Max(off, math.Abs(d/a.Len-e/b.Len)*math.Max(a.Len, b.Len))
			}
		}
	}
	w.promise(inspect.Check{Rule: w.change + "_notches", Piece: s.name, Place: m.sewn[0], Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The notches of %s lie where those of %s come to when it is sewn on evenly.", s.name, what)})
}

// said names the edges of a run for a sentence: "the waist of front and back".
func (r seamRun) said() string { return r.words }

// runSaid puts a run in words: of every piece its edges, or what they are parts of where the run goes along all of it.
func (w *work) runSaid(refs []pattern.EdgeRef) string {
	var parts, pieces []string
	last := ""
	for i := 0; i < len(refs); {
		k := i
		var edges []string
		for ; k < len(refs) && refs[k].Piece == refs[i].Piece; k++ {
			edges = append(edges, refs[k].Edge)
		}
		line := said(lineOf(w.p.PieceNamed(refs[i].Piece), edges))
		if line != last && last != "" {
			parts, pieces = append(parts, "the "+last+" of "+said(pieces)), nil
		}
		last, pieces = line, append(pieces, refs[i].Piece)
		i = k
	}
	return said(append(parts, "the "+last+" of "+said(pieces)))
}

// lineOf gives the edges of a piece as words; all those that one word begins with, such as waist_centre and waist_side, are that
// word. Legs of darts lie between them.
func lineOf(p *pattern.Piece, edges []string) []string {
	word, _, _ := strings.Cut(edges[0], "_")
	n, all := 0, len(edges) > 1
	for i := range p.Edges {
		if first, _, _ := strings.Cut(p.Edges[i].Name, "_"); first == word && !p.IsLeg(p.Edges[i].Name) {
			n++
		}
	}
	words := make([]string, len(edges))
	for i, e := range edges {
		first, _, _ := strings.Cut(e, "_")
		all = all && first == word
		words[i] = spoken(e)
	}
	if all && n == len(edges) {
		return []string{word}
	}
	return words
}

// several is a number of things in words: "1 notch", "2 notches".
func several(n int, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

// lapped tells of an overlap, if there is one.
func lapped(by float64) string {
	if by == 0 {
		return ""
	}
	return ", the overlap of " + say(by) + " included,"
}

// moved is a piece moved as a whole.
func moved(p pattern.Piece, m geom.Affine) pattern.Piece {
	q := p.Clone()
	for i := range q.Edges {
		q.Edges[i].Path = q.Edges[i].Path.Transform(m)
	}
	for i := range q.Marks {
		q.Marks[i].At = m.Apply(q.Marks[i].At)
	}
	for i := range q.Lines {
		q.Lines[i].Path = q.Lines[i].Path.Transform(m)
	}
	q.Grain = [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}
	q.Align = m.Apply(p.Align)
	return q
}

// titled is a name as a title: "hem_ruffle" is a Hem ruffle.
func titled(name string) string { return title(strings.ReplaceAll(name, "_", " ")) }

func (r seamRun) pieces() []string {
	var out []string
	for _, x := range r.refs {
		if len(out) == 0 || out[len(out)-1] != x.Piece {
			out = append(out, x.Piece)
		}
	}
	return out
}

// stripMarks draws the notches of a strip as short strokes. Only those that stand for seams have a number: there may be dozens.
func (w *work) stripMarks(l *plan, p *pattern.Piece, m *madeStrip) {
	const deep = 8.0 // mm, to be seen at the scale of a drawing
	met := map[string]bool{}
	for i := range w.p.Seams {
		if s := &w.p.Seams[i]; slices.Contains(m.seams, s.Name) {
			for _, n := range s.Notches {
				for _, x := range n {
					met[x.Mark] = met[x.Mark] || x.Piece == p.Name
				}
			}
		}
	}
	for _, x := range p.Marks {
		if !met[x.Name] {
			l.point(x.At, x.Name)
		}
		if e := p.EdgeNamed(x.Edge); e >= 0 {
			in := p.Edges[e].Path.TangentAt(x.S).Left()
			l.line(New, p.Name, geom.Polyline(x.At, x.At.Add(in.Mul(deep))), "")
		}
	}
}

// stripDrawing redoes the strip by hand: measure, draw, mark.
func (w *work) stripDrawing(s *strip, m *madeStrip, sum string) {
	l := plan{d: Drawing{Title: fmt.Sprintf("%s, size %s", titled(s.name), w.p.Size)}}
	box := geom.EmptyRect()
	last := ""
	for _, r := range s.run.refs {
		if q := w.p.PieceNamed(r.Piece); q.Name != last {
			l.line(Outline, q.Name, q.Outline(), q.Name)
			box, last = box.Union(q.Outline().Bounds()), q.Name
		}
	}
	l.step("Measure along the seam line of %s, darts folded: %s in all.", s.run.said(), say(s.run.len))
	for _, r := range s.run.refs {
		q := w.p.PieceNamed(r.Piece)
		e := q.Edges[q.EdgeNamed(r.Edge)].Path
		a, b := l.point(e.Start(), r.Piece+"."+r.Edge+" begins"), l.point(e.End(), r.Piece+"."+r.Edge+" ends")
		l.measure(a, b, e, r.Piece+"."+r.Edge)
	}
	l.step("%s", sum)
	// The strip is drawn below the pieces that it was measured from.
	const apart = 60.0
	own := m.piece.Outline().Bounds()
	beside := geom.Translate(geom.Vec{X: box.Min.X - own.Min.X, Y: box.Min.Y - apart - own.Max.Y})
	moved := moved(*m.piece, beside)
	p := &moved
	l.line(New, p.Name, p.Outline(), p.Name)
	k := p.EdgeNamed("end")
	if k < 0 {
		k = p.EdgeNamed("begin") // the end lies on the fold
	}
	e := p.Edges[k].Path
	from := 0
	for i, n := range m.sewn {
		x := p.Edges[p.EdgeNamed(n)].Path
		label := "sewn edge"
		if i == 0 {
			from = l.point(x.Start(), label+" begins")
		} else {
			label += ", other half"
		}
		to := l.point(x.End(), map[bool]string{true: label + " ends", false: "middle"}[i == len(m.sewn)-1])
		l.measure(from, to, x, label)
		from = to
	}
	ends := [2]string{"end, sewn edge", "end, other edge"}
	if p.Edges[k].Name == "begin" {
		ends[0], ends[1] = ends[1], ends[0]
	}
	a, b := l.point(e.Start(), ends[0]), l.point(e.End(), ends[1])
	l.measure(a, b, e, "width")
	for _, x := range p.Lines {
		l.line(Construction, p.Name, x.Path, x.Name)
	}
	l.step("Mark the seams and notches of the edges at the same distances, as shares of the length, and draw the grain line.")
	w.stripMarks(&l, p, m)
	l.line(Construction, p.Name, geom.Polyline(p.Grain[0], p.Grain[1]), "grain")
	w.res.Drawing = l.d
}
