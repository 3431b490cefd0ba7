package sqlstore

import (
	"context"
	"errors"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Revision implements shop.Follow.
func (s *Store) Revision(ctx context.Context, sh shop.ShopID, id string) (int64, error) {
	var n int64
	err := s.db.QueryRow(ctx, `SELECT revision FROM runs WHERE id = $1 AND shop_id = $2`, id, string(sh)).Scan(&n)
	if errors.Is(err, db.ErrNoRows) {
		return 0, shop.ErrAbsent
	}
	return n, err
}
