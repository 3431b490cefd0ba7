package sheet

import (
	"math"

	"sizerun/internal/geom"
)

// frame is where the drawing stands on a page: the tile, whose borders neighbouring pages share,
// inside the printable area, with a strip for words below it.
type frame struct {
	w, h      float64 // of the page
	margin    float64
	left, low float64 // the tile's lower left corner on the page
	tw, th    float64 // the tile
	warn      bool
}

// Of the frame, mm. The strip below the tile holds two lines of words; it is covered when the
// pages are glued. hair keeps the frame's own line inside the printable area.
const (
	hair      = 0.65
	stripHigh = 6.2
	warnHigh  = 5.5
)

func newFrame(p Paper, warn bool) frame {
	f := frame{w: p.W, h: p.H, margin: p.Margin, left: p.Margin + hair, low: p.Margin + stripHigh, warn: warn}
	if warn {
		f.low += warnHigh
	}
	f.tw = p.W - 2*f.left
	f.th = p.H - f.low - f.left
	return f
}

func (f frame) tile() geom.Rect {
	return geom.Rect{Min: geom.Pt(f.left, f.low), Max: geom.Pt(f.left+f.tw, f.low+f.th)}
}

// cell names a place in the page grid, row 0 at the top.
type cell struct{ col, row int }

// plane is the arranged drawing under the page grid.
type plane struct {
	f          frame
	cols, rows int
	glued      bool // neighbouring pages are glued; else they stand alone
	nests      []nest
	move       []geom.Vec  // of each nest
	ix         *index      // the words, and the lines that came with them
	near       [][]int32   // the nests that come near each page
	ink        []bool      // pages with a line on them
	on         [][][]int32 // the pages that each size of each nest draws on
	seen       []int32     // by page, the last list of pages that it stands in
	lists      int32
	berths     []berth // room for the places of names
	words      []placedWord
	marks      []joinMark
}

// placedWord is a word in the plane, on its size's layer.
type placedWord struct {
	layer int
	t     Text
}

func (pl *plane) rect(c cell) geom.Rect {
	x, y := float64(c.col)*pl.f.tw, float64(pl.rows-1-c.row)*pl.f.th
	return geom.Rect{Min: geom.Pt(x, y), Max: geom.Pt(x+pl.f.tw, y+pl.f.th)}
}

// at numbers the pages row by row; those outside the grid are -1.
func (pl *plane) at(c cell) int {
	if c.col < 0 || c.row < 0 || c.col >= pl.cols || c.row >= pl.rows {
		return -1
	}
	return c.row*pl.cols + c.col
}

// inked reports whether there is something on the page.
func (pl *plane) inked(c cell) bool {
	k := pl.at(c)
	return k >= 0 && pl.ink[k]
}

// print notes that there is something on the page.
func (pl *plane) print(c cell) {
	if k := pl.at(c); k >= 0 {
		pl.ink[k] = true
	}
}

func (pl *plane) cellAt(p geom.Point) cell {
	return cell{int(math.Floor(p.X / pl.f.tw)), pl.rows - 1 - int(math.Floor(p.Y/pl.f.th))}
}

// touched calls f for every cell that the line, moved by v, comes into.
func (pl *plane) touched(l *line, v geom.Vec, f func(cell)) {
	if l.half < 0 {
		return
	}
	a, b := l.a.Add(v), l.b.Add(v)
	// The middle of the line decides: one that only brushes a border with the edge of its pen needs
	// no page of its own.
	x0, x1 := int(math.Floor(min(a.X, b.X)/pl.f.tw)), int(math.Floor(max(a.X, b.X)/pl.f.tw))
	y0, y1 := int(math.Floor(min(a.Y, b.Y)/pl.f.th)), int(math.Floor(max(a.Y, b.Y)/pl.f.th))
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			c := cell{x, pl.rows - 1 - y}
			if x0 == x1 && y0 == y1 || segmentMeetsRect(a, b, pl.rect(c)) {
				f(c)
			}
		}
	}
}

