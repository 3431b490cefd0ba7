package sheet

import (
	"math"

	"sizerun/internal/geom"
)

// Where the marks of many sizes stand close together, each is made small enough to stand clear of the
// next, and bears the name of its size where there is room: whoever cuts size 14 need not count circles.
// The same holds for notches on an edge that all sizes share, whose line does not tell them apart.

const (
	smallDot    = 0.8 // radius of the smallest dot, mm
	smallSquare = 2.2 // side of the smallest square
	pileApart   = 9.0 // marks of neighbouring sizes that are nearer than this want names
	samePlace   = 0.3 // marks that are nearer than this are one and the same
	onLine      = 0.6 // a notch that is nearer to another size's cut line than this may be taken for its
	markName    = 2.1 // em of the names
)

// markKind is one kind of mark, to be looked at alike.
type markKind func(*Drawn) []geom.Point

func dotsOf(d *Drawn) []geom.Point { return d.Dots }

func squaresOf(d *Drawn) []geom.Point {
	out := make([]geom.Point, len(d.Squares))
	for i, q := range d.Squares {
		out[i] = q.At
	}
	return out
}

// spacing is how near to each other the marks of neighbouring sizes come, mark by mark in the order that
// all sizes have them in. Marks that stay where they are count as one.
func spacing(sizes []Drawn, of markKind) []float64 {
	var out []float64
	var last []geom.Point
	for i := range sizes {
		if len(sizes[i].Cut) == 0 {
			continue
		}
		now := of(&sizes[i])
		for k, p := range now {
			if k == len(out) {
				out = append(out, math.Inf(1))
			}
			if k < len(last) {
				if d := p.Dist(last[k]); d > samePlace {
					out[k] = math.Min(out[k], d)
				}
			}
		}
		last = now
	}
	return out
}

// dotSize and squareSize are the radius and side of marks that stand so far apart.
func dotSize(apart float64) float64 { return math.Max(smallDot, math.Min(dotRadius, 0.45*apart)) }
func squareSize(apart float64) float64 {
	return math.Max(smallSquare, math.Min(squareSide, 0.7*apart))
}

// tag is a mark that wants the name of its size: beside it along one of the directions, off far.
type tag struct {
	size int
	at   geom.Point
	u    geom.Vec // outward; its opposite is tried too, unless only says so
	off  float64
	only bool
}

// placeMarkNames names the marks of every nest, after the lines have their names.
func (pl *plane) placeMarkNames(j Job, t *setter) {
	for i := range pl.nests {
		n := &pl.nests[i]
		if n.small == n.large {
			continue
		}
		for _, tags := range n.tags() {
			pl.nameMarks(i, tags, j, t)
		}
	}
}

// tags lists the marks that want names, pile by pile.
func (n *nest) tags() [][]tag {
	var out [][]tag
	for _, m := range []struct {
		of   markKind
		half func(q int) float64
	}{
		{dotsOf, func(q int) float64 { return dotSize(n.dots[q]) }},
		{squaresOf, func(q int) float64 { return squareSize(n.squares[q]) * math.Sqrt2 / 2 }},
	} {
		points := make([][]geom.Point, len(n.sizes))
		most := 0
		for i := range n.sizes {
			if n.sizes[i].outline != nil {
				points[i] = m.of(n.sizes[i].d)
				most = max(most, len(points[i]))
			}
		}
		for q := range most {
			var pile []tag
			for i := range points {
				if q >= len(points[i]) {
					continue
				}
				near, to := math.Inf(1), geom.Vec{}
				for k := range points {
					if k != i && q < len(points[k]) {
						if d := points[k][q].Dist(points[i][q]); d < near {
							near, to = d, points[k][q].Sub(points[i][q])
						}
					}
				}
				if near > samePlace && near < pileApart {
					u := to.Unit().Left()
					if u.X < 0 {
						u = u.Neg()
					}
					pile = append(pile, tag{size: i, at: points[i][q], u: u, off: m.half(q) + 0.6})
				}
			}
			if len(pile) > 0 {
				out = append(out, pile)
			}
		}
	}
	if pile := n.notchTags(); len(pile) > 0 {
		out = append(out, pile)
	}
	return out
}

