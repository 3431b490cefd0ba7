// Package geom is the plane geometry that pattern pieces are made of: points, vectors, straight
// and cubic stretches, and chains of them.
//
// Conventions, told once and held everywhere:
//   - Lengths are millimetres, angles radians, x to the right, y up.
//   - Outlines run counter-clockwise; then Area is positive and Vec.Right of a tangent points out.
//   - Curves stay curves. A polyline appears only where one is asked for (Flatten) or given (Fit).
//   - A place on a Path is its arc length from the start, never a Bézier parameter: a notch is
//     "84 mm from the underarm", and stays that when the curve is split or redrawn.
//   - Tolerances that express a wish (fit, flatten, coincide) are parameters. Arc length is
//     numerically exact to about 1e-11 of the length, like any other elementary function.
//   - Values are immutable and hold no NaN: functions that could fail return an error, and every
//     other one gives a finite answer for finite input, be it a point, a cusp or a curve that runs
//     back on itself. Where a curvature has no bound it is SharpestCurvature.
//
// Where to look:
//
//	point.go               Point, Vec, Affine, Rect
//	seg.go, path.go        Seg and Path: evaluate, split, join, transform, area, bounds
//	length.go              arc length and its inverse, by Gauss-Legendre with located singularities
//	curvature.go           tangents with their limits, curvature, inflections, smallest radius
//	project.go, flatten.go nearest place, inside or outside, chords within a tolerance
//	intersect.go           crossings of Paths and of a Path with itself
//	meet.go, meetcubic.go  the meetings of two Segs behind them
//	fit.go, fitcubic.go    dense polylines to few cubics
//	through.go             a fair curve through points
//	fair.go, variation.go  style lines by least variation of curvature
//	clean.go               making outside input fit to be worked on
//	roots.go               polynomials in Bernstein form
//
// Parallel curves are in geom/offset. The literature behind each method is cited at the head of
// its file; for Bézier curves in general see G. Farin, "Curves and Surfaces for CAGD", 5th ed.,
// Morgan Kaufmann 2002.
package geom
