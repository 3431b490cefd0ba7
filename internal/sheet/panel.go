package sheet

import (
	"math"
	"strings"
	"unicode"

	"sizerun/internal/geom"
)

// panel is a part of page 1 with a size of its own. draw puts it with its upper left corner at p.
type panel struct {
	w, h float64
	draw func(p geom.Point) []Item
	// split makes a first part of at most h and the rest; nil for what stays together.
	split func(h float64) (panel, panel, bool)
}

const panelGap = 5.0

// slot is a panel with its place: from the left, and from the top down.
type slot struct {
	p    panel
	x, y float64
}

// flow sets panels in rows like words, each row as high as its highest panel, on as many pages of
// w × h as needed. It gives the slots of each page and the height used.
func flow(ps []panel, w, h float64) ([][]slot, []float64) {
	pages := [][]slot{nil}
	used := []float64{0}
	x, y, row := 0.0, 0.0, 0.0
	queue := append([]panel{}, ps...)
	for len(queue) > 0 {
		p := queue[0]
		k := len(pages) - 1
		if x > 0 && x+p.w > w+1e-6 {
			x, y, row = 0, y+row+panelGap, 0
		}
		if y+p.h > h+1e-6 {
			if p.split != nil && p.h > h/2 { // what is short moves as a whole
				if a, b, ok := p.split(h - y); ok {
					pages[k] = append(pages[k], slot{a, x, y})
					used[k] = math.Max(used[k], y+a.h)
					queue[0] = b
					pages, used = append(pages, nil), append(used, 0)
					x, y, row = 0, 0, 0
					continue
				}
			}
			if len(pages[k]) > 0 {
				pages, used = append(pages, nil), append(used, 0)
				x, y, row = 0, 0, 0
				continue
			}
			// Alone on an empty page and still too high: it stays out rather than running over the
			// edge. Panels are made so that this cannot happen on any paper that check lets through.
			queue = queue[1:]
			continue
		}
		pages[k] = append(pages[k], slot{p, x, y})
		used[k] = math.Max(used[k], y+p.h)
		x += p.w + panelGap
		row = math.Max(row, p.h)
		queue = queue[1:]
	}
	return pages, used
}

// writer collects the items of a panel from the top down.
type writer struct {
	t     *setter
	items []Item
}

func (w *writer) text(x, y float64, f Face, size float64, al Align, s string, c RGB) {
	if s != "" {
		w.items = append(w.items, Item{Layer: NoLayer, Text: &Text{At: geom.Pt(x, y), S: s, Face: f, Size: size, Align: al, Color: c}})
	}
}

func (w *writer) rule(x0, x1, y, width float64, c RGB) {
	w.items = append(w.items, strokeItem(Pen{Width: width, Color: c}, geom.Polyline(geom.Pt(x0, y), geom.Pt(x1, y))))
}

// Sizes of the words on page 1, mm of em, and the pitch of lines in ems.
const (
	headEm  = 4.0
	textEm  = 3.1
	leading = 1.32
)

// head and body are the sizes in force: page 1 is set closer when that saves a page.
func (t *setter) head() float64 { return headEm * t.dense }
func (t *setter) body() float64 { return textEm * t.dense }

// stack sets panels one below the other.
func stack(ps ...panel) panel {
	var out panel
	for i, p := range ps {
		if i > 0 {
			out.h += panelGap * 0.7
		}
		out.h += p.h
		out.w = math.Max(out.w, p.w)
	}
	out.draw = func(at geom.Point) []Item {
		var items []Item
		for _, p := range ps {
			items = append(items, p.draw(at)...)
			at.Y -= p.h + panelGap*0.7
		}
		return items
	}
	return out
}

// para is a paragraph of a prose panel.
type para struct {
	s    string
	head bool
	num  string // "1." before it
}

