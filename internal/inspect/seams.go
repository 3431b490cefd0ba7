package inspect

import (
	"fmt"
	"math"

	"sizerun/internal/pattern"
)

// seams walks both sides of every seam.
func (w *watch) seams() {
	for i := range w.s.Pattern.Seams {
		s := &w.s.Pattern.Seams[i]
		sew, err1 := Walk(&w.s.Pattern, s.Sew)
		to, err2 := Walk(&w.s.Pattern, s.To)
		if err1 != nil || err2 != nil {
			if err1 == nil {
				err1 = err2
			}
			w.say(Check{Rule: "seam_edges", Place: s.Name, Measured: 1, Unit: Count,
				Text: fmt.Sprintf("Seam %s names an edge that is not there: %s.", s.Name, pattern.FaultsOf(err1)[0].Detail)})
			continue
		}
		w.length(s, sew, to)
		w.notches(s, sew, to)
		if s.SmoothStart {
			w.smooth(s, sew, to, false)
		}
		if s.SmoothEnd {
			w.smooth(s, sew, to, true)
		}
	}
}

func (w *watch) length(s *pattern.Seam, sew, to Chain) {
	d := sew.Len - to.Len - s.Drawn
	text := fmt.Sprintf("Seam %s: %.1f mm is sewn to %.1f mm, a difference of %+.2f mm.", s.Name, sew.Len, to.Len, d)
	if s.Ease != (pattern.Range{}) {
		text = fmt.Sprintf("Seam %s: %.1f mm is eased onto %.1f mm, %+.2f mm of ease.", s.Name, sew.Len, to.Len, d)
	}
	if s.Gathers {
		text = fmt.Sprintf("Seam %s: %.1f mm is gathered onto %.1f mm.", s.Name, sew.Len, to.Len)
	}
	if s.Drawn != 0 {
		text = fmt.Sprintf("Seam %s: %.1f mm is sewn to %.1f mm; %.1f mm are drawn up in gathers, which leaves %+.2f mm of ease.", s.Name, sew.Len, to.Len, s.Drawn, d)
	}
	w.say(Check{Rule: "seam_length", Piece: sew.Links[0].Piece.Name, Place: s.Name, Measured: d, Want: s.Ease,
		Tolerance: w.o.SeamLength, Unit: MM, Text: text})
}

// notches rolls one side along the other. Without ease two notches that meet lie equally far from
// the start; with ease the sewn side may be ahead by what has been eased in on the way.
func (w *watch) notches(s *pattern.Seam, sew, to Chain) {
	for _, n := range s.Notches {
		a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
		b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
		place := n[0].Mark + " / " + n[1].Mark
		if !ok1 || !ok2 {
			lost := n[0]
			if ok1 {
				lost = n[1]
			}
			w.say(Check{Rule: "notch_there", Piece: lost.Piece, Place: lost.Mark, Measured: 1, Unit: Count,
				Text: fmt.Sprintf("Seam %s wants the mark %s of %s, which does not lie on it.", s.Name, lost.Mark, lost.Piece)})
			continue
		}
		if s.Cap {
			continue // the ease of a cap is judged notch by notch in caps
		}
		if s.Gathers && to.Len > 0 {
			// Gathered evenly, every stretch of the To side draws up the same share of the Sew side; gathers
			// can be pushed along by a little, say 0.5 % of the length.
			k := sew.Len / to.Len
			w.say(Check{Rule: "notch_walk", Piece: n[0].Piece, Place: place, Measured: a - k*b, Tolerance: w.o.Notch*max(1, k) + (0.005+washesAskew(sew, to)/2)*sew.Len, Unit: MM,
				Text: fmt.Sprintf("Seam %s: %s of %s comes after %.1f mm of gathered cloth, %s of %s after %.1f mm, where %.1f mm are drawn up.",
					s.Name, n[0].Mark, n[0].Piece, a, n[1].Mark, n[1].Piece, b, k*b)})
			continue
		}
		want := pattern.Range{Min: math.Min(0, s.Ease.Min) + math.Min(0, s.Drawn), Max: math.Max(0, s.Ease.Max) + math.Max(0, s.Drawn)}
		w.say(Check{Rule: "notch_walk", Piece: n[0].Piece, Place: place, Measured: a - b, Want: want,
			Tolerance: w.o.Notch, Unit: MM,
			Text: fmt.Sprintf("Seam %s: %s of %s comes after %.1f mm, %s of %s after %.1f mm.",
				s.Name, n[0].Mark, n[0].Piece, a, n[1].Mark, n[1].Piece, b)})
	}
}

// washesAskew is how much more the cloth of a seam is still to shrink one way than the other: where an edge bends, what is
// evenly gathered before the wash is not quite so after it, by up to half of that share of its length.
func washesAskew(sides ...Chain) float64 {
	most := 0.0
	for _, c := range sides {
		for _, l := range c.Links {
			most = math.Max(most, math.Abs(l.Piece.Shrinks.Warp-l.Piece.Shrinks.Weft))
		}
	}
	return most
}

// smooth lays the two pieces together along the seam: the lines that it joins run on smoothly when
// the two inner angles make a straight angle.
func (w *watch) smooth(s *pattern.Seam, sew, to Chain, end bool) {
	a, ea := sew.corner(end)
	b, eb := to.corner(end)
	pa, _ := sew.atEnd(end)
	pb, _ := to.atEnd(end)
	off := (a + b - math.Pi) * 180 / math.Pi
	w.say(Check{Rule: "runs_on", Piece: pa.Name, Place: ea, Measured: off, Tolerance: w.o.Smooth, Unit: Degrees,
		Text: fmt.Sprintf("Across seam %s the line from %s.%s to %s.%s turns by %.1f degrees.", s.Name, pa.Name, ea, pb.Name, eb, math.Abs(off))})
}
