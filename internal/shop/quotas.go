package shop

import (
	"context"
	"fmt"
	"time"
)

// Quota is what a shop may have; 0 is any number.
type Quota struct {
	RunsAtOnce int64 // unfinished
	RunsADay   int64
	PagesADay  int64
	BytesKept  int64
}

// SandboxQuota is what sandbox keys may have, all of a shop's together: enough to try things out.
func SandboxQuota() Quota { return Quota{RunsADay: 50, PagesADay: 1000} }

// Quota is what a shop may have where an operator has set nothing for it.
func (t Terms) Quota() Quota {
	return Quota{RunsAtOnce: int64(t.Pending), RunsADay: t.RunsADay, PagesADay: t.PagesADay, BytesKept: t.BytesKept}
}

func (q Quota) with(set QuotaSet) Quota {
	pick := func(to *int64, v *int64) {
		if v != nil {
			*to = *v
		}
	}
	pick(&q.RunsAtOnce, set.RunsAtOnce)
	pick(&q.RunsADay, set.RunsADay)
	pick(&q.PagesADay, set.PagesADay)
	pick(&q.BytesKept, set.BytesKept)
	return q
}

// knownQuota is what a shop may have and keeps, as it is remembered: an operator's change, and bytes that
// came or went, are not noticed for as long as that.
type knownQuota struct {
	quota Quota
	bytes int64 // kept; not looked at when there is no bound
}

// quota answers what a shop may have, and refuses one that keeps too much already.
func (s *Service) quota(ctx context.Context, shop ShopID) (Quota, error) {
	now := s.now()
	e, _, ok := s.quotas.get(shop, now)
	if !ok {
		set, err := s.store.QuotaOf(ctx, shop)
		if err != nil {
			return Quota{}, err
		}
		e = knownQuota{quota: s.terms.Quota().with(set)}
		if e.quota.BytesKept > 0 {
			if e.bytes, err = s.store.BytesKept(ctx, shop); err != nil {
				return Quota{}, err
			}
		}
		s.quotas.put(shop, e, now)
	}
	if most := e.quota.BytesKept; most > 0 && e.bytes >= most {
		return Quota{}, &Error{Kind: Full, Detail: fmt.Sprintf("this shop keeps %d bytes of files, and may keep %d: delete runs that nobody needs (it is noticed within half a minute), or ask whoever runs the service for more", e.bytes, most)}
	}
	return e.quota, nil
}

// terms of an admission, as far as the day is concerned.
func (q Quota) admit(a *Admission) {
	a.Most = int(q.RunsAtOnce)
	a.RunsADay, a.PagesADay = q.RunsADay, q.PagesADay
	if a.Run.Sandbox {
		a.RunsADay, a.PagesADay = SandboxQuota().RunsADay, SandboxQuota().PagesADay
	}
}

// tomorrow is how long the day of a time still lasts.
func tomorrow(t time.Time) time.Duration { return nextDay(t).Sub(t) }

func nextDay(t time.Time) time.Time {
	y, m, d := t.UTC().Date()
	return time.Date(y, m, d+1, 0, 0, 0, 0, time.UTC)
}

// full is the refusal of what is over the day's quota, or the shop's.
func (a Admission) full(k VerdictKind) *Error {
	who := "this shop"
	if a.Run.Sandbox {
		who = "this shop's sandbox"
	}
	e := &Error{Kind: TooMany, RetryAfter: tomorrow(a.Run.CreatedAt)}
	switch k {
	case RunsFull:
		e.Detail = fmt.Sprintf("%s has ordered %d runs today, which is all that it may; the next day begins at midnight UTC", who, a.RunsADay)
	case PagesFull:
		e.Detail = fmt.Sprintf("%s has had %d pages today, which is all that it may; the next day begins at midnight UTC", who, a.PagesADay)
	default:
		e.RetryAfter = 30 * time.Second
		e.Detail = fmt.Sprintf("this shop has %d unfinished runs; order again when some are done", a.Most)
	}
	return e
}

// Usage is what a shop has had and may have.
type Usage struct {
	Day           string
	ResetsAt      time.Time
	Today         Day
	Sandbox       Day
	Unfinished    int64
	BytesKept     int64
	Quota         Quota
	SandboxsQuota Quota
}

// Usage tells a shop its own figures.
func (s *Service) Usage(ctx context.Context, shop ShopID) (Usage, error) {
	now := s.now()
	u := Usage{Day: DayName(now), ResetsAt: nextDay(now), SandboxsQuota: SandboxQuota()}
	set, err := s.store.QuotaOf(ctx, shop)
	if err != nil {
		return u, err
	}
	u.Quota = s.terms.Quota().with(set)
	if u.Today, err = s.store.DayOf(ctx, shop, u.Day, false); err != nil {
		return u, err
	}
	if u.Sandbox, err = s.store.DayOf(ctx, shop, u.Day, true); err != nil {
		return u, err
	}
	if u.Unfinished, err = s.store.Unfinished(ctx, shop); err != nil {
		return u, err
	}
	u.BytesKept, err = s.store.BytesKept(ctx, shop)
	return u, err
}

// MaxQuota bounds what an operator may set.
const MaxQuota = int64(1) << 50

// SetQuota sets what a shop may have; it is the operator's to do. With unset, what is not given goes
// back to the settings. Processes that run take it up within half a minute.
func (s *Service) SetQuota(ctx context.Context, shop ShopID, q QuotaSet, unset bool) error {
	for _, n := range []*int64{q.RunsAtOnce, q.RunsADay, q.PagesADay, q.BytesKept} {
		if n != nil && (*n < 0 || *n > MaxQuota) {
			return &Error{Kind: Invalid, Detail: fmt.Sprintf("a quota is from 0, which is any number, to %d", MaxQuota)}
		}
	}
	defer s.quotas.drop(shop)
	if err := s.store.SetQuota(ctx, shop, q, unset); err != nil {
		return err
	}
	s.note(ctx, shop, DidSetQuota, "")
	return nil
}
