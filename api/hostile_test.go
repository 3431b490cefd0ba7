package api_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"sizerun/api"
	"sizerun/internal/shop"
)

func TestKeysThatDoNotHoldOpenNothing(t *testing.T) {
	h := newHouse(t)
	revoked := h.newKey("Rookery Lane Patterns")
	me, err := h.svc.Authenticate(t.Context(), revoked)
	if err != nil {
		t.Fatal(err)
	}
	h.must(200, "GET", "/v1/runs", "", "Authorization", "bearer  "+revoked) // the scheme's case is free (RFC 9110, 11.1)
	if err := h.svc.RevokeKey(t.Context(), me.ID, me.KeyID); err != nil {
		t.Fatal(err)
	}
	for name, value := range map[string]string{
		"none":            "",
		"no scheme":       h.key,
		"another scheme":  "Basic " + h.key,
		"empty":           "Bearer ",
		"malformed":       "Bearer szr_x",
		"half":            "Bearer " + h.key[:len(h.key)/2],
		"one letter off":  "Bearer " + h.key[:len(h.key)-2] + "aa",
		"in other case":   "Bearer " + strings.ToUpper(h.key),
		"two":             "Bearer " + h.key + " " + h.key,
		"endless":         "Bearer " + strings.Repeat("a", 20_000),
		"not ASCII":       "Bearer szr_ключ",
		"revoked":         "Bearer " + revoked,
		"unknown":         "Bearer szr_aaaaaaaaaaaaaaaa_" + strings.Repeat("a", 52),
		"quoted for SQL":  "Bearer ' OR 1=1 --",
		"with a tab":      "Bearer\t" + h.key,
		"as a JSON value": `Bearer {"$ne":""}`,
	} {
		for _, path := range []string{"/v1/runs", "/v1/blocks/wren-sleeve", "/v1/changes"} {
			a := h.do("GET", path, "", "Authorization", value)
			if a.status != 401 {
				t.Errorf("key %s: %s answers %d", name, path, a.status)
			}
		}
	}
	if a := h.do("GET", "/v1/runs?access_token="+h.key+"&key="+h.key, "", "Authorization", ""); a.status != 401 {
		t.Errorf("a key in the address is answered with %d", a.status)
	}
	r, _ := http.NewRequest("GET", h.url+"/v1/runs", nil)
	r.Header["Authorization"] = []string{"Bearer " + h.key, "Bearer " + h.key}
	if a := h.send(r); a.status != 401 {
		t.Errorf("two Authorization headers are answered with %d", a.status)
	}
	for _, secret := range []string{h.key, revoked} {
		if strings.Contains(h.log.String(), secret) || strings.Contains(h.log.String(), secret[22:]) {
			t.Error("the log holds a key")
		}
	}
}

func TestAThousandWrongKeysAreStoppedAndTheAddressMayComeBack(t *testing.T) {
	h := newHouse(t, func(p *plan) { p.cfg.WrongKeys = 20 })
	got := map[int]int{}
	for i := range 1000 {
		got[h.do("GET", "/v1/runs", "", "Authorization", fmt.Sprintf("Bearer szr_guess%d", i)).status]++
	}
	if got[401] != 20 || got[429] != 980 {
		t.Errorf("a thousand wrong keys were answered with %v", got)
	}
	h.must(200, "GET", "/livez", "") // which asks for no key
}

