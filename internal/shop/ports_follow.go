package shop

import "context"

// Follow is for those who watch a run.
type Follow interface {
	// Revision answers a run's revision alone, which costs little to ask again and again.
	Revision(ctx context.Context, shop ShopID, id string) (int64, error)
}