// pages lists the pages that the lines, moved by v, come into; bounds is their extent. The pages are
// noted as printed.
func (pl *plane) pages(lines []line, bounds geom.Rect, v geom.Vec) []int32 {
	pl.lists++
	var out []int32
	put := func(c cell) {
		if k := pl.at(c); k >= 0 && pl.seen[k] != pl.lists {
			pl.seen[k], pl.ink[k] = pl.lists, true
			out = append(out, int32(k))
		}
	}
	if a, b := pl.cellAt(bounds.Min.Add(v)), pl.cellAt(bounds.Max.Add(v)); a == b && len(lines) > 0 && lines[0].half >= 0 {
		put(a)
		return out
	}
	for i := range lines {
		pl.touched(&lines[i], v, put)
	}
	return out
}

// newPlane lays the nests where the arrangement says.
func newPlane(f frame, a arrangement, p *packer, nests [][]nest, glued bool) *plane {
	pl := &plane{f: f, cols: a.cols, rows: a.rows, glued: glued, ink: make([]bool, a.cols*a.rows), near: make([][]int32, a.cols*a.rows), seen: make([]int32, a.cols*a.rows)}
	cw, ch := f.tw/float64(p.nx), f.th/float64(p.ny)
	for i, ns := range nests {
		s := a.at[i]
		n := ns[s.turn]
		pl.nests = append(pl.nests, n)
		pl.move = append(pl.move, geom.Vec{
			X: float64(s.x)*cw - (n.bounds.Min.X - pad),
			Y: float64(a.rows)*f.th - float64(s.y)*ch - (n.bounds.Max.Y + pad),
		})
	}
	pl.ix = newIndex(geom.Rect{Max: geom.Pt(float64(pl.cols)*f.tw, float64(pl.rows)*f.th)}, nil)
	for i := range pl.nests {
		n, v := &pl.nests[i], pl.move[i]
		on := make([][]int32, len(n.sizes))
		for k := range n.sizes {
			if s := &n.sizes[k]; s.outline != nil {
				on[k] = pl.pages(n.lines[s.from:s.to], s.bounds, v)
			}
		}
		pl.on = append(pl.on, on)
		pl.pages(n.lines[n.sizes[n.large].to:], n.bounds, v)
		r := geom.Rect{Min: n.bounds.Min.Add(v), Max: n.bounds.Max.Add(v)}.Inset(-nearBy)
		lo, hi := pl.cellAt(geom.Pt(r.Min.X, r.Max.Y)), pl.cellAt(geom.Pt(r.Max.X, r.Min.Y))
		for y := max(lo.row, 0); y <= min(hi.row, pl.rows-1); y++ {
			for x := max(lo.col, 0); x <= min(hi.col, pl.cols-1); x++ {
				pl.near[y*pl.cols+x] = append(pl.near[y*pl.cols+x], int32(i))
			}
		}
	}
	return pl
}

const (
	// nearBy is how near to a page a nest must come to be looked at, mm: words stay less clear of lines.
	nearBy = 6
	// borderHalf is half the width of the line that page borders are drawn with, at most.
	borderHalf = 0.15
)

// free reports whether b is clear of every line, word and page border by the distance clear; from
// lines of the owner by the distance own.
func (pl *plane) free(b box, clear, own float64, owner int) bool {
	r := b.grow(clear + borderHalf).bounds()
	c := pl.cellAt(geom.Pt(r.Min.X, r.Max.Y))
	k := pl.at(c)
	if k < 0 || c != pl.cellAt(geom.Pt(r.Max.X, r.Min.Y)) {
		return false
	}
	for _, i := range pl.near[k] {
		q := b
		q.c = b.c.Add(pl.move[i].Neg())
		if !pl.nests[i].ix.clear(q, clear, own, owner) {
			return false
		}
	}
	return pl.ix.free(b, clear, own, owner)
}

