package change

import (
	"fmt"
	"iter"
	"math"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// meeting is a pair of notches of a seam.
type meeting struct {
	seam string
	pair [2]pattern.MarkRef
}

// walked goes over the seams with the walks along what is sewn and what it is sewn to. A seam with a side that
// can't be walked is passed over.
func (w *work) walked() iter.Seq2[*pattern.Seam, [2]inspect.Chain] {
	return func(yield func(*pattern.Seam, [2]inspect.Chain) bool) {
		for i := range w.p.Seams {
			s := &w.p.Seams[i]
			sew, err1 := inspect.Walk(&w.p, s.Sew)
			to, err2 := inspect.Walk(&w.p, s.To)
			if err1 == nil && err2 == nil && !yield(s, [2]inspect.Chain{sew, to}) {
				return
			}
		}
	}
}

// notchesApart is how far each pair of notches that meet lies apart, walked from the start of its seam.
func (w *work) notchesApart() map[meeting]float64 {
	out := map[meeting]float64{}
	for s, sides := range w.walked() {
		sew, to := sides[0], sides[1]
		for _, n := range s.Notches {
			a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
			b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
			if ok1 && ok2 {
				out[meeting{s.Name, n}] = a - b
			}
		}
	}
	return out
}

// notchesMeet refuses what has moved notches apart that met before. Seams that are gathered all along are
// left out: their notches meet in proportion.
func (w *work) notchesMeet(ptr string, before map[meeting]float64, remedy string) error {
	now := w.notchesApart()
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for _, n := range s.Notches {
			was, ok1 := before[meeting{s.Name, n}]
			is, ok2 := now[meeting{s.Name, n}]
			if d := math.Abs(is - was); ok1 && ok2 && !s.Gathers && d > 0.1 {
				return pattern.Fault{Rule: "notches_apart", Pointer: ptr, Piece: n[0].Piece, Detail: fmt.Sprintf("seam %s: the notches %s of %s and %s of %s would come to lie %.1f mm further apart", s.Name, n[0].Mark, n[0].Piece, n[1].Mark, n[1].Piece, d), Remedy: remedy}
			}
		}
	}
	return nil
}

// easesByName are the eases of all seams, gathers apart.
func (w *work) easesByName() map[string]float64 {
	out := map[string]float64{}
	for s, sides := range w.walked() {
		out[s.Name] = sides[0].Len - sides[1].Len - s.Drawn
	}
	return out
}

// seamsMatch refuses what has changed the ease of a seam that was there before and is not told to.
func (w *work) seamsMatch(ptr string, before map[string]float64, remedy string) error {
	now := w.easesByName()
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		was, ok1 := before[s.Name]
		is, ok2 := now[s.Name]
		if d := is - was; ok1 && ok2 && !s.Gathers && math.Abs(d) > 0.1 {
			return pattern.Fault{Rule: "seam_broken", Pointer: ptr, Piece: s.Sew[0].Piece, Edge: s.Sew[0].Edge, Detail: fmt.Sprintf("seam %s would no longer match: one side gains %.1f mm more than the other", s.Name, d), Remedy: remedy}
		}
	}
	return nil
}
