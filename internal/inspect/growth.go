package inspect

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"sizerun/internal/pattern"
)

// growth compares each measured length over the sizes of the chart.
//
// What is even? Points move by shares of how the body grows, so a length grows by a mixture of the
// body's own steps; where those are alike the steps of the length must be alike, where the body
// grows half as much again so must the length. A block graded in plain steps grows evenly but for
// its stated breaks. So, between two breaks, the steps of a length are explained by as few as
// possible of these: a constant step, and the steps of one or two body measurements; at least half
// of the steps must remain unexplained by choice, or anything would pass. What is measured is the
// largest step that differs from that explanation, in mm.
func growth(sizes []Sized, chart pattern.SizeChart, o Options) []Check {
	type sized struct {
		s   *Sized
		idx int
	}
	var run []sized
	for i := range sizes {
		if k := chart.Index(sizes[i].Pattern.Size); k >= 0 {
			run = append(run, sized{&sizes[i], k})
		}
	}
	sort.SliceStable(run, func(i, j int) bool { return run[i].idx < run[j].idx })
	if len(run) < 3 {
		return nil // two sizes have one step, and one step is always even
	}
	idx := make([]int, len(run))
	for i := range run {
		idx[i] = run[i].idx
	}
	st := steps(chart, idx)
	everywhere := map[string]int{}
	for _, r := range run {
		for _, t := range r.s.Finished {
			if t.Gone == "" {
				everywhere[t.Name]++
			}
		}
	}
	for k, n := range everywhere {
		if n < len(run) { // told with the reason why it is left out
			delete(everywhere, k)
		}
	}
	var order []measure
	values := map[measure][]float64{}
	counts := map[string]int{}
	more := map[string]bool{} // pieces that are cut more often in some sizes than in others
	for _, r := range run {
		for i := range r.s.Pattern.Pieces {
			p := &r.s.Pattern.Pieces[i]
			if n, ok := counts[p.Name]; ok && n != p.Cut.Count {
				more[p.Name] = true
			}
			counts[p.Name] = p.Cut.Count
		}
	}
	joins, halves := joinsOf(run[0].s, more), map[measure]bool{}
	for _, r := range run[1:] {
		for m, edges := range joinsOf(r.s, more) {
			if n, ok := joins[m]; ok && n != edges {
				halves[m] = true // sewn to one half of the garment on the fold in some sizes, in lengths to both in others
			}
			joins[m] = edges
		}
	}
	for i, r := range run {
		for _, l := range append(lengths(&r.s.Pattern), finishedLengths(r.s, everywhere)...) {
			if more[l.piece] {
				continue // one of four lengths is shorter than one of three; together they are what a seam measures
			}
			v, ok := values[l.measure]
			if !ok {
				v = make([]float64, len(run))
				for k := range v {
					v[k] = math.NaN()
				}
				values[l.measure] = v
				order = append(order, l.measure)
			}
			v[i] = l.mm
		}
	}
	var out []Check
	for _, m := range order {
		c := Check{Rule: "growth", Piece: m.piece, Place: m.place, Tolerance: o.Growth, Unit: MM, Source: habit}
		v := values[m]
		gone := -1
		for i := range v {
			if math.IsNaN(v[i]) {
				gone = i
			}
		}
		if edges, ok := joins[m]; halves[m] || gone >= 0 && ok && edges == 0 {
			continue
		}
		if gone >= 0 {
			c.Rule, c.Size, c.Measured, c.Unit, c.Tolerance = "growth_there", run[gone].s.Pattern.Size, 1, Count, 0
			c.Text = fmt.Sprintf("%s is there in some sizes but not in size %s.", m, c.Size)
			out = append(out, Judge(c))
			continue
		}
		worst, at, ok := uneven(v, st)
		if !ok {
			continue
		}
		c.Size, c.Measured = run[at].s.Pattern.Size, worst
		c.Text = fmt.Sprintf("%s grows from %.1f to %.1f mm over the sizes; the step to size %s is %.2f mm off the even one.",
			m, v[0], v[len(v)-1], c.Size, worst)
		out = append(out, Judge(c))
	}
	return out
}

// joinsOf lists the seams of pieces that are cut more often in some sizes than in others, and how many edges of other
// pieces they sew: none where lengths are joined to each other, of which there is nothing to join where one is enough.
func joinsOf(s *Sized, more map[string]bool) map[measure]int {
	out := map[measure]int{}
	for i := range s.Pattern.Seams {
		m := &s.Pattern.Seams[i]
		all, others := 0, 0
		for _, e := range slices.Concat(m.Sew, m.To) {
			all++
			if !more[e.Piece] {
				others++
			}
		}
		if others < all {
			out[seamOf(m)], out[otherSideOf(m)] = others, others
		}
	}
	return out
}

type measure struct{ piece, place string }

func seamOf(s *pattern.Seam) measure      { return measure{"", "seam " + s.Name} }
func otherSideOf(s *pattern.Seam) measure { return measure{"", "other side of seam " + s.Name} }

func (m measure) String() string {
	if m.piece == "" {
		return m.place
	}
	return m.piece + "." + m.place
}

type length struct {
	measure
	mm float64
}

