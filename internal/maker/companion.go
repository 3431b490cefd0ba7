package maker

import (
	"sizerun/internal/book"
	"sizerun/internal/pattern"
)

// Companion is what goes beside the printed pattern. Amounts and drawings are those of the base size,
// or of the first size made when the base is not among them.
func (m Made) Companion(pr Print) book.Companion {
	shown := m.Shown()
	var patterns []pattern.Pattern
	for i := range m.Sizes {
		patterns = append(patterns, m.Sizes[i].Pattern)
	}
	var pieces []*pattern.Piece
	for i := range shown.Pattern.Pieces {
		pieces = append(pieces, &shown.Pattern.Pieces[i])
	}
	return book.Companion{
		Title: m.title(), Shop: m.shop(), Ref: pr.Ref, Stamp: pr.Stamp, Labels: m.Style.Labels,
		Chart: book.Chart(patterns), Cutting: book.Cutting(pieces), Notions: shown.Notions,
		Children: book.Children(m.Block.Chart),
		Shown:    book.Shown{Pattern: shown.Pattern, Cut: shown.Cut, Steps: shown.Steps, Drawings: shown.Drawings},
	}
}

// Shown is the size whose amounts are told: the base size where it was made.
func (m Made) Shown() *Size {
	for i := range m.Sizes {
		if m.Sizes[i].Pattern.Base {
			return &m.Sizes[i]
		}
	}
	return &m.Sizes[0]
}
