package api

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sizerun/openapi/conform"
)

// Every route is in the contract, and every operation of the contract has a route.
func TestRouterAndContractAreTheSame(t *testing.T) {
	a := &API{cfg: Config{}.orDefault()}
	vars := regexp.MustCompile(`:(\w+)`)
	routed := map[string]bool{}
	for _, r := range a.router().Routes() {
		routed[r.Method+" "+vars.ReplaceAllString(r.Path, "{$1}")] = true
	}
	contract := map[string]bool{}
	for _, op := range conform.Load(t).Operations() {
		contract[op.Method+" "+op.Path] = true
		if op.Method == http.MethodGet { // HEAD goes wherever GET goes, as the contract says in words
			contract[http.MethodHead+" "+op.Path] = true
		}
	}
	for r := range routed {
		if !contract[r] {
			t.Errorf("%s is routed, and not in the contract", r)
		}
	}
	for r := range contract {
		if !routed[r] {
			t.Errorf("%s is in the contract, and not routed", r)
		}
	}
}

// What a route needs of a key is what the contract says it needs.
func TestScopesAndContractAreTheSame(t *testing.T) {
	a := &API{cfg: Config{}.orDefault()}
	needs := map[string][]string{}
	for _, r := range a.routes() {
		scopes := []string{}
		for _, n := range r.handle.need {
			scopes = append(scopes, string(n))
		}
		needs[r.method+" "+regexp.MustCompile(`:(\w+)`).ReplaceAllString(r.path, "{$1}")] = scopes
	}
	c := conform.Load(t)
	for _, op := range c.Operations() {
		if op.Method == http.MethodHead {
			needs["HEAD "+op.Path] = needs["GET "+op.Path]
		}
		says := []string{}
		node, _ := c.Node("/paths/" + strings.ReplaceAll(op.Path, "/", "~1") + "/" + strings.ToLower(op.Method)).(map[string]any)
		listed, _ := node["security"].([]any)
		for _, one := range listed {
			one, _ := one.(map[string]any)
			names, _ := one["key"].([]any)
			for _, n := range names {
				says = append(says, n.(string))
			}
		}
		if got := needs[op.Method+" "+op.Path]; !slices.Equal(got, says) || op.Keyed != (len(got) > 0) {
			t.Errorf("%s %s needs %v, and the contract says %v", op.Method, op.Path, got, says)
		}
	}
}

// The table of problems and the contract's list of them are the same, and each has an example that
// is like what the table makes of it.
func TestProblemsAndContractAreTheSame(t *testing.T) {
	c := conform.Load(t)
	listed := map[string]bool{}
	schema, _ := c.Node("/components/schemas/ProblemName").(map[string]any)
	names, _ := schema["enum"].([]any)
	for _, n := range names {
		name := n.(string)
		listed[name] = true
		k, ok := kinds[name]
		if !ok {
			t.Errorf("%s is in the contract, and not in the table", name)
			continue
		}
		if k.status == 0 {
			continue // ends a run
		}
		example, _ := c.Node("/components/examples/" + name + "/value").(map[string]any)
		if example["title"] != k.title {
			t.Errorf("%s: the contract's title is %q, the table's %q", name, example["title"], k.title)
		}
	}
	for name, k := range kinds {
		if !listed[name] {
			t.Errorf("%s is in the table, and not in the contract", name)
		}
		if k.title == "" || len(k.about) < 40 || strings.HasSuffix(k.title, ".") {
			t.Errorf("%s does not explain itself", name)
		}
	}
	for kind, name := range ofKind {
		if _, ok := kinds[name]; !ok {
			t.Errorf("the use cases' kind %v leads to the problem %q, which there is not", kind, name)
		}
	}
}

func TestPreferenceForWaiting(t *testing.T) {
	a := &API{cfg: Config{}.orDefault()}
	e := a.router()
	for header, want := range map[string]string{
		"wait=20":                    "wait=20",
		"Wait = 5":                   "wait=5",
		`wait="7"`:                   "wait=7",
		"respond-async, wait=10":     "wait=10",
		"wait=10; foo=bar":           "wait=10",
		"wait=31":                    "wait=30",
		"wait=999999999":             "wait=30",
		"wait=0":                     "wait=0",
		"wait=3, wait=9":             "wait=3", // RFC 7240, 2: the first one holds
		"wait=-1":                    "",
		"wait=x":                     "",
		"wait=99999999999999999999":  "",
		"wait":                       "",
		"return=minimal":             "",
		"":                           "",
		strings.Repeat("a=b,", 2000): "",
	} {
		r, err := http.NewRequest("GET", "/", nil)
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Prefer", header)
		w := &recorder{h: http.Header{}}
		x := &exchange{Context: e.NewContext(r, w)}
		d := x.wait()
		if got := w.h.Get("Preference-Applied"); got != want {
			t.Errorf("Prefer: %s is applied as %q, want %q", header, got, want)
		}
		if (d > 0) != (want != "" && want != "wait=0") || d > longestWait {
			t.Errorf("Prefer: %s waits %v", header, d)
		}
	}
}

