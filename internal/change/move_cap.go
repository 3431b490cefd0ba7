package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Redrawing the cap of a sleeve. It has two halves, each from its underarm corner to the crown. A half is
// stretched evenly, so much across the grain and so much along it; its curve then still leaves the underarm
// and arrives at the crown in the old direction, so that the armhole runs on over the underarm seam and the
// cap over the crown. Straight ends turn, since nothing bends them.

// capHalf is one half of a cap, walked from the underarm to the crown.
type capHalf struct {
	edges   []int // in the order walked
	against bool  // the walk goes against the outline
	paths   []geom.Path
	length  float64
	under   geom.Point
	wide    float64 // from the underarm to the crown, across the grain, towards the crown
	high    float64 // and along it
}

// capLine is a cap as it was before it is redrawn: its left half, under which the hem begins, and its right one.
type capLine struct {
	t      *tube
	was    pattern.Piece
	halves [2]capHalf
	back   int // which half is the back
	crown  geom.Point
}

// capLine finds the halves of a tube's cap.
func (w *work) capLine(t *tube, crown string) (capLine, error) {
	const least = 20.0 // mm that a half is wide and high
	p := t.p
	c := capLine{t: t, was: p.Clone()}
	at, err := w.spotOf("/crown", p, pattern.Place{Point: crown})
	if err != nil {
		return c, blame(err, "/crown")
	}
	n := len(p.Edges)
	run := t.cap.edges(n)
	k := slices.Index(run, at.edge)
	if k >= 0 && at.s > p.Edges[at.edge].Path.Length()-pattern.Near {
		k++
	}
	if k <= 0 || k >= len(run) || at.s > pattern.Near && at.s < p.Edges[at.edge].Path.Length()-pattern.Near {
		return c, pattern.Fault{Rule: "off_cap", Pointer: "/crown", Piece: p.Name, Edge: p.Edges[at.edge].Name, Detail: fmt.Sprintf("the crown %q is no corner between a front and a back of the cap of %q", crown, p.Name),
			Valid: pattern.Choices(crowns(p, run)), Remedy: "name the dot at the top of the cap"}
	}
	c.crown = at.at(p)
	for _, i := range run {
		if p.IsLeg(p.Edges[i].Name) {
			return c, pattern.Fault{Rule: "dart_leg", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[i].Name, Detail: fmt.Sprintf("the cap of %q has a dart", p.Name), Remedy: "put this change before the one that makes the dart"}
		}
	}
	right, left := run[:k], slices.Clone(run[k:])
	slices.Reverse(left)
	across := [2]geom.Vec{t.up.Right(), t.up.Left()}
	for i, es := range [2][]int{left, right} {
		h := capHalf{edges: es, against: i == 0}
		for _, e := range es {
			path := p.Edges[e].Path
			if h.against {
				path = path.Reverse()
			}
			h.paths = append(h.paths, path)
			h.length += path.Length()
		}
		h.under = h.paths[0].Start()
		v := c.crown.Sub(h.under)
		h.wide, h.high = v.Dot(across[i]), v.Dot(t.up)
		if h.wide < least || h.high < least {
			return c, pattern.Fault{Rule: "flat_cap", Pointer: "/piece", Piece: p.Name, Edge: p.Edges[es[0]].Name, Detail: fmt.Sprintf("a half of the cap of %q is %.1f mm wide and %.1f mm high", p.Name, h.wide, h.high),
				Valid: pattern.Choices(w.sleeves()), Remedy: fmt.Sprintf("choose a sleeve with a cap of at least %g mm each", least)}
		}
		c.halves[i] = h
	}
	c.back = w.backHalf(&c)
	return c, nil
}

// crowns names the corners between the edges of a cap.
func crowns(p *pattern.Piece, run []int) []string {
	var out []string
	for _, i := range run[1:] {
		out = append(out, p.Edges[i].From)
	}
	return out
}

// sleeves names the pieces that are set in.
func (w *work) sleeves() []string {
	var out []string
	for _, s := range w.p.Seams {
		for _, r := range s.Sew {
			if s.Cap && !slices.Contains(out, r.Piece) {
				out = append(out, r.Piece)
			}
		}
	}
	return out
}

// backHalf is the half whose lowest notch is a double one; without one, the left, where the back lies as seen from
// the right side (common practice).
func (w *work) backHalf(c *capLine) int {
	var count [2]int
	for i := range c.halves {
		if m, _ := c.halves[i].lowest(&c.was); m != nil {
			count[i] = m.Count
		}
	}
	if count[1] == 2 && count[0] != 2 {
		return 1
	}
	return 0
}

// at is how far from the underarm a place of the half lies.
func (h *capHalf) at(e int, s float64) (float64, bool) {
	x := 0.0
	for k, i := range h.edges {
		l := h.paths[k].Length()
		if i == e {
			if h.against {
				s = l - s
			}
			return x + s, true
		}
		x += l
	}
	return 0, false
}

