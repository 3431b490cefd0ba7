package sqlstore

import (
	"context"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// TakeDue implements shop.Outbox. A row that is claimed is one that is due later, so a relay that
// dies gives its rows back by dying.
func (s *Store) TakeDue(ctx context.Context, now, leaseUntil time.Time, limit, inFlight int) ([]shop.Dispatch, error) {
	var ds []shop.Dispatch
	err := s.db.Tx(ctx, func(q db.Q) error {
		ds = nil
		var due, handed int
		if err := q.QueryRow(ctx, `SELECT count(*) FROM (SELECT 1 FROM outbox WHERE available_at <= $1 LIMIT 1) AS any_due`, db.When(now)).Scan(&due); err != nil || due == 0 {
			return err
		}
		if err := q.QueryRow(ctx, `SELECT (SELECT count(*) FROM runs WHERE state IN ('queued', 'making')) - (SELECT count(*) FROM outbox)`).Scan(&handed); err != nil {
			return err
		}
		if limit = min(limit, inFlight-handed); limit <= 0 {
			return nil
		}
		err := each(ctx, q, func(r db.Row) error {
			var d shop.Dispatch
			err := r.Scan(&d.ID, &d.RunID)
			ds = append(ds, d)
			return err
		}, `SELECT t.id, t.run_id FROM outbox t JOIN (
				SELECT id, available_at, row_number() OVER (PARTITION BY shop_id ORDER BY available_at, id) AS turn FROM outbox WHERE available_at <= $1
			) AS due ON due.id = t.id
			WHERE t.available_at <= $1 ORDER BY due.turn, due.available_at, due.id LIMIT $2`+s.db.Dialect().SkipLocked, db.When(now), limit)
		if err != nil || len(ds) == 0 {
			return err
		}
		args := []any{db.When(leaseUntil)}
		for _, d := range ds {
			args = append(args, d.ID)
		}
		_, err = q.Exec(ctx, `UPDATE outbox SET available_at = $1 WHERE id IN (`+db.List(len(ds), 2)+`)`, args...)
		return err
	})
	return ds, err
}

// HandedOver implements shop.Outbox.
func (s *Store) HandedOver(ctx context.Context, ds []shop.Dispatch, now time.Time) error {
	if len(ds) == 0 {
		return nil
	}
	runs, rows := []any{db.When(now)}, []any{}
	for _, d := range ds {
		runs, rows = append(runs, d.RunID), append(rows, d.ID)
	}
	return s.db.Tx(ctx, func(q db.Q) error {
		// A run that a worker is at already keeps handed_at NULL: this hand-over has been used up.
		if _, err := q.Exec(ctx, `UPDATE runs SET handed_at = $1 WHERE lease_until IS NULL AND id IN (`+db.List(len(ds), 2)+`)`, runs...); err != nil {
			return err
		}
		_, err := q.Exec(ctx, `DELETE FROM outbox WHERE id IN (`+db.List(len(ds), 1)+`)`, rows...)
		return err
	})
}

// Forsaken implements shop.Outbox. Its rows are due since their runs were ordered: who has waited
// longest comes first in its shop.
func (s *Store) Forsaken(ctx context.Context, f shop.Forsaken) (int, error) {
	n := 0
	err := s.db.Tx(ctx, func(q db.Q) error {
		n = 0
		type forsaken struct {
			id, shop string
			ordered  db.Time
		}
		var found []forsaken
		err := each(ctx, q, func(r db.Row) error {
			var p forsaken
			err := r.Scan(&p.id, &p.shop, &p.ordered)
			found = append(found, p)
			return err
		}, `SELECT t.id, t.shop_id, t.created_at FROM runs t WHERE t.state IN ('queued', 'making')
				AND ($3 OR t.lease_until IS NULL OR t.lease_until <= $1)
				AND (t.handed_at <= $2 OR (t.handed_at IS NULL AND (t.state = 'making' OR t.created_at <= $2)))
				AND NOT EXISTS (SELECT 1 FROM outbox o WHERE o.run_id = t.id)
			ORDER BY t.created_at, t.id LIMIT $4`+s.db.Dialect().SkipLocked, db.When(f.Now), db.When(f.HandedBefore), f.AllLeases, f.Limit)
		if err != nil {
			return err
		}
		for _, p := range found {
			k, err := q.Exec(ctx, `INSERT INTO outbox (id, run_id, shop_id, available_at) VALUES ($1, $2, $3, $4) ON CONFLICT (run_id) DO NOTHING`,
				f.NewID(), p.id, p.shop, db.When(p.ordered.Time))
			if err != nil {
				return err
			}
			if f.AllLeases {
				if _, err := q.Exec(ctx, `UPDATE runs SET lease_until = NULL WHERE id = $1`, p.id); err != nil {
					return err
				}
			}
			n += int(k)
		}
		return nil
	})
	return n, err
}