// What a file is saved as: a plain name that no system and no header minds, and beside it the name as
// it was meant, without what could mislead.
func TestNamesOfDownloadsAreSafe(t *testing.T) {
	safe := regexp.MustCompile(`^attachment; filename="[A-Za-z0-9._-]{1,100}"(; filename\*=UTF-8''[A-Za-z0-9._~%!$&'()*+,=-]+)?$`)
	for name, want := range map[string]string{
		"wren-petal_A4.pdf":               `attachment; filename="wren-petal_A4.pdf"`,
		"wren petal.pdf":                  `attachment; filename="wren_petal.pdf"; filename*=UTF-8''wren%20petal.pdf`,
		"Ärmel.pdf":                       `attachment; filename="_rmel.pdf"; filename*=UTF-8''%C3%84rmel.pdf`,
		"a\"; filename=\"evil.exe":        `attachment; filename="a___filename__evil.exe"; filename*=UTF-8''a__%20filename%3D_evil.exe`,
		"a\r\nSet-Cookie: x=1.pdf":        `attachment; filename="a__Set-Cookie__x_1.pdf"; filename*=UTF-8''a__Set-Cookie_%20x%3D1.pdf`,
		"../../etc/passwd":                `attachment; filename="_.._etc_passwd"`,
		`..\..\boot.ini`:                  `attachment; filename="_.._boot.ini"`,
		"\u202efdp.exe":                   `attachment; filename="_fdp.exe"`,
		"-rf":                             `attachment; filename="rf"`,
		"...":                             `attachment; filename="file"`,
		"":                                `attachment; filename="file"`,
		"\x00":                            `attachment; filename="file"`,
		"\xff\xfe.pdf":                    `attachment; filename="_.pdf"`,
		"✂.pdf":                           `attachment; filename="_.pdf"; filename*=UTF-8''%E2%9C%82.pdf`,
		strings.Repeat("é", 300) + ".pdf": `attachment; filename="` + strings.Repeat("_", 96) + `.pdf"; filename*=UTF-8''` + strings.Repeat("%C3%A9", 96) + ".pdf",
	} {
		got := attachment(name)
		if got != want {
			t.Errorf("%q is saved by\n  %s, want\n  %s", name, got, want)
		}
		if !safe.MatchString(got) {
			t.Errorf("%q: %s is not safe", name, got)
		}
	}
}

func FuzzNamesOfDownloadsAreSafe(f *testing.F) {
	safe := regexp.MustCompile(`^attachment; filename="[A-Za-z0-9_][A-Za-z0-9._-]{0,99}"(; filename\*=UTF-8''[A-Za-z0-9._~%-]+)?$`)
	f.Add("wren.pdf")
	f.Add("../\r\n\u202e")
	f.Fuzz(func(t *testing.T, name string) {
		if got := attachment(name); !safe.MatchString(got) {
			t.Errorf("%q is saved by %s", name, got)
		}
	})
}

func TestTextFromOutsideStaysOnOneLine(t *testing.T) {
	for in, want := range map[string]string{
		"plain":                 "plain",
		"a\nb\r\tc":             "a\uFFFDb\uFFFD\uFFFDc",
		"a\u2028b\u202ec\u0085": "a\uFFFDb\uFFFDc\uFFFD",
		"\x1b[31mred":           "\uFFFD[31mred",
		"\xff":                  "\uFFFD",
		"0123456789x":           "0123456789…",
	} {
		if got := oneLine(in, 10); got != want {
			t.Errorf("%q is told as %q, want %q", in, got, want)
		}
	}
}

func TestAddressesOfOneCallerCountTogether(t *testing.T) {
	same := [][2]string{{"2001:db8::1", "2001:db8::ffff:1"}, {"192.0.2.1", "::ffff:192.0.2.1"}, {"nonsense", ""}}
	for _, p := range same {
		if networkOf(p[0]) != networkOf(p[1]) {
			t.Errorf("%s and %s count as two", p[0], p[1])
		}
	}
	other := [][2]string{{"2001:db8::1", "2001:db8:0:1::1"}, {"192.0.2.1", "192.0.2.2"}}
	for _, p := range other {
		if networkOf(p[0]) == networkOf(p[1]) {
			t.Errorf("%s and %s count as one", p[0], p[1])
		}
	}
}

type recorder struct{ h http.Header }

func (r *recorder) Header() http.Header         { return r.h }
func (r *recorder) Write(b []byte) (int, error) { return len(b), nil }
func (r *recorder) WriteHeader(int)             {}
