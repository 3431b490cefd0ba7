package sheet

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"sizerun/internal/geom"
)

// Size names stand along the cut lines, each beside its own, in a row where the lines fan out. A
// name must be clear of every line and clearly nearer to its own than to the next.
const (
	nameOwn    = 0.45 // from its own line, mm
	nameOther  = 1.0  // from any other line
	nameStep   = 7    // places are tried this far apart
	fanApart   = 230  // the next row of names is at least this far off
	fanMost    = 4    // rows of names on one nest
	nameReach  = 70   // from one name of a row to the next, at most
	nameTries  = 24   // places of the largest size from which rows are tried
	namedWell  = 6    // tenths of the sizes on a page that are named: no row of its own is needed
	pageTries  = 8    // places of a page from which a row is tried
	namePlaces = 220  // places tried along one line
	nameBudget = 40_000_000
)

// berth is a place for a size's name.
type berth struct {
	c  geom.Point
	u  geom.Vec
	ok int8 // 0 not tried yet, 1 free, -1 not
}

// mooring is the line of one size with the berths along it: those on the inner side of a
// counter-clockwise outline, and those on the outer, number by number side by side.
type mooring struct {
	size   int
	name   string
	hw, hh float64 // half of the name's room
	sides  [2][]berth
	step   float64 // from one berth to the next along the line
	turn   float64 // how much farther apart they may be than that, where the line turns
}

// placeNames writes the size names on every nest.
func (pl *plane) placeNames(j Job, t *setter) {
	for i := range pl.nests {
		for _, size := range []float64{3, 2.5, 2.1} {
			if pl.nameNest(i, j, size*t.large, t) {
				break
			}
		}
	}
}

// namer names the sizes of one nest with an em of size.
type namer struct {
	pl    *plane
	nest  int // which of the plane's
	j     Job
	size  float64
	t     *setter
	ms    []mooring
	named []bool // by mooring
	near  []*berth
	buf   []away
}

// fan is a row of names across the lines.
type fan struct {
	at    geom.Point
	side  int
	got   []int // berth of each size, -1 for none
	count int
	reach float64
}

// before tells whether f is the better fan: more sizes, then closer together.
func (f *fan) before(g *fan) bool {
	return f.count > g.count || f.count == g.count && f.reach < g.reach
}

// nameNest writes rows of names with an em of size; false when no row worth having was found.
func (pl *plane) nameNest(i int, j Job, size float64, t *setter) bool {
	n := &pl.nests[i]
	w := &namer{pl: pl, nest: i, j: j, size: size, t: t, buf: make([]away, 0, 32)}
	w.ms = make([]mooring, 0, len(n.sizes))
	pl.berths = pl.berths[:0]
	for k := range n.sizes {
		if n.sizes[k].outline == nil {
			continue
		}
		m := mooring{size: k, name: t.say(j.Sizes[k])}
		m.hw = t.width(Bold, size, m.name) / 2
		m.hh = (t.ascent(Bold, size) + t.descent(Bold, size)) / 2
		pl.berths = m.berths(pl.berths, n.sizes[k].outline, n.lines[n.sizes[k].from].half, pl.move[i])
		w.ms = append(w.ms, m)
	}
	w.named = make([]bool, len(w.ms))
	w.near = make([]*berth, 0, len(w.ms))
	fans := w.fans()
	if len(fans) == 0 || fans[0].count*10 < len(w.ms)*6 && size > 2.2*t.large {
		return false
	}
	said := len(pl.words)
	var kept []geom.Point
	for _, f := range fans {
		near := false
		for _, k := range kept {
			near = near || k.Dist(f.at) < fanApart
		}
		if near || f.count*10 < fans[0].count*7 || len(kept) == fanMost {
			continue
		}
		kept = append(kept, f.at)
		w.write(f)
	}
	if pl.glued {
		w.namePages(said)
	}
	w.strays()
	return true
}

// free reports whether the berth of a size has room.
func (w *namer) free(m *mooring, q *berth) bool {
	if q.ok == 0 {
		q.ok = -1
		b := box{q.c, q.u, m.hw, m.hh}
		if w.pl.onInk(b) && w.pl.free(b, nameOther, nameOwn-0.1, owner(w.pl.nests[w.nest].piece, m.size)) {
			q.ok = 1
		}
	}
	return q.ok == 1
}

