package sheet

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
)

// The two test squares: exactly 50 mm, and exactly 2 in at 25.4 mm (the international inch of 1959).
const (
	squareMetric = 50.0
	squareInch   = 2 * 25.4
)

// frontPanels makes what stands on page 1, in order. pl is nil where no map is wanted; first is the
// page number of the first page of the drawing.
func frontPanels(j Job, p Paper, o Options, pl *plane, first int, w float64, t *setter) []panel {
	half := (math.Min(w, 196) - panelGap) / 2
	squares := squaresPanel(t)
	ps := []panel{headPanel(j, p, w, t), squares, prose(checkWords(p), math.Min(w, 196)-squares.w-panelGap, t)}
	legendW := half
	if pl != nil {
		mp := mapPanel(pl, first, half, math.Max(80*t.dense, legendPanel(j, p, o, half, t).h), t)
		ps = append(ps, mp)
		legendW = math.Min(w, 196) - mp.w - panelGap
	}
	ps = append(ps, legendPanel(j, p, o, math.Min(legendW, 110), t))
	// Notes and cautions stand beside the cutting list if there is room, and always before the charts,
	// so that they are on page 1.
	cut := tablePanels(j.Cutting, math.Min(w, 196), t)
	if rest := math.Min(w, 196) - panelGap; len(cut) == 1 && rest-cut[0].w >= 70 {
		rest -= cut[0].w
		ps = append(ps, cut[0], stack(prose(noteWords(j), rest, t), prose(cautionWords(), rest, t)))
	} else {
		ps = append(ps, prose(noteWords(j), half, t), prose(cautionWords(), half, t))
		ps = append(ps, cut...)
	}
	for _, tb := range sideBySide(j.Chart, j.Finished) {
		ps = append(ps, tablePanels(tb, math.Min(w, 196), t)...)
	}
	return ps
}

// sideBySide sets the body and the garment into the same columns, so that one is read against the other;
// tables of other columns stay apart.
func sideBySide(body, garment Table) []Table {
	if len(body.Rows) == 0 || len(garment.Rows) == 0 || !slices.Equal(body.Head, garment.Head) {
		return []Table{body, garment}
	}
	both := Table{Title: body.Title, Head: body.Head}
	both.Rows = append(append(append(both.Rows, body.Rows...), []string{garment.Title}), garment.Rows...)
	return []Table{both}
}

// headPanel is the title over the whole width.
func headPanel(j Job, p Paper, w float64, t *setter) panel {
	const title, shop, small, loud = 8.5, 4.6, 2.7, 5.5
	names := t.wrap(Bold, title, j.Title, w, 2)
	sizes := "size " + j.Sizes[0]
	if n := len(j.Sizes); n > 1 {
		sizes = fmt.Sprintf("sizes %s to %s", j.Sizes[0], j.Sizes[n-1])
	}
	var warn []string
	if j.Warning != "" {
		warn = t.wrap(Bold, loud, j.Warning, w-8, 3)
	}
	h := float64(len(names))*title*1.15 + shop*1.5 + small*1.6 + 2.5
	if j.Stamp != "" {
		h += shop * 1.5
	}
	if len(warn) > 0 {
		h += float64(len(warn))*loud*1.3 + 6.5
	}
	return panel{w: w, h: h, draw: func(at geom.Point) []Item {
		out := writer{t: t}
		y := at.Y
		if len(warn) > 0 {
			bh := float64(len(warn))*loud*1.3 + 4
			r := geom.Rect{Min: geom.Pt(at.X+0.5, y-bh), Max: geom.Pt(at.X+w-0.5, y-0.5)}
			out.items = append(out.items, Item{Layer: NoLayer, Stroke: &Stroke{Paths: []geom.Path{rectPath(r)}, Closed: true, Pen: Pen{Width: 0.9, Color: alarm}}})
			for i, s := range warn {
				out.text(at.X+w/2, y-2.2-loud*0.95-float64(i)*loud*1.3, Bold, loud, Center, s, alarm)
			}
			y -= bh + 2.5
		}
		for _, s := range names {
			out.text(at.X, y-title*0.85, Bold, title, Left, s, black)
			y -= title * 1.15
		}
		right := t.fit(Regular, shop, sizes+" · "+p.Name, w*0.45)
		out.text(at.X, y-shop, Regular, shop, Left, t.fit(Regular, shop, j.Shop, w*0.5), black)
		out.text(at.X+w, y-shop, Regular, shop, Right, right, black)
		y -= shop * 1.5
		if j.Stamp != "" {
			if s := t.fit(Bold, shop, j.Stamp, w); s != "" {
				out.text(at.X, y-shop, Bold, shop, Left, s, black)
				out.items[len(out.items)-1].Text.StampRoom = w
			}
			y -= shop * 1.5
		}
		out.text(at.X, y-small, Regular, small, Left, t.fit(Regular, small, j.Ref, w), grey)
		out.rule(at.X, at.X+w, at.Y-h+0.8, 0.4, black)
		return out.items
	}}
}

