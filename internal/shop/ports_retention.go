package shop

import (
	"context"
	"time"
)

// Retention lets go of runs and of what they have. Contents are not freed with the row that named them: a
// worker may have looked a moment ago and be about to give them to another run. They are noted, and
// freed at freeAt when no run has them by then.
type Retention interface {
	// EraseRun deletes a run and all that is known of it, and answers true; one that a worker is at is marked
	// to be cancelled and erased, and false is answered. A run that was not over gets its event first.
	EraseRun(ctx context.Context, shop ShopID, id string, now, freeAt time.Time) (bool, error)
	// EraseAsked deletes runs that were marked and are over by now, no more than limit.
	EraseAsked(ctx context.Context, freeAt time.Time, limit int) (int, error)
	// ExpireRuns takes their files, and all that says for whom they were, from runs that ended before the
	// given time, no more than limit.
	ExpireRuns(ctx context.Context, endedBefore, now, freeAt time.Time, limit int) (int, error)
	// TakeDiscards strikes out noted contents that are due, no more than limit. It answers how many there were,
	// and those that no run has.
	TakeDiscards(ctx context.Context, now time.Time, limit int) (taken int, free []string, err error)
}
