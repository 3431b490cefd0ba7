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
	return s.ShopNamed(ctx, sh.Name)
}

// ShopNamed implements shop.Keys.
func (s *Store) ShopNamed(ctx context.Context, name string) (shop.Shop, error) {
	out := shop.Shop{Name: name}
	var at db.Time
	err := s.db.QueryRow(ctx, `SELECT id, created_at FROM shops WHERE name = $1`, name).Scan((*string)(&out.ID), &at)
	if errors.Is(err, db.ErrNoRows) {
		return shop.Shop{}, shop.ErrAbsent
	}
	out.CreatedAt = at.Time
	return out, err
}

// AddKey implements shop.Keys.
func (s *Store) AddKey(ctx context.Context, k shop.Key, most int) (bool, error) {
	added := false
	err := s.db.Tx(ctx, func(q db.Q) error {
		if added = true; most > 0 {
			// The shop's row is held, so that two at once are counted one after the other.
			if _, err := q.Exec(ctx, `UPDATE shops SET name = name WHERE id = $1`, string(k.Shop)); err != nil {
				return err
			}
			var n int
			if err := q.QueryRow(ctx, `SELECT count(*) FROM api_keys WHERE shop_id = $1 AND revoked_at IS NULL`, string(k.Shop)).Scan(&n); err != nil {
				return err
			}
			if added = n < most; !added {
				return nil
			}
		}
		_, err := q.Exec(ctx, `INSERT INTO api_keys (id, shop_id, hash, scope, sandbox, description, created_at) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			k.ID, string(k.Shop), k.Hash[:], string(k.Scope), k.Sandbox, k.Description, db.When(k.CreatedAt))
		return err
	})
	return added && err == nil, err
}

const keyColumns = `k.id, k.shop_id, k.hash, k.old_hash, k.old_until, k.scope, k.sandbox, k.description, k.created_at, k.used_at, k.revoked_at`

func readKey(r db.Row, more ...any) (shop.Key, error) {
	var k shop.Key
	var hash, old []byte
	var until, made, used, revoked db.Time
	err := r.Scan(append([]any{&k.ID, (*string)(&k.Shop), &hash, &old, &until, (*string)(&k.Scope), &k.Sandbox, &k.Description, &made, &used, &revoked}, more...)...)
	if errors.Is(err, db.ErrNoRows) {
		return shop.Key{}, shop.ErrAbsent
	}
	if err == nil && (len(hash) != len(k.Hash) || (len(old) != 0 && len(old) != len(k.OldHash))) {
		err = errors.New("sqlstore: a key's hash has the wrong length")
	}
	copy(k.Hash[:], hash)
	copy(k.OldHash[:], old)
	k.OldUntil, k.CreatedAt, k.UsedAt, k.RevokedAt = until.Time, made.Time, used.Time, revoked.Time
	return k, err
}

// KeyByID implements shop.Keys.
func (s *Store) KeyByID(ctx context.Context, id string) (shop.Key, shop.Shop, error) {
	var sh shop.Shop
	var made db.Time
	k, err := readKey(s.db.QueryRow(ctx, `SELECT `+keyColumns+`, s.name, s.created_at
		FROM api_keys k JOIN shops s ON s.id = k.shop_id WHERE k.id = $1 AND k.revoked_at IS NULL`, id), &sh.Name, &made)
	sh.ID, sh.CreatedAt = k.Shop, made.Time
	return k, sh, err
}

// Key implements shop.Keys.
func (s *Store) Key(ctx context.Context, sh shop.ShopID, id string) (shop.Key, error) {
	return readKey(s.db.QueryRow(ctx, `SELECT `+keyColumns+` FROM api_keys k WHERE k.id = $1 AND k.shop_id = $2`, id, string(sh)))
}

// ListKeys implements shop.Keys.
func (s *Store) ListKeys(ctx context.Context, sh shop.ShopID, before shop.RunPlace, limit int) ([]shop.Key, error) {
	if before == (shop.RunPlace{}) {
		before.CreatedAt = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var out []shop.Key
	err := each(ctx, s.db, func(r db.Row) error {
		k, err := readKey(r)
		out = append(out, k)
		return err
	}, `SELECT `+keyColumns+` FROM api_keys k WHERE k.shop_id = $1 AND (k.created_at, k.id) < ($2, $3) ORDER BY k.created_at DESC, k.id DESC LIMIT $4`,
		string(sh), db.When(before.CreatedAt), before.ID, limit)
	return out, err
}

// RotateKey implements shop.Keys.
func (s *Store) RotateKey(ctx context.Context, sh shop.ShopID, id string, hash [32]byte, oldUntil time.Time) error {
	return s.oneKey(ctx, `UPDATE api_keys SET old_hash = hash, old_until = $4, hash = $3 WHERE id = $2 AND shop_id = $1 AND revoked_at IS NULL`,
		string(sh), id, hash[:], db.When(oldUntil))
}

// RevokeKey implements shop.Keys.
func (s *Store) RevokeKey(ctx context.Context, sh shop.ShopID, id string, at time.Time) error {
	return s.oneKey(ctx, `UPDATE api_keys SET revoked_at = COALESCE(revoked_at, $3) WHERE id = $2 AND shop_id = $1`, string(sh), id, db.When(at))
}

// KeyUsed implements shop.Keys.
func (s *Store) KeyUsed(ctx context.Context, id string, at time.Time) error {
	_, err := s.db.Exec(ctx, `UPDATE api_keys SET used_at = $2 WHERE id = $1 AND (used_at IS NULL OR used_at < $2)`, id, db.When(at))
	return err
}

func (s *Store) oneKey(ctx context.Context, sql string, args ...any) error {
	n, err := s.db.Exec(ctx, sql, args...)
	if err == nil && n == 0 {
		err = shop.ErrAbsent
	}
	return err
}