// lowest is the notch nearest to the underarm, and how far from there it lies.
func (h *capHalf) lowest(p *pattern.Piece) (*pattern.Mark, float64) {
	var low *pattern.Mark
	at := math.Inf(1)
	for i := range p.Marks {
		m := &p.Marks[i]
		if x, ok := h.at(p.EdgeNamed(m.Edge), m.S); ok && m.Kind == pattern.Notch && x < at {
			low, at = m, x
		}
	}
	return low, at
}

// drawn is the half redrawn between new ends.
func (h *capHalf) drawn(t *tube, under, crown geom.Point) []geom.Path {
	r, u := t.up.Right(), t.up
	old, now := h.paths[len(h.paths)-1].End().Sub(h.under), crown.Sub(under)
	kx, ky := now.Dot(r)/old.Dot(r), now.Dot(u)/old.Dot(u)
	m := geom.Affine{A: kx*r.X*r.X + ky*u.X*u.X, B: kx*r.X*r.Y + ky*u.X*u.Y, C: kx*r.X*r.Y + ky*u.X*u.Y, D: kx*r.Y*r.Y + ky*u.Y*u.Y}
	o := m.Apply(h.under)
	m.E, m.F = under.X-o.X, under.Y-o.Y
	out := make([]geom.Path, len(h.paths))
	for i, p := range h.paths {
		out[i] = p.Transform(m)
	}
	// The handles at the ends keep their new length and get their old direction back.
	first, was := &out[0][0], h.paths[0][0]
	if v := was.P1.Sub(was.P0); !first.Straight && v.Len() > 0 {
		first.P1 = first.P0.Add(v.Unit().Mul(first.P1.Dist(first.P0)))
	}
	k := len(out) - 1
	last := &out[k][len(out[k])-1]
	was = h.paths[k][len(h.paths[k])-1]
	if v := was.P2.Sub(was.P3); !last.Straight && v.Len() > 0 {
		last.P2 = last.P3.Add(v.Unit().Mul(last.P2.Dist(last.P3)))
	}
	return out
}

// long is how long the half is when it is so wide and so high.
func (c *capLine) long(i int, wide, high float64) float64 {
	h := &c.halves[i]
	crown := h.under.Add(c.across(i).Mul(wide)).Add(c.t.up.Mul(high))
	l := 0.0
	for _, p := range h.drawn(c.t, h.under, crown) {
		l += p.Length()
	}
	return l
}

// across is the direction from the underarm of a half to under the crown.
func (c *capLine) across(i int) geom.Vec {
	if i == 0 {
		return c.t.up.Right()
	}
	return c.t.up.Left()
}

// width is how wide a half of a given height is that is so long.
func (c *capLine) width(i int, long, high float64) (float64, bool) {
	const tol = 1e-7
	h := &c.halves[i]
	// Pythagoras on the chord, as a first guess.
	k := h.length / math.Hypot(h.wide, h.high)
	x := (long/k)*(long/k) - high*high
	if x <= 0 {
		return 0, false
	}
	w := math.Sqrt(x)
	w, ok := root(func(x float64) float64 { return c.long(i, x, high) - long }, w, w+0.5, tol)
	return w, ok && w > 0
}

// Bounds of what a cap may become of what it was, so that its curves keep their character.
const (
	leastCap  = 20.0 // mm wide and high, each half
	flattest  = 0.4  // of its width or height
	stretched = 2.0
)

// bearable tells whether a half may become so wide and so high.
func (h *capHalf) bearable(wide, high float64) bool {
	return wide >= leastCap && high >= leastCap && wide >= flattest*h.wide && high >= flattest*h.high && wide <= stretched*h.wide && high <= stretched*h.high
}

// fitWithin finds by how much the crown rises so that the halves are so long and the underarm corners stay, and
// the widths that the halves then have.
func (c *capLine) fitWithin(long [2]float64) (rise float64, wide [2]float64, ok bool) {
	sum := c.halves[0].wide + c.halves[1].wide
	over := func(rise float64) float64 {
		total := -sum
		for i := range c.halves {
			x, ok := c.width(i, long[i], c.halves[i].high+rise)
			if !ok {
				return math.NaN()
			}
			wide[i] = x
			total += x
		}
		return total
	}
	// A cap that gains d of length rises by about d · length / height: the lower it is, the more.
	gain := long[0] + long[1] - c.halves[0].length - c.halves[1].length
	high := (c.halves[0].high + c.halves[1].high) / 2
	guess := gain / 2 * (c.halves[0].length + c.halves[1].length) / (2 * high)
	guess = math.Max(-0.3*high, math.Min(0.5*high, guess))
	rise, ok = root(over, 0, guess+0.1, 1e-6)
	if !ok || math.IsNaN(over(rise)) {
		return 0, wide, false
	}
	for i := range c.halves {
		ok = ok && c.halves[i].bearable(wide[i], c.halves[i].high+rise)
	}
	return rise, wide, ok
}

