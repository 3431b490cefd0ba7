package document

import (
	"strconv"

	"sizerun/internal/change"
)

// changeDoc tells what a style can ask of one change: parameters is a JSON Schema (2020-12) of the
// object that stands in the style's list of changes.
type changeDoc struct {
	Name       string         `json:"name"`
	Sentence   string         `json:"sentence"`
	Promise    string         `json:"promise"`
	Parameters map[string]any `json:"parameters"`
	Drawing    []strokeDoc    `json:"drawing"`
}

// strokeDoc is a line of the small drawing, in a box of 100 by 100, y up, as an SVG path.
type strokeDoc struct {
	Kind string `json:"kind"`
	Path string `json:"path"`
}

// EncodeChanges writes the register of changes, sorted by name, as a JSON array.
func EncodeChanges(defs []change.Definition) ([]byte, error) {
	out := make([]changeDoc, 0, len(defs))
	for _, d := range defs {
		c := changeDoc{Name: d.Name, Sentence: d.Sentence, Promise: d.Promise, Drawing: []strokeDoc{}}
		props := map[string]any{"change": map[string]any{"const": d.Name, "description": "Which change it is."}}
		required := []string{"change"}
		for _, p := range d.Params {
			props[p.Name] = paramSchema(p)
			if p.Required {
				required = append(required, p.Name)
			}
		}
		c.Parameters = map[string]any{"type": "object", "additionalProperties": false, "properties": props, "required": required}
		for _, s := range d.Sketch {
			c.Drawing = append(c.Drawing, strokeDoc{string(s.Kind), pathText(s.Path)})
		}
		out = append(out, c)
	}
	return encode(out)
}

// paramSchema is a parameter's JSON Schema. Where one object may give each half its own value, both
// forms are listed.
func paramSchema(p change.Param) map[string]any {
	s := valueSchema(p)
	if len(p.Sides) > 0 {
		each := map[string]any{}
		for _, side := range p.Sides {
			each[side] = valueSchema(p)
		}
		s = map[string]any{"anyOf": []any{s, map[string]any{"type": "object", "additionalProperties": false, "properties": each, "required": p.Sides}}}
	}
	s["description"] = p.Sentence
	if p.Unit != "" {
		s["unit"] = p.Unit
	}
	if p.Bounded {
		s["range"] = []float64{milli(p.Min), milli(p.Max)}
	}
	if v := defaultOf(p); v != nil {
		s["default"] = v
	}
	return s
}

func valueSchema(p change.Param) map[string]any {
	bound := func(t any) map[string]any {
		m := map[string]any{"type": t}
		if p.Bounded {
			m["minimum"], m["maximum"] = milli(p.Min), milli(p.Max)
		}
		return m
	}
	switch p.Kind {
	case change.Length:
		// A bare number is in the document's unit, so the bound in mm is told by "range" alone.
		return map[string]any{"type": []string{"number", "string"}}
	case change.Share, change.Angle:
		return bound("number")
	case change.Number:
		return bound("integer")
	case change.Choice:
		return map[string]any{"enum": p.Choices}
	case change.Flag:
		return map[string]any{"type": "boolean"}
	case change.Names, change.EdgesOf:
		return map[string]any{"anyOf": []any{map[string]any{"type": "string"}, map[string]any{"type": "array", "items": map[string]any{"type": "string"}, "minItems": 1}}}
	case change.PlaceOf:
		return map[string]any{"type": "object"}
	}
	return map[string]any{"type": "string"}
}

// defaultOf is the default as it would stand in a document; nil when there is none.
func defaultOf(p change.Param) any {
	if p.Default == "" {
		return nil
	}
	switch p.Kind {
	case change.Share, change.Angle, change.Number:
		if f, err := strconv.ParseFloat(p.Default, 64); err == nil {
			return f
		}
	case change.Flag:
		return p.Default == "true"
	}
	return p.Default
}
