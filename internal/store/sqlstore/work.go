package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Claim implements shop.Work.
func (s *Store) Claim(ctx context.Context, id string, now, leaseUntil time.Time) (shop.Claim, error) {
	var c shop.Claim
	var err error
	c.Run, err = readRun(s.db.QueryRow(ctx, `UPDATE runs SET state = 'making', attempt = attempt + 1, revision = revision + 1, tries = tries + 1,
			lease_until = $3, handed_at = NULL, started_at = COALESCE(started_at, $2)
		WHERE id = $1 AND state IN ('queued', 'making') AND (lease_until IS NULL OR lease_until <= $2)
		RETURNING `+runColumns+`, request, attempt, tries`, id, db.When(now), db.When(leaseUntil)),
		&c.Request, &c.Attempt, &c.Tries)
	if errors.Is(err, db.ErrNoRows) {
		return shop.Claim{}, shop.ErrFenced
	}
	return c, err
}

// Touch implements shop.Work.
func (s *Store) Touch(ctx context.Context, id string, attempt int, p shop.Progress, leaseUntil time.Time) (bool, error) {
	var cancel bool
	err := s.db.QueryRow(ctx, `UPDATE runs SET revision = revision + CASE WHEN stage = $3 AND done = $4 AND total = $5 THEN 0 ELSE 1 END,
			stage = $3, done = $4, total = $5, lease_until = $6
		WHERE id = $1 AND attempt = $2 AND state = 'making' RETURNING cancel_asked`,
		id, attempt, p.Stage, p.Done, p.Total, db.When(leaseUntil)).Scan(&cancel)
	if errors.Is(err, db.ErrNoRows) {
		return false, shop.ErrFenced
	}
	return cancel, err
}

// Finish implements shop.Work.
func (s *Store) Finish(ctx context.Context, id string, attempt int, o shop.Outcome) error {
	var problem, report string
	var err1, err2 error
	if o.Problem != nil {
		problem, err1 = toJSON(o.Problem)
	}
	if o.Report != nil {
		report, err2 = toJSON(o.Report)
	}
	if err := errors.Join(err1, err2); err != nil {
		return err
	}
	return s.db.Tx(ctx, func(q db.Q) error {
		var sh string
		var sandbox bool
		err := q.QueryRow(ctx, `UPDATE runs SET state = $3, problem = $4, report = $5, finished_at = $6, lease_until = NULL, revision = revision + 1,
				engine = COALESCE($7, engine), input_hash = COALESCE($8, input_hash),
				stage = $3, done = CASE WHEN $3 = 'done' THEN total ELSE done END
			WHERE id = $1 AND attempt = $2 AND state = 'making' RETURNING shop_id, sandbox`,
			id, attempt, o.State, db.Text(problem), db.Text(report), db.When(o.At), db.Text(o.Engine), db.Text(o.InputHash)).Scan(&sh, &sandbox)
		if errors.Is(err, db.ErrNoRows) {
			return shop.ErrFenced
		}
		if err != nil {
			return err
		}
		for i, f := range o.Files {
			if _, err := q.Exec(ctx, `INSERT INTO files (id, run_id, shop_id, place, name, media_type, paper, pages, bytes, sha256)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
				f.ID, id, sh, i, f.Name, f.MediaType, f.Paper, f.Pages, f.Bytes, f.SHA256); err != nil {
				return err
			}
		}
		if _, err = q.Exec(ctx, `DELETE FROM outbox WHERE run_id = $1`, id); err != nil {
			return err
		}
		if err := ended(ctx, q, sh, id, o.State, o.At); err != nil {
			return err
		}
		return countPages(ctx, q, sh, sandbox, o)
	})
}

// HandBack implements shop.Work. It raises the attempt, so that whoever held the run until now is
// fenced off even before the next claim.
func (s *Store) HandBack(ctx context.Context, id string, attempt int, b shop.HandBack) error {
	refund := 0
	if b.Refund {
		refund = 1
	}
	return s.db.Tx(ctx, func(q db.Q) error {
		var sh string
		err := q.QueryRow(ctx, `UPDATE runs SET lease_until = NULL, handed_at = NULL, attempt = attempt + 1, tries = tries - $3
			WHERE id = $1 AND attempt = $2 AND state = 'making' RETURNING shop_id`, id, attempt, refund).Scan(&sh)
		if errors.Is(err, db.ErrNoRows) {
			return shop.ErrFenced
		}
		if err != nil {
			return err
		}
		// A relay may not have struck out the row yet by which this try came about. It strikes out by
		// id, so the new id is safe from it.
		_, err = q.Exec(ctx, `INSERT INTO outbox (id, run_id, shop_id, available_at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (run_id) DO UPDATE SET id = excluded.id, available_at = excluded.available_at`,
			b.OutboxID, id, sh, db.When(b.At))
		return err
	})
}

// Made implements shop.Work.
func (s *Store) Made(ctx context.Context, sh shop.ShopID, inputHash string) (shop.Outcome, error) {
	r, err := readRun(s.db.QueryRow(ctx, `SELECT `+runColumns+` FROM runs
		WHERE shop_id = $1 AND input_hash = $2 AND report IS NOT NULL AND expired_at IS NULL AND NOT erase_asked AND state IN ('done', 'failed') ORDER BY finished_at DESC LIMIT 1`,
		string(sh), inputHash))
	if errors.Is(err, db.ErrNoRows) {
		return shop.Outcome{}, shop.ErrAbsent
	}
	if err != nil {
		return shop.Outcome{}, err
	}
	fs, err := filesOf(ctx, s.db, r.ID)
	return shop.Outcome{State: r.State, Problem: r.Problem, Report: r.Report, Files: fs, Engine: r.Engine, InputHash: r.InputHash, At: r.FinishedAt}, err
}
