package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

const runColumns = `id, shop_id, external_id, style, style_version, block, block_version, engine, input_hash, stamp,
	sizes, outputs, deliver, state, cancel_asked, stage, done, total, problem, report, created_at, started_at, finished_at, expired_at, revision, ordered_by, sandbox`

// readRun reads runColumns, and further columns after them.
func readRun(row db.Row, more ...any) (shop.Run, error) {
	var r shop.Run
	var external, problem, report db.NullText
	var sizes, outputs string
	var created, started, finished, expired db.Time
	err := row.Scan(append([]any{&r.ID, (*string)(&r.Shop), &external, &r.Style, &r.StyleVersion, &r.Block, &r.BlockVersion, &r.Engine,
		&r.InputHash, &r.Stamp, &sizes, &outputs, &r.DeliverAnyway, &r.State, &r.CancelAsked,
		&r.Progress.Stage, &r.Progress.Done, &r.Progress.Total, &problem, &report, &created, &started, &finished, &expired, &r.Revision, &r.OrderedBy, &r.Sandbox}, more...)...)
	if err != nil {
		return shop.Run{}, err
	}
	r.ExternalID = external.S
	r.CreatedAt, r.StartedAt, r.FinishedAt, r.ExpiredAt = created.Time, started.Time, finished.Time, expired.Time
	if !r.ExpiredAt.IsZero() {
		r.State = shop.StateExpired // the row keeps how it ended
	}
	return r, errors.Join(fromJSON("sizes", sizes, &r.Sizes), fromJSON("outputs", outputs, &r.Outputs),
		fromJSON("problem", problem.S, &r.Problem), fromJSON("report", report.S, &r.Report))
}

// errUndo ends a transaction without its being an error.
var errUndo = errors.New("undo")

// Admit implements shop.Runs.
func (s *Store) Admit(ctx context.Context, a shop.Admission) (shop.Verdict, error) {
	r := a.Run
	sizes, err1 := toJSON(r.Sizes)
	outputs, err2 := toJSON(r.Outputs)
	if err := errors.Join(err1, err2); err != nil {
		return shop.Verdict{}, err
	}
	var v shop.Verdict
	err := s.db.Tx(ctx, func(q db.Q) error {
		v = shop.Verdict{Kind: shop.Admitted, RunID: r.ID}
		if a.Most > 0 {
			var n int
			err := q.QueryRow(ctx, `SELECT count(*) FROM (SELECT 1 FROM runs WHERE shop_id = $1 AND state IN ('queued', 'making') LIMIT $2) AS open`,
				string(r.Shop), a.Most).Scan(&n)
			if err != nil {
				return err
			}
			if n >= a.Most {
				if v.Kind = shop.ShopFull; a.Idem != nil {
					return s.orEarlier(ctx, q, &v, a)
				}
				return errUndo
			}
		}
		n, err := q.Exec(ctx, `INSERT INTO runs (id, shop_id, external_id, style, style_version, block, block_version, engine, input_hash,
				request, stamp, sizes, outputs, deliver, state, stage, done, total, created_at, ordered_by, sandbox)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, 'queued', $15, $16, $17, $18, $19, $20)
			ON CONFLICT (shop_id, external_id) WHERE external_id IS NOT NULL DO NOTHING`,
			r.ID, string(r.Shop), db.Text(r.ExternalID), r.Style, r.StyleVersion, r.Block, r.BlockVersion, r.Engine, r.InputHash,
			a.Request, r.Stamp, sizes, outputs, r.DeliverAnyway, r.Progress.Stage, r.Progress.Done, r.Progress.Total, db.When(r.CreatedAt), r.OrderedBy, r.Sandbox)
		if err != nil {
			return err
		}
		if n == 0 {
			v.Kind = shop.ExternalTaken
			if err := q.QueryRow(ctx, `SELECT id FROM runs WHERE shop_id = $1 AND external_id = $2`, string(r.Shop), r.ExternalID).Scan(&v.RunID); err != nil {
				return err
			}
			return s.orEarlier(ctx, q, &v, a)
		}
		if k := a.Idem; k != nil {
			n, err := q.Exec(ctx, `INSERT INTO idempotency (shop_id, scope, key, print, run_id, created_at) VALUES ($1, $2, $3, $4, $5, $6)
				ON CONFLICT (shop_id, scope, key) DO UPDATE SET print = excluded.print, run_id = excluded.run_id, created_at = excluded.created_at
				WHERE idempotency.created_at <= $7`,
				string(k.Shop), k.Scope, k.Key, k.Print[:], k.RunID, db.When(k.CreatedAt), db.When(k.CreatedAt.Add(-shop.IdempotencyKept)))
			if err != nil {
				return err
			}
			if n == 0 {
				return s.orEarlier(ctx, q, &v, a)
			}
		}
		if _, err = q.Exec(ctx, `INSERT INTO outbox (id, run_id, shop_id, available_at) VALUES ($1, $2, $3, $4)`,
			a.OutboxID, r.ID, string(r.Shop), db.When(r.CreatedAt)); err != nil {
			return err
		}
		if a.Noted != nil {
			if err := note(ctx, q, *a.Noted); err != nil {
				return err
			}
		}
		// Last, for it holds the shop's other admissions up until this one is written.
		full, err := countRun(ctx, q, a)
		if err == nil && full != shop.Admitted {
			v.Kind = full
			return s.orEarlier(ctx, q, &v, a)
		}
		return err
	})
	if errors.Is(err, errUndo) {
		err = nil
	}
	return v, err
}

