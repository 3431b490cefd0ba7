package sqlstore

import (
	"context"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Note implements shop.Audit.
func (s *Store) Note(ctx context.Context, n shop.Noted) error { return note(ctx, s.db, n) }

func note(ctx context.Context, q db.Q, n shop.Noted) error {
	_, err := q.Exec(ctx, `INSERT INTO audit (id, shop_id, at, key_id, address, action, subject) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
		n.ID, string(n.Shop), db.When(n.At), n.KeyID, n.Address, n.Action, n.Subject)
	return err
}

// Noted implements shop.Audit.
func (s *Store) Noted(ctx context.Context, sh shop.ShopID, before shop.RunPlace, limit int) ([]shop.Noted, error) {
	if before == (shop.RunPlace{}) {
		before.CreatedAt = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var out []shop.Noted
	err := each(ctx, s.db, func(r db.Row) error {
		n := shop.Noted{Shop: sh}
		var at db.Time
		err := r.Scan(&n.ID, &at, &n.KeyID, &n.Address, &n.Action, &n.Subject)
		n.At = at.Time
		out = append(out, n)
		return err
	}, `SELECT id, at, key_id, address, action, subject FROM audit WHERE shop_id = $1 AND (at, id) < ($2, $3) ORDER BY at DESC, id DESC LIMIT $4`,
		string(sh), db.When(before.CreatedAt), before.ID, limit)
	return out, err
}

// ForgetNoted implements shop.Audit.
func (s *Store) ForgetNoted(ctx context.Context, before time.Time, limit int) (int, error) {
	n, err := s.db.Exec(ctx, `DELETE FROM audit WHERE id IN (SELECT id FROM audit WHERE at < $1 ORDER BY at LIMIT $2)`, db.When(before), limit)
	return int(n), err
}
