package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Tucks over a mouth: what a dart has opened is folded away at several places of its seam line instead of one. The
// line as it lies folded is cut at those places into panels; the first and the last stay where the open dart has
// put them, the others are laid between, so that every tuck takes in the same. Under each tuck the edge is the
// mirror image of the one that covers it, twice, so that it ends with it when it is folded.

// tucking is what is asked of it, and what it finds.
type tucking struct {
	n      int
	apart  float64 // along the folded line
	length float64 // stitched from the edge
	fanned bool    // towards where the dart pointed; else parallel
	before bool    // pressed over the panel before each tuck, along the outline
	name   string
	ptr    string

	d      wedge
	about  geom.Point
	mouth  float64   // what the dart took in at the edge
	turn   float64   // from one side of the mouth to the other
	fold   geom.Path // the line as it lies folded, the side before the mouth staying where it is
	at     float64   // of the mouth on it
	intake float64   // of each
	tucks  []pinned
	theta  []float64   // how far each panel is turned against the first
	moved  [2]geom.Vec // by how much the ends of the line beside the tucks are moved
}

// pinned is one tuck as it lies open: its two stitching lines begin at a and b.
type pinned struct {
	s      float64 // on the folded line
	a, b   geom.Point
	ta, tb geom.Vec // directions of the stitching lines
	x      geom.Vec // from a to b
}

// lain is a piece of the folded line: of one old edge, on one panel.
type lain struct {
	u0, u1 float64
	old    int
	s0     float64 // on the old edge
	panel  int
	path   geom.Path
}

func (k *tucking) refuse(rule, ptr string, p *pattern.Piece, valid, remedy, format string, a ...any) error {
	return pattern.Fault{Rule: rule, Pointer: ptr, Piece: p.Name, Edge: p.Edges[(k.d.first+len(p.Edges)-1)%len(p.Edges)].Name, Detail: fmt.Sprintf(format, a...), Valid: valid, Remedy: remedy}
}

// place finds where the tucks lie.
func (k *tucking) place(p *pattern.Piece) error {
	n := len(p.Edges)
	prev, next := p.Edges[(k.d.first+n-1)%n].Path, p.Edges[(k.d.second+1)%n].Path
	k.turn = k.d.a.Sub(k.about).AngleTo(k.d.b.Sub(k.about))
	k.fold = prev.Join(next.Transform(geom.RotateAbout(k.about, -k.turn)))
	k.at = prev.Length()
	k.intake = k.mouth / float64(k.n)
	// Under a tuck lies half its width of the covering panel, more where it runs aslant.
	need := 0.75*k.intake + 2
	if k.n > 1 && k.apart < need {
		return k.refuse("tucks_overlap", "/apart", p, fmt.Sprintf("at least %.1f mm", need), "set them further apart, or take more of them", "tucks that take in %.1f mm each would lie over each other, %.1f mm apart", k.intake, k.apart)
	}
	reach := float64(k.n-1) / 2 * k.apart
	room := math.Min(prev.Length(), next.Length()) - need - 8
	if reach > room {
		return k.refuse("no_room", "/apart", p, fmt.Sprintf("tucks that reach at most %.1f mm on each side of the mouth", math.Max(0, room)), "set them closer, or take fewer", "they would reach %.1f mm on each side of the dart's mouth, and the seam runs on for only %.1f mm beside it", reach, math.Min(prev.Length(), next.Length()))
	}
	if far := k.d.a.Dist(k.about) - 10; k.length > far {
		return k.refuse("tuck_long", "/length", p, fmt.Sprintf("at most %.1f mm", far), "stitch them less far", "stitched for %.1f mm the tucks would end past the dart's point", k.length)
	}
	if a := degrees(k.fold.TangentAt(k.at), k.about.Sub(k.d.a.Lerp(k.d.b, 0.5))); a < 60 || a > 120 {
		return k.refuse("tucks_aslant", k.ptr, p, "at least 60 degrees", "choose a place where the seam line runs more nearly across the tucks", "the seam line runs along the tucks, at %.0f degrees to them", math.Min(a, 180-a))
	}
	for i := range k.n {
		k.tucks = append(k.tucks, pinned{s: k.at + (float64(i)-float64(k.n-1)/2)*k.apart})
	}
	if !k.settle(p) {
		return k.refuse("tucks_apart", "/apart", p, "tucks closer together, or a seam line that runs on over the shut dart", "set them closer, take fewer, or true the seam line over the dart first", "so far apart the tucks cannot take in the same each where the seam line bends")
	}
	if far := 0.95 * k.intake / (2 * math.Sin(math.Abs(k.turn)/float64(2*k.n))); k.fanned && k.length > far {
		return k.refuse("tuck_long", "/length", p, fmt.Sprintf("at most %.1f mm", far), "stitch them less far, or lay them parallel", "fanned, the stitching lines of a tuck meet before %.1f mm", k.length)
	}
	return nil
}

