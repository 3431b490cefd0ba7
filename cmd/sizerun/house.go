package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"runtime/debug"
	"strings"
	"time"

	"sizerun/api"
	"sizerun/internal/config"
	"sizerun/internal/document"
	"sizerun/internal/files"
	"sizerun/internal/files/bucket"
	"sizerun/internal/hooks"
	"sizerun/internal/observe"
	"sizerun/internal/observe/meters"
	"sizerun/internal/observe/traces"
	"sizerun/internal/queue"
	"sizerun/internal/shop"
	"sizerun/internal/store/embedded"
	"sizerun/internal/store/postgres"
	"sizerun/internal/store/sqlstore"
	"sizerun/internal/workroom"
	"sizerun/workers"
)

// house is the service with all its parts put together, and what must be closed when it ends.
type house struct {
	cfg     config.Config
	log     *slog.Logger
	store   *sqlstore.Store
	queue   *queue.Queue
	service *shop.Service
	meters  *meters.Meters
	traces  *traces.Traces
	single  bool // the embedded store: no other process makes its runs
	closers []func() error
}

// settings reads the environment for a mode and begins the log.
func settings(m config.Mode, errOut io.Writer) (config.Config, *slog.Logger, error) {
	cfg, err := config.FromEnv()
	if err == nil {
		err = cfg.Need(m)
	}
	if err != nil {
		return cfg, nil, err
	}
	log := observe.NewLogger(errOut, cfg.LogFormat, cfg.LogLevel)
	for _, name := range cfg.Unknown {
		log.Warn("a setting is not known; is it misspelt?", "name", name)
	}
	return cfg, log, nil
}

// openStore opens PostgreSQL or the embedded store, as the settings say. A PostgreSQL whose schema is
// not this program's is refused: migrating is a step of its own where many processes share it.
func openStore(ctx context.Context, cfg config.Config) (*sqlstore.Store, error) {
	if cfg.DatabaseURL == "" {
		return embedded.Open(ctx, cfg.DataDir)
	}
	ok, err := postgres.Current(ctx, cfg.DatabaseURL)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, errors.New("the database's schema is not this program's: run \"sizerun migrate\" first")
	}
	return postgres.Open(ctx, cfg.DatabaseURL, postgres.Options{MaxConns: int32(cfg.DBConns)}) // 0 to 1000
}

// openFiles opens the folder of files, or the bucket.
func openFiles(ctx context.Context, cfg config.Config) (shop.Files, error) {
	if cfg.StorageURL == "" {
		return files.NewDisk(cfg.StorageDir)
	}
	return bucket.Open(ctx, bucket.Options{URL: cfg.StorageURL, KeyID: cfg.StorageKey, Secret: cfg.StorageWord})
}

// build puts the parts together. On an error what was opened is closed again. With sharing, the
// embedded store may be in another process's hands: nothing is made here.
func build(ctx context.Context, cfg config.Config, log *slog.Logger, sharing bool) (h *house, err error) {
	h = &house{cfg: cfg, log: log, single: cfg.DatabaseURL == ""}
	defer func() {
		if err != nil {
			err = errors.Join(err, h.close())
		}
	}()
	if h.single && !sharing {
		release, err := embedded.Lock(cfg.DataDir)
		if err != nil {
			return h, err
		}
		h.closers = append(h.closers, release)
	}
	if h.store, err = openStore(ctx, cfg); err != nil {
		return h, err
	}
	h.closers = append(h.closers, h.store.Close)
	if cfg.RedisURL == "" {
		h.queue, err = queue.Embedded()
	} else {
		h.queue, err = queue.Open(cfg.RedisURL)
	}
	if err != nil {
		return h, err
	}
	h.closers = append(h.closers, h.queue.Close)
	storage, err := openFiles(ctx, cfg)
	if err != nil {
		return h, err
	}
	limits := document.DefaultLimits()
	room, err := workroom.New(limits)
	if err != nil {
		return h, err
	}
	guard, err := hooks.ReadGuard(cfg.HookAllow)
	if err != nil {
		return h, fmt.Errorf("SIZERUN_WEBHOOK_ALLOW: %w", err)
	}
	poster := hooks.New(guard)
	h.closers = append(h.closers, poster.Close)
	h.meters = meters.New(version(), workroom.Engine)
	traced, sendLast, err := traces.FromEnv(ctx, version())
	if err != nil {
		return h, err
	}
	h.traces = traced
	h.closers = append(h.closers, func() error {
		ctx, stop := context.WithTimeout(context.Background(), lastSpansTime)
		defer stop()
		if err := sendLast(ctx); err != nil {
			log.Warn("the last spans were not taken", "error", err)
		}
		return nil
	})
	h.service = shop.New(shop.Deps{Store: h.store, Queue: h.queue, Files: storage, Maker: room, Poster: poster, Log: log,
		Meter: h.meters, Tracer: h.traces,
		Terms: shop.Terms{Documents: limits, RunTime: cfg.RunTime, MaxTries: cfg.MaxTries, Concurrent: cfg.Concurrency,
			Pending: cfg.MaxPending, RunsADay: int64(cfg.RunsADay), PagesADay: int64(cfg.PagesADay), BytesKept: int64(cfg.BytesKept), InFlight: cfg.InFlight, KeepRuns: cfg.KeepRuns, PublicURL: strings.TrimRight(cfg.PublicURL, "/")}})
	h.meters.Watch(h.service, h.queue)
	return h, nil
}

// close ends the parts, the last opened first.
func (h *house) close() error {
	var err error
	for i := len(h.closers) - 1; i >= 0; i-- {
		err = errors.Join(err, h.closers[i]())
	}
	h.closers = nil
	return err
}

// version is the build's, as Go's tools stamp it.
func version() string {
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" && b.Main.Version != "(devel)" {
		return b.Main.Version
	}
	return "devel"
}

// server is the HTTP edge of the house.
func (h *house) server() (*api.Server, error) {
	return api.NewServer(api.Config{Addr: h.cfg.Addr, PublicURL: h.cfg.PublicURL, Version: version(), Log: h.log, Watch: edgeWatch{h.meters, h.traces},
		MaxBody: int64(h.cfg.MaxBody), TrustedProxies: h.cfg.Proxies, DrainDelay: h.cfg.DrainDelay, DrainTime: h.cfg.Drain + 5*time.Second}, h.service)
}

func (h *house) workerOptions() workers.Options {
	return workers.Options{Concurrency: h.cfg.Concurrency, Drain: h.cfg.Drain, Log: h.log}
}

// work makes runs until ctx is over. A single process first takes back what an earlier one left.
func (h *house) work(ctx context.Context) error {
	if h.single {
		n, err := h.service.Recover(ctx)
		if err != nil {
			return err
		}
		if n > 0 {
			h.log.Info("unfinished runs were found and are queued again", "runs", n)
		}
	}
	return workers.Run(ctx, h.queue.ConnOpt(), h.service, h.workerOptions())
}

// tend relays and reconciles without making runs.
func (h *house) tend(ctx context.Context) { workers.Tend(ctx, h.service, h.workerOptions()) }