// row looks for a row of names from berth a of size lead down to the smallest; only on the page, if
// one is given. It gives up, with none, when fewer than least sizes can come of it.
func (w *namer) row(got []int, lead, side, a int, page *geom.Rect, least int) fan {
	from := w.ms[lead].sides[side][a].c
	f := fan{at: from, side: side, got: got}
	for m := range got {
		got[m] = -1
	}
	hint := float64(a) / float64(len(w.ms[lead].sides[side]))
	w.near = w.near[:0]
	for m := lead; m >= 0; m-- {
		if f.count+m+1 < least {
			f.count = 0
			return f
		}
		b, d := w.ms[m].nearest(w.buf, side, from, int(hint*float64(len(w.ms[m].sides[side]))), func(q *berth) bool {
			return (page == nil || page.Contains(q.c)) && w.free(&w.ms[m], q) && !crowded(w.near, q, w.size)
		})
		got[m] = b
		if b >= 0 {
			q := &w.ms[m].sides[side][b]
			f.count++
			f.reach += d
			from, hint = q.c, float64(b)/float64(len(w.ms[m].sides[side]))
			w.near = append(w.near, q)
		}
	}
	return f
}

// fans are the rows found over the whole nest, best first. They are tried from some places of the
// largest size, from fewer in a job of very many lines; on the outer side of the lines only if no row
// is whole on the inner.
func (w *namer) fans() []fan {
	last, all := len(w.ms)-1, 0
	for k := range w.ms {
		all += 2 * len(w.ms[k].sides[0])
	}
	tries := min(nameTries, max(4, nameBudget/(all*len(w.pl.nests)+1)))
	places := len(w.ms[last].sides[0])
	every := max(1, places/tries)
	got := make([]int, (places/every+1)*2*len(w.ms))
	var fans []fan
	full, most := false, 0
	for side := 0; side < 2 && !full; side++ {
		for a := 0; a < places; a += every {
			f := w.row(got[:len(w.ms):len(w.ms)], last, side, a, nil, (most*7+9)/10) // fewer would not be kept, whatever comes
			most = max(most, f.count)
			full = most == len(w.ms)
			if f.count > 0 {
				fans, got = append(fans, f), got[len(w.ms):]
			}
		}
	}
	sort.SliceStable(fans, func(a, b int) bool { return fans[a].before(&fans[b]) })
	return fans
}

// write writes the names of a row.
func (w *namer) write(f fan) {
	for m, b := range f.got {
		if b >= 0 {
			w.put(m, &w.ms[m].sides[f.side][b])
		}
	}
}

// put writes one name.
func (w *namer) put(k int, q *berth) {
	m, t := &w.ms[k], w.t
	drop := (t.ascent(Bold, w.size) - t.descent(Bold, w.size)) / 2
	x := Text{At: q.c.Add(q.u.Left().Mul(-drop)), S: m.name, Face: Bold, Size: w.size, Align: Center, Angle: q.u.Angle(), Color: color(w.j.style(m.size))}
	if w.pl.free(t.box(x), nameOther, nameOwn-0.1, owner(w.pl.nests[w.nest].piece, m.size)) {
		w.pl.put(m.size, x, t)
		w.named[k] = true
	}
}

// namePages writes a row on each page that shows the lines of more sizes than it has names of, those
// from word said on: whoever holds one page in hand sees which line is hers.
func (w *namer) namePages(said int) {
	pl := w.pl
	names := map[int]int{} // by page
	for _, x := range pl.words[said:] {
		names[pl.at(pl.cellAt(x.t.At))]++
	}
	var pages []int
	for _, on := range pl.on[w.nest] {
		for _, k := range on {
			pages = append(pages, int(k))
		}
	}
	slices.Sort(pages)
	won, got := make([]int, len(w.ms)), make([]int, len(w.ms))
	var at []int // places on the page
	for _, k := range slices.Compact(pages) {
		page := pl.rect(cell{k % pl.cols, k / pl.cols})
		here := 0 // the sizes with a place on the page
		for m := range w.ms {
			if slices.ContainsFunc(w.ms[m].sides[0], func(q berth) bool { return page.Contains(q.c) }) {
				here++
			}
		}
		if names[k]*10 >= here*namedWell {
			continue
		}
		best := fan{got: won}
		// From the largest size; from smaller ones while few can be named from its places.
		for lead := len(w.ms) - 1; lead >= best.count && best.count*3 < here; lead-- {
			for side := 0; side < 2 && best.count < here; side++ {
				at = at[:0]
				for b := range w.ms[lead].sides[side] {
					if q := &w.ms[lead].sides[side][b]; page.Contains(q.c) && w.free(&w.ms[lead], q) {
						at = append(at, b)
					}
				}
				for x := 0; x < len(at) && best.count < here; x += max(1, len(at)/pageTries) {
					if f := w.row(got, lead, side, at[x], &page, max(best.count, names[k])+1); f.count > 0 {
						best, got = f, best.got
					}
				}
			}
		}
		if best.count > 0 {
			w.write(best)
		}
		won = best.got
	}
}

