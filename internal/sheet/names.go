package sheet

import (
	"math"
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
	namePlaces = 400  // places tried along one line
	nameBudget = 40_000_000
)

// berth is a place for a size's name.
type berth struct {
	c  geom.Point
	u  geom.Vec
	in bool // on the inner side of a counter-clockwise outline
	ok int8 // 0 not tried yet, 1 free, -1 not
}

// placeNames writes the size names on every nest.
func (pl *plane) placeNames(j Job, t *setter) {
	for i := range pl.nests {
		for _, size := range []float64{3, 2.5, 2.1} {
			if pl.nameNest(i, j, size, t) {
				break
			}
		}
	}
}

// nameNest writes rows of names with an em of size; false when no row worth having was found.
func (pl *plane) nameNest(i int, j Job, size float64, t *setter) bool {
	n := &pl.nests[i]
	var lists [][]berth
	var which []int
	for k := range n.sizes {
		if n.sizes[k].outline == nil {
			continue
		}
		w := t.width(Bold, size, t.say(j.Sizes[k]))
		hh := (t.ascent(Bold, size) + t.descent(Bold, size)) / 2
		lists = append(lists, berths(n.sizes[k].outline, pl.move[i], w, hh))
		which = append(which, k)
	}
	free := func(m, b int) bool {
		q := &lists[m][b]
		if q.ok == 0 {
			q.ok = -1
			s := t.say(j.Sizes[which[m]])
			b := box{q.c, q.u, t.width(Bold, size, s) / 2, (t.ascent(Bold, size) + t.descent(Bold, size)) / 2}
			if pl.onInk(b) && pl.ix.free(b, nameOther, nameOwn-0.1, owner(n.piece, which[m])) {
				q.ok = 1
			}
		}
		return q.ok == 1
	}
	type fan struct {
		at    geom.Point
		got   []int // berth of each size, -1 for none
		count int
		reach float64
	}
	var fans []fan
	last := len(lists) - 1
	// Rows are tried from some 40 places of the largest size, from fewer in a job of very many lines.
	all := 0
	for _, l := range lists {
		all += len(l)
	}
	tries := min(40, max(4, nameBudget/(all*len(pl.nests)+1)))
	every := max(1, len(lists[last])/(2*tries))
	for a := range lists[last] {
		if (a/2)%every != 0 { // both sides of some places
			continue
		}
		f := fan{at: lists[last][a].c, got: make([]int, len(lists))}
		from, list0 := f.at, lists[last][a]
		for m := last; m >= 0; m-- {
			f.got[m] = -1
			best := math.Inf(1)
			list := lists[m]
			for b := range list {
				if list[b].in != list0.in || list[b].ok < 0 {
					continue
				}
				dx, dy := list[b].c.X-from.X, list[b].c.Y-from.Y
				if d := dx*dx + dy*dy; d >= best || d > nameReach*nameReach {
					continue
				} else if free(m, b) && !crowded(lists, f.got, m, b, size) {
					best, f.got[m] = d, b
				}
			}
			if f.got[m] >= 0 {
				f.count++
				f.reach += math.Sqrt(best)
				from = lists[m][f.got[m]].c
			}
		}
		if f.count > 0 {
			fans = append(fans, f)
		}
	}
	sort.SliceStable(fans, func(a, b int) bool {
		if fans[a].count != fans[b].count {
			return fans[a].count > fans[b].count
		}
		return fans[a].reach < fans[b].reach
	})
	if len(fans) == 0 || fans[0].count*10 < len(lists)*6 && size > 2.2 {
		return false
	}
	named := make([]bool, len(lists))
	write := func(m, b int) {
		q := lists[m][b]
		s := t.say(j.Sizes[which[m]])
		drop := (t.ascent(Bold, size) - t.descent(Bold, size)) / 2
		x := Text{At: q.c.Add(q.u.Left().Mul(-drop)), S: s, Face: Bold, Size: size, Align: Center, Angle: q.u.Angle(), Color: color(which[m])}
		if pl.ix.free(t.box(x), nameOther, nameOwn-0.1, owner(n.piece, which[m])) {
			pl.put(which[m], x, t)
			named[m] = true
		}
	}
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
		for m, b := range f.got {
			if b >= 0 {
				write(m, b)
			}
		}
	}
	// A size that no row could take stands by itself: in a narrow nest the smallest on the inner
	// side of its line, the largest on the outer.
	for m := range lists {
		for b := 0; b < len(lists[m]) && !named[m]; b++ {
			if free(m, b) {
				write(m, b)
			}
		}
	}
	return true
}

// crowded reports whether a berth would lie on a name already chosen in this row.
func crowded(lists [][]berth, got []int, m, b int, size float64) bool {
	for k := m + 1; k < len(lists); k++ {
		if got[k] >= 0 && lists[k][got[k]].c.Dist(lists[m][b].c) < size*1.6 {
			return true
		}
	}
	return false
}

// berths lists places beside the line, on both of its sides, upright to read.
func berths(outline []geom.Point, v geom.Vec, w, hh float64) []berth {
	total := 0.0
	for i := 1; i < len(outline); i++ {
		total += outline[i].Dist(outline[i-1])
	}
	step := math.Max(nameStep, total/namePlaces)
	out := make([]berth, 0, 2*int(total/step)+4)
	next, run := step/2, 0.0
	for i := 1; i < len(outline); i++ {
		a, b := outline[i-1], outline[i]
		l := a.Dist(b)
		for ; next <= run+l; next += step {
			u := b.Sub(a).Unit()
			p := a.Lerp(b, (next-run)/l).Add(v)
			in := 1.0
			if u.X < -1e-9 || math.Abs(u.X) < 1e-9 && u.Y < 0 {
				u, in = u.Neg(), -1
			}
			for _, side := range []float64{1, -1} {
				// The box's long side runs along the line.
				out = append(out, berth{c: p.Add(u.Left().Mul(side * (hh + nameOwn + 0.25))), u: u, in: side == in})
			}
		}
		run += l
	}
	return out
}
