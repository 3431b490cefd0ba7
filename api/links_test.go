package api_test

import (
	"archive/zip"
	"bytes"
	"io"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"sizerun/internal/shop"
	"sizerun/internal/testkit"
)

type link struct {
	URL       string    `json:"url"`
	ExpiresAt time.Time `json:"expires_at"`
}

// path is a link without the service's public address, as the test reaches it.
func (l link) path(t *testing.T) string {
	t.Helper()
	p, ok := strings.CutPrefix(l.URL, "https://patterns.example")
	if !ok {
		t.Fatalf("the link %s does not begin with the public address", l.URL)
	}
	return p
}

// ordered is a finished run.
func (h *house) ordered() run {
	h.t.Helper()
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal","external_id":"1001/b"}`, "Prefer", "wait=20").into(h.t, &r)
	return r
}

// A buyer downloads by a link, without a key, until it expires.
func TestALinkOpensOneThingForATime(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	f := r.Files[0]
	whole := h.must(200, "GET", f.URL, "").body
	var l link
	a := h.must(201, "POST", f.URL+"/link?expires_in=3600", "")
	a.into(t, &l)
	if left := time.Until(l.ExpiresAt); left > time.Hour || left < 59*time.Minute || a.header.Get("Cache-Control") != "no-store" {
		t.Errorf("the link holds for %v, and is sent with %v", left, a.header)
	}
	mine := h.key
	h.key = "" // from here on nobody has a key
	a = h.must(200, "GET", l.path(t), "")
	if !bytes.Equal(a.body, whole) || a.header.Get("ETag") != `"`+f.SHA256+`"` || !strings.Contains(a.header.Get("Content-Disposition"), f.Name) {
		t.Errorf("the link gives %d bytes with %v", len(a.body), a.header)
	}
	if b := h.must(206, "GET", l.path(t), "", "Range", "bytes=1-3").body; !bytes.Equal(b, whole[1:4]) {
		t.Errorf("a part of it is %q", b)
	}
	h.must(304, "GET", l.path(t), "", "If-None-Match", a.header.Get("ETag"))
	h.must(200, "HEAD", l.path(t), "")

	// Nothing of it can be changed, nor its name, nor another thing put in its place.
	u, err := url.Parse(l.path(t))
	if err != nil {
		t.Fatal(err)
	}
	changed := func(k, v string) string {
		q := u.Query()
		if q.Set(k, v); v == "" {
			q.Del(k)
		}
		return u.Path + "?" + q.Encode()
	}
	sig := u.Query().Get("signature")
	for name, p := range map[string]string{
		"a later end":           changed("expires", "9999999999"),
		"another spelling":      changed("expires", "+"+u.Query().Get("expires")),
		"no end":                changed("expires", ""),
		"no signature":          changed("signature", ""),
		"a cut signature":       changed("signature", sig[:len(sig)-1]),
		"an unknown key":        changed("key", "AAAAAAAA"),
		"no key":                changed("key", ""),
		"two ends":              u.Path + "?" + u.RawQuery + "&expires=9999999999",
		"another name":          strings.Replace(u.String(), f.Name, "x"+f.Name, 1),
		"another file":          strings.Replace(u.String(), f.ID, r.Files[1].ID, 1),
		"a file that is not":    strings.Replace(u.String(), f.ID, "file_nothing", 1),
		"the run instead of it": strings.Replace(u.String(), f.ID, r.ID, 1),
		"a spelling of the id":  strings.Replace(u.String(), "file_", "%66ile_", 1),
	} {
		p := h.refused(403, "link_broken", "GET", p, "")
		if strings.Contains(p.Detail, f.ID) {
			t.Errorf("%s: the refusal tells of the file", name)
		}
	}
	h.key = mine
	for _, bad := range []string{"59", "2592001", "", "x", "+60", "60&expires_in=60", "99999999999999999999"} {
		h.refused(400, "invalid_parameter", "POST", f.URL+"/link?expires_in="+bad, "")
	}
	h.refused(404, "not_found", "POST", "/v1/files/file_nothing/link", "")
	h.refused(404, "not_found", "POST", "/v1/runs/run_nothing/link", "")
}