// Another shop's things answer exactly like things that there are not: same status, same headers,
// same bytes but for what the request itself said.
func TestAnotherShopsThingsLookLikeUnknownOnes(t *testing.T) {
	h := newHouse(t)
	h.stock()
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(t, &r)
	stranger := "Bearer " + h.newKey("Another Shop")

	plain := func(a answer, said string) string {
		a.header.Del("X-Request-Id")
		a.header.Del("Date")
		a.header.Del("Content-Length")
		body := regexp.MustCompile(`"request_id":"[^"]*"`).ReplaceAllString(string(a.body), "")
		return fmt.Sprint(a.status, a.header, strings.ReplaceAll(body, said, "IT"))
	}
	other := func(id string) string { // of the same form, and nobody's
		return id[:len(id)-4] + "0000"
	}
	for _, x := range []struct{ method, path, mine, nobodys string }{
		{"GET", "/v1/blocks/%s", "wren-sleeve", "wren-sleev0"},
		{"GET", "/v1/styles/%s", "wren-petal", "wren-peta0"},
		{"GET", "/v1/runs/%s", r.ID, other(r.ID)},
		{"GET", "/v1/runs/%s/files", r.ID, other(r.ID)},
		{"GET", "/v1/runs/%s/report", r.ID, other(r.ID)},
		{"POST", "/v1/runs/%s/cancel", r.ID, other(r.ID)},
		{"GET", "/v1/files/%s", r.Files[0].ID, other(r.Files[0].ID)},
		{"HEAD", "/v1/files/%s", r.Files[0].ID, other(r.Files[0].ID)},
	} {
		theirs := h.do(x.method, fmt.Sprintf(x.path, x.mine), "", "Authorization", stranger, "Range", "bytes=0-1", "If-None-Match", `"`+r.Files[0].SHA256+`"`)
		nobodys := h.do(x.method, fmt.Sprintf(x.path, x.nobodys), "", "Authorization", stranger, "Range", "bytes=0-1", "If-None-Match", `"`+r.Files[0].SHA256+`"`)
		if a, b := plain(theirs, x.mine), plain(nobodys, x.nobodys); a != b || theirs.status != 404 {
			t.Errorf("%s %s: another shop's answers\n%s\nand nobody's\n%s", x.method, x.path, a, b)
		}
	}
	var runs, styles struct{ Items []any }
	h.must(200, "GET", "/v1/runs", "", "Authorization", stranger).into(t, &runs)
	h.must(200, "GET", "/v1/styles", "", "Authorization", stranger).into(t, &styles)
	if len(runs.Items)+len(styles.Items) != 0 {
		t.Error("a stranger's lists are not empty")
	}
	p := h.refused(422, "invalid", "POST", "/v1/runs", `{"style":"wren-petal"}`, "Authorization", stranger)
	if p.Errors[0].Pointer != "/style" {
		t.Errorf("an order of another shop's style is refused with %+v", p.Errors)
	}
	// Order numbers and idempotency keys are each shop's own.
	h.must(201, "POST", "/v1/blocks", example(t, "saveBlock", "sleeve"), "Authorization", stranger)
	h.must(201, "POST", "/v1/styles", example(t, "saveStyle", "petal"), "Authorization", stranger)
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal","external_id":"1"}`, "Idempotency-Key", "k")
	a := h.must(202, "POST", "/v1/runs", `{"style":"wren-petal","external_id":"1"}`, "Idempotency-Key", "k", "Authorization", stranger)
	if a.header.Get("Idempotent-Replayed") != "" {
		t.Error("another shop's idempotency key was replayed")
	}
}

