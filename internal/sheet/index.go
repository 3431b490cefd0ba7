package sheet

import (
	"math"

	"sizerun/internal/geom"
)

// line is a straight stretch of something drawn.
type line struct {
	a, b  geom.Point
	half  float64 // half the width of the pen; negative for what only keeps room free
	owner int     // the nest and size whose cut line it is, or nobody
}

const nobody = -1

// index finds the lines and words near a box: a square grid, each cell with a chain of what lies in
// it. What lies outside the grid's area is kept in its border cells, so nothing is ever missed.
type index struct {
	area   geom.Rect
	inv    float64 // cells per mm
	nx, ny int
	lines  []line
	most   float64 // half the width of the widest line
	words  []box
	near   chains // lines
	said   chains // words
}

// chains hold a list of numbers per cell; link 0 ends a chain.
type chains struct {
	head  []int32
	links []link
}

type link struct{ id, next int32 }

func (c *chains) add(cell int, id int32) {
	c.links = append(c.links, link{id, c.head[cell]})
	c.head[cell] = int32(len(c.links) - 1)
}

// indexCell is the side of a cell, mm: about as long as a size's name.
const indexCell = 8.0

// newIndex makes the index of the lines that are drawn, which it keeps.
func newIndex(area geom.Rect, lines []line) *index {
	ix := &index{area: area, inv: 1 / indexCell}
	if m := max(area.W(), area.H()) * ix.inv; m > 700 {
		ix.inv *= 700 / m
	}
	ix.nx = int(area.W()*ix.inv) + 1
	ix.ny = int(area.H()*ix.inv) + 1
	ix.near.head = make([]int32, ix.nx*ix.ny)
	ix.near.links = make([]link, 1, 64+len(lines)*2)
	ix.lines = lines[:len(lines):len(lines)]
	for i := range lines {
		if lines[i].half >= 0 {
			ix.enter(i)
		}
	}
	return ix
}

func (ix *index) column(x float64) int {
	return min(max(int((x-ix.area.Min.X)*ix.inv), 0), ix.nx-1)
}
func (ix *index) row(y float64) int {
	return min(max(int((y-ix.area.Min.Y)*ix.inv), 0), ix.ny-1)
}

// add puts one more line in.
func (ix *index) add(l line) {
	ix.lines = append(ix.lines, l)
	ix.enter(len(ix.lines) - 1)
}

// enter puts line i into the cells that its middle passes through.
func (ix *index) enter(i int) {
	l := &ix.lines[i]
	ix.most = max(ix.most, l.half)
	x0, x1 := ix.column(min(l.a.X, l.b.X)), ix.column(max(l.a.X, l.b.X))
	y0, y1 := ix.row(min(l.a.Y, l.b.Y)), ix.row(max(l.a.Y, l.b.Y))
	for y := y0; y <= y1; y++ {
		from, to := x0, x1
		if x0 != x1 && y0 != y1 { // of a slanting line, what lies in this row
			// The border rows hold what lies beyond them.
			lo, hi := math.Inf(-1), math.Inf(1)
			if y > 0 {
				lo = ix.area.Min.Y + float64(y)/ix.inv - 1e-6
			}
			if y < ix.ny-1 {
				hi = ix.area.Min.Y + float64(y+1)/ix.inv + 1e-6
			}
			k := (l.b.X - l.a.X) / (l.b.Y - l.a.Y)
			xa, xb := l.a.X, l.b.X
			if ya, yb := min(max(l.a.Y, lo), hi), min(max(l.b.Y, lo), hi); ya != l.a.Y || yb != l.b.Y {
				xa, xb = l.a.X+(ya-l.a.Y)*k, l.a.X+(yb-l.a.Y)*k
			}
			from, to = ix.column(min(xa, xb)-1e-6), ix.column(max(xa, xb)+1e-6)
		}
		for x := from; x <= to; x++ {
			ix.near.add(y*ix.nx+x, int32(i))
		}
	}
}

// word keeps a box free of other words.
func (ix *index) word(b box) {
	if ix.said.head == nil {
		ix.said.head = make([]int32, ix.nx*ix.ny)
		ix.said.links = make([]link, 1, 256)
	}
	id := int32(len(ix.words))
	ix.words = append(ix.words, b)
	r := b.bounds()
	for y := ix.row(r.Min.Y); y <= ix.row(r.Max.Y); y++ {
		for x := ix.column(r.Min.X); x <= ix.column(r.Max.X); x++ {
			ix.said.add(y*ix.nx+x, id)
		}
	}
}

// silent reports whether no word lies on b.
func (ix *index) silent(b box) bool {
	if ix.said.head == nil {
		return true
	}
	r := b.bounds()
	x0, x1 := ix.column(r.Min.X), ix.column(r.Max.X)
	for y := ix.row(r.Min.Y); y <= ix.row(r.Max.Y); y++ {
		for x := x0; x <= x1; x++ {
			for e := ix.said.head[y*ix.nx+x]; e != 0; e = ix.said.links[e].next {
				if ix.words[ix.said.links[e].id].hits(b) {
					return false
				}
			}
		}
	}
	return true
}

// free reports whether b is clear of every line and word by the distance clear; from lines of the
// owner by the distance own.
func (ix *index) free(b box, clear, own float64, owner int) bool {
	return ix.silent(b.grow(clear)) && ix.clear(b, clear, own, owner)
}

// clear is free without the words.
func (ix *index) clear(b box, clear, own float64, owner int) bool {
	r := b.grow(clear + ix.most).bounds()
	x0, x1 := ix.column(r.Min.X), ix.column(r.Max.X)
	y0, y1 := ix.row(r.Min.Y), ix.row(r.Max.Y)
	links, lines := ix.near.links, ix.lines
	for y := y0; y <= y1; y++ {
		for _, e := range ix.near.head[y*ix.nx+x0 : y*ix.nx+x1+1] {
			for e != 0 {
				l := &lines[links[e].id]
				e = links[e].next
				d := clear
				if owner != nobody && l.owner == owner {
					d = own
				}
				if b.hitsLine(l, d+l.half) {
					return false
				}
			}
		}
	}
	return true
}
