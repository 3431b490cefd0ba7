package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

const fileColumns = `id, run_id, name, media_type, paper, pages, bytes, sha256`

func readFile(r db.Row) (shop.FileInfo, error) {
	var f shop.FileInfo
	err := r.Scan(&f.ID, &f.RunID, &f.Name, &f.MediaType, &f.Paper, &f.Pages, &f.Bytes, &f.SHA256)
	return f, err
}

func filesOf(ctx context.Context, q db.Q, run string) ([]shop.FileInfo, error) {
	var out []shop.FileInfo
	err := each(ctx, q, func(r db.Row) error {
		f, err := readFile(r)
		out = append(out, f)
		return err
	}, `SELECT `+fileColumns+` FROM files WHERE run_id = $1 ORDER BY place`, run)
	return out, err
}

// File implements shop.Upkeep.
func (s *Store) File(ctx context.Context, sh shop.ShopID, id string) (shop.FileInfo, error) {
	f, err := readFile(s.db.QueryRow(ctx, `SELECT `+fileColumns+` FROM files WHERE id = $1 AND shop_id = $2`, id, string(sh)))
	if errors.Is(err, db.ErrNoRows) {
		return shop.FileInfo{}, shop.ErrAbsent
	}
	return f, err
}

// Referenced implements shop.Upkeep.
func (s *Store) Referenced(ctx context.Context, sums []string) (map[string]bool, error) {
	has := make(map[string]bool, len(sums))
	if len(sums) == 0 {
		return has, nil
	}
	args := make([]any, len(sums))
	for i, sum := range sums {
		args[i] = sum
	}
	err := each(ctx, s.db, func(r db.Row) error {
		var sum string
		err := r.Scan(&sum)
		has[sum] = true
		return err
	}, `SELECT sha256 FROM files WHERE sha256 IN (`+db.List(len(sums), 1)+`) UNION SELECT sha256 FROM discards WHERE sha256 IN (`+db.List(len(sums), 1)+`)`, args...)
	return has, err
}

// Forget implements shop.Upkeep.
func (s *Store) Forget(ctx context.Context, before time.Time) (int, error) {
	n, err := s.db.Exec(ctx, `DELETE FROM idempotency WHERE created_at <= $1`, db.When(before))
	return int(n), err
}
