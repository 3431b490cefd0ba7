package sheet

import (
	"math"
	"math/bits"
	"slices"

	"sizerun/internal/geom"
)

// raster is a picture in cells, a row in words of 64.
type raster struct {
	w, h, stride int
	words        []uint64
}

func newRaster(w, h int) raster {
	s := (w + 63) / 64
	return raster{w, h, s, make([]uint64, s*h)}
}

func (b raster) set(x, y int) { b.words[y*b.stride+x/64] |= 1 << (x % 64) }
func (b raster) get(x, y int) bool {
	return b.words[y*b.stride+x/64]>>(x%64)&1 != 0
}

// setBits sets bits from up to, not including, to of a row.
func setBits(row []uint64, from, to int) {
	for i := from / 64; from < to; i++ {
		end := min(to, (i+1)*64)
		row[i] |= (^uint64(0) >> (64 - (end - from))) << (from % 64)
		from = end
	}
}

// nextBit is the first set bit of a row in [from, to), or to.
func nextBit(row []uint64, from, to int) int {
	for from < to {
		if w := row[from/64] >> (from % 64); w != 0 {
			return min(to, from+bits.TrailingZeros64(w))
		}
		from = (from/64 + 1) * 64
	}
	return to
}

// pad is kept between a nest and a page border where they are lined up, mm: half of the widest
// line and a little.
const pad = 0.8

// footprint is a nest in cells, its upper left cell at (0, 0), y down.
type footprint struct {
	w, h   int
	spans  []span  // what no other nest may cover, one cell wider all round: corner at (-1, -1)
	ink    []int32 // how many cells with a line lie left of and above (x, y), of (w+1) × (h+1)
	area   int
	phases [][]run // by the row of the corner's cell on its page
	packs  bool    // it never draws on more than eight by eight pages
}

// span is a stretch of covered cells in a row, from up to, not including, to.
type span struct{ row, from, to int }

// newFootprint rasters a nest on cells of cw × ch; gap is the least space to the next nest.
func newFootprint(n *nest, cw, ch, gap float64) *footprint {
	r := n.bounds.Inset(-pad)
	f := &footprint{w: max(1, int(math.Ceil(r.W()/cw-1e-9))), h: max(1, int(math.Ceil(r.H()/ch-1e-9)))}
	// Room all round for half of the gap: at most one cell, as the cells are larger than that.
	solid, ink := newRaster(f.w+2, f.h+2), newRaster(f.w, f.h)
	for i := range n.lines {
		l := &n.lines[i]
		markCells(ink, 0, l, max(l.half, 0), r, cw, ch)
		markCells(solid, 1, l, gap/2, r, cw, ch)
	}
	one := newRaster(f.w+2, f.h+2)
	for i := range n.sizes {
		fillCells(solid, one, n.sizes[i].outline, r, cw, ch)
	}
	f.ink = make([]int32, (f.w+1)*(f.h+1))
	for y := range f.h {
		sum := int32(0)
		for x := range f.w {
			sum += int32(ink.words[y*ink.stride+x/64] >> (x % 64) & 1)
			f.ink[(y+1)*(f.w+1)+x+1] = f.ink[y*(f.w+1)+x+1] + sum
		}
	}
	// Every eighth row first, then those between: footprints that overlap mostly do so in many rows, and
	// a place that is taken is ruled out sooner.
	for _, start := range [...][2]int{{4, 8}, {0, 8}, {2, 4}, {1, 2}} {
		for y := start[0]; y < solid.h; y += start[1] {
			row := solid.words[y*solid.stride : (y+1)*solid.stride]
			for x := nextBit(row, 0, solid.w); x < solid.w; {
				end := x + 1
				for end < solid.w && row[end/64]>>(end%64)&1 != 0 {
					end++
				}
				f.spans = append(f.spans, span{y, x, end})
				f.area += end - x
				x = nextBit(row, end, solid.w)
			}
		}
	}
	return f
}

// markCells sets the cells, each grown by grow, into which the line comes. off is the raster's border.
func markCells(b raster, off int, l *line, grow float64, r geom.Rect, cw, ch float64) {
	x0, x1 := cellRange(min(l.a.X, l.b.X)-grow-r.Min.X, max(l.a.X, l.b.X)+grow-r.Min.X, cw, off, b.w)
	y0, y1 := cellRange(r.Max.Y-max(l.a.Y, l.b.Y)-grow, r.Max.Y-min(l.a.Y, l.b.Y)+grow, ch, off, b.h)
	// In one row or column of cells the line comes into all of them.
	if y0 == y1 || x0 == x1 {
		for y := y0; y <= y1; y++ {
			setBits(b.words[y*b.stride:(y+1)*b.stride], x0, x1+1)
		}
		return
	}
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			if b.get(x, y) {
				continue
			}
			cell := geom.Rect{
				Min: geom.Pt(r.Min.X+float64(x-off)*cw-grow, r.Max.Y-float64(y-off+1)*ch-grow),
				Max: geom.Pt(r.Min.X+float64(x-off+1)*cw+grow, r.Max.Y-float64(y-off)*ch+grow),
			}
			if segmentMeetsRect(l.a, l.b, cell) {
				b.set(x, y)
			}
		}
	}
}

