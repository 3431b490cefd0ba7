package api

import (
	"fmt"
	"io"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"
	"time"
	"unicode"

	"sizerun/internal/shop"
)

// mediaTypes is what files are sent as; anything else is just bytes.
var mediaTypes = map[string]bool{"application/pdf": true, "application/json": true, "application/zip": true}

func (a *API) getFile(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	return a.sendFile(x, s, id, forEver)
}

func (a *API) sendFile(x *exchange, s shop.ShopID, id string, keep int) error {
	f, rd, err := a.svc.OpenFile(x.Request().Context(), s, id)
	if err != nil {
		return err
	}
	defer func() { _ = rd.Close() }() // it was only read
	return download{name: f.Name, mediaType: f.MediaType, tag: f.SHA256, bytes: f.Bytes, keep: keep}.send(x, rd)
}

// download is bytes on their way to whoever keeps them: they never change under their address.
type download struct {
	name, mediaType, tag string
	bytes                int64
	keep                 int // seconds that a copy may be kept
}

// head sets what is told of the bytes besides themselves.
func (d download) head(x *exchange) {
	h := x.Response().Header()
	h.Set("ETag", `"`+d.tag+`"`)
	h.Set("Accept-Ranges", "bytes")
	h.Set("Content-Disposition", attachment(d.name))
	h.Set("Cache-Control", "private, max-age="+strconv.Itoa(d.keep)+", immutable")
}

// send answers GET and HEAD. Conditions and ranges are the standard library's (RFC 9110); what it
// refuses is told as a problem.
func (d download) send(x *exchange, rd io.ReadSeeker) error {
	d.head(x)
	h := x.Response().Header()
	mediaType := d.mediaType
	if !mediaTypes[mediaType] {
		mediaType = "application/octet-stream"
	}
	h.Set("Content-Type", mediaType)
	r := x.Request()
	if strings.Contains(r.Header.Get("Range"), ",") {
		// Many small ranges cost more than the file; a server may pass over a Range (RFC 9110, 14.2).
		r = r.Clone(r.Context())
		r.Header.Del("Range")
	}
	rc := http.NewResponseController(x.Response().Writer)
	_ = rc.SetWriteDeadline(time.Now().Add(30*time.Second + time.Duration(d.bytes/slowestReader)*time.Second))
	w := &withheld{ResponseWriter: x.Response()}
	http.ServeContent(w, r, "", time.Time{}, rd)
	if w.status != 0 {
		h.Set("Cache-Control", "private, no-cache")
	}
	switch w.status {
	case 0:
		return nil
	case http.StatusPreconditionFailed:
		return refusal("precondition_failed", "the file does not have an ETag that If-Match asks for")
	case http.StatusRequestedRangeNotSatisfiable:
		h.Set("Content-Range", fmt.Sprintf("bytes */%d", d.bytes))
		return refusal("range_not_satisfiable", fmt.Sprintf("the file has %d bytes", d.bytes))
	}
	return fmt.Errorf("%s could not be sent: %d", oneLine(d.name, 80), w.status)
}

// withheld lets an answer through and keeps a refusal back, so that it can be told in our own way.
type withheld struct {
	http.ResponseWriter
	status int // of the refusal; 0 when there was none
}

func (w *withheld) WriteHeader(status int) {
	if status >= 400 {
		w.status = status
		return
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *withheld) Write(b []byte) (int, error) {
	if w.status != 0 {
		return len(b), nil
	}
	return w.ResponseWriter.Write(b)
}

// attachment makes a Content-Disposition (RFC 6266) whose plain name is safe everywhere, with the
// name as it was given beside it (RFC 8187) when that differs.
func attachment(name string) string {
	name = strings.ToValidUTF8(name, "_")
	safe := safeName(name, func(r rune) bool {
		return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r >= '0' && r <= '9' || r == '-' || r == '_' || r == '.'
	})
	full := safeName(name, func(r rune) bool {
		return unicode.IsPrint(r) && !strings.ContainsRune(`"*/:<>?\|;%`, r) && r != unicode.ReplacementChar
	})
	d := `attachment; filename="` + safe + `"`
	if full != safe {
		d += "; filename*=UTF-8''" + strings.ReplaceAll(url.QueryEscape(full), "+", "%20")
	}
	return d
}

// safeName replaces what is not ok, and keeps the name short, visible and with its ending.
func safeName(name string, ok func(rune) bool) string {
	const most = 100
	rs := []rune(name)
	for i, r := range rs {
		if !ok(r) {
			rs[i] = '_'
		}
	}
	if len(rs) > most {
		ending := []rune(path.Ext(string(rs)))
		ending = ending[:min(len(ending), 10)]
		rs = append(rs[:most-len(ending)], ending...)
	}
	// A name that begins with a dot is hidden, one that begins with a dash is taken for an option.
	s := strings.TrimRight(strings.TrimLeft(string(rs), "-. "), ". ")
	if strings.Trim(s, "_.") == "" {
		return "file"
	}
	return s
}
