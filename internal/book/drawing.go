package book

import (
	"math"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// A working drawing shows how a change is drawn by hand: what was there in grey, construction lines
// dashed, what is new in black, numbered points, the distances measured, and the steps in words. It is
// drawn smaller than life, and says so; every number is the geometry's own.

const (
	figureShare = 0.52 // of a page's height, at the most
	pointRadius = 0.8
	numberSize  = 2.8
)

// drawing sets one working drawing on a page of its own, and more pages when its words need them.
func (f *flow) drawing(d change.Drawing, p *pattern.Pattern) {
	if len(d.Lines) == 0 {
		return
	}
	f.page()
	f.heading("Working drawing: " + named(p, d.Title))
	box := geom.EmptyRect()
	for _, l := range d.Lines {
		box = box.Union(l.Path.Bounds())
	}
	for _, q := range d.Points {
		box = box.Add(q.At)
	}
	const air = 8.0 // room for numbers around the figure
	room := geom.Rect{Min: geom.Pt(f.left()+air, 0), Max: geom.Pt(f.left()+f.width()-air, 0)}
	room.Max.Y = f.y - air
	room.Min.Y = room.Max.Y - (f.paper.H-2*pageMargin)*figureShare
	k := scaleFor(math.Min(room.W()/math.Max(box.W(), 1), room.H()/math.Max(box.H(), 1)))
	o := geom.Pt(room.Center().X-k*box.Center().X, room.Max.Y-k*box.Max.Y)
	place := geom.Scale(k, k).Then(geom.Translate(o.Sub(geom.Pt(0, 0))))
	var ink []geom.Path // where lines run: numbers keep away
	for _, l := range d.Lines {
		path := l.Path.Transform(place)
		ink = append(ink, path)
		f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{path}, Pen: penOf(l.Kind)}})
	}
	f.numbers(d, place, ink)
	f.y = place.Apply(box.Min).Y - air
	f.line(0, smallSize, sheet.Regular, grey, "Drawn at "+ratio(k)+", not to be cut from. Grey: what was there. Dashed: construction. Dotted: cut away. Black: new.")
	for i, s := range d.Steps {
		text := named(p, s)
		for _, m := range d.Measures {
			if m.Step == i+1 {
				text += " [" + itoa(m.From) + "–" + itoa(m.To) + ": " + Both(m.MM) + "]"
			}
		}
		f.para(itoa(i+1), text)
	}
	for _, q := range d.Points {
		if q.Label != "" {
			f.line(8, smallSize, sheet.Regular, grey, itoa(q.N)+"  "+Words(q.Label))
		}
	}
}

// scaleFor rounds a scale down to one that a maker can measure by: 1:1, 1:2, 1:3 …
func scaleFor(k float64) float64 {
	if k >= 1 {
		return 1
	}
	return 1 / math.Ceil(1/k)
}

func ratio(k float64) string { return "1:" + itoa(int(math.Round(1/k))) }

func penOf(k change.StrokeKind) sheet.Pen {
	switch k {
	case change.Construction:
		return sheet.Pen{Width: 0.2, Color: black, Dash: []float64{1.6, 1.2}}
	case change.CutAway:
		return sheet.Pen{Width: 0.25, Color: grey, Dash: []float64{0.3, 1}}
	case change.New:
		return sheet.Pen{Width: 0.6, Color: black}
	}
	return sheet.Pen{Width: 0.35, Color: pale}
}

// numbers draws the numbered points, each number on the side that is farthest from lines and from
// the other numbers.
func (f *flow) numbers(d change.Drawing, place geom.Affine, ink []geom.Path) {
	var taken []geom.Point
	for _, q := range d.Points {
		taken = append(taken, place.Apply(q.At))
	}
	for _, q := range d.Points {
		at := place.Apply(q.At)
		f.add(sheet.Item{Fill: &sheet.Fill{Paths: []geom.Path{disc(at, pointRadius)}, Color: black}})
		// The nearest ring on which a number has air enough, else the best of all.
		const air = 2.4
		best, room := geom.Vec{X: 3}, -1.0
		for i := range 64 {
			if i%16 == 0 && room >= air {
				break
			}
			s, c := math.Sincos(float64(i) * math.Pi / 8)
			v := geom.Vec{X: c, Y: s}.Mul(3.2 + 1.2*float64(i/16))
			r := math.Inf(1)
			for _, o := range ink {
				_, away := o.Project(at.Add(v))
				r = math.Min(r, away)
			}
			for _, o := range taken {
				if o != at {
					r = math.Min(r, o.Dist(at.Add(v))-1)
				}
			}
			if r > room {
				best, room = v, r
			}
		}
		to := at.Add(best)
		taken = append(taken, to)
		f.add(sheet.Item{Text: &sheet.Text{At: geom.Pt(to.X, to.Y-numberSize*f.m.Ascent(sheet.Bold)/2), S: itoa(q.N), Face: sheet.Bold, Size: numberSize, Align: sheet.Center, Color: black}})
	}
}

// disc is a circle of four cubics; 0.5523 is the arm with which they miss it by 0.03 % of the radius.
func disc(c geom.Point, r float64) geom.Path {
	const arm = 0.5522847498307936
	k := arm * r
	e, n, w, s := geom.Pt(c.X+r, c.Y), geom.Pt(c.X, c.Y+r), geom.Pt(c.X-r, c.Y), geom.Pt(c.X, c.Y-r)
	return geom.Path{
		geom.Cubic(e, geom.Pt(e.X, e.Y+k), geom.Pt(n.X+k, n.Y), n),
		geom.Cubic(n, geom.Pt(n.X-k, n.Y), geom.Pt(w.X, w.Y+k), w),
		geom.Cubic(w, geom.Pt(w.X, w.Y-k), geom.Pt(s.X-k, s.Y), s),
		geom.Cubic(s, geom.Pt(s.X+k, s.Y), geom.Pt(e.X, e.Y-k), e),
	}
}
