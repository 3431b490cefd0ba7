// Package change holds the changes that make a style of a block, and the mechanism they share.
//
//	change.go     Definition, Register, Bind, Apply: what a change is and how it is run
//	bind.go       arguments into a tagged parameter struct; the same tags make the schema
//	result.go     what a change gives: pattern, promised checks, sewing steps, working drawing
//	work.go       the state of one Apply: finding pieces and places, refusing with a reason
//	move_*.go     what many changes do, and none in particular: draw a style line, cut a piece along
//	              it, mirror it, carry its marks, find its seams a new home, redraw an edge longer,
//	              slash and spread (move_open.go); seams are walked with inspect.Walk
//	petal.go, lengthen.go, split.go, …   one change each
//
// A change sees one size and works on that size's own marks; nothing is drawn once and scaled. It
// names what it makes, so that a later change can speak of it. What it keeps it keeps exactly: an
// edge that is not redrawn is the same curve, cut where it is cut.
//
// To add a change: one file with a parameter struct, its apply method and its Definition, and one
// line in Register. If it needs more than that outside its file, a move is missing.
package change
