package document

import (
	"fmt"
	"slices"
	"strings"

	"sizerun/internal/pattern"
)

// RunRequest is what is to be made.
type RunRequest struct {
	Style         string
	Sizes         []string // nil: all sizes of the block; empty: none, only Bodies
	Bodies        []Body
	Outputs       []Output
	Stamp         string
	DeliverAnyway bool // files even when a check fails
	ExternalID    string
	// Sample marks every sheet as no more than that. The service sets it; nobody can ask for it.
	Sample bool `json:",omitempty"`
	// Parameters is what was asked for of a published style, Chosen where that belongs: the service fills it in.
	Parameters map[string]float64 `json:",omitempty"`
	Chosen     []Chosen           `json:",omitempty"`
}

// Body is one customer's measurements, mm.
type Body struct {
	Name string
	Body map[string]float64
}

// Output is one file, or one per size.
type Output struct {
	Paper     string // A4, Letter, A4+Letter, A0, Roll914, Projector
	PerSize   bool   // a file for each size
	SeamLines bool   // seam lines inside the cut lines
	// Companion asks for what goes with the pattern instead: lists, order of sewing, working drawings.
	Companion bool
	// Drawings names the sizes (or bodies) whose working drawings a companion shows, EveryDrawing means all
	// that are made; neither, the base size.
	Drawings     []string
	EveryDrawing bool
}

// CheckRequest asks for the checks of a block or a style without making it. Block and style come
// as documents (Block, Style) or as names (BlockName, StyleName).
type CheckRequest struct {
	Block     *pattern.Block
	BlockRaw  []byte // the bytes of the block document
	BlockName string
	Style     *pattern.Style
	StyleRaw  []byte
	StyleName string
	Sizes     []string // as in RunRequest
	Bodies    []Body
	Outputs   []Output // what is estimated
}

// papers lists the papers that a run may ask for.
func papers() []string { return []string{"A4", "Letter", "A4+Letter", "A0", "Roll914", "Projector"} }

// DecodeRun reads a run document. The error is pattern.Faults.
func DecodeRun(data []byte, lim Limits) (RunRequest, error) {
	v, err := read(data, lim)
	if err != nil {
		return RunRequest{}, err
	}
	d := &decoder{lim: lim, per: 1}
	r := d.run(v)
	if len(d.faults) > 0 {
		return RunRequest{}, d.faults
	}
	return r, nil
}

func (d *decoder) run(v *value) RunRequest {
	var r RunRequest
	d.object(v, []string{"style"}, []string{"unit", "sizes", "body", "outputs", "stamp", "deliver", "external_id", "parameters"})
	if v.kind != kObject {
		return r
	}
	d.unit(v)
	r.Style = d.name(v, "style", "style")
	r.Sizes, r.Bodies = d.sizesAndBodies(v)
	r.Outputs = d.outputs(v)
	d.field(v, "parameters", func(m *value) {
		r.Parameters = map[string]float64{}
		d.members(m, "parameter", mostOffered, func(name string, m *value) { r.Parameters[name] = d.number(m, "the parameter", -1e5, 1e5) })
	})
	r.Stamp = d.text(v, "stamp")
	r.DeliverAnyway = d.choice(v, "deliver", "checked", "anyway") == "anyway"
	d.field(v, "external_id", func(m *value) {
		r.ExternalID = d.textValue(m)
		if m.kind == kText && (r.ExternalID == "" || len(r.ExternalID) > 128 || !pattern.ValidText(r.ExternalID)) {
			d.fail(pattern.Fault{Rule: "text", Detail: "this cannot be an order number", Valid: "1 to 128 bytes, no control characters", Remedy: "shorten it"})
		}
	})
	return r
}

// outputs reads the files that are asked for; A4 when there are none.
func (d *decoder) outputs(v *value) []Output {
	var out []Output
	d.field(v, "outputs", func(m *value) {
		if m.kind == kList && len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "no output is asked for", Valid: fmt.Sprintf("1 to %d outputs", d.lim.Output), Remedy: `name one, for instance {"paper": "A4"}, or leave "outputs" out`})
		}
		type file struct {
			paper                         string
			perSize, seamLines, companion bool
		}
		seen := map[file]bool{}
		d.items(m, "outputs", d.lim.Output, func(_ int, m *value) {
			d.object(m, []string{"paper"}, []string{"kind", "per_size", "seam_lines", "drawings"})
			if m.kind != kObject {
				return
			}
			o := Output{Paper: d.choice(m, "paper", papers()...), PerSize: d.yes(m, "per_size"), SeamLines: d.yes(m, "seam_lines"),
				Companion: d.choice(m, "kind", "pattern", "companion") == "companion"}
			if o.Companion && (o.Paper != "A4" && o.Paper != "Letter" || o.PerSize || o.SeamLines) {
				d.fail(pattern.Fault{Rule: "companion_paper", Detail: "a companion is printed on A4 or Letter, once for the run", Valid: `{"kind": "companion", "paper": "A4"} or "Letter"`, Remedy: "name one of the two papers, without per_size and seam_lines"})
			}
			d.drawings(m, &o)
			f := file{o.Paper, o.PerSize, o.SeamLines, o.Companion}
			if seen[f] {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: "the same output is asked for twice", Valid: "each output once", Remedy: "drop one of them"})
			}
			seen[f] = true
			out = append(out, o)
		})
	})
	if len(out) == 0 {
		out = []Output{{Paper: "A4"}}
	}
	return out
}

