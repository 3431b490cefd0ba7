package api_test

import (
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/workroom"
	"sizerun/testdata"
)

func withRoom(t *testing.T) func(*plan) {
	t.Helper()
	room, err := workroom.New(document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return func(p *plan) { p.make = room }
}

func demoDocument(t *testing.T, name string) string {
	t.Helper()
	b, err := testdata.Files.ReadFile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// sizesDrawn reads an SVG and lists its sizes; it fails the test over what could act in a page.
func sizesDrawn(t *testing.T, svg []byte) (sizes, words []string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(string(svg)))
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			return sizes, words
		}
		if err != nil {
			t.Fatalf("not XML: %v", err)
		}
		if c, ok := tok.(xml.CharData); ok && strings.TrimSpace(string(c)) != "" {
			words = append(words, string(c))
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		switch e.Name.Local {
		case "svg", "g", "title", "desc", "path", "text":
		default:
			t.Errorf("there is an element %s", e.Name.Local)
		}
		layer := ""
		for _, a := range e.Attr {
			if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "style" || a.Name.Local == "href" || a.Name.Local == "id" {
				t.Errorf("%s has %s", e.Name.Local, a.Name.Local)
			}
			if a.Name.Local == "data-layer" {
				layer = a.Value
			}
		}
		if layer != "" {
			sizes = append(sizes, layer)
		}
	}
}

// A storefront shows a style by its name, tries a parameter out, and puts it on a customer's body. The house holds
// every answer against the contract.
func TestAPreviewAnswersAtOnceWithAPicture(t *testing.T) {
	h := newHouse(t, withRoom(t))
	h.must(201, "POST", "/v1/blocks", demoDocument(t, "blocks/wren-w"))
	h.must(201, "POST", "/v1/styles", demoDocument(t, "styles/wren-petal"))
	named := h.must(200, "POST", "/v1/previews", `{"style":"wren-petal","sizes":["8","14"]}`)
	if sizes, _ := sizesDrawn(t, named.body); strings.Join(sizes, " ") != "8 14" {
		t.Errorf("sizes %v", sizes)
	}
	for name, want := range map[string]string{"Content-Type": "image/svg+xml", "X-Content-Type-Options": "nosniff", "Cache-Control": "private, no-cache"} {
		if got := named.header.Get(name); got != want {
			t.Errorf("%s: %q", name, got)
		}
	}
	if csp := named.header.Get("Content-Security-Policy"); !strings.Contains(csp, "default-src 'none'") || !strings.Contains(csp, "sandbox") || strings.Contains(csp, "allow-") {
		t.Errorf("the policy is %q", csp)
	}
	// The same style sent along is the same picture, and a condition holds nothing back from a POST.
	inline := `{"style":` + demoDocument(t, "styles/wren-petal") + `,"sizes":["8","14"]}`
	again := h.must(200, "POST", "/v1/previews", inline, "If-None-Match", named.header.Get("ETag"))
	if again.header.Get("ETag") != named.header.Get("ETag") || string(again.body) != string(named.body) {
		t.Error("the same style by name and inline differ")
	}
	other := h.must(200, "POST", "/v1/previews", strings.Replace(inline, `"2in"`, `"3in"`, 1))
	if other.header.Get("ETag") == named.header.Get("ETag") {
		t.Error("another parameter draws the same picture")
	}
	body := h.must(200, "POST", "/v1/previews", `{"style":"wren-petal","body":{"name":"order 1001","body":{"bust":940,"waist":780,"hip":1020,"neck":377,"shoulder":124,"nape_to_waist":412,"scye_depth":216,"upper_arm":296}}}`)
	if sizes, _ := sizesDrawn(t, body.body); strings.Join(sizes, "|") != "order 1001" {
		t.Errorf("a body is drawn as %v", sizes)
	}
	if sizes, _ := sizesDrawn(t, h.must(200, "POST", "/v1/previews", `{"block":"wren-w","sizes":["14"]}`).body); len(sizes) != 1 {
		t.Errorf("a block alone: %v", sizes)
	}
}

