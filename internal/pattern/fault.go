package pattern

import (
	"errors"
	"fmt"
	"strings"
)

// Fault says what is wrong, where, and how to mend it. Every refusal in the core is a Fault or
// a Faults; the edge of the service turns them into problem documents.
type Fault struct {
	Rule    string // stable identifier of the broken rule, snake_case: "self_crossing", "out_of_range"
	Pointer string // JSON pointer into the document, "" for the whole
	Size    string // the size it happened in, "" when it holds for all
	Piece   string
	Edge    string
	Detail  string // what is wrong, with the values
	Valid   string // the valid range or choices, "" when there is none to tell
	Remedy  string // what to do
}

func (f Fault) Error() string {
	var b strings.Builder
	if f.Pointer != "" {
		b.WriteString(f.Pointer + ": ")
	}
	if f.Size != "" {
		fmt.Fprintf(&b, "size %s: ", f.Size)
	}
	b.WriteString(f.Detail)
	if f.Valid != "" {
		b.WriteString(" (valid: " + f.Valid + ")")
	}
	if f.Remedy != "" {
		b.WriteString("; " + f.Remedy)
	}
	return b.String()
}

// Faults is several at once: a maker mends a document faster when told all of it.
type Faults []Fault

func (fs Faults) Error() string {
	s := make([]string, len(fs))
	for i, f := range fs {
		s[i] = f.Error()
	}
	return strings.Join(s, "\n")
}

// Err is nil when there are none.
func (fs Faults) Err() error {
	if len(fs) == 0 {
		return nil
	}
	return fs
}

// Under puts a prefix before every pointer.
func (fs Faults) Under(prefix string) Faults {
	out := make(Faults, len(fs))
	for i, f := range fs {
		f.Pointer = prefix + f.Pointer
		out[i] = f
	}
	return out
}

// FaultsOf reads err as Faults: a Fault, a Faults, or an unknown error as one Fault without a rule.
func FaultsOf(err error) Faults {
	if err == nil {
		return nil
	}
	if fs, ok := errors.AsType[Faults](err); ok {
		return fs
	}
	if f, ok := errors.AsType[Fault](err); ok {
		return Faults{f}
	}
	return Faults{{Rule: "unknown", Detail: err.Error()}}
}
