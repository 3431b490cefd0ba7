package shop

import (
	"context"
	"errors"
	"log/slog"
	"runtime"
	"sync"
	"time"

	"github.com/google/uuid"

	"sizerun/internal/document"
)

// Deps is what a Service stands on. Store, Queue, Files and Maker are required.
type Deps struct {
	Store Store
	Queue Queue
	Files Files
	Maker Maker
	// Poster sends webhooks; without one none are sent.
	Poster Poster
	Clock  func() time.Time           // time.Now when nil
	NewID  func(prefix string) string // NewID when nil
	Log    *slog.Logger               // discards when nil
	Terms  Terms                      // DefaultTerms for what is zero
	Meter  Meter                      // nobody counts when nil
	Tracer Tracer                     // nothing is followed when nil
}

// Terms are the numbers of the service that an operator may set.
type Terms struct {
	Documents  document.Limits
	RunTime    time.Duration // the longest that one try may take
	LeaseFor   time.Duration // how long a silent worker keeps its run
	TouchEvery time.Duration // how often a worker writes progress and looks for a cancel
	MaxTries   int           // after so many a run has failed
	RetryAfter time.Duration // before the second try; doubled for each further one
	Concurrent int           // runs that one process makes at a time
	Pending    int           // unfinished runs that a shop may have
	InFlight   int           // runs handed to the queue and not over, all shops together
	StaleAfter time.Duration // a run handed over so long ago, and not begun, is handed over again
	PollEvery  time.Duration // how often WaitRun looks when nobody wakes it
	PublicURL  string        // how the outside reaches the service, without a slash at the end; may be empty
	// What a shop may have where nothing is set for it; 0 is any number.
	RunsADay, PagesADay, BytesKept int64
	KeepRuns                       time.Duration // a run expires so long after it is over
	OrphanAge                      time.Duration // contents that no run has are freed at this age
}

// DefaultTerms suit one machine with a few cores.
func DefaultTerms() Terms {
	return Terms{
		Documents:  document.DefaultLimits(),
		RunTime:    5 * time.Minute,
		LeaseFor:   30 * time.Second,
		TouchEvery: time.Second,
		MaxTries:   3,
		RetryAfter: 2 * time.Second,
		Concurrent: 2,
		Pending:    10_000,
		InFlight:   200,
		StaleAfter: 2 * time.Minute,
		PollEvery:  250 * time.Millisecond,
		KeepRuns:   90 * 24 * time.Hour,
		OrphanAge:  24 * time.Hour,
	}
}

func (t Terms) orDefault() Terms {
	d := DefaultTerms()
	pick := func(v *time.Duration, def time.Duration) {
		if *v <= 0 {
			*v = def
		}
	}
	count := func(v *int, def int) {
		if *v <= 0 {
			*v = def
		}
	}
	if t.Documents == (document.Limits{}) {
		t.Documents = d.Documents
	}
	pick(&t.RunTime, d.RunTime)
	pick(&t.LeaseFor, d.LeaseFor)
	pick(&t.TouchEvery, d.TouchEvery)
	pick(&t.RetryAfter, d.RetryAfter)
	pick(&t.StaleAfter, d.StaleAfter)
	pick(&t.PollEvery, d.PollEvery)
	pick(&t.KeepRuns, d.KeepRuns)
	pick(&t.OrphanAge, d.OrphanAge)
	count(&t.MaxTries, d.MaxTries)
	count(&t.Concurrent, d.Concurrent)
	count(&t.Pending, d.Pending)
	count(&t.InFlight, d.InFlight)
	return t
}

// Service carries out the use cases. It is safe for many goroutines.
type Service struct {
	store  Store
	queue  Queue
	files  Files
	maker  Maker
	clock  func() time.Time
	newID  func(string) string
	log    *slog.Logger
	terms  Terms
	meter  Meter
	tracer Tracer

	keys      lately[string, knownKey]
	quotas    lately[ShopID, knownQuota]
	links     linkKeys
	admitting admitting
	weighed   weighed
	wakes     wakes
	workers   workers
	slots     chan struct{} // one per run that is being made, held until the maker has truly let go
	checks    chan struct{} // one per check that is under way
	poster    Poster
	hooked    chan struct{} // rung when there may be something to tell
	outbox    chan struct{} // rung when there may be something to relay
	draining  chan struct{}
	drainOnce sync.Once
}

// New makes a Service; it panics when a required part is missing, which is a fault of the wiring.
func New(d Deps) *Service {
	if d.Store == nil || d.Queue == nil || d.Files == nil || d.Maker == nil {
		panic("shop.New: Store, Queue, Files and Maker are required")
	}
	if d.Clock == nil {
		d.Clock = time.Now
	}
	if d.NewID == nil {
		d.NewID = NewID
	}
	if d.Log == nil {
		d.Log = slog.New(slog.DiscardHandler)
	}
	if d.Meter == nil {
		d.Meter = unwatched{}
	}
	if d.Tracer == nil {
		d.Tracer = unwatched{}
	}
	t := d.Terms.orDefault()
	return &Service{
		store: d.Store, queue: d.Queue, files: d.Files, maker: d.Maker,
		clock: d.Clock, newID: d.NewID, log: d.Log, terms: t, meter: d.Meter, tracer: d.Tracer,
		slots:    make(chan struct{}, t.Concurrent),
		checks:   make(chan struct{}, max(2, 2*runtime.GOMAXPROCS(0))),
		poster:   d.Poster,
		hooked:   make(chan struct{}, 1),
		outbox:   make(chan struct{}, 1),
		draining: make(chan struct{}),
	}
}

// NewID makes an id: the prefix, "_", and a UUIDv7 (RFC 9562) without its dashes. Later ids sort
// after earlier ones. An id is never a secret.
func NewID(prefix string) string {
	u := uuid.Must(uuid.NewV7())
	const hexDigits = "0123456789abcdef"
	b := make([]byte, 0, len(prefix)+33)
	b = append(b, prefix...)
	b = append(b, '_')
	for _, x := range u {
		b = append(b, hexDigits[x>>4], hexDigits[x&15])
	}
	return string(b)
}

// now is the clock in UTC and in whole microseconds, which is what both databases keep.
func (s *Service) now() time.Time { return s.clock().UTC().Truncate(time.Microsecond) }

// Terms tells the numbers in force.
func (s *Service) Terms() Terms { return s.terms }

// Changes is the register of changes as JSON.
func (s *Service) Changes() []byte { return s.maker.Changes() }

// Engine names the version of the maker.
func (s *Service) Engine() string { return s.maker.Version() }

// ErrDraining is why a service that is shutting down is not ready.
var ErrDraining = errors.New("shutting down")

// Ready says whether requests should be sent here: not while draining, nor while the database or
// the queue can't be reached.
func (s *Service) Ready(ctx context.Context) error {
	select {
	case <-s.draining:
		return ErrDraining
	default:
	}
	if err := s.store.Ping(ctx); err != nil {
		return errors.Join(errors.New("the database can't be reached"), err)
	}
	if err := s.queue.Ping(ctx); err != nil {
		return errors.Join(errors.New("the queue can't be reached"), err)
	}
	return nil
}

// Drain makes Ready fail and ends every WaitRun early, for good: the first step of a shutdown.
func (s *Service) Drain() { s.drainOnce.Do(func() { close(s.draining) }) }
