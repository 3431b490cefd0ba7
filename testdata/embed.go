// Package testdata carries the demo of the invented shop Rookery Lane Patterns inside the binary:
// its blocks and styles, the same files that the tests read.
package testdata

import "embed"

// Files holds blocks/*.json and styles/*.json.
//
//go:embed blocks/*.json styles/*.json
var Files embed.FS
