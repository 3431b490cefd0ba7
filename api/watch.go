package api

import (
	"context"
	"net/http"
)

// Watch is told of every exchange, by whoever counts and follows them.
type Watch interface {
	// Asked is told of a request, and the pattern of the route that it fits, empty when it fits none. The
	// exchange goes on under the context that it answers, and ends with the status.
	Asked(r *http.Request, route string) (context.Context, func(status int))
}

type unwatched struct{}

func (unwatched) Asked(r *http.Request, _ string) (context.Context, func(int)) {
	return r.Context(), func(int) {}
}
