package api

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
	"sizerun/openapi"
	"sizerun/openapi/docs"
)

// Service is what the edge asks of the house; *shop.Service is one.
type Service interface {
	Authenticate(ctx context.Context, bearer string) (shop.Shop, error)

	MakeKey(ctx context.Context, s shop.ShopID, raw []byte) (shop.Key, string, error)
	Keys(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.Key, string, error)
	Key(ctx context.Context, s shop.ShopID, id string) (shop.Key, error)
	RotateKey(ctx context.Context, s shop.ShopID, id string, grace time.Duration) (shop.Key, string, error)
	RevokeKey(ctx context.Context, s shop.ShopID, id string) error
	PublishStyle(ctx context.Context, s shop.ShopID, name string, raw []byte) (shop.Offer, error)
	Published(ctx context.Context, s shop.ShopID, style string) (shop.Offer, error)
	WithdrawStyle(ctx context.Context, s shop.ShopID, style string) error
	Usage(ctx context.Context, s shop.ShopID) (shop.Usage, error)
	Audit(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.Noted, string, error)

	SaveBlock(ctx context.Context, s shop.ShopID, raw []byte) (shop.BlockInfo, bool, error)
	Block(ctx context.Context, s shop.ShopID, name string) (shop.BlockInfo, []byte, error)
	Blocks(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.BlockInfo, string, error)
	SaveStyle(ctx context.Context, s shop.ShopID, raw []byte) (shop.StyleInfo, bool, error)
	Style(ctx context.Context, s shop.ShopID, name string) (shop.StyleInfo, []byte, error)
	Styles(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.StyleInfo, string, error)

	Check(ctx context.Context, s shop.ShopID, raw []byte) (shop.CheckAnswer, error)

	SubmitRun(ctx context.Context, s shop.ShopID, raw []byte, key shop.IdempotencyKey) (r shop.Run, replayed bool, err error)
	SubmitRuns(ctx context.Context, s shop.ShopID, raw []byte, key shop.IdempotencyKey) ([]shop.Submitted, error)
	Run(ctx context.Context, s shop.ShopID, id string) (shop.Run, error)
	Runs(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.Run, string, error)
	WaitRun(ctx context.Context, s shop.ShopID, id string, d time.Duration) (shop.Run, error)
	CancelRun(ctx context.Context, s shop.ShopID, id string) (shop.Run, error)
	DeleteRun(ctx context.Context, s shop.ShopID, id string) (r shop.Run, gone bool, err error)
	OpenFile(ctx context.Context, s shop.ShopID, id string) (shop.FileInfo, io.ReadSeekCloser, error)
	Archive(ctx context.Context, s shop.ShopID, run string) (shop.ArchiveInfo, error)
	WriteArchive(ctx context.Context, a shop.ArchiveInfo, w io.Writer) error
	LinkFile(ctx context.Context, s shop.ShopID, id string, life time.Duration) (shop.Link, error)
	LinkStream(ctx context.Context, s shop.ShopID, run string, life time.Duration) (shop.Link, error)
	FollowRun(ctx context.Context, s shop.ShopID, id string, after int64, d time.Duration) (r shop.Run, changed bool, err error)
	LinkArchive(ctx context.Context, s shop.ShopID, run string, life time.Duration) (shop.Link, error)
	FollowLink(ctx context.Context, path, id string, q url.Values) (shop.ShopID, time.Time, error)

	AddEndpoint(ctx context.Context, s shop.ShopID, raw []byte) (shop.Endpoint, string, error)
	Endpoints(ctx context.Context, s shop.ShopID) ([]shop.Endpoint, error)
	Endpoint(ctx context.Context, s shop.ShopID, id string) (shop.Endpoint, error)
	ChangeEndpoint(ctx context.Context, s shop.ShopID, id string, raw []byte) (shop.Endpoint, error)
	DeleteEndpoint(ctx context.Context, s shop.ShopID, id string) error
	RotateEndpoint(ctx context.Context, s shop.ShopID, id string) (shop.Endpoint, string, error)
	TestEndpoint(ctx context.Context, s shop.ShopID, id string) (shop.Event, error)
	Deliveries(ctx context.Context, s shop.ShopID, id, cursor string, limit int) ([]shop.Delivery, string, error)
	ReplayDelivery(ctx context.Context, s shop.ShopID, id, event string) error
	Events(ctx context.Context, s shop.ShopID, cursor string, limit int) ([]shop.Told, string, error)

	Preview(ctx context.Context, s shop.ShopID, raw []byte) ([]byte, error)
	Changes() []byte
	Engine() string
	Ready(ctx context.Context) error
	Drain()
}