// prose makes a panel of paragraphs, w wide.
func prose(ps []para, w float64, t *setter) panel {
	type row struct {
		num, s string
		head   bool
		gap    float64 // above
	}
	var rows []row
	for _, p := range ps {
		face, size, indent := Regular, t.body(), 0.0
		if p.head {
			face, size = Bold, t.head()
		}
		if p.num != "" {
			indent = 6
		}
		gap := 1.1
		for i, l := range t.wrap(face, size, p.s, w-indent, 12) {
			r := row{s: l, head: p.head, gap: gap}
			if i == 0 {
				r.num = p.num
			} else if p.num != "" {
				r.num = " "
			}
			rows = append(rows, r)
			gap = 0
		}
	}
	var build func(rows []row) panel
	build = func(rows []row) panel {
		height := func(rows []row) float64 {
			h := 0.0
			for i, r := range rows {
				if i > 0 {
					h += r.gap
				}
				if r.head {
					h += t.head() * leading
				} else {
					h += t.body() * leading
				}
			}
			return h
		}
		return panel{w: w, h: height(rows), draw: func(p geom.Point) []Item {
			out := writer{t: t}
			y := p.Y
			for i, r := range rows {
				if i > 0 {
					y -= r.gap
				}
				face, size := Regular, t.body()
				if r.head {
					face, size = Bold, t.head()
				}
				base := y - size*0.95
				x := p.X
				if r.num != "" {
					out.text(x, base, Bold, size, Left, strings.TrimSpace(r.num), black)
					x += 6
				}
				out.text(x, base, face, size, Left, r.s, black)
				y -= size * leading
			}
			return out.items
		}, split: func(h float64) (panel, panel, bool) {
			n := 0
			for n < len(rows) && height(rows[:n+1]) <= h {
				n++
			}
			if n > 0 && n < len(rows) && rows[n-1].head { // a heading does not stand alone
				n--
			}
			if n < 2 || n == len(rows) {
				return panel{}, panel{}, false
			}
			return build(rows[:n]), build(rows[n:]), true
		}}
	}
	return build(rows)
}

// heads reports whether a row of a table is a heading over those below it: one cell alone.
func heads(r []string, cols int) bool { return len(r) == 1 && cols > 1 }

// tablePanels makes the panels of a table at most w wide; one with too many columns is set in
// parts, each with the first column again.
func tablePanels(tb Table, w float64, t *setter) []panel {
	cols := len(tb.Head)
	for _, r := range tb.Rows {
		cols = max(cols, len(r))
	}
	if cols == 0 || len(tb.Rows) == 0 {
		return nil
	}
	const least = 8.5 // a column narrower than this says nothing
	per := max(1, int((w-30)/least))
	if cols-1 <= per {
		return []panel{tablePanel(tb, cols, w, t)}
	}
	parts := (cols - 1 + per - 1) / per
	per = (cols - 1 + parts - 1) / parts
	var out []panel
	for from := 1; from < cols; from += per {
		to := min(cols, from+per)
		pick := func(r []string) []string {
			var o []string
			for i := range cols {
				if i == 0 || i >= from && i < to {
					s := ""
					if i < len(r) {
						s = r[i]
					}
					o = append(o, s)
				}
			}
			return o
		}
		part := Table{Title: tb.Title, Head: pick(tb.Head)}
		for _, r := range tb.Rows {
			if !heads(r, cols) {
				r = pick(r)
			}
			part.Rows = append(part.Rows, r)
		}
		out = append(out, tablePanel(part, to-from+1, w, t))
	}
	return out
}

// number reports whether a cell is a figure, which is set in the middle of its column.
func number(s string) bool {
	for _, r := range s {
		if !unicode.IsDigit(r) && !strings.ContainsRune(" .,-–+±/%", r) {
			return false
		}
	}
	return true
}

