// Package offset draws true parallel curves: of one line (Curve), and around a whole piece with a
// width for every edge and a choice for every corner (Loop).
//
//	segment.go   one cubic: split where the parallel turns back, arms by Gauss-Newton
//	corner.go    two edges meet: mitre, bevel, square, return
//	loop.go      a piece: edges and corners in a raw loop, then trimmed
//	wind.go      trimming by winding numbers on an integer grid
//	curve.go     one open line, trimmed likewise
//
// Positive widths lie to the right of travel, which is outside on a counter-clockwise outline;
// negative ones lie inside. Every stretch of a result knows the edge or the corner it came from.
//
// The parallel of a cubic is an algebraic curve of degree ten; it is stored as cubics that were
// measured to stay within the tolerance. Methods: Elber, Lee and Kim, "Comparing offset curve
// approximation methods", IEEE CG&A 17(3), 1997 (least squares on cubics); Chen and McMains,
// "Polygon offsetting by computing winding numbers", DETC2005-85513 (which loops are the boundary).
package offset
