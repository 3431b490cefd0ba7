package api_test

import (
	"fmt"
	"strings"
	"testing"
)

func TestDownloadsInPartsAndUnderConditions(t *testing.T) {
	h := newHouse(t)
	h.stock()
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(t, &r)
	f := r.Files[0]
	tag := `"` + f.SHA256 + `"`
	whole := h.must(200, "GET", f.URL, "").body
	size := len(whole)

	for asked, want := range map[string]string{
		"bytes=0-0":   string(whole[:1]),
		"bytes=10-99": string(whole[10:100]),
		"bytes=100-":  string(whole[100:]),
		"bytes=-7":    string(whole[size-7:]),
		fmt.Sprintf("bytes=%d-%d", size-1, size+1000): string(whole[size-1:]),
	} {
		a := h.must(206, "GET", f.URL, "", "Range", asked)
		if string(a.body) != want {
			t.Errorf("%s gives other bytes", asked)
		}
		if a.header.Get("ETag") != tag {
			t.Errorf("%s: a part has the ETag %s", asked, a.header.Get("ETag"))
		}
	}
	for _, asked := range []string{fmt.Sprintf("bytes=%d-", size), "bytes=99999999999-"} {
		p := h.refused(416, "range_not_satisfiable", "GET", f.URL, "", "Range", asked)
		if !strings.Contains(p.Detail, fmt.Sprint(size)) {
			t.Errorf("%s is refused without the size: %s", asked, p.Detail)
		}
		if a := h.must(416, "GET", f.URL, "", "Range", asked); a.header.Get("Content-Range") != fmt.Sprintf("bytes */%d", size) {
			t.Errorf("%s: Content-Range is %q", asked, a.header.Get("Content-Range"))
		}
	}
	for _, asked := range []string{"bytes=0-1,5-6", "bytes=" + strings.Repeat("0-,", 1000) + "0-"} {
		if a := h.must(200, "GET", f.URL, "", "Range", asked); string(a.body) != string(whole) {
			t.Errorf("several ranges do not give the whole file")
		}
	}
	h.do("GET", f.URL, "", "Range", "lines=1-2")
	h.do("GET", f.URL, "", "Range", "bytes=a-b")

	for _, have := range []string{tag, "W/" + tag, `"x", ` + tag, "*"} {
		if a := h.must(304, "GET", f.URL, "", "If-None-Match", have); a.header.Get("ETag") != tag {
			t.Error("a 304 does not tell the ETag")
		}
		h.must(304, "HEAD", f.URL, "", "If-None-Match", have)
	}
	h.must(200, "GET", f.URL, "", "If-None-Match", `"x"`)
	h.must(206, "GET", f.URL, "", "Range", "bytes=0-1", "If-Range", tag)
	h.must(200, "GET", f.URL, "", "Range", "bytes=0-1", "If-Range", `"another"`)
	h.refused(412, "precondition_failed", "GET", f.URL, "", "If-Match", `"another"`)
	h.must(200, "GET", f.URL, "", "If-Match", tag)

	a := h.must(200, "HEAD", f.URL, "")
	if a.header.Get("Content-Length") != fmt.Sprint(size) || a.header.Get("ETag") != tag {
		t.Errorf("HEAD tells %v", a.header)
	}
	h.must(206, "HEAD", f.URL, "", "Range", "bytes=0-1")
	h.must(404, "HEAD", "/v1/files/nothing", "")
	if a.header.Get("Cache-Control") != "private, max-age=31536000, immutable" || a.header.Get("Content-Security-Policy") == "" {
		t.Errorf("a download is sent with %v", a.header)
	}
}
