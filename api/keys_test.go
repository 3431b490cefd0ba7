package api_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"sizerun/internal/shop"
	"sizerun/openapi/conform"
)

type key struct {
	ID, URL, Scope, Description, Key string
	Sandbox                          bool
	CreatedAt                        time.Time  `json:"created_at"`
	LastUsedAt                       *time.Time `json:"last_used_at"`
	OldUntil                         *time.Time `json:"old_until"`
	RevokedAt                        *time.Time `json:"revoked_at"`
}

// scoped makes a key over the API.
func (h *house) scoped(body string) key {
	h.t.Helper()
	var k key
	h.must(201, "POST", "/v1/keys", body).into(h.t, &k)
	return k
}

// Every operation that needs a key refuses every key whose scope does not reach so far, and says which
// does; a key that does reach so far is never told that.
func TestEveryOperationAsksForItsScope(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.BodiesPerShop = 64 })
	var held []key
	for _, s := range shop.Scopes() {
		held = append(held, h.scoped(fmt.Sprintf(`{"scope":%q}`, s)))
	}
	c := conform.Load(t)
	for _, op := range c.Operations() {
		if !op.Keyed || strings.HasSuffix(op.Path, "/stream") {
			continue
		}
		node, _ := c.Node("/paths/" + strings.ReplaceAll(op.Path, "/", "~1") + "/" + strings.ToLower(op.Method)).(map[string]any)
		var needs []string
		for _, one := range node["security"].([]any) {
			needs = append(needs, one.(map[string]any)["key"].([]any)[0].(string))
		}
		path := strings.NewReplacer("{name}", "nothing", "{id}", "nothing", "{event}", "nothing").Replace(op.Path)
		for _, k := range held {
			a := h.do(op.Method, path, "", "Authorization", "Bearer "+k.Key)
			may := slices.ContainsFunc(needs, func(n string) bool { return shop.Scope(k.Scope).Holds(shop.Scope(n)) })
			if !may {
				var p problem
				a.into(t, &p)
				if a.status != 403 || p.kind() != "forbidden" || !strings.Contains(p.Detail, "“"+needs[0]+"”") || !strings.Contains(a.header.Get("WWW-Authenticate"), `scope="`+needs[0]+`"`) {
					t.Errorf("%s: a key for %s is answered %d %s", op.ID, k.Scope, a.status, a.body)
				}
			} else if a.status == 403 || a.status == 401 {
				t.Errorf("%s: a key for %s is refused with %d %s", op.ID, k.Scope, a.status, a.body)
			}
		}
	}
}

// A key's life over the API: made and shown once, used, rotated with a grace, revoked.
func TestAShopLooksAfterItsKeys(t *testing.T) {
	h := newHouse(t)
	a := h.must(201, "POST", "/v1/keys", `{"scope":"read","description":"the web shop"}`)
	var k key
	a.into(t, &k)
	if a.header.Get("Location") != k.URL || a.header.Get("Cache-Control") != "no-store" || k.Scope != "read" || k.Description != "the web shop" || k.LastUsedAt != nil {
		t.Errorf("made: %v %s", a.header, a.body)
	}
	h.must(200, "GET", "/v1/runs", "", "Authorization", "Bearer "+k.Key)
	var now key
	b := h.must(200, "GET", k.URL, "")
	b.into(t, &now)
	if now.LastUsedAt == nil || now.Key != "" || strings.Contains(string(b.body), k.Key[21:]) {
		t.Errorf("after it was used: %s", b.body)
	}

	var turned key
	h.must(200, "POST", k.URL+"/rotate?old_holds=600", "").into(t, &turned)
	if turned.ID != k.ID || turned.Key == k.Key || turned.OldUntil == nil {
		t.Errorf("rotated: %+v", turned)
	}
	h.must(200, "GET", "/v1/runs", "", "Authorization", "Bearer "+k.Key)
	h.must(200, "GET", "/v1/runs", "", "Authorization", "Bearer "+turned.Key)
	h.pass(10 * time.Minute)
	h.refused(401, "unauthorized", "GET", "/v1/runs", "", "Authorization", "Bearer "+k.Key)
	h.must(200, "GET", "/v1/runs", "", "Authorization", "Bearer "+turned.Key)
	h.refused(400, "invalid_parameter", "POST", k.URL+"/rotate?old_holds=-1", "")
	h.refused(400, "invalid_parameter", "POST", k.URL+"/rotate?old_holds=2592001", "")

	h.must(204, "DELETE", k.URL, "")
	h.must(204, "DELETE", k.URL, "")
	h.refused(401, "unauthorized", "GET", "/v1/runs", "", "Authorization", "Bearer "+turned.Key)
	h.refused(409, "conflict", "POST", k.URL+"/rotate", "")
	var list struct {
		Items      []key
		NextCursor *string `json:"next_cursor"`
	}
	h.must(200, "GET", "/v1/keys?limit=1", "").into(t, &list)
	if len(list.Items) != 1 || list.Items[0].ID != k.ID || list.Items[0].RevokedAt == nil || list.NextCursor == nil {
		t.Errorf("the list is %+v", list)
	}
	h.must(200, "GET", "/v1/keys?limit=1&cursor="+*list.NextCursor, "").into(t, &list)
	if len(list.Items) != 1 || list.Items[0].Scope != "admin" || list.NextCursor != nil {
		t.Errorf("and on: %+v", list)
	}
	for _, secret := range []string{k.Key, turned.Key} {
		if strings.Contains(h.log.String(), secret[21:]) {
			t.Error("the log holds a key")
		}
	}
}

func TestAKeyIsAskedForInWordsThatTheContractHas(t *testing.T) {
	h := newHouse(t)
	for body, pointer := range map[string]string{`{"scope":"owner"}`: "/scope", `{"scope":"admin","sandbox":true}`: "/scope", `{"scope":"read","shop":"x"}`: "", `{}`: ""} {
		p := h.refused(422, "invalid", "POST", "/v1/keys", body)
		if len(p.Errors) != 1 || !strings.HasPrefix(p.Errors[0].Pointer, pointer) || p.Errors[0].Remedy == "" {
			t.Errorf("%s: %+v", body, p.Errors)
		}
	}
}

// Another shop's key answers like nobody's.
func TestAnotherShopsKeysLookLikeUnknownOnes(t *testing.T) {
	h := newHouse(t)
	mine := h.scoped(`{"scope":"read"}`)
	stranger := "Bearer " + h.newKey("Another Shop")
	for method, path := range map[string]string{"GET": "/v1/keys/%s", "DELETE": "/v1/keys/%s", "POST": "/v1/keys/%s/rotate"} {
		same := func(id string) string {
			a := h.do(method, fmt.Sprintf(path, id), "", "Authorization", stranger, "X-Request-Id", "same")
			a.header.Del("Date")
			return strings.ReplaceAll(fmt.Sprint(a.status, a.header, string(a.body)), id, "IT")
		}
		if theirs, nobodys := same(mine.ID), same("aaaaaaaaaaaaaaaa"); theirs != nobodys || !strings.HasPrefix(theirs, "404") {
			t.Errorf("%s: another shop's answers\n%s\nand nobody's\n%s", method, theirs, nobodys)
		}
	}
	h.must(200, "GET", "/v1/runs", "", "Authorization", "Bearer "+mine.Key)
}
