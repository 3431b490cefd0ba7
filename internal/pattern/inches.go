package pattern

import (
	"math"
	"strconv"
)

// Inches writes a length the way a tape measure is marked, in whole inches and a fraction of parts
// (8, 16 …) in its lowest terms: "5/8", "1 1/2", "-1". off is how far, mm, the length lies from that.
func Inches(mm float64, parts int) (text string, off float64) {
	n := int(math.Round(math.Abs(mm) / Inch * float64(parts)))
	off = math.Abs(float64(n)*Inch/float64(parts) - math.Abs(mm))
	whole, num, den := n/parts, n%parts, parts
	for num > 0 && num%2 == 0 && den%2 == 0 {
		num, den = num/2, den/2
	}
	fraction := strconv.Itoa(num) + "/" + strconv.Itoa(den)
	switch {
	case num == 0:
		text = strconv.Itoa(whole)
	case whole == 0:
		text = fraction
	default:
		text = strconv.Itoa(whole) + " " + fraction
	}
	if mm < 0 && n > 0 {
		text = "-" + text
	}
	return text, off
}
