package shop

import (
	"errors"
	"log/slog"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"sizerun/internal/pattern"
)

// Kind says who must do what about an error. The edge of the service has one table from it to
// HTTP's statuses.
type Kind int

// The kinds. Anything that is not an *Error is the service's own fault.
const (
	Invalid      Kind = iota + 1 // understood, but against a rule: mend the document (422)
	Malformed                    // not understood at all (400)
	NotFound                     // not there, or another shop's (404)
	Conflict                     // at odds with what is there already (409)
	Unauthorized                 // no valid key (401)
	Forbidden                    // a valid key that may not do this (403)
	TooLarge                     // over a bound on size (413)
	TooMany                      // too much asked at once by this shop: later (429)
	Unavailable                  // something that the service stands on is away: later (503)
	Full                         // the shop keeps all that it may (403)
	Expired                      // it was there, and its time is over (410)
)

var kindNames = [...]string{"error", "invalid", "malformed", "not_found", "conflict", "unauthorized", "forbidden", "too_large", "too_many", "unavailable", "full", "expired"}

// String gives the kind's stable name, in snake_case.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		k = 0
	}
	return kindNames[k]
}

// Error is a refusal that the caller can act upon. Detail is written for them: it says what is
// wrong and what to do, and nothing of the service's inside.
type Error struct {
	Kind       Kind
	Faults     pattern.Faults // the places, when there are any
	Detail     string
	RetryAfter time.Duration // TooMany, Unavailable and a Conflict that will pass: when to ask again
	Scopes     []Scope       // Forbidden: a key with any of these may
	RunID      string        // Conflict over an external_id: the run that has it
	Cause      error         // for the log only
}

// Error gives the detail and the faults in one text.
func (e *Error) Error() string {
	s := e.Kind.String() + ": " + e.Detail
	if len(e.Faults) > 0 {
		s += ": " + e.Faults.Error()
	}
	return s
}

// Unwrap gives what lies behind the refusal.
func (e *Error) Unwrap() error { return e.Cause }

// LogValue adds the cause, which is the operator's to know and not the caller's.
func (e *Error) LogValue() slog.Value {
	if e.Cause == nil {
		return slog.StringValue(e.Error())
	}
	return slog.StringValue(e.Error() + ": " + e.Cause.Error())
}

// KindOf reads the kind of err; 0 when it is not an *Error.
func KindOf(err error) Kind {
	if e, ok := errors.AsType[*Error](err); ok {
		return e.Kind
	}
	return 0
}

// What a port answers when there is no such thing, or no longer.
var (
	// ErrAbsent: there is no such row or file, or it is another shop's.
	ErrAbsent = errors.New("shop: absent")
	// ErrFenced: the run has been claimed again or is over, so this attempt may not write any more.
	ErrFenced = errors.New("shop: attempt overtaken")
)

func notFound(what, name string) *Error {
	return &Error{Kind: NotFound, Detail: "there is no " + what + " " + quote(name) + " in this shop"}
}

// misfit is a fault of one member of a small document: what can't be is "key" or "endpoint", the fault's rule.
func misfit(what, pointer, detail, valid, remedy string) error {
	said := map[string]string{"key": "the key", "endpoint": "the webhook endpoint"}[what]
	return &Error{Kind: Invalid, Detail: said + " can't be like this", Faults: pattern.Faults{{Rule: what, Pointer: pointer, Detail: detail, Valid: valid, Remedy: remedy}}}
}

// describes refuses a description that is not a short line.
func describes(what, description string) error {
	if oneLine(description, 200) {
		return nil
	}
	return misfit(what, "/description", "the description can't be used", "up to 200 characters on one line", "shorten it")
}

// oneLine reports whether text is up to most characters of UTF-8 without control characters.
func oneLine(s string, most int) bool {
	return utf8.RuneCountInString(s) <= most && utf8.ValidString(s) && !strings.ContainsFunc(s, unicode.IsControl)
}

// quote keeps a name from the caller short and on one line.
func quote(s string) string {
	const most = 80
	out := make([]rune, 0, len(s))
	for _, r := range s {
		if len(out) == most {
			out = append(out, '…')
			break
		}
		if r < ' ' || r == 0x7f || (r >= 0x80 && r < 0xa0) || (r >= 0x2028 && r <= 0x202e) || (r >= 0x2066 && r <= 0x2069) {
			r = '�'
		}
		out = append(out, r)
	}
	return "“" + string(out) + "”"
}

// invalid turns what the core refused into an *Error; any other error is passed on as it is.
func invalid(err error, detail string) error {
	if fs, ok := errors.AsType[pattern.Faults](err); ok {
		return &Error{Kind: kindOf(fs), Faults: fs, Detail: detail}
	}
	if f, ok := errors.AsType[pattern.Fault](err); ok {
		return &Error{Kind: kindOf(pattern.Faults{f}), Faults: pattern.Faults{f}, Detail: detail}
	}
	return err
}

// kindOf: a document that is not JSON at all is Malformed, one over the byte bound TooLarge.
func kindOf(fs pattern.Faults) Kind {
	for _, f := range fs {
		switch f.Rule {
		case "syntax", "empty", "trailing_data", "byte_order_mark", "utf8", "lone_surrogate":
			return Malformed
		case "too_large":
			return TooLarge
		}
	}
	return Invalid
}