func cellRange(a, b, cell float64, off, n int) (int, int) {
	return max(0, int(math.Floor(a/cell))+off), min(n-1, int(math.Floor(b/cell))+off)
}

// fillCells sets the cells whose middles lie inside the polygon: where its sides cross the middle
// of a row, inside and outside change over from the next cell on. one is a raster of the same size,
// empty before and after.
func fillCells(b, one raster, poly []geom.Point, r geom.Rect, cw, ch float64) {
	if len(poly) == 0 {
		return
	}
	p := poly[len(poly)-1]
	for _, q := range poly {
		top, low := max(p.Y, q.Y), min(p.Y, q.Y)
		y0 := max(0, int(math.Floor((r.Max.Y-top)/ch+0.5)))
		y1 := min(b.h-1, int(math.Ceil((r.Max.Y-low)/ch+0.5)))
		for y := y0; y <= y1; y++ {
			at := r.Max.Y - (float64(y-1)+0.5)*ch
			if (p.Y <= at) != (q.Y <= at) {
				x := int(math.Ceil((p.X+(q.X-p.X)*(at-p.Y)/(q.Y-p.Y)-r.Min.X)/cw-0.5)) + 1
				if x = max(x, 0); x < b.w {
					one.words[y*one.stride+x/64] ^= 1 << (x % 64)
				}
			}
		}
		p = q
	}
	for y := range b.h {
		in := uint64(0)
		for i := y * b.stride; i < (y+1)*b.stride; i++ {
			w := one.words[i]
			for s := 1; s < 64; s *= 2 {
				w ^= w << s
			}
			w ^= in
			in = -(w >> 63)
			if k := b.w - (i-y*b.stride)*64; k < 64 {
				w &= 1<<k - 1
			}
			b.words[i] |= w
			one.words[i] = 0
		}
	}
}

// sum counts inked cells in [x0, x1) × [y0, y1).
func (f *footprint) sum(x0, y0, x1, y1 int) int32 {
	x0, y0, x1, y1 = max(x0, 0), max(y0, 0), min(x1, f.w), min(y1, f.h)
	if x0 >= x1 || y0 >= y1 {
		return 0
	}
	s := f.w + 1
	return f.ink[y1*s+x1] - f.ink[y0*s+x1] - f.ink[y1*s+x0] + f.ink[y0*s+x0]
}

// onPages tells the pages that the footprint draws on when its corner lies at cell (px, py) of a page
// of nx × ny: a row of pages in a word, the lowest bit leftmost. The last row is never empty.
func (f *footprint) onPages(out []uint64, px, py, nx, ny int) []uint64 {
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
	packed   uint64 // the same, eight rows of eight pages in a word, where that holds it
}

// pack8 puts a block of eight by eight pages in a word.
func pack8(rows []uint64, shift int) uint64 {
	w := uint64(0)
	for k := range min(8, len(rows)) {
		w |= rows[k] >> shift & 0xff << (8 * k)
	}
	return w
}

// runs lists them for the row py of a page. Rows alike share one list, which tells that they are.
func (f *footprint) runs(py, nx, ny int) []run {
	if f.phases == nil {
		f.phases = make([][]run, ny)
		f.packs = nx-1+f.w <= 8*nx && ny-1+f.h <= 8*ny
		var buf []uint64
		var last []run
		for y := range ny {
			var rs []run
			for px := range nx {
				buf = f.onPages(buf[:0], px, y, nx, ny)
				if k := len(rs) - 1; k >= 0 && slices.Equal(rs[k].on, buf) {
					rs[k].to = px + 1
				} else {
					rs = append(rs, run{px, px + 1, slices.Clone(buf), pack8(buf, 0)})
				}
			}
			if !slices.EqualFunc(rs, last, func(a, b run) bool {
				return a.from == b.from && a.to == b.to && slices.Equal(a.on, b.on)
			}) {
				last = rs
			}
			f.phases[y] = last
		}
	}
	return f.phases[py]
}
