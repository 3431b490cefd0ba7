// Package sheet turns a made pattern into pages: a device-independent drawing in millimetres that
// a writer serialises. It knows paper, lines and words, and nothing about sleeves.
//
// The way through it, each step a file:
//
//	job.go       what is to be drawn          check.go    what is refused, and the bounds
//	paper.go     the papers                   palette.go  a dash and a colour per size
//	text.go      words that fit their room    box.go      the room that words take
//	nest.go      one piece in all its sizes   index.go    which lines are near a place
//	arrange.go   nests over the page grid     raster.go   their footprints, in cells of the grid
//	plane.go     the plane, words in it       label.go    piece labels, inside or beside
//	names.go     size names on their lines    layout.go   the whole, from a job to pages
//	joins.go     match marks between pages    tile.go     one page of the drawing
//	marknames.go size names on marks
//	panel.go     what page 1 is made of       front.go    page 1, and the block on a large sheet
//	picture.go   all nests on one page        stamp.go    the sheet of an order like another
//	document.go  what comes out               audit.go    nothing overlaps, nothing is cut off
//
// Coordinates: a nest lies in its own (the align point is the origin), is turned if that saves
// pages, and is moved into the plane, where the page grid stands with its lower left corner at the
// origin. Row 1 is the top row. A page's own coordinates have y up, too.
//
// Each (size, piece) is one Form, drawn once and shown through a window on every page it touches:
// that keeps twelve sizes on forty pages small. Words are no part of Forms unless they lie across
// a page border.
//
// Everything here is a function of its arguments: the same job gives the same pages.
package sheet
