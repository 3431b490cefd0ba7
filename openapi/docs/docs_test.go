package docs_test

import (
	"bytes"
	"encoding/json"
	"regexp"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"sizerun/openapi"
	"sizerun/openapi/conform"
	"sizerun/openapi/docs"
)

const register = `[{"name":"lengthen","sentence":"Makes a piece longer <b>.","promise":"What lies above keeps its shape.",
	"parameters":{"type":"object","required":["change","by"],"properties":{
		"change":{"const":"lengthen","description":"Which change it is."},
		"by":{"type":["number","string"],"range":[-200,400],"unit":"mm","default":"40mm","description":"How much longer."}}},
	"drawing":[{"kind":"outline","path":"M5 35L9 9"},{"kind":"new","path":"M5 5\"/><script>"}]}]`

func pages(t *testing.T) *docs.Pages {
	t.Helper()
	contract, err := openapi.JSON()
	if err != nil {
		t.Fatal(err)
	}
	p, err := docs.Make(contract, []byte(register), []docs.Problem{
		{Name: "not_found", Status: 404, Title: "There is no such thing", About: "Nothing of that name."},
		{Name: "gave_up", Title: "The run broke off", About: "In every try."}})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// each visits every element of a page.
func each(t *testing.T, page []byte, visit func(n *html.Node, attr map[string]string)) {
	t.Helper()
	root, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		t.Fatal(err)
	}
	for n := range root.Descendants() {
		if n.Type == html.ElementNode {
			attr := map[string]string{}
			for _, a := range n.Attr {
				attr[a.Key] = a.Val
			}
			visit(n, attr)
		}
	}
}

