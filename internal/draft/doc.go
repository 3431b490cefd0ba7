// Package draft draws blocks from body measurements, the way a maker constructs a foundation on
// paper: width and depth lines first, then the points on them, then the curves.
//
//	register.go   what can be drafted: measurements, ease and lengths, each with range and default
//	run.go        a drafted block in the sizes of its chart, or for one customer's body
//	board.go      the drawing board of one size: measurements at hand, pieces and seams put down
//	outline.go    edges put down in order, mirrored, turned into a piece
//	waist.go      a waist line with darts in it, trued so that it runs on when they are closed
//	bodice.go     front and back with bust and waist darts
//	sleeve.go     the sleeve of that bodice; cap.go fits its cap to the armhole
//	skirt.go      straight skirt; circle.go: quarter to full circles
//	trousers.go   front and back leg
//	worked.go     published worked examples, and the plain sleeve that follows one
//	root.go       zeros of monotone functions
//
// A drafted block is graded by being drawn again in each size: nothing is shifted, so that what the
// draft promises (seams that match, a cap that fits) holds in every size and for every body.
//
// Each draft is our own, put together from common practice. A number in it is followed by its
// reason: "common practice" is taught in most handbooks without a single source; a worked example
// names its source; "from memory" could not be looked up.
//
// Conventions are those of pattern: millimetres, y up along the grain, outlines counter-clockwise.
// Inside a draft a piece is drawn with its centre line on x = 0 and its side to the right; the front
// is mirrored when it is finished, so that it lies as it does in a nest.
package draft
