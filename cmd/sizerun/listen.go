package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"time"

	"sizerun/internal/shop"
)

type listenCmd struct {
	Forward string        `required:"" help:"Where to: the address at which your own server takes webhooks, on this machine as a rule."`
	URL     string        `default:"http://localhost:8080" help:"Where the service answers."`
	Every   time.Duration `default:"1s" help:"How often to ask what there is to tell."`
	Count   int           `help:"End after so many; go on for ever when not given."`
}

type eventJSON struct {
	ID   string          `json:"id"`
	Type string          `json:"type"`
	Body json.RawMessage `json:"body"`
}

// Run asks the service for events and sends each on as a webhook, signed with a secret of this run: a
// developer's machine need not be reachable from outside.
func (c *listenCmd) Run(ctx context.Context, t *terminal) error {
	to, err := url.Parse(c.Forward)
	if err != nil || to.Host == "" || (to.Scheme != "http" && to.Scheme != "https") {
		return errors.New("--forward is not an http address")
	}
	key := os.Getenv("SIZERUN_KEY")
	if key == "" {
		return errors.New("set SIZERUN_KEY to a key of the shop; “sizerun key add” makes one")
	}
	from := storefront{c.URL, key}
	secret, text := shop.NewHookSecret()
	var page struct {
		Items      []eventJSON `json:"items"`
		NextCursor string      `json:"next_cursor"`
	}
	// Only what comes from now on.
	if err := from.call(ctx, http.MethodGet, "/v1/events?limit=1", nil, &page); err != nil {
		return err
	}
	fmt.Fprintf(t.out, "the secret: %s\nforwarding to %s\n", text, c.Forward)
	cursor, sent := page.NextCursor, 0
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(c.Every):
		}
		page.Items = nil
		if err := from.call(ctx, http.MethodGet, "/v1/events?cursor="+url.QueryEscape(cursor), nil, &page); err != nil {
			if ctx.Err() != nil {
				return nil
			}
			fmt.Fprintln(t.err, "asking:", err) // it may be restarting
			continue
		}
		cursor = page.NextCursor
		for _, e := range page.Items {
			status, err := forward(ctx, c.Forward, e, secret)
			if err != nil {
				status = err.Error()
			}
			fmt.Fprintf(t.out, "%s %s → %s\n", e.Type, e.ID, status)
			if sent++; sent == c.Count {
				return nil
			}
		}
	}
}

func forward(ctx context.Context, to string, e eventJSON, secret []byte) (string, error) {
	ctx, cancel := context.WithTimeout(ctx, 15*time.Second)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, to, bytes.NewReader(e.Body))
	if err != nil {
		return "", err
	}
	for k, v := range shop.HookHeader(e.ID, time.Now(), e.Body, secret) {
		q.Header.Set(k, v)
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		return "", err
	}
	defer a.Body.Close()
	_, err = io.Copy(io.Discard, io.LimitReader(a.Body, 64<<10))
	return a.Status, err
}