// settle lays the tucks so that, folded, both edges beside the mouth are as long as they were: what they gain by being
// drawn to the tucks is taken off again, a few times over.
func (k *tucking) settle(p *pattern.Piece) bool {
	const hair = 0.05 // mm
	n := len(p.Edges)
	edges := [2]int{(k.d.first + n - 1) % n, (k.d.second + 1) % n}
	var along [2]float64
	for range 6 {
		if !k.lay(along) {
			return false
		}
		var gain [2]float64
		for _, s := range k.stretches(p) {
			for h := range gain {
				if s.old == edges[h] {
					gain[h] += s.path.Length()
				}
			}
		}
		for h := range gain {
			gain[h] -= p.Edges[edges[h]].Path.Length()
			along[h] += gain[h]
		}
		if math.Abs(gain[0])+math.Abs(gain[1]) < hair {
			return true
		}
	}
	return false
}

// lay turns the panels by even shares of the dart's angle, and finds where they lie so that every gap is as wide as a
// tuck takes in. Fanned all the way to the dart's point the gaps would add up to an arc, of which the mouth is
// the chord, so the tucks fan a little less; parallel gaps add up to less than the mouth, so the ends of the
// line beside them are moved by a hair, which is what a hand does that draws the seam line over folded tucks.
func (k *tucking) lay(along [2]float64) bool {
	const (
		most = 4.0  // mm
		hair = 0.08 // mm of all tucks together
	)
	n := k.n
	c := make([]geom.Point, n)
	for i, t := range k.tucks {
		c[i] = k.fold.PointAt(t.s)
	}
	turned := func(share float64) geom.Affine { return geom.RotateAbout(k.about, k.turn*share) }
	out := [2]geom.Vec{k.fold.TangentAt(k.tucks[0].s).Right(), k.fold.TangentAt(k.tucks[n-1].s).Right().Rotate(k.turn)}
	k.moved = [2]geom.Vec{out[0].Left().Mul(-along[0]), out[1].Left().Mul(along[1])}
	w := turned(1).Apply(c[n-1]).Add(k.moved[1]).Sub(c[0].Add(k.moved[0]))
	k.theta = nil
	for i := range n {
		k.theta = append(k.theta, k.turn*float64(i)/float64(n))
		if i > 0 {
			w = w.Sub(c[i].Sub(c[i-1]).Rotate(k.theta[i]))
		}
	}
	k.theta = append(k.theta, k.turn)
	base := k.d.b.Sub(k.d.a).Unit()
	fan := make([]float64, n)
	for i := range fan {
		if k.fanned {
			fan[i] = base.AngleTo(k.about.Sub(turned((float64(i) + 0.5) / float64(n)).Apply(c[i])).Unit().Right())
		}
	}
	sum := func(share float64) (v geom.Vec) {
		for _, f := range fan {
			v = v.Add(base.Rotate(f * share))
		}
		return v
	}
	off := func(share float64) float64 { return w.Len() - k.mouth/float64(n)*sum(share).Len() }
	share := 0.0
	if k.fanned && off(0) < 0 && off(1) > 0 {
		lo, hi := 0.0, 1.0
		for range 60 {
			if share = (lo + hi) / 2; off(share) < 0 {
				lo = share
			} else {
				hi = share
			}
		}
	} else if k.fanned && off(1) <= 0 {
		share = 1
	}
	v := sum(share)
	gap := func(h float64) geom.Vec { return w.Add(out[1].Sub(out[0]).Mul(h)) }
	// What is hardly too much or too little is left: nobody sews it, and a line that is straight before it is
	// folded gives nothing to move.
	k.intake = math.Max(k.mouth-hair, math.Min(k.mouth+hair, w.Len()*float64(n)/v.Len())) / float64(n)
	h, ok := root(func(h float64) float64 { return gap(h).Len() - k.intake*v.Len() }, 0, 0.1, 1e-8)
	if !ok || math.Abs(h) > most {
		return false
	}
	for i := range out {
		k.moved[i] = k.moved[i].Add(out[i].Mul(h))
	}
	all := v.AngleTo(gap(h))
	at := c[0].Add(k.moved[0])
	half := k.turn / float64(2*n)
	for i := range k.tucks {
		t := &k.tucks[i]
		t.x = base.Rotate(fan[i]*share + all)
		t.a, t.b = at, at.Add(t.x.Mul(k.intake))
		t.ta, t.tb = t.x.Left(), t.x.Left()
		if k.fanned {
			t.ta, t.tb = t.ta.Rotate(-half), t.tb.Rotate(half)
		}
		if i+1 < n {
			at = t.b.Add(c[i+1].Sub(c[i]).Rotate(k.theta[i+1]))
		}
	}
	return true
}

