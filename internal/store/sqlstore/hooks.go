package sqlstore

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/store/db"
)

const endpointColumns = `id, shop_id, url, description, secret, old_secret, old_until, off_at, off_why, created_at`

// endpointInto is where endpointColumns are read into, and what completes them.
func endpointInto(e *shop.Endpoint) (dest []any, done func()) {
	var oldUntil, off, made db.Time
	return []any{&e.ID, (*string)(&e.Shop), &e.URL, &e.Description, &e.Secret, &e.OldSecret, &oldUntil, &off, &e.OffWhy, &made},
		func() { e.OldUntil, e.OffAt, e.CreatedAt = oldUntil.Time, off.Time, made.Time }
}

func readEndpoint(r db.Row) (shop.Endpoint, error) {
	var e shop.Endpoint
	dest, done := endpointInto(&e)
	err := r.Scan(dest...)
	done()
	return e, err
}

// AddEndpoint implements shop.Hooks.
func (s *Store) AddEndpoint(ctx context.Context, e shop.Endpoint, most int) (bool, error) {
	added := false
	err := s.db.Tx(ctx, func(q db.Q) error {
		// The shop's row is held, so that two at once are counted one after the other.
		if _, err := q.Exec(ctx, `UPDATE shops SET name = name WHERE id = $1`, string(e.Shop)); err != nil {
			return err
		}
		var n int
		if err := q.QueryRow(ctx, `SELECT count(*) FROM endpoints WHERE shop_id = $1`, string(e.Shop)).Scan(&n); err != nil {
			return err
		}
		if added = n < most; !added {
			return nil
		}
		_, err := q.Exec(ctx, `INSERT INTO endpoints (`+endpointColumns+`) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
			e.ID, string(e.Shop), e.URL, e.Description, e.Secret, e.OldSecret, db.When(e.OldUntil), db.When(e.OffAt), e.OffWhy, db.When(e.CreatedAt))
		return err
	})
	return added && err == nil, err
}

// Endpoint implements shop.Hooks.
func (s *Store) Endpoint(ctx context.Context, sh shop.ShopID, id string) (shop.Endpoint, error) {
	e, err := readEndpoint(s.db.QueryRow(ctx, `SELECT `+endpointColumns+` FROM endpoints WHERE id = $1 AND shop_id = $2`, id, string(sh)))
	if errors.Is(err, db.ErrNoRows) {
		return shop.Endpoint{}, shop.ErrAbsent
	}
	return e, err
}

// Endpoints implements shop.Hooks.
func (s *Store) Endpoints(ctx context.Context, sh shop.ShopID) ([]shop.Endpoint, error) {
	var out []shop.Endpoint
	err := each(ctx, s.db, func(r db.Row) error {
		e, err := readEndpoint(r)
		out = append(out, e)
		return err
	}, `SELECT `+endpointColumns+` FROM endpoints WHERE shop_id = $1 ORDER BY created_at, id`, string(sh))
	return out, err
}

// ChangeEndpoint implements shop.Hooks.
func (s *Store) ChangeEndpoint(ctx context.Context, e shop.Endpoint) error {
	n, err := s.db.Exec(ctx, `UPDATE endpoints SET url = $3, description = $4, secret = $5, old_secret = $6, old_until = $7, off_at = $8, off_why = $9
		WHERE id = $1 AND shop_id = $2`,
		e.ID, string(e.Shop), e.URL, e.Description, e.Secret, e.OldSecret, db.When(e.OldUntil), db.When(e.OffAt), e.OffWhy)
	if err == nil && n == 0 {
		err = shop.ErrAbsent
	}
	return err
}

// DeleteEndpoint implements shop.Hooks.
func (s *Store) DeleteEndpoint(ctx context.Context, sh shop.ShopID, id string) error {
	return s.db.Tx(ctx, func(q db.Q) error {
		if _, err := q.Exec(ctx, `DELETE FROM deliveries WHERE endpoint_id = $1 AND shop_id = $2`, id, string(sh)); err != nil {
			return err
		}
		n, err := q.Exec(ctx, `DELETE FROM endpoints WHERE id = $1 AND shop_id = $2`, id, string(sh))
		if err == nil && n == 0 {
			err = shop.ErrAbsent
		}
		return err
	})
}

// ended makes the event of a run that is over, with a delivery for each endpoint that is on. A run ends
// once, so its event has the run's own number.
func ended(ctx context.Context, q db.Q, sh, run, state string, at time.Time) error {
	id := "evt_" + strings.TrimPrefix(run, "run_")
	n, err := q.Exec(ctx, `INSERT INTO events (id, shop_id, run_id, type, created_at) VALUES ($1, $2, $3, $4, $5) ON CONFLICT (id) DO NOTHING`,
		id, sh, run, "run."+state, db.When(at))
	if err != nil || n == 0 {
		return err
	}
	_, err = q.Exec(ctx, `INSERT INTO deliveries (event_id, endpoint_id, shop_id, state, tries, next_at, created_at)
		SELECT $1, id, shop_id, 'waiting', 0, $3, $3 FROM endpoints WHERE shop_id = $2 AND off_at IS NULL`, id, sh, db.When(at))
	return err
}

// AddEvent implements shop.Hooks.
func (s *Store) AddEvent(ctx context.Context, e shop.Event, endpoint string) error {
	return s.db.Tx(ctx, func(q db.Q) error {
		if _, err := q.Exec(ctx, `INSERT INTO events (id, shop_id, run_id, type, created_at) VALUES ($1, $2, $3, $4, $5)`,
			e.ID, string(e.Shop), db.Text(e.RunID), e.Type, db.When(e.CreatedAt)); err != nil {
			return err
		}
		_, err := q.Exec(ctx, `INSERT INTO deliveries (event_id, endpoint_id, shop_id, state, tries, next_at, created_at) VALUES ($1, $2, $3, 'waiting', 0, $4, $4)`,
			e.ID, endpoint, string(e.Shop), db.When(e.CreatedAt))
		return err
	})
}

const eventColumns = `e.id, e.shop_id, e.run_id, e.type, e.created_at`

func eventInto(e *shop.Event) (dest []any, done func()) {
	var run db.NullText
	var at db.Time
	return []any{&e.ID, (*string)(&e.Shop), &run, &e.Type, &at}, func() { e.RunID, e.CreatedAt = run.S, at.Time }
}

func readEvent(r db.Row) (shop.Event, error) {
	var e shop.Event
	dest, done := eventInto(&e)
	err := r.Scan(dest...)
	done()
	return e, err
}

// Event implements shop.Hooks.
func (s *Store) Event(ctx context.Context, sh shop.ShopID, id string) (shop.Event, error) {
	e, err := readEvent(s.db.QueryRow(ctx, `SELECT `+eventColumns+` FROM events e WHERE e.id = $1 AND e.shop_id = $2`, id, string(sh)))
	if errors.Is(err, db.ErrNoRows) {
		return shop.Event{}, shop.ErrAbsent
	}
	return e, err
}

// Events implements shop.Hooks.
func (s *Store) Events(ctx context.Context, sh shop.ShopID, from shop.RunPlace, upTo time.Time, newest bool, limit int) ([]shop.Event, error) {
	if from.CreatedAt.IsZero() {
		from.CreatedAt = time.UnixMicro(0)
	}
	order := `e.created_at, e.id`
	if newest {
		order = `e.created_at DESC, e.id DESC`
	}
	var out []shop.Event
	err := each(ctx, s.db, func(r db.Row) error {
		e, err := readEvent(r)
		out = append(out, e)
		return err
	}, `SELECT `+eventColumns+` FROM events e WHERE e.shop_id = $1 AND (e.created_at, e.id) > ($2, $3) AND e.created_at <= $4 ORDER BY `+order+` LIMIT $5`,
		string(sh), db.When(from.CreatedAt), from.ID, db.When(upTo), limit)
	if newest {
		slices.Reverse(out)
	}
	return out, err
}

const deliveryColumns = eventColumns + `, t.state, t.tries, t.next_at`

func readDelivery(r db.Row, more ...any) (shop.Delivery, error) {
	var d shop.Delivery
	var next db.Time
	dest, done := eventInto(&d.Event)
	err := r.Scan(append(append(dest, &d.State, &d.Tries, &next), more...)...)
	done()
	d.NextAt = next.Time
	return d, err
}

// TakeDeliveries implements shop.Hooks. A delivery that is claimed is one that is due later, so whoever
// dies gives it back by dying.
func (s *Store) TakeDeliveries(ctx context.Context, now, leaseUntil time.Time, limit, most int) ([]shop.Delivery, error) {
	var ds []shop.Delivery
	err := s.db.Tx(ctx, func(q db.Q) error {
		ds = nil
		var endpoints []string
		err := each(ctx, q, func(r db.Row) error {
			var endpoint string
			d, err := readDelivery(r, &endpoint)
			ds, endpoints = append(ds, d), append(endpoints, endpoint)
			return err
		}, `SELECT `+deliveryColumns+`, t.endpoint_id FROM deliveries t JOIN events e ON e.id = t.event_id JOIN (
				SELECT d.endpoint_id, d.event_id, row_number() OVER (PARTITION BY d.endpoint_id ORDER BY d.next_at, d.event_id) AS turn
				FROM deliveries d JOIN endpoints p ON p.id = d.endpoint_id WHERE d.state = 'waiting' AND d.next_at <= $1 AND p.off_at IS NULL
			) AS due ON due.endpoint_id = t.endpoint_id AND due.event_id = t.event_id
			WHERE t.state = 'waiting' AND t.next_at <= $1 AND due.turn <= $3 ORDER BY due.turn, t.next_at, t.event_id LIMIT $2`+s.db.Dialect().SkipLocked,
			db.When(now), limit, most)
		if err != nil {
			return err
		}
		known := map[string]shop.Endpoint{}
		for i := range ds {
			d := &ds[i]
			e, ok := known[endpoints[i]]
			if !ok {
				if e, err = readEndpoint(q.QueryRow(ctx, `SELECT `+endpointColumns+` FROM endpoints WHERE id = $1`, endpoints[i])); err != nil {
					return err
				}
				known[endpoints[i]] = e
			}
			d.Endpoint = e
			if _, err := q.Exec(ctx, `UPDATE deliveries SET next_at = $3 WHERE endpoint_id = $1 AND event_id = $2`, e.ID, d.Event.ID, db.When(leaseUntil)); err != nil {
				return err
			}
			d.NextAt = leaseUntil
		}
		return nil
	})
	return ds, err
}

// Tried implements shop.Hooks.
func (s *Store) Tried(ctx context.Context, d shop.Delivery, t shop.Try, next shop.Delivery) error {
	return s.db.Tx(ctx, func(q db.Q) error {
		n, err := q.Exec(ctx, `UPDATE deliveries SET state = $4, tries = $5, next_at = $6
			WHERE endpoint_id = $1 AND event_id = $2 AND tries = $3 AND next_at = $7 AND state = 'waiting'`,
			d.Endpoint.ID, d.Event.ID, d.Tries, next.State, next.Tries, db.When(next.NextAt), db.When(d.NextAt))
		if err != nil {
			return err
		}
		if n == 0 {
			return shop.ErrFenced
		}
		_, err = q.Exec(ctx, `INSERT INTO delivery_tries (endpoint_id, event_id, at, status, note, took_us) VALUES ($1, $2, $3, $4, $5, $6)`,
			d.Endpoint.ID, d.Event.ID, db.When(t.At), t.Status, t.Note, t.Took.Microseconds())
		return err
	})
}

// Deliveries implements shop.Hooks.
func (s *Store) Deliveries(ctx context.Context, sh shop.ShopID, endpoint string, before shop.RunPlace, limit int) ([]shop.Delivery, error) {
	if before == (shop.RunPlace{}) {
		before.CreatedAt = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	var out []shop.Delivery
	at := map[string]int{}
	args := []any{endpoint}
	err := each(ctx, s.db, func(r db.Row) error {
		d, err := readDelivery(r)
		at[d.Event.ID] = len(out)
		out, args = append(out, d), append(args, d.Event.ID)
		return err
	}, `SELECT `+deliveryColumns+` FROM deliveries t JOIN events e ON e.id = t.event_id
		WHERE t.endpoint_id = $1 AND t.shop_id = $2 AND (e.created_at, e.id) < ($3, $4) ORDER BY e.created_at DESC, e.id DESC LIMIT $5`,
		endpoint, string(sh), db.When(before.CreatedAt), before.ID, limit)
	if err != nil || len(out) == 0 {
		return out, err
	}
	err = each(ctx, s.db, func(r db.Row) error {
		var t shop.Try
		var event string
		var when db.Time
		var took int64
		err := r.Scan(&event, &when, &t.Status, &t.Note, &took)
		t.At, t.Took = when.Time, time.Duration(took)*time.Microsecond
		d := &out[at[event]]
		d.Log = append(d.Log, t)
		return err
	}, `SELECT event_id, at, status, note, took_us FROM delivery_tries WHERE endpoint_id = $1 AND event_id IN (`+db.List(len(args)-1, 2)+`) ORDER BY at`, args...)
	return out, err
}

// Replay implements shop.Hooks.
func (s *Store) Replay(ctx context.Context, sh shop.ShopID, endpoint, event string, at time.Time) error {
	n, err := s.db.Exec(ctx, `INSERT INTO deliveries (event_id, endpoint_id, shop_id, state, tries, next_at, created_at)
		SELECT e.id, p.id, e.shop_id, 'waiting', 0, $4, $4 FROM events e, endpoints p
		WHERE e.id = $3 AND e.shop_id = $1 AND p.id = $2 AND p.shop_id = $1
		ON CONFLICT (endpoint_id, event_id) DO UPDATE SET state = 'waiting', tries = 0, next_at = excluded.next_at`,
		string(sh), endpoint, event, db.When(at))
	if err == nil && n == 0 {
		err = shop.ErrAbsent
	}
	return err
}

// ForgetEvents implements shop.Hooks.
func (s *Store) ForgetEvents(ctx context.Context, before time.Time, limit int) (int, error) {
	n := 0
	err := s.db.Tx(ctx, func(q db.Q) error {
		var ids []any
		err := each(ctx, q, func(r db.Row) error {
			var id string
			err := r.Scan(&id)
			ids = append(ids, id)
			return err
		}, `SELECT id FROM events WHERE created_at < $1 ORDER BY created_at LIMIT $2`, db.When(before), limit)
		if n = len(ids); err != nil || n == 0 {
			return err
		}
		if _, err := q.Exec(ctx, `DELETE FROM deliveries WHERE event_id IN (`+db.List(n, 1)+`)`, ids...); err != nil {
			return err
		}
		_, err = q.Exec(ctx, `DELETE FROM events WHERE id IN (`+db.List(n, 1)+`)`, ids...)
		return err
	})
	return n, err
}