func tablePanel(tb Table, cols int, w float64, t *setter) panel {
	const padX, maxLines = 1.6, 3
	padY := 0.9 * t.dense * t.dense
	cellAt := func(r []string, c int) string {
		if c < len(r) {
			return t.say(r[c])
		}
		return ""
	}
	// The largest size of words at which the table fits; at the smallest, wide columns give way.
	size := t.body()
	width := make([]float64, cols)
	total := 0.0
	for _, size = range []float64{t.body(), t.body() * 0.9, t.body() * 0.8, 2.2} {
		total = 0
		for c := range cols {
			width[c] = t.width(Bold, size, cellAt(tb.Head, c))
			for _, r := range tb.Rows {
				if !heads(r, cols) {
					width[c] = math.Max(width[c], t.width(Regular, size, cellAt(r, c)))
				}
			}
			width[c] += 2 * padX
			total += width[c]
		}
		if total <= w {
			break
		}
	}
	if total > w {
		// All columns get what they want up to a common limit.
		lo, hi := 0.0, w
		for range 50 {
			m, sum := (lo+hi)/2, 0.0
			for _, v := range width {
				sum += math.Min(v, m)
			}
			if sum > w {
				hi = m
			} else {
				lo = m
			}
		}
		total = 0
		for c := range width {
			width[c] = math.Min(width[c], lo)
			total += width[c]
		}
	}
	figures := make([]bool, cols)
	for c := range cols {
		figures[c] = c > 0
		for _, r := range tb.Rows {
			figures[c] = figures[c] && (heads(r, cols) || number(cellAt(r, c)))
		}
	}
	// Columns of figures are as wide as the widest of them where there is room.
	widest, n, rest := 0.0, 0, total
	for c := range cols {
		if figures[c] {
			widest, n, rest = math.Max(widest, width[c]), n+1, rest-width[c]
		}
	}
	if rest+float64(n)*widest <= w {
		for c := range cols {
			if figures[c] {
				width[c] = widest
			}
		}
		total = rest + float64(n)*widest
	}
	type row struct {
		cells [][]string
		h     float64
		head  bool
	}
	set := func(f Face, r []string) row {
		o := row{}
		n := 1
		for c := range cols {
			l := t.wrap(f, size, cellAt(r, c), width[c]-2*padX, maxLines)
			o.cells = append(o.cells, l)
			n = max(n, len(l))
		}
		o.h = float64(n)*size*leading + 2*padY
		return o
	}
	head := set(Bold, tb.Head)
	var body []row
	for _, r := range tb.Rows {
		if heads(r, cols) {
			s := t.fit(Bold, t.head(), t.say(r[0]), math.Max(total, w))
			body = append(body, row{cells: [][]string{{s}}, h: t.head()*leading + padY, head: true})
			total = math.Max(total, t.width(Bold, t.head(), s))
			continue
		}
		body = append(body, set(Regular, r))
	}
	title := t.fit(Bold, t.head(), tb.Title, w)
	total = math.Max(total, t.width(Bold, t.head(), title))
	var build func(rows []row) panel
	build = func(rows []row) panel {
		top := t.head()*leading + head.h
		h := top
		for _, r := range rows {
			h += r.h
		}
		return panel{w: total, h: h, draw: func(p geom.Point) []Item {
			out := writer{t: t}
			out.text(p.X, p.Y-t.head()*0.95, Bold, t.head(), Left, title, black)
			y := p.Y - t.head()*leading
			line := func(f Face, r row) {
				x := p.X
				for c, ls := range r.cells {
					for i, s := range ls {
						base := y - padY - size*0.98 - float64(i)*size*leading
						if figures[c] {
							out.text(x+width[c]/2, base, f, size, Center, s, black)
						} else {
							out.text(x+padX, base, f, size, Left, s, black)
						}
					}
					x += width[c]
				}
				y -= r.h
			}
			line(Bold, head)
			out.rule(p.X, p.X+total, y, 0.3, black)
			for i, r := range rows {
				if r.head {
					out.text(p.X, y-t.head()*0.95, Bold, t.head(), Left, r.cells[0][0], black)
					y -= r.h
					out.rule(p.X, p.X+total, y, 0.3, black)
					continue
				}
				line(Regular, r)
				if i+1 < len(rows) && !rows[i+1].head {
					out.rule(p.X, p.X+total, y, 0.12, pale)
				}
			}
			out.rule(p.X, p.X+total, y, 0.3, black)
			return out.items
		}, split: func(h float64) (panel, panel, bool) {
			n, sum := 0, top
			for n < len(rows) && sum+rows[n].h <= h {
				sum += rows[n].h
				n++
			}
			if n > 0 && rows[n-1].head { // a heading does not stand alone
				n--
			}
			if n < 2 && sum < h || n == 0 || n == len(rows) {
				return panel{}, panel{}, false
			}
			return build(rows[:n]), build(rows[n:]), true
		}}
	}
	return build(body)
}