func TestALinkExpiresAndCanBeWithdrawn(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	short, err := h.svc.LinkFile(t.Context(), h.shopID(), r.Files[0].ID, shop.MinLinkLife)
	if err != nil {
		t.Fatal(err)
	}
	h.must(200, "GET", short.Path, "")
	h.pass(shop.MinLinkLife)
	h.refused(410, "link_expired", "GET", short.Path, "")
	long, err := h.svc.LinkFile(t.Context(), h.shopID(), r.Files[0].ID, shop.MaxLinkLife)
	if err != nil {
		t.Fatal(err)
	}
	// A new key is made: what was signed with the old one holds …
	if err := h.svc.RotateLinks(t.Context(), false); err != nil {
		t.Fatal(err)
	}
	h.must(200, "GET", long.Path, "")
	fresh, err := h.svc.LinkFile(t.Context(), h.shopID(), r.Files[0].ID, shop.MaxLinkLife)
	if err != nil || strings.Split(fresh.Path, "key=")[1][:8] == strings.Split(long.Path, "key=")[1][:8] {
		t.Errorf("after rotation: %s, %v", fresh.Path, err)
	}
	// … until all links are withdrawn.
	if err := h.svc.RotateLinks(t.Context(), true); err != nil {
		t.Fatal(err)
	}
	h.refused(403, "link_broken", "GET", long.Path, "")
	h.refused(403, "link_broken", "GET", fresh.Path, "")
}

// All files of a run come in one zip that any unpacker reads, the same bytes each time.
func TestAllFilesOfARunInOneZip(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	at := r.URL + "/archive"
	a := h.must(200, "GET", at, "")
	if again := h.must(200, "GET", at, ""); !bytes.Equal(a.body, again.body) || again.header.Get("ETag") != a.header.Get("ETag") {
		t.Error("the archive is another one each time")
	}
	if d := a.header.Get("Content-Disposition"); !strings.Contains(d, `filename="wren-petal-1001_b.zip"`) || a.header.Get("Content-Type") != "application/zip" {
		t.Errorf("sent as %s, %s", d, a.header.Get("Content-Type"))
	}
	if b := h.must(206, "GET", at, "", "Range", "bytes=10-20").body; !bytes.Equal(b, a.body[10:21]) {
		t.Error("a part of it is another")
	}
	h.must(304, "GET", at, "", "If-None-Match", a.header.Get("ETag"))
	z, err := zip.NewReader(bytes.NewReader(a.body), int64(len(a.body)))
	if err != nil {
		t.Fatal(err)
	}
	if len(z.File) != len(r.Files) {
		t.Fatalf("%d files in it, the run has %d", len(z.File), len(r.Files))
	}
	for i, f := range z.File {
		rd, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		b, err := io.ReadAll(rd) // and its sum is checked
		if err != nil || f.Name != r.Files[i].Name || !bytes.Equal(b, h.must(200, "GET", r.Files[i].URL, "").body) {
			t.Errorf("%s: %d bytes, %v", f.Name, len(b), err)
		}
	}
	// A second opinion: Python's zipfile, which checks sums and headers.
	python := testkit.NeedPython(t)
	file := filepath.Join(t.TempDir(), "a.zip")
	if err := os.WriteFile(file, a.body, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(python, "-m", "zipfile", "-t", file).CombinedOutput(); err != nil || !strings.Contains(string(out), "Done testing") {
		t.Errorf("zipfile: %v\n%s", err, out)
	}
	// By link, for whoever has no key.
	var l link
	h.must(201, "POST", r.URL+"/link", "").into(t, &l)
	h.key = ""
	if b := h.must(200, "GET", l.path(t), "").body; !bytes.Equal(b, a.body) {
		t.Error("the link leads to another archive")
	}
}

func TestARunWithoutFilesHasNoArchive(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	h.refused(404, "not_found", "GET", r.URL+"/archive", "")
	h.refused(404, "not_found", "POST", r.URL+"/link", "")
}