// squaresPanel draws both test squares with their measurements.
func squaresPanel(t *setter) panel {
	const between = 5.0
	return panel{w: squareMetric + between + squareInch + 0.4, h: squareInch + 5.5, draw: func(at geom.Point) []Item {
		out := writer{t: t}
		x := at.X + 0.2
		for _, q := range []struct {
			side       float64
			name, each string
		}{{squareMetric, "50 mm", "each side, 5 cm"}, {squareInch, "2 in", "each side, 50.8 mm"}} {
			r := geom.Rect{Min: geom.Pt(x, at.Y-0.2-q.side), Max: geom.Pt(x+q.side, at.Y-0.2)}
			out.items = append(out.items, Item{Layer: NoLayer, Stroke: &Stroke{Paths: []geom.Path{rectPath(r)}, Closed: true, Pen: Pen{Width: 0.25}}})
			c := r.Center()
			out.text(c.X, c.Y+0.5, Bold, 6, Center, q.name, black)
			out.text(c.X, c.Y-5, Regular, t.body(), Center, q.each, black)
			x += q.side + between
		}
		out.text(at.X, at.Y-squareInch-4.4, Regular, 2.7, Left, "measure along the middle of the lines", black)
		return out.items
	}}
}

func checkWords(p Paper) []para {
	if p.Grid > 0 {
		return []para{
			{s: "Project at true size", head: true},
			{num: "1.", s: "Stand the projector square to the table and show this page at 100 % or “actual size”."},
			{num: "2.", s: fmt.Sprintf("Measure the grid on the cloth: each square is %g mm, ten are %g mm, across and upright. Measure near every edge of the picture.", p.Grid, 10*p.Grid)},
			{num: "3.", s: "If ten squares are off by more than 2 mm, do not cut; set the projector anew."},
			{num: "4.", s: "Measure again whenever the projector or the table was moved. Switch off the layers of the sizes that you do not cut."},
		}
	}
	ps := []para{
		{s: "Print at 100 %, no scaling", head: true},
		{num: "1.", s: "Print this page first, at 100 % or “actual size”. Switch off “fit to page”."},
		{num: "2.", s: "Measure both squares with a ruler, across and upright: 50 mm and 2 in."},
		{num: "3.", s: "If a side is off by more than half a millimetre, the printer has scaled the page. Do not cut; change the setting and print again."},
	}
	if p.Tiled {
		ps = append(ps,
			para{num: "4.", s: "Lay the pages out as on the map. Trim the dashed edge, right and upper, and glue it upon the unbroken edge of the next page, so that triangles of the same name meet."})
	} else {
		ps = append(ps, para{num: "4.", s: "Sheets stand alone. Only where a line runs off a sheet, glue it to the next so that triangles of the same name meet."})
	}
	return ps
}

func noteWords(j Job) []para {
	ps := []para{{s: "Notes", head: true}}
	for i, n := range j.Notes {
		if i == 40 {
			break
		}
		ps = append(ps, para{s: n})
	}
	if len(ps) == 1 {
		ps = append(ps, para{s: "The outer lines are the cut lines."})
	}
	return ps
}

// cautionWords are the usual ones of the craft (common practice).
func cautionWords() []para {
	return []para{
		{s: "Before you cut", head: true},
		{s: "Measure the test squares. Then sew a trial garment in cheap cloth: only a fitting shows how it sits."},
		{s: "Rotary cutters, scissors and pins cut and prick; irons and steam burn. Close blades when you lay them down, keep them from children, and let irons cool."},
	}
}

// markPitch is the height of a row of marks in the legend, mm.
const markPitch = 6.0

