package draft

import (
	"math"

	"sizerun/internal/geom"
)

// A waist line with darts is trued with them folded: then it must run on without a corner. So it
// meets every dart leg, the centre and the side at a right angle, and each panel between them is a
// flat arc, as in the development of a cone, which is what darts make of flat cloth.

// wedge is a dart in the waist line.
type wedge struct {
	name   string
	at     float64 // its middle, from the centre
	width  float64 // of the mouth
	length float64 // from the line square to the centre to its point
}

// waistline is drawn in order from the centre to the side, the piece on its left: so a skirt is drawn
// standing on its waist, and turned over when it is finished. Darts are measured along the line that is
// square to the centre, and stand square on it.
type waistline struct {
	from, to geom.Point
	t0, t1   geom.Vec // square to the centre; square to the side
	darts    []wedge
}

// panel names: waist_centre, waist_middle (between two darts), waist_side; only "waist" without darts.
func panelName(i, darts int) string {
	switch {
	case darts == 0:
		return "waist"
	case i == 0:
		return "waist_centre"
	case i == darts:
		return "waist_side"
	}
	return "waist_middle"
}

// draw puts the line and its darts onto o: corners from and to are named by the caller.
// It answers the points of the darts in order.
func (w waistline) draw(o *outline, from, to string) []geom.Point {
	u := w.t0.Unit()
	n := u.Left()
	place := func(along, in float64) geom.Point { return w.from.Add(u.Mul(along)).Add(n.Mul(in)) }
	var tips []geom.Point
	here, dir, name := w.from, w.t0, from
	along, off := 0.0, 0.0
	for i, d := range w.darts {
		half := d.width / 2
		beta := math.Atan2(half, d.length)
		// A panel that turns evenly from one end's direction to the other's rises by its length times
		// the tangent of their mean.
		off += (d.at - half - along) * math.Tan((u.AngleTo(dir)-beta)/2)
		tip := place(d.at, d.length)
		first, second := place(d.at-half, off), place(d.at+half, off)
		// Square to the leg as it is after that shift, not before.
		leg := tip.Sub(first).Unit()
		o.edge(panelName(i, len(w.darts)), name, d.name+"_inner", curve(here, dir, first, leg.Right(), third, third))
		o.line(d.name+"_in", d.name+"_inner", d.name+"_point", first, tip)
		o.line(d.name+"_out", d.name+"_point", d.name+"_outer", tip, second)
		o.dart(d.name, d.name+"_in", d.name+"_out", d.name+"_in") // towards the centre: common practice
		tips = append(tips, tip)
		here, dir, name, along = second, tip.Sub(second).Unit().Right(), d.name+"_outer", d.at+half
	}
	o.edge(panelName(len(w.darts), len(w.darts)), name, to, curve(here, dir, w.to, w.t1, third, third))
	return tips
}

// settle moves the side's end of the line to where its last panel ends when it turns evenly, and makes
// it square to the side, which leads on to sideOn: the darts and the lean of the side make a waist fall
// a few millimetres to its ends, and that of a skirt rise to its sides. Only the height of w.to changes.
func (w *waistline) settle(sideOn geom.Point) {
	u := w.t0.Unit()
	n := u.Left()
	reach := w.to.Sub(w.from).Dot(u)
	for range 4 {
		w.t1 = sideOn.Sub(w.to).Unit().Right()
		along, off, a := 0.0, 0.0, 0.0
		for _, d := range w.darts {
			beta := math.Atan2(d.width/2, d.length)
			off += (d.at - d.width/2 - along) * math.Tan((a-beta)/2)
			along, a = d.at+d.width/2, beta
		}
		off += (reach - along) * math.Tan((a+u.AngleTo(w.t1))/2)
		w.to = w.from.Add(u.Mul(reach)).Add(n.Mul(off))
	}
	w.t1 = sideOn.Sub(w.to).Unit().Right()
}
