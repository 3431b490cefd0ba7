// Package migrations holds the database's schema, a folder per dialect, in goose's numbering.
//
// Both folders hold the same tables with the same columns; they differ in types alone: times are
// TIMESTAMPTZ in PostgreSQL and INTEGER microseconds since 1970 in SQLite, bytes are BYTEA and BLOB.
//
// A migration first expands and only a later release contracts, so that the binary of the release
// before runs on the new schema while machines are being replaced.
package migrations

import "embed"

// Postgres and SQLite hold the migrations, each in a folder of that name in lower case.
var (
	//go:embed postgres/*.sql
	Postgres embed.FS
	//go:embed sqlite/*.sql
	SQLite embed.FS
)
