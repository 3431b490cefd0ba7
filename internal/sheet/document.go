package sheet

import "sizerun/internal/geom"

// Document is what a writer turns into bytes: pages in millimetres, y up, origin at a page's lower
// left corner. Drawings that stand on many pages (a size of a nest on every tile) are Forms, drawn
// once and used often.
type Document struct {
	Info   Info
	Layers []Layer
	Forms  []Form
	Pages  []Page
}

// Info is the metadata of the file. There is no date: the same input gives the same bytes.
type Info struct {
	Title, Author, Subject string
	Keywords               []string
	Lang                   string // BCP 47, "en"
}

// Layer is what a reader can switch on and off: one per size, and the grid if there is one.
type Layer struct {
	Name   string // the size's name
	On     bool
	Ground bool // lies behind everything, words may stand on it
}

// NoLayer marks items that always show.
const NoLayer = -1

// Page is one sheet of paper.
type Page struct {
	W, H  float64
	Label string // "A4 row 1 column 2", for a reader's page list
	Items []Item
}

// Form is a drawing in its own coordinates, used by pages through Use.
type Form struct {
	Name   string
	Piece  string    // whose drawing it is; "" for words
	Bounds geom.Rect // everything drawn lies inside
	Items  []Item    // no Use inside a Form
}

// Item is one thing drawn: exactly one of Stroke, Fill, Text and Use is set.
type Item struct {
	Layer  int // index into Document.Layers, or NoLayer
	Stroke *Stroke
	Fill   *Fill
	Text   *Text
	Use    *Use
}

// RGB is a colour, each part 0 to 1.
type RGB struct{ R, G, B float64 }

// Pen is how a line looks. Dash is in mm and is drawn as given, whatever the width.
type Pen struct {
	Width float64
	Color RGB
	Dash  []float64
}

// Stroke draws along paths.
type Stroke struct {
	Paths  []geom.Path
	Closed bool // each path is closed
	Pen    Pen
	Kind   Kind // "" for lines that are not the pattern's own
}

// Kind is what a line of the pattern means, for whoever must tell them apart: paper shows it by the pen.
type Kind string

// The lines of a pattern.
const (
	CutLine    Kind = "cut"
	SeamLine   Kind = "seam"
	InnerLine  Kind = "inner" // placement lines and dart legs
	NotchLine  Kind = "notch"
	DotMark    Kind = "dot"
	SquareMark Kind = "square"
	GrainLine  Kind = "grain"
	FoldLine   Kind = "fold" // the arrow along an edge on the fold
)

// Fill fills closed paths, non-zero winding.
type Fill struct {
	Paths []geom.Path
	Color RGB
}

// Face names a font of the house.
type Face int

// The faces: one family, embedded as subsets.
const (
	Regular Face = iota
	Bold
)

// Align is which point of a line of text lies on its anchor.
type Align int

// Left, Center and Right of the baseline.
const (
	Left Align = iota
	Center
	Right
)

// Text is one line of text.
type Text struct {
	At    geom.Point // the anchor on the baseline
	S     string
	Face  Face
	Size  float64 // em height in mm
	Align Align
	Angle float64 // radians, counter-clockwise about At
	Color RGB
	// StampRoom is not 0 for the stamp of an order: the room it has, mm. See Restamp.
	StampRoom float64
}

// Use places a Form: its coordinates are moved by Move and only what lies inside Clip (page
// coordinates) shows. Nothing is ever scaled: paper is true size.
type Use struct {
	Form int
	Move geom.Vec
	Clip geom.Rect
}

// Metrics measures text, so that labels can be laid out without a font in the core. Width is in mm
// for an em of 1 mm. A rune that the faces lack is reported by Missing.
type Metrics interface {
	Width(f Face, s string) float64
	Ascent(f Face) float64  // height of a capital above the baseline, em = 1
	Descent(f Face) float64 // depth below the baseline, positive, em = 1
	Missing(s string) []rune
}
