package allowance

import (
	"sizerun/internal/pattern"
)

// Resolve finds the allowance of every edge.
func Resolve(a pattern.Allowances, p *pattern.Piece) (map[string]pattern.Allowance, error) {
	return nil, pattern.Fault{Rule: "allowance"}
}

// Make draws the cut line.
func Make(size string, p *pattern.Piece, a pattern.Allowances) (Piece, error) {
	return Piece{}, pattern.Fault{Rule: "allowance", Size: size}
}

// SeamFromCut finds the seam line of a piece drawn as its cut line.
func SeamFromCut(size string, p *pattern.Piece, included map[string]float64) (pattern.Piece, error) {
	return pattern.Piece{}, pattern.Fault{Rule: "allowance", Size: size}
}
