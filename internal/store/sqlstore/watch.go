package sqlstore

import (
	"context"
	"errors"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

// Backlog implements shop.Watch. Its parts are counted one after the other: they are for looking at.
func (s *Store) Backlog(ctx context.Context, now time.Time) (shop.Backlog, error) {
	var b shop.Backlog
	var oldest, due db.Time
	err := s.db.QueryRow(ctx, `SELECT count(*) FILTER (WHERE lease_until IS NULL OR lease_until <= $1), count(*) FILTER (WHERE lease_until > $1),
			min(created_at) FILTER (WHERE lease_until IS NULL OR lease_until <= $1), (SELECT count(*) FROM outbox)
		FROM runs WHERE state IN ('queued', 'making')`, db.When(now)).Scan(&b.Waiting, &b.Making, &oldest, &b.Outbox)
	if err != nil {
		return shop.Backlog{}, err
	}
	err = s.db.QueryRow(ctx, `SELECT count(*), min(d.next_at) FROM deliveries d JOIN endpoints e ON e.id = d.endpoint_id
		WHERE d.state = 'waiting' AND d.next_at <= $1 AND e.off_at IS NULL`, db.When(now)).Scan(&b.HooksDue, &due)
	b.OldestWaiting, b.OldestHookDue = oldest.Time, due.Time
	return b, err
}

// RequestOf implements shop.Watch.
func (s *Store) RequestOf(ctx context.Context, sh shop.ShopID, run string) ([]byte, error) {
	var request []byte
	err := s.db.QueryRow(ctx, `SELECT request FROM runs WHERE id = $1 AND shop_id = $2`, run, string(sh)).Scan(&request)
	if errors.Is(err, db.ErrNoRows) {
		return nil, shop.ErrAbsent
	}
	return request, err
}
