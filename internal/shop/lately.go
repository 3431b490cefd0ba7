package shop

import (
	"sync"
	"time"
)

// lately remembers what the store has answered for a short while, so that not every request asks it.
// What was changed elsewhere is not noticed for as long.
type lately[K comparable, V any] struct {
	mu sync.Mutex
	m  map[K]answered[V]
}

type answered[V any] struct {
	v  V
	at time.Time
}

const (
	latelyFor = 30 * time.Second
	// latelyMost bounds what is remembered; when it is full it is emptied. Only what there is gets in, so
	// that guessing does not flush it.
	latelyMost = 4096
)

// get answers what is remembered of k, and since when.
func (l *lately[K, V]) get(k K, now time.Time) (v V, at time.Time, ok bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	e, ok := l.m[k]
	if !ok || now.Sub(e.at) > latelyFor || now.Before(e.at) {
		return v, time.Time{}, false
	}
	return e.v, e.at, true
}

func (l *lately[K, V]) put(k K, v V, at time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.m == nil || len(l.m) >= latelyMost {
		l.m = make(map[K]answered[V])
	}
	l.m[k] = answered[V]{v, at}
}

func (l *lately[K, V]) drop(k K) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.m, k)
}
