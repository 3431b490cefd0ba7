package api

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"
)

// Server serves the API until it is told to stop.
type Server struct {
	api  *API
	http *http.Server
}

// NewServer makes a Server; nothing listens yet.
func NewServer(cfg Config, svc Service) (*Server, error) {
	a, err := New(cfg, svc)
	if err != nil {
		return nil, err
	}
	cfg = a.cfg
	return &Server{api: a, http: &http.Server{
		Addr:    cfg.Addr,
		Handler: a.Handler(),
		// Bodies and answers have deadlines of their own, set per request (see attend); a
		// WriteTimeout here would cut off downloads and waits.
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    32 << 10,
		ErrorLog:          slog.NewLogLogger(harmless{cfg.Log.Handler()}, slog.LevelWarn),
	}}, nil
}

// Handler answers requests without listening, for tests and for serving under another server.
func (s *Server) Handler() http.Handler { return s.api.Handler() }

// ListenAndServe serves on the configured address; see Serve.
func (s *Server) ListenAndServe(ctx context.Context) error {
	ln, err := net.Listen("tcp", s.http.Addr)
	if err != nil {
		return err
	}
	return s.Serve(ctx, ln)
}

// Serve answers requests until ctx is done. Then it stops in the order that drops nothing:
// /readyz says no, and callers that wait for a run are answered with it as it stands; after
// DrainDelay, in which whoever spreads the requests takes note, it no longer listens; requests in
// hand have DrainTime to be answered. It closes ln. A server serves once.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	a := s.api
	if a.base == "" {
		a.base = "http://" + localAddr(ln.Addr())
	}
	a.log.Info("listening", "address", ln.Addr().String(), "url", a.base)
	ended := make(chan error, 1)
	go func() { ended <- s.http.Serve(ln) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	a.log.Info("stopping: no longer ready")
	a.svc.Drain()
	if a.cfg.DrainDelay > 0 {
		select {
		case err := <-ended:
			return err
		case <-time.After(a.cfg.DrainDelay):
		}
	}
	stop, cancel := context.WithTimeout(context.WithoutCancel(ctx), a.cfg.DrainTime)
	defer cancel()
	err := s.http.Shutdown(stop)
	if err != nil {
		err = errors.Join(errors.New("api: requests were broken off at the end of the drain time"), s.http.Close())
	}
	if e := <-ended; e != nil && !errors.Is(e, http.ErrServerClosed) {
		err = errors.Join(err, e)
	}
	a.log.Info("stopped")
	return err
}

// localAddr is an address that can be dialled from this machine.
func localAddr(addr net.Addr) string {
	host, port, err := net.SplitHostPort(addr.String())
	if err != nil {
		return "localhost"
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	return net.JoinHostPort(host, port)
}

// harmless keeps what the HTTP server tells of callers on one line.
type harmless struct{ slog.Handler }

func (h harmless) Handle(ctx context.Context, r slog.Record) error {
	r.Message = oneLine(strings.TrimSpace(r.Message), 500)
	return h.Handler.Handle(ctx, r)
}