// lengths lists what is measured in one size: every edge, every seam, every cap and armhole.
func lengths(p *pattern.Pattern) []length {
	var out []length
	for i := range p.Pieces {
		for k := range p.Pieces[i].Edges {
			e := &p.Pieces[i].Edges[k]
			out = append(out, length{measure{p.Pieces[i].Name, e.Name}, e.Path.Length()})
		}
	}
	cap, armhole := map[string]float64{}, map[string]float64{}
	var keys []string
	for i := range p.Seams {
		s := &p.Seams[i]
		sew, err1 := Walk(p, s.Sew)
		to, err2 := Walk(p, s.To)
		if err1 != nil || err2 != nil {
			continue
		}
		out = append(out, length{seamOf(s), sew.Len}, length{otherSideOf(s), to.Len})
		if s.Cap {
			k := sew.Links[0].Piece.Of
			if _, ok := cap[k]; !ok {
				keys = append(keys, k)
			}
			cap[k] += sew.Len
			armhole[k] += to.Len
		}
	}
	for _, k := range keys {
		out = append(out, length{measure{k, "whole cap"}, cap[k]}, length{measure{k, "armhole"}, armhole[k]})
	}
	return out
}

// finishedLengths lists what the garment measures, as far as it can be measured in every size.
func finishedLengths(s *Sized, everywhere map[string]int) []length {
	var out []length
	for _, t := range s.Finished {
		if everywhere[t.Name] > 0 {
			out = append(out, length{measure{"", "finished " + t.Name}, t.MM})
		}
	}
	return out
}

// stepping is how the body grew in each step, and which steps belong together.
type stepping struct {
	segment []int       // per step; -1: the step leads over a break and is not comparable
	columns [][]float64 // per explanation, a value per step
}

func steps(chart pattern.SizeChart, idx []int) stepping {
	n := len(idx) - 1
	var brk []int
	for _, b := range chart.Breaks {
		if k := chart.Index(b); k >= 0 {
			brk = append(brk, k)
		}
	}
	segmentOf := func(size int) int {
		s := 0
		for _, b := range brk {
			if b <= size {
				s++
			}
		}
		return s
	}
	st := stepping{segment: make([]int, n)}
	even := make([]float64, n)
	for i := range n {
		even[i] = float64(idx[i+1] - idx[i])
		st.segment[i] = segmentOf(idx[i+1])
		if segmentOf(idx[i]+1) != st.segment[i] {
			st.segment[i] = -1
		}
	}
	st.columns = append(st.columns, even)
	names := make([]string, 0, len(chart.Body))
	for k := range chart.Body {
		names = append(names, k)
	}
	sort.Strings(names)
	for _, k := range names {
		v := chart.Body[k]
		if len(v) != len(chart.Run) {
			continue
		}
		col := make([]float64, n)
		for i := range n {
			col[i] = v[idx[i+1]] - v[idx[i]]
		}
		if !proportional(col, st.columns) {
			st.columns = append(st.columns, col)
		}
	}
	return st // at most pattern.MaxMeasures and one
}

// proportional: the column says nothing that another does not say already.
func proportional(c []float64, all [][]float64) bool {
	cc := dot(c, c)
	if !(cc > 1e-12) {
		return true
	}
	for _, o := range all {
		d := dot(c, o)
		if cc*dot(o, o)-d*d <= 1e-9*cc*dot(o, o) {
			return true
		}
	}
	return false
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

// uneven is the largest step off its explanation, in any stretch between breaks, and the index of the
// size that the step leads to.
func uneven(v []float64, st stepping) (worst float64, at int, ok bool) {
	segs := map[int][]int{}
	var order []int
	for i, s := range st.segment {
		if s < 0 {
			continue
		}
		if _, seen := segs[s]; !seen {
			order = append(order, s)
		}
		segs[s] = append(segs[s], i)
	}
	for _, s := range order {
		in := segs[s]
		if len(in) < 2 {
			continue
		}
		d := make([]float64, len(in))
		cols := make([][]float64, 0, len(st.columns))
		for k, i := range in {
			d[k] = v[i+1] - v[i]
		}
		for _, c := range st.columns {
			x := make([]float64, len(in))
			for k, i := range in {
				x[k] = c[i]
			}
			if !proportional(x, cols) {
				cols = append(cols, x)
			}
		}
		w, k := explain(d, cols)
		ok = true
		if w >= worst {
			worst, at = w, in[k]+1
		}
	}
	return worst, at, ok
}

// explain finds the one or two columns that leave the smallest largest rest. One is preferred as soon
// as it does within a tenth of a millimetre, for then there is nothing left to explain.
func explain(d []float64, cols [][]float64) (worst float64, at int) {
	worst = math.Inf(1)
	try := func(use ...[]float64) {
		r := rest(d, use)
		w, k := 0.0, 0
		for i := range r {
			if math.Abs(r[i]) > w {
				w, k = math.Abs(r[i]), i
			}
		}
		if w < worst-1e-9 {
			worst, at = w, k
		}
	}
	try()
	for _, c := range cols {
		try(c)
	}
	if len(d) >= 4 && worst > 0.1 {
		for i := range cols {
			for j := i + 1; j < len(cols); j++ {
				try(cols[i], cols[j])
			}
		}
	}
	return worst, at
}

// rest is d less its least-squares share of one or two columns.
func rest(d []float64, use [][]float64) []float64 {
	r := append([]float64(nil), d...)
	switch len(use) {
	case 1:
		k := dot(d, use[0]) / dot(use[0], use[0])
		for i := range r {
			r[i] -= k * use[0][i]
		}
	case 2:
		a, b := use[0], use[1]
		aa, ab, bb, da, db := dot(a, a), dot(a, b), dot(b, b), dot(d, a), dot(d, b)
		det := aa*bb - ab*ab
		x, y := (da*bb-db*ab)/det, (db*aa-da*ab)/det
		for i := range r {
			r[i] -= x*a[i] + y*b[i]
		}
	}
	return r
}
