package change_test

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// unsound tells what is wrong with a pattern as such, whatever made it.
func unsound(p *pattern.Pattern) []string {
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	if len(p.Pieces) == 0 {
		say("there is no piece")
	}
	pieces := map[string]bool{}
	for i := range p.Pieces {
		q := &p.Pieces[i]
		if pieces[q.Name] || !pattern.ValidName(q.Name) {
			say("piece %q: the name is taken, or is none", q.Name)
		}
		pieces[q.Name] = true
		for _, w := range unsoundPiece(q) {
			say("piece %s: %s", q.Name, w)
		}
	}
	seams := map[string]bool{}
	for i := range p.Seams {
		s := &p.Seams[i]
		if seams[s.Name] || !pattern.ValidName(s.Name) {
			say("seam %q: the name is taken, or is none", s.Name)
		}
		seams[s.Name] = true
		for k, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			sewn := map[pattern.EdgeRef]int{} // equal panels are sewn to each other: both sides may name one edge
			if len(refs) == 0 {
				say("seam %s has no edge on side %d", s.Name, k)
			}
			for _, r := range refs {
				q := p.PieceNamed(r.Piece)
				if q == nil || q.EdgeNamed(r.Edge) < 0 {
					say("seam %s: %s.%s is not there", s.Name, r.Piece, r.Edge)
					continue
				}
				// Walked both ways it is there for both halves of a piece on the fold.
				if sewn[r]++; sewn[r] > q.Cut.Count {
					say("seam %s sews %s.%s more often than it is there", s.Name, r.Piece, r.Edge)
				}
			}
		}
		if !(s.Ease.Min <= s.Ease.Max) || math.IsNaN(s.Drawn) || math.IsInf(s.Ease.Max-s.Ease.Min, 0) {
			say("seam %s has the ease %v, drawn %v", s.Name, s.Ease, s.Drawn)
		}
		for _, n := range s.Notches {
			for _, m := range n {
				if q := p.PieceNamed(m.Piece); q == nil || q.MarkNamed(m.Mark) == nil {
					say("seam %s: the notch %s.%s is not there", s.Name, m.Piece, m.Mark)
				}
			}
		}
	}
	return out
}

func unsoundPiece(q *pattern.Piece) []string {
	var out []string
	say := func(format string, a ...any) { out = append(out, fmt.Sprintf(format, a...)) }
	ok := func(p geom.Point) bool { return p.Finite() && math.Abs(p.X) < 1e5 && math.Abs(p.Y) < 1e5 }
	if q.Of == "" || q.Cut.Count < 1 || q.Cut.Count > pattern.MaxCut || !pattern.ValidName(q.Cut.Cloth) {
		say("it is cut %+v of %q", q.Cut, q.Of)
	}
	if !ok(q.Grain[0]) || !ok(q.Grain[1]) || !ok(q.Align) || q.Grain[0].Dist(q.Grain[1]) < 1 {
		say("its grain is %v, it is lined up on %v", q.Grain, q.Align)
	}
	n := len(q.Edges)
	edges, corners, marks := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for i := range q.Edges {
		e, next := &q.Edges[i], &q.Edges[(i+1)%n]
		if edges[e.Name] || !pattern.ValidName(e.Name) || corners[e.From] || !pattern.ValidName(e.From) {
			say("edge %q from %q: a name is taken, or is none", e.Name, e.From)
		}
		edges[e.Name], corners[e.From] = true, true
		for _, s := range e.Path {
			if !ok(s.P0) || !ok(s.P1) || !ok(s.P2) || !ok(s.P3) {
				say("edge %s: a coordinate is out of bounds: %v", e.Name, s)
			}
		}
		if len(e.Path) == 0 || e.Path.End().Dist(next.Path.Start()) > 1e-6 || e.To != next.From {
			say("edge %s ends at %s, %s begins at %s", e.Name, e.To, next.Name, next.From)
		}
		for k := 1; k < len(e.Path); k++ {
			if e.Path[k-1].P3.Dist(e.Path[k].P0) > 1e-6 {
				say("edge %s is torn", e.Name)
			}
		}
		if l := e.Src.S1 - e.Src.S0; e.Src.Piece == "" || e.Src.Edge == "" || math.IsNaN(l) || math.IsInf(l, 0) || math.Abs(l) < 1e-6 || min(e.Src.S0, e.Src.S1) < -1e-4 {
			say("edge %s comes from %+v", e.Name, e.Src)
		}
	}
	for _, f := range pattern.CheckOutline(q.Name, q.Edges) {
		say("%s", f.Error())
	}
	for _, m := range q.Marks {
		if marks[m.Name] || !pattern.ValidName(m.Name) || !ok(m.At) || math.IsNaN(m.S) {
			say("the mark %+v is there twice, or nowhere", m)
		}
		marks[m.Name] = true
		if m.Edge == "" {
			continue
		}
		if i := q.EdgeNamed(m.Edge); i < 0 || m.S < -1e-6 || m.S > q.Edges[i].Path.Length()+1e-6 || q.Edges[i].Path.PointAt(m.S).Dist(m.At) > 1e-6 {
			say("the mark %s is not where its edge %s is", m.Name, m.Edge)
		}
	}
	for _, l := range q.Lines {
		if len(l.Path) == 0 || !ok(l.Path.Start()) || !ok(l.Path.End()) || !(l.Path.Length() > 0) {
			say("the line %s is none", l.Name)
		}
	}
	for _, d := range q.Darts {
		i, k := q.EdgeNamed(d.First), q.EdgeNamed(d.Second)
		if i < 0 || k != (i+1)%n || d.Towards != d.First && d.Towards != d.Second {
			say("the dart %s has no legs: %+v", d.Name, d)
			continue
		}
		if a, b := q.Edges[i].Path.Length(), q.Edges[k].Path.Length(); math.Abs(a-b) > 0.5+2*math.Abs(q.Shrinks.Warp-q.Shrinks.Weft)*a {
			// Cloth that shrinks unequally has legs that are equal after the wash.
			say("the legs of the dart %s are %.2f and %.2f mm long", d.Name, a, b)
		}
	}
	return out
}

