package sheet

import (
	"math"
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
	low        int // the lowest row of cells in use, where sheets are cut off a roll; else 0
}

// better tells whether a is to be preferred: fewer pages, then a smaller sheet to glue together, then
// less of a roll, then one nearer to a square.
func (a arrangement) better(b arrangement) bool {
	if a.tiles != b.tiles {
		return a.tiles < b.tiles
	}
	if x, y := a.cols*a.rows, b.cols*b.rows; x != y {
		return x < y
	}
	if a.low != b.low {
		return a.low < b.low
	}
	return abs(a.cols-a.rows) < abs(b.cols-b.rows)
}

func abs(i int) int { return max(i, -i) }

// shorten makes the sheets of a roll as long as the fullest of them needs, with a row of cells for
// words below. Sheets that a nest runs across stay as they are.
func (p *packer) shorten(f frame, a *arrangement) frame {
	need := 0
	for i, s := range a.at {
		low := s.y%p.ny + p.prints[i][s.turn].h
		if low > p.ny {
			return f
		}
		need = max(need, low+1)
	}
	if need >= p.ny {
		return f
	}
	cell := f.th / float64(p.ny)
	for i := range a.at {
		a.at[i].y = a.at[i].y/p.ny*need + a.at[i].y%p.ny
	}
	f.th = cell * float64(need)
	f.h = f.low + f.th + f.left
	p.ny = need
	return f
}

