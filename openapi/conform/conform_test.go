package conform

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// The judge itself: it lets a good answer pass, and says what is wrong with each kind of bad one.
func TestTheJudgeFindsWhatTheContractDoesNotAllow(t *testing.T) {
	c := Load(t)
	head := func(more ...string) http.Header {
		h := http.Header{"X-Content-Type-Options": {"nosniff"}, "X-Request-Id": {"r1"}, "Content-Type": {"application/json"}}
		for i := 0; i < len(more); i += 2 {
			h.Set(more[i], more[i+1])
		}
		return h
	}
	problem := func(status, kind string) []byte {
		return []byte(`{"type":"https://x.example/problems/` + kind + `","title":"t","status":` + status + `,"detail":"d","request_id":"r1"}`)
	}
	refused := "application/problem+json"
	for name, x := range map[string]struct {
		method, path string
		a            Answer
		fault        string // "" when it is to pass
	}{
		"good":              {"GET", "/livez", Answer{200, head(), []byte(`{"status":"ok"}`)}, ""},
		"HEAD goes":         {"HEAD", "/livez", Answer{200, head(), nil}, ""},
		"HEAD with body":    {"HEAD", "/livez", Answer{200, head(), []byte(`{}`)}, "no body"},
		"wrong body":        {"GET", "/livez", Answer{200, head(), []byte(`{"status":"no"}`)}, "the body"},
		"wrong media type":  {"GET", "/livez", Answer{200, head("Content-Type", "text/plain"), []byte(`{"status":"ok"}`)}, "media type"},
		"unknown status":    {"GET", "/livez", Answer{202, head(), []byte(`{"status":"ok"}`)}, "no answer of this status"},
		"missing header":    {"GET", "/openapi.json", Answer{200, head(), []byte(`{"openapi":"3.1.0","info":{},"paths":{}}`)}, "ETag is missing"},
		"bad header":        {"GET", "/openapi.json", Answer{200, head("ETag", `W/"1"`), []byte(`{"openapi":"3.1.0","info":{},"paths":{}}`)}, "the header ETag"},
		"404":               {"GET", "/nowhere", Answer{404, head("Content-Type", refused), problem("404", "not_found")}, ""},
		"a path too many":   {"GET", "/nowhere", Answer{200, head(), []byte(`{}`)}, "must be 404"},
		"plain 404":         {"GET", "/nowhere", Answer{404, head("Content-Type", "text/plain"), []byte(`no`)}, "of type"},
		"unknown kind":      {"GET", "/nowhere", Answer{404, head("Content-Type", refused), problem("404", "nonsense")}, "problem's type"},
		"another status":    {"GET", "/nowhere", Answer{404, head("Content-Type", refused), problem("400", "not_found")}, "tells status 400"},
		"another request":   {"GET", "/nowhere", Answer{404, head("Content-Type", refused, "X-Request-Id", "r2"), problem("404", "not_found")}, "request_id"},
		"405":               {"POST", "/livez", Answer{405, head("Content-Type", refused, "Allow", "GET, HEAD, OPTIONS"), problem("405", "method_not_allowed")}, ""},
		"405 without Allow": {"POST", "/livez", Answer{405, head("Content-Type", refused), problem("405", "method_not_allowed")}, "Allow is"},
		"a method too many": {"POST", "/livez", Answer{200, head(), []byte(`{"status":"ok"}`)}, "must be 405"},
		"401 unchallenged":  {"GET", "/v1/runs", Answer{401, head("Content-Type", refused), problem("401", "unauthorized")}, "WWW-Authenticate is missing"},
	} {
		err := c.Check(x.method, &url.URL{Path: x.path}, x.a)
		switch {
		case x.fault == "" && err != nil:
			t.Errorf("%s: %v", name, err)
		case x.fault != "" && (err == nil || !strings.Contains(err.Error(), x.fault)):
			t.Errorf("%s: got %v, want something about %q", name, err, x.fault)
		}
	}
}
