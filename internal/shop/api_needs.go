package shop

import (
	"encoding/base64"
	"errors"
	"strings"
	"unicode"
	"unicode/utf8"
)

// KeyReused says whether err refuses an idempotency key because it came with another body.
func KeyReused(err error) bool { return errors.Is(err, errKeyReused) }

// CursorReadable says whether a cursor holds nothing but text that a database can be asked with.
// One that was made up may hold anything, and PostgreSQL fails over a NUL or over what is not UTF-8.
func CursorReadable(cursor string) bool {
	b, err := base64.RawURLEncoding.DecodeString(cursor)
	return err == nil && utf8.Valid(b) && !strings.ContainsFunc(string(b), func(r rune) bool { return r != '\n' && unicode.IsControl(r) })
}
