// Package conform holds exchanges against the contract, for tests: every answer that a test sees goes
// through it, whatever the test is about.
//
//	c := conform.Load(t)
//	client := &http.Client{Transport: c.Transport(t, nil)}
//
// An answer must be one that the contract has for that path, method and status: its headers, its
// media type, its body by JSON Schema (2020-12). What the contract says in words about all answers
// is checked as well: unknown paths, unknown methods, HEAD, what a problem must look like. Schemas
// are evaluated by github.com/santhosh-tekuri/jsonschema, so by nothing of ours.
package conform

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"mime"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"sizerun/openapi"
)

// Contract is the contract, ready to judge.
type Contract struct {
	doc map[string]any
	ops map[string]map[string]*Operation // path template → method → operation

	mu       sync.Mutex
	compiler *jsonschema.Compiler
	compiled map[string]*jsonschema.Schema
}

// Operation is a method on a path.
type Operation struct {
	Method, Path, ID string
	Keyed            bool // needs a key
	BodySchema       any  // of the JSON body; nil when it takes none
	pointer          string
	node             map[string]any
	params           []map[string]any
}

const resource = "contract.json"

var methods = []string{"get", "put", "post", "delete", "options", "head", "patch", "trace"}

// Load reads the contract; a broken one ends the test.
func Load(t testing.TB) *Contract {
	t.Helper()
	c, err := load()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func load() (*Contract, error) {
	b, err := openapi.JSON()
	if err != nil {
		return nil, err
	}
	tree, err := jsonschema.UnmarshalJSON(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	doc := tree.(map[string]any)
	c := &Contract{doc: doc, ops: map[string]map[string]*Operation{}, compiled: map[string]*jsonschema.Schema{}, compiler: jsonschema.NewCompiler()}
	c.compiler.DefaultDraft(jsonschema.Draft2020)
	c.compiler.AssertFormat()
	if err := c.compiler.AddResource(resource, doc); err != nil {
		return nil, err
	}
	keyedByDefault := len(list(doc["security"])) > 0
	for path, v := range object(doc["paths"]) {
		item := object(v)
		c.ops[path] = map[string]*Operation{}
		for _, m := range methods {
			node := object(item[m])
			if node == nil {
				continue
			}
			op := &Operation{Method: strings.ToUpper(m), Path: path, Keyed: keyedByDefault, node: node, pointer: "/paths/" + escape(path) + "/" + m}
			op.ID, _ = node["operationId"].(string)
			if s, ok := node["security"]; ok {
				op.Keyed = len(list(s)) > 0
			}
			for _, p := range append(list(item["parameters"]), list(node["parameters"])...) {
				_, q := c.resolve(p, "")
				op.params = append(op.params, q)
			}
			if _, body := c.resolve(node["requestBody"], ""); body != nil {
				op.BodySchema = object(object(body["content"])["application/json"])["schema"]
			}
			c.ops[path][op.Method] = op
		}
	}
	return c, nil
}

// Operations lists all operations by path and method.
func (c *Contract) Operations() []*Operation {
	var out []*Operation
	for _, path := range slices.Sorted(maps.Keys(c.ops)) {
		for _, m := range slices.Sorted(maps.Keys(c.ops[path])) {
			out = append(out, c.ops[path][m])
		}
	}
	return out
}

// Parameters are an operation's parameters as the contract has them, references followed.
func (op *Operation) Parameters() []map[string]any { return op.params }

// Node is what stands at a JSON pointer of the contract, with references followed.
func (c *Contract) Node(pointer string) any { return c.at(pointer) }

// ValidBody says whether a body is one that the contract lets the operation take.
func (c *Contract) ValidBody(op *Operation, body []byte) error {
	at := op.pointer + "/requestBody"
	if ref, ok := object(op.node["requestBody"])["$ref"].(string); ok {
		at = strings.TrimPrefix(ref, "#")
	}
	return c.valid(at+"/content/application~1json/schema", body)
}

// Examples are the examples of an operation's body, by name.
func (c *Contract) Examples(op *Operation) map[string]any {
	_, body := c.resolve(op.node["requestBody"], "")
	out := map[string]any{}
	for name, e := range object(object(object(body["content"])["application/json"])["examples"]) {
		_, e := c.resolve(e, "")
		out[name] = e["value"]
	}
	return out
}

// find gives the template that a path (escaped) matches; fixed parts win over variable ones.
func (c *Contract) find(path string) string {
	parts := strings.Split(path, "/")
	best, bestFixed := "", -1
next:
	for template := range c.ops {
		ts := strings.Split(template, "/")
		if len(ts) != len(parts) {
			continue
		}
		fixed := 0
		for i, t := range ts {
			part, err := url.PathUnescape(parts[i])
			switch {
			case strings.HasPrefix(t, "{"):
				if part == "" {
					continue next
				}
			case err == nil && part == t:
				fixed++
			default:
				continue next
			}
		}
		if fixed > bestFixed {
			best, bestFixed = template, fixed
		}
	}
	return best
}

// Find is the operation that a request is for; nil when there is none.
func (c *Contract) Find(method string, u *url.URL) *Operation {
	return c.operation(c.find(u.EscapedPath()), method)
}

// Answer is an answer to be judged.
type Answer struct {
	Status int
	Header http.Header
	Body   []byte
}

// Check says what is wrong with an answer to a request; nil when the contract allows it.
func (c *Contract) Check(method string, u *url.URL, a Answer) error {
	var faults []error
	bad := func(format string, args ...any) { faults = append(faults, fmt.Errorf(format, args...)) }
	if a.Header.Get("X-Content-Type-Options") != "nosniff" {
		bad("no nosniff")
	}
	id := a.Header.Get("X-Request-Id")
	if id == "" {
		bad("no X-Request-Id")
	}
	if a.Status >= 400 && method != http.MethodHead {
		c.checkProblem(a, id, bad)
	}
	template := c.find(u.EscapedPath())
	switch op := c.operation(template, method); {
	case template == "":
		if a.Status != http.StatusNotFound {
			bad("no such path: must be 404")
		}
	case op != nil:
		c.checkOperation(op, method, a, bad)
	case method == http.MethodOptions:
		if a.Status != http.StatusNoContent {
			bad("OPTIONS: must be 204")
		}
		c.checkAllow(template, a, bad)
	default:
		if a.Status != http.StatusMethodNotAllowed {
			bad("no such method: must be 405")
		}
		c.checkAllow(template, a, bad)
	}
	if len(faults) == 0 {
		return nil
	}
	return fmt.Errorf("%s %s → %d %q: %w", method, u, a.Status, clip(a.Body), errors.Join(faults...))
}

func (c *Contract) operation(template, method string) *Operation {
	op := c.ops[template][method]
	if op == nil && method == http.MethodHead {
		op = c.ops[template][http.MethodGet]
	}
	return op
}

func (c *Contract) checkAllow(template string, a Answer, bad func(string, ...any)) {
	want := map[string]bool{"OPTIONS": true}
	for m := range c.ops[template] {
		want[m] = true
		if m == http.MethodGet {
			want[http.MethodHead] = true
		}
	}
	got := map[string]bool{}
	for m := range strings.SplitSeq(a.Header.Get("Allow"), ",") {
		got[strings.TrimSpace(m)] = true
	}
	if !maps.Equal(got, want) {
		bad("Allow is %q, the path has %v", a.Header.Get("Allow"), slices.Sorted(maps.Keys(want)))
	}
}

func (c *Contract) checkProblem(a Answer, id string, bad func(string, ...any)) {
	if ct := a.Header.Get("Content-Type"); ct != "application/problem+json" {
		bad("a refusal of type %q", ct)
		return
	}
	if err := c.valid("/components/schemas/Problem", a.Body); err != nil {
		bad("the problem: %w", err)
		return
	}
	var p struct {
		Type      string
		Status    int
		RequestID string `json:"request_id"`
	}
	if err := json.Unmarshal(a.Body, &p); err != nil {
		bad("the problem: %w", err)
	}
	if p.Status != a.Status {
		bad("the problem tells status %d", p.Status)
	}
	if p.RequestID != id {
		bad("the problem has request_id %q, the header %q", p.RequestID, id)
	}
	name, _ := json.Marshal(p.Type[strings.LastIndex(p.Type, "/")+1:])
	if err := c.valid("/components/schemas/ProblemName", name); err != nil {
		bad("the problem's type: %w", err)
	}
}

func (c *Contract) checkOperation(op *Operation, method string, a Answer, bad func(string, ...any)) {
	at, r := c.resolve(object(op.node["responses"])[strconv.Itoa(a.Status)], op.pointer+"/responses/"+strconv.Itoa(a.Status))
	if r == nil {
		bad("%s has no answer of this status", op.ID)
		return
	}
	for name, h := range object(r["headers"]) {
		hat, hn := c.resolve(h, at+"/headers/"+escape(name))
		vs := a.Header.Values(name)
		if len(vs) == 0 {
			if hn["required"] == true {
				bad("the header %s is missing", name)
			}
			continue
		}
		v, _ := json.Marshal(strings.Join(vs, ", "))
		if err := c.valid(hat+"/schema", v); err != nil {
			bad("the header %s: %w", name, err)
		}
	}
	content := object(r["content"])
	if method == http.MethodHead || len(content) == 0 {
		if len(a.Body) > 0 {
			bad("there must be no body")
		}
		return
	}
	mediaType, _, err := mime.ParseMediaType(a.Header.Get("Content-Type"))
	if err != nil || content[mediaType] == nil {
		bad("the media type %q is not in the contract", a.Header.Get("Content-Type"))
		return
	}
	if strings.HasSuffix(mediaType, "json") && a.Status != http.StatusPartialContent {
		if err := c.valid(at+"/content/"+escape(mediaType)+"/schema", a.Body); err != nil {
			bad("the body: %w", err)
		}
	}
}

// valid holds JSON against the schema at a pointer.
func (c *Contract) valid(pointer string, body []byte) error {
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
	if err != nil {
		return err
	}
	c.mu.Lock()
	defer c.mu.Unlock() // a compiled schema may be used by many, but a compiler by one
	s := c.compiled[pointer]
	if s == nil {
		if s, err = c.compiler.Compile(resource + "#" + pointer); err != nil {
			return err
		}
		c.compiled[pointer] = s
	}
	return s.Validate(v)
}

// Valid holds JSON against the schema at a JSON pointer of the contract.
func (c *Contract) Valid(pointer string, body []byte) error { return c.valid(pointer, body) }

// Transport checks every answer that passes; one that the contract doesn't allow fails the test.
func (c *Contract) Transport(t testing.TB, next http.RoundTripper) http.RoundTripper {
	if next == nil {
		next = http.DefaultTransport
	}
	return transport{t, c, next}
}

type transport struct {
	t    testing.TB
	c    *Contract
	next http.RoundTripper
}

func (tr transport) RoundTrip(r *http.Request) (*http.Response, error) {
	resp, err := tr.next.RoundTrip(r)
	if err != nil {
		return nil, err
	}
	b, err := io.ReadAll(resp.Body)
	_ = resp.Body.Close() // all of it is read
	if err != nil {
		return nil, err
	}
	resp.Body = io.NopCloser(bytes.NewReader(b))
	if err := tr.c.Check(r.Method, r.URL, Answer{resp.StatusCode, resp.Header, b}); err != nil {
		tr.t.Errorf("against the contract: %v", err)
	}
	return resp, nil
}

// resolve follows references and tells the pointer that they lead to.
func (c *Contract) resolve(v any, at string) (string, map[string]any) {
	o := object(v)
	for o != nil {
		ref, ok := o["$ref"].(string)
		if !ok {
			break
		}
		at = strings.TrimPrefix(ref, "#")
		o = object(c.at(at))
	}
	return at, o
}

func (c *Contract) at(pointer string) any {
	var v any = c.doc
	for part := range strings.SplitSeq(strings.TrimPrefix(pointer, "/"), "/") {
		part = strings.NewReplacer("~1", "/", "~0", "~").Replace(part)
		switch w := v.(type) {
		case map[string]any:
			v = w[part]
		case []any:
			i, err := strconv.Atoi(part)
			if err != nil || i < 0 || i >= len(w) {
				return nil
			}
			v = w[i]
		default:
			return nil
		}
		if ref, ok := object(v)["$ref"].(string); ok && len(object(v)) == 1 {
			v = c.at(strings.TrimPrefix(ref, "#"))
		}
	}
	return v
}

func object(v any) map[string]any { o, _ := v.(map[string]any); return o }
func list(v any) []any            { l, _ := v.([]any); return l }

func escape(s string) string { return strings.NewReplacer("~", "~0", "/", "~1").Replace(s) }

func clip(b []byte) string {
	if len(b) > 600 {
		return string(b[:600]) + "…"
	}
	return string(b)
}
