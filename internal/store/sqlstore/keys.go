package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// EnsureShop implements shop.Keys.
func (s *Store) EnsureShop(ctx context.Context, sh shop.Shop) (shop.Shop, error) {
	if _, err := s.db.Exec(ctx, `INSERT INTO shops (id, name, created_at) VALUES ($1, $2, $3) ON CONFLICT (name) DO NOTHING`,
		string(sh.ID), sh.Name, db.When(sh.CreatedAt)); err != nil {
		return shop.Shop{}, err
	}
	out := shop.Shop{Name: sh.Name}
	var at db.Time
	err := s.db.QueryRow(ctx, `SELECT id, created_at FROM shops WHERE name = $1`, sh.Name).Scan((*string)(&out.ID), &at)
	out.CreatedAt = at.Time
	return out, err
}

// AddKey implements shop.Keys.
func (s *Store) AddKey(ctx context.Context, k shop.Key) error {
	_, err := s.db.Exec(ctx, `INSERT INTO api_keys (id, shop_id, hash, created_at) VALUES ($1, $2, $3, $4)`,
		k.ID, string(k.Shop), k.Hash[:], db.When(k.CreatedAt))
	return err
}

// KeyByID implements shop.Keys.
func (s *Store) KeyByID(ctx context.Context, id string) (shop.Key, shop.Shop, error) {
	k := shop.Key{ID: id}
	var sh shop.Shop
	var hash []byte
	var made, shopMade db.Time
	err := s.db.QueryRow(ctx, `SELECT k.hash, k.created_at, s.id, s.name, s.created_at
		FROM api_keys k JOIN shops s ON s.id = k.shop_id WHERE k.id = $1 AND k.revoked_at IS NULL`, id).
		Scan(&hash, &made, (*string)(&sh.ID), &sh.Name, &shopMade)
	if errors.Is(err, db.ErrNoRows) {
		return k, sh, shop.ErrAbsent
	}
	if err == nil && len(hash) != len(k.Hash) {
		err = errors.New("sqlstore: a key's hash has the wrong length")
	}
	copy(k.Hash[:], hash)
	k.Shop, k.CreatedAt, sh.CreatedAt = sh.ID, made.Time, shopMade.Time
	return k, sh, err
}

// RevokeKey implements shop.Keys.
func (s *Store) RevokeKey(ctx context.Context, sh shop.ShopID, id string, at time.Time) error {
	n, err := s.db.Exec(ctx, `UPDATE api_keys SET revoked_at = COALESCE(revoked_at, $3) WHERE id = $2 AND shop_id = $1`,
		string(sh), id, db.When(at))
	if err == nil && n == 0 {
		err = shop.ErrAbsent
	}
	return err
}
