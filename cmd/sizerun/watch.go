package main

import (
	"context"
	"errors"
	"net/http"
	"time"

	"sizerun/internal/observe/meters"
	"sizerun/internal/observe/traces"
)

// edgeWatch counts and follows what the edge is asked.
type edgeWatch struct {
	meters *meters.Meters
	traces *traces.Traces
}

// Asked implements api.Watch.
func (w edgeWatch) Asked(r *http.Request, route string) (context.Context, func(status int)) {
	began, method := time.Now(), r.Method
	ctx, end := w.traces.Asked(r, route)
	return ctx, func(status int) {
		w.meters.Answered(route, method, status, time.Since(began))
		end(status)
	}
}

// lastSpansTime is how long the end of a process waits for its last spans to be taken.
const lastSpansTime = 5 * time.Second

// watched does f while the numbers can be looked at, if the settings name an address for them.
func (h *house) watched(ctx context.Context, f func() error) error {
	if h.cfg.MetricsAddr == "" {
		return f()
	}
	// Until the very end: a drain is worth looking at too.
	looking, stop := context.WithCancel(context.WithoutCancel(ctx))
	defer stop()
	wait, err := h.meters.Serve(looking, h.cfg.MetricsAddr, h.log)
	if err != nil {
		return err
	}
	err = f()
	stop()
	return errors.Join(err, wait())
}
