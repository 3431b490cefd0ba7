package grade

import (
	"math"

	"sizerun/internal/geom"
)

// field moves what lies inside a piece in proportion to the piece's corners: by mean value
// coordinates (Floater, "Mean value coordinates", CAGD 20, 2003; Hormann and Floater, ACM TOG 25,
// 2006, for polygons of any shape). Where all corners move by one affine map, everything inside
// moves by it too.
type field struct{ corners []geom.Point }

// weights gives the share of each corner in q; they add up to 1.
func (f field) weights(q geom.Point) []float64 {
	n := len(f.corners)
	w := make([]float64, n)
	if n < 3 {
		return f.byDistance(q)
	}
	// At a corner the corner itself, on a side between two corners both by distance.
	const near = 1e-9
	r := make([]float64, n)
	for i, c := range f.corners {
		if r[i] = c.Dist(q); r[i] <= near {
			w[i] = 1
			return w
		}
	}
	tan := make([]float64, n) // of half the angle under which side i is seen
	for i, c := range f.corners {
		j := (i + 1) % n
		a, b := c.Sub(q), f.corners[j].Sub(q)
		cross, dot := a.Cross(b), a.Dot(b)
		if math.Abs(cross) <= near*r[i]*r[j] && dot < 0 {
			w[i], w[j] = r[j]/(r[i]+r[j]), r[i]/(r[i]+r[j])
			return w
		}
		tan[i] = cross / (r[i]*r[j] + dot)
	}
	sum := 0.0
	for i := range w {
		w[i] = (tan[(i+n-1)%n] + tan[i]) / r[i]
		sum += w[i]
	}
	if !(math.Abs(sum) > near/r[0]*near) {
		return f.byDistance(q)
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// byDistance is for outlines of two corners, which span no polygon.
func (f field) byDistance(q geom.Point) []float64 {
	w := make([]float64, len(f.corners))
	sum := 0.0
	for i, c := range f.corners {
		w[i] = 1 / math.Max(c.Dist(q), 1e-6)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// move is where q goes when the corners go to to.
func (f field) move(q geom.Point, to []geom.Point) geom.Point {
	var d geom.Vec
	for i, w := range f.weights(q) {
		d = d.Add(to[i].Sub(f.corners[i]).Mul(w))
	}
	return q.Add(d)
}
