package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"strings"
	"time"

	"sizerun/internal/config"
	"sizerun/internal/shop"
	"sizerun/internal/store/postgres"
)

type serveCmd struct {
	Demo bool `help:"Stock the demo shop with its block and its style, and print a key of it."`
}

// Run serves the API and makes runs, in one process.
func (c serveCmd) Run(ctx context.Context, t *terminal) error {
	cfg, log, err := settings(config.Serve, t.err)
	if err != nil {
		return err
	}
	if cfg.DatabaseURL != "" {
		// One process by itself may bring its own database up to date.
		if _, err := postgres.Migrate(ctx, cfg.DatabaseURL); err != nil {
			return err
		}
	}
	h, err := build(ctx, cfg, log, false)
	if err != nil {
		return err
	}
	if c.Demo {
		if err := h.stockDemo(ctx, t.out); err != nil {
			return errors.Join(err, h.close())
		}
	}
	return errors.Join(h.watched(ctx, func() error { return h.serve(ctx, nil) }), h.close())
}

// serve runs the edge and the workers until ctx is over or one of them fails. The edge stops first:
// what it has admitted is then in the database, and the workers finish or hand back what they hold.
func (h *house) serve(ctx context.Context, ln net.Listener) error {
	s, err := h.server()
	if err != nil {
		return err
	}
	edge, stopEdge := context.WithCancel(ctx)
	defer stopEdge()
	working, stopWork := context.WithCancel(context.WithoutCancel(ctx))
	defer stopWork()
	worked := make(chan error, 1)
	go func() {
		err := h.work(working)
		stopEdge() // an edge without workers would only pile runs up
		worked <- err
	}()
	if ln == nil {
		err = s.ListenAndServe(edge)
	} else {
		err = s.Serve(edge, ln)
	}
	stopWork()
	return errors.Join(err, <-worked)
}

type apiCmd struct{}

// Run serves the API and relays the outbox; it makes no runs.
func (apiCmd) Run(ctx context.Context, t *terminal) error {
	return withHouse(ctx, config.API, t.err, func(h *house) error {
		s, err := h.server()
		if err != nil {
			return err
		}
		tending, stop := context.WithCancel(context.WithoutCancel(ctx))
		tended := make(chan struct{})
		go func() { h.tend(tending); close(tended) }()
		err = s.ListenAndServe(ctx)
		stop()
		<-tended
		return err
	})
}

type workerCmd struct{}

// Run makes runs; it serves nothing.
func (workerCmd) Run(ctx context.Context, t *terminal) error {
	return withHouse(ctx, config.Worker, t.err, func(h *house) error { return h.work(ctx) })
}

func withHouse(ctx context.Context, m config.Mode, errOut io.Writer, f func(*house) error) error {
	cfg, log, err := settings(m, errOut)
	if err != nil {
		return err
	}
	h, err := build(ctx, cfg, log, false)
	if err != nil {
		return err
	}
	return errors.Join(h.watched(ctx, func() error { return f(h) }), h.close())
}

type migrateCmd struct{}

// Run applies the migrations that are missing.
func (migrateCmd) Run(ctx context.Context, t *terminal) error {
	cfg, _, err := settings(config.Migrate, t.err)
	if err != nil {
		return err
	}
	applied, err := postgres.Migrate(ctx, cfg.DatabaseURL)
	if err != nil {
		return err
	}
	for _, m := range applied {
		fmt.Fprintln(t.out, "applied", m)
	}
	fmt.Fprintln(t.out, "the schema is up to date")
	return nil
}

type linksCmd struct {
	Rotate linksRotateCmd `cmd:"" help:"Make a new key for download links; links that are out hold until they expire."`
}

type linksRotateCmd struct {
	Now bool `help:"Withdraw every link that is out, at once."`
}

// Run makes a new key for links.
func (c *linksRotateCmd) Run(ctx context.Context, t *terminal) error {
	if err := beside(ctx, t, func(s *shop.Service) error { return s.RotateLinks(ctx, c.Now) }); err != nil {
		return err
	}
	_, err := fmt.Fprintln(t.out, "links are signed with a new key; processes that run take it up within half a minute")
	return err
}

type healthCmd struct {
	URL string `help:"Where the service answers; by default this machine, on SIZERUN_ADDR's port."`
}

// Run asks /readyz.
func (c *healthCmd) Run(ctx context.Context, t *terminal) error {
	at := c.URL
	if at == "" {
		cfg, _ := config.FromEnv() // only the address matters here; serve itself tells bad settings
		_, port, err := net.SplitHostPort(cfg.Addr)
		if err != nil {
			return err
		}
		at = "http://" + net.JoinHostPort("localhost", port)
	}
	u, err := url.Parse(strings.TrimSuffix(at, "/") + "/readyz")
	if err != nil || u.Host == "" {
		return fmt.Errorf("--url is not a URL")
	}
	ctx, cancel := context.WithTimeout(ctx, 3*time.Second)
	defer cancel()
	q, err := http.NewRequestWithContext(ctx, http.MethodGet, u.String(), nil)
	if err != nil {
		return err
	}
	a, err := http.DefaultClient.Do(q)
	if err != nil {
		return err
	}
	defer a.Body.Close()
	if a.StatusCode != http.StatusOK {
		fmt.Fprintln(os.Stderr, "not ready:", a.Status)
		return quiet(exitFailed)
	}
	_, err = fmt.Fprintln(t.out, "ready")
	return err
}
