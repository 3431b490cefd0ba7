package book

import "sizerun/internal/sheet"

// tables sets tables whose columns stand under each other, as wide as their widest word: a body and the
// garment for it are read down one column. Where they are wider than the page, they are broken into
// parts that each repeat the first column. What fits on one page is not broken over two.
func (f *flow) tables(ts ...sheet.Table) {
	var some []sheet.Table
	for _, t := range ts {
		if len(t.Rows) > 0 {
			some = append(some, t)
		}
	}
	if len(some) == 0 {
		return
	}
	whole := 0.0
	for _, t := range some {
		whole += tableHigh(t)
	}
	if whole < f.paper.H-2*pageMargin-footRoom {
		f.need(whole)
	}
	const pad = 3.0
	var widths []float64
	width := func(c int, face sheet.Face, s string) {
		for len(widths) <= c {
			widths = append(widths, 0)
		}
		widths[c] = max(widths[c], f.m.Width(face, f.drawable(s))*textSize+pad)
	}
	for _, t := range some {
		for c, h := range t.Head {
			width(c, sheet.Bold, h)
		}
		for _, r := range t.Rows {
			for c, s := range r {
				if c < len(t.Head) && (len(r) > 1 || c > 0) { // a row of one cell heads those below
					width(c, sheet.Regular, s)
				}
			}
		}
	}
	// The first column leaves room for one other.
	if len(widths) > 1 && widths[0]+widths[1] > f.width() {
		widths[0] = f.width() - widths[1]
	}
	for from := 1; ; {
		x, to := widths[0], from
		for to < len(widths) && (x+widths[to] <= f.width() || to == from) {
			x += widths[to]
			to++
		}
		for _, t := range some {
			f.part(t, widths, from, to, x)
		}
		if to >= len(widths) {
			return
		}
		from = to
	}
}

// tableHigh is the height of a table that is no wider than the page.
func tableHigh(t sheet.Table) float64 {
	if len(t.Rows) == 0 {
		return 0
	}
	return float64(len(t.Rows)+1)*textSize*leading + headSize*leading + 5.8
}

// part sets column 0 and the columns from from to to of one table.
func (f *flow) part(t sheet.Table, widths []float64, from, to int, total float64) {
	if high := tableHigh(t); high < f.paper.H-2*pageMargin-footRoom {
		f.need(high)
	}
	f.heading(t.Title)
	row := func(face sheet.Face, cells []string) {
		f.need(textSize * leading)
		f.y -= textSize * leading
		x := f.left()
		for c := 0; c < to; c++ {
			if c > 0 && c < from {
				continue
			}
			if c < len(cells) && cells[c] != "" {
				s := cells[c]
				if len(cells) > 1 {
					s = f.fit(s, face, widths[c])
				}
				f.text(x, f.y+textSize*(leading-1)/2, textSize, face, black, s)
			}
			x += widths[c]
		}
	}
	row(sheet.Bold, t.Head)
	f.gap(1.2)
	f.rule(f.y, total, 0.25)
	f.gap(0.6)
	for _, r := range t.Rows {
		if len(r) == 1 { // heads the rows below it
			f.need(2 * textSize * leading)
			row(sheet.Bold, r)
			continue
		}
		row(sheet.Regular, r)
	}
}

// fit cuts a word that is too wide for its column, with an ellipsis.
func (f *flow) fit(s string, face sheet.Face, w float64) string {
	s = f.drawable(s)
	if f.m.Width(face, s)*textSize <= w {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && f.m.Width(face, string(r))*textSize > w {
		r = append(r[:len(r)-2:len(r)-2], '…')
	}
	return string(r)
}
