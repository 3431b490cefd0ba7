// Package db is the narrow waist between the store's SQL and its two databases: PostgreSQL through
// pgx, and SQLite through database/sql. The SQL text is the same for both.
//
//	Q      what a statement needs: Exec, Query, QueryRow
//	DB     a Q that can begin transactions and knows its dialect
//	Time   scans a TIMESTAMPTZ and an INTEGER of microseconds alike
//
// What both understand, and the store keeps to: $1 in any order and repeatedly, RETURNING, ON
// CONFLICT, row values in comparisons, partial indexes, CTEs that read, window functions, CAST.
// Not to be used: now(), intervals, = ANY($1), ILIKE, ::type, writes within a CTE. Row locks are
// spelt by Dialect.SkipLocked, which is empty for SQLite: there a transaction that writes has the
// database to itself from its beginning.
package db

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"sizerun/internal/shop"
)

// Q runs statements, on a pool or within a transaction.
type Q interface {
	// Exec answers how many rows were changed.
	Exec(ctx context.Context, sql string, args ...any) (int64, error)
	Query(ctx context.Context, sql string, args ...any) (Rows, error)
	// QueryRow's Scan answers ErrNoRows when there is none.
	QueryRow(ctx context.Context, sql string, args ...any) Row
}

// Row is one row.
type Row interface{ Scan(dest ...any) error }

// Rows is a cursor; it must be closed, and Err asked afterwards.
type Rows interface {
	Next() bool
	Scan(dest ...any) error
	Close()
	Err() error
}

// DB is a database.
type DB interface {
	Q
	// Tx runs f in a transaction that may write, and commits when f answers nil. When the database
	// asks for it (a serialisation failure, a deadlock) f is run once more from the start.
	Tx(ctx context.Context, f func(Q) error) error
	Ping(ctx context.Context) error
	Dialect() Dialect
	// Close waits for what is under way.
	Close() error
}

// Dialect holds the few words in which the databases differ.
type Dialect struct {
	Name string
	// SkipLocked ends a SELECT of rows, from a table called t, that are to be changed: rows that
	// others are changing are left out.
	SkipLocked string
}

// ErrNoRows is QueryRow's answer when there is none.
var ErrNoRows = errors.New("db: no rows")

// Violation is a broken constraint, whatever the database calls it.
type Violation struct {
	Unique bool // a unique index or primary key; otherwise a reference or check
	Cause  error
}

func (v *Violation) Error() string { return "db: constraint: " + v.Cause.Error() }

// Unwrap gives the driver's error.
func (v *Violation) Unwrap() error { return v.Cause }

// Away wraps a driver's error that says the database could not be reached or could not take more.
func Away(cause error) error {
	return &shop.Error{Kind: shop.Unavailable, RetryAfter: 2 * time.Second, Cause: cause,
		Detail: "the service's database can't be reached just now; ask again in a few seconds"}
}

// List spells n placeholders, the first being $from: "$3, $4, $5".
func List(n, from int) string {
	var b strings.Builder
	for i := range n {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString("$" + strconv.Itoa(from+i))
	}
	return b.String()
}

// Time scans times of either database, in UTC; NULL is the zero time.
type Time struct{ time.Time }

// Scan implements sql.Scanner.
func (t *Time) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		t.Time = time.Time{}
	case time.Time:
		t.Time = v.UTC()
	case int64:
		t.Time = time.UnixMicro(v).UTC()
	default:
		return fmt.Errorf("db: a time can't be read from %T", v)
	}
	return nil
}

// When is a time as an argument: NULL when it is zero, else in whole microseconds.
func When(t time.Time) any {
	if t.IsZero() {
		return nil
	}
	return t.UTC().Truncate(time.Microsecond)
}

// Text is a string as an argument: NULL when it is empty.
func Text(s string) any {
	if s == "" {
		return nil
	}
	return s
}

// NullText scans a string; NULL is the empty one.
type NullText struct{ S string }

// Scan implements sql.Scanner.
func (n *NullText) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		n.S = ""
	case string:
		n.S = v
	case []byte:
		n.S = string(v)
	default:
		return fmt.Errorf("db: a text can't be read from %T", v)
	}
	return nil
}
