package api

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/labstack/echo/v4"

	"sizerun/internal/shop"
)

// exchange is one request and its answer.
type exchange struct {
	echo.Context
	id    string    // the request's, in every answer and every log line
	shop  shop.Shop // who asks, once the key is known to hold
	cause error     // what lies behind a problem, for the log
	// caller ends when the caller is gone; unlike the request's own context it has no deadline.
	caller context.Context
}

const headerRequestID = "X-Request-Id"

// requestID takes over a caller's id when it is harmless, so that logs can be joined, and makes one
// otherwise.
func requestID(r *http.Request) string {
	id := r.Header.Get(headerRequestID)
	if len(id) == 0 || len(id) > 64 {
		return rand.Text()
	}
	for i := range len(id) {
		c := id[i]
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_' || c == '.') {
			return rand.Text()
		}
	}
	return id
}

// part is a part of the path, unescaped. What could not be the name or id of anything is answered
// like any other unknown one, and asked of nobody.
func (x *exchange) part(name string) (string, error) {
	s := x.Param(name)
	if x.Request().URL.RawPath != "" {
		var err error
		if s, err = url.PathUnescape(s); err != nil {
			return "", refusal("not_found", "there is no such path")
		}
	}
	const most = 200
	if s == "" || len(s) > most || !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
		return "", refusal("not_found", "there is no such thing in this shop")
	}
	return s, nil
}

// page reads a list's parameters. Parameters that a route does not know are passed over, as HTTP
// caches and links do add some.
func (x *exchange) page() (cursor string, limit int, err error) {
	q := x.QueryParams()
	for _, name := range []string{"cursor", "limit"} {
		if len(q[name]) > 1 {
			return "", 0, badParameter(name, name+" is given "+strconv.Itoa(len(q[name]))+" times", "once", "leave all but one out")
		}
	}
	cursor = q.Get("cursor")
	if len(cursor) > 1000 || !shop.CursorReadable(cursor) {
		return "", 0, badParameter("cursor", "this is no cursor of ours", "next_cursor of the page before", "leave it out to begin at the start")
	}
	limit = shop.DefaultPage
	if q.Has("limit") {
		text := q.Get("limit")
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > shop.MaxPage || text[0] == '+' {
			return "", 0, badParameter("limit", "limit is "+oneLine(text, 40), "1 to "+strconv.Itoa(shop.MaxPage), "ask for fewer, and for the next page by next_cursor")
		}
		limit = n
	}
	return cursor, limit, nil
}

const longestWait = 30 * time.Second

// wait reads how long the caller prefers to wait (RFC 7240), and says in the answer what it gets.
// A preference that can't be read is passed over, as the RFC has it; so are all others.
func (x *exchange) wait() time.Duration {
	for _, line := range x.Request().Header.Values("Prefer") {
		for one := range strings.SplitSeq(line, ",") {
			one, _, _ = strings.Cut(one, ";") // parameters of a preference: none are known
			name, value, _ := strings.Cut(one, "=")
			if !strings.EqualFold(strings.TrimSpace(name), "wait") {
				continue
			}
			n, err := strconv.ParseUint(strings.Trim(strings.TrimSpace(value), `"`), 10, 31)
			if err != nil {
				return 0
			}
			d := min(time.Duration(n)*time.Second, longestWait)
			x.Response().Header().Set("Preference-Applied", "wait="+strconv.Itoa(int(d/time.Second)))
			return d
		}
	}
	return 0
}

// idempotencyKey reads the header, in quotes (a structured string, as the draft has it) or bare.
func (x *exchange) idempotencyKey() (shop.IdempotencyKey, error) {
	const name = "Idempotency-Key"
	vs := x.Request().Header.Values(name)
	if len(vs) == 0 {
		return shop.IdempotencyKey{}, nil
	}
	k := vs[0]
	if len(k) >= 2 && k[0] == '"' && k[len(k)-1] == '"' {
		k = k[1 : len(k)-1]
	}
	ok := len(vs) == 1 && len(k) >= 1 && len(k) <= shop.MaxIdempotencyKey
	for i := range len(k) {
		ok = ok && k[i] > ' ' && k[i] < 0x7f
	}
	if !ok {
		return shop.IdempotencyKey{}, badParameter(name, "the key can't be used", "1 to "+strconv.Itoa(shop.MaxIdempotencyKey)+" visible ASCII characters, once", "send a new random one, such as a UUID, with every new order")
	}
	return shop.IdempotencyKey{Key: k, Scope: x.Request().Method + " " + x.Path()}, nil
}

// answer sends JSON.
func (x *exchange) answer(status int, v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return x.send(status, "application/json", append(b, '\n'))
}

// answerTagged sends JSON under a strong ETag, or 304 when the caller has these very bytes.
func (x *exchange) answerTagged(v any) error {
	b, err := json.Marshal(v)
	if err != nil {
		return err
	}
	b = append(b, '\n')
	return x.sendTagged("application/json", b)
}

func (x *exchange) sendTagged(mediaType string, b []byte) error {
	sum := sha256.Sum256(b)
	tag := `"` + hex.EncodeToString(sum[:]) + `"`
	x.Response().Header().Set("ETag", tag)
	if has(x.Request().Header.Values("If-None-Match"), tag) {
		return x.NoContent(http.StatusNotModified)
	}
	return x.send(http.StatusOK, mediaType, b)
}

// has reports whether one of the If-None-Match lists names the tag (weak comparison, RFC 9110,
// 13.1.2). Our tags hold no comma, so a list may be cut at every one.
func has(lists []string, tag string) bool {
	for _, l := range lists {
		for t := range strings.SplitSeq(l, ",") {
			t = strings.TrimSpace(t)
			if t == "*" || strings.TrimPrefix(t, "W/") == tag {
				return true
			}
		}
	}
	return false
}

func (x *exchange) send(status int, mediaType string, b []byte) error {
	x.Response().Header().Set(echo.HeaderContentLength, strconv.Itoa(len(b)))
	return x.Blob(status, mediaType, b)
}

// oneLine makes text from outside fit for a log line or a message: short, on one line, and read
// in the direction that it was written in.
func oneLine(s string, most int) string {
	var b strings.Builder
	n := 0
	for _, r := range s {
		if n++; n > most {
			b.WriteRune('…')
			break
		}
		if !unicode.IsPrint(r) {
			r = '\uFFFD'
		}
		b.WriteRune(r)
	}
	return b.String()
}
