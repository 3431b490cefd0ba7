package document

import (
	"strings"

	"sizerun/internal/draft"
	"sizerun/internal/pattern"
)

// A drafted block has no pieces: it names a draft and gives the sizes to draw it in, or one body.
//
//	{"block": "lark", "draft": "bodice", "sizes": {"chart": "women-en"}, "ease": {"bust": "6cm"}}
//	{"block": "lark", "draft": "bodice", "body": {"bust": 955, …}, "lengths": {"sleeve_underarm": 420}}

// oneSize is the name of the only size of a block that is drafted for one body.
const oneSize = "one"

func (d *decoder) drafted(v *value) pattern.Block {
	b := pattern.Block{Drawn: pattern.DrawnSeam, Draft: &pattern.DraftSpec{}}
	d.object(v, []string{"block", "draft"}, []string{"title", "shop", "unit", "drawn", "sizes", "body", "ease", "lengths", "numbers", "finished"})
	d.unit(v)
	b.Name = d.name(v, "block", "block")
	b.Title, b.Shop = d.text(v, "title"), d.text(v, "shop")
	d.choice(v, "drawn", "seam")
	b.Draft.Kind = d.choice(v, "draft", draft.Names()...)
	b.Draft.Ease = d.amounts(v, "ease", d.anyLength)
	b.Draft.Lengths = d.amounts(v, "lengths", d.anyLength)
	b.Draft.Numbers = d.amounts(v, "numbers", func(m *value) float64 { return d.number(m, "the number", -pattern.MaxBody, pattern.MaxBody) })
	b.Finished = d.finished(v)
	sizes := d.field(v, "sizes", func(m *value) { b.Chart = d.chart(m) })
	body := d.field(v, "body", func(m *value) {
		b.Chart = pattern.SizeChart{Base: oneSize, Run: []string{oneSize}, Body: map[string][]float64{}}
		d.members(m, "measurement", pattern.MaxMeasures, func(name string, m *value) {
			if !pattern.ValidName(name) {
				d.badName(name, "body measurement")
				return
			}
			b.Chart.Body[name] = []float64{d.length(m, "the measurement", 1, pattern.MaxBody)}
		})
	})
	if sizes == body {
		d.fail(pattern.Fault{Rule: "draft_body", Detail: "a draft needs either a size chart or a body", Valid: `"sizes", or "body"`, Remedy: `give one of them; {"sizes": {"chart": "women-en"}} uses a chart that comes with the service`})
	}
	return b
}

// amounts reads an object of amounts by name; whether they are known is for the draft to say.
func (d *decoder) amounts(v *value, name string, one func(*value) float64) map[string]float64 {
	var out map[string]float64
	d.field(v, name, func(m *value) {
		out = map[string]float64{}
		d.members(m, "amount", pattern.MaxMeasures, func(k string, m *value) { out[k] = one(m) })
	})
	return out
}

func (d *decoder) anyLength(m *value) float64 {
	return d.length(m, "the length", -pattern.MaxBody, pattern.MaxBody)
}

// drawable drafts a block in every size, so that a chart that can't be drawn is refused when it comes,
// not when it is ordered. v is the document.
func drawable(b *pattern.Block, v *value) pattern.Faults {
	_, fs := draft.Check(*b)
	if len(fs) == 0 {
		_, err := draft.Run(*b, b.Chart.Run)
		fs = pattern.FaultsOf(err)
	}
	if len(fs) > maxFaults {
		fs = fs[:maxFaults]
	}
	if v.get("body") == nil {
		return fs
	}
	out := make(pattern.Faults, len(fs))
	for i, f := range fs {
		if rest, ok := strings.CutPrefix(f.Pointer, "/sizes/body"); ok {
			f.Pointer = "/body" + strings.TrimSuffix(rest, "/0")
		}
		f.Size = ""
		out[i] = f
	}
	return out
}

func encodeDraft(w *writer, s *pattern.DraftSpec) {
	w.key("draft")
	w.str(s.Kind)
	for _, m := range []struct {
		key    string
		values map[string]float64
		write  func(float64)
	}{{"ease", s.Ease, w.mm}, {"lengths", s.Lengths, w.mm}, {"numbers", s.Numbers, w.plain}} {
		if len(m.values) == 0 {
			continue
		}
		w.key(m.key)
		w.object(true, func() {
			for _, k := range sortedKeys(m.values) {
				w.key(k)
				m.write(m.values[k])
			}
		})
	}
}
