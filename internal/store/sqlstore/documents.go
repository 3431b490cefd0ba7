package sqlstore

import (
	"context"
	"errors"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// SaveDocument implements shop.Documents.
func (s *Store) SaveDocument(ctx context.Context, d shop.Document) (shop.Document, bool, error) {
	created := false
	err := s.db.Tx(ctx, func(q db.Q) error {
		n, err := q.Exec(ctx, `INSERT INTO versions (shop_id, kind, name, version, title, block, raw, saved_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (shop_id, kind, name, version) DO NOTHING`,
			string(d.Shop), string(d.Kind), d.Name, d.Version, d.Title, d.Block, d.Raw, db.When(d.SavedAt))
		if err != nil {
			return err
		}
		created = n == 1
		_, err = q.Exec(ctx, `INSERT INTO documents (shop_id, kind, name, version) VALUES ($1, $2, $3, $4)
			ON CONFLICT (shop_id, kind, name) DO UPDATE SET version = excluded.version`,
			string(d.Shop), string(d.Kind), d.Name, d.Version)
		return err
	})
	if err != nil || created {
		return d, created, err
	}
	d, err = s.Document(ctx, d.Shop, d.Kind, d.Name, d.Version)
	return d, false, err
}

// Document implements shop.Documents.
func (s *Store) Document(ctx context.Context, sh shop.ShopID, kind shop.DocumentKind, name, version string) (shop.Document, error) {
	d := shop.Document{Shop: sh, Kind: kind, Name: name}
	var at db.Time
	var row db.Row
	if version == "" {
		row = s.db.QueryRow(ctx, `SELECT v.version, v.title, v.block, v.raw, v.saved_at FROM documents d
			JOIN versions v ON v.shop_id = d.shop_id AND v.kind = d.kind AND v.name = d.name AND v.version = d.version
			WHERE d.shop_id = $1 AND d.kind = $2 AND d.name = $3`, string(sh), string(kind), name)
	} else {
		row = s.db.QueryRow(ctx, `SELECT version, title, block, raw, saved_at FROM versions
			WHERE shop_id = $1 AND kind = $2 AND name = $3 AND version = $4`, string(sh), string(kind), name, version)
	}
	err := row.Scan(&d.Version, &d.Title, &d.Block, &d.Raw, &at)
	if errors.Is(err, db.ErrNoRows) {
		return shop.Document{}, shop.ErrAbsent
	}
	d.SavedAt = at.Time
	return d, err
}

// ListDocuments implements shop.Documents.
func (s *Store) ListDocuments(ctx context.Context, sh shop.ShopID, kind shop.DocumentKind, after string, limit int) ([]shop.DocumentHead, error) {
	var out []shop.DocumentHead
	err := each(ctx, s.db, func(r db.Row) error {
		h := shop.DocumentHead{Document: shop.Document{Shop: sh, Kind: kind}}
		var at db.Time
		if err := r.Scan(&h.Name, &h.Version, &h.Title, &h.Block, &h.Bytes, &at); err != nil {
			return err
		}
		h.SavedAt = at.Time
		out = append(out, h)
		return nil
	}, `SELECT v.name, v.version, v.title, v.block, length(v.raw), v.saved_at FROM documents d
		JOIN versions v ON v.shop_id = d.shop_id AND v.kind = d.kind AND v.name = d.name AND v.version = d.version
		WHERE d.shop_id = $1 AND d.kind = $2 AND d.name > $3 ORDER BY d.name LIMIT $4`,
		string(sh), string(kind), after, limit)
	return out, err
}
