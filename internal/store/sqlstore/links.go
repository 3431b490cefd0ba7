package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// LinkKeys implements shop.Links.
func (s *Store) LinkKeys(ctx context.Context) ([]shop.LinkKey, error) {
	var out []shop.LinkKey
	err := each(ctx, s.db, func(r db.Row) error {
		var k shop.LinkKey
		var at db.Time
		err := r.Scan(&k.ID, &k.Secret, &at)
		k.CreatedAt = at.Time
		out = append(out, k)
		return err
	}, `SELECT id, secret, created_at FROM link_keys ORDER BY created_at DESC, id`)
	return out, err
}

// AddLinkKey implements shop.Links.
func (s *Store) AddLinkKey(ctx context.Context, k shop.LinkKey) error {
	_, err := s.db.Exec(ctx, `INSERT INTO link_keys (id, secret, created_at) VALUES ($1, $2, $3)`, k.ID, k.Secret, db.When(k.CreatedAt))
	return err
}

// DropLinkKeys implements shop.Links.
func (s *Store) DropLinkKeys(ctx context.Context, before time.Time) (int, error) {
	n, err := s.db.Exec(ctx, `DELETE FROM link_keys WHERE created_at < $1`, db.When(before))
	return int(n), err
}

// Owner implements shop.Links.
func (s *Store) Owner(ctx context.Context, id string) (shop.ShopID, error) {
	var sh string
	err := s.db.QueryRow(ctx, `SELECT shop_id FROM files WHERE id = $1 UNION ALL SELECT shop_id FROM runs WHERE id = $1`, id).Scan(&sh)
	if errors.Is(err, db.ErrNoRows) {
		return "", shop.ErrAbsent
	}
	return shop.ShopID(sh), err
}
