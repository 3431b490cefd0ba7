package shop

import (
	"context"
	"slices"
	"strings"

	"sizerun/internal/pattern"
)

// Scope is what a key may do.
type Scope string

// The scopes. Read, make and admin each hold what the ones before them hold; a storefront's stands
// apart: it orders what was published, and sees its own orders.
const (
	ScopeRead       Scope = "read"
	ScopeMake       Scope = "make"
	ScopeAdmin      Scope = "admin"
	ScopeStorefront Scope = "storefront"
)

// Scopes lists them all, the ladder first.
func Scopes() []Scope { return []Scope{ScopeRead, ScopeMake, ScopeAdmin, ScopeStorefront} }

// Holds says whether a key of this scope may do what asks for the other one.
func (s Scope) Holds(need Scope) bool {
	if s == need {
		return true
	}
	ladder := Scopes()[:3]
	has, wants := slices.Index(ladder, s), slices.Index(ladder, need)
	return has >= 0 && wants >= 0 && has >= wants
}

// May refuses a shop's key that holds none of the scopes that would do.
func (s Shop) May(need ...Scope) error {
	if slices.ContainsFunc(need, s.Scope.Holds) {
		return nil
	}
	names := make([]string, len(need))
	for i, n := range need {
		names[i] = "“" + string(n) + "”"
	}
	return &Error{Kind: Forbidden, Scopes: need,
		Detail: "this needs a key with the scope " + strings.Join(names, " or ") + ", and this key has “" + string(s.Scope) + "”"}
}

// unpublished is what a storefront is told of a style that it may not order, whether there is one or
// not.
func unpublished(style string) *Error {
	return &Error{Kind: Invalid, Detail: "the run can't be made as it was ordered", Faults: pattern.Faults{{
		Rule: "unpublished_style", Pointer: "/style", Detail: "this shop has published no style " + quote(style),
		Remedy: "publish the style first, or mend the name",
	}}}
}

// Actor is who asks, as far as it matters to what is done: it travels with the request. The zero
// Actor is the operator, at this machine.
type Actor struct {
	KeyID   string
	Address string
	Scope   Scope
	Sandbox bool
}

// sees says whether a run is there for whoever asks: a storefront sees what it has ordered itself.
func (a Actor) sees(r Run) bool { return a.Scope != ScopeStorefront || r.OrderedBy == a.KeyID }

type actorKey struct{}

// WithActor says who asks.
func WithActor(ctx context.Context, a Actor) context.Context {
	return context.WithValue(ctx, actorKey{}, a)
}

// ActorOf answers who asks.
func ActorOf(ctx context.Context) Actor {
	a, _ := ctx.Value(actorKey{}).(Actor)
	return a
}
