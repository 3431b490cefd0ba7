package change

import (
	"fmt"
	"math"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// What is sewn stays sewn, whatever a change does: seams keep their stated ease, notches that met still
// meet, the legs of a dart are equal. Most changes see to it themselves and say it better; what they do not
// think of, an edge that an earlier change has sewn to something, is refused here.

// The tolerances are those by which the finished pattern is inspected.
const (
	sewnOff  = 0.5 // mm that a seam may be off its ease
	notchOff = 1.0 // mm
)

// stillSewn refuses a seam or a dart that matched before and no longer does.
func (w *work) stillSewn(before *pattern.Pattern) error {
	old := map[string]*pattern.Seam{}
	for i := range before.Seams {
		old[before.Seams[i].Name] = &before.Seams[i]
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		off, apart := unmatched(&w.p, s)
		if off == 0 && apart == "" {
			continue
		}
		o := old[s.Name]
		if o == nil {
			continue // a new seam is the change's own affair, and inspected
		}
		wasOff, wasApart := unmatched(before, o)
		f := pattern.Fault{Rule: "seam_broken", Piece: s.Sew[0].Piece, Edge: s.Sew[0].Edge, Remedy: "put this change before the one that sews that seam, or change both its sides alike"}
		switch {
		case math.Abs(off) > math.Abs(wasOff)+0.1:
			f.Detail = fmt.Sprintf("seam %s would be %.1f mm off: one of its sides has changed and not the other", s.Name, math.Abs(off))
			return f
		case apart != "" && wasApart == "":
			f.Rule, f.Detail = "notches_apart", fmt.Sprintf("seam %s: the notches %s would no longer meet", s.Name, apart)
			return f
		}
	}
	for i := range w.p.Pieces {
		if err := legsEqual(&w.p.Pieces[i], before.PieceNamed(w.p.Pieces[i].Name)); err != nil {
			return err
		}
	}
	return nil
}

// unmatched is how far a seam is off its ease, 0 within tolerance, and which of its notches do not meet.
func unmatched(p *pattern.Pattern, s *pattern.Seam) (off float64, apart string) {
	sew, err1 := inspect.Walk(p, s.Sew)
	to, err2 := inspect.Walk(p, s.To)
	if err1 != nil || err2 != nil {
		return 0, ""
	}
	d := sew.Len - to.Len - s.Drawn
	if !s.Ease.Has(d, sewnOff) {
		off = d - math.Max(s.Ease.Min, math.Min(s.Ease.Max, d))
	}
	if s.Cap || s.Gathers {
		return off, "" // their notches meet in proportion, or with ease between them
	}
	want := pattern.Range{Min: math.Min(0, s.Ease.Min) + math.Min(0, s.Drawn), Max: math.Max(0, s.Ease.Max) + math.Max(0, s.Drawn)}
	for _, n := range s.Notches {
		a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
		b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
		if !ok1 || !ok2 || !want.Has(a-b, notchOff) {
			apart = n[0].Mark + " and " + n[1].Mark
		}
	}
	return off, apart
}

// legsEqual refuses a dart whose legs were equal and are no longer.
func legsEqual(p, was *pattern.Piece) error {
	if was == nil {
		return nil
	}
	unequal := func(q *pattern.Piece, d *pattern.Dart) float64 {
		i, k := q.EdgeNamed(d.First), q.EdgeNamed(d.Second)
		if i < 0 || k < 0 {
			return 0
		}
		return math.Abs(q.Edges[i].Path.Length() - q.Edges[k].Path.Length())
	}
	for i := range p.Darts {
		d := &p.Darts[i]
		// Cloth that is to shrink unequally has legs that are equal after the wash.
		slack := sewnOff
		if k := p.EdgeNamed(d.First); k >= 0 {
			slack += 2 * math.Abs(p.Shrinks.Warp-p.Shrinks.Weft) * p.Edges[k].Path.Length()
		}
		if by := unequal(p, d); by > slack && unequal(was, d) <= slack {
			return pattern.Fault{Rule: "dart_legs", Piece: p.Name, Edge: d.First, Detail: fmt.Sprintf("the legs of dart %s of %s would differ by %.1f mm", d.Name, p.Name, by), Remedy: "keep clear of the dart, or close it first"}
		}
	}
	return nil
}
