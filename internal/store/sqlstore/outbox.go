package sqlstore

import (
	"context"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// turn is a shop that has due rows.
type turn struct {
	shop string
	room int // how many more it may have with the queue
	rows []shop.Dispatch
}

// TakeDue implements shop.Outbox. A row that is claimed is one that is due later, so a relay that
// dies gives its rows back by dying.
func (s *Store) TakeDue(ctx context.Context, now, leaseUntil time.Time, limit, inFlight, perShop int) ([]shop.Dispatch, error) {
	var ds []shop.Dispatch
	err := s.db.Tx(ctx, func(q db.Q) error {
		ds = nil
		var due int
		if err := q.QueryRow(ctx, `SELECT count(*) FROM (SELECT 1 FROM outbox WHERE available_at <= $1 LIMIT 1) AS any_due`, db.When(now)).Scan(&due); err != nil || due == 0 {
			return err
		}
		turns, handed, err := turnsOf(ctx, q, now, perShop)
		if limit = min(limit, inFlight-handed); err != nil || limit <= 0 {
			return err
		}
		// Not more shops than can have one each are asked for their first rows.
		for i := range turns[:min(len(turns), limit)] {
			t := &turns[i]
			if err := each(ctx, q, func(r db.Row) error {
				var d shop.Dispatch
				err := r.Scan(&d.ID, &d.RunID)
				t.rows = append(t.rows, d)
				return err
			}, `SELECT t.id, t.run_id FROM outbox t WHERE t.shop_id = $1 AND t.available_at <= $2 ORDER BY t.available_at, t.id LIMIT $3`+s.db.Dialect().SkipLocked,
				t.shop, db.When(now), min(t.room, limit)); err != nil {
				return err
			}
		}
		for k, more := 0, true; more && len(ds) < limit; k++ {
			more = false
			for _, t := range turns {
				if k < len(t.rows) && len(ds) < limit {
					ds, more = append(ds, t.rows[k]), true
				}
			}
		}
		if len(ds) == 0 {
			return nil
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

// turnsOf lists the shops that may hand something over, whoever has waited longest first, and says how many
// runs of all shops are with the queue or the workers. Of a shop's own share, what a relay has in hand
// and what waits for its next try count as well.
func turnsOf(ctx context.Context, q db.Q, now time.Time, perShop int) (turns []turn, handed int, err error) {
	open := map[string]int{}
	err = each(ctx, q, func(r db.Row) error {
		var sh string
		var n int
		err := r.Scan(&sh, &n)
		open[sh] = n
		handed += n
		return err
	}, `SELECT shop_id, count(*) FROM runs WHERE state IN ('queued', 'making') GROUP BY shop_id`)
	if err != nil {
		return nil, 0, err
	}
	err = each(ctx, q, func(r db.Row) error {
		var sh string
		var all, due int
		var first db.Time
		err := r.Scan(&sh, &all, &due, &first)
		handed -= all
		if room := min(due, perShop-(open[sh]-due)); room > 0 {
			turns = append(turns, turn{shop: sh, room: room})
		}
		return err
	}, `SELECT shop_id, count(*), sum(CASE WHEN available_at <= $1 THEN 1 ELSE 0 END), min(available_at) AS first FROM outbox GROUP BY shop_id ORDER BY first, shop_id`, db.When(now))
	return turns, handed, err
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
