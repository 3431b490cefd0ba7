package pattern

import "sizerun/internal/geom"

// Drawn says which line a block's outlines are.
type Drawn string

// Seam-line blocks get their allowance added; cut-line blocks have it included.
const (
	DrawnSeam Drawn = "seam"
	DrawnCut  Drawn = "cut"
)

// SizeChart is the run and the body behind every size.
type SizeChart struct {
	Base   string
	Run    []string             // small to large
	Breaks []string             // sizes at which the step changes: the first size of a new step
	Body   map[string][]float64 // measurement → a value per size, mm
}

// Index gives a size's place in the run, -1 when it is not in it.
func (c SizeChart) Index(size string) int {
	for i, s := range c.Run {
		if s == size {
			return i
		}
	}
	return -1
}

// BodyOf is the body of one size.
func (c SizeChart) BodyOf(i int) map[string]float64 {
	b := make(map[string]float64, len(c.Body))
	for k, v := range c.Body {
		b[k] = v[i]
	}
	return b
}

// Block is a plain, well-fitting base pattern with its grading.
type Block struct {
	Name, Title, Shop string
	Drawn             Drawn
	Included          map[string]float64 // Drawn cut: allowance by "piece.edge", "piece" or "" (all)
	Chart             SizeChart
	Pieces            []BlockPiece
	Seams             []Seam
	// Finished lists what is measured on the made pattern; a draft without a list has that of its kind.
	Finished []Finished
	// Draft says that the block is drafted from the measurements of the chart, again in every size;
	// then there are no Pieces and Seams of its own.
	Draft *DraftSpec
}

// DraftSpec asks for a block drafted from body measurements. What the maps leave out takes
// the draft's own default.
type DraftSpec struct {
	Kind    string
	Ease    map[string]float64 // what the garment has more than the body, mm
	Lengths map[string]float64 // what the maker decides, mm
	Numbers map[string]float64 // what the maker decides that is no length
}

// BlockPiece is a piece of the base size, and how its points move.
type BlockPiece struct {
	Name, Title string
	Cut         Cut
	Points      []NamedPoint
	Outline     []BlockEdge
	Marks       []BlockMark
	Lines       []BlockLine
	Darts       []Dart
	Grain       [2]geom.Point
	Align       string // a point's name
	// Rules moves points by shares of the chart's growth (Rule) or by plain steps per size
	// (Steps). Digitised holds every size's own drawing instead. One of the three, per piece.
	Rules     map[string]Rule
	Steps     map[string][]geom.Vec // point → displacement from the base, a value per size of the run
	Digitised map[string]Drawing    // size → its drawing
}

// NamedPoint is a corner or grade point.
type NamedPoint struct {
	Name string
	At   geom.Point
}

// Rule moves a point by a share of how much each body measurement grows.
type Rule struct{ X, Y map[string]float64 }

// BlockEdge is an edge between two named points.
type BlockEdge struct {
	Name, From, To string
	Shape          Shape
	Fold           bool
}

// Shape is the course of an edge between its ends: straight when all are empty; a chain of cubics
// by its inner control points (2, 5, 8, … of them: handle, handle, knot, …); a fair curve Through
// points; or a dense Polyline to be fitted.
type Shape struct {
	Curve, Through, Polyline []geom.Point
}

// Drawing is one digitised size of a piece.
type Drawing struct {
	Points []NamedPoint
	Shapes map[string]Shape // edge name → shape; straight when absent
	Marks  map[string]geom.Point
	Grain  *[2]geom.Point
}

// BlockMark is a mark told by its place.
type BlockMark struct {
	Kind   MarkKind
	Name   string
	Count  int
	At     Place
	Inside float64
	Match  string
}

// BlockLine is an inner line through places or points.
type BlockLine struct {
	Name string
	Via  []geom.Point
}

// Place is spoken the way a maker does. Exactly one form is used:
//
//	Point                        a named corner, mark or grade point
//	Edge + From + Along          so far along an edge from one of its ends
//	Edge(s) + Between + Share    a share of the way, along the outline, between two named places
//	At                           a bare coordinate of the base size (moves with the nearest rules)
type Place struct {
	Point   string
	Edge    string
	From    string
	Along   float64
	Between [2]string
	Share   float64
	At      *geom.Point
}

// Style is what is sold: a block, the changes in order, the allowances.
type Style struct {
	Name, Title, Shop string
	Block             string
	Changes           []ChangeSpec
	Allowances        Allowances
	// Labels are the shop's own lines for the title page, in order.
	Labels []string
}

// ChangeSpec names a change and gives its arguments, not yet bound to its parameters.
type ChangeSpec struct {
	Change string
	Args   Arg // an object
}

// Allowances tells the width per edge.
type Allowances struct {
	Default Allowance
	Edges   map[string]Allowance // "piece.edge", or "*.edge" for that edge of any piece
	Limit   float64              // mitre limit as a multiple of the width; 0 means 2.5
}

// Arg is a value from a style document before it is bound to a parameter: the core does not know
// JSON, and a bare number's meaning (length, share, count) is the parameter's to say.
type Arg struct {
	Kind   ArgKind
	Number float64
	Text   string // a string; for lengths it carries its own unit ("5/8in")
	Bool   bool
	List   []Arg
	Fields []Field // an object, in document order
	// PerMM is what one of the document's units is in millimetres (1, 10, 25.4).
	PerMM float64
}

// Field is one member of an object.
type Field struct {
	Name  string
	Value Arg
}

// ArgKind tells which field of an Arg counts.
type ArgKind int

// The kinds of Arg.
const (
	ArgNone ArgKind = iota
	ArgNumber
	ArgText
	ArgBool
	ArgList
	ArgObject
)
