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
//     numerically exact to about 1e-9 of the length, like any other elementary function.
//   - Values are immutable and hold no NaN: functions that could fail return an error.
package geom
