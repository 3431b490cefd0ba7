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
)

// papers in the order in which they are offered. "A4+Letter" is the page that both can print at
// true size: the narrower width and the lower height of the two.
func papers() []Paper {
	return []Paper{
		{Name: "A4", W: a4W, H: a4H, Margin: homeMargin, Tiled: true},
		{Name: "Letter", W: letterW, H: letterH, Margin: homeMargin, Tiled: true},
		{Name: "A4+Letter", W: min(a4W, letterW), H: min(a4H, letterH), Margin: homeMargin, Tiled: true},
		{Name: "A0", W: a0W, H: a0H, Margin: shopMargin},
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

// PaperNames lists the papers, home papers first.
func PaperNames() []string {
	var out []string
	for _, p := range papers() {
		out = append(out, p.Name)
	}
	return out
}
