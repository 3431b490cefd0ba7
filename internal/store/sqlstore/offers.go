package sqlstore

import (
	"context"
	"errors"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Publish implements shop.Offers.
func (s *Store) Publish(ctx context.Context, o shop.Offer) error {
	_, err := s.db.Exec(ctx, `INSERT INTO offers (shop_id, style, style_version, block, block_version, raw, published_at) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (shop_id, style) DO UPDATE SET style_version = excluded.style_version, block = excluded.block, block_version = excluded.block_version,
			raw = excluded.raw, published_at = excluded.published_at`,
		string(o.Shop), o.Style, o.StyleVersion, o.Block, o.BlockVersion, o.Raw, db.When(o.PublishedAt))
	return err
}

// Offer implements shop.Offers.
func (s *Store) Offer(ctx context.Context, sh shop.ShopID, style string) (shop.Offer, error) {
	o := shop.Offer{Shop: sh, Style: style}
	var at db.Time
	err := s.db.QueryRow(ctx, `SELECT style_version, block, block_version, raw, published_at FROM offers WHERE shop_id = $1 AND style = $2`, string(sh), style).
		Scan(&o.StyleVersion, &o.Block, &o.BlockVersion, &o.Raw, &at)
	if errors.Is(err, db.ErrNoRows) {
		return shop.Offer{}, shop.ErrAbsent
	}
	o.PublishedAt = at.Time
	return o, err
}

// Withdraw implements shop.Offers.
func (s *Store) Withdraw(ctx context.Context, sh shop.ShopID, style string) error {
	return s.oneKey(ctx, `DELETE FROM offers WHERE shop_id = $1 AND style = $2`, string(sh), style)
}
