package docs

import (
	"encoding/json"
	"html/template"
	"maps"
	"slices"
	"strings"
)

// fact is what a reader wants to know of a value.
type fact struct {
	Name     string
	Required bool
	Type     template.HTML // with links to the schemas that it names
	Range    string
	Unit     string
	Default  string
	Says     string
	Parts    []fact // of an object that has no name of its own
}

// schema is a named schema.
type schema struct {
	Name string
	fact
	OneOf []fact
}

// deepest is how far nameless objects are shown within each other.
const deepest = 5

// fact reads a schema.
func (s *spec) fact(name string, required bool, v any, depth int) fact {
	o, ref := s.follow(v)
	if ref != "" { // it has a place of its own, which tells the rest
		delete(o, "pattern")
		o["description"] = object(v)["description"]
	}
	f := fact{Name: name, Required: required, Type: s.typeOf(v), Range: rangeOf(o), Unit: text(o["unit"]), Says: text(o["description"])}
	if f.Unit == "" {
		f.Unit = text(o["x-unit"])
	}
	if d, ok := o["default"]; ok {
		f.Default = compact(d)
	}
	if ref == "" && depth < deepest {
		f.Parts = s.parts(o, depth)
	}
	return f
}

// parts are the members of an object, or of the items of a list.
func (s *spec) parts(o map[string]any, depth int) []fact {
	if items := object(o["items"]); items != nil && items["$ref"] == nil && items["properties"] != nil {
		return s.parts(items, depth)
	}
	props := object(o["properties"])
	var names []string
	must := map[string]bool{}
	for _, r := range list(o["required"]) {
		if n := text(r); props[n] != nil {
			names = append(names, n)
			must[n] = true
		}
	}
	for _, n := range slices.Sorted(maps.Keys(props)) {
		if !must[n] {
			names = append(names, n)
		}
	}
	var out []fact
	for _, n := range names {
		out = append(out, s.fact(n, must[n], props[n], depth+1))
	}
	if rest := object(o["additionalProperties"]); rest != nil {
		out = append(out, s.fact("any other name", false, rest, depth+1))
	}
	return out
}

// typeOf is a schema's type; one with a name is a link to its place.
func (s *spec) typeOf(v any) template.HTML {
	o := object(v)
	if ref, ok := o["$ref"].(string); ok {
		name := template.HTMLEscapeString(ref[strings.LastIndex(ref, "/")+1:])
		return template.HTML(`<a href="#schema-` + name + `">` + name + `</a>`) //nolint:gosec // escaped
	}
	var parts []string
	for _, k := range []string{"oneOf", "anyOf"} {
		for _, x := range list(o[k]) {
			parts = append(parts, string(s.typeOf(x)))
		}
		if parts != nil {
			return template.HTML(strings.Join(parts, " or ")) //nolint:gosec // of escaped parts
		}
	}
	for _, x := range list(o["allOf"]) {
		parts = append(parts, string(s.typeOf(x)))
	}
	if parts != nil {
		return template.HTML(strings.Join(parts, " and ")) //nolint:gosec // of escaped parts
	}
	kinds := list(o["type"])
	if k := text(o["type"]); k != "" {
		kinds = []any{k}
	}
	for _, k := range kinds {
		kind := text(k)
		if kind == "array" && o["items"] != nil {
			kind = "list of " + string(s.typeOf(o["items"]))
		} else {
			kind = template.HTMLEscapeString(kind)
		}
		parts = append(parts, kind)
	}
	switch {
	case parts != nil:
	case o["const"] != nil || o["enum"] != nil:
		parts = []string{"one of"}
	default:
		parts = []string{"anything"}
	}
	if f := text(o["format"]); f != "" {
		parts = append(parts, "("+template.HTMLEscapeString(f)+")")
		return template.HTML(strings.Join(parts[:len(parts)-1], " or ") + " " + parts[len(parts)-1]) //nolint:gosec // escaped
	}
	return template.HTML(strings.Join(parts, " or ")) //nolint:gosec // of escaped parts
}

// rangeOf tells what values would do.
func rangeOf(o map[string]any) string {
	var out []string
	add := func(lo, hi any, what string) {
		a, b := number(lo), number(hi)
		switch {
		case a != "" && b != "" && a == b:
			out = append(out, strings.TrimSpace(a+" "+what))
		case a != "" && b != "":
			out = append(out, strings.TrimSpace(a+" to "+b+" "+what))
		case a != "":
			out = append(out, strings.TrimSpace("at least "+a+" "+what))
		case b != "":
			out = append(out, strings.TrimSpace("at most "+b+" "+what))
		}
	}
	if c, ok := o["const"]; ok {
		out = append(out, compact(c))
	}
	if e := list(o["enum"]); len(e) > 0 {
		words := make([]string, len(e))
		for i, x := range e {
			words[i] = compact(x)
		}
		out = append(out, strings.Join(words, ", "))
	}
	if r := list(o["range"]); len(r) == 2 {
		add(r[0], r[1], "")
	}
	add(o["minimum"], o["maximum"], "")
	add(o["minLength"], o["maxLength"], "characters")
	add(o["minItems"], o["maxItems"], "items")
	add(o["minProperties"], o["maxProperties"], "members")
	if p := text(o["pattern"]); p != "" {
		out = append(out, "matches "+p)
	}
	return strings.Join(out, "; ")
}

func number(v any) string {
	if n, ok := v.(json.Number); ok {
		return n.String()
	}
	return ""
}

// schemas are all named schemas, by name.
func (s *spec) schemas() []schema {
	all := object(object(s.root["components"])["schemas"])
	var out []schema
	for _, name := range slices.Sorted(maps.Keys(all)) {
		o := object(all[name])
		sc := schema{Name: name, fact: s.fact(name, false, o, 0)}
		for _, k := range []string{"oneOf", "allOf"} {
			for _, x := range list(o[k]) {
				sc.OneOf = append(sc.OneOf, s.fact("", false, x, 0))
			}
		}
		out = append(out, sc)
	}
	return out
}
