package sheet

import (
	"math"
	"slices"
	"sort"

	"sizerun/internal/geom"
)

// raster is a picture in cells, a row in words of 64.
type raster struct {
	w, h, stride int
	words        []uint64
}

func newRaster(w, h int) raster {
	s := (w+63)/64 + 2 // words more, so that a shifted read never runs out of the row
	return raster{w, h, s, make([]uint64, s*h)}
}

func (b raster) set(x, y int) { b.words[y*b.stride+x/64] |= 1 << (x % 64) }
func (b raster) get(x, y int) bool {
	return b.words[y*b.stride+x/64]>>(x%64)&1 != 0
}

// meets reports whether o, laid with its corner at (x, y), falls on anything set in b. Every eighth
// row is looked at first: footprints that overlap mostly do so in many rows.
func (b raster) meets(o raster, x, y int) bool {
	for r := 4; r < o.h; r += 8 {
		if b.rowMeets(o, x, y, r) {
			return true
		}
	}
	for r := range o.h {
		if r%8 != 4 && b.rowMeets(o, x, y, r) {
			return true
		}
	}
	return false
}

func (b raster) rowMeets(o raster, x, y, r int) bool {
	k, s := (y+r)*b.stride+x/64, uint(x%64)
	mine := o.words[r*o.stride : r*o.stride+(o.w+63)/64]
	row := b.words[k : k+len(mine)+1]
	for i, m := range mine {
		if m == 0 {
			continue
		}
		v := row[i] >> s
		if s != 0 {
			v |= row[i+1] << (64 - s)
		}
		if v&m != 0 {
			return true
		}
	}
	return false
}

// lay sets o in b at (x, y).
func (b raster) lay(o raster, x, y int) {
	for r := range o.h {
		for c := range o.w {
			if o.get(c, r) {
				b.set(x+c, y+r)
			}
		}
	}
}

// pad is kept between a nest and a page border where they are lined up, mm: half of the widest
// line and a little.
const pad = 0.8

// footprint is a nest in cells, its upper left cell at (0, 0), y down.
type footprint struct {
	w, h  int
	solid raster // what no other nest may cover, one cell wider all round: corner at (-1, -1)
	ink   []int  // how many cells with a line lie left of and above (x, y), of (w+1) × (h+1)
	area  int
	phase [][]run    // by the row of the corner's cell on its page
	tiles [][]uint64 // by phase: the pages it draws on, seen from that of its corner, a row in a word
}

// newFootprint rasters a nest on cells of cw × ch; gap is the least space to the next nest.
func newFootprint(n *nest, cw, ch, gap float64) *footprint {
	r := n.bounds.Inset(-pad)
	f := &footprint{w: max(1, int(math.Ceil(r.W()/cw-1e-9))), h: max(1, int(math.Ceil(r.H()/ch-1e-9)))}
	// Room all round for half of the gap: at most one cell, as the cells are larger than that.
	f.solid = newRaster(f.w+2, f.h+2)
	ink := newRaster(f.w, f.h)
	mark := func(b raster, off int, l line, grow float64) {
		x0, x1 := cellRange(min(l.a.X, l.b.X)-grow-r.Min.X, max(l.a.X, l.b.X)+grow-r.Min.X, cw, off, b.w)
		y0, y1 := cellRange(r.Max.Y-max(l.a.Y, l.b.Y)-grow, r.Max.Y-min(l.a.Y, l.b.Y)+grow, ch, off, b.h)
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				cell := geom.Rect{
					Min: geom.Pt(r.Min.X+float64(x-off)*cw-grow, r.Max.Y-float64(y-off+1)*ch-grow),
					Max: geom.Pt(r.Min.X+float64(x-off+1)*cw+grow, r.Max.Y-float64(y-off)*ch+grow),
				}
				if !b.get(x, y) && segmentMeetsRect(l.a, l.b, cell) {
					b.set(x, y)
				}
			}
		}
	}
	for _, l := range n.lines {
		mark(ink, 0, l, math.Max(l.half, 0))
		mark(f.solid, 1, l, gap/2)
	}
	for i := range n.sizes {
		fillCells(f.solid, n.sizes[i].outline, r, cw, ch)
	}
	f.ink = make([]int, (f.w+1)*(f.h+1))
	for y := range f.h {
		for x := range f.w {
			v := 0
			if ink.get(x, y) {
				v = 1
			}
			f.ink[(y+1)*(f.w+1)+x+1] = v + f.ink[y*(f.w+1)+x+1] + f.ink[(y+1)*(f.w+1)+x] - f.ink[y*(f.w+1)+x]
		}
	}
	for y := range f.solid.h {
		for x := range f.solid.w {
			if f.solid.get(x, y) {
				f.area++
			}
		}
	}
	return f
}

