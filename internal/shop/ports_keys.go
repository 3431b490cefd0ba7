package shop

import (
	"context"
	"time"
)

// Keys keeps shops and their keys.
type Keys interface {
	// EnsureShop answers the shop of that name; it is written as given when there is none.
	EnsureShop(ctx context.Context, s Shop) (Shop, error)
	// ShopNamed answers the shop of that name.
	ShopNamed(ctx context.Context, name string) (Shop, error)
	// AddKey keeps a key, unless the shop has as many that hold as it may; 0 is any number.
	AddKey(ctx context.Context, k Key, most int) (added bool, err error)
	// KeyByID answers a key that was not revoked, with its shop.
	KeyByID(ctx context.Context, id string) (Key, Shop, error)
	// Key answers a key of the shop, revoked or not.
	Key(ctx context.Context, shop ShopID, id string) (Key, error)
	// ListKeys answers the newest first, those before the given place.
	ListKeys(ctx context.Context, shop ShopID, before RunPlace, limit int) ([]Key, error)
	// RotateKey puts a new hash in the place of the current one, which holds until oldUntil as well;
	// one that was revoked is absent.
	RotateKey(ctx context.Context, shop ShopID, id string, hash [32]byte, oldUntil time.Time) error
	// RevokeKey ends a key for good; the first time it was asked for stays.
	RevokeKey(ctx context.Context, shop ShopID, id string, at time.Time) error
	// KeyUsed notes when a key was last used; an earlier time changes nothing.
	KeyUsed(ctx context.Context, id string, at time.Time) error
}
