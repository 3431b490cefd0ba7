package api

import (
	"errors"
	"io"
	"net/http"
	"os"
	"strconv"
	"time"

	"sizerun/internal/shop"
)

// linkWire is a link to a download that needs no key.
type linkWire struct {
	URL       string  `json:"url"`
	ExpiresAt *string `json:"expires_at"`
}

func (a *API) linkFile(x *exchange, s shop.ShopID) error {
	return a.link(x, func(id string, life time.Duration) (shop.Link, error) {
		return a.svc.LinkFile(x.Request().Context(), s, id, life)
	})
}

func (a *API) linkArchive(x *exchange, s shop.ShopID) error {
	return a.link(x, func(id string, life time.Duration) (shop.Link, error) {
		return a.svc.LinkArchive(x.Request().Context(), s, id, life)
	})
}

func (a *API) link(x *exchange, make func(id string, life time.Duration) (shop.Link, error)) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	life, err := x.life()
	if err != nil {
		return err
	}
	l, err := make(id, life)
	if err != nil {
		return err
	}
	x.Response().Header().Set("Cache-Control", "no-store") // it opens a door by itself
	return x.answer(http.StatusCreated, linkWire{URL: a.base + l.Path, ExpiresAt: stamp(l.ExpiresAt)})
}

// life reads how long a link shall live.
func (x *exchange) life() (time.Duration, error) {
	return x.seconds("expires_in", shop.DefaultLinkLife, shop.MinLinkLife, shop.MaxLinkLife)
}

// seconds reads a span of time from the address.
func (x *exchange) seconds(name string, def, lo, hi time.Duration) (time.Duration, error) {
	q := x.QueryParams()
	if !q.Has(name) {
		return def, nil
	}
	text := q.Get(name)
	n, err := strconv.Atoi(text)
	if d := time.Duration(n) * time.Second; err == nil && len(q[name]) == 1 && text[0] != '+' && n < 1<<30 && d >= lo && d <= hi {
		return d, nil
	}
	return 0, badParameter(name, name+" is "+oneLine(text, 40), strconv.Itoa(int(lo/time.Second))+" to "+strconv.Itoa(int(hi/time.Second))+" seconds, once", "leave it out for a day")
}

// linked says whose thing a link is for, and until when. Guessing is slowed down like guessing keys.
func (a *API) linked(x *exchange, id string) (shop.ShopID, time.Time, error) {
	r := x.Request()
	if wait := a.wrong.wait(x.RealIP(), time.Now()); wait > 0 {
		return "", time.Time{}, &problem{kind: "too_many", detail: "too many wrong links came from this address", retry: wait}
	}
	s, until, err := a.svc.FollowLink(r.Context(), r.URL.EscapedPath(), id, x.QueryParams())
	if e, ok := errors.AsType[*shop.Error](err); ok && e.Kind == shop.Forbidden {
		a.wrong.note(x.RealIP(), time.Now())
		err = &problem{kind: "link_broken", detail: e.Detail}
	}
	return s, until, err
}

// getLinked answers a link: nobody is asked for a key.
func (a *API) getLinked(x *exchange) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	s, until, err := a.linked(x, id)
	if err != nil {
		return err
	}
	// What a link shows never changes; a copy may be kept as long as the link holds.
	keep := max(0, int(time.Until(until)/time.Second))
	h := x.Response().Header()
	h.Set("X-Robots-Tag", "noindex")
	if shop.IsRunID(id) {
		err = a.sendArchive(x, s, id, keep)
	} else {
		err = a.sendFile(x, s, id, keep)
	}
	if shop.KindOf(err) == shop.NotFound {
		return refusal("not_found", "what the link was for has been deleted")
	}
	return err
}

func (a *API) getArchive(x *exchange, s shop.ShopID) error {
	id, err := x.part("id")
	if err != nil {
		return err
	}
	return a.sendArchive(x, s, id, forEver)
}

// forEver is a year, which is what caches take for it (RFC 9111, 1.2.2: a larger number means no more).
const forEver = 365 * 24 * 60 * 60

// archivesAtOnce bounds the archives that are put together at once, which lie in temporary files.
const archivesAtOnce = 8

// sendArchive puts the archive together in a temporary file, for its length has to be told before it
// and a part of it may be asked for.
func (a *API) sendArchive(x *exchange, s shop.ShopID, id string, keep int) error {
	ctx := x.Request().Context()
	ar, err := a.svc.Archive(ctx, s, id)
	if err != nil {
		return err
	}
	d := download{name: ar.Name, mediaType: "application/zip", tag: ar.Tag, keep: keep}
	if has(x.Request().Header.Values("If-None-Match"), `"`+ar.Tag+`"`) {
		d.head(x)
		return x.NoContent(http.StatusNotModified)
	}
	select {
	case a.archives <- struct{}{}:
		defer func() { <-a.archives }()
	case <-ctx.Done():
		return ctx.Err()
	}
	f, err := os.CreateTemp("", "sizerun-archive-*")
	if err != nil {
		return err
	}
	defer func() {
		_ = f.Close() // it was only read since
		_ = os.Remove(f.Name())
	}()
	if err := a.svc.WriteArchive(ctx, ar, f); err != nil {
		return err
	}
	if d.bytes, err = f.Seek(0, io.SeekEnd); err != nil {
		return err
	}
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return err
	}
	return d.send(x, f)
}
