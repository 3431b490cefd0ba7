package allowance

import (
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Piece is what is cut: the cut line around a pattern piece, and what is marked on it.
type Piece struct {
	Name string
	Cut  geom.Path // closed, counter-clockwise; begins where the first edge does
	// Stretches tells in order which stretch of Cut belongs to which edge or corner. Together they cover it.
	Stretches []Stretch
	Widths    map[string]float64           // allowance by edge
	Allow     map[string]pattern.Allowance // the whole allowance by edge, corners as made
	Notches   []NotchLine
	Squares   []SquareMark
	// Residues tells by corner how far, mm, the return of a curved hem lies from the side's cut
	// line when it is folded up. Straight hems have none.
	Residues map[string]float64
}

// Stretch is a part of the cut line, by arc length: of an edge, or else (Edge empty) of the corner
// named Corner, where an edge begins. Over a dart's mouth Dart is its name.
type Stretch struct {
	Edge, Corner, Dart string
	S0, S1             float64
}

// NotchLine is one stroke across the cut line; a double notch has two of the same name. From lies
// outside the cut line, To inside; Cut is where the stroke crosses it.
type NotchLine struct {
	Name, Edge    string
	From, To, Cut geom.Point
}

// SquareMark is a match square: its middle and the direction of one of its sides.
type SquareMark struct {
	Name, Match string
	At          geom.Point
	Dir         geom.Vec
}
