package storetest

import (
	"database/sql"
	"testing"
	"time"
)

// FirstRelease does on today's schema what the first release did, in its own words: the statements below
// are frozen, and a migration that breaks one of them would break processes that have not been replaced
// yet. Migrations only ever expand what a release before may still be using; when none that speaks like
// this can be running any more, a newer release's words take the place of these.
//
// when is how the database keeps a time.
func FirstRelease(t *testing.T, d *sql.DB, when func(time.Time) any) {
	t.Helper()
	one := func(text string, args ...any) {
		t.Helper()
		r, err := d.ExecContext(t.Context(), text, args...)
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if n, err := r.RowsAffected(); err != nil || n != 1 {
			t.Fatalf("%d rows, %v\n%s", n, err, text)
		}
	}
	read := func(text string, columns int, args ...any) {
		t.Helper()
		row := make([]any, columns)
		into := make([]any, columns)
		for i := range row {
			into[i] = &row[i]
		}
		if err := d.QueryRowContext(t.Context(), text, args...).Scan(into...); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	}
	now, lease := when(T0), when(T0.Add(time.Minute))
	one(`INSERT INTO shops (id, name, created_at) VALUES ($1, $2, $3) ON CONFLICT (name) DO NOTHING`, "shop_1", "Rookery Lane", now)
	one(`INSERT INTO api_keys (id, shop_id, hash, created_at) VALUES ($1, $2, $3, $4)`, "key_1", "shop_1", []byte{1}, now)
	read(`SELECT k.hash, k.created_at, s.id, s.name, s.created_at
		FROM api_keys k JOIN shops s ON s.id = k.shop_id WHERE k.id = $1 AND k.revoked_at IS NULL`, 5, "key_1")
	for _, kind := range []string{"block", "style"} {
		one(`INSERT INTO versions (shop_id, kind, name, version, title, block, raw, saved_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8) ON CONFLICT (shop_id, kind, name, version) DO NOTHING`, "shop_1", kind, "wren", "v1", "Wren", "", []byte("{}"), now)
		one(`INSERT INTO documents (shop_id, kind, name, version) VALUES ($1, $2, $3, $4)
			ON CONFLICT (shop_id, kind, name) DO UPDATE SET version = excluded.version`, "shop_1", kind, "wren", "v1")
	}
	read(`SELECT v.version, v.title, v.block, v.raw, v.saved_at FROM documents d
			JOIN versions v ON v.shop_id = d.shop_id AND v.kind = d.kind AND v.name = d.name AND v.version = d.version
			WHERE d.shop_id = $1 AND d.kind = $2 AND d.name = $3`, 5, "shop_1", "style", "wren")
	one(`INSERT INTO runs (id, shop_id, external_id, style, style_version, block, block_version, engine, input_hash,
				request, stamp, sizes, outputs, deliver, state, stage, done, total, created_at)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, 'queued', $15, $16, $17, $18)
			ON CONFLICT (shop_id, external_id) WHERE external_id IS NOT NULL DO NOTHING`,
		"run_1", "shop_1", "1001", "wren", "v1", "wren", "v1", "e", "h", []byte("{}"), "", "[]", "[]", false, "queued", 0, 1, now)
	one(`INSERT INTO idempotency (shop_id, scope, key, print, run_id, created_at) VALUES ($1, $2, $3, $4, $5, $6)
				ON CONFLICT (shop_id, scope, key) DO UPDATE SET print = excluded.print, run_id = excluded.run_id, created_at = excluded.created_at
				WHERE idempotency.created_at <= $7`, "shop_1", "POST", "k", []byte{2}, "run_1", now, when(T0.Add(-time.Hour)))
	one(`INSERT INTO outbox (id, run_id, shop_id, available_at) VALUES ($1, $2, $3, $4)`, "out_1", "run_1", "shop_1", now)
	read(`SELECT t.id, t.run_id FROM outbox t JOIN (
				SELECT id, available_at, row_number() OVER (PARTITION BY shop_id ORDER BY available_at, id) AS turn FROM outbox WHERE available_at <= $1
			) AS due ON due.id = t.id
			WHERE t.available_at <= $1 ORDER BY due.turn, due.available_at, due.id LIMIT $2`, 2, now, 10)
	one(`UPDATE outbox SET available_at = $1 WHERE id IN ($2)`, lease, "out_1")
	one(`UPDATE runs SET handed_at = $1 WHERE lease_until IS NULL AND id IN ($2)`, now, "run_1")
	const columns = `id, shop_id, external_id, style, style_version, block, block_version, engine, input_hash, stamp,
	sizes, outputs, deliver, state, cancel_asked, stage, done, total, problem, report, created_at, started_at, finished_at`
	read(`UPDATE runs SET state = 'making', attempt = attempt + 1, tries = tries + 1,
			lease_until = $3, handed_at = NULL, started_at = COALESCE(started_at, $2)
		WHERE id = $1 AND state IN ('queued', 'making') AND (lease_until IS NULL OR lease_until <= $2)
		RETURNING `+columns+`, request, attempt, tries`, 26, "run_1", now, lease)
	read(`UPDATE runs SET stage = $3, done = $4, total = $5, lease_until = $6
		WHERE id = $1 AND attempt = $2 AND state = 'making' RETURNING cancel_asked`, 1, "run_1", 1, "making", 0, 1, lease)
	read(`UPDATE runs SET state = $3, problem = $4, report = $5, finished_at = $6, lease_until = NULL,
				engine = COALESCE($7, engine), input_hash = COALESCE($8, input_hash),
				stage = $3, done = CASE WHEN $3 = 'done' THEN total ELSE done END
			WHERE id = $1 AND attempt = $2 AND state = 'making' RETURNING shop_id`, 1, "run_1", 1, "done", nil, "{}", now, "e", "h")
	one(`INSERT INTO files (id, run_id, shop_id, place, name, media_type, paper, pages, bytes, sha256)
				VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`, "file_1", "run_1", "shop_1", 0, "a.pdf", "application/pdf", "A4", 1, 10, "aa")
	one(`DELETE FROM outbox WHERE run_id = $1`, "run_1")
	read(`SELECT `+columns+` FROM runs WHERE id = $1 AND shop_id = $2`, 23, "run_1", "shop_1")
	read(`SELECT id, run_id, name, media_type, paper, pages, bytes, sha256 FROM files WHERE run_id = $1 ORDER BY place`, 8, "run_1")
	one(`UPDATE api_keys SET revoked_at = COALESCE(revoked_at, $3) WHERE id = $2 AND shop_id = $1`, "shop_1", "key_1", now)
}
