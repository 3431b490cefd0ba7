package sheet

import "sizerun/internal/geom"

// Job is everything that a printed pattern shows, told without any knowledge of patterns: what is
// drawn per size and piece, and what stands on page 1.
type Job struct {
	Title    string   // "Wren blouse, petal sleeve"
	Shop     string   // "Rookery Lane Patterns"
	Ref      string   // style name and engine version, small print
	Stamp    string   // per order: "made for order 1001"; "" for none
	Notes    []string // on page 1: allowance included, cautions, the shop's own labels
	Warning  string   // a loud line across page 1 ("some checks failed: do not sell"); "" for none
	Sizes    []string // layer names, small to large
	Styles   []int    // by size, which line of the palette it has; nil: the lines in order
	Pieces   []Piece
	Chart    Table // body measurements
	Finished Table // garment measurements; no rows: left out
	Cutting  Table // cutting list
}

// Table is a small table on page 1.
type Table struct {
	Title string
	Head  []string
	Rows  [][]string
}

// Piece is one nest: the same piece in every size, in common coordinates already lined up on the
// align point (which is the origin).
type Piece struct {
	Name  string
	Lines []string // the label: name, style, cut instruction, cloth, allowance; most important first
	Sizes []Drawn  // parallel to Job.Sizes; a size that lacks the piece has no Cut
}

// Drawn is one size of one piece.
type Drawn struct {
	Cut     geom.Path   // closed cut line
	Seam    []geom.Path // seam lines, drawn fine when shown
	Notches []geom.Path // each a short stroke across the cut line
	Dots    []geom.Point
	Squares []Square
	Inner   []geom.Path // placement lines, dart legs
	Grain   [2]geom.Point
	Folds   []geom.Path // edges on the fold: arrows along them
	// Texts are short words beside marks ("crown"), drawn once for the nest on the largest size.
	Texts []Callout
}

// Square is a match square: its centre and the direction of one side.
type Square struct {
	At  geom.Point
	Dir geom.Vec
}

// Callout is a word that belongs to a point.
type Callout struct {
	At geom.Point
	S  string
}

// Paper says what the job is printed on.
type Paper struct {
	Name   string  // "A4", "Letter", "A0", "A4+Letter", "Roll914", "Projector"
	W, H   float64 // page size, mm
	Margin float64 // unprintable border kept free
	Tiled  bool    // pages are glued together; else each sheet stands alone
	Rolled bool    // a sheet is only as long as what is on it; H is the most
	Grid   float64 // squares of this side lie behind everything, mm; 0 for none
	Line   float64 // the usual width of cut lines on it, mm; 0 means 0.4
	Words  float64 // how much larger than on paper words on the pieces are; 0 means 1
}
