package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// EraseRun implements shop.Retention. Raising the attempt fences off whoever still thinks to have the run.
func (s *Store) EraseRun(ctx context.Context, sh shop.ShopID, id string, now, freeAt time.Time) (bool, error) {
	gone := false
	err := s.db.Tx(ctx, func(q db.Q) error {
		gone = false
		var state string
		err := q.QueryRow(ctx, `UPDATE runs SET attempt = attempt + 1, lease_until = NULL
			WHERE id = $1 AND shop_id = $2 AND (state <> 'making' OR lease_until IS NULL OR lease_until <= $3) RETURNING state`,
			id, string(sh), db.When(now)).Scan(&state)
		if errors.Is(err, db.ErrNoRows) {
			// Should it end in between, it is marked all the same and found later.
			n, err := q.Exec(ctx, `UPDATE runs SET erase_asked = TRUE, cancel_asked = TRUE, revision = revision + 1 WHERE id = $1 AND shop_id = $2`, id, string(sh))
			if err == nil && n == 0 {
				err = shop.ErrAbsent
			}
			return err
		}
		if err != nil {
			return err
		}
		if gone = true; !shop.Over(state) {
			if err := ended(ctx, q, string(sh), id, shop.StateCancelled, now); err != nil {
				return err
			}
		}
		return erase(ctx, q, id, freeAt)
	})
	return gone && err == nil, err
}

// EraseAsked implements shop.Retention.
func (s *Store) EraseAsked(ctx context.Context, freeAt time.Time, limit int) (int, error) {
	return s.letGo(ctx, func(q db.Q, id string) error { return erase(ctx, q, id, freeAt) },
		`SELECT t.id FROM runs t WHERE t.erase_asked AND t.finished_at IS NOT NULL ORDER BY t.finished_at LIMIT $1`, limit)
}

// ExpireRuns implements shop.Retention. Without its report a run is not found as made any more, not even
// by a release that knows no expiry.
func (s *Store) ExpireRuns(ctx context.Context, endedBefore, now, freeAt time.Time, limit int) (int, error) {
	return s.letGo(ctx, func(q db.Q, id string) error {
		if err := discard(ctx, q, id, freeAt); err != nil {
			return err
		}
		_, err := q.Exec(ctx, `UPDATE runs SET expired_at = $2, stamp = '', external_id = NULL, request = $3, input_hash = '', sizes = '[]',
			problem = NULL, report = NULL, revision = revision + 1 WHERE id = $1`, id, db.When(now), []byte("{}"))
		return err
	}, `SELECT t.id FROM runs t WHERE t.finished_at <= $2 AND t.finished_at IS NOT NULL AND t.expired_at IS NULL ORDER BY t.finished_at LIMIT $1`, limit, db.When(endedBefore))
}

// letGo does f to the runs that a SELECT finds, in one transaction.
func (s *Store) letGo(ctx context.Context, f func(q db.Q, id string) error, sql string, args ...any) (int, error) {
	n := 0
	err := s.db.Tx(ctx, func(q db.Q) error {
		var ids []string
		err := each(ctx, q, func(r db.Row) error {
			var id string
			err := r.Scan(&id)
			ids = append(ids, id)
			return err
		}, sql+s.db.Dialect().SkipLocked, args...)
		n = len(ids)
		for _, id := range ids {
			if err == nil {
				err = f(q, id)
			}
		}
		return err
	})
	return n, err
}

// discard takes a run's files from it and notes their contents.
func discard(ctx context.Context, q db.Q, run string, freeAt time.Time) error {
	if _, err := q.Exec(ctx, `INSERT INTO discards (sha256, due_at) SELECT f.sha256, $2 FROM (SELECT DISTINCT sha256 FROM files WHERE run_id = $1) AS f
		WHERE TRUE ORDER BY f.sha256 ON CONFLICT (sha256) DO UPDATE SET due_at = excluded.due_at`, run, db.When(freeAt)); err != nil {
		return err
	}
	_, err := q.Exec(ctx, `DELETE FROM files WHERE run_id = $1`, run)
	return err
}

func erase(ctx context.Context, q db.Q, run string, freeAt time.Time) error {
	if err := discard(ctx, q, run, freeAt); err != nil {
		return err
	}
	for _, sql := range []string{`DELETE FROM idempotency WHERE run_id = $1`, `DELETE FROM outbox WHERE run_id = $1`, `DELETE FROM runs WHERE id = $1`} {
		if _, err := q.Exec(ctx, sql, run); err != nil {
			return err
		}
	}
	return nil
}

// TakeDiscards implements shop.Retention. Whoever lets go of the same content meanwhile waits for the row
// and notes it anew.
func (s *Store) TakeDiscards(ctx context.Context, now time.Time, limit int) (int, []string, error) {
	var free []string
	taken := 0
	err := s.db.Tx(ctx, func(q db.Q) error {
		free = nil
		var sums []any
		err := each(ctx, q, func(r db.Row) error {
			var sum string
			err := r.Scan(&sum)
			sums = append(sums, sum)
			return err
		}, `SELECT t.sha256 FROM discards t WHERE t.due_at <= $1 ORDER BY t.due_at LIMIT $2`+s.db.Dialect().SkipLocked, db.When(now), limit)
		if taken = len(sums); err != nil || taken == 0 {
			return err
		}
		in := `(` + db.List(taken, 1) + `)`
		used := map[any]bool{}
		if err := each(ctx, q, func(r db.Row) error {
			var sum string
			err := r.Scan(&sum)
			used[sum] = true
			return err
		}, `SELECT DISTINCT sha256 FROM files WHERE sha256 IN `+in, sums...); err != nil {
			return err
		}
		for _, sum := range sums {
			if !used[sum] {
				free = append(free, sum.(string))
			}
		}
		_, err = q.Exec(ctx, `DELETE FROM discards WHERE sha256 IN `+in, sums...)
		return err
	})
	return taken, free, err
}
