package workroom

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"

	"golang.org/x/sync/errgroup"

	"sizerun/internal/shop"
)

// mostAtOnce bounds the sheets of one order that are drawn at the same time, and so its memory.
const mostAtOnce = 4

// printAll draws the sheets, several at once: whoever ordered one pattern waits for it while processors
// idle. The files come in the order asked for.
func (r *Room) printAll(ctx context.Context, d *design, sheets []aSheet, progress func(string, int, int)) ([]shop.ProductFile, error) {
	files := make([]shop.ProductFile, len(sheets))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(min(mostAtOnce, runtime.GOMAXPROCS(0)))
	var tell sync.Mutex
	done := 0
	progress("drawing", 0, len(sheets))
	for k, s := range sheets {
		g.Go(func() (err error) {
			// A panic here would not reach the guard of whoever called, and end the process.
			defer func() {
				if p := recover(); p != nil {
					err = fmt.Errorf("workroom: drawing %s: panic: %v\n%s", s.name, p, debug.Stack())
				}
			}()
			if err := ctx.Err(); err != nil {
				return err
			}
			if files[k], err = r.print(d, s); err != nil {
				return err
			}
			tell.Lock()
			defer tell.Unlock()
			done++
			progress("drawing", done, len(sheets))
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	return files, nil
}
