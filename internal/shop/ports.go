package shop

import (
	"context"
	"encoding/json"
	"io"
	"time"

	"sizerun/internal/document"
)

// Store is everything the database keeps, port by port. All its methods answer ErrAbsent for what
// is not there and for what is another shop's, and *Error with Unavailable when it can't be
// reached.
type Store interface {
	Keys
	Documents
	Runs
	Work
	Outbox
	Upkeep
	Links
	Hooks
	Watch
	Retention
	Quotas
	Audit
	Offers
	Follow
}

// Documents keeps blocks and styles by name and version.
type Documents interface {
	// SaveDocument makes d the current version of its name; created is false when that version was
	// there already.
	SaveDocument(ctx context.Context, d Document) (saved Document, created bool, err error)
	// Document answers one version; an empty version means the current one.
	Document(ctx context.Context, shop ShopID, kind DocumentKind, name, version string) (Document, error)
	// ListDocuments answers current versions by name, those after the given name, without Raw but
	// with its length.
	ListDocuments(ctx context.Context, shop ShopID, kind DocumentKind, after string, limit int) ([]DocumentHead, error)
}

// DocumentHead is a Document without its bytes.
type DocumentHead struct {
	Document
	Bytes int
}

// Runs admits runs and tells of them.
type Runs interface {
	// Admit writes run, outbox row and idempotency row in one transaction, or says why it did not.
	Admit(ctx context.Context, a Admission) (Verdict, error)
	// Recall answers what was admitted under an idempotency key; nil when nothing was, or too long ago.
	Recall(ctx context.Context, k Remembered, now time.Time) (*Remembered, error)
	Run(ctx context.Context, shop ShopID, id string) (Run, error)
	// ListRuns answers the newest first, those before the given place, without files.
	ListRuns(ctx context.Context, shop ShopID, before RunPlace, limit int) ([]Run, error)
	// AskCancel ends a queued run and marks one that is being made; over stays over.
	AskCancel(ctx context.Context, shop ShopID, id string, at time.Time) (Run, error)
}

// RunPlace is a place in a shop's list of runs. The zero place is before the newest.
type RunPlace struct {
	CreatedAt time.Time
	ID        string
}

// Admission is what Admit writes.
type Admission struct {
	Run      Run
	Request  []byte // the run request as JSON, as the worker needs it
	OutboxID string
	Idem     *Remembered
	Most     int // unfinished runs that a shop may have; 0 means any number
	// What the shop may have on the run's day, live or sandbox as the run is; 0 means any number.
	RunsADay, PagesADay int64
	Noted               *Noted // who ordered it
}

// Remembered ties an idempotency key to the run it made.
type Remembered struct {
	Shop      ShopID
	Scope     string
	Key       string
	Print     [32]byte // SHA-256 of the raw body
	RunID     string
	CreatedAt time.Time
}

// VerdictKind says how an admission ended.
type VerdictKind int

// The verdicts on an admission.
const (
	Admitted      VerdictKind = iota
	KeyTaken                  // the idempotency key has a run: see Verdict.Earlier
	ExternalTaken             // the shop has a run with this external id: see Verdict.RunID
	ShopFull                  // the shop has too many unfinished runs
	RunsFull                  // the shop has had the runs that it may have on this day
	PagesFull                 // or the pages
)

// Verdict is what came of an admission.
type Verdict struct {
	Kind    VerdictKind
	RunID   string
	Earlier *Remembered
}

// Work is what a worker does to a run. After Claim, everything carries the attempt as a fence and
// answers ErrFenced when the run has moved on.
type Work interface {
	// Claim takes a run that is queued, or whose lease is over, and raises its attempt. It answers
	// ErrFenced when the run is over or somebody is at it.
	Claim(ctx context.Context, id string, now, leaseUntil time.Time) (Claim, error)
	// Touch keeps the lease and stores progress; it says whether a cancel was asked for.
	Touch(ctx context.Context, id string, attempt int, p Progress, leaseUntil time.Time) (cancel bool, err error)
	// Finish ends a run and attaches its files, in one transaction.
	Finish(ctx context.Context, id string, attempt int, o Outcome) error
	// HandBack gives the run up for another try and writes the outbox row for it.
	HandBack(ctx context.Context, id string, attempt int, b HandBack) error
	// Made answers the newest outcome of this shop's runs of the same input; ErrAbsent when none.
	Made(ctx context.Context, shop ShopID, inputHash string) (Outcome, error)
}

// Claim is a run in the hands of one worker.
type Claim struct {
	Run     Run
	Request []byte
	Attempt int // the fence: raised by each claim, never lowered
	Tries   int // claims that count against the limit, this one included
}