// redrawCap moves the crown and the underarm corners; the sides go along with these, and the hem with them or not. It
// carries what lies on the piece.
func (w *work) redrawCap(c *capLine, crown geom.Point, under [2]geom.Point, hemKept bool, surplus func(int) (before, after float64)) error {
	t, p := c.t, c.t.p
	var fresh [2]capHalf
	for i := range c.halves {
		h := &c.halves[i]
		f := *h
		f.paths = h.drawn(t, under[i], crown)
		f.length = 0
		for k, e := range h.edges {
			path := f.paths[k]
			f.length += path.Length()
			if h.against {
				path = path.Reverse()
			}
			p.Edges[e].Path = path
		}
		fresh[i] = f
	}
	// Corners between edges of one half are the same point on both.
	run := t.cap.edges(len(p.Edges))
	for k := 1; k < len(run); k++ {
		e := &p.Edges[run[k]]
		e.Path = closeTo(e.Path, p.Edges[run[k-1]].Path.End(), e.Path.End())
	}
	if err := c.sides(under, hemKept); err != nil {
		return err
	}
	rise := crown.Sub(c.crown)
	high := [2]float64{c.halves[0].high, c.halves[1].high}
	sway := t.sway(&c.was)
	t.carryAll(&c.was, func(q geom.Point) geom.Point {
		// Above the biceps line the cloth follows the crown more and more.
		k := math.Max(0, math.Min(1, 1-c.crown.Sub(q).Dot(t.up)*2/(high[0]+high[1])))
		return q.Lerp(sway(q), 1-k).Add(rise.Mul(k))
	})
	for i := range c.halves {
		var before, after float64
		if surplus != nil {
			before, after = surplus(i)
		}
		w.capMarks(c, &c.halves[i], &fresh[i], before, after)
	}
	w.made = append(w.made, p.Name)
	return nil
}

// sides lets the sides go along with the underarm corners.
func (c *capLine) sides(under [2]geom.Point, hemKept bool) error {
	t, p := c.t, c.t.p
	n := len(p.Edges)
	in := t.up.Right()
	var by [2]geom.Vec
	for i := range by {
		by[i] = under[i].Sub(c.halves[i].under)
	}
	if by[0].Len()+by[1].Len() < 1e-9 {
		return nil
	}
	chains := [2][]int{(run{(t.cap.last + 1) % n, t.left}).edges(n), (run{t.right, (t.cap.first + n - 1) % n}).edges(n)}
	for i, es := range chains {
		side := [2]int{t.left, t.right}[i]
		if !hemKept {
			for _, e := range es {
				p.Edges[e].Path = p.Edges[e].Path.Transform(geom.Translate(by[i]))
			}
			continue
		}
		if len(es) > 1 {
			return pattern.Fault{Rule: "side_in_parts", Pointer: "/hem_width", Piece: p.Name, Edge: p.Edges[side].Name, Detail: fmt.Sprintf("a side of %q is in %d parts and cannot lean over as one", p.Name, len(es)),
				Valid: "follows", Remedy: "let the hem follow, or put this change before the one that parts the side"}
		}
		path := p.Edges[side].Path
		if i == 1 {
			path = path.Reverse()
		}
		q := drawnIn(path.Transform(geom.Translate(by[i])), by[i].Neg(), t.up)
		if q == nil {
			return pattern.Fault{Rule: "side_leans", Pointer: "/hem_width", Piece: p.Name, Edge: p.Edges[side].Name, Detail: fmt.Sprintf("the side %s of %q, %.1f mm long, cannot lean over by %.1f mm", p.Edges[side].Name, p.Name, path.Length(), by[i].Len()),
				Valid: fmt.Sprintf("up to about %.0f mm", 0.7*path.Length()), Remedy: "let the hem follow, or lengthen the sleeve first"}
		}
		if i == 1 {
			q = q.Reverse()
		}
		p.Edges[side].Path = q
	}
	w0, w1 := t.hemWide(&c.was), p.Edges[t.right].Path.Start().Sub(p.Edges[t.left].Path.End()).Dot(in)
	if w1 < leastCap {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/hem_width", Piece: p.Name, Edge: p.Edges[t.hem].Name, Detail: fmt.Sprintf("the hem of %q, %.1f mm wide, would be %.1f mm wide", p.Name, w0, w1),
			Valid: fmt.Sprintf("at least %g mm", leastCap), Remedy: "let the hem keep its width, or change the cap less"}
	}
	p.Edges[t.hem].Path = hemBetween(&c.was, p, t, in, w1/w0)
	return nil
}
