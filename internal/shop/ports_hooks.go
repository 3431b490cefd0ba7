package shop

import (
	"context"
	"time"
)

// Hooks keeps what there is to tell, to whom, and how telling it went. A run that ends makes its event, and
// a delivery for each endpoint of its shop that is on, in the transaction that ends it.
type Hooks interface {
	// AddEndpoint answers false when the shop has as many as it may.
	AddEndpoint(ctx context.Context, e Endpoint, most int) (bool, error)
	Endpoint(ctx context.Context, shop ShopID, id string) (Endpoint, error)
	// Endpoints answers the shop's, the oldest first.
	Endpoints(ctx context.Context, shop ShopID) ([]Endpoint, error)
	// ChangeEndpoint writes all of e but its shop and its birth.
	ChangeEndpoint(ctx context.Context, e Endpoint) error
	DeleteEndpoint(ctx context.Context, shop ShopID, id string) error

	// AddEvent writes an event that no run made, with a delivery to one endpoint.
	AddEvent(ctx context.Context, e Event, endpoint string) error
	Event(ctx context.Context, shop ShopID, id string) (Event, error)
	// Events answers the shop's, those after the given place and not after upTo, the oldest first; with
	// newest, the last ones of them.
	Events(ctx context.Context, shop ShopID, from RunPlace, upTo time.Time, newest bool, limit int) ([]Event, error)

	// TakeDeliveries claims due deliveries until leaseUntil, no more than each of one endpoint, so that
	// a slow one does not hold up the others.
	TakeDeliveries(ctx context.Context, now, leaseUntil time.Time, limit, each int) ([]Delivery, error)
	// Tried writes a try into the log and what comes next; ErrFenced when the delivery has moved on.
	Tried(ctx context.Context, d Delivery, t Try, next Delivery) error
	// Deliveries answers those to an endpoint, the newest first, those before the given place, with their tries.
	Deliveries(ctx context.Context, shop ShopID, endpoint string, before RunPlace, limit int) ([]Delivery, error)
	// Replay makes a delivery due again, as if it had not been tried; it makes one when the event was
	// not meant for the endpoint.
	Replay(ctx context.Context, shop ShopID, endpoint, event string, at time.Time) error
	// ForgetEvents deletes events from before the given time, with their deliveries, no more than limit.
	ForgetEvents(ctx context.Context, before time.Time, limit int) (int, error)
}

// Endpoint is where a shop wants to be told.
type Endpoint struct {
	ID               string
	Shop             ShopID
	URL, Description string
	Secret           []byte
	OldSecret        []byte // signs as well until OldUntil
	OldUntil         time.Time
	OffAt            time.Time // zero while it is on
	OffWhy           string
	CreatedAt        time.Time
}

// Event is what there is to tell.
type Event struct {
	ID        string
	Shop      ShopID
	RunID     string // empty for a test
	Type      string
	CreatedAt time.Time
}

// The types of event.
const (
	EventDone      = "run.done"
	EventFailed    = "run.failed"
	EventCancelled = "run.cancelled"
	EventTest      = "webhook.test"
)

// The states of a delivery.
const (
	DeliveryWaiting   = "waiting"
	DeliveryDelivered = "delivered"
	DeliveryFailed    = "failed" // given up; it can be replayed
)

// Delivery is an event on its way to an endpoint.
type Delivery struct {
	Event    Event
	Endpoint Endpoint
	State    string
	Tries    int // the fence, too
	NextAt   time.Time
	Log      []Try // the oldest first
}

// Try is one try to deliver.
type Try struct {
	At     time.Time
	Status int // 0: there was no answer
	Note   string
	Took   time.Duration
}

// Poster sends a delivery. It reaches only where an operator lets it.
type Poster interface {
	// Allowed says why a URL can't be an endpoint; nil when it can.
	Allowed(url string) error
	Post(ctx context.Context, url string, header map[string]string, body []byte) Posted
}

// Posted is how a try went.
type Posted struct {
	Status     int // 0: there was no answer
	RetryAfter time.Duration
	Note       string // what went wrong, fit to be shown to the shop
}