func textOf(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

func section(t *testing.T, page []byte, id string) string {
	t.Helper()
	found := ""
	each(t, page, func(n *html.Node, attr map[string]string) {
		if attr["id"] == id {
			found = textOf(n)
		}
	})
	if found == "" {
		t.Fatalf("the page has no %s", id)
	}
	return found
}

// Whatever the contract has stands on the page: every operation, with every parameter, every body's
// examples, every status, every problem.
func TestThePageTellsAllOfTheContract(t *testing.T) {
	page := pages(t).Docs
	c := conform.Load(t)
	seen := 0
	for _, op := range c.Operations() {
		if op.Method == "HEAD" {
			continue // said once, in words
		}
		says := section(t, page, op.ID)
		node, _ := c.Node("/paths/" + strings.ReplaceAll(op.Path, "/", "~1") + "/" + strings.ToLower(op.Method)).(map[string]any)
		want := []string{op.Method, op.Path, node["summary"].(string)}
		for status := range node["responses"].(map[string]any) {
			want = append(want, status)
		}
		for _, p := range op.Parameters() {
			want = append(want, p["name"].(string))
		}
		for name := range c.Examples(op) {
			_ = name
			want = append(want, "Example: ")
		}
		for _, w := range want {
			if !strings.Contains(says, w) {
				t.Errorf("%s: %q does not stand on the page", op.ID, w)
			}
		}
		seen++
	}
	if seen < 30 {
		t.Errorf("only %d operations were looked at", seen)
	}
	schemas, _ := c.Node("/components/schemas").(map[string]any)
	for name := range schemas {
		section(t, page, "schema-"+name)
	}
}

// A bound, a unit and a default of the contract are read off the page.
func TestThePageTellsUnitsRangesAndDefaults(t *testing.T) {
	page := pages(t).Docs
	for id, want := range map[string][]string{
		"linkFile":        {"expires_in integer, in s; 60 to 2592000; default 86400", "POST /v1/files/{id}/link", "with the shop’s key"},
		"listRuns":        {"query limit integer; 1 to 200; default 50"},
		"makeKey":         {"with the shop’s key of scope admin"},
		"followRun":       {"of scope read or storefront"},
		"submitRun":       {"Idempotency-Key", `For example "order-1001"`, "application/json: RunRequest", "Stamp", "external_id_taken", "invalid"},
		"livez":           {"without a key"},
		"tellRun":         {"webhook-signature required", "2XX", "WebhookBody"},
		"change-lengthen": {"by required number or string, in mm; -200 to 400; default \"40mm\" How much longer.", "Makes a piece longer <b>."},
		"schema-Unit":     {`"mm", "cm", "in"`, `default "mm"`},
		"schema-File":     {"bytes required Count", "sha256 required Sum"},
	} {
		says := strings.ToLower(section(t, page, id))
		for _, w := range want {
			if !strings.Contains(says, strings.ToLower(w)) {
				t.Errorf("%s: %q does not stand in %s", id, w, says)
			}
		}
	}
}

// The pages are whole by themselves: no script, no style but their own, nothing that a browser would
// fetch, every link within leads somewhere and every id is there once. What a document says can't
// become markup.
func TestThePagesAreSelfContainedAndSound(t *testing.T) {
	p := pages(t)
	all := map[string][]byte{"docs": p.Docs}
	for name, b := range p.Problems {
		all["problems/"+name] = b
	}
	ids := map[string]bool{}
	each(t, p.Docs, func(_ *html.Node, attr map[string]string) {
		if id := attr["id"]; id != "" {
			if ids[id] {
				t.Errorf("the id %s stands twice on the page", id)
			}
			ids[id] = true
		}
	})
	for name, b := range all {
		styles, headings := 0, 0
		each(t, b, func(n *html.Node, attr map[string]string) {
			switch n.Data {
			case "script", "img", "link", "iframe", "object", "embed", "form", "b", "base", "audio", "video":
				t.Errorf("%s has a <%s>", name, n.Data)
			case "style":
				styles++
				if strings.Contains(textOf(n), "url(") || strings.Contains(textOf(n), "@import") {
					t.Errorf("%s: its style fetches something", name)
				}
			case "h1":
				headings++
			case "pre":
				if attr["tabindex"] != "0" {
					t.Errorf("%s: text that scrolls can't be reached by keyboard: %s", name, textOf(n))
				}
			case "html":
				if attr["lang"] == "" {
					t.Errorf("%s does not say its language", name)
				}
			}
			for k := range attr {
				if k == "style" || k == "src" || strings.HasPrefix(k, "on") {
					t.Errorf("%s: <%s> has the attribute %s, which its policy forbids", name, n.Data, k)
				}
			}
			href, ok := attr["href"]
			switch at, within := strings.CutPrefix(href, "#"); {
			case !ok || href == "openapi.json" || strings.HasPrefix(href, "../docs") || strings.HasPrefix(href, "problems/"):
			case !within:
				t.Errorf("%s leads to %s", name, href)
			case !ids[at]:
				t.Errorf("%s leads to %s, which is not there", name, href)
			}
			if _, at, ok := strings.Cut(href, "../docs#"); ok && !ids[at] {
				t.Errorf("%s leads to docs#%s, which is not there", name, at)
			}
		})
		if styles != 1 || headings != 1 {
			t.Errorf("%s has %d styles and %d main headings", name, styles, headings)
		}
	}
	if !strings.Contains(string(p.Docs), `<path class="outline" d="M5 35L9 9"/>`) {
		t.Error("the change is not drawn")
	}
	if regexp.MustCompile(`(script|style)-src[^;]*('unsafe|\*|https?:)`).MatchString(p.Policy) {
		t.Errorf("the policy is lax: %s", p.Policy)
	}
}

func TestAPageOfAProblemTellsWhatToDo(t *testing.T) {
	p := pages(t)
	var says string
	each(t, p.Problems["not_found"], func(n *html.Node, _ map[string]string) {
		if n.Data == "body" {
			says = textOf(n)
		}
	})
	for _, w := range []string{"There is no such thing", "404 Not Found", "Nothing of that name.", `"status": 404`, "GET /v1/blocks/{name}", "not_found"} {
		if !strings.Contains(says, w) {
			t.Errorf("%q does not stand in %s", w, says)
		}
	}
	if !strings.Contains(string(p.Problems["gave_up"]), "It ends a run") {
		t.Error("a problem that ends a run is told as an answer")
	}
}

func TestABrokenContractOrRegisterIsRefused(t *testing.T) {
	contract, err := openapi.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := docs.Make([]byte("{"), []byte("[]"), nil); err == nil {
		t.Error("half a contract was taken")
	}
	if _, err := docs.Make(contract, []byte("{}"), nil); err == nil {
		t.Error("a register that is no list was taken")
	}
	if !json.Valid(contract) {
		t.Error("the contract was changed")
	}
}

func BenchmarkPages(b *testing.B) {
	contract, err := openapi.JSON()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := docs.Make(contract, []byte(register), nil); err != nil {
			b.Fatal(err)
		}
	}
}
