package sqlstore

import (
	"context"
	"database/sql"
	"errors"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// QuotaOf implements shop.Quotas.
func (s *Store) QuotaOf(ctx context.Context, sh shop.ShopID) (shop.QuotaSet, error) {
	var once, runs, pages, bytes sql.NullInt64
	err := s.db.QueryRow(ctx, `SELECT runs_at_once, runs_a_day, pages_a_day, bytes_kept FROM shop_quotas WHERE shop_id = $1`, string(sh)).Scan(&once, &runs, &pages, &bytes)
	if errors.Is(err, db.ErrNoRows) {
		return shop.QuotaSet{}, nil
	}
	given := func(n sql.NullInt64) *int64 {
		if !n.Valid {
			return nil
		}
		return &n.Int64
	}
	return shop.QuotaSet{RunsAtOnce: given(once), RunsADay: given(runs), PagesADay: given(pages), BytesKept: given(bytes)}, err
}

// SetQuota implements shop.Quotas.
func (s *Store) SetQuota(ctx context.Context, sh shop.ShopID, q shop.QuotaSet, unset bool) error {
	keep := `COALESCE(excluded.runs_at_once, shop_quotas.runs_at_once), COALESCE(excluded.runs_a_day, shop_quotas.runs_a_day),
		COALESCE(excluded.pages_a_day, shop_quotas.pages_a_day), COALESCE(excluded.bytes_kept, shop_quotas.bytes_kept)`
	if unset {
		keep = `excluded.runs_at_once, excluded.runs_a_day, excluded.pages_a_day, excluded.bytes_kept`
	}
	_, err := s.db.Exec(ctx, `INSERT INTO shop_quotas (shop_id, runs_at_once, runs_a_day, pages_a_day, bytes_kept) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (shop_id) DO UPDATE SET (runs_at_once, runs_a_day, pages_a_day, bytes_kept) = (`+keep+`)`,
		string(sh), whole(q.RunsAtOnce), whole(q.RunsADay), whole(q.PagesADay), whole(q.BytesKept))
	return err
}

func whole(n *int64) any {
	if n == nil {
		return nil
	}
	return *n
}

// DayOf implements shop.Quotas.
func (s *Store) DayOf(ctx context.Context, sh shop.ShopID, day string, sandbox bool) (shop.Day, error) {
	return dayOf(ctx, s.db, sh, day, sandbox)
}

func dayOf(ctx context.Context, q db.Q, sh shop.ShopID, day string, sandbox bool) (shop.Day, error) {
	var d shop.Day
	err := q.QueryRow(ctx, `SELECT runs, pages FROM shop_days WHERE shop_id = $1 AND day = $2 AND sandbox = $3`, string(sh), day, sandbox).Scan(&d.Runs, &d.Pages)
	if errors.Is(err, db.ErrNoRows) {
		err = nil
	}
	return d, err
}

// countRun counts an admission, unless the day is full. One statement looks and counts, so that no
// two take the last place.
func countRun(ctx context.Context, q db.Q, a shop.Admission) (shop.VerdictKind, error) {
	day := shop.DayName(a.Run.CreatedAt)
	n, err := q.Exec(ctx, `INSERT INTO shop_days (shop_id, day, sandbox, runs, pages) VALUES ($1, $2, $3, 1, 0)
		ON CONFLICT (shop_id, day, sandbox) DO UPDATE SET runs = shop_days.runs + 1
		WHERE (CAST($4 AS BIGINT) = 0 OR shop_days.runs < CAST($4 AS BIGINT)) AND (CAST($5 AS BIGINT) = 0 OR shop_days.pages < CAST($5 AS BIGINT))`,
		string(a.Run.Shop), day, a.Run.Sandbox, a.RunsADay, a.PagesADay)
	if err != nil || n > 0 {
		return shop.Admitted, err
	}
	d, err := dayOf(ctx, q, a.Run.Shop, day, a.Run.Sandbox)
	if a.RunsADay > 0 && d.Runs >= a.RunsADay {
		return shop.RunsFull, err
	}
	return shop.PagesFull, err
}

// countPages counts what a run has delivered.
func countPages(ctx context.Context, q db.Q, sh string, sandbox bool, o shop.Outcome) error {
	pages := 0
	for _, f := range o.Files {
		pages += f.Pages
	}
	if pages == 0 {
		return nil
	}
	_, err := q.Exec(ctx, `INSERT INTO shop_days (shop_id, day, sandbox, runs, pages) VALUES ($1, $2, $3, 0, $4)
		ON CONFLICT (shop_id, day, sandbox) DO UPDATE SET pages = shop_days.pages + excluded.pages`, sh, shop.DayName(o.At), sandbox, int64(pages))
	return err
}

// Unfinished implements shop.Quotas.
func (s *Store) Unfinished(ctx context.Context, sh shop.ShopID) (int64, error) {
	var n int64
	err := s.db.QueryRow(ctx, `SELECT count(*) FROM runs WHERE shop_id = $1 AND state IN ('queued', 'making')`, string(sh)).Scan(&n)
	return n, err
}

// BytesKept implements shop.Quotas.
func (s *Store) BytesKept(ctx context.Context, sh shop.ShopID) (int64, error) {
	var n int64
	err := s.db.QueryRow(ctx, `SELECT CAST(COALESCE(sum(bytes), 0) AS BIGINT) FROM files WHERE shop_id = $1`, string(sh)).Scan(&n)
	return n, err
}

// ForgetDays implements shop.Quotas.
func (s *Store) ForgetDays(ctx context.Context, before string) (int, error) {
	n, err := s.db.Exec(ctx, `DELETE FROM shop_days WHERE day < $1`, before)
	return int(n), err
}
