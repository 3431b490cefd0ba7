package sheet

import (
	"math/bits"
	"slices"
	"sort"
)

// Arranging: what counts is the number of pages with something drawn on them. Nests are put one
// after another where they add the fewest pages, found from their footprints on a grid whose cells divide
// the pages evenly; several orders and widths are tried, then the best is mended by moving
// nests in the order. The search is counted in steps, never in time, so it always ends the same way.

// spot is where a footprint lies: its quarter turns, and the cell of its upper left corner.
type spot struct{ turn, x, y int }

// arrangement is a finished plan.
type arrangement struct {
	cols, rows int // of the page grid
	at         []spot
	tiles      int // pages with something on them
}

// better tells whether a is to be preferred: fewer pages, then a smaller sheet to glue together,
// then one nearer to a square.
func (a arrangement) better(b arrangement) bool {
	if a.tiles != b.tiles {
		return a.tiles < b.tiles
	}
	if x, y := a.cols*a.rows, b.cols*b.rows; x != y {
		return x < y
	}
	return abs(a.cols-a.rows) < abs(b.cols-b.rows)
}

func abs(i int) int { return max(i, -i) }

// packer holds what stays the same over all tries.
type packer struct {
	nx, ny int            // cells of a page
	prints [][]*footprint // by nest, then by quarter turns; nil where not allowed
	whole  []bool         // the nest must not be cut by a page border
	first  int            // this one comes first and in the corner: the block of page 1; -1 for none
	work   int            // cells looked at so far
}

// cut counts the nests that may lie across a border.
func (p *packer) cut() int {
	n := 0
	for _, w := range p.whole {
		if !w {
			n++
		}
	}
	return n
}

// table is one try.
type table struct {
	p          *packer
	cols, rows int // rows in use
	occ        raster
	used       []uint64 // the pages with something on them, a row in a word
}

// arrange plans all nests. The budget is in cells looked at.
func (p *packer) arrange(budget int) (arrangement, bool) {
	minCols := 1
	for _, fs := range p.prints {
		least := 0
		for _, f := range fs {
			if f == nil {
				continue
			}
			if c := (f.w + p.nx - 1) / p.nx; least == 0 || c < least {
				least = c
			}
		}
		minCols = max(minCols, least)
	}
	area := 0
	for _, fs := range p.prints {
		for _, f := range fs {
			if f != nil {
				area += f.area
				break
			}
		}
	}
	square := 1
	for square*square*p.nx*p.ny < area {
		square++
	}
	all := true
	for _, w := range p.whole {
		all = all && w
	}
	widths := []int{}
	if all {
		widths = append(widths, 1)
	} else {
		for c := max(minCols, square-1); c <= min(60, max(minCols, square-1)+4); c++ {
			widths = append(widths, c)
		}
	}
	best := arrangement{}
	found := false
	var lead []int // the order of the best plan, its width, and how it came about
	leadCols := 0
	var leadTrail []stage
	for _, order := range p.orders() {
		for _, c := range widths {
			if found && p.work > budget {
				break
			}
			var trail []stage
			if a, ok := p.run(order, c, 0, &trail); ok && (!found || a.better(best)) {
				best, found, lead, leadCols, leadTrail = a, true, order, c, trail
			}
		}
	}
	// Move one nest to another place of the leading order, as long as that helps.
	from := 0
	if p.first >= 0 {
		from = 1
	}
	for again := found; again; {
		again = false
		for i := from; i < len(lead) && !again; i++ {
			for k := from; k < len(lead) && !again; k++ {
				if i == k || k == i-1 { // the latter is the same as moving the other way
					continue
				}
				if p.work > budget {
					return best, found
				}
				o := append([]int{}, lead...)
				v := o[i]
				o = append(o[:i], o[i+1:]...)
				o = append(o[:k], append([]int{v}, o[k:]...)...)
				trail := append([]stage{}, leadTrail[:min(i, k)]...)
				if a, ok := p.run(o, leadCols, min(i, k), &trail); ok && a.better(best) {
					best, lead, leadTrail, again = a, o, trail, true
				}
			}
		}
	}
	return best, found
}

// orders lists the orders to try: by area, height, width and longer side, large ones first.
func (p *packer) orders() [][]int {
	var out [][]int
	for _, key := range []func(f *footprint) int{
		func(f *footprint) int { return f.area },
		func(f *footprint) int { return f.h },
		func(f *footprint) int { return max(f.w, f.h) },
		func(f *footprint) int { return f.w },
	} {
		o := make([]int, len(p.prints))
		for i := range o {
			o[i] = i
		}
		sort.SliceStable(o, func(a, b int) bool { return key(p.prints[o[a]][0]) > key(p.prints[o[b]][0]) })
		if p.first >= 0 {
			k := slices.Index(o, p.first)
			o = append([]int{p.first}, append(o[:k:k], o[k+1:]...)...)
		}
		out = append(out, o)
	}
	return out
}