// Bodies that no honest caller sends: each is refused, and quickly.
func TestHostileBodiesAreRefused(t *testing.T) {
	const most = 64 << 10
	h := newHouse(t, func(p *plan) { p.cfg.MaxBody = most })
	pad := func(n int) string { // a document of exactly n bytes
		const head, tail = `{"style":"`, `"}`
		return head + strings.Repeat("a", n-len(head)-len(tail)) + tail
	}
	run := func(member string) string { return `{"style":"wren-petal",` + member + `}` }
	for name, x := range map[string]struct {
		body   string
		status []int
	}{
		"empty":                     {" ", []int{400, 422}},
		"not JSON":                  {"style=wren", []int{400, 422}},
		"half":                      {`{"style":"wren-`, []int{400, 422}},
		"at the bound":              {pad(most), []int{422}},
		"one byte too large":        {pad(most + 1), []int{413}},
		"20,000 nested brackets":    {strings.Repeat("[", 20_000), []int{400, 422}},
		"20,000 nested objects":     {strings.Repeat(`{"a":`, 10_000), []int{400, 422}},
		"closed as well":            {strings.Repeat("[", 20_000) + strings.Repeat("]", 20_000), []int{400, 422}},
		"a name twice":              {`{"style":"a","style":"b"}`, []int{400, 422}},
		"a name in two cases":       {`{"style":"a","Style":"b"}`, []int{400, 422}},
		"another case alone":        {`{"STYLE":"wren-petal"}`, []int{400, 422}},
		"an unknown name":           {run(`"colour":"red"`), []int{422}},
		"trailing data":             {`{"style":"a"}{"style":"b"}`, []int{400, 422}},
		"trailing bracket":          {`{"style":"a"}]`, []int{400, 422}},
		"a comment":                 {`{"style":"a"} // b`, []int{400, 422}},
		"1e400":                     {run(`"body":{"name":"x","body":{"bust":1e400}}`), []int{400, 422}},
		"-1e400":                    {run(`"body":{"name":"x","body":{"bust":-1e400}}`), []int{400, 422}},
		"NaN":                       {run(`"body":{"name":"x","body":{"bust":NaN}}`), []int{400, 422}},
		"Infinity":                  {run(`"body":{"name":"x","body":{"bust":Infinity}}`), []int{400, 422}},
		"-0":                        {run(`"body":{"name":"x","body":{"bust":-0}}`), []int{400, 422}},
		"a number of 10,000 digits": {run(`"body":{"name":"x","body":{"bust":` + strings.Repeat("9", 10_000) + `}}`), []int{400, 422}},
		"a length without sense":    {run(`"body":{"name":"x","body":{"bust":"1/0in"}}`), []int{422}},
		"a NUL":                     {"{\"style\":\"a\x00\"}", []int{400, 422}},
		"a NUL by escape":           {`{"style":"a\u0000"}`, []int{400, 422}},
		"a NUL in the stamp":        {run(`"stamp":"a\u0000"`), []int{400, 422}},
		"a lone surrogate":          {run(`"stamp":"\ud800"`), []int{400, 422}},
		"not UTF-8":                 {run("\"stamp\":\"\xff\xfe\""), []int{400, 422}},
		"a byte order mark":         {"\xef\xbb\xbf{\"style\":\"a\"}", []int{400, 422}},
		"UTF-16":                    {"{\x00\"\x00s\x00\"\x00:\x001\x00}\x00", []int{400, 422}},
		"null":                      {"null", []int{400, 422}},
		"a list":                    {`[{"style":"a"}]`, []int{400, 422}},
		"null members":              {`{"style":null}`, []int{400, 422}},
		"500 sizes":                 {run(`"sizes":["` + strings.Join(strings.Fields(strings.Repeat("s ", 500)), `","`) + `"]`), []int{422}},
		"10,000 members":            {`{"style":"a"` + members(2_000) + `}`, []int{422, 400}},
	} {
		for _, path := range []string{"/v1/runs", "/v1/blocks", "/v1/styles", "/v1/checks"} {
			began := time.Now()
			a := h.do("POST", path, x.body)
			ok := false
			for _, s := range x.status {
				ok = ok || a.status == s
			}
			// The body is made for runs; elsewhere other rules may be broken first, but it is broken.
			if path != "/v1/runs" {
				ok = a.status == 413 || a.status == 400 || a.status == 422
			}
			if !ok {
				t.Errorf("%s to %s: %d %s", name, path, a.status, clip(a.body))
			}
			if took := time.Since(began); took > time.Second {
				t.Errorf("%s to %s took %v", name, path, took)
			}
			var p problem
			a.into(t, &p)
			if a.status == 422 && (len(p.Errors) == 0 || p.Errors[0].Remedy == "") {
				t.Errorf("%s to %s is refused without a remedy: %s", name, path, clip(a.body))
			}
			if len(a.body) > 200_000 {
				t.Errorf("%s to %s: the refusal has %d bytes", name, path, len(a.body))
			}
		}
	}
	// A length that is not told beforehand is bounded as well.
	r, _ := http.NewRequest("POST", h.url+"/v1/runs", io.MultiReader(strings.NewReader(`{"style":"`), io.LimitReader(letters{}, 10*most)))
	r.Header.Set("Authorization", "Bearer "+h.key)
	r.Header.Set("Content-Type", "application/json")
	if a := h.send(r); a.status != 413 {
		t.Errorf("an endless body in chunks is answered with %d", a.status)
	}
}

