package shop

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"sizerun/internal/document"
)

// How long a rotated key's old secret may go on holding.
const (
	DefaultGrace = 24 * time.Hour
	MaxGrace     = 30 * 24 * time.Hour
)

func (r KeyRequest) check() error {
	if !slices.Contains(Scopes(), r.Scope) {
		return misfit("key", "/scope", "the scope is "+quote(string(r.Scope)), "read, make, admin, storefront", "give what the key is for, and no more")
	}
	if r.Sandbox && r.Scope == ScopeAdmin {
		return misfit("key", "/scope", "a sandbox key is for trying things out, and can't look after the shop", "read, make, storefront", "make the sandbox key with the scope make")
	}
	return describes("key", r.Description)
}

// MakeKey makes a key for the shop, as a document asks for it. The secret is shown this once.
func (s *Service) MakeKey(ctx context.Context, shop ShopID, raw []byte) (Key, string, error) {
	d, err := document.DecodeKey(raw, s.terms.Documents)
	if err != nil {
		return Key{}, "", invalid(err, "the key can't be like this")
	}
	r := KeyRequest{Scope: Scope(d.Scope), Sandbox: d.Sandbox, Description: d.Description}
	if err := r.check(); err != nil {
		return Key{}, "", err
	}
	return s.addKey(ctx, shop, r)
}

// Keys lists the shop's keys, those that were revoked too, the newest first.
func (s *Service) Keys(ctx context.Context, shop ShopID, cursor string, limit int) ([]Key, string, error) {
	limit, err := pageSize(limit)
	if err != nil {
		return nil, "", err
	}
	before, err := readPlace("key", cursor)
	if err != nil {
		return nil, "", err
	}
	ks, err := s.store.ListKeys(ctx, shop, before, limit+1)
	if err != nil || len(ks) <= limit {
		return ks, "", err
	}
	last := ks[limit-1]
	return ks[:limit], placeCursor("key", last.CreatedAt, last.ID), nil
}

// Key answers one key of the shop.
func (s *Service) Key(ctx context.Context, shop ShopID, id string) (Key, error) {
	k, err := s.store.Key(ctx, shop, id)
	if errors.Is(err, ErrAbsent) {
		err = notFound("key", id)
	}
	return k, err
}

// RotateKey gives a key a new secret, shown this once; the old one holds beside it for the grace, so
// that whoever uses it can change over. A grace of 0 ends the old one at once, here, and in other
// processes within latelyFor.
func (s *Service) RotateKey(ctx context.Context, shop ShopID, id string, grace time.Duration) (Key, string, error) {
	if grace < 0 || grace > MaxGrace {
		return Key{}, "", &Error{Kind: Invalid, Detail: "the old secret holds for 0 to 2592000 seconds"}
	}
	defer s.keys.drop(id)
	hash, secret := newSecret()
	err := s.store.RotateKey(ctx, shop, id, hash, s.now().Add(grace))
	if errors.Is(err, ErrAbsent) {
		k, err := s.Key(ctx, shop, id)
		if err != nil {
			return Key{}, "", err
		}
		return k, "", &Error{Kind: Conflict, Detail: "the key was revoked, and does not come back; make a new one"}
	}
	if err != nil {
		return Key{}, "", err
	}
	s.note(ctx, shop, DidRotateKey, id)
	k, err := s.Key(ctx, shop, id)
	return k, k.spell(secret), err
}

// RevokeKey makes a key worthless, here at once and in other processes within latelyFor.
func (s *Service) RevokeKey(ctx context.Context, shop ShopID, keyID string) error {
	defer s.keys.drop(keyID)
	err := s.store.RevokeKey(ctx, shop, keyID, s.now())
	if errors.Is(err, ErrAbsent) {
		return notFound("key", keyID)
	}
	if err == nil {
		s.note(ctx, shop, DidRevokeKey, keyID)
	}
	return err
}

// ShopNamed finds a shop for the operator.
func (s *Service) ShopNamed(ctx context.Context, name string) (Shop, error) {
	sh, err := s.store.ShopNamed(ctx, strings.TrimSpace(name))
	if errors.Is(err, ErrAbsent) {
		err = &Error{Kind: NotFound, Detail: "there is no shop " + quote(name)}
	}
	return sh, err
}