// stretches cuts the folded line at the tucks and at the mouth, and lays its pieces open.
func (k *tucking) stretches(p *pattern.Piece) []lain {
	n := len(p.Edges)
	prev, next := (k.d.first+n-1)%n, (k.d.second+1)%n
	total := k.fold.Length()
	var cuts []float64
	for _, t := range k.tucks {
		if t.s > k.at+tiny && (len(cuts) == 0 || cuts[len(cuts)-1] < k.at-tiny) {
			cuts = append(cuts, k.at)
		}
		cuts = append(cuts, t.s)
	}
	var out []lain
	u, panel := 0.0, 0
	for _, v := range append(cuts, total) {
		s := lain{u0: u, u1: v, old: prev, s0: u, panel: panel}
		if u >= k.at-tiny {
			s.old, s.s0 = next, u-k.at
		}
		switch {
		case panel == 0:
			s.path = p.Edges[prev].Path.Sub(u, v)
		case panel == k.n:
			s.path = p.Edges[next].Path.Sub(u-k.at, v-k.at)
		default:
			t := k.tucks[panel-1]
			m := geom.RotateAbout(k.fold.PointAt(t.s), k.theta[panel]).Then(geom.Translate(t.b.Sub(k.fold.PointAt(t.s))))
			s.path = k.fold.Sub(u, v).Transform(m)
		}
		out = append(out, s)
		u = v
		if panel < k.n && math.Abs(v-k.tucks[panel].s) <= tiny {
			panel++
		}
	}
	for i := range out { // folded, the line runs on smoothly over every tuck
		if i == 0 || out[i].panel == out[i-1].panel {
			continue
		}
		t := k.tucks[out[i].panel-1]
		off := t.tb.AngleTo(out[i].path.StartTangent()) - t.ta.AngleTo(out[i-1].path.EndTangent())
		off = math.Remainder(off, 2*math.Pi)
		var in, on geom.Vec
		if out[i-1].panel == 0 {
			in = k.moved[0]
		}
		if out[i].panel == k.n {
			on = k.moved[1]
		}
		out[i-1].path = bendEnd(out[i-1].path, off/2, in)
		out[i].path = bendEnd(out[i].path.Reverse(), -off/2, on).Reverse()
	}
	return out
}

// bendEnd turns the direction in which a path arrives and moves its end, shortly before it.
func bendEnd(p geom.Path, by float64, move geom.Vec) geom.Path {
	if math.Abs(by) < 1e-9 && move.Len() < 1e-9 {
		return p
	}
	l := p.Length()
	a, b := p.Split(l - math.Min(30, l*0.6))
	return a.Join(reEnd(b, geom.Vec{}, 0, move, by))
}

// under draws the edge beneath tuck i: its two halves, from a to the crease and from there to b. Nil when what
// covers it does not reach the crease.
func (k *tucking) under(i int, all []lain) (first, second geom.Path) {
	t := k.tucks[i]
	m, u := t.a.Lerp(t.b, 0.5), t.x.Left()
	crease := geom.Polyline(m.Add(u.Mul(-k.intake)), m.Add(u.Mul(k.intake)))
	var strip geom.Path // of the covering panel, from the stitching line on
	about, leg := t.a, t.ta
	for j := range all {
		switch {
		case k.before && all[j].panel == i:
			strip = all[j].path.Reverse().Join(strip)
		case !k.before && all[j].panel == i+1:
			strip = strip.Join(all[j].path)
		}
	}
	if !k.before {
		about, leg = t.b, t.tb
	}
	strip = strip.Sub(0, math.Min(strip.Length(), 2*k.intake+10)).Transform(geom.MirrorAbout(about, leg))
	xs := geom.Intersect(strip, crease, 1e-9)
	if len(xs) == 0 {
		return nil, nil
	}
	half := strip.Sub(0, xs[0].S)
	other := half.Reverse().Transform(geom.MirrorAbout(m, u))
	if k.before {
		return half, other
	}
	return other.Reverse(), half.Reverse()
}