func cellRange(a, b, cell float64, off, n int) (int, int) {
	return max(0, int(math.Floor(a/cell))+off), min(n-1, int(math.Floor(b/cell))+off)
}

// fillCells sets the cells whose middles lie inside the polygon.
func fillCells(b raster, poly []geom.Point, r geom.Rect, cw, ch float64) {
	for y := range b.h {
		at := r.Max.Y - (float64(y-1)+0.5)*ch
		var xs []float64
		for i, p := range poly {
			q := poly[(i+1)%len(poly)]
			if (p.Y <= at) != (q.Y <= at) {
				xs = append(xs, p.X+(q.X-p.X)*(at-p.Y)/(q.Y-p.Y))
			}
		}
		sort.Float64s(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			x0 := max(0, int(math.Ceil((xs[i]-r.Min.X)/cw-0.5))+1)
			x1 := min(b.w-1, int(math.Floor((xs[i+1]-r.Min.X)/cw-0.5))+1)
			for x := x0; x <= x1; x++ {
				b.set(x, y)
			}
		}
	}
}

// sum counts inked cells in [x0, x1) × [y0, y1).
func (f *footprint) sum(x0, y0, x1, y1 int) int {
	x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, f.w), min(y1, f.h)
	if x0 >= x1 || y0 >= y1 {
		return 0
	}
	s := f.w + 1
	return f.ink[y1*s+x1] - f.ink[y0*s+x1] - f.ink[y1*s+x0] + f.ink[y0*s+x0]
}

// on tells the pages that the footprint draws on when its corner lies at cell (px, py) of a page of
// nx × ny: a row of pages in a word, the lowest bit leftmost. The last row is never empty.
func (f *footprint) on(px, py, nx, ny int) []uint64 {
	if f.tiles == nil {
		f.tiles = make([][]uint64, nx*ny)
	}
	k := py*nx + px
	if f.tiles[k] == nil {
		f.tiles[k] = f.onPages(px, py, nx, ny)
	}
	return f.tiles[k]
}

func (f *footprint) onPages(px, py, nx, ny int) []uint64 {
	out := []uint64{}
	for ty := 0; ty*ny < py+f.h; ty++ {
		m := uint64(0)
		for tx := 0; tx*nx < px+f.w; tx++ {
			if f.sum(tx*nx-px, ty*ny-py, (tx+1)*nx-px, (ty+1)*ny-py) > 0 {
				m |= 1 << tx
			}
		}
		out = append(out, m)
	}
	for len(out) > 1 && out[len(out)-1] == 0 {
		out = out[:len(out)-1]
	}
	return out
}

// run is a row of phases from px = from up to, not including, to, in which the footprint draws on
// the same pages.
type run struct {
	from, to int
	on       []uint64
}

func (f *footprint) runs(py, nx, ny int) []run {
	if f.phase == nil {
		f.phase = make([][]run, ny)
	}
	if f.phase[py] == nil {
		for px := range nx {
			on := f.on(px, py, nx, ny)
			if k := len(f.phase[py]) - 1; k >= 0 && slices.Equal(f.phase[py][k].on, on) {
				f.phase[py][k].to = px + 1
			} else {
				f.phase[py] = append(f.phase[py], run{px, px + 1, on})
			}
		}
	}
	return f.phase[py]
}
