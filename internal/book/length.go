package book

import (
	"math"
	"strconv"

	"sizerun/internal/pattern"
)

// Mm writes a length in millimetres to a tenth, without a needless zero.
func Mm(mm float64) string {
	return strconv.FormatFloat(math.Round(mm*10)/10, 'f', -1, 64) + " mm"
}

// Inches writes a length in inches to the nearest sixteenth, as tape measures are marked: "5/8 in",
// "1 1/2 in". What is not within 0.05 mm of its sixteenth is told as "about".
func Inches(mm float64) string {
	text, off := pattern.Inches(mm, 16)
	if off > 0.05 {
		return "about " + text + " in"
	}
	return text + " in"
}

// Both writes a length in millimetres, and in inches beside it.
func Both(mm float64) string { return Mm(mm) + " (" + Inches(mm) + ")" }