// HandBack tells when a run may be tried again, and whether this try counts.
type HandBack struct {
	At       time.Time
	OutboxID string
	Refund   bool // the try was broken off by us (a shutdown), not by the run
}

// Outcome is how a run ended.
type Outcome struct {
	State   string
	Problem *Problem
	Report  *Summary
	Files   []FileInfo
	At      time.Time
	// What it was made from, which a new engine since the order may have changed. Empty when
	// nothing was made.
	Engine, InputHash string
}

// Outbox hands runs to the queue.
type Outbox interface {
	// TakeDue claims due rows until leaseUntil, turn by turn over the shops, so that one shop's
	// thousand runs don't hold up another's one. It takes no more than limit, and none beyond
	// inFlight runs that were handed over and are not over yet, nor beyond each of one shop: what the queue
	// holds comes in the order it went in, so the shops' turns count only for what is not in it yet.
	TakeDue(ctx context.Context, now, leaseUntil time.Time, limit, inFlight, each int) ([]Dispatch, error)
	// HandedOver deletes rows that the queue has taken and notes the time on their runs.
	HandedOver(ctx context.Context, ds []Dispatch, now time.Time) error
	// Forsaken writes outbox rows for unfinished runs that nobody is at: without an outbox row,
	// handed over before the given time, and not under a live lease (with allLeases, under any).
	Forsaken(ctx context.Context, f Forsaken) (int, error)
}

// Dispatch is an outbox row: a run to hand over.
type Dispatch struct{ ID, RunID string }

// Forsaken tells which runs to look for. NewID makes the outbox ids.
type Forsaken struct {
	Now, HandedBefore time.Time
	AllLeases         bool // a single process has just started: whatever lease there is, is dead
	Limit             int
	NewID             func() string
}

// Upkeep is for files and for the keepers of the house.
type Upkeep interface {
	File(ctx context.Context, shop ShopID, id string) (FileInfo, error)
	// Referenced says which of the given contents some run's file has, or had until a moment ago: see
	// Retention.TakeDiscards.
	Referenced(ctx context.Context, sums []string) (map[string]bool, error)
	Forget(ctx context.Context, idempotencyBefore time.Time) (int, error)
	Ping(ctx context.Context) error
}

// Queue carries run ids to workers. It may lose, delay and repeat them.
type Queue interface {
	Enqueue(ctx context.Context, d Dispatch) error
	// Began says since when the queue remembers: what was handed over earlier is not in it any more.
	// A queue that is found empty of memory begins now.
	Began(ctx context.Context, now time.Time) (time.Time, error)
	Ping(ctx context.Context) error
}

// Staffed is a Queue that knows its workers.
type Staffed interface {
	// Workers answers how many runs all workers together make at a time; 0 while none is known.
	Workers(ctx context.Context) (int, error)
}

// TaskMake is the kind of task that Enqueue makes; its payload is the run's id and nothing else.
const TaskMake = "run:make"

// Files keeps bytes by their SHA-256.
type Files interface {
	// Put keeps data and answers its name; what is there already is not written again.
	Put(ctx context.Context, data []byte) (sum string, err error)
	// Open answers ErrAbsent when there is no such content.
	Open(ctx context.Context, sum string) (io.ReadSeekCloser, int64, error)
	// Walk calls f for every content, in no order, until f answers an error.
	Walk(ctx context.Context, f func(sum string, modified time.Time) error) error
	// Delete removes a content that was not put since the given time; otherwise, and when there is
	// none, it does nothing.
	Delete(ctx context.Context, sum string, notSince time.Time) error
}

// Making is what a maker needs.
type Making struct {
	Block, Style []byte // documents, as they were sent
	Request      document.RunRequest
}

// Maker is the one way through the house. Check does all but lay out and write paper. Refusals are
// pattern.Faults with pointers into the request, or under /block and /style.
type Maker interface {
	Check(ctx context.Context, m Making) (report []byte, s Summary, err error)
	// Make calls progress from time to time, never twice at once; it stops early when ctx is done.
	Make(ctx context.Context, m Making, progress func(stage string, done, total int)) (Product, error)
	Previewer
	// Changes is the register of changes as JSON.
	Changes() []byte
	// Version names the engine: two versions may make different bytes of the same input.
	Version() string
}

// Product is what a maker made.
type Product struct {
	Files   []ProductFile
	Report  json.RawMessage
	Summary Summary
	Failed  bool // a check failed: no pattern file is delivered unless the request says so
}

// ProductFile is a file on its way to the storage.
type ProductFile struct {
	Name, MediaType, Paper string
	Pages                  int
	Data                   []byte
}
