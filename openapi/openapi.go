// Package openapi holds the contract of the service, written by hand in openapi.yaml: every route,
// what it takes, what it answers, every problem, with an example of each in examples.yaml.
//
// The service gives the contract out at /openapi.json. It does not run on it: routes are written in
// package api, and bodies are read by package document, which tells a maker what to mend. That the
// three say the same is what the tests are for (conform checks every exchange against the
// contract; api's tests compare the router with it, route by route).
package openapi

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"
	"sync"

	"go.yaml.in/yaml/v4"
)

//go:embed openapi.yaml examples.yaml
var files embed.FS

const examplesFile = "examples.yaml"

// JSON is the contract as one JSON document, the same bytes every time.
var JSON = sync.OnceValues(func() ([]byte, error) {
	doc, err := Document()
	if err != nil {
		return nil, err
	}
	return json.Marshal(doc)
})

// Document is the contract as a tree of maps and lists, in one piece. The caller owns it.
func Document() (map[string]any, error) {
	doc, err := load("openapi.yaml")
	if err != nil {
		return nil, err
	}
	whole, err := load(examplesFile)
	if err != nil {
		return nil, err
	}
	components, _ := doc["components"].(map[string]any)
	examples, _ := components["examples"].(map[string]any)
	for name, v := range examples {
		ref, _ := v.(map[string]any)
		target, _ := ref["$ref"].(string)
		at, ok := strings.CutPrefix(target, examplesFile+"#/")
		if !ok || whole[at] == nil {
			return nil, fmt.Errorf("openapi: the example %s refers to %q, which is not in %s", name, target, examplesFile)
		}
		examples[name] = whole[at]
		delete(whole, at)
	}
	if len(whole) > 0 {
		return nil, fmt.Errorf("openapi: %d examples of %s are used nowhere", len(whole), examplesFile)
	}
	return doc, nil
}

func load(name string) (map[string]any, error) {
	b, err := files.ReadFile(name)
	if err != nil {
		return nil, err
	}
	var doc map[string]any
	if err := yaml.Unmarshal(b, &doc); err != nil {
		return nil, fmt.Errorf("openapi: %s: %w", name, err)
	}
	return doc, nil
}