func members(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, `,"m%d":1`, i)
	}
	return b.String()
}

type letters struct{}

func (letters) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = 'a'
	}
	return len(p), nil
}

func TestOnlyPlainJSONIsRead(t *testing.T) {
	h := newHouse(t)
	h.stock()
	const order = `{"style":"wren-petal"}`
	for _, ok := range []string{"application/json", "application/json; charset=utf-8", "Application/JSON; charset=UTF-8", `application/json;charset="utf-8"`} {
		h.must(202, "POST", "/v1/runs", order, "Content-Type", ok)
	}
	for _, bad := range []string{"", "text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "application/json; charset=utf-16", "application/problem+json", "application/json; profile=x", "json", "a/b; ;;", "application/json, text/plain"} {
		h.refused(415, "unsupported_media_type", "POST", "/v1/runs", order, "Content-Type", bad)
	}
	var bomb bytes.Buffer
	z := gzip.NewWriter(&bomb)
	if _, err := io.Copy(z, io.LimitReader(letters{}, 50<<20)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	for _, coding := range []string{"gzip", "deflate", "br", "identity, gzip", "GZIP"} {
		began := time.Now()
		h.refused(415, "unsupported_media_type", "POST", "/v1/runs", bomb.String(), "Content-Encoding", coding)
		if took := time.Since(began); took > time.Second {
			t.Errorf("a bomb packed as %s took %v", coding, took)
		}
	}
	h.must(202, "POST", "/v1/runs", order, "Content-Encoding", "identity")
}

func TestOddNamesInAddressesAreUnknownAndDoNoHarm(t *testing.T) {
	for name, how := range map[string]func(*plan){"embedded": func(*plan) {}, "postgres": onPostgres} {
		t.Run(name, func(t *testing.T) { oddNames(t, newHouse(t, how)) })
	}
}

func oddNames(t *testing.T, h *house) {
	for _, name := range []string{"%00", "a%00b", "%0a", "x%0d%0aSet-Cookie:%20a=b", "%ff", "%c0%af", "..%2f..%2fetc%2fpasswd", "%2e%2e", "a%2Fb", "%E2%80%AE", "'%20OR%201=1--", "%25s%25n", strings.Repeat("a", 5000), "{name}", "*", "%F0%9F%A7%B5", "a;b", "a:b"} {
		for _, path := range []string{"/v1/blocks/", "/v1/styles/", "/v1/runs/", "/v1/files/", "/v1/changes/", "/problems/"} {
			if a := h.do("GET", path+name, ""); a.status != 404 {
				t.Errorf("%s%s: %d", path, name, a.status)
			}
		}
		if a := h.do("POST", "/v1/runs/"+name+"/cancel", ""); a.status != 404 {
			t.Errorf("cancel of %s: %d", name, a.status)
		}
	}
	// Cursors that were made up: of other lists, or with what no database takes in a text.
	for _, c := range []string{"block\na", "block\n\x00", "block\n\xff", "style\n\x00", "run\nzz\nb", "run\n1\n\x00", "run\n-1\nb", "run\n1\n\xff", "run\n", "", "\x00"} {
		for _, path := range []string{"/v1/blocks", "/v1/styles", "/v1/runs"} {
			if a := h.do("GET", path+"?cursor="+base64.RawURLEncoding.EncodeToString([]byte(c)), ""); a.status >= 500 {
				t.Errorf("%s: the cursor %q is answered with %d", path, c, a.status)
			}
		}
	}
	for _, path := range []string{"/", "/v1", "/v1/", "/v1/blocks/", "/v1//runs", "/v2/runs", "/v1/runs/a/b/c", "/openapi.yaml", "/.git/config", "/problems", "/V1/RUNS"} {
		h.refused(404, "not_found", "GET", path, "")
	}
	for _, method := range []string{"PUT", "DELETE", "PATCH", "OPTIONS", "PROPFIND", "TRACE"} {
		for _, path := range []string{"/v1/blocks", "/v1/runs/x", "/v1/files/x", "/livez", "/problems/not_found"} {
			h.do(method, path, "") // the transport holds 405 and Allow against the contract
		}
	}
	h.refused(405, "method_not_allowed", "PUT", "/v1/runs/x", "")
	h.refused(405, "method_not_allowed", "POST", "/livez", "{}")
	h.must(200, "HEAD", "/v1/runs", "")
}

func TestIdempotencyKeysAreBounded(t *testing.T) {
	h := newHouse(t)
	h.stock()
	for _, good := range []string{"k", `"k2"`, strings.Repeat("k", 255), `"` + strings.Repeat("q", 255) + `"`, "8e03978e-40d5-43e8-bc93-6894a57f9324", `a"b`, "~!@#"} {
		h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Idempotency-Key", good)
	}
	for _, bad := range []string{strings.Repeat("k", 256), `""`, "a b", "ключ", "a\tb"} {
		p := h.refused(400, "invalid_parameter", "POST", "/v1/runs", `{"style":"wren-petal"}`, "Idempotency-Key", bad)
		if p.Errors[0].Parameter != "Idempotency-Key" {
			t.Errorf("%q is refused with %+v", bad, p.Errors)
		}
	}
}

// Whatever a caller puts into a path, a header or a document: a log entry stays on one line and is
// read from left to right.
func TestALogEntryStaysOneLine(t *testing.T) {
	h := newHouse(t)
	before := strings.Count(h.log.String(), "\n")
	evil := "x%0Alevel=ERROR%20msg=forged%E2%80%AE%1B%5B31m%E2%80%A8"
	n := 0
	for _, path := range []string{"/" + evil, "/v1/runs/" + evil, "/v1/blocks/" + evil + "?limit=" + evil} {
		h.do("GET", path, "", "X-Request-Id", "a b\u202e", "User-Agent", "x\u2028y", "X-Forwarded-For", "6.6.6.6", "Prefer", "wait=\u202e")
		n++
	}
	h.do("POST", "/v1/blocks", `{"block":"a\nlevel=ERROR msg=forged\u202e"}`)
	n++
	for deadline := time.Now().Add(5 * time.Second); strings.Count(h.log.String(), "\n") < before+n && time.Now().Before(deadline); {
		time.Sleep(10 * time.Millisecond)
	}
	log := h.log.String()
	if got := strings.Count(log, "\n") - before; got != n {
		t.Errorf("%d requests made %d lines of log:\n%s", n, got, log)
	}
	if strings.ContainsAny(log, "\u202e\u2028\x1b") || strings.Contains(log, "\nlevel=ERROR") || strings.Contains(log, "6.6.6.6") {
		t.Errorf("the log was led astray:\n%s", log)
	}
}

func TestRequestIDsAreTakenOverWhenTheyAreHarmless(t *testing.T) {
	h := newHouse(t)
	if got := h.do("GET", "/livez", "", "X-Request-Id", "shop-7.a_B").header.Get("X-Request-Id"); got != "shop-7.a_B" {
		t.Errorf("a harmless id came back as %q", got)
	}
	for _, bad := range []string{"a b", strings.Repeat("a", 65), "<script>", "é"} {
		if got := h.do("GET", "/livez", "", "X-Request-Id", bad).header.Get("X-Request-Id"); got == bad || got == "" {
			t.Errorf("the id %q came back as %q", bad, got)
		}
	}
}

// broken is a service of which single parts fail.
type broken struct {
	api.Service
	list func() error
	open io.ReadSeekCloser
	info shop.FileInfo
}

func (b broken) Blocks(context.Context, shop.ShopID, string, int) ([]shop.BlockInfo, string, error) {
	return nil, "", b.list()
}

func (b broken) OpenFile(ctx context.Context, s shop.ShopID, id string) (shop.FileInfo, io.ReadSeekCloser, error) {
	if b.open != nil {
		return b.info, b.open, nil
	}
	return b.Service.OpenFile(ctx, s, id)
}

func TestOurOwnFaultsAreToldWithoutOurInsides(t *testing.T) {
	var fault func() error
	h := newHouse(t, func(p *plan) {
		p.over = func(s api.Service) api.Service { return broken{Service: s, list: func() error { return fault() }} }
	})
	const inside = "pq: relation secret_table in /srv/x.go:17"
	for name, x := range map[string]struct {
		fault  func() error
		status int
		kind   string
		retry  string
	}{
		"a panic":          {func() error { panic(inside) }, 500, "internal", ""},
		"out of range":     {func() error { return []error{nil}[len(inside)] }, 500, "internal", ""},
		"an unknown error": {func() error { return errors.New(inside) }, 500, "internal", ""},
		"an unknown kind":  {func() error { return &shop.Error{Kind: 99, Detail: inside} }, 500, "internal", ""},
		"database away":    {func() error { return &shop.Error{Kind: shop.Unavailable, Detail: "away", Cause: errors.New(inside)} }, 503, "unavailable", "5"},
		"and for how long": {func() error {
			return &shop.Error{Kind: shop.Unavailable, Detail: "away", RetryAfter: 1500 * time.Millisecond}
		}, 503, "unavailable", "2"},
		"too much":    {func() error { return &shop.Error{Kind: shop.TooMany, Detail: "later"} }, 429, "too_many", "5"},
		"forbidden":   {func() error { return &shop.Error{Kind: shop.Forbidden, Detail: "no"} }, 403, "forbidden", ""},
		"out of time": {func() error { return fmt.Errorf("query: %w", context.DeadlineExceeded) }, 503, "unavailable", "5"},
	} {
		fault = x.fault
		a := h.must(x.status, "GET", "/v1/blocks", "")
		var p problem
		a.into(t, &p)
		if p.kind() != x.kind || a.header.Get("Retry-After") != x.retry {
			t.Errorf("%s: %s, Retry-After %q", name, p.kind(), a.header.Get("Retry-After"))
		}
		if strings.Contains(string(a.body), "secret_table") || strings.Contains(string(a.body), ".go") {
			t.Errorf("%s: the answer tells our insides: %s", name, a.body)
		}
	}
	if !strings.Contains(h.log.String(), "secret_table") {
		t.Error("the log does not tell the cause")
	}
	h.must(200, "GET", "/livez", "")
}

// torn is a file whose storage breaks in the middle.
type torn struct{ *bytes.Reader }

func (f torn) Read(p []byte) (int, error) {
	if f.Len() < 500_000 {
		panic("the disk is gone")
	}
	return f.Reader.Read(p)
}
func (torn) Close() error { return nil }

func TestADownloadThatBreaksOffIsSeenToBeBroken(t *testing.T) {
	data := make([]byte, 1_000_000)
	h := newHouse(t, func(p *plan) {
		p.over = func(s api.Service) api.Service {
			return broken{Service: s, open: torn{bytes.NewReader(data)}, info: shop.FileInfo{ID: "file_1", Name: "a.pdf", MediaType: "application/pdf", Bytes: int64(len(data)), SHA256: strings.Repeat("0", 64)}}
		}
	})
	r, _ := http.NewRequest("GET", h.url+"/v1/files/file_1", nil)
	r.Header.Set("Authorization", "Bearer "+h.key)
	resp, err := http.DefaultClient.Do(r)
	if err == nil {
		var n int64
		n, err = io.Copy(io.Discard, resp.Body)
		resp.Body.Close()
		if err == nil {
			t.Fatalf("half a file came as a whole answer of %d bytes", n)
		}
	}
	h.must(200, "GET", "/livez", "")
}

func clip(b []byte) string {
	if len(b) > 300 {
		return string(b[:300]) + "…"
	}
	return string(b)
}
