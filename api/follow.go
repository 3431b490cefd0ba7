package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"time"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// Bounds on who follows runs: each stream looks into the database now and then.
const (
	mostStreams     = 256
	mostStreamsEach = 32 // of one shop
	// longestStream bounds for how long a key that was revoked is still heard.
	longestStream = 10 * time.Minute
	// writeTime is what one event has to be taken.
	writeTime = 10 * time.Second
	// reconnectAfter is told to clients; until then a process that restarts may be back.
	reconnectAfter = 2 * time.Second
)

// runEvent is what a follower is told.
type runEvent struct {
	RunID       string       `json:"run_id"`
	URL         string       `json:"url"`
	State       string       `json:"state"`
	CancelAsked bool         `json:"cancel_asked"`
	Progress    progressWire `json:"progress"`
}

func (a *API) followRun(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	return a.follow(x, s, id)
}

func (a *API) linkStream(x *exchange, s shop.ShopID) error {
	return a.link(x, func(id string, life time.Duration) (shop.Link, error) {
		return a.svc.LinkStream(x.Request().Context(), s, id, life)
	})
}

// followLinked is for a page: its EventSource can't send a key, and the page may be of any origin.
func (a *API) followLinked(x *exchange) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	s, _, err := a.linked(x, id)
	if err != nil {
		return err
	}
	x.Response().Header().Set(echo.HeaderAccessControlAllowOrigin, "*")
	return a.follow(x, s, id)
}

// follow tells of a run until it is over.
func (a *API) follow(x *exchange, s shop.ShopID, id string) error {
	// The request's context has a deadline that suits answers; a stream has its own.
	ctx, cancel := context.WithTimeout(context.WithoutCancel(x.Request().Context()), longestStream)
	defer cancel()
	defer context.AfterFunc(x.caller, cancel)()

	seen := lastEventID(x.Request().Header)
	r, err := a.svc.Run(ctx, s, id)
	if err != nil {
		return err
	}
	if shop.Over(r.State) && seen >= r.Revision {
		return x.NoContent(http.StatusNoContent)
	}
	leave, err := a.streams.take(s)
	if p, ok := errors.AsType[*problem](err); ok {
		p.detail, p.retry = fmt.Sprintf("too many runs are followed at once; a shop may have %d streams open", mostStreamsEach), 10*time.Second
		return p
	}
	defer leave()

	h := x.Response().Header()
	h.Set(echo.HeaderContentType, "text/event-stream")
	h.Set("Cache-Control", "no-store")
	h.Set("X-Accel-Buffering", "no") // what nginx takes for "pass it on at once"
	rc := http.NewResponseController(x.Response().Writer)
	x.Response().WriteHeader(http.StatusOK)
	if x.Request().Method == http.MethodHead {
		return nil
	}
	write := func(text string) error {
		_ = rc.SetWriteDeadline(time.Now().Add(writeTime))
		if _, err := io.WriteString(x.Response(), text); err != nil {
			return err
		}
		return rc.Flush()
	}
	if err := write(fmt.Sprintf("retry: %d\n\n", reconnectAfter/time.Millisecond)); err != nil {
		return nil // the caller is gone
	}
	for changed := r.Revision > seen; ; {
		if changed {
			seen = r.Revision
			if write(runEventOf(r)) != nil || shop.Over(r.State) {
				return nil
			}
		} else if write(": waiting\n\n") != nil {
			return nil
		}
		r, changed, err = a.svc.FollowRun(ctx, s, id, seen, a.cfg.Heartbeat)
		switch {
		case shop.KindOf(err) == shop.Unavailable:
			// Closing would not help: whoever connects again and gets a 503 gives up for good.
			select {
			case <-ctx.Done():
				return nil
			case <-time.After(reconnectAfter):
			}
		case errors.Is(err, shop.ErrDraining) || ctx.Err() != nil || shop.KindOf(err) == shop.NotFound:
			return nil
		case err != nil:
			x.cause = err
			return nil
		}
	}
}

func runEventOf(r shop.Run) string {
	name := "progress"
	if shop.Over(r.State) {
		name = "end"
	}
	b, err := json.Marshal(runEvent{RunID: r.ID, URL: runURL(r.ID), State: r.State, CancelAsked: r.CancelAsked, Progress: progressWire(r.Progress)})
	if err != nil {
		b = []byte("{}") // texts and numbers always encode
	}
	return fmt.Sprintf("id: %d\nevent: %s\ndata: %s\n\n", r.Revision, name, b)
}

// lastEventID is what the caller has heard last; -1 when it has heard nothing, or nothing of ours.
func lastEventID(h http.Header) int64 {
	n, err := strconv.ParseInt(h.Get("Last-Event-ID"), 10, 64)
	if err != nil || n < 0 {
		return -1
	}
	return n
}
