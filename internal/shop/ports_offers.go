package shop

import (
	"context"
	"time"
)

// Offers keeps what is published.
type Offers interface {
	// Publish puts an offer in the place of the style's earlier one.
	Publish(ctx context.Context, o Offer) error
	Offer(ctx context.Context, shop ShopID, style string) (Offer, error)
	// Withdraw answers ErrAbsent when nothing of that name is published.
	Withdraw(ctx context.Context, shop ShopID, style string) error
}

// Offer is a style as it was when it was published.
type Offer struct {
	Shop                ShopID
	Style, StyleVersion string
	Block, BlockVersion string
	Raw                 []byte // what may be chosen, as it was sent
	PublishedAt         time.Time
}
