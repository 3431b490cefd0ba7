package shop

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"sizerun/internal/document"
)

// MostInBatch is how many runs one request may order.
const MostInBatch = 100

// Submitted is what came of one run of a batch: a run, or why there is none.
type Submitted struct {
	Run      Run
	Replayed bool
	Err      error
}

// SubmitRuns orders many runs, each by itself: one that is refused does not keep the others. The key stands
// for the whole body. Each item is remembered under it by its place, so that a repeated request answers
// what was admitted and tries what was not.
func (s *Service) SubmitRuns(ctx context.Context, shop ShopID, raw []byte, idem IdempotencyKey) ([]Submitted, error) {
	items, err := document.DecodeBatch(raw, s.terms.Documents, MostInBatch)
	if err != nil {
		return nil, invalid(err, "the batch can't be read")
	}
	if idem.Key != "" {
		if err := idem.check(); err != nil {
			return nil, err
		}
		idem.whole = raw
		whole := Remembered{Shop: shop, Scope: idem.Scope, Key: idem.Key, Print: idem.printOf(nil)}
		leave, err := s.admitting.enter(whole)
		if err != nil {
			return nil, err
		}
		defer leave()
		// A key that came with another body is refused before anything is ordered, whichever of its
		// items was admitted.
		for i := range MostInBatch {
			whole.Scope = itemScope(idem, i)
			earlier, err := s.store.Recall(ctx, whole, s.now())
			if err != nil {
				return nil, err
			}
			if earlier != nil && earlier.Print != whole.Print {
				return nil, errKeyReused
			}
		}
	}
	out := make([]Submitted, len(items))
	for i, item := range items {
		key := idem
		key.Scope = itemScope(idem, i)
		out[i].Run, out[i].Replayed, out[i].Err = s.SubmitRun(ctx, shop, item, key)
		if e, ok := errors.AsType[*Error](out[i].Err); ok && len(e.Faults) > 0 {
			placed := *e
			placed.Faults = e.Faults.Under(fmt.Sprintf("/runs/%d", i))
			out[i].Err = &placed
		}
	}
	return out, nil
}

func itemScope(k IdempotencyKey, i int) string { return k.Scope + " " + strconv.Itoa(i) }