// orEarlier undoes an admission; when its idempotency key has a run, that counts before anything
// else that stood in the way.
func (s *Store) orEarlier(ctx context.Context, q db.Q, v *shop.Verdict, a shop.Admission) error {
	if a.Idem != nil {
		k, err := recall(ctx, q, *a.Idem, a.Run.CreatedAt)
		if err != nil {
			return err
		}
		if k != nil {
			*v = shop.Verdict{Kind: shop.KeyTaken, RunID: k.RunID, Earlier: k}
		}
	}
	return errUndo
}

// Recall implements shop.Runs.
func (s *Store) Recall(ctx context.Context, k shop.Remembered, now time.Time) (*shop.Remembered, error) {
	return recall(ctx, s.db, k, now)
}

func recall(ctx context.Context, q db.Q, k shop.Remembered, now time.Time) (*shop.Remembered, error) {
	var print []byte
	var at db.Time
	err := q.QueryRow(ctx, `SELECT print, run_id, created_at FROM idempotency WHERE shop_id = $1 AND scope = $2 AND key = $3 AND created_at > $4`,
		string(k.Shop), k.Scope, k.Key, db.When(now.Add(-shop.IdempotencyKept))).Scan(&print, &k.RunID, &at)
	if errors.Is(err, db.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	k.Print = [32]byte{}
	copy(k.Print[:], print)
	k.CreatedAt = at.Time
	return &k, nil
}

// Run implements shop.Runs.
func (s *Store) Run(ctx context.Context, sh shop.ShopID, id string) (shop.Run, error) {
	r, err := readRun(s.db.QueryRow(ctx, `SELECT `+runColumns+` FROM runs WHERE id = $1 AND shop_id = $2`, id, string(sh)))
	if errors.Is(err, db.ErrNoRows) {
		return shop.Run{}, shop.ErrAbsent
	}
	if err == nil && shop.Over(r.State) { // a run that is over, and its files, change no more
		r.Files, err = filesOf(ctx, s.db, id)
	}
	return r, err
}

// ListRuns implements shop.Runs.
func (s *Store) ListRuns(ctx context.Context, sh shop.ShopID, before shop.RunPlace, limit int) ([]shop.Run, error) {
	if before == (shop.RunPlace{}) {
		before.CreatedAt = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var out []shop.Run
	err := each(ctx, s.db, func(row db.Row) error {
		r, err := readRun(row)
		out = append(out, r)
		return err
	}, `SELECT `+runColumns+` FROM runs WHERE shop_id = $1 AND (created_at, id) < ($2, $3) ORDER BY created_at DESC, id DESC LIMIT $4`,
		string(sh), db.When(before.CreatedAt), before.ID, limit)
	return out, err
}

// AskCancel implements shop.Runs.
func (s *Store) AskCancel(ctx context.Context, sh shop.ShopID, id string, at time.Time) (shop.Run, error) {
	err := s.db.Tx(ctx, func(q db.Q) error {
		n, err := q.Exec(ctx, `UPDATE runs SET state = 'cancelled', cancel_asked = TRUE, finished_at = $3, attempt = attempt + 1, revision = revision + 1, lease_until = NULL
			WHERE id = $1 AND shop_id = $2 AND state IN ('queued', 'making') AND (lease_until IS NULL OR lease_until <= $3)`,
			id, string(sh), db.When(at))
		if err != nil {
			return err
		}
		if n == 1 {
			if _, err = q.Exec(ctx, `DELETE FROM outbox WHERE run_id = $1`, id); err != nil {
				return err
			}
			return ended(ctx, q, string(sh), id, shop.StateCancelled, at)
		}
		_, err = q.Exec(ctx, `UPDATE runs SET cancel_asked = TRUE, revision = revision + 1 WHERE id = $1 AND shop_id = $2 AND state = 'making'`, id, string(sh))
		return err
	})
	if err != nil {
		return shop.Run{}, err
	}
	return s.Run(ctx, sh, id)
}