// strays names the sizes that no row could take, each by itself: in a narrow nest the smallest on the
// inner side of its line, the largest on the outer.
func (w *namer) strays() {
	for k := range w.ms {
		for b := 0; b < len(w.ms[k].sides[0]) && !w.named[k]; b++ {
			for side := range 2 {
				if q := &w.ms[k].sides[side][b]; !w.named[k] && w.free(&w.ms[k], q) {
					w.put(k, q)
				}
			}
		}
	}
}

// crowded reports whether a berth would lie on a name already chosen in this row.
func crowded(near []*berth, q *berth, size float64) bool {
	for _, k := range near {
		if dx, dy := k.c.X-q.c.X, k.c.Y-q.c.Y; dx*dx+dy*dy < size*size*1.6*1.6 {
			return true
		}
	}
	return false
}

// away is a berth and how far off it is, squared.
type away struct {
	d float64
	b int
}

// nearest finds the berth on the side that is nearest to from, within reach, of those that suit, and
// its distance; -1 when there is none. It lies most likely near berth hint. buf is room to work in.
func (m *mooring) nearest(buf []away, side int, from geom.Point, hint int, suits func(*berth) bool) (int, float64) {
	list := m.sides[side]
	// limit is how far off berths are looked at: first none but the nearest, then all in reach.
	limit, found := float64(nameReach), -1
	sweep := func(each func(d float64, b int)) {
		for _, way := range [...]int{1, -1} {
			b := hint
			if way < 0 {
				b--
			}
			for b >= 0 && b < len(list) {
				q := &list[b]
				dx, dy := q.c.X-from.X, q.c.Y-from.Y
				d := dx*dx + dy*dy
				if d < limit*limit {
					if q.ok >= 0 {
						each(d, b)
					}
				} else if far := limit + m.turn + m.step; d > far*far {
					// Neighbours are no farther apart than a step along the line and what their sides may
					// add where it turns: from a berth that is far off, so many more may be passed over.
					b += way * int((math.Sqrt(d)-limit-m.turn)/m.step)
					continue
				}
				b += way
			}
		}
	}
	sweep(func(d float64, b int) { found, limit = b, math.Sqrt(d) })
	if found < 0 || suits(&list[found]) {
		return found, limit
	}
	limit = nameReach
	buf = buf[:0]
	sweep(func(d float64, b int) {
		if b != found {
			buf = append(buf, away{d, b})
		}
	})
	slices.SortFunc(buf, func(x, y away) int { return cmp.Or(cmp.Compare(x.d, y.d), cmp.Compare(x.b, y.b)) })
	for _, w := range buf {
		if suits(&list[w.b]) {
			return w.b, math.Sqrt(w.d)
		}
	}
	return -1, 0
}

// berths lists places beside the line, half of whose width is told, on both of its sides, upright to
// read. They are kept after those in buf.
func (m *mooring) berths(buf []berth, outline []geom.Point, half float64, v geom.Vec) []berth {
	total := 0.0
	for i := 1; i < len(outline); i++ {
		total += outline[i].Dist(outline[i-1])
	}
	m.step = math.Max(nameStep, total/namePlaces)
	away := m.hh + nameOwn + half + 0.05
	m.turn = 2*away + 1e-6
	places := int(total/m.step) + 2
	buf = slices.Grow(buf, 2*places)
	at := len(buf)
	buf = buf[:at+2*places]
	m.sides = [2][]berth{buf[at : at : at+places], buf[at+places : at+places : at+2*places]}
	next, run := m.step/2, 0.0
	for i := 1; i < len(outline); i++ {
		a, b := outline[i-1], outline[i]
		l := a.Dist(b)
		for ; next <= run+l; next += m.step {
			u := b.Sub(a).Unit()
			p := a.Lerp(b, (next-run)/l).Add(v)
			off := u.Left().Mul(away)
			if u.X < -1e-9 || math.Abs(u.X) < 1e-9 && u.Y < 0 {
				u = u.Neg()
			}
			// The box's long side runs along the line.
			m.sides[0] = append(m.sides[0], berth{c: p.Add(off), u: u})
			m.sides[1] = append(m.sides[1], berth{c: p.Add(off.Neg()), u: u})
		}
		run += l
	}
	return buf
}