// Config is what an operator may set. The zero value serves on localhost.
type Config struct {
	Addr           string         // ":8080" when empty
	PublicURL      string         // how callers reach the service; begins every problem's type
	Version        string         // of the build
	TrustedProxies []netip.Prefix // whose X-Forwarded-For is believed; nobody's when empty
	Log            *slog.Logger   // discards when nil
	Watch          Watch          // nobody watches when nil

	MaxBody       int64         // bytes of a body; 4 MiB
	BodyTime      time.Duration // for a body to arrive; 30 s
	AnswerTime    time.Duration // for a use case, besides the time a caller asked to wait; 30 s
	Bodies        int           // bodies in hand at once, all shops; 64
	BodiesPerShop int           // and of one shop; 16
	WrongKeys     int           // that one address may try in a minute; 100
	Heartbeat     time.Duration // between comments on a stream that is quiet; 12 s
	DrainDelay    time.Duration // between readiness going off and no longer listening; 0
	DrainTime     time.Duration // for requests in hand to be answered; 45 s
}

func (c Config) orDefault() Config {
	count := func(v *int, d int) {
		if *v <= 0 {
			*v = d
		}
	}
	span := func(v *time.Duration, d time.Duration) {
		if *v <= 0 {
			*v = d
		}
	}
	if c.Addr == "" {
		c.Addr = ":8080"
	}
	if c.Version == "" {
		c.Version = "devel"
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	if c.Watch == nil {
		c.Watch = unwatched{}
	}
	if c.MaxBody <= 0 {
		c.MaxBody = 4 << 20
	}
	span(&c.BodyTime, 30*time.Second)
	span(&c.AnswerTime, 30*time.Second)
	span(&c.Heartbeat, 12*time.Second) // below the 15 s after which some proxies take it for dead
	count(&c.Bodies, 64)
	count(&c.BodiesPerShop, 16)
	count(&c.WrongKeys, 100)
	span(&c.DrainTime, 45*time.Second)
	return c
}

// API is the routes over a Service. It is safe for many goroutines.
type API struct {
	cfg     Config
	svc     Service
	log     *slog.Logger
	echo    *echo.Echo
	base    string // absolute, without a slash at the end; "" until it is known
	spec    []byte // openapi.json
	version string // of the contract
	changes register
	pages   *docs.Pages
	bodies  hands
	// archives has room for those that are put together at once.
	archives chan struct{}
	patterns map[string]bool // of the routes
	wrong    wrongKeys
	streams  hands
}

// New makes the API. It fails when the settings, the contract or the register can't be used.
func New(cfg Config, svc Service) (*API, error) {
	cfg = cfg.orDefault()
	a := &API{cfg: cfg, svc: svc, log: cfg.Log, archives: make(chan struct{}, archivesAtOnce)}
	a.bodies.most, a.bodies.each = cfg.Bodies, cfg.BodiesPerShop
	a.wrong.most = cfg.WrongKeys
	a.streams.most, a.streams.each = mostStreams, mostStreamsEach
	var err error
	if a.base, err = baseOf(cfg.PublicURL); err != nil {
		return nil, err
	}
	if a.spec, err = openapi.JSON(); err != nil {
		return nil, err
	}
	var head struct{ Info struct{ Version string } }
	if err := json.Unmarshal(a.spec, &head); err != nil {
		return nil, fmt.Errorf("api: the contract: %w", err)
	}
	a.version = head.Info.Version
	if a.changes, err = readRegister(svc.Changes()); err != nil {
		return nil, err
	}
	if a.pages, err = makePages(a.spec, svc.Changes()); err != nil {
		return nil, err
	}
	a.echo = a.router()
	return a, nil
}

// Handler answers requests.
func (a *API) Handler() http.Handler { return a.echo }

func (a *API) router() *echo.Echo {
	e := echo.New()
	e.HideBanner, e.HidePort = true, true
	e.Logger.SetOutput(io.Discard) // everything worth telling goes through slog
	e.IPExtractor = echo.ExtractIPDirect()
	if len(a.cfg.TrustedProxies) > 0 {
		e.IPExtractor = echo.ExtractIPFromXFFHeader(trust(a.cfg.TrustedProxies)...)
	}
	e.HTTPErrorHandler = func(err error, c echo.Context) { a.refuse(c, err) }
	e.Use(a.attend)
	a.patterns = map[string]bool{}
	for _, r := range a.routes() {
		a.patterns[r.path] = true
		e.Add(r.method, r.path, r.handle.do)
		if r.method == http.MethodGet {
			e.Add(http.MethodHead, r.path, r.handle.do) // RFC 9110, 9.3.2; the server keeps the body back
		}
	}
	return e
}

// baseOf checks the address that callers are told.
func baseOf(s string) (string, error) {
	if s == "" {
		return "", nil
	}
	u, err := url.Parse(s)
	if err != nil || (u.Scheme != "http" && u.Scheme != "https") || u.Host == "" || u.RawQuery != "" || u.Fragment != "" || u.User != nil {
		return "", errors.New("api: the public URL must be like https://patterns.example.com, without a query")
	}
	return strings.TrimRight(s, "/"), nil
}

// problemType is the absolute, stable name of a kind of problem.
func (a *API) problemType(name string) string {
	base := a.base
	if base == "" {
		base = "http://localhost:8080"
	}
	return base + "/problems/" + name
}