// notchTags lists the notches that lie on the cut line of a neighbouring size as well as on their own.
func (n *nest) notchTags() []tag {
	var pile []tag
	for i := range n.sizes {
		s := &n.sizes[i]
		if s.outline == nil {
			continue
		}
		for _, c := range s.d.Notches {
			if len(c) == 0 {
				continue
			}
			a, b := c.Start(), c.End()
			if s.d.Cut.Contains(a) && !s.d.Cut.Contains(b) {
				a, b = b, a
			}
			foot, ok := crossing(s.outline, a, b)
			if !ok {
				continue
			}
			shared, same := false, false
			for k := range n.sizes {
				o := &n.sizes[k]
				if k == i || o.outline == nil {
					continue
				}
				for _, x := range o.d.Notches {
					if len(x) > 0 && (x.Start().Dist(c.Start()) < samePlace || x.Start().Dist(c.End()) < samePlace) {
						same = true
					}
				}
				if k >= i-1 && k <= i+1 && !shared {
					shared = runsBy(o.outline, foot)
				}
			}
			if shared && !same && a.Dist(b) > 0.5 {
				pile = append(pile, tag{size: i, at: b, u: b.Sub(a).Unit(), off: 0.6, only: true})
			}
		}
	}
	return pile
}

// crossing is where a notch from a to b crosses the outline, or begins on it.
func crossing(outline []geom.Point, a, b geom.Point) (geom.Point, bool) {
	v := b.Sub(a)
	for i := 1; i < len(outline); i++ {
		p, w := outline[i-1], outline[i].Sub(outline[i-1])
		d := v.Cross(w)
		if d == 0 {
			continue
		}
		// A little over the ends, for a notch that begins on the line.
		s, t := p.Sub(a).Cross(w)/d, p.Sub(a).Cross(v)/d
		if s >= -0.02 && s <= 1.02 && t >= 0 && t <= 1 {
			return a.Add(v.Mul(s)), true
		}
	}
	return geom.Point{}, false
}

// runsBy reports whether the outline runs through a place.
func runsBy(outline []geom.Point, c geom.Point) bool {
	for i := 1; i < len(outline); i++ {
		if toSegment(c, outline[i-1], outline[i]) < onLine {
			return true
		}
	}
	return false
}

func toSegment(c, a, b geom.Point) float64 {
	v := b.Sub(a)
	l := v.Dot(v)
	if l == 0 {
		return c.Dist(a)
	}
	return c.Dist(a.Lerp(b, math.Max(0, math.Min(1, c.Sub(a).Dot(v)/l))))
}

// nameMarks writes the names of a pile, all on one side if they have room there: the smallest and the
// largest size first, for the others can be counted from them.
func (pl *plane) nameMarks(i int, pile []tag, j Job, t *setter) {
	size := markName * t.large
	drop := (t.ascent(Regular, size) - t.descent(Regular, size)) / 2
	text := func(g tag, sign, more float64) Text {
		name := t.say(j.Sizes[g.size])
		u := g.u.Mul(sign)
		c := g.at.Add(pl.move[i]).Add(u.Mul(g.off + more + t.width(Regular, size, name)/2))
		if u.X < -1e-9 || math.Abs(u.X) < 1e-9 && u.Y < 0 {
			u = u.Neg()
		}
		return Text{At: c.Add(u.Left().Mul(-drop)), S: name, Face: Regular, Size: size, Align: Center, Angle: u.Angle(), Color: color(j.style(g.size))}
	}
	fits := func(x Text) bool {
		b := t.box(x)
		return pl.onInk(b) && pl.free(b, 0.35, 0.35, nobody)
	}
	sides := [2]float64{1, -1}
	room := [2]int{}
	for _, g := range pile {
		for k, s := range sides {
			if fits(text(g, s, 0)) {
				room[k]++
			}
		}
	}
	if room[1] > room[0] {
		sides = [2]float64{-1, 1}
	}
	order := append([]tag{pile[0], pile[len(pile)-1]}, pile...)
	named := make(map[geom.Point]bool, len(pile))
	for _, g := range order {
		if named[g.at] {
			continue
		}
		for _, more := range [...]float64{0, 1.5, 3} { // past the end of a buttonhole, too
			for _, s := range sides {
				if named[g.at] || s < 0 && g.only {
					continue
				}
				if x := text(g, s, more); fits(x) {
					pl.put(g.size, x, t)
					named[g.at] = true
				}
			}
		}
	}
}
