package pattern

import "sizerun/internal/geom"

// Pattern is a block or a style in one size.
type Pattern struct {
	Size   string             // "14", or the name of a customer's body
	Base   bool               // the size that was drafted
	Body   map[string]float64 // body measurements of this size, mm
	Pieces []Piece
	Seams  []Seam
	// Openings are where the garment can be opened to be put on.
	Openings []Opening
}

// Piece is one shape cut from cloth, in one size.
type Piece struct {
	Name  string
	Title string
	Cut   Cut
	Edges []Edge // closed: each begins where the one before it ends, the first where the last ends
	Marks []Mark
	Lines []InnerLine
	Darts []Dart
	Grain [2]geom.Point // tail and head of the grain arrow
	Align geom.Point    // the point a nest is lined up on
	Of    string        // the block piece it came from; its own name where no change made it
	// Shrinks is by how much its cloth is still to shrink: it is cut larger by that.
	Shrinks Shrinkage
	// Adds is how far below its seam a piece that a change has sewn to a lower edge reaches when it is
	// finished: a cuff its width, a binding nothing. nil where that isn't told.
	Adds *float64
}

// Shrinkage is the share by which cloth shrinks along its warp, the grain, and across.
type Shrinkage struct{ Warp, Weft float64 }

// Cut says how often a piece is cut and from what.
type Cut struct {
	Count int    // pieces of cloth in all, 1 to 20
	Pair  bool   // mirrored pairs; else all the same way
	Cloth string // "main", "lining", "interfacing", …
	// Layers is how many of them lie over each other in the garment, as an outer one and its facing do; 0 and 1
	// mean that each is one of its own.
	Layers int
	// Interfaced is how many of them are cut from interfacing, too.
	Interfaced int
}

// Edge is a named stretch of the outline between two named corners.
type Edge struct {
	Name     string
	From, To string // corner names
	Path     geom.Path
	Fold     bool // lies on the fold of the cloth: no allowance, cut through never
	// Own is the allowance that a change asks for on an edge it made; the style may override it.
	Own *Allowance
	// Src is where on the block the edge came from, so that seams, marks and places spoken in the
	// block's words are found again after changes.
	Src Source
}

// Source is a stretch of an edge of a block piece, by arc length in that size. An edge that a
// change drew has the Piece and Edge it was first made as and its whole length.
type Source struct {
	Piece, Edge string
	S0, S1      float64
}

// MarkKind is what is drawn.
type MarkKind string

// The marks: a notch is drawn across the cut line, the others inside the piece.
const (
	Notch  MarkKind = "notch"
	Dot    MarkKind = "dot"
	Square MarkKind = "square" // match square
)

// Mark is a notch, dot or match square.
type Mark struct {
	Kind  MarkKind
	Name  string
	Count int    // notches: 1 single, 2 double
	Edge  string // the edge it lies on; "" when it lies inside the piece
	S     float64
	At    geom.Point // always set; on an edge it equals that edge's path at S
	// Inside is how far inside the cut edge a square lies (0: on the seam line or at At).
	Inside float64
	// Match names a group: marks of one group fall on each other when the pieces are laid or sewn
	// together. "" matches nothing.
	Match string
}

// InnerLine is drawn inside a piece and not cut: a placement or fold line.
type InnerLine struct {
	Name string
	Path geom.Path
}

// Dart is a wedge whose two legs are edges of the outline, First before Second, meeting at the
// dart point.
type Dart struct {
	Name          string
	First, Second string // edge names
	// Towards is the leg (First or Second by name) to whose side the folded dart is pressed.
	Towards string
}

// EdgeRef names an edge of a piece. Against walks it against the outline's direction.
type EdgeRef struct {
	Piece, Edge string
	Against     bool
}

// Range is a closed interval.
type Range struct{ Min, Max float64 }

// Has reports whether v lies in r, widened by tol.
func (r Range) Has(v, tol float64) bool { return v >= r.Min-tol && v <= r.Max+tol }

