package book

import (
	"math"
	"strconv"
)

const inch = 25.4 // exactly, by the definition of 1959 (NBS Circular 572, addendum)

// Mm writes a length in millimetres to a tenth, without a needless zero.
func Mm(mm float64) string {
	return strconv.FormatFloat(math.Round(mm*10)/10, 'f', -1, 64) + " mm"
}

// Inches writes a length in inches to the nearest sixteenth, as tape measures are marked: "5/8 in",
// "1 1/2 in". What is not within 0.05 mm of its sixteenth is told as "about".
func Inches(mm float64) string {
	n := int(math.Round(math.Abs(mm) / inch * 16))
	about := ""
	if math.Abs(float64(n)*inch/16-math.Abs(mm)) > 0.05 {
		about = "about "
	}
	sign := ""
	if mm < 0 && n > 0 {
		sign = "-"
	}
	whole, part, of := n/16, n%16, 16
	for part > 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	switch {
	case part == 0:
		return about + sign + strconv.Itoa(whole) + " in"
	case whole == 0:
		return about + sign + strconv.Itoa(part) + "/" + strconv.Itoa(of) + " in"
	}
	return about + sign + strconv.Itoa(whole) + " " + strconv.Itoa(part) + "/" + strconv.Itoa(of) + " in"
}

// Both writes a length in millimetres, and in inches beside it.
func Both(mm float64) string { return Mm(mm) + " (" + Inches(mm) + ")" }
