package sheet

import (
	"math"
	"slices"
	"strings"

	"sizerun/internal/geom"
)

// Sizes of a piece label, mm of em, and how far it stays from any line.
const (
	labelHead   = 6.0
	labelBody   = 3.8
	labelClear  = 2.5
	labelGround = 0.5 // the smallest scale: 1.9 mm, the size of fine print that still reads on a home printer
)

// labelShape is one way to set a label: a block of centred lines.
type labelShape struct {
	rows []labelRow
	w, h float64
}

type labelRow struct {
	s    string
	face Face
	size float64
	y    float64 // baseline from the block's centre
}

// labels are the ways to set the lines of a label, best first: large before small, few lines before
// many. Each is set when it is asked for.
type labels struct {
	t     *setter
	lines []string
	made  []labelShape
	tried int
	last  float64 // width of the last one made of this scale
}

func newLabels(lines []string, t *setter) *labels {
	return &labels{t: t, lines: lines[:min(len(lines), 12)]}
}

// The ways to set a label, of each scale the wide before the narrow. In one row stands all but the
// name, which is long and low, for narrow strips; a column so narrow that words are broken comes last.
const (
	labelRowWide = 10 * MaxText
	labelColumn  = 28
)

// way is the i-th, or nil when there are no more.
func (l *labels) way(i int) *labelShape {
	scales := [...]float64{1, 0.84, 0.7, 0.58, labelGround}
	widths := [...]float64{110, 64, 42, labelRowWide}
	for i >= len(l.made) && l.tried < len(scales)*(len(widths)+1) {
		k, w := l.tried/len(widths), l.tried%len(widths)
		if k >= len(scales) {
			k, w = l.tried-len(scales)*len(widths), len(widths)
		}
		l.tried++
		lines, width := l.lines, float64(labelColumn)
		if w < len(widths) {
			width = widths[w]
		}
		if width == labelRowWide {
			if len(lines) < 3 {
				continue
			}
			lines = []string{lines[0], strings.Join(lines[1:], " · ")}
		}
		s := setLabel(lines, scales[k]*l.t.large, width, l.t)
		// A narrower width that breaks no line anew is the way that was tried before.
		if w > 0 && w < len(widths)-1 && s.w >= l.last-0.5 {
			continue
		}
		l.made, l.last = append(l.made, s), s.w
	}
	if i >= len(l.made) || len(l.made[0].rows) == 0 {
		return nil
	}
	return &l.made[i]
}

func setLabel(lines []string, k, width float64, t *setter) labelShape {
	var s labelShape
	y := 0.0
	for i, l := range lines {
		face, size := Regular, labelBody*k
		if i == 0 {
			face, size = Bold, labelHead*k
		}
		if t.say(l) == "" {
			continue
		}
		for _, row := range t.wrap(face, size, l, width*math.Max(k, 0.6), 4) {
			if len(s.rows) > 0 {
				y -= size * 0.42
			}
			y -= t.ascent(face, size)
			s.rows = append(s.rows, labelRow{row, face, size, y})
			y -= t.descent(face, size)
			s.w = math.Max(s.w, t.width(face, size, row))
		}
	}
	s.h = -y
	for i := range s.rows {
		s.rows[i].y += s.h / 2
	}
	return s
}

// texts sets the block around c, its lines along u.
func (s *labelShape) texts(c geom.Point, u geom.Vec) []Text {
	var out []Text
	for _, r := range s.rows {
		out = append(out, Text{At: c.Add(u.Left().Mul(r.y)), S: r.s, Face: r.face, Size: r.size, Align: Center, Angle: u.Angle()})
	}
	return out
}

// spots lists places inside the polygon, those in the middle first.
func spots(poly []geom.Point, step float64) []geom.Point {
	r := geom.EmptyRect()
	var cx, cy, area float64
	for i, p := range poly {
		r = r.Add(p)
		q := poly[(i+1)%len(poly)]
		k := p.X*q.Y - q.X*p.Y
		area += k
		cx += (p.X + q.X) * k
		cy += (p.Y + q.Y) * k
	}
	c := r.Center()
	if math.Abs(area) > 1 {
		c = geom.Pt(cx/(3*area), cy/(3*area))
	}
	if n := r.W() * r.H() / (step * step); n > mostSpots {
		step *= math.Sqrt(n / mostSpots)
	}
	step = math.Max(step, math.Max(r.W(), r.H())/500)
	var all []geom.Point
	var xs []float64
	for y := r.Min.Y + math.Mod(c.Y-r.Min.Y, step); y <= r.Max.Y; y += step {
		xs = xs[:0]
		p := poly[len(poly)-1]
		for _, q := range poly {
			if (p.Y <= y) != (q.Y <= y) {
				xs = append(xs, p.X+(q.X-p.X)*(y-p.Y)/(q.Y-p.Y))
			}
			p = q
		}
		slices.Sort(xs)
		for i := 0; i+1 < len(xs); i += 2 {
			for x := xs[i] + math.Mod(math.Mod(c.X-xs[i], step)+step, step); x <= xs[i+1]; x += step {
				all = append(all, geom.Pt(x, y))
			}
		}
	}
	// In rings about the middle, half a step wide.
	ring := func(p geom.Point) int { return int(2 * p.Dist(c) / step) }
	most := 0
	for _, p := range all {
		most = max(most, ring(p))
	}
	start := make([]int, most+2)
	for _, p := range all {
		start[ring(p)+1]++
	}
	for i := 1; i < len(start); i++ {
		start[i] += start[i-1]
	}
	out := make([]geom.Point, len(all))
	for _, p := range all {
		k := ring(p)
		out[start[k]] = p
		start[k]++
	}
	return out
}