// legendPanel shows the line of every size, and the marks.
func legendPanel(j Job, p Paper, o Options, w float64, t *setter) panel {
	const sample = 27.0
	em := t.body()
	pitch := em * 1.58
	cols := 1
	if len(j.Sizes) > 6 {
		cols = 2
	}
	per := (len(j.Sizes) + cols - 1) / cols
	marks := legendMarks(p, o)
	markRows := (len(marks) + 1) / 2
	h := t.head()*leading + 1 + float64(per)*pitch + 2.5 + float64(markRows)*markPitch*t.dense
	return panel{w: w, h: h, draw: func(at geom.Point) []Item {
		out := writer{t: t}
		out.text(at.X, at.Y-t.head()*0.95, Bold, t.head(), Left, t.fit(Bold, t.head(), "Lines and marks", w), black)
		top := at.Y - t.head()*leading - 1
		cw := w / float64(cols)
		run := math.Min(sample, cw*0.62)
		for i, s := range j.Sizes {
			x, y := at.X+float64(i/per)*cw, top-float64(i%per)*pitch-pitch/2
			out.items = append(out.items, strokeItem(pen(j.style(i), o.Line), geom.Polyline(geom.Pt(x, y), geom.Pt(x+run, y))))
			if len(j.Sizes) == 1 { // nothing to tell apart: what matters is where to cut
				s = "cut line, size " + s
			}
			out.text(x+run+2, y-em*0.36, Bold, em, Left, t.fit(Bold, em, s, cw-run-4), color(j.style(i)))
		}
		y := top - float64(per)*pitch - 2.5
		for i, m := range marks {
			x := at.X + float64(i%2)*w/2
			my := y - float64(i/2)*markPitch*t.dense - 3
			out.items = append(out.items, m.draw(geom.Pt(x+5, my))...)
			out.text(x+12, my-em*0.33, Regular, em*0.94, Left, t.fit(Regular, em*0.94, m.s, w/2-13), black)
		}
		return out.items
	}}
}

// legendMark is a mark and its meaning; draw centres it on c, within 10 by 5 mm.
type legendMark struct {
	s    string
	draw func(c geom.Point) []Item
}

func legendMarks(p Paper, o Options) []legendMark {
	thin := Pen{Width: markWidth}
	off := func(c geom.Point, x, y float64) geom.Point { return geom.Pt(c.X+x, c.Y+y) }
	closed := func(pn Pen, ph geom.Path) []Item {
		return []Item{{Layer: NoLayer, Stroke: &Stroke{Paths: []geom.Path{ph}, Closed: true, Pen: pn}}}
	}
	ms := []legendMark{
		{"grain line", func(c geom.Point) []Item {
			u := geom.Vec{X: 1}
			return []Item{strokeItem(thin, geom.Polyline(off(c, -4, 0), off(c, 4, 0))), fillItem(black, arrowHead(off(c, 5, 0), u, 2.5), arrowHead(off(c, -5, 0), u.Neg(), 2.5))}
		}},
		{"place on the fold", func(c geom.Point) []Item {
			d := geom.Vec{Y: -1}
			return []Item{
				strokeItem(thin, geom.Polyline(off(c, -4, 0), off(c, -4, 2), off(c, 4, 2), off(c, 4, 0))),
				fillItem(black, arrowHead(off(c, -4, -2.2), d, 2.2), arrowHead(off(c, 4, -2.2), d, 2.2)),
			}
		}},
		{"notch, front", func(c geom.Point) []Item {
			return []Item{strokeItem(Pen{Width: 0.4}, geom.Polyline(off(c, -5, 2), off(c, 5, 2))), strokeItem(thin, geom.Polyline(off(c, 0, 2), off(c, 0, -2.5)))}
		}},
		{"double notch, back", func(c geom.Point) []Item {
			return []Item{strokeItem(Pen{Width: 0.4}, geom.Polyline(off(c, -5, 2), off(c, 5, 2))),
				strokeItem(thin, geom.Polyline(off(c, -1.5, 2), off(c, -1.5, -2.5)), geom.Polyline(off(c, 1.5, 2), off(c, 1.5, -2.5)))}
		}},
		{"dot", func(c geom.Point) []Item { return closed(thin, circle(c, dotRadius)) }},
		{"match square", func(c geom.Point) []Item { return closed(thin, square(c, geom.Vec{X: 1}, 4.4)) }},
		{"line inside the piece", func(c geom.Point) []Item {
			return []Item{strokeItem(Pen{Width: seamWidth + 0.07, Dash: []float64{5, 1.5}}, geom.Polyline(off(c, -5, 0), off(c, 5, 0)))}
		}},
	}
	if o.SeamLines {
		ms = append(ms, legendMark{"seam line", func(c geom.Point) []Item {
			return []Item{strokeItem(Pen{Width: seamWidth}, geom.Polyline(off(c, -5, 0), off(c, 5, 0)))}
		}})
	}
	if p.Tiled {
		ms = append(ms, legendMark{"pages meet here", func(c geom.Point) []Item {
			return []Item{
				strokeItem(Pen{Width: 0.2, Color: grey}, geom.Polyline(off(c, 0, -2.6), off(c, 0, 2.6))),
				strokeItem(Pen{Width: 0.25}, geom.Polyline(off(c, 0, -2.2), off(c, 3.2, 0), off(c, 0, 2.2)), geom.Polyline(off(c, 0, -2.2), off(c, -3.2, 0), off(c, 0, 2.2))),
			}
		}})
	}
	return ms
}

