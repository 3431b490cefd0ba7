package document

import (
	"encoding/json"
	"fmt"

	"sizerun/internal/pattern"
)

// Offer is what a shop publishes of a style: what a storefront may choose.
type Offer struct {
	Sizes      []string // nil: every size of the block
	Papers     []string
	Parameters []OfferedParameter
}

// OfferedParameter is a number of one change that a storefront may choose, in the style's own unit.
type OfferedParameter struct {
	Name     string
	Change   int // counted from 0, as pointers count
	Argument string
	Min, Max float64
}

// Chosen is a parameter that was chosen: what takes its place in the style.
type Chosen struct {
	Change   int
	Argument string
	Value    float64
}

// mostOffered bounds the parameters of an offer.
const mostOffered = 20

// DecodeOffer reads one. The error is pattern.Faults.
func DecodeOffer(data []byte, lim Limits) (Offer, error) {
	v, err := read(data, lim)
	if err != nil {
		return Offer{}, err
	}
	d := &decoder{lim: lim, per: 1}
	o := Offer{Papers: []string{"A4"}}
	d.object(v, nil, []string{"sizes", "papers", "parameters"})
	if v.kind != kObject {
		return Offer{}, d.faults
	}
	o.Sizes, _ = d.sizesAndBodies(v)
	d.field(v, "papers", func(m *value) {
		o.Papers = nil
		d.items(m, "papers", len(papers()), func(_ int, m *value) { o.Papers = append(o.Papers, d.choiceValue(m, papers()...)) })
	})
	seen := map[string]bool{}
	d.field(v, "parameters", func(m *value) {
		d.items(m, "parameters", mostOffered, func(_ int, m *value) {
			d.object(m, []string{"name", "change", "argument", "min", "max"}, nil)
			if m.kind != kObject {
				return
			}
			p := OfferedParameter{Name: d.name(m, "name", "parameter"), Argument: d.name(m, "argument", "argument")}
			d.field(m, "change", func(m *value) { p.Change = d.whole(m, "the change", 0, pattern.MaxChanges-1) })
			d.field(m, "min", func(m *value) { p.Min = d.number(m, "the least", -1e5, 1e5) })
			d.field(m, "max", func(m *value) { p.Max = d.number(m, "the most", -1e5, 1e5) })
			if p.Min > p.Max {
				d.fail(pattern.Fault{Rule: "range", Detail: fmt.Sprintf("%s may be from %g to %g, which is nothing", pattern.Quote(p.Name), p.Min, p.Max), Valid: "min no more than max", Remedy: "exchange them"})
			}
			if seen[p.Name] {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: pattern.Quote(p.Name) + " is offered twice", Valid: "each name once", Remedy: "give the other one a name of its own"})
			}
			seen[p.Name] = true
			o.Parameters = append(o.Parameters, p)
		})
	})
	if len(d.faults) > 0 {
		return Offer{}, d.faults
	}
	return o, nil
}

// Choose puts what was chosen into a style document. A place that is not there is a Fault.
func Choose(style []byte, chosen []Chosen) ([]byte, error) {
	if len(chosen) == 0 {
		return style, nil
	}
	var doc map[string]json.RawMessage
	if err := json.Unmarshal(style, &doc); err != nil {
		return nil, err
	}
	var changes []map[string]json.RawMessage
	if len(doc["changes"]) > 0 {
		if err := json.Unmarshal(doc["changes"], &changes); err != nil {
			return nil, err
		}
	}
	for _, c := range chosen {
		if c.Change < 0 || c.Change >= len(changes) {
			return nil, pattern.Faults{{Rule: "unknown_change", Pointer: "/change", Detail: fmt.Sprintf("the style has no change %d", c.Change), Valid: fmt.Sprintf("0 to %d", len(changes)-1), Remedy: "count the style's changes from 0"}}
		}
		if c.Argument == "change" {
			return nil, pattern.Faults{{Rule: "unknown_value", Pointer: "/argument", Detail: "which change it is can't be chosen", Valid: "an argument that is a number", Remedy: "offer a number of the change"}}
		}
		b, err := json.Marshal(c.Value)
		if err != nil {
			return nil, err
		}
		changes[c.Change][c.Argument] = b
	}
	b, err := json.Marshal(changes)
	if err != nil {
		return nil, err
	}
	doc["changes"] = b
	return json.Marshal(doc)
}