// packer holds what stays the same over all tries.
type packer struct {
	nx, ny int            // cells of a page
	prints [][]*footprint // by nest, then by quarter turns
	whole  []bool         // the nest must not be cut by a page border
	rolled bool           // sheets are as long as what is on them
	first  int            // this one comes first and in the corner: the block of page 1; -1 for none
	work   int            // words of rows looked at so far
	tab    table
	offers []offer
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

// arrange plans all nests. The budget is in words of rows looked at.
func (p *packer) arrange(budget int) (arrangement, bool) {
	minCols := 1
	for _, fs := range p.prints {
		least := 0
		for _, f := range fs {
			if c := (f.w + p.nx - 1) / p.nx; least == 0 || c < least {
				least = c
			}
		}
		minCols = max(minCols, least)
	}
	area := 0
	for _, fs := range p.prints {
		area += fs[0].area
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
	var lead []int // the order of the best plan, and its width
	leadCols := 0
	most := math.MaxInt
	for _, order := range p.orders() {
		for _, c := range widths {
			if found && p.work > budget {
				break
			}
			a, ok := p.run(order, c, 0, nil, most)
			if ok && (!found || a.better(best)) {
				best, found, lead, leadCols, most = a, true, order, c, a.tiles
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
				if a, ok := p.run(o, leadCols, min(i, k), best.at, most); ok && a.better(best) {
					best, lead, most, again = a, o, a.tiles, true
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
		if !slices.ContainsFunc(out, func(b []int) bool { return slices.Equal(b, o) }) {
			out = append(out, o)
		}
	}
	return out
}

// run puts the nests down in the order, on a grid of cols pages' width; the first keep of them lie
// where best has them. It gives up when it comes to need more than most pages.
func (p *packer) run(order []int, cols, keep int, best []spot, most int) (arrangement, bool) {
	t := p.table(cols)
	a := arrangement{cols: cols, at: make([]spot, len(p.prints))}
	for k, i := range order {
		var s spot
		if k < keep {
			s = best[i]
		} else {
			var ok bool
			if s, ok = t.best(i, most-t.tiles); !ok {
				return a, false
			}
		}
		a.at[i] = s
		t.put(i, s)
		if p.rolled {
			a.low = max(a.low, s.y+p.prints[i][s.turn].h)
		}
	}
	a.rows, a.tiles = t.rows, t.tiles
	right := 0
	for _, u := range t.used {
		right = max(right, bits.Len64(u))
	}
	a.cols = right
	return a, true
}

// table is one try. levels[0] is what is covered; in levels[k] a cell is set when one of the 2^k
// cells from it to the right is covered, so that two looks tell whether a stretch of any length
// is free. The bits have a border of one cell, as the footprints have.
type table struct {
	p          *packer
	cols, rows int // rows in use
	stride     int
	levels     [][]uint64
	used       []uint64 // the pages with something on them, a row in a word
	tiles      int      // how many there are
	cand       []uint64 // a row of places that are looked at
}

// table is cleared for a try.
func (p *packer) table(cols int) *table {
	t := &p.tab
	if t.levels == nil {
		widest := 1
		for _, fs := range p.prints {
			for _, f := range fs {
				widest = max(widest, f.w+2)
			}
		}
		t.p, t.levels = p, make([][]uint64, bits.Len(uint(widest)))
	}
	// A word more, so that a shifted read never runs out of the row.
	t.cols, t.rows, t.tiles, t.stride = cols, 0, 0, (cols*p.nx+2+63)/64+1
	t.cand = slices.Grow(t.cand[:0], t.stride)[:t.stride]
	clear(t.used)
	for k := range t.levels {
		clear(t.levels[k])
	}
	return t
}

// grow makes the table at least rows pages high.
func (t *table) grow(rows int) {
	if len(t.used) < rows {
		t.used = append(t.used, make([]uint64, rows-len(t.used))...)
	}
	n := (rows*t.p.ny + 2) * t.stride
	for k := range t.levels {
		if d := n - len(t.levels[k]); d > 0 {
			t.levels[k] = append(t.levels[k], make([]uint64, d)...)
		}
	}
}

func (t *table) put(i int, s spot) {
	f, nx, ny := t.p.prints[i][s.turn], t.p.nx, t.p.ny
	t.grow((s.y+f.h)/ny + 2)
	for _, q := range f.spans {
		at := (s.y + q.row) * t.stride
		for k, lv := range t.levels {
			setBits(lv[at:at+t.stride], max(0, s.x+q.from-1<<k+1), s.x+q.to)
		}
	}
	tx, ty := s.x/nx, s.y/ny
	for _, r := range f.runs(s.y%ny, nx, ny) {
		if s.x%nx >= r.to {
			continue
		}
		for k, m := range r.on {
			t.tiles += bits.OnesCount64(m << tx &^ t.used[ty+k])
			t.used[ty+k] |= m << tx
		}
		t.rows = max(t.rows, ty+len(r.on))
		break
	}
}

// offer is a row of places that draw on the same pages.
type offer struct{ pages, grow, from, to int }

// best finds the place for nest i that adds the fewest pages, up to most; then the one that lets the
// sheet grow least; then the first from the top, from the left.
func (t *table) best(i, most int) (spot, bool) {
	p := t.p
	nx, ny := p.nx, p.ny
	var at spot
	var won offer
	found := false
	better := func(o offer) bool {
		return !found || o.pages < won.pages || o.pages == won.pages && o.grow < won.grow
	}
	for turn, f := range p.prints[i] {
		if f.w > t.cols*nx {
			continue
		}
		reach := t.rows*ny + ny // a corner never needs to lie lower than the first free row of pages
		t.grow((reach+f.h)/ny + 2)
		var last []run
		lastTy := -1
		for y := range reach {
			if p.whole[i] && y%ny+f.h > ny {
				continue
			}
			ty := y / ny
			runs := f.runs(y%ny, nx, ny)
			// Of a second turn, a place as good that lies higher counts too.
			high := found && at.turn != turn && y < at.y
			if found && won.pages == 0 && won.grow == 0 && !high {
				break // from here on all lie lower
			}
			if ty != lastTy || &runs[0] != &last[0] {
				last, lastTy = runs, ty
				if found {
					most = won.pages
				}
				p.offers = t.offers(p.offers[:0], f, runs, ty, p.whole[i], most)
				p.work += len(p.offers) / 8
			}
			p.work++
			some := false
			for _, o := range p.offers {
				if better(o) || high && o.pages == won.pages && o.grow == won.grow {
					if !some {
						clear(t.cand)
						some = true
					}
					setBits(t.cand, o.from, o.to)
				}
			}
			if !some || !t.sift(f, y) {
				continue
			}
			for _, o := range p.offers {
				if !better(o) && !(high && o.pages == won.pages && o.grow == won.grow) {
					continue
				}
				if x := nextBit(t.cand, o.from, o.to); x < o.to {
					won, at, found, high = o, spot{turn, x, y}, true, false
				}
			}
		}
	}
	return at, found
}

// offers lists the places of a row that add up to most pages, those together that draw on the same
// pages.
func (t *table) offers(out []offer, f *footprint, runs []run, ty int, whole bool, most int) []offer {
	nx, end := t.p.nx, t.cols*t.p.nx-f.w+1
	for tx := 0; tx < t.cols && tx*nx < end; tx++ {
		last := end
		if whole {
			last = min(last, (tx+1)*nx-f.w+1)
		}
		used := uint64(0)
		if f.packs {
			used = pack8(t.used[ty:], tx)
		}
		for k := range runs {
			r := &runs[k]
			from := tx*nx + r.from
			if from >= last {
				break
			}
			pages := 0
			if f.packs {
				pages = bits.OnesCount64(r.packed &^ used)
			} else {
				for k, m := range r.on {
					pages += bits.OnesCount64(m << tx &^ t.used[ty+k])
				}
			}
			if pages <= most {
				out = append(out, offer{pages, max(0, ty+len(r.on)-t.rows), from, min(tx*nx+r.to, last)})
			}
		}
	}
	return out
}

// sift takes the places of row y at which f would lie on something out of t.cand; false when none
// is left.
func (t *table) sift(f *footprint, y int) bool {
	words := t.cand[:t.stride-1]
	for i := range f.spans {
		q := &f.spans[i]
		k := bits.Len(uint(q.to-q.from)) - 1
		row := t.levels[k][(y+q.row)*t.stride : (y+q.row+1)*t.stride]
		a, b := q.from, q.to-1<<k
		left := uint64(0)
		for w := range words {
			v := words[w]
			if v != 0 {
				v &^= shifted(row, w+a/64, uint(a%64)) | shifted(row, w+b/64, uint(b%64))
				words[w] = v
				left |= v
			}
		}
		if left == 0 {
			t.p.work += i / 16
			return false
		}
	}
	t.p.work += len(f.spans) / 16
	return true
}

// shifted is a word of the row from bit s of word i on.
func shifted(row []uint64, i int, s uint) uint64 {
	if i+1 >= len(row) {
		return 0
	}
	return row[i]>>s | row[i+1]<<(64-s) // Go shifts 64 bits to nothing
}