// run puts the nests down in the order, on a grid of cols pages' width. The first keep of them lie
// as in the trail of an earlier run in which the order began alike.
func (p *packer) run(order []int, cols, keep int, trail *[]stage) (arrangement, bool) {
	t := &table{p: p, cols: cols}
	a := arrangement{cols: cols, at: make([]spot, len(p.prints))}
	if keep > 0 && keep <= len(*trail) {
		s := (*trail)[keep-1]
		*t = s.t.clone()
		copy(a.at, s.at)
		*trail = (*trail)[:keep]
	} else {
		keep = 0
		*trail = (*trail)[:0]
	}
	for _, i := range order[keep:] {
		s, ok := t.best(i)
		if !ok {
			return a, false
		}
		a.at[i] = s
		t.put(i, s)
		*trail = append(*trail, stage{t.clone(), append([]spot{}, a.at...)})
	}
	a.rows = t.rows
	right := 0
	for _, u := range t.used {
		a.tiles += bits.OnesCount64(u)
		right = max(right, bits.Len64(u))
	}
	a.cols = right
	return a, true
}

// stage is a try as it was after so many nests.
type stage struct {
	t  table
	at []spot
}

func (t *table) clone() table {
	c := *t
	c.occ.words = append([]uint64{}, t.occ.words...)
	c.used = append([]uint64{}, t.used...)
	return c
}

// grow makes the table at least rows pages high.
func (t *table) grow(rows int) {
	h := rows*t.p.ny + 2
	if t.occ.h >= h {
		return
	}
	b := newRaster(t.cols*t.p.nx+2, h)
	copy(b.words, t.occ.words)
	t.occ = b
	t.used = append(t.used, make([]uint64, rows-len(t.used))...)
}

func (t *table) put(i int, s spot) {
	f := t.p.prints[i][s.turn]
	// The table's bits have a border of one cell, as the footprints have.
	t.occ.lay(f.solid, s.x, s.y)
	tx, ty := s.x/t.p.nx, s.y/t.p.ny
	on := f.on(s.x%t.p.nx, s.y%t.p.ny, t.p.nx, t.p.ny)
	for r, m := range on {
		t.used[ty+r] |= m << tx
	}
	t.rows = max(t.rows, ty+len(on))
}

// best finds the place for nest i that adds the fewest pages; then the one that lets the sheet
// grow least; then the first from the top, from the left.
func (t *table) best(i int) (spot, bool) {
	p := t.p
	type score struct{ pages, grow, y, x int }
	less := func(a, b score) bool {
		switch {
		case a.pages != b.pages:
			return a.pages < b.pages
		case a.grow != b.grow:
			return a.grow < b.grow
		case a.y != b.y:
			return a.y < b.y
		}
		return a.x < b.x
	}
	var best score
	var at spot
	found := false
	for turn, f := range p.prints[i] {
		if f == nil || f.w > t.cols*p.nx {
			continue
		}
		reach := t.rows*p.ny + p.ny // a corner never needs to lie lower than the first free row of pages
		t.grow((reach+f.h)/p.ny + 2)
		for y := range reach {
			if p.whole[i] && y%p.ny+f.h > p.ny {
				continue
			}
			if found && best.pages == 0 && best.grow == 0 {
				break // from here on all lie lower
			}
			p.work += t.cols * p.nx
			ty := y / p.ny
			// Positions that draw on the same pages are looked at together: most are ruled out at once.
			runs := f.runs(y%p.ny, p.nx, p.ny)
			for tx := 0; tx < t.cols; tx++ {
				for _, r := range runs {
					s := score{y: y, x: tx*p.nx + r.from}
					if s.x+f.w > t.cols*p.nx {
						break
					}
					for k, m := range r.on {
						s.pages += bits.OnesCount64(m << tx &^ t.used[ty+k])
					}
					s.grow = max(0, ty+len(r.on)-t.rows)
					if found && !less(s, best) {
						continue
					}
					for px := r.from; px < r.to && tx*p.nx+px+f.w <= t.cols*p.nx; px++ {
						if p.whole[i] && px+f.w > p.nx {
							break
						}
						if s.x = tx*p.nx + px; !t.occ.meets(f.solid, s.x, y) {
							best, at, found = s, spot{turn, s.x, y}, true
							break // those farther right are no better
						}
					}
				}
			}
		}
	}
	return at, found
}