// Seam sews one chain of edges to another. Both are walked in the listed order from the end that
// they share; Ease is length(Sew) − length(To), less what is Drawn up.
type Seam struct {
	Name    string
	Sew, To []EdgeRef
	Ease    Range
	// Smooth lists what must run on smoothly across this seam: at its start, its end.
	SmoothStart, SmoothEnd bool
	// Gathers: the Sew side is drawn up onto the To side, evenly all along, rather than eased.
	Gathers bool
	// Drawn is how much of the Sew side's surplus is drawn up in gathers between two of its notches; Ease
	// speaks of the rest. On a cap they lie above the notch nearest to the underarm.
	Drawn float64
	// Cap marks the seams that set a sleeve into its armhole.
	Cap bool
	// Notches lists pairs of marks that meet, by name: on the Sew side and on the To side.
	Notches [][2]MarkRef
}

// MarkRef names a mark of a piece.
type MarkRef struct{ Piece, Mark string }

// Corner is how two allowances meet.
type Corner string

// The corners of TRADE section 6.
const (
	Mitre     Corner = "mitre"      // straight on, cut off beyond the limit
	SquareEnd Corner = "square"     // square to the seam sewn first
	HemReturn Corner = "hem_return" // mirrored about the hem fold
)

// Allowance is what is added outside a seam line.
type Allowance struct {
	Width  float64 // mm
	Turned int     // hems: how often the width is turned (0 not a hem, 1, 2)
	// Start and End choose the corner at the edge's two ends; "" lets the tool choose.
	Start, End Corner
}

// PieceNamed finds a piece; nil when there is none.
func (p *Pattern) PieceNamed(name string) *Piece {
	for i := range p.Pieces {
		if p.Pieces[i].Name == name {
			return &p.Pieces[i]
		}
	}
	return nil
}

// EdgeNamed gives the index of an edge, -1 when there is none.
func (p *Piece) EdgeNamed(name string) int {
	for i := range p.Edges {
		if p.Edges[i].Name == name {
			return i
		}
	}
	return -1
}

// MarkNamed finds a mark; nil when there is none.
func (p *Piece) MarkNamed(name string) *Mark {
	for i := range p.Marks {
		if p.Marks[i].Name == name {
			return &p.Marks[i]
		}
	}
	return nil
}

// IsLeg says whether an edge is a leg of one of the piece's darts.
func (p *Piece) IsLeg(edge string) bool {
	for _, d := range p.Darts {
		if d.First == edge || d.Second == edge {
			return true
		}
	}
	return false
}

// Corner finds a named corner.
func (p *Piece) Corner(name string) (geom.Point, bool) {
	for i := range p.Edges {
		if p.Edges[i].From == name {
			return p.Edges[i].Path.Start(), true
		}
	}
	return geom.Point{}, false
}

// Outline is the closed seam line.
func (p *Piece) Outline() geom.Path {
	var out geom.Path
	for i := range p.Edges {
		out = append(out, p.Edges[i].Path...)
	}
	return out
}

// Clone copies a Pattern so deeply that changing one leaves the other as it was. Paths are
// immutable and shared.
func (p Pattern) Clone() Pattern {
	q := p
	q.Pieces = make([]Piece, len(p.Pieces))
	for i, x := range p.Pieces {
		q.Pieces[i] = x.Clone()
	}
	q.Seams = make([]Seam, len(p.Seams))
	for i, s := range p.Seams {
		s.Sew = append([]EdgeRef(nil), s.Sew...)
		s.To = append([]EdgeRef(nil), s.To...)
		s.Notches = append([][2]MarkRef(nil), s.Notches...)
		q.Seams[i] = s
	}
	q.Openings = append([]Opening(nil), p.Openings...)
	return q
}

// Clone copies a Piece likewise.
func (p Piece) Clone() Piece {
	p.Edges = append([]Edge(nil), p.Edges...)
	p.Marks = append([]Mark(nil), p.Marks...)
	p.Lines = append([]InnerLine(nil), p.Lines...)
	p.Darts = append([]Dart(nil), p.Darts...)
	return p
}
