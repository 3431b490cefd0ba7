// Package embedded is the store over SQLite, in a folder of this machine and within this process:
// what a shop gets without setting anything. It has one writer at a time, which a handful of
// machines' worth of orders does not notice.
//
// Several processes may open the same folder (a key is added while the service runs). Only one may
// make runs: Lock is how it makes sure.
package embedded

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"

	"github.com/pressly/goose/v3"
	"modernc.org/sqlite"

	"sizerun/internal/store/db"
	"sizerun/internal/store/sqlstore"
	"sizerun/migrations"
)

// FileName is the database's file within its folder.
const FileName = "sizerun.db"

// Open opens the database in the folder, and makes both when they are not there. The schema is
// brought up to date.
func Open(ctx context.Context, dir string) (*sqlstore.Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("embedded store: %w", err)
	}
	d, err := open(filepath.Join(dir, FileName))
	if err != nil {
		return nil, err
	}
	if err := migrate(ctx, dir, d.write); err != nil {
		return nil, errors.Join(fmt.Errorf("embedded store: %w", err), d.Close())
	}
	return sqlstore.New(d), nil
}

// migrate takes turns with other processes: goose has no lock for SQLite, and two that begin on an
// empty database would both make its tables.
func migrate(ctx context.Context, dir string, w *sql.DB) (err error) {
	turn, err := os.OpenFile(filepath.Join(dir, "migrate.lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, turn.Close()) }()
	if err := waitLock(turn); err != nil {
		return err
	}
	folder, err := fs.Sub(migrations.SQLite, "sqlite")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, w, folder, goose.WithDisableGlobalRegistry(true))
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// database has one connection that writes and several that read. Every transaction begins as a
// writing one (_txlock=immediate): one that read first and wrote later would fail at once with
// SQLITE_BUSY, timeout or not, when another wrote in between.
type database struct{ write, read *sql.DB }

func open(file string) (*database, error) {
	v := url.Values{}
	v.Set("_txlock", "immediate")
	v.Set("_time_integer_format", "unix_micro")
	v.Set("_dqs", "0") // "name" is a column or an error, never a string
	for _, p := range []string{"busy_timeout(5000)", "journal_mode(wal)", "synchronous(full)", "foreign_keys(1)"} {
		v.Add("_pragma", p)
	}
	u := url.URL{Scheme: "file", Opaque: (&url.URL{Path: filepath.ToSlash(file)}).EscapedPath(), RawQuery: v.Encode()}
	w, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, fmt.Errorf("embedded store: %w", err)
	}
	w.SetMaxOpenConns(1)
	v.Add("_pragma", "query_only(1)")
	u.RawQuery = v.Encode()
	r, err := sql.Open("sqlite", u.String())
	if err != nil {
		return nil, errors.Join(fmt.Errorf("embedded store: %w", err), w.Close())
	}
	n := max(4, runtime.NumCPU())
	r.SetMaxOpenConns(n)
	r.SetMaxIdleConns(n)
	return &database{w, r}, nil
}

type querier interface {
	ExecContext(ctx context.Context, query string, args ...any) (sql.Result, error)
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}

type q struct{ querier }

func (q q) Exec(ctx context.Context, text string, args ...any) (int64, error) {
	r, err := q.ExecContext(ctx, text, args...)
	if err != nil {
		return 0, fail(err)
	}
	n, err := r.RowsAffected()
	return n, fail(err)
}

func (q q) Query(ctx context.Context, text string, args ...any) (db.Rows, error) {
	r, err := q.QueryContext(ctx, text, args...) //nolint:rowserrcheck // the caller asks db.Rows for it
	if err != nil {
		return nil, fail(err)
	}
	return rows{r}, nil
}

func (q q) QueryRow(ctx context.Context, text string, args ...any) db.Row {
	return row{q.QueryRowContext(ctx, text, args...)}
}

type row struct{ *sql.Row }

func (r row) Scan(dest ...any) error { return fail(r.Row.Scan(dest...)) }

type rows struct{ *sql.Rows }

func (r rows) Scan(dest ...any) error { return fail(r.Rows.Scan(dest...)) }
func (r rows) Err() error             { return fail(r.Rows.Err()) }
func (r rows) Close()                 { _ = r.Rows.Close() } // its error is Err's

// pick: what does not begin with SELECT may write.
func (d *database) pick(text string) q {
	if len(text) >= 6 && text[:6] == "SELECT" {
		return q{d.read}
	}
	return q{d.write}
}

func (d *database) Exec(ctx context.Context, text string, args ...any) (int64, error) {
	return q{d.write}.Exec(ctx, text, args...)
}

func (d *database) Query(ctx context.Context, text string, args ...any) (db.Rows, error) {
	return d.pick(text).Query(ctx, text, args...)
}

func (d *database) QueryRow(ctx context.Context, text string, args ...any) db.Row {
	return d.pick(text).QueryRow(ctx, text, args...)
}

func (d *database) Tx(ctx context.Context, f func(db.Q) error) error {
	tx, err := d.write.BeginTx(ctx, nil)
	if err != nil {
		return fail(err)
	}
	defer func() { _ = tx.Rollback() }() // does nothing after Commit
	if err := f(q{tx}); err != nil {
		return err
	}
	return fail(tx.Commit())
}

func (d *database) Ping(ctx context.Context) error { return fail(d.read.PingContext(ctx)) }

func (d *database) Dialect() db.Dialect { return db.Dialect{Name: "sqlite"} }

func (d *database) Close() error { return errors.Join(d.read.Close(), d.write.Close()) }

// Result codes of SQLite (https://sqlite.org/rescode.html): the low byte is the kind.
const (
	codeBusy       = 5
	codeLocked     = 6
	codeIOErr      = 10
	codeFull       = 13
	codeCantOpen   = 14
	codeConstraint = 19
	codePrimaryKey = 1555
	codeUnique     = 2067
)

// fail translates the driver's errors.
func fail(err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, sql.ErrNoRows) {
		return db.ErrNoRows
	}
	var se *sqlite.Error
	if !errors.As(err, &se) {
		return err
	}
	switch se.Code() & 0xff {
	case codeConstraint:
		return &db.Violation{Unique: se.Code() == codeUnique || se.Code() == codePrimaryKey, Cause: err}
	case codeBusy, codeLocked, codeIOErr, codeFull, codeCantOpen:
		return db.Away(fmt.Errorf("embedded store: %w", err))
	}
	return err
}
