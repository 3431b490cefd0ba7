package shop_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"sizerun/internal/shop"
)

func TestWhatEachScopeMay(t *testing.T) {
	for has, may := range map[shop.Scope]string{
		shop.ScopeRead: "read", shop.ScopeMake: "read make", shop.ScopeAdmin: "read make admin", shop.ScopeStorefront: "storefront", "": "", "owner": "owner",
	} {
		for _, need := range shop.Scopes() {
			if want := strings.Contains(may, string(need)) && need != ""; has.Holds(need) != want {
				t.Errorf("a key for %q and what needs %q: %v", has, need, !want)
			}
		}
	}
	err := shop.Shop{Scope: shop.ScopeRead}.May(shop.ScopeMake, shop.ScopeStorefront)
	if shop.KindOf(err) != shop.Forbidden || !strings.Contains(err.Error(), "“make” or “storefront”") || !strings.Contains(err.Error(), "“read”") {
		t.Errorf("it is refused with %v", err)
	}
	if err := (shop.Shop{Scope: shop.ScopeStorefront}).May(shop.ScopeMake, shop.ScopeStorefront); err != nil {
		t.Error(err)
	}
}

func TestARotatedKeyHoldsThroughItsGraceAndNoLonger(t *testing.T) {
	h := open(t, nil)
	k, old, err := h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "make", "description": "web shop"}`))
	h.ok(err)
	opens := func(secret string, want bool) {
		t.Helper()
		s, err := h.Authenticate(h.ctx, secret)
		if !want {
			h.refused(err, shop.Unauthorized)
		} else if err != nil || s.KeyID != k.ID || s.Scope != shop.ScopeMake || s.Sandbox {
			t.Errorf("%+v, %v", s, err)
		}
	}
	opens(old, true)
	_, renewed, err := h.RotateKey(h.ctx, h.shop, k.ID, time.Hour)
	h.ok(err)
	opens(old, true)
	opens(renewed, true)
	h.clock.Pass(59 * time.Minute)
	opens(old, true)
	h.clock.Pass(time.Minute)
	opens(old, false)
	opens(renewed, true)
	_, third, err := h.RotateKey(h.ctx, h.shop, k.ID, 0)
	h.ok(err)
	opens(renewed, false)
	opens(third, true)
	h.ok(h.RevokeKey(h.ctx, h.shop, k.ID))
	opens(third, false)
	_, _, err = h.RotateKey(h.ctx, h.shop, k.ID, time.Hour)
	h.refused(err, shop.Conflict)
	_, _, err = h.RotateKey(h.ctx, h.newShop("another"), k.ID, time.Hour)
	h.refused(err, shop.NotFound)
	for _, grace := range []time.Duration{-time.Second, shop.MaxGrace + time.Second} {
		_, _, err = h.RotateKey(h.ctx, h.shop, k.ID, grace)
		h.refused(err, shop.Invalid)
	}
}

// A process that has looked at a key lately takes the secret that another process has just made.
func TestAKeyRotatedElsewhereIsKnownWithinASecond(t *testing.T) {
	h := open(t, nil)
	k, old, err := h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "read"}`))
	h.ok(err)
	_, err = h.Authenticate(h.ctx, old)
	h.ok(err)
	elsewhere := shop.New(shop.Deps{Store: h.store, Queue: h.queue, Files: h.files, Maker: h.maker, Clock: h.clock.Now})
	_, renewed, err := elsewhere.RotateKey(h.ctx, h.shop, k.ID, time.Hour)
	h.ok(err)
	h.clock.Pass(time.Second)
	_, err = h.Authenticate(h.ctx, renewed)
	h.ok(err)
	_, err = h.Authenticate(h.ctx, old)
	h.ok(err)
}

