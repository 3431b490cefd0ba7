// Command contract prints the contract as one JSON document, for generators of clients. They read a
// reference and pass over what stands beside it; so a reference to a schema that is narrowed in place
// is printed as that schema, narrowed. A choice between members of which one must be there is left out:
// they take it for a choice between anything.
package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"sizerun/openapi"
)

func main() {
	doc, err := openapi.Document()
	if err == nil {
		schemas, _ := doc["components"].(map[string]any)["schemas"].(map[string]any)
		err = json.NewEncoder(os.Stdout).Encode(plain(doc, schemas))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func plain(v any, schemas map[string]any) any {
	switch w := v.(type) {
	case []any:
		out := make([]any, len(w))
		for i, x := range w {
			out[i] = plain(x, schemas)
		}
		return out
	case map[string]any:
		ref, _ := w["$ref"].(string)
		name, ok := strings.CutPrefix(ref, "#/components/schemas/")
		if target, is := schemas[name].(map[string]any); ok && is && narrows(w) {
			merged := maps.Clone(target)
			maps.Copy(merged, w)
			delete(merged, "$ref")
			w = merged
		}
		if choice, ok := w["anyOf"].([]any); ok && !slices.ContainsFunc(choice, saysMore) {
			w = maps.Clone(w)
			delete(w, "anyOf")
		}
		out := make(map[string]any, len(w))
		for k, x := range w {
			out[k] = plain(x, schemas)
		}
		return out
	}
	return v
}

// saysMore reports whether a schema says more than what must be there.
func saysMore(v any) bool {
	o, _ := v.(map[string]any)
	return len(o) != 1 || o["required"] == nil
}

// narrows reports whether more than words stands beside a reference.
func narrows(w map[string]any) bool {
	for k := range w {
		if k != "$ref" && k != "description" && k != "summary" {
			return true
		}
	}
	return false
}
