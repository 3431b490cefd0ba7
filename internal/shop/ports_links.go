package shop

import (
	"context"
	"time"
)

// Links keeps the keys that download links are signed with. All processes share them.
type Links interface {
	// LinkKeys answers all keys, the newest first.
	LinkKeys(ctx context.Context) ([]LinkKey, error)
	AddLinkKey(ctx context.Context, k LinkKey) error
	// DropLinkKeys forgets the keys made before the given time.
	DropLinkKeys(ctx context.Context, before time.Time) (int, error)
	// Owner answers the shop that a run or a file belongs to.
	Owner(ctx context.Context, id string) (ShopID, error)
}

// LinkKey is one key.
type LinkKey struct {
	ID        string
	Secret    []byte
	CreatedAt time.Time
}