func TestTheUseOfAKeyIsNotedCoarsely(t *testing.T) {
	h := open(t, nil)
	k, secret, err := h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "read"}`))
	h.ok(err)
	used := func() time.Time {
		t.Helper()
		got, err := h.Key(h.ctx, h.shop, k.ID)
		h.ok(err)
		return got.UsedAt
	}
	if !used().IsZero() {
		t.Errorf("a new key was used at %v", used())
	}
	_, err = h.Authenticate(h.ctx, secret)
	h.ok(err)
	first := used()
	if first.IsZero() {
		t.Fatal("its first use was not noted")
	}
	h.clock.Pass(5 * time.Minute)
	_, err = h.Authenticate(h.ctx, secret)
	h.ok(err)
	if !used().Equal(first) {
		t.Error("it was noted again within minutes")
	}
	h.clock.Pass(6 * time.Minute)
	_, err = h.Authenticate(h.ctx, secret)
	h.ok(err)
	if !used().After(first) {
		t.Error("its later use was not noted")
	}
	_, err = h.Authenticate(h.ctx, secret[:len(secret)-2]+"aa")
	h.refused(err, shop.Unauthorized)
}

func TestAKeyIsRefusedWithThePlace(t *testing.T) {
	h := open(t, nil)
	for body, pointer := range map[string]string{
		`{}`:                                    "/scope",
		`{"scope": "owner"}`:                    "/scope",
		`{"scope": 1}`:                          "/scope",
		`{"scope": "admin", "sandbox": true}`:   "/scope",
		`{"scope": "read", "sandbox": "yes"}`:   "/sandbox",
		`{"scope": "read", "scopes": []}`:       "/scopes",
		`{"scope":"read","description":"a\nb"}`: "/description",
		fmt.Sprintf(`{"scope": "read", "description": %q}`, strings.Repeat("x", 201)): "/description",
	} {
		_, _, err := h.MakeKey(h.ctx, h.shop, []byte(body))
		if e := h.refused(err, shop.Invalid); len(e.Faults) != 1 || !strings.HasPrefix(e.Faults[0].Pointer, pointer) && pointer != "/scope" || e.Faults[0].Remedy == "" {
			t.Errorf("%s: %+v", body, e.Faults)
		}
	}
	_, _, err := h.MakeKey(h.ctx, h.shop, []byte(`scope`))
	h.refused(err, shop.Malformed)
	if _, _, err := h.AddKeyFor(h.ctx, "Rookery Lane Patterns", shop.KeyRequest{}); shop.KindOf(err) != shop.Invalid {
		t.Errorf("a key without a scope: %v", err)
	}
}

func TestAShopHasAHundredKeysAtMost(t *testing.T) {
	h := open(t, nil)
	var last shop.Key
	for range 99 { // it has one already
		var err error
		last, _, err = h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "read"}`))
		h.ok(err)
	}
	_, _, err := h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "read"}`))
	h.refused(err, shop.Conflict)
	h.ok(h.RevokeKey(h.ctx, h.shop, last.ID))
	_, _, err = h.MakeKey(h.ctx, h.shop, []byte(`{"scope": "read"}`))
	h.ok(err)
	n, cursor := 0, ""
	for {
		ks, next, err := h.Keys(h.ctx, h.shop, cursor, 30)
		h.ok(err)
		if n += len(ks); next == "" {
			break
		}
		cursor = next
	}
	if n != 101 {
		t.Errorf("the list has %d keys", n)
	}
}

// A key is looked up for half a minute. That its use was noted meanwhile is no look-up: one that was
// revoked elsewhere holds no longer for it.
func TestNotingTheUseOfAKeyIsNoLookUp(t *testing.T) {
	h := open(t, nil)
	secret, err := h.AddKey(h.ctx, "Rookery Lane Patterns")
	h.ok(err)
	sh, err := h.Authenticate(h.ctx, secret) // noted
	h.ok(err)
	h.clock.Pass(9*time.Minute + 50*time.Second)
	_, err = h.Authenticate(h.ctx, secret) // looked up, and not noted yet
	h.ok(err)
	h.clock.Pass(15 * time.Second)
	_, err = h.Authenticate(h.ctx, secret) // not looked up, and noted
	h.ok(err)
	h.ok(h.store.RevokeKey(h.ctx, sh.ID, sh.KeyID, h.clock.Now())) // by another process
	h.clock.Pass(20 * time.Second)
	_, err = h.Authenticate(h.ctx, secret)
	h.refused(err, shop.Unauthorized)
}
