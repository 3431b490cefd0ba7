// Package allowance turns seam lines into cut lines, and cut lines into seam lines.
//
//	resolve.go   which width and which corners an edge gets
//	make.go      Make: the cut line of a piece, with provenance
//	mark.go      notches across the cut line, match squares inside it
//	seam.go      SeamFromCut: the way back, for blocks drawn with their allowance
//	refuse.go    what cannot be made, and why
//
// The rules are TRADE section 6, common practice: every edge has its own width; corners are
// mitred unless a hem or the order of sewing asks for something else.
package allowance
