// Package inspect walks a made pattern the way a checker does before any paper is cut: every seam,
// every mark, every hem, in every size, and then the growth from size to size.
//
//	check.go    Check, Verdict, Report, Options: what is said and when it fails
//	chain.go    the two sides of a seam as one walk each, over piece borders
//	seams.go    lengths that are sewn together, notches that meet, lines that run on smoothly
//	cap.go      the ease of a set-in sleeve: in all, front, back, above and below the notches
//	shape.go    outlines and cut lines: closed, right way round, simple; small radii; grain
//	marks.go    notches, dots and squares: on the piece, clear of corners
//	hems.go     how far a turned hem's raw edge differs from the line it is turned to
//	opening.go  the garment goes over the head or the hip, or opens
//	finished.go what the garment measures, on its edges as sewn; finished_way.go, finished_tape.go: on a
//	            tape laid over the cloth, the closed darts, the seams and the folded pleats
//	body.go     how far one customer's body lies outside the size chart
//	growth.go   from size to size: even, or in proportion to the body's own growth
//
// A Check is a claim with its measure: what was measured, what is wanted, how far it may be off. Its
// verdict follows from those numbers alone (Judge), so that a reader can redo it. Tolerances are
// TRADE habits and stand in Options. Changes promise further checks (how a drawn curve meets its
// edge); Run judges and lists them with its own.
package inspect
