package offset

import (
	"errors"
	"fmt"

	"sizerun/internal/geom"
)

// Corner is how the parallels of two edges meet.
type Corner int

// The corners. In Square, Return and Roof one of the two edges rules (Joint.After).
const (
	Mitre  Corner = iota // both lines run on straight until they meet; cut off beyond the limit
	Bevel                // straight across, from the end of one parallel to the start of the other
	Square               // the ruling edge's strip ends square to it, where the other line crosses it
	Return               // the other edge's line, mirrored about the ruling edge (a hem's fold)
	Free                 // along Joint.Way
	Roof                 // over a dart's mouth: as the lines lie with the dart folded to the ruling edge's side
)

func (c Corner) String() string {
	return [...]string{"mitre", "bevel", "square", "return", "free", "roof"}[c]
}

// Edge is one edge of a closed counter-clockwise outline and its width: positive outside,
// negative inside, 0 on the line itself.
type Edge struct {
	Path  geom.Path
	Width float64
}

// Joint is the corner at the end of the edge with the same index.
type Joint struct {
	Corner Corner
	// After tells that the edge after the corner rules; else the one before.
	After bool
	// Limit bounds the reach of a corner from the seam corner, as a multiple of the greater
	// width; 0 means DefaultLimit.
	Limit float64
	// Turns is how often the ruling edge of a Return is folded over: 1 (or 0) or 2.
	Turns int
	// Way runs from the one parallel to the other in a Free corner.
	Way geom.Path
	// Tip is the dart point of a Roof. The edges before and after a Roof end at the dart's mouth and do not meet.
	Tip geom.Point
}

// DefaultLimit cuts mitres off at two and a half widths, a corner of about 47 degrees: common practice.
const DefaultLimit = 2.5

// Source tells where a Seg of a Result came from: an edge, or the corner at the end of that edge;
// the other index is -1. S0 and S1 are arc lengths on the edge, below 0 or above its length where
// the parallel was run on straight beyond the edge's end.
type Source struct {
	Edge, Corner int
	S0, S1       float64
}

// Result is a closed line around a piece. It begins where edge 0 does.
type Result struct {
	Path    geom.Path
	Sources []Source  // one for every Seg of Path
	Made    []Corner  // what became of every joint
	Residue []float64 // Return on a curved edge: how far the return lies from the other line when folded
}

// The kinds of refusal; Error wraps one of them.
var (
	ErrVanished   = errors.New("nothing is left: the width is larger than the piece")
	ErrFallsApart = errors.New("the piece falls into several parts")
	ErrHole       = errors.New("the parallel closes around a hole")
	ErrCusp       = errors.New("the line turns back on itself")
	ErrTight      = errors.New("the line bends more tightly than the width, at its very end")
	ErrInput      = errors.New("the outline is not a closed chain of ordinary numbers")
	ErrAmbiguous  = errors.New("the outline touches itself so closely that inside and outside cannot be told apart")
	ErrPrecision  = errors.New("the parallel cannot be drawn closely enough")
)

// Error is a refusal: its kind, the edge it happened on (-1 when it concerns the whole), where.
type Error struct {
	Kind error
	Edge int
	At   geom.Point
}

func (e *Error) Error() string {
	if e.Edge < 0 {
		return "offset: " + e.Kind.Error()
	}
	return fmt.Sprintf("offset: edge %d near (%.1f, %.1f): %s", e.Edge, e.At.X, e.At.Y, e.Kind)
}

func (e *Error) Unwrap() error { return e.Kind }
