package grade

import (
	"sizerun/internal/draft"
	"sizerun/internal/pattern"
)

// Finished is what is measured on a garment made from a block: the block's own list, or that of its draft.
func Finished(b pattern.Block) []pattern.Finished {
	if b.Draft != nil && len(b.Finished) == 0 {
		if d, ok := draft.Named(b.Draft.Kind); ok {
			return d.Finished
		}
	}
	return b.Finished
}