// onInk reports whether the box lies on a page that is printed anyway.
func (pl *plane) onInk(b box) bool {
	c := pl.cellAt(b.c)
	return pl.inked(c) && b.inside(pl.rect(c))
}

// put writes a word in the plane and keeps its room free.
func (pl *plane) put(layer int, x Text, t *setter) {
	pl.words = append(pl.words, placedWord{layer, x})
	pl.ix.word(t.box(x))
}

// placeLabels puts the piece labels down: inside the smallest size, on one page if there is room.
func (pl *plane) placeLabels(t *setter) {
	for i := range pl.nests {
		n, v := &pl.nests[i], pl.move[i]
		if n.aside != nil {
			pl.labelBeside(i, t)
			continue
		}
		if n.label.way(0) == nil {
			continue
		}
		at := n.middle
		got, ok := placeLabel(pl.free, n.label, at, v, pl.onInk)
		if !ok { // over a page border, then: the nest alone has room, that was seen before
			got, ok = placeLabel(n.ix.free, n.label, at, geom.Vec{}, nil)
			got.c = got.c.Add(v)
		}
		if ok {
			for _, x := range got.s.texts(got.c, got.u) {
				pl.put(NoLayer, x, t)
			}
		}
	}
}

// labelBeside puts a label down that has no room inside its nest: on one page, if there is a place
// around the nest.
func (pl *plane) labelBeside(i int, t *setter) {
	a, v := pl.nests[i].aside, pl.move[i]
	place := func(c geom.Point) {
		from, to := a.end(c), a.to
		pl.nests[i].put(strokeItem(Pen{Width: 0.25}, geom.Polyline(from, to)))
		pl.nests[i].put(fillItem(black, circle(to, 0.7)))
		l := line{from.Add(v), to.Add(v), 0.125, nobody}
		pl.ix.add(l)
		pl.touched(&l, geom.Vec{}, pl.print)
		for _, l := range fenceLines(a.box(c).bounds()) {
			l.half = 0
			pl.touched(&l, v, pl.print)
		}
		for _, x := range a.s.texts(c.Add(v), geom.Vec{X: 1}) {
			pl.put(NoLayer, x, t)
		}
	}
	for _, printed := range []bool{true, false} { // a page that is printed anyway is better
		for _, c := range a.places() {
			b := a.box(c.Add(v))
			on := pl.cellAt(b.c)
			if pl.at(on) < 0 || printed && !pl.inked(on) {
				continue
			}
			from, to := a.end(c).Add(v), a.to.Add(v)
			mid := box{from.Lerp(to, 0.5), to.Sub(from).Unit(), from.Dist(to) / 2, 0.6}
			if b.inside(pl.rect(on)) && pl.free(b, 1, 1, nobody) && pl.ix.silent(mid) {
				place(c)
				return
			}
		}
	}
	place(a.c)
}

// placeWords puts callouts and the words along arrows down, as near as there is room; a word that
// stands off gets a leader. One that finds no room at all is left out: the mark itself stays.
func (pl *plane) placeWords(t *setter) {
	for i := range pl.nests {
		for _, w := range pl.nests[i].words {
			s := t.fit(Regular, w.size*t.large, w.s, 60*t.large)
			if s == "" {
				continue
			}
			if w.along != (geom.Vec{}) {
				pl.wordAlong(w, s, pl.move[i], t)
			} else {
				pl.wordNear(i, w, s, t)
			}
		}
	}
}

