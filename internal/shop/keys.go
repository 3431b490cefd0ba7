package shop

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/base32"
	"errors"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"
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

// AddKey makes a key for the shop of that name, and the shop when it is new. The secret is shown
// this once.
func (s *Service) AddKey(ctx context.Context, shopName string) (secret string, err error) {
	name := strings.TrimSpace(shopName)
	if n := utf8.RuneCountInString(name); n == 0 || n > 100 || !utf8.ValidString(name) || strings.ContainsFunc(name, unicode.IsControl) {
		return "", &Error{Kind: Invalid, Detail: "a shop's name has 1 to 100 characters and no control characters"}
	}
	now := s.now()
	sh, err := s.store.EnsureShop(ctx, Shop{ID: ShopID(s.newID("shop")), Name: name, CreatedAt: now})
	if err != nil {
		return "", err
	}
	var id [10]byte
	var sec [secretBytes]byte
	rand.Read(id[:]) // never fails: it ends the program when the system has no randomness
	rand.Read(sec[:])
	k := Key{ID: secretText.EncodeToString(id[:]), Shop: sh.ID, Hash: sha256.Sum256(sec[:]), CreatedAt: now}
	if err := s.store.AddKey(ctx, k); err != nil {
		return "", err
	}
	return keyPrefix + "_" + k.ID + "_" + secretText.EncodeToString(sec[:]), nil
}

// RevokeKey makes a key worthless, here at once and in other processes within keyCacheFor.
func (s *Service) RevokeKey(ctx context.Context, shop ShopID, keyID string) error {
	defer s.keys.drop(keyID)
	err := s.store.RevokeKey(ctx, shop, keyID, s.now())
	if errors.Is(err, ErrAbsent) {
		return notFound("key", keyID)
	}
	return err
}

// Authenticate answers the shop that a bearer key belongs to. Every wrong key gets the same answer.
func (s *Service) Authenticate(ctx context.Context, bearer string) (Shop, error) {
	id, sum, ok := parseKey(bearer)
	if !ok {
		return Shop{}, errUnauthorized
	}
	now := s.now()
	k, sh, ok := s.keys.get(id, now)
	if !ok {
		var err error
		k, sh, err = s.store.KeyByID(ctx, id)
		switch {
		case errors.Is(err, ErrAbsent):
			k = Key{} // and compare all the same: an unknown id takes no less time than a wrong secret
		case err != nil:
			return Shop{}, err
		default:
			s.keys.put(k, sh, now)
		}
	}
	if subtle.ConstantTimeCompare(k.Hash[:], sum[:]) != 1 || k.ID == "" {
		return Shop{}, errUnauthorized
	}
	sh.KeyID = k.ID
	return sh, nil
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

// keyCacheFor bounds how long a key that was revoked elsewhere still opens the door here.
const keyCacheFor = 30 * time.Second

// keyCacheMost bounds the cache; a full one is emptied. Only keys that exist get in, so that
// guessing does not flush it.
const keyCacheMost = 4096

type keyCache struct {
	mu sync.Mutex
	m  map[string]cachedKey
}

type cachedKey struct {
	key Key
	sh  Shop
	at  time.Time
}

func (c *keyCache) get(id string, now time.Time) (Key, Shop, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.m[id]
	if !ok || now.Sub(e.at) > keyCacheFor || now.Before(e.at) {
		return Key{}, Shop{}, false
	}
	return e.key, e.sh, true
}

func (c *keyCache) put(k Key, sh Shop, now time.Time) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.m == nil || len(c.m) >= keyCacheMost {
		c.m = make(map[string]cachedKey)
	}
	c.m[k.ID] = cachedKey{k, sh, now}
}

func (c *keyCache) drop(id string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	delete(c.m, id)
}
