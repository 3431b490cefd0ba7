package shop

import (
	"encoding/json"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
)

// ShopID names a shop within the service; it is no secret.
type ShopID string

// Shop is who asks.
type Shop struct {
	ID        ShopID
	Name      string
	KeyID     string // the key it came with; empty when it did not come by a key
	Scope     Scope  // what that key may do
	Sandbox   bool   // that key is for trying things out
	CreatedAt time.Time
}

// Key is a shop's key as the service keeps it.
type Key struct {
	ID          string
	Shop        ShopID
	Hash        [32]byte // SHA-256 of the secret's 32 bytes
	OldHash     [32]byte // holds as well until OldUntil, after a rotation
	OldUntil    time.Time
	Scope       Scope
	Sandbox     bool
	Description string
	CreatedAt   time.Time
	UsedAt      time.Time // coarse; zero when it was never used
	RevokedAt   time.Time // zero while it holds
}

// DocumentKind tells blocks from styles.
type DocumentKind string

// The kinds of document that a shop keeps.
const (
	KindBlock DocumentKind = "block"
	KindStyle DocumentKind = "style"
)

// Document is one version of a block or style.
type Document struct {
	Shop    ShopID
	Kind    DocumentKind
	Name    string
	Title   string
	Version string // names the content: equal versions are equal documents
	Block   string // a style's block
	Raw     []byte // as it was sent
	SavedAt time.Time
}

// BlockInfo tells a block's current version without its drawing.
type BlockInfo struct {
	Name, Title, Version string
	Bytes                int
	SavedAt              time.Time
}

// StyleInfo tells a style's current version.
type StyleInfo struct {
	Name, Title, Version, Block string
	Bytes                       int
	SavedAt                     time.Time
}

// The states of a run, in the only direction they move.
const (
	StateQueued    = "queued"
	StateMaking    = "making"
	StateDone      = "done"
	StateFailed    = "failed"
	StateCancelled = "cancelled"
	StateExpired   = "expired" // was over, and its files are gone
)

// Over says whether a state is a last one.
func Over(state string) bool {
	return state == StateDone || state == StateFailed || state == StateCancelled || state == StateExpired
}

// Run is one order to make a style.
type Run struct {
	ID                  string
	Shop                ShopID
	Style, StyleVersion string
	Block, BlockVersion string
	Engine              string // the maker's version that it was, or will be, made with
	State               string
	OrderedBy           string   // the key that ordered it; empty when it did not come by a key
	Sandbox             bool     // ordered by a sandbox key
	Sizes               []string // names of the sizes and bodies, in order
	Outputs             []document.Output
	DeliverAnyway       bool
	CancelAsked         bool // a cancel is under way
	Progress            Progress
	Problem             *Problem // why it failed
	Report              *Summary // nil until it is made
	Files               []FileInfo
	Stamp, ExternalID   string
	InputHash           string // names everything the files depend on
	CreatedAt           time.Time
	StartedAt           time.Time // zero while queued
	FinishedAt          time.Time // zero until over
	ExpiredAt           time.Time // zero until its files are gone
	ExpiresAt           time.Time // when they go, or went; zero until over
	Revision            int64     // raised whenever anything above changes
}

// Progress tells how far a run is: Done of Total within a stage.
type Progress struct {
	Stage       string
	Done, Total int
}

// Problem is why a run failed.
type Problem struct {
	Rule   string // stable, snake_case: "checks_failed", "refused", "gave_up", "timed_out"
	Detail string
	Faults pattern.Faults
}

// The rules of a run's Problem.
const (
	ProblemChecks  = "checks_failed" // made, but it would not sew: the report says why, no pattern is delivered
	ProblemRefused = "refused"       // the maker refused the block, the style or the request
	ProblemTimeout = "timed_out"     // took longer than a run may, in every try
	ProblemGaveUp  = "gave_up"       // broke off in every try
)

// Summary is the report in numbers.
type Summary struct {
	Sizes            []string
	Pieces           int // of one size
	Pages            int // over all files; 0 when no paper was laid out
	Pass, Warn, Fail int // checks over all sizes
	BySize           []SizeSummary
}

// SizeSummary is one size's part of the report.
type SizeSummary struct {
	Size             string
	Pass, Warn, Fail int
}

// FileInfo is a file of a run.
type FileInfo struct {
	ID, RunID, Name, MediaType, Paper string
	Pages                             int
	Bytes                             int64
	SHA256                            string // hex; also names the bytes in the file storage
}

// ReportName is the name of the file that holds a run's checks. Every run that was made has it.
const ReportName = "report.json"

// CheckAnswer is what a check without a run tells.
type CheckAnswer struct {
	Report   json.RawMessage
	Summary  Summary
	Estimate *Estimate // nil when there is nothing to order, or the maker does not tell
}

// IdempotencyKey lets a caller repeat a request that it does not know the outcome of. An empty Key
// means none. Scope is the request's method and path: the same key on another route is another key.
type IdempotencyKey struct {
	Key, Scope string
	whole      []byte // the body that the key stands for, when it is more than this request
}

// Lengths of what a caller may name.
const (
	MaxIdempotencyKey = 255
	DefaultPage       = 50
	MaxPage           = 200
)

// IdempotencyKept is how long a key is remembered.
const IdempotencyKept = 24 * time.Hour
