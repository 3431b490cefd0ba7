package document

import (
	"fmt"
	"strings"

	"sizerun/internal/pattern"
)

// DecodeStyle reads a style document and validates it. The error is pattern.Faults.
func DecodeStyle(data []byte, lim Limits) (pattern.Style, error) {
	v, err := read(data, lim)
	if err != nil {
		return pattern.Style{}, err
	}
	return styleOf(v, lim, nil)
}

func styleOf(v *value, lim Limits, path []token) (pattern.Style, error) {
	d := &decoder{lim: lim, path: append([]token(nil), path...), per: 1}
	s := d.style(v)
	if len(d.faults) > 0 {
		return pattern.Style{}, d.faults
	}
	if err := s.Validate(); err != nil {
		return pattern.Style{}, pattern.FaultsOf(err).Under(pointerOf(path))
	}
	return s, nil
}

func (d *decoder) style(v *value) pattern.Style {
	var s pattern.Style
	d.object(v, []string{"style", "block", "allowances"}, []string{"title", "shop", "unit", "changes", "labels"})
	if v.kind != kObject {
		return s
	}
	d.unit(v)
	s.Name, s.Block = d.name(v, "style", "style"), d.name(v, "block", "block")
	s.Title, s.Shop = d.text(v, "title"), d.text(v, "shop")
	d.field(v, "labels", func(m *value) {
		d.items(m, "labels", 20, func(_ int, m *value) { s.Labels = append(s.Labels, d.textValue(m)) })
	})
	d.field(v, "changes", func(m *value) {
		d.items(m, "changes", pattern.MaxChanges, func(_ int, m *value) { s.Changes = append(s.Changes, d.change(m)) })
	})
	d.field(v, "allowances", func(m *value) { s.Allowances = d.allowances(m) })
	return s
}

// change reads one change; what its arguments mean is for the change itself to say.
func (d *decoder) change(v *value) pattern.ChangeSpec {
	var c pattern.ChangeSpec
	if v.kind != kObject {
		d.wrongKind(v, `an object: "change" and its parameters`)
		return c
	}
	if v.get("change") == nil {
		d.fail(pattern.Fault{Rule: "missing_name", Pointer: "/change", Detail: `the member "change" is missing`, Valid: "the name of a change", Remedy: `add "change"`})
	}
	c.Change = d.name(v, "change", "change")
	c.Args = pattern.Arg{Kind: pattern.ArgObject, PerMM: d.per}
	for i := range v.members {
		if n := v.members[i].name; n != "change" {
			d.push(n)
			c.Args.Fields = append(c.Args.Fields, pattern.Field{Name: n, Value: d.arg(&v.members[i].val)})
			d.pop()
		}
	}
	return c
}

func (d *decoder) arg(v *value) pattern.Arg {
	a := pattern.Arg{PerMM: d.per}
	switch v.kind {
	case kNull:
		d.fail(pattern.Fault{Rule: "kind", Detail: "a parameter is null", Valid: "a value", Remedy: "leave the member out to take the default"})
	case kBool:
		a.Kind, a.Bool = pattern.ArgBool, v.yes
	case kNumber:
		a.Kind, a.Number = pattern.ArgNumber, v.num
	case kText:
		a.Kind, a.Text = pattern.ArgText, v.text
		if !pattern.ValidText(v.text) {
			d.fail(pattern.Fault{Rule: "text", Detail: "this text cannot be a parameter", Valid: pattern.TextRule, Remedy: "shorten it, and take out line breaks and control characters"})
		}
	case kList:
		a.Kind = pattern.ArgList
		for i := range v.list {
			d.pushIndex(i)
			a.List = append(a.List, d.arg(&v.list[i]))
			d.pop()
		}
	case kObject:
		a.Kind = pattern.ArgObject
		for i := range v.members {
			d.push(v.members[i].name)
			a.Fields = append(a.Fields, pattern.Field{Name: v.members[i].name, Value: d.arg(&v.members[i].val)})
			d.pop()
		}
	}
	return a
}

func (d *decoder) allowances(v *value) pattern.Allowances {
	var a pattern.Allowances
	d.object(v, []string{"default"}, []string{"edges", "limit"})
	if v.kind != kObject {
		return a
	}
	d.field(v, "default", func(m *value) { a.Default = d.allowance(m) })
	d.field(v, "limit", func(m *value) { a.Limit = d.number(m, "the mitre limit", 1, 20) })
	d.field(v, "edges", func(m *value) {
		a.Edges = map[string]pattern.Allowance{}
		d.members(m, "edge", pattern.MaxEdges*pattern.MaxPieces, func(name string, m *value) {
			p, e, dotted := strings.Cut(name, ".")
			if !dotted || !pattern.ValidName(e) || p != "*" && !pattern.ValidName(p) {
				d.fail(pattern.Fault{Rule: "name", Detail: fmt.Sprintf("%s does not name an edge", pattern.Quote(name)), Valid: `"piece.edge", or "*.edge" for that edge of every piece`, Remedy: "write the piece's name, a dot and the edge's name"})
				return
			}
			a.Edges[name] = d.allowance(m)
		})
	})
	return a
}

// turns gives the words for how often a hem is turned, in the order of their number.
func turns() []string { return []string{"no", "once", "twice"} }

func (d *decoder) allowance(v *value) pattern.Allowance {
	var a pattern.Allowance
	if v.kind != kObject {
		a.Width = d.length(v, "the allowance", 0, pattern.MaxAllowance)
		return a
	}
	d.object(v, []string{"width"}, []string{"turned", "start", "end"})
	d.field(v, "width", func(m *value) { a.Width = d.length(m, "the allowance", 0, pattern.MaxAllowance) })
	t := d.choice(v, "turned", turns()...)
	for i, w := range turns() {
		if t == w {
			a.Turned = i
		}
	}
	corners := []string{string(pattern.Mitre), string(pattern.SquareEnd), string(pattern.HemReturn)}
	a.Start = pattern.Corner(d.choice(v, "start", corners...))
	a.End = pattern.Corner(d.choice(v, "end", corners...))
	return a
}