// mostSpots is about how many places for a label are tried at most.
const mostSpots = 2500

// placed is a label that has found its place.
type placed struct {
	s *labelShape
	c geom.Point
	u geom.Vec
}

// placeLabel finds the best way and place for a label among the spots, moved by v. ok is false when there is no
// room.
func placeLabel(free func(b box, clear, own float64, owner int) bool, ways *labels, at []geom.Point, v geom.Vec, fits func(box) bool) (placed, bool) {
	for i := 0; ; i++ {
		s := ways.way(i)
		if s == nil {
			return placed{}, false
		}
		for _, u := range []geom.Vec{{X: 1}, {Y: 1}} {
			for _, p := range at {
				b := box{p.Add(v), u, s.w / 2, s.h / 2}
				if fits != nil && !fits(b) {
					continue
				}
				if free(b, labelClear, labelClear, nobody) {
					return placed{s, b.c, u}, true
				}
			}
		}
	}
}

// reserveLabel sees whether the label has room inside the smallest size, whatever page borders
// come; if it has none, it is set beside the nest with a leader, and the nest grows by it.
func (n *nest) reserveLabel(lines []string, t *setter) {
	n.label = newLabels(lines, t)
	if n.label.way(0) == nil {
		return
	}
	n.middle = spots(n.sizes[n.small].outline, 7)
	at := n.middle
	if _, ok := placeLabel(n.ix.free, n.label, at, geom.Vec{}, nil); ok {
		return
	}
	to := n.sizes[n.small].outline[0]
	if len(at) > 0 {
		to = at[0]
	}
	// Beside the longer side, at the height of the middle.
	a := aside{s: setLabel(lines, 0.7*t.large, 42*t.large, t), to: to, body: n.bounds}
	r := n.bounds
	if r.H() >= r.W() {
		a.c = geom.Pt(r.Max.X+asideOff+a.s.w/2, min(max(to.Y, r.Min.Y+a.s.h/2), max(r.Min.Y+a.s.h/2, r.Max.Y-a.s.h/2)))
	} else {
		a.c = geom.Pt(min(max(to.X, r.Min.X+a.s.w/2), max(r.Min.X+a.s.w/2, r.Max.X-a.s.w/2)), r.Max.Y+asideOff+a.s.h/2)
	}
	n.aside = &a
	n.bounds = n.bounds.Union(a.box(a.c).grow(1).bounds())
	n.lines = append(n.lines, fenceLines(a.box(a.c).bounds())...)
	n.lines = append(n.lines, line{a.end(a.c), to, -1, nobody})
}

// asideOff is how far from the nest a label stands that has no room inside, mm.
const asideOff = 8

// aside is a label beside its nest.
type aside struct {
	s    labelShape
	c    geom.Point // the place kept for it
	to   geom.Point // where its leader points
	body geom.Rect  // of the nest without it
}

func (a *aside) box(c geom.Point) box { return box{c, geom.Vec{X: 1}, a.s.w / 2, a.s.h / 2} }

// end is where the leader of the label at c begins: at the nearest place of its edge, a little off.
func (a *aside) end(c geom.Point) geom.Point {
	w, h := a.s.w/2+1.5, a.s.h/2+1.5
	return geom.Pt(min(max(a.to.X, c.X-w), c.X+w), min(max(a.to.Y, c.Y-h), c.Y+h))
}

// places lists where the label might stand: the place kept for it, then along all four sides,
// near ones first.
func (a *aside) places() []geom.Point {
	out := []geom.Point{a.c}
	r := rectBox(a.body).grow(asideOff).bounds()
	for k := 0.0; k <= max(r.W(), r.H()); k += 8 {
		for _, d := range []float64{k, -k} {
			y, x := a.to.Y+d, a.to.X+d
			if y >= r.Min.Y && y <= r.Max.Y {
				out = append(out, geom.Pt(r.Max.X+a.s.w/2, y), geom.Pt(r.Min.X-a.s.w/2, y))
			}
			if x >= r.Min.X && x <= r.Max.X {
				out = append(out, geom.Pt(x, r.Max.Y+a.s.h/2), geom.Pt(x, r.Min.Y-a.s.h/2))
			}
		}
	}
	return out
}

// fenceLines stand for the room of an outside label where footprints are made. They are not drawn:
// their half width is negative, which marks them.
func fenceLines(r geom.Rect) []line {
	c := rectBox(r).corners()
	var out []line
	for i := range c {
		out = append(out, line{c[i], c[(i+1)%4], -1, nobody})
	}
	return out
}
