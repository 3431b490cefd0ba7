package shop

import "context"

// Previewer draws what a maker would make, as a whole SVG document. Its refusals are a maker's; the same making gives
// the same bytes.
type Previewer interface {
	Preview(ctx context.Context, m Making) ([]byte, error)
}
