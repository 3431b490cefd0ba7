package shop

import (
	"context"
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"net/url"
	"strconv"
	"sync"
	"time"
)

// A link lets whoever holds it download one thing until it expires, without a key: a buyer in a mail, a
// storefront's page. It reads /d/<id>/<name>?expires=…&key=…&signature=…, or /e/<id>?… to follow a run; the signature is HMAC-SHA256
// over method, path (and in it the name), expiry and key id.

// How long a link may live.
const (
	MinLinkLife     = time.Minute
	DefaultLinkLife = 24 * time.Hour
	MaxLinkLife     = 30 * 24 * time.Hour
)

// Link is where a thing can be had until it expires. Path carries its query.
type Link struct {
	Path      string
	ExpiresAt time.Time
}

// What is wrong with a link. One that was changed tells nothing of what it was for.
var (
	errLinkForged  = &Error{Kind: Forbidden, Detail: "the link is not whole: ask for a new one, and take care that nothing is cut off its end"}
	errLinkExpired = &Error{Kind: Expired, Detail: "the link has expired: ask whoever sent it for a new one"}
)

// LinkFile makes a link to a file of the shop.
func (s *Service) LinkFile(ctx context.Context, shop ShopID, id string, life time.Duration) (Link, error) {
	f, err := s.file(ctx, shop, id)
	if err != nil {
		return Link{}, err
	}
	return s.sign(ctx, f.ID, f.Name, life)
}

// LinkArchive makes a link to all files of a run in one.
func (s *Service) LinkArchive(ctx context.Context, shop ShopID, run string, life time.Duration) (Link, error) {
	a, err := s.Archive(ctx, shop, run)
	if err != nil {
		return Link{}, err
	}
	return s.sign(ctx, a.RunID, a.Name, life)
}

// LinkStream makes a link to follow a run by. What it is for is in its path, and so in its signature: no
// link opens another's door.
func (s *Service) LinkStream(ctx context.Context, shop ShopID, run string, life time.Duration) (Link, error) {
	r, err := s.Run(ctx, shop, run)
	if err != nil {
		return Link{}, err
	}
	return s.signPath(ctx, "/e/"+url.PathEscape(r.ID), life)
}

func (s *Service) sign(ctx context.Context, id, name string, life time.Duration) (Link, error) {
	return s.signPath(ctx, "/d/"+url.PathEscape(id)+"/"+url.PathEscape(name), life)
}

func (s *Service) signPath(ctx context.Context, path string, life time.Duration) (Link, error) {
	if life < MinLinkLife || life > MaxLinkLife {
		return Link{}, &Error{Kind: Invalid, Detail: "a link lives for 60 to 2592000 seconds"}
	}
	k, err := s.links.newest(ctx, s)
	if err != nil {
		return Link{}, err
	}
	at := s.now().Add(life).Truncate(time.Second)
	q := url.Values{"expires": {strconv.FormatInt(at.Unix(), 10)}, "key": {k.ID}, "signature": {signature(k, path, at.Unix())}}
	return Link{Path: path + "?" + q.Encode(), ExpiresAt: at}, nil
}

func signature(k LinkKey, path string, expires int64) string {
	h := hmac.New(sha256.New, k.Secret)
	// HEAD is allowed wherever GET is, so one word stands for both.
	h.Write([]byte("GET\n" + path + "\n" + strconv.FormatInt(expires, 10) + "\n" + k.ID))
	return base64.RawURLEncoding.EncodeToString(h.Sum(nil))
}

// FollowLink says whose thing a link is for, and until when. path is as it was sent, escaped.
func (s *Service) FollowLink(ctx context.Context, path, id string, q url.Values) (ShopID, time.Time, error) {
	expires, err := strconv.ParseInt(q.Get("expires"), 10, 64)
	if err != nil || strconv.FormatInt(expires, 10) != q.Get("expires") || len(q["expires"]) != 1 || len(q["key"]) != 1 || len(q["signature"]) != 1 {
		return "", time.Time{}, errLinkForged
	}
	k, err := s.links.find(ctx, s, q.Get("key"))
	if err != nil {
		return "", time.Time{}, err
	}
	// An unknown key is compared like a known one: what is guessed takes the same time.
	if ok := hmac.Equal([]byte(signature(k, path, expires)), []byte(q.Get("signature"))); !ok || k.ID == "" {
		return "", time.Time{}, errLinkForged
	}
	until := time.Unix(expires, 0)
	if !s.now().Before(until) {
		return "", time.Time{}, errLinkExpired
	}
	sh, err := s.store.Owner(ctx, id)
	if errors.Is(err, ErrAbsent) {
		err = &Error{Kind: NotFound, Detail: "what the link was for has been deleted"}
	}
	return sh, until, err
}

