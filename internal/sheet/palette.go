package sheet

import "math"

// The line styles of the sizes. In black and white the dash tells sizes apart, in colour both do;
// neighbours in the run differ most. Colours are dark enough to print as a firm line on a grey
// printer: a contrast to white of at least 4.5 : 1 (WCAG 2.2, success criterion 1.4.3, by its
// formula for relative luminance).

const (
	cutWidth  = 0.4  // mm: fine enough to cut along, wide enough to survive a cheap printer
	seamWidth = 0.18 // seam lines, thinner than any cut line
	markWidth = 0.35
)

// Lengths of the strokes that dashes are made of, and the gap between them, mm.
const (
	dashLong, dashMid, dashShort, dashGap = 9.0, 4.0, 1.2, 1.4
)

// dashWords spells the dashes: L long, M middle, S short. The empty word is an unbroken line.
// Neighbours differ in their number of short strokes or in the length of the long one, which the
// eye tells apart at once.
func dashWords() []string {
	return []string{
		"", "M", "LS", "S", "LSS", "LM", "SM", "LSSS", "L", "MSS", "LLS", "MMS",
		"LSSSS", "LMS", "LLSS", "MSSS", "LMM", "LLM", "MSSSS", "LLSSS", "LMSS", "MMSS", "LLLS", "LMMS",
	}
}

// dash is the dash of the i-th size, mm. Beyond the words it is a long stroke and the digits of i in
// middle and short strokes: longer to read, yet never twice the same.
func dash(i int) []float64 {
	words := dashWords()
	w := ""
	if i < len(words) {
		w = words[i]
	} else {
		w = "L"
		for b := i - len(words) + 64; b > 1; b /= 2 {
			w += string("SM"[b%2])
		}
	}
	var out []float64
	for _, r := range w {
		l := dashShort
		switch r {
		case 'L':
			l = dashLong
		case 'M':
			l = dashMid
		}
		out = append(out, l, dashGap)
	}
	return out
}

// color is the colour of the i-th size: black, then hues a golden angle (137.5 degrees) apart at
// three depths in turn, so that neighbours are far apart and no two of a long run alike.
func color(i int) RGB {
	if i == 0 {
		return RGB{}
	}
	hue := math.Mod(205+137.508*float64(i), 360) / 60
	depth := []float64{0.045, 0.10, 0.165}[i%3]
	x := 1 - math.Abs(math.Mod(hue, 2)-1)
	var c [3]float64
	switch int(hue) {
	case 0:
		c = [3]float64{1, x, 0}
	case 1:
		c = [3]float64{x, 1, 0}
	case 2:
		c = [3]float64{0, 1, x}
	case 3:
		c = [3]float64{0, x, 1}
	case 4:
		c = [3]float64{x, 0, 1}
	default:
		c = [3]float64{1, 0, x}
	}
	for k := range c {
		c[k] = toLinear(c[k])
	}
	y := 0.2126*c[0] + 0.7152*c[1] + 0.0722*c[2]
	for k := range c {
		if y >= depth {
			c[k] *= depth / y
		} else { // mixed with white up to the depth
			c[k] += (depth - y) / (1 - y) * (1 - c[k])
		}
		c[k] = math.Round(toSRGB(c[k])*255) / 255
	}
	return RGB{c[0], c[1], c[2]}
}

// toLinear and toSRGB are the transfer function of IEC 61966-2-1 (sRGB).
func toLinear(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func toSRGB(v float64) float64 {
	if v <= 0.0031308 {
		return v * 12.92
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}

// style is which line of the palette size k has. A size keeps its line whichever others are printed
// with it; one that is printed alone is an unbroken black line, which is the best to cut along.
func (j *Job) style(k int) int {
	switch {
	case len(j.Sizes) == 1:
		return 0
	case j.Styles == nil:
		return k
	}
	return j.Styles[k]
}

// pen is the cut line of the i-th size. A line much thicker than usual has longer dashes, whose gaps
// would close otherwise.
func pen(i int, width float64) Pen {
	d := dash(i)
	if k := width / cutWidth; k > 1.5 {
		for n := range d {
			d[n] *= k
		}
	}
	return Pen{Width: width, Color: color(i), Dash: d}
}

// mark is the width of the pen for marks, and fine that of seam lines: thinner than the cut lines, in
// the same proportion whatever their width.
func (o Options) mark() float64 { return o.Line * markWidth / cutWidth }
func (o Options) fine() float64 { return o.Line * seamWidth / cutWidth }

// solid is an unbroken line in the i-th size's colour, for marks too short to show a dash.
func solid(i int, width float64) Pen { return Pen{Width: width, Color: color(i)} }

var (
	black = RGB{}
	grey  = RGB{0.45, 0.45, 0.45}
	pale  = RGB{0.80, 0.80, 0.80}
	alarm = RGB{0.70, 0, 0}
)
