package shop

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"strconv"
	"strings"
	"time"
)

// A key reads szr_<id>_<secret>: the id finds the row, the secret (32 random bytes, base32) proves
// the shop. The prefix lets scanners of leaked secrets recognise it.
const keyPrefix = "szr"

var secretText = base32.NewEncoding("abcdefghijklmnopqrstuvwxyz234567").WithPadding(base32.NoPadding)

const (
	secretBytes = 32
	secretChars = 52 // base32 of 32 bytes
	keyIDChars  = 16 // base32 of 10 bytes
)

var errUnauthorized = &Error{Kind: Unauthorized, Detail: "the request needs a valid key; send it as “Authorization: Bearer szr_…”"}

// KeyRequest is what a key shall be.
type KeyRequest struct {
	Scope       Scope
	Sandbox     bool
	Description string
}

// mostKeys bounds the keys of a shop that hold.
const mostKeys = 100

// AddKey makes a key that may do everything for the shop of that name, and the shop when it is new.
// The secret is shown this once.
func (s *Service) AddKey(ctx context.Context, shopName string) (secret string, err error) {
	_, secret, err = s.AddKeyFor(ctx, shopName, KeyRequest{Scope: ScopeAdmin})
	return secret, err
}

// AddKeyFor is AddKey for a key as it is asked for.
func (s *Service) AddKeyFor(ctx context.Context, shopName string, r KeyRequest) (Key, string, error) {
	name := strings.TrimSpace(shopName)
	if name == "" || !oneLine(name, 100) {
		return Key{}, "", &Error{Kind: Invalid, Detail: "a shop's name has 1 to 100 characters and no control characters"}
	}
	if err := r.check(); err != nil {
		return Key{}, "", err
	}
	sh, err := s.store.EnsureShop(ctx, Shop{ID: ShopID(s.newID("shop")), Name: name, CreatedAt: s.now()})
	if err != nil {
		return Key{}, "", err
	}
	return s.addKey(ctx, sh.ID, r)
}

func (s *Service) addKey(ctx context.Context, shop ShopID, r KeyRequest) (Key, string, error) {
	var id [10]byte
	rand.Read(id[:]) // never fails: it ends the program when the system has no randomness
	hash, secret := newSecret()
	k := Key{ID: secretText.EncodeToString(id[:]), Shop: shop, Hash: hash, Scope: r.Scope, Sandbox: r.Sandbox, Description: r.Description, CreatedAt: s.now()}
	ok, err := s.store.AddKey(ctx, k, mostKeys)
	if err != nil {
		return Key{}, "", err
	}
	if !ok {
		return Key{}, "", &Error{Kind: Conflict, Detail: "the shop has " + strconv.Itoa(mostKeys) + " keys that hold; revoke those that nobody uses"}
	}
	s.note(ctx, shop, DidMakeKey, k.ID)
	return k, k.spell(secret), nil
}

func newSecret() (hash [32]byte, text string) {
	var sec [secretBytes]byte
	rand.Read(sec[:])
	return sha256.Sum256(sec[:]), secretText.EncodeToString(sec[:])
}

// spell is the key as its owner writes it.
func (k Key) spell(secret string) string { return keyPrefix + "_" + k.ID + "_" + secret }

// Authenticate answers the shop that a bearer key belongs to. Every wrong key gets the same answer.
func (s *Service) Authenticate(ctx context.Context, bearer string) (Shop, error) {
	id, sum, ok := parseKey(bearer)
	if !ok {
		return Shop{}, errUnauthorized
	}
	now := s.now()
	e, at, known := s.keys.get(id, now)
	k, sh := e.key, e.sh
	// Another process may have rotated the key since it was looked at. A wrong secret makes the
	// database look again no more often than each second.
	if !known || (!k.opens(sum, now) && now.Sub(at) >= time.Second) {
		var err error
		k, sh, err = s.store.KeyByID(ctx, id)
		switch {
		case errors.Is(err, ErrAbsent):
			k = Key{} // and compare all the same: an unknown id takes no less time than a wrong secret
			s.keys.drop(id)
		case err != nil:
			return Shop{}, err
		default:
			at = now
			s.keys.put(id, knownKey{k, sh}, at)
		}
	}
	if !k.opens(sum, now) {
		return Shop{}, errUnauthorized
	}
	s.noteUse(ctx, k, sh, at, now)
	sh.KeyID, sh.Scope, sh.Sandbox = k.ID, k.Scope, k.Sandbox
	return sh, nil
}

// opens says whether a secret is this key's, or was until its last rotation and still holds.
func (k Key) opens(sum [32]byte, now time.Time) bool {
	is := subtle.ConstantTimeCompare(k.Hash[:], sum[:])
	was := subtle.ConstantTimeCompare(k.OldHash[:], sum[:])
	return k.ID != "" && (is == 1 || (was == 1 && now.Before(k.OldUntil)))
}

// usedEvery is how coarsely it is kept when a key was last used: a write a request would cost more
// than it tells.
const usedEvery = 10 * time.Minute

// noteUse keeps the use of a key that was looked up at at.
func (s *Service) noteUse(ctx context.Context, k Key, sh Shop, at, now time.Time) {
	if now.Sub(k.UsedAt) < usedEvery {
		return
	}
	k.UsedAt = now
	s.keys.put(k.ID, knownKey{k, sh}, at) // first, so that the next request does not write it too
	if err := s.store.KeyUsed(ctx, k.ID, now); err != nil && ctx.Err() == nil {
		s.log.WarnContext(ctx, "the use of a key was not noted", "key", k.ID, "error", err)
	}
}

func parseKey(bearer string) (id string, sum [32]byte, ok bool) {
	if len(bearer) != len(keyPrefix)+1+keyIDChars+1+secretChars {
		return "", sum, false
	}
	prefix, rest, _ := strings.Cut(bearer, "_")
	id, secret, _ := strings.Cut(rest, "_")
	if prefix != keyPrefix || len(id) != keyIDChars {
		return "", sum, false
	}
	raw, err := secretText.DecodeString(secret)
	// The last letter carries spare bits that decoding lets pass: one secret has one spelling only.
	if err != nil || len(raw) != secretBytes || secretText.EncodeToString(raw) != secret {
		return "", sum, false
	}
	return id, sha256.Sum256(raw), true
}

// knownKey is a key with its shop, as it is remembered. A key that was revoked elsewhere still opens the
// door here for as long as that.
type knownKey struct {
	key Key
	sh  Shop
}