func (pl *plane) wordAlong(w word, s string, v geom.Vec, t *setter) {
	const step = 6
	off := 0.9 * t.large
	for _, size := range []float64{w.size * t.large, w.size * 0.8 * t.large} {
		b := t.box(Text{S: s, Size: size})
		for k := 0.0; k <= w.reach-b.hw; k += step {
			for _, side := range []float64{1, -1} {
				for _, sign := range []float64{1, -1} {
					c := w.at.Add(v).Add(w.along.Mul(sign * k)).Add(w.along.Left().Mul(side * (off + b.hh)))
					x := Text{At: c.Add(w.along.Left().Mul(-(t.ascent(Regular, size) - t.descent(Regular, size)) / 2)), S: s, Size: size, Align: Center, Angle: w.along.Angle()}
					if q := t.box(x); pl.onInk(q) && pl.free(q, 0.5, 0.5, nobody) {
						pl.put(NoLayer, x, t)
						return
					}
				}
			}
		}
	}
}

func (pl *plane) wordNear(i int, w word, s string, t *setter) {
	marks := append([]geom.Point{w.at}, w.also...)
	for _, size := range []float64{w.size * t.large, w.size * 0.82 * t.large} {
		b := t.box(Text{S: s, Size: size})
		drop := (t.ascent(Regular, size) - t.descent(Regular, size)) / 2
		for r := 2.5; r <= 40; r += 2.5 {
			n := 8
			if r > 10 {
				n = 16
			}
			for _, m := range marks {
				at := m.Add(pl.move[i])
				for k := range n {
					// From the right, up and down in turn.
					a := float64((k+1)/2) * 2 * math.Pi / float64(n)
					if k%2 == 0 {
						a = -a
					}
					// The box's nearest side stands at distance r.
					d := geom.Vec{X: 1}.Rotate(a)
					c := at.Add(geom.Vec{X: d.X * (r + b.hw), Y: d.Y * (r + b.hh)})
					x := Text{At: geom.Pt(c.X, c.Y-drop), S: s, Size: size, Align: Center}
					q := t.box(x)
					if on := pl.cellAt(at); pl.cellAt(q.c) != on || !q.inside(pl.rect(on)) || !pl.free(q, 0.6, 0.6, nobody) {
						continue
					}
					if r > 6 && !pl.leader(i, at, q) {
						continue
					}
					pl.put(NoLayer, x, t)
					return
				}
			}
		}
	}
}

// leader draws a fine line from the mark to the word, unless it would cross other words.
func (pl *plane) leader(i int, at geom.Point, b box) bool {
	to := geom.Pt(min(max(at.X, b.c.X-b.hw), b.c.X+b.hw), min(max(at.Y, b.c.Y-b.hh), b.c.Y+b.hh))
	d := to.Sub(at)
	u := d.Unit()
	from, end := at.Add(u.Mul(dotRadius+0.4)), to.Add(u.Mul(-0.8))
	for _, w := range pl.ix.words {
		if w.grow(0.5).hitsSegment(from, end) {
			return false
		}
	}
	n := &pl.nests[i]
	v := pl.move[i].Mul(-1)
	n.put(strokeItem(Pen{Width: 0.18}, geom.Polyline(from.Add(v), end.Add(v))))
	l := line{from, end, 0.09, nobody}
	pl.ix.add(l)
	pl.touched(&l, geom.Vec{}, pl.print)
	return true
}

// grid draws squares of the side all over the tile, from its upper left corner, on a layer of their own.
func (f frame) grid(side float64, layer int) []Item {
	if side <= 0 {
		return nil
	}
	w := f.tile()
	var out []geom.Path
	for k := 0.0; w.Min.X+k*side <= w.Max.X+1e-9; k++ {
		out = append(out, geom.Polyline(geom.Pt(w.Min.X+k*side, w.Min.Y), geom.Pt(w.Min.X+k*side, w.Max.Y)))
	}
	for k := 0.0; w.Max.Y-k*side >= w.Min.Y-1e-9; k++ {
		out = append(out, geom.Polyline(geom.Pt(w.Min.X, w.Max.Y-k*side), geom.Pt(w.Max.X, w.Max.Y-k*side)))
	}
	it := strokeItem(Pen{Width: 0.5, Color: pale}, out...)
	it.Layer = layer
	return []Item{it}
}