// What a shop writes into its documents may be anything; in a page it is text.
func TestAPreviewOfHostileNames(t *testing.T) {
	h := newHouse(t, withRoom(t))
	h.must(201, "POST", "/v1/blocks", demoDocument(t, "blocks/wren-w"))
	for _, title := range []string{`</title><script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, "<![CDATA[ ]]> &amp; 'quoted'", "שמלה 👗 \u202eabc", "]]>"} {
		var style map[string]any
		if err := json.Unmarshal([]byte(demoDocument(t, "styles/wren-petal")), &style); err != nil {
			t.Fatal(err)
		}
		style["title"] = title
		b, err := json.Marshal(map[string]any{"style": style, "sizes": []string{"14"}})
		if err != nil {
			t.Fatal(err)
		}
		a := h.do("POST", "/v1/previews", string(b))
		if a.status == 422 {
			continue // refused with a place, which the contract judges
		}
		sizes, words := sizesDrawn(t, a.body)
		if a.status != 200 || len(sizes) != 1 {
			t.Fatalf("%q: %d %s", title, a.status, a.body)
		}
		if strings.IndexFunc(title, func(r rune) bool { return r > 0x7f }) < 0 && words[0] != title {
			t.Errorf("%q is told as %q", title, words[0])
		}
		if strings.Contains(string(a.body), "\u202e") {
			t.Errorf("%q turns the reading direction", title)
		}
	}
}

func TestAPreviewIsRefusedWithItsPlace(t *testing.T) {
	h := newHouse(t, withRoom(t))
	h.must(201, "POST", "/v1/blocks", demoDocument(t, "blocks/wren-w"))
	h.must(201, "POST", "/v1/styles", demoDocument(t, "styles/wren-petal"))
	style := demoDocument(t, "styles/wren-petal")
	var bodies []string
	for i := range 13 {
		bodies = append(bodies, fmt.Sprintf(`{"name":"order %d","body":{"bust":940}}`, i))
	}
	for body, pointer := range map[string]string{
		`{"style":"wren-petal","sizes":["99"]}`:                                           "/sizes/0",
		`{"style":"wren-petal","sizes":"all","body":[` + strings.Join(bodies, ",") + `]}`: "/sizes",
		`{"style":` + strings.Replace(style, `"2in"`, `"40in"`, 1) + `,"sizes":["14"]}`:   "/style/changes/0/hem_in",
		`{"style":"nothing-of-that-name"}`:                                                "/style",
		`{"style":"wren-petal","outputs":[{"paper":"A4"}]}`:                               "/outputs",
		`{}`: "/style",
		`{"style":"wren-petal","body":{"name":"order 1001","body":{"bust":94000}}}`:         "/body/body/bust",
		`{"style":` + strings.Replace(style, `"petal"`, `"petals"`, 1) + `,"sizes":["14"]}`: "/style/changes/0/change",
		`{"style":"wren-petal","sizes":["8","8"]}`:                                          "/sizes/1",
		`{"block":{"block":"x"},"style":` + style + `,"sizes":["14"]}`:                      "/block/sizes",
	} {
		p := h.refused(422, "invalid", "POST", "/v1/previews", body)
		found := false
		for _, e := range p.Errors {
			found = found || e.Pointer == pointer && e.Remedy != ""
		}
		if !found {
			t.Errorf("%.90s: want a refusal at %s, got %+v", body, pointer, p.Errors)
		}
	}
	h.refused(400, "malformed", "POST", "/v1/previews", `{"style":`)
	// Another shop's style is no style.
	other := h.newKey("Another Shop")
	a, b := h.do("POST", "/v1/previews", `{"style":"wren-petal"}`, "Authorization", "Bearer "+other, "X-Request-Id", "x"), h.do("POST", "/v1/previews", `{"style":"wren-metal"}`, "Authorization", "Bearer "+other, "X-Request-Id", "x")
	if a.status != 422 || strings.ReplaceAll(string(a.body), "petal", "metal") != string(b.body) {
		t.Errorf("another shop's: %s\nunknown: %s", a.body, b.body)
	}
}
