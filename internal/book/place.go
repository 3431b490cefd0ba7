package book

import (
	"math"

	"sizerun/internal/geom"
)

// A figure keeps its words off its lines and off each other. What is drawn lies in cells, so that a
// word asks only the lines near it.
type figure struct {
	cells map[[2]int][]seg
	taken []geom.Rect
	room  geom.Rect // words stay inside
	low   float64   // the lowest that a word reaches
}

type seg struct{ a, b geom.Point }

const (
	cell  = 4.0 // mm of paper
	clear = 2.4 // more air than this makes no word easier to read
)

func newFigure(room geom.Rect) *figure {
	return &figure{cells: map[[2]int][]seg{}, room: room, low: room.Max.Y}
}

func cellOf(p geom.Point) [2]int {
	return [2]int{int(math.Floor(p.X / cell)), int(math.Floor(p.Y / cell))}
}

// ink tells where a line runs.
func (g *figure) ink(p geom.Path) {
	pts := p.Flatten(0.2)
	for i := 1; i < len(pts); i++ {
		s := seg{pts[i-1], pts[i]}
		// Steps of half a cell miss no cell by more than the corners that the search below covers.
		n := int(math.Ceil(s.a.Dist(s.b)/(cell/2))) + 1
		was := [2]int{math.MaxInt, 0}
		for k := range n + 1 {
			if c := cellOf(s.a.Lerp(s.b, float64(k)/float64(n))); c != was {
				g.cells[c] = append(g.cells[c], s)
				was = c
			}
		}
	}
}

// air is how far a word's rectangle is from the nearest line, clear at the most; negative where it
// may not stand: over another word, or out of the figure.
func (g *figure) air(r geom.Rect) float64 {
	if r.Min.X < g.room.Min.X || r.Max.X > g.room.Max.X || r.Min.Y < g.room.Min.Y || r.Max.Y > g.room.Max.Y {
		return -1
	}
	for _, t := range g.taken {
		if t.Overlaps(r) {
			return -1
		}
	}
	best := clear
	lo, hi := cellOf(r.Min.Add(geom.Vec{X: -clear, Y: -clear})), cellOf(r.Max.Add(geom.Vec{X: clear, Y: clear}))
	for x := lo[0]; x <= hi[0]; x++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for _, s := range g.cells[[2]int{x, y}] {
				if best = math.Min(best, apart(s, r)); best == 0 {
					return 0
				}
			}
		}
	}
	return best
}

// apart is the distance of a segment from a rectangle, 0 where they meet.
func apart(s seg, r geom.Rect) float64 {
	c, hw, hh := r.Center(), r.W()/2, r.H()/2
	x0, y0, x1, y1 := s.a.X-c.X, s.a.Y-c.Y, s.b.X-c.X, s.b.Y-c.Y
	outside := x0 > hw && x1 > hw || x0 < -hw && x1 < -hw || y0 > hh && y1 > hh || y0 < -hh && y1 < -hh
	if !outside && math.Abs(x0*y1-y0*x1) <= hw*math.Abs(y1-y0)+hh*math.Abs(x1-x0) {
		return 0
	}
	// Else the nearest places are an end of the segment or a corner of the rectangle.
	d := math.Inf(1)
	for _, p := range [2][2]float64{{x0, y0}, {x1, y1}} {
		d = math.Min(d, math.Hypot(math.Max(math.Abs(p[0])-hw, 0), math.Max(math.Abs(p[1])-hh, 0)))
	}
	l := (x1-x0)*(x1-x0) + (y1-y0)*(y1-y0)
	for _, q := range [4][2]float64{{-hw, -hh}, {hw, -hh}, {hw, hh}, {-hw, hh}} {
		t := 0.0
		if l > 0 {
			t = math.Min(math.Max(((q[0]-x0)*(x1-x0)+(q[1]-y0)*(y1-y0))/l, 0), 1)
		}
		d = math.Min(d, math.Hypot(x0+t*(x1-x0)-q[0], y0+t*(y1-y0)-q[1]))
	}
	return d
}

// spot is where a word stands, and the hair line that leads to it when it stands far off.
type spot struct {
	at     geom.Rect
	leader geom.Path
	air    float64
}

const (
	aside = 5.2 // from here on a word needs a hair line to its point
	steps = 24  // places tried on a ring
)

// beside finds where a word of w by h stands best around a point: on the nearest ring that has a place
// with air enough, else on the best place of all. A word that is led stands aside by a hair line. found is
// false where there is no place at all.
func (g *figure) beside(at geom.Point, w, h, enough float64, led bool, rings []float64) (best spot, found bool) {
	best.air = math.Inf(-1)
	for _, d := range rings {
		for i := range steps {
			s, c := math.Sincos(float64(i) * 2 * math.Pi / steps)
			o := geom.Pt(at.X+(d+w/2-h/2)*c, at.Y+d*s)
			r := geom.Rect{Min: geom.Pt(o.X-w/2, o.Y-h/2), Max: geom.Pt(o.X+w/2, o.Y+h/2)}
			a := g.air(r)
			if a <= best.air {
				continue
			}
			var l geom.Path
			if led && at.Dist(o) > aside {
				from, to := at.Lerp(o, 1.2/at.Dist(o)), at.Lerp(o, 1-(h/2+w/4)/at.Dist(o))
				if g.crosses(from, to) {
					continue
				}
				l = geom.Path{geom.Line(from, to)}
			}
			best = spot{r, l, a}
		}
		if best.air >= enough {
			break
		}
	}
	return best, best.air >= 0
}

// crosses says whether a line runs over a word or a point.
func (g *figure) crosses(a, b geom.Point) bool {
	for _, t := range g.taken {
		if apart(seg{a, b}, t) < 0.15 {
			return true
		}
	}
	return false
}

// take keeps others away from a word and its hair line.
func (g *figure) take(s spot) {
	g.taken = append(g.taken, s.at)
	g.low = math.Min(g.low, s.at.Min.Y)
	if len(s.leader) > 0 {
		g.ink(s.leader)
	}
}
