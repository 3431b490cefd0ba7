package change

import (
	"math"
	"regexp"
	"strconv"
	"strings"
)

// What is said of every seam in the same words. A seam's allowances fray unless something covers them: those inside a
// band or a facing are covered, those of a garment without a lining are not (common practice).
const (
	// NeatenOpen ends a step that sews a seam whose allowances may show on the inside: after "and".
	NeatenOpen = "neaten the allowances, unless a lining covers them, and press them open"
	// pressOpen ends one whose allowances are covered.
	pressOpen = "press the seams open"
)

// spokenLengths are lengths in a sentence; one with inches beside it is an exact fraction of an inch.
var spokenLengths = regexp.MustCompile(`\b\d+(?:\.\d+)? mm\b(?: \()?`)

// sensible writes the lengths in a sentence as finely as they are measured at a sewing table: halves of a millimetre
// up to 100 mm, tenths of the smallest, whole millimetres up to a metre, 5 mm beyond (common practice). The amounts beside the sentence, and the
// working drawing, tell them exactly.
func sensible(text string) string {
	return spokenLengths.ReplaceAllStringFunc(text, func(m string) string {
		number, _, _ := strings.Cut(m, " ")
		mm, err := strconv.ParseFloat(number, 64)
		if err != nil || strings.HasSuffix(m, "(") {
			return m
		}
		return round(mm) + " mm"
	})
}

// round is a number of millimetres as a sentence tells it.
func round(mm float64) string {
	step := 0.5
	switch {
	case mm >= 1000:
		step = 5
	case mm >= 100:
		step = 1
	case mm < 5:
		step = 0.1
	}
	return strings.TrimSuffix(strconv.FormatFloat(math.Round(mm/step)*step, 'f', 1, 64), ".0")
}