// drawings reads which sizes a companion draws: "all" or a list of names.
func (d *decoder) drawings(v *value, o *Output) {
	d.field(v, "drawings", func(m *value) {
		if !o.Companion {
			d.fail(pattern.Fault{Rule: "companion_drawings", Detail: "working drawings are part of a companion", Valid: `{"kind": "companion", "paper": "A4", "drawings": "all"}`, Remedy: `make this output a companion, or leave "drawings" out`})
			return
		}
		if m.kind == kText {
			o.EveryDrawing = d.choiceValue(m, "all") == "all"
			return
		}
		most := d.lim.Sizes + d.lim.Bodies
		if m.kind == kList && len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "no size is to be drawn", Valid: fmt.Sprintf(`"all", or 1 to %d sizes`, most), Remedy: `name the sizes, or leave "drawings" out for the base size`})
		}
		d.items(m, "sizes", most, func(_ int, m *value) {
			s := d.size(m)
			if slices.Contains(o.Drawings, s) {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: fmt.Sprintf("the size %s is to be drawn twice", pattern.Quote(s)), Valid: "each size once", Remedy: "drop one of them"})
				return
			}
			o.Drawings = append(o.Drawings, s)
		})
	})
}

// sizesAndBodies reads "sizes" ("all" or a list of names) and "body" (one customer's body or a
// list of them). A body alone asks for no stock size.
func (d *decoder) sizesAndBodies(v *value) (sizes []string, bodies []Body) {
	named := d.field(v, "sizes", func(m *value) {
		if m.kind == kText {
			d.choiceValue(m, "all")
			return
		}
		if m.kind == kList && len(m.list) == 0 && v.get("body") == nil {
			d.fail(pattern.Fault{Rule: "count", Detail: "no size is asked for", Valid: `"all", or 1 size or more`, Remedy: "name the sizes"})
		}
		sizes = []string{}
		seen := map[string]bool{}
		d.items(m, "sizes", d.lim.Sizes, func(_ int, m *value) {
			s := d.size(m)
			if seen[s] {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: fmt.Sprintf("the size %s is asked for twice", pattern.Quote(s)), Valid: "each size once", Remedy: "drop one of them"})
			}
			seen[s] = true
			sizes = append(sizes, s)
		})
	})
	d.field(v, "body", func(m *value) {
		if !named {
			sizes = []string{}
		}
		if m.kind != kList {
			bodies = append(bodies, d.body(m))
			return
		}
		seen := map[string]bool{}
		d.items(m, "bodies", d.lim.Bodies, func(_ int, m *value) {
			b := d.body(m)
			if seen[strings.ToLower(b.Name)] {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: fmt.Sprintf("there are two bodies named %s", pattern.Quote(b.Name)), Valid: "each name once", Remedy: "rename one of them"})
			}
			seen[strings.ToLower(b.Name)] = true
			bodies = append(bodies, b)
		})
		if len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "the list of bodies is empty", Valid: fmt.Sprintf("1 to %d bodies", d.lim.Bodies), Remedy: `give one, or leave "body" out`})
		}
	})
	return sizes, bodies
}

func (d *decoder) body(v *value) Body {
	var b Body
	d.object(v, []string{"name", "body"}, nil)
	if v.kind != kObject {
		return b
	}
	d.field(v, "name", func(m *value) { b.Name = d.size(m) })
	d.field(v, "body", func(m *value) {
		b.Body = map[string]float64{}
		d.members(m, "measurement", pattern.MaxMeasures, func(name string, m *value) {
			if !pattern.ValidName(name) {
				d.badName(name, "body measurement")
				return
			}
			b.Body[name] = d.length(m, "the measurement", 1, pattern.MaxBody)
		})
	})
	return b
}

// DecodeCheck reads a request for checks. Faults inside a block or style that comes with it point
// into it.
func DecodeCheck(data []byte, lim Limits) (CheckRequest, error) {
	return decodeCheck(data, lim, true)
}

// DecodePreview reads a request for a picture: a check's, but for the outputs, of which it has none.
func DecodePreview(data []byte, lim Limits) (CheckRequest, error) {
	return decodeCheck(data, lim, false)
}

func decodeCheck(data []byte, lim Limits, printed bool) (CheckRequest, error) {
	v, err := read(data, lim)
	if err != nil {
		return CheckRequest{}, err
	}
	d := &decoder{lim: lim, per: 1}
	var c CheckRequest
	known := []string{"block", "style", "unit", "sizes", "body"}
	if printed {
		known = append(known, "outputs")
	}
	if d.object(v, nil, known) {
		d.unit(v)
		if v.get("block") == nil && v.get("style") == nil {
			d.fail(pattern.Fault{Rule: "missing_name", Pointer: "/style", Detail: "there is neither a block nor a style to check", Valid: `"block", "style" or both`, Remedy: "name them, or put the documents there"})
		}
		d.field(v, "block", func(m *value) {
			if m.kind != kObject {
				c.BlockName = d.nameValue(m, "block")
				return
			}
			b, err := blockOf(m, lim, d.path)
			d.faults = append(d.faults, pattern.FaultsOf(err)...)
			c.Block, c.BlockRaw = &b, data[m.from:m.to:m.to]
		})
		d.field(v, "style", func(m *value) {
			if m.kind != kObject {
				c.StyleName = d.nameValue(m, "style")
				return
			}
			s, err := styleOf(m, lim, d.path)
			d.faults = append(d.faults, pattern.FaultsOf(err)...)
			c.Style, c.StyleRaw = &s, data[m.from:m.to:m.to]
		})
		c.Sizes, c.Bodies = d.sizesAndBodies(v)
		if printed {
			c.Outputs = d.outputs(v)
		}
	}
	if len(d.faults) > 0 {
		return CheckRequest{}, d.faults
	}
	return c, nil
}
