package openapi_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"sizerun/openapi"
	"sizerun/openapi/conform"
)

// A reader of OpenAPI that is not ours (kin-openapi) finds the document valid, its examples too.
func TestAnotherReaderFindsTheContractValid(t *testing.T) {
	b, err := openapi.JSON()
	if err != nil {
		t.Fatal(err)
	}
	doc, err := openapi3.NewLoader().LoadFromData(b)
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(context.Background(), openapi3.EnableExamplesValidation()); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(doc.OpenAPI, "3.1.") {
		t.Errorf("the document is OpenAPI %s", doc.OpenAPI)
	}
}

func TestTheContractIsTheSameBytesEveryTime(t *testing.T) {
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	once, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	served, err := openapi.JSON()
	if err != nil {
		t.Fatal(err)
	}
	if string(once) != string(served) {
		t.Error("two readings of the contract differ")
	}
	if strings.Contains(string(served), "examples.yaml") {
		t.Error("what is served refers to a file that is not served")
	}
}

// Every body, in and out, has an example, and every example keeps to its schema.
func TestEveryBodyHasExamplesThatKeepToTheirSchema(t *testing.T) {
	c := conform.Load(t)
	seen := 0
	try := func(where string, at string, content any) {
		for mediaType, m := range asObject(content) {
			if !strings.HasSuffix(mediaType, "json") {
				continue
			}
			if strings.HasPrefix(where, "getFile") || strings.HasPrefix(where, "getLinked") {
				continue // its JSON is any file's, so there is nothing to show
			}
			examples := asObject(asObject(m)["examples"])
			if len(examples) == 0 {
				t.Errorf("%s: %s has no example", where, mediaType)
			}
			for name, e := range examples {
				if ref, ok := asObject(e)["$ref"].(string); ok {
					e = c.Node(strings.TrimPrefix(ref, "#"))
				}
				v, ok := asObject(e)["value"]
				if !ok {
					t.Errorf("%s: the example %s has no value", where, name)
					continue
				}
				b, err := json.Marshal(v)
				if err != nil {
					t.Fatal(err)
				}
				if err := c.Valid(at+"/content/"+strings.ReplaceAll(mediaType, "/", "~1")+"/schema", b); err != nil {
					t.Errorf("%s: the example %s: %v", where, name, err)
				}
				seen++
			}
		}
	}
	for _, op := range c.Operations() {
		at := "/paths/" + strings.ReplaceAll(op.Path, "/", "~1") + "/" + strings.ToLower(op.Method)
		node := asObject(c.Node(at))
		if b := node["requestBody"]; b != nil {
			p := at + "/requestBody"
			if ref, ok := asObject(b)["$ref"].(string); ok {
				p = strings.TrimPrefix(ref, "#")
			}
			try(op.ID+" request", p, asObject(c.Node(p))["content"])
		}
		for status := range asObject(node["responses"]) {
			p := at + "/responses/" + status
			if ref, ok := asObject(asObject(node["responses"])[status])["$ref"].(string); ok {
				p = strings.TrimPrefix(ref, "#")
			}
			try(op.ID+" "+status, p, asObject(c.Node(p))["content"])
		}
	}
	if seen < 60 {
		t.Errorf("only %d examples were looked at", seen)
	}
}

// What every operation must be able to say, by its kind.
func TestEveryOperationListsTheRefusalsItCanGive(t *testing.T) {
	c := conform.Load(t)
	ids := map[string]bool{}
	for _, op := range c.Operations() {
		if op.ID == "" || ids[op.ID] {
			t.Errorf("%s %s has no operationId of its own", op.Method, op.Path)
		}
		ids[op.ID] = true
		var must []string
		if op.Keyed {
			must = append(must, "401", "429", "500", "503")
		}
		if strings.Contains(op.Path, "{") {
			must = append(must, "404")
		}
		if op.BodySchema != nil {
			must = append(must, "400", "408", "413", "415", "422")
		}
		node := asObject(c.Node(fmt.Sprintf("/paths/%s/%s", strings.ReplaceAll(op.Path, "/", "~1"), strings.ToLower(op.Method))))
		for _, s := range must {
			if asObject(node["responses"])[s] == nil {
				t.Errorf("%s does not list %s", op.ID, s)
			}
		}
	}
}

func asObject(v any) map[string]any { o, _ := v.(map[string]any); return o }
