package sheet

import (
	"math"

	"sizerun/internal/geom"
)

// line is a straight stretch of something drawn.
type line struct {
	a, b  geom.Point
	half  float64 // half the width of the pen
	owner int     // the nest and size whose cut line it is, or nobody
}

const nobody = -1

// index finds the lines near a box: a square grid with the lines that pass through each cell.
// What lies outside the grid's area is kept in its border cells, so nothing is ever missed.
type index struct {
	area   geom.Rect
	cell   float64
	nx, ny int
	cells  [][]int32
	lines  []line
	words  []box
	said   [][]int32 // the words in each cell
}

func newIndex(area geom.Rect) *index {
	ix := &index{area: area, cell: 10}
	if m := max(area.W(), area.H()); m/ix.cell > 600 {
		ix.cell = m / 600
	}
	ix.nx = int(area.W()/ix.cell) + 1
	ix.ny = int(area.H()/ix.cell) + 1
	ix.cells = make([][]int32, ix.nx*ix.ny)
	ix.said = make([][]int32, ix.nx*ix.ny)
	return ix
}

func (ix *index) column(x float64) int {
	return min(max(int(math.Floor((x-ix.area.Min.X)/ix.cell)), 0), ix.nx-1)
}
func (ix *index) row(y float64) int {
	return min(max(int(math.Floor((y-ix.area.Min.Y)/ix.cell)), 0), ix.ny-1)
}

// add puts a line in. Long ones are entered in stretches, or a slanting line would fill every
// cell of its box.
func (ix *index) add(l line) {
	d := l.b.Sub(l.a)
	n := max(1, int(math.Ceil(d.Len()/(2*ix.cell))))
	for k := range n {
		s := line{l.a.Add(d.Mul(float64(k) / float64(n))), l.a.Add(d.Mul(float64(k+1) / float64(n))), l.half, l.owner}
		id := int32(len(ix.lines))
		ix.lines = append(ix.lines, s)
		x0, x1 := ix.column(min(s.a.X, s.b.X)-l.half), ix.column(max(s.a.X, s.b.X)+l.half)
		y0, y1 := ix.row(min(s.a.Y, s.b.Y)-l.half), ix.row(max(s.a.Y, s.b.Y)+l.half)
		for y := y0; y <= y1; y++ {
			for x := x0; x <= x1; x++ {
				ix.cells[y*ix.nx+x] = append(ix.cells[y*ix.nx+x], id)
			}
		}
	}
}

// points adds the chain through pts.
func (ix *index) points(pts []geom.Point, half float64, owner int) {
	for i := 1; i < len(pts); i++ {
		ix.add(line{pts[i-1], pts[i], half, owner})
	}
}

// word keeps a box free of other words.
func (ix *index) word(b box) {
	id := int32(len(ix.words))
	ix.words = append(ix.words, b)
	r := b.bounds()
	for y := ix.row(r.Min.Y); y <= ix.row(r.Max.Y); y++ {
		for x := ix.column(r.Min.X); x <= ix.column(r.Max.X); x++ {
			ix.said[y*ix.nx+x] = append(ix.said[y*ix.nx+x], id)
		}
	}
}

// silent reports whether no word lies on b.
func (ix *index) silent(b box) bool {
	r := b.bounds()
	for y := ix.row(r.Min.Y); y <= ix.row(r.Max.Y); y++ {
		for x := ix.column(r.Min.X); x <= ix.column(r.Max.X); x++ {
			for _, id := range ix.said[y*ix.nx+x] {
				if ix.words[id].hits(b) {
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
	wide := b.grow(clear)
	bb := wide.bounds()
	x0, x1 := ix.column(bb.Min.X-1), ix.column(bb.Max.X+1)
	y0, y1 := ix.row(bb.Min.Y-1), ix.row(bb.Max.Y+1)
	for y := y0; y <= y1; y++ {
		for x := x0; x <= x1; x++ {
			for _, id := range ix.said[y*ix.nx+x] {
				if ix.words[id].hits(wide) {
					return false
				}
			}
			for _, id := range ix.cells[y*ix.nx+x] {
				l := ix.lines[id]
				d := clear
				if owner != nobody && l.owner == owner {
					d = own
				}
				if b.grow(d+l.half).hitsSegment(l.a, l.b) {
					return false
				}
			}
		}
	}
	return true
}
