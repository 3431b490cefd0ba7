package sheet

// The papers. Sizes are ISO 216 (A4, A0) and ANSI/ASME Y14.1 (Letter, 8 1/2 × 11 in).
const (
	a4W, a4H         = 210, 297
	a0W, a0H         = 841, 1189
	letterW, letterH = 8.5 * 25.4, 11 * 25.4
	// homeMargin is a quarter inch: more than the 6 mm that home printers cannot reach (common practice).
	homeMargin = 6.35
	// shopMargin is kept free on wide machines, whose grips and cutters take more.
	shopMargin = 10
	// rollW is the 36 in roll of wide-format printers (the width of ANSI/ASME Y14.1 Arch E, 914.4 mm).
	// longest is below what readers of PDF take for a page, 14,400 points (ISO 32000, annex C).
	rollW, longest = 36 * 25.4, 5000
	// A projector shows a part at a time, about a metre wide, in dots of half a millimetre to one: lines
	// and words are thicker, and a grid of 100 mm tells whether the picture has its true size (common practice).
	projectorW, projectorLine, projectorGrid, projectorWords = 1000, 1.2, 100, 2
)

// papers in the order in which they are offered. "A4+Letter" is the page that both can print at
// true size: the narrower width and the lower height of the two.
func papers() []Paper {
	return []Paper{
		{Name: "A4", W: a4W, H: a4H, Margin: homeMargin, Tiled: true},
		{Name: "Letter", W: letterW, H: letterH, Margin: homeMargin, Tiled: true},
		{Name: "A4+Letter", W: min(a4W, letterW), H: min(a4H, letterH), Margin: homeMargin, Tiled: true},
		{Name: "A0", W: a0W, H: a0H, Margin: shopMargin},
		{Name: "Roll914", W: rollW, H: longest, Margin: shopMargin, Rolled: true},
		{Name: "Projector", W: projectorW, H: longest, Margin: shopMargin, Rolled: true, Grid: projectorGrid, Line: projectorLine, Words: projectorWords},
	}
}

// Papers finds a paper by name.
func Papers(name string) (Paper, bool) {
	for _, p := range papers() {
		if p.Name == name {
			return p, true
		}
	}
	return Paper{}, false
}

// PaperNames lists the papers, home papers first, what needs no paper last.
func PaperNames() []string {
	var out []string
	for _, p := range papers() {
		out = append(out, p.Name)
	}
	return out
}
