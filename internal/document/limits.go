package document

import "sizerun/internal/pattern"

// Limits bounds what a document may hold. The counts of the trade's things (sizes, pieces, edges …)
// can be set lower than pattern's own bounds, not higher.
type Limits struct {
	Bytes  int // of the whole document
	Depth  int // of nesting
	Values int // JSON values in all
	Text   int // bytes of one text
	Points int // coordinates in all
	Sizes  int
	Pieces int
	Edges  int // of one piece
	Bodies int // customers' bodies in one run
	Output int // outputs in one run
}

// DefaultLimits are the limits of the service.
func DefaultLimits() Limits {
	return Limits{
		Bytes: 4 << 20, Depth: 32, Values: 120000, Text: 1200, Points: 20000,
		Sizes: pattern.MaxSizes, Pieces: pattern.MaxPieces, Edges: pattern.MaxEdges,
		Bodies: 20, Output: 12,
	}
}
