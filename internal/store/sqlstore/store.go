// Package sqlstore implements the store ports of shop in SQL that both databases understand.
//
//	store.go      the type, rows and JSON columns
//	keys.go       shops and keys
//	documents.go  blocks and styles
//	runs.go       admitting and telling of runs
//	work.go       what workers do to runs
//	outbox.go     handing runs to the queue
//	retention.go  runs and contents whose time is over
//	upkeep.go     files, old keys, the pulse
//	watch.go      what an operator is told
//
// Order of locks, so that no two transactions wait for each other: a run's row before its outbox
// row. Whatever changes a run checks in the same statement that it may: the state, the attempt, the
// lease. A statement that changed no row is the answer "no", never an error to be read.
package sqlstore

import (
	"context"
	"encoding/json"
	"fmt"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Store is a shop.Store over a database.
type Store struct{ db db.DB }

var _ shop.Store = (*Store)(nil)

// New makes a Store; the schema must be in place.
func New(d db.DB) *Store { return &Store{d} }

// Close closes the database.
func (s *Store) Close() error { return s.db.Close() }

// Ping says whether the database answers.
func (s *Store) Ping(ctx context.Context) error { return s.db.Ping(ctx) }

// each reads every row of a query.
func each(ctx context.Context, q db.Q, read func(db.Row) error, sql string, args ...any) error {
	rows, err := q.Query(ctx, sql, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := read(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

func toJSON(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}

func fromJSON(column, text string, v any) error {
	if text == "" {
		return nil
	}
	if err := json.Unmarshal([]byte(text), v); err != nil {
		return fmt.Errorf("sqlstore: column %s: %w", column, err)
	}
	return nil
}
