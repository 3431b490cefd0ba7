// Package docs makes the pages that people read out of what machines read: the contract, the register
// of changes and the table of problems.
//
//	Pages     the documentation, as one page; and a page for each problem (docs.go, pages/)
//	view      the contract as the page shows it: operations by tag, their parameters and answers (view.go)
//	schema    a JSON Schema in a reader's words: type, range, unit, default (schema.go)
//	drawings  the small pictures of the changes, as SVG (changes.go)
//	words     the little of Markdown that descriptions use (words.go)
//
// The pages need nothing but themselves: no script, no font, no request to anywhere. Everything that
// comes from a document is escaped by html/template.
package docs

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"net/http"
	"slices"
	"strings"
)

//go:embed pages snippets
var files embed.FS

// Problem is a line of the table of problems.
type Problem struct {
	Name   string
	Status int // 0: it ends a run and answers no request
	Title  string
	About  string
}

// StatusText is the status in words.
func (p Problem) StatusText() string { return http.StatusText(p.Status) }

// Pages are all pages, made once. They are the same bytes every time.
type Pages struct {
	Docs     []byte
	Problems map[string][]byte // by name
	Policy   string            // the Content-Security-Policy that they are sent with
}

// Make makes the pages of a contract (OpenAPI, JSON), a register of changes (a JSON list) and the table
// of problems.
func Make(contract, changes []byte, problems []Problem) (*Pages, error) {
	spec, err := readSpec(contract)
	if err != nil {
		return nil, err
	}
	style, err := files.ReadFile("pages/style.css")
	if err != nil {
		return nil, err
	}
	templates, err := template.New("").Funcs(template.FuncMap{
		"words": words,
		"css":   func() template.CSS { return template.CSS(style) }, //nolint:gosec // our own file
		"lower": strings.ToLower,
		"op":    func(o operation, list string) map[string]any { return map[string]any{"Op": o, "List": list} },
	}).ParseFS(files, "pages/*.html")
	if err != nil {
		return nil, err
	}
	view := spec.view()
	if view.Changes, err = readChanges(changes); err != nil {
		return nil, err
	}
	if view.Snippets, err = snippets(); err != nil {
		return nil, err
	}
	slices.SortFunc(problems, func(a, b Problem) int { return strings.Compare(a.Name, b.Name) })
	view.Problems = problems

	sum := sha256.Sum256(style)
	p := &Pages{Problems: map[string][]byte{}}
	p.Policy = "default-src 'none'; style-src 'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) +
		"'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox"
	var b bytes.Buffer
	if err := templates.ExecuteTemplate(&b, "docs.html", view); err != nil {
		return nil, fmt.Errorf("docs: %w", err)
	}
	p.Docs = bytes.Clone(b.Bytes())
	for _, pr := range problems {
		b.Reset()
		err := templates.ExecuteTemplate(&b, "problem.html", map[string]any{
			"Problem": pr, "Example": spec.example(pr.Name), "Operations": view.answering(pr.Name)})
		if err != nil {
			return nil, fmt.Errorf("docs: the page of %s: %w", pr.Name, err)
		}
		p.Problems[pr.Name] = bytes.Clone(b.Bytes())
	}
	return p, nil
}

// Snippet is a way to verify a webhook in one language.
type Snippet struct{ Language, File, Code string }

// snippets are the files that a test runs with their own interpreters.
func snippets() ([]Snippet, error) {
	list := []Snippet{{"Go", "verify.go.txt", ""}, {"JavaScript (Node)", "verify.mjs", ""}, {"Python", "verify.py", ""}, {"PHP", "verify.php", ""}}
	for i := range list {
		b, err := files.ReadFile("snippets/" + list[i].File)
		if err != nil {
			return nil, err
		}
		list[i].Code = string(b)
	}
	return list, nil
}

// spec is the contract as a tree.
type spec struct{ root map[string]any }

func readSpec(b []byte) (*spec, error) {
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber() // a bound is shown as it was written
	var root map[string]any
	if err := d.Decode(&root); err != nil {
		return nil, fmt.Errorf("docs: the contract: %w", err)
	}
	return &spec{root}, nil
}

// follow gives what a reference leads to, with what stands beside it laid over; name is the last part
// of the reference.
func (s *spec) follow(v any) (o map[string]any, name string) {
	o = object(v)
	for o != nil {
		ref, ok := o["$ref"].(string)
		if !ok {
			return o, name
		}
		var target any = s.root
		for part := range strings.SplitSeq(strings.TrimPrefix(ref, "#/"), "/") {
			target = object(target)[strings.NewReplacer("~1", "/", "~0", "~").Replace(part)]
		}
		over := o
		o = map[string]any{}
		for k, x := range object(target) {
			o[k] = x
		}
		for k, x := range over {
			if k != "$ref" {
				o[k] = x
			}
		}
		name = ref[strings.LastIndex(ref, "/")+1:]
	}
	return o, name
}

// example is the value of one of the contract's examples, laid out; "" when there is none.
func (s *spec) example(name string) string {
	e := object(object(object(s.root["components"])["examples"])[name])
	if e["value"] == nil {
		return ""
	}
	return layOut(e["value"])
}

func object(v any) map[string]any { o, _ := v.(map[string]any); return o }
func list(v any) []any            { l, _ := v.([]any); return l }
func text(v any) string           { s, _ := v.(string); return s }