// lostMarks lists marks that are gone although their cloth is not: a change may lose a mark only with the
// cloth that its drawing says is cut away, and that lies on none of its pieces, or with a whole piece that
// it was asked to leave out.
func lostMarks(p *pattern.Pattern, res *change.Result, args pattern.Arg) []string {
	has := map[string]bool{}
	for i := range res.Pattern.Pieces {
		q := &res.Pattern.Pieces[i]
		for _, m := range q.Marks {
			has[q.Of+"."+m.Name] = true
		}
	}
	var out []string
	for i := range p.Pieces {
		q := &p.Pieces[i]
		of := q.Of
		if of == "" {
			of = q.Name
		}
		if slices.Contains(leftOut(args), q.Name) || res.Pattern.PieceNamed(q.Name) == nil && saysLeftOut(res, q) {
			continue
		}
		for k := range q.Marks {
			m := &q.Marks[k]
			if !has[of+"."+m.Name] && (!saysCut(res, q) || onCloth(res, of, m)) {
				out = append(out, fmt.Sprintf("the mark %s.%s is lost", q.Name, m.Name))
			}
		}
	}
	return out
}

// leftOut are the pieces that a change is asked to take the place of.
func leftOut(args pattern.Arg) []string {
	var out []string
	for _, f := range args.Fields {
		if !strings.HasPrefix(f.Name, "instead") {
			continue
		}
		out = append(out, f.Value.Text)
		for _, v := range f.Value.List {
			out = append(out, v.Text)
		}
	}
	return out
}

// saysLeftOut tells whether the working drawing says that a piece is left out.
func saysLeftOut(res *change.Result, q *pattern.Piece) bool {
	return slices.ContainsFunc(res.Drawing.Steps, func(s string) bool {
		return strings.HasPrefix(s, "Leave out "+strings.ReplaceAll(q.Name, "_", " ")+",")
	})
}

// onCloth tells whether a mark lies well inside a piece that came of the same block piece.
func onCloth(res *change.Result, of string, m *pattern.Mark) bool {
	for i := range res.Pattern.Pieces {
		q := &res.Pattern.Pieces[i]
		if q.Of != of {
			continue
		}
		if _, off := q.Outline().Project(m.At); q.Outline().Contains(m.At) && off > 1 {
			return true
		}
	}
	return false
}

// saysCut tells whether the working drawing shows cloth of the piece as cut away.
func saysCut(res *change.Result, q *pattern.Piece) bool {
	for _, l := range res.Drawing.Lines {
		if l.Kind == change.CutAway && (l.Piece == q.Name || l.Piece == q.Of) {
			return true
		}
	}
	return false
}
