package shop

import (
	"context"
	"time"
)

// Quotas keeps what a shop may have, and counts what it has had.
type Quotas interface {
	// QuotaOf answers what was set for a shop; a nil member was not set.
	QuotaOf(ctx context.Context, shop ShopID) (QuotaSet, error)
	// SetQuota sets the members that are not nil; Unset ones go back to the settings.
	SetQuota(ctx context.Context, shop ShopID, q QuotaSet, unset bool) error
	// DayOf answers what a shop has had on a day: zero when there was nothing.
	DayOf(ctx context.Context, shop ShopID, day string, sandbox bool) (Day, error)
	// Unfinished counts a shop's runs that are queued or being made.
	Unfinished(ctx context.Context, shop ShopID) (int64, error)
	// BytesKept sums the files that a shop's runs have.
	BytesKept(ctx context.Context, shop ShopID) (int64, error)
	// ForgetDays drops what was counted on days before the given one.
	ForgetDays(ctx context.Context, before string) (int, error)
}

// QuotaSet is what an operator has set for a shop; 0 is any number, nil is what the settings say.
type QuotaSet struct {
	RunsAtOnce, RunsADay, PagesADay, BytesKept *int64
}

// Day is what a shop has had on a day.
type Day struct{ Runs, Pages int64 }

// DayName names the day that a time is in: in UTC, as every shop's day begins at once.
func DayName(t time.Time) string { return t.UTC().Format(time.DateOnly) }

// Audit keeps who did what.
type Audit interface {
	Note(ctx context.Context, n Noted) error
	// Noted answers the newest first, those before the given place.
	Noted(ctx context.Context, shop ShopID, before RunPlace, limit int) ([]Noted, error)
	// ForgetNoted drops the oldest before a time, up to limit, and says how many.
	ForgetNoted(ctx context.Context, before time.Time, limit int) (int, error)
}

// Noted is one thing that was done.
type Noted struct {
	ID      string
	Shop    ShopID
	At      time.Time
	KeyID   string // empty: the operator
	Address string
	Action  string // as "run.ordered"
	Subject string // what it was done to
}
