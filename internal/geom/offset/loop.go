package offset

import "sizerun/internal/geom"

// Loop draws the parallel around a piece.
func Loop(edges []Edge, joints []Joint, tol float64) (Result, error) {
	return Result{}, &Error{ErrPrecision, -1, geom.Point{}}
}

// Curve is the true parallel of p.
func Curve(p geom.Path, d, tol float64) (geom.Path, error) {
	return nil, &Error{ErrPrecision, -1, geom.Point{}}
}
