// Package shop holds the use cases of the service: what a pattern shop can ask for, and what a
// worker does about it. It knows neither HTTP nor SQL nor Redis.
//
//	Shop       who asks; every other thing belongs to one, and another shop's is as good as absent
//	Key        how a shop proves itself: 32 random bytes, of which only the SHA-256 is kept
//	Document   a block or a style, spoken of by name, kept in versions named by their content
//	Run        one order to make a style: queued → making → done | failed | cancelled, later expired; only forward
//	File       what a run delivers; the bytes are kept once by content, the file belongs to the run
//
// The database alone says what is true. A run is written together with an outbox row; Relay hands
// the row to the queue; a worker calls Perform with nothing but the run's id. The queue may deliver
// twice, late or never: Perform claims the run by raising its attempt, and everything it writes
// later carries that attempt as a fence, so that an overtaken worker's words are lost and not mixed
// in; Reconcile finds runs that nobody is at and writes them a new outbox row.
//
// Ports are declared in ports.go, with at most five methods each, and are implemented in store,
// queue, files and maker. Errors that a caller may act upon are of type *Error, of few kinds.
package shop
