package shop

import (
	"encoding/base64"
	"strconv"
	"strings"
	"time"
)

// A cursor is opaque to the caller and is no permission: it tells a place in one kind of list, and
// the list is still the caller's own shop's. The kind is written in it, so that a cursor of one
// list is refused by another.

func cursorOf(kind string, parts ...string) string {
	return base64.RawURLEncoding.EncodeToString([]byte(kind + "\n" + strings.Join(parts, "\n")))
}

var errCursor = &Error{Kind: Malformed, Detail: "the cursor is not one of this list; leave it out to begin at the start, or use next_cursor as it was given"}

func readCursor(kind, cursor string, n int) ([]string, error) {
	if len(cursor) > 1000 {
		return nil, errCursor
	}
	b, err := base64.RawURLEncoding.DecodeString(cursor)
	if err != nil {
		return nil, errCursor
	}
	parts := strings.Split(string(b), "\n")
	if len(parts) != n+1 || parts[0] != kind {
		return nil, errCursor
	}
	return parts[1:], nil
}

func runCursor(r Run) string { return placeCursor("run", r.CreatedAt, r.ID) }

func readRunCursor(cursor string) (RunPlace, error) { return readPlace("run", cursor) }

// placeCursor is a place in a list by time.
func placeCursor(kind string, at time.Time, id string) string {
	return cursorOf(kind, strconv.FormatInt(at.UnixMicro(), 36), id)
}

func readPlace(kind, cursor string) (RunPlace, error) {
	if cursor == "" {
		return RunPlace{}, nil
	}
	p, err := readCursor(kind, cursor, 2)
	if err != nil {
		return RunPlace{}, err
	}
	us, err := strconv.ParseInt(p[0], 36, 64)
	if err != nil || us < 0 || us > 1<<55 {
		return RunPlace{}, errCursor
	}
	return RunPlace{CreatedAt: time.UnixMicro(us).UTC(), ID: p[1]}, nil
}

// pageSize: 0 is the default, anything out of range is refused rather than quietly cut.
func pageSize(limit int) (int, error) {
	if limit == 0 {
		return DefaultPage, nil
	}
	if limit < 1 || limit > MaxPage {
		return 0, &Error{Kind: Invalid, Detail: "limit is from 1 to " + strconv.Itoa(MaxPage) + ", " + strconv.Itoa(DefaultPage) + " when it is left out"}
	}
	return limit, nil
}
