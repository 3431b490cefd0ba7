// Package workroom is where documents become files: it decodes a block, a style and a run, makes
// the pattern (package maker), lays it on paper (sheet), writes it (write/pdf) and tells the report
// as JSON. The command line, a request and a worker all come through here; Room is the Maker that
// package shop asks for.
package workroom