// RotateLinks makes a new key for links. Older ones are believed until the last link signed with them
// has expired; with at once, no link that is out there works any more.
func (s *Service) RotateLinks(ctx context.Context, atOnce bool) error {
	k := newLinkKey(s.now())
	if err := s.store.AddLinkKey(ctx, k); err != nil {
		return err
	}
	if atOnce {
		if _, err := s.store.DropLinkKeys(ctx, k.CreatedAt); err != nil {
			return err
		}
	}
	s.links.drop()
	return nil
}

// dropLinkKeys forgets keys whose last link has expired.
func (s *Service) dropLinkKeys(ctx context.Context) error {
	ks, err := s.store.LinkKeys(ctx)
	if err != nil {
		return err
	}
	for i := 1; i < len(ks); i++ { // ks[i] was the newest until ks[i-1] came
		if s.now().Sub(ks[i-1].CreatedAt) > MaxLinkLife+linkKeysFor {
			_, err := s.store.DropLinkKeys(ctx, ks[i-1].CreatedAt)
			return err
		}
	}
	return nil
}

func newLinkKey(at time.Time) LinkKey {
	k := LinkKey{ID: rand.Text()[:8], Secret: make([]byte, 32), CreatedAt: at}
	rand.Read(k.Secret) // never fails: it ends the program when the system has no randomness
	return k
}

// linkKeysFor is how long keys are remembered here before the store is asked again, and so how long a key
// that was dropped elsewhere is still believed.
const linkKeysFor = 30 * time.Second

// linkKeys remembers the keys.
type linkKeys struct {
	mu sync.Mutex
	ks []LinkKey
	at time.Time
}

func (l *linkKeys) all(ctx context.Context, s *Service) ([]LinkKey, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := s.now()
	if age := now.Sub(l.at); len(l.ks) > 0 && age >= 0 && age < linkKeysFor {
		return l.ks, nil
	}
	ks, err := s.store.LinkKeys(ctx)
	if err != nil {
		return nil, err
	}
	l.ks, l.at = ks, now
	return ks, nil
}

func (l *linkKeys) newest(ctx context.Context, s *Service) (LinkKey, error) {
	ks, err := l.all(ctx, s)
	if err != nil || len(ks) > 0 {
		return first(ks), err
	}
	// The first link there ever was. When two processes come to this at once there are two keys, and
	// both are believed.
	k := newLinkKey(s.now())
	if err := s.store.AddLinkKey(ctx, k); err != nil {
		return LinkKey{}, err
	}
	l.drop()
	return k, nil
}

func first(ks []LinkKey) LinkKey {
	if len(ks) == 0 {
		return LinkKey{}
	}
	return ks[0]
}

// find answers the key of that id, or one that fits nothing. A key that is not known here may have been
// made elsewhere a moment ago: the store is asked, but for guesses not more than once a second.
func (l *linkKeys) find(ctx context.Context, s *Service, id string) (LinkKey, error) {
	for again := range 2 {
		ks, err := l.all(ctx, s)
		if err != nil {
			return LinkKey{}, err
		}
		for _, k := range ks {
			if k.ID == id {
				return k, nil
			}
		}
		if again == 0 && !l.stale(s.now()) {
			break
		}
	}
	return LinkKey{Secret: make([]byte, 32)}, nil
}

// stale drops what is remembered if it is older than a second.
func (l *linkKeys) stale(now time.Time) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if age := now.Sub(l.at); age >= 0 && age < time.Second {
		return false
	}
	l.ks = nil
	return true
}

func (l *linkKeys) drop() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.ks = nil
}
