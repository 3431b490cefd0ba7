package api_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// What the edge costs, over the embedded store and without a network: a request in, an answer out.
func BenchmarkRequests(b *testing.B) {
	h := openHouse(b)
	h.stock()
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(b, &r)
	for range 60 {
		h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`)
	}
	block := example(b, "saveBlock", "sleeve")
	handler := h.server.Handler()
	for _, x := range []struct{ name, method, path, body, key string }{
		{"livez", "GET", "/livez", "", ""},
		{"no_key", "GET", "/v1/runs", "", ""},
		{"changes", "GET", "/v1/changes", "", h.key},
		{"run", "GET", r.URL, "", h.key},
		{"runs_page", "GET", "/v1/runs", "", h.key},
		{"file", "GET", r.Files[0].URL, "", h.key},
		{"same_block", "POST", "/v1/blocks", block, h.key},
		{"refused_block", "POST", "/v1/blocks", strings.Replace(block, `"base":"14"`, `"base":"15"`, 1), h.key},
		{"too_deep", "POST", "/v1/blocks", strings.Repeat("[", 20_000), h.key},
		{"order", "POST", "/v1/runs", `{"style":"wren-petal"}`, h.key},
	} {
		b.Run(x.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				var body io.Reader
				if x.body != "" {
					body = strings.NewReader(x.body)
				}
				q := httptest.NewRequest(x.method, x.path, body)
				if x.key != "" {
					q.Header.Set("Authorization", "Bearer "+x.key)
				}
				if x.body != "" {
					q.Header.Set("Content-Type", "application/json")
				}
				w := httptest.NewRecorder()
				handler.ServeHTTP(w, q)
				if w.Code >= http.StatusInternalServerError {
					b.Fatalf("%d %s", w.Code, w.Body)
				}
			}
		})
	}
}
