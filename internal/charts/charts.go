// Package charts carries the size charts that come with the service: one file a chart, each value marked
// with where it is from. A chart is a starting point; a shop that knows its customers brings its own.
package charts

import "embed"

// Files holds NAME.json.
//
//go:embed *.json
var Files embed.FS