// assemble draws the piece with its tucks: the visible stretches keep the sources of their edges, so that seams
// find them; the two halves under each tuck lie on each other.
func (k *tucking) assemble(p *pattern.Piece) (q pattern.Piece, unders [][2]string, err error) {
	n := len(p.Edges)
	prev, next := (k.d.first+n-1)%n, (k.d.second+1)%n
	all := k.stretches(p)
	q = p.Clone()
	q.Edges = nil
	for i := (next + 1) % n; i != prev; i = (i + 1) % n {
		q.Edges = append(q.Edges, p.Edges[i])
	}
	corners := knows(p)
	named := func(s string) bool { return q.EdgeNamed(s) >= 0 || p.EdgeNamed(s) >= 0 }
	index := make([]int, len(all)) // of every stretch among the edges
	add := func(e pattern.Edge) {
		if len(q.Edges) > 0 {
			q.Edges[len(q.Edges)-1].To = e.From
			e.Path = closeTo(e.Path, q.Edges[len(q.Edges)-1].Path.End(), e.Path.End())
		}
		q.Edges = append(q.Edges, e)
	}
	for j, s := range all {
		if j > 0 && s.panel != all[j-1].panel {
			a, b := k.under(s.panel-1, all)
			if a == nil || b == nil {
				return q, nil, k.refuse("tucks_overlap", "/apart", p, "tucks further apart", "set them further apart, or take more of them", "what lies over tuck %d does not cover it", s.panel)
			}
			name := fmt.Sprintf("%s_%d", k.name, s.panel)
			pair := [2]string{free(name+"_under", named), free(name+"_return", named)}
			for h, path := range [2]geom.Path{a, b} {
				e := pattern.Edge{Name: pair[h], From: free(name+[2]string{"_in", "_crease"}[h], corners), Path: path, Own: p.Edges[prev].Own, Src: pattern.Source{Piece: p.Name, Edge: pair[h], S1: path.Length()}}
				add(e)
			}
			unders = append(unders, pair)
		}
		old := p.Edges[s.old]
		e := old
		l := old.Path.Length()
		e.Path, e.Src = s.path, subSource(old.Src, s.s0, s.s0+s.u1-s.u0, l)
		switch {
		case j == 0: // begins where the old edge did
		case s.panel == all[j-1].panel:
			e.From = p.Edges[k.d.first].From // the shut mouth
		default:
			e.From = free(fmt.Sprintf("%s_%d_out", k.name, s.panel), corners)
		}
		if q.EdgeNamed(e.Name) >= 0 {
			e.Name = free(e.Name, named)
		}
		add(e)
		index[j] = len(q.Edges) - 1
	}
	end := &q.Edges[len(q.Edges)-1]
	end.To = q.Edges[0].From
	end.Path = closeTo(end.Path, end.Path.Start(), q.Edges[0].Path.Start())
	q.Darts = append(append([]pattern.Dart{}, p.Darts[:k.d.dart]...), p.Darts[k.d.dart+1:]...)
	k.marks(p, &q, all, index)
	return q, unders, nil
}

// marks keeps every mark on its stretch; one on a leg lies inside the piece now.
func (k *tucking) marks(p, q *pattern.Piece, all []lain, index []int) {
	for i := range q.Marks {
		m := &q.Marks[i]
		old := p.EdgeNamed(m.Edge)
		s := m.S
		switch {
		case old < 0:
			continue
		case k.d.leg(old) && m.At.Dist(k.d.a) > pattern.Near && m.At.Dist(k.d.b) > pattern.Near:
			m.Edge, m.S, m.Kind, m.Count = "", 0, pattern.Dot, 0
			continue
		case k.d.leg(old): // at the mouth: where the panels were one
			s = 0
			old = (k.d.second + 1) % len(p.Edges)
		}
		for j, x := range all {
			if x.old == old && s >= x.s0-pattern.Near && s <= x.s0+x.u1-x.u0+pattern.Near {
				e := &q.Edges[index[j]]
				m.Edge, m.S = e.Name, math.Max(0, math.Min(s-x.s0, e.Path.Length()))
				m.At = e.Path.PointAt(m.S)
				break
			}
		}
	}
}

// drawOn draws the stitching lines, with a dot where each ends.
func (k *tucking) drawOn(q *pattern.Piece) {
	for i, t := range k.tucks {
		for h, at := range [2]geom.Point{t.a, t.b} {
			name := fmt.Sprintf("%s_%d_%s", k.name, i+1, [2]string{"first", "second"}[h])
			end := at.Add([2]geom.Vec{t.ta, t.tb}[h].Mul(k.length))
			q.Lines = append(q.Lines, pattern.InnerLine{Name: name, Path: geom.Polyline(at, end)})
			q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Dot, Name: free(name, knows(q)), At: end, Match: fmt.Sprintf("%s_%s_%d", q.Name, k.name, i+1)})
		}
	}
}