const mapTitle = "Map of the pages"

// mapPanel draws the whole small: the pieces in grey under the page grid, each page with its
// number; pages that are left out have none.
func mapPanel(pl *plane, first int, maxW, maxH float64, t *setter) panel {
	const edge = 5.0 // room for the numbers of rows and columns
	top := t.head()*leading + edge
	k := math.Min((maxW-edge-0.4)/(float64(pl.cols)*pl.f.tw), (maxH-top)/(float64(pl.rows)*pl.f.th))
	gw, gh := k*float64(pl.cols)*pl.f.tw, k*float64(pl.rows)*pl.f.th
	return panel{w: math.Max(edge+gw+0.4, math.Min(maxW, t.width(Bold, t.head(), mapTitle))), h: top + gh + 0.3, draw: func(at geom.Point) []Item {
		out := writer{t: t}
		out.text(at.X, at.Y-t.head()*0.95, Bold, t.head(), Left, mapTitle, black)
		o := geom.Pt(at.X+edge, at.Y-top-gh) // lower left of the grid
		var shadows []geom.Path
		for i := range pl.nests {
			n := &pl.nests[i]
			m := geom.Translate(pl.move[i]).Then(geom.Scale(k, k)).Then(geom.Translate(geom.Vec(o)))
			shadows = append(shadows, n.sizes[n.large].d.Cut.Transform(m))
		}
		for _, s := range shadows {
			out.items = append(out.items, fillItem(RGB{0.83, 0.83, 0.83}, s))
		}
		fine := Pen{Width: 0.2, Color: grey}
		var grid []geom.Path
		for c := 0; c <= pl.cols; c++ {
			x := o.X + gw*float64(c)/float64(pl.cols)
			grid = append(grid, geom.Polyline(geom.Pt(x, o.Y), geom.Pt(x, o.Y+gh)))
		}
		for r := 0; r <= pl.rows; r++ {
			y := o.Y + gh*float64(r)/float64(pl.rows)
			grid = append(grid, geom.Polyline(geom.Pt(o.X, y), geom.Pt(o.X+gw, y)))
		}
		out.items = append(out.items, strokeItem(fine, grid...))
		cw, ch := gw/float64(pl.cols), gh/float64(pl.rows)
		cells := pl.printed()
		wide := t.width(Bold, 1, fmt.Sprint(first+len(cells)))
		em := math.Min(3.2, math.Min(ch*0.6, (cw-0.7)/wide))
		for i, c := range cells {
			x, y := o.X+(float64(c.col)+0.5)*cw, o.Y+gh-(float64(c.row)+0.5)*ch
			out.text(x, y-em*0.36, Bold, em, Center, t.fit(Bold, em, fmt.Sprint(first+i), cw-0.6), black)
		}
		head := math.Min(2.4, math.Min(ch*0.8, cw*0.42))
		for c := range pl.cols {
			out.text(o.X+(float64(c)+0.5)*cw, o.Y+gh+1.4, Regular, head, Center, fmt.Sprint(c+1), grey)
		}
		for r := range pl.rows {
			out.text(o.X-1, o.Y+gh-(float64(r)+0.5)*ch-head*0.36, Regular, head, Right, fmt.Sprint(r+1), grey)
		}
		return out.items
	}}
}
