package api_test

import (
	"bytes"
	"strings"
	"testing"
)

// The pages for people are there for anybody, are kept by their hash, and let a browser do nothing
// but show them.
func TestPagesForPeople(t *testing.T) {
	h := newHouse(t)
	for _, path := range []string{"/docs", "/problems/invalid"} {
		a := h.must(200, "GET", path, "", "Authorization", "", "Accept", "text/html,*/*;q=0.8")
		if ct := a.header.Get("Content-Type"); ct != "text/html; charset=utf-8" || !bytes.HasPrefix(a.body, []byte("<!doctype html>")) {
			t.Errorf("%s is %s", path, ct)
		}
		policy := a.header.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "style-src 'sha256-", "form-action 'none'", "base-uri 'none'", "frame-ancestors 'none'", "sandbox"} {
			if !strings.Contains(policy, want) {
				t.Errorf("%s: the policy %q lacks %s", path, policy, want)
			}
		}
		h.must(304, "GET", path, "", "Authorization", "", "If-None-Match", a.header.Get("ETag"))
	}
	page := string(h.must(200, "GET", "/docs", "", "Authorization", "").body)
	for _, want := range []string{`id="change-petal"`, `d="M0 0L100 100"`, `href="problems/gave_up"`, "hash_hmac"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page lacks %s", want)
		}
	}
	h.refused(404, "not_found", "GET", "/problems/nothing", "", "Accept", "text/html")
}
