package draft

import (
	"fmt"
	"math"
	"strconv"

	"sizerun/internal/pattern"
)

// board is where one size is drawn.
type board struct {
	size          string
	body          map[string]float64 // measurements, guessed ones included
	ease, lengths map[string]float64
	numbers       map[string]float64
	pieces        []pattern.Piece
	seams         []pattern.Seam
	faults        pattern.Faults
}

// m is a measurement.
func (b *board) m(name string) float64 { return b.body[name] }

// failed tells that the draft can't go on.
func (b *board) failed() bool { return len(b.faults) > 0 }

// refuse says that this body can't be drafted: the measurement to look at, what is wrong, what would do.
func (b *board) refuse(rule, measure, detail, valid, remedy string) {
	b.faults = append(b.faults, pattern.Fault{Rule: rule, Pointer: pattern.Pointer("body", measure), Size: b.size, Detail: detail, Valid: valid, Remedy: remedy})
}

// within refuses when v, which follows from a measurement, is out of range.
func (b *board) within(measure, what string, v, lo, hi float64, remedy string) bool {
	if v >= lo && v <= hi {
		return true
	}
	b.refuse("draft_range", measure, fmt.Sprintf("with these measurements %s is %s mm", what, whole(v)), fmt.Sprintf("%s to %s mm", whole(lo), whole(hi)), remedy)
	return false
}

// whole writes millimetres for people: to a tenth, whatever the value.
func whole(v float64) string {
	if math.IsNaN(v) || math.Abs(v) > 1e6 {
		return "far too many"
	}
	return strconv.FormatFloat(math.Round(v*10)/10, 'f', -1, 64)
}

// put adds a finished piece, or refuses an outline that is none.
func (b *board) put(p pattern.Piece, measure string) {
	for _, f := range pattern.CheckOutline(p.Name, p.Edges) {
		f.Size = b.size
		f.Pointer = pattern.Pointer("body", measure)
		f.Remedy = "check the measurements against each other; a body of these proportions needs a block drawn by hand"
		b.faults = append(b.faults, f)
	}
	b.pieces = append(b.pieces, p)
}

func (b *board) seam(s pattern.Seam) { b.seams = append(b.seams, s) }

// refs names edges of one piece, walked with the outline.
func refs(piece string, edges ...string) []pattern.EdgeRef {
	out := make([]pattern.EdgeRef, len(edges))
	for i, e := range edges {
		out[i] = pattern.EdgeRef{Piece: piece, Edge: e}
	}
	return out
}

// against names edges of one piece, walked against the outline.
func against(piece string, edges ...string) []pattern.EdgeRef {
	out := refs(piece, edges...)
	for i := range out {
		out[i].Against = true
	}
	return out
}

// meet pairs marks of two pieces that have the same name on both.
func meet(sew, to string, marks ...string) [][2]pattern.MarkRef {
	out := make([][2]pattern.MarkRef, len(marks))
	for i, m := range marks {
		out[i] = [2]pattern.MarkRef{{Piece: sew, Mark: m}, {Piece: to, Mark: m}}
	}
	return out
}
