package document

import (
	"fmt"
	"strings"

	"sizerun/internal/pattern"
)

const refRule = `["piece", "edge"], or {"piece", "edge", "against"}`

func (d *decoder) seam(v *value, b *pattern.Block) pattern.Seam {
	var s pattern.Seam
	d.object(v, []string{"seam", "sew", "to"}, []string{"ease", "smooth", "cap", "notches"})
	if v.kind != kObject {
		return s
	}
	s.Name = d.name(v, "seam", "seam")
	d.field(v, "sew", func(m *value) { s.Sew = d.refs(m, false) })
	d.field(v, "to", func(m *value) { s.To = d.refs(m, true) })
	s.Cap = d.yes(v, "cap")
	d.field(v, "ease", func(m *value) {
		const most = 10 * pattern.MaxAllowance
		if m.kind != kList || len(m.list) != 2 {
			d.wrongKind(m, "[least, most]: two lengths")
			return
		}
		for i, into := range []*float64{&s.Ease.Min, &s.Ease.Max} {
			d.pushIndex(i)
			*into = d.length(&m.list[i], "the ease", -most, most)
			d.pop()
		}
	})
	d.field(v, "smooth", func(m *value) {
		d.items(m, `"start", "end"`, 2, func(_ int, m *value) {
			switch d.choiceValue(m, "start", "end") {
			case "start":
				s.SmoothStart = true
			case "end":
				s.SmoothEnd = true
			}
		})
	})
	d.field(v, "notches", func(m *value) {
		d.items(m, "pairs of marks", pattern.MaxMarks, func(_ int, m *value) {
			if m.kind != kList || len(m.list) != 2 {
				d.wrongKind(m, "a list of two marks: on the sew side, on the to side")
				return
			}
			var pair [2]pattern.MarkRef
			for i, chain := range [][]pattern.EdgeRef{s.Sew, s.To} {
				d.pushIndex(i)
				pair[i] = d.markRef(&m.list[i], chain, b)
				d.pop()
			}
			s.Notches = append(s.Notches, pair)
		})
	})
	return s
}

// refs reads a chain of edges. "sew" walks with the outline, "to" against it, unless a reference
// says otherwise.
func (d *decoder) refs(v *value, against bool) []pattern.EdgeRef {
	var out []pattern.EdgeRef
	d.items(v, "edges", pattern.MaxRefs, func(_ int, m *value) {
		r := pattern.EdgeRef{Against: against}
		switch {
		case m.kind == kList && len(m.list) == 2:
			for i, into := range []*string{&r.Piece, &r.Edge} {
				d.pushIndex(i)
				*into = d.nameValue(&m.list[i], [2]string{"piece", "edge"}[i])
				d.pop()
			}
		case m.kind == kObject:
			if !d.object(m, []string{"piece", "edge"}, []string{"against"}) {
				return
			}
			r.Piece, r.Edge = d.name(m, "piece", "piece"), d.name(m, "edge", "edge")
			if m.get("against") != nil {
				r.Against = d.yes(m, "against")
			}
		default:
			d.wrongKind(m, refRule)
			return
		}
		out = append(out, r)
	})
	return out
}

// markRef reads a mark's name, looked for on the pieces of the chain, or "piece.mark".
func (d *decoder) markRef(v *value, chain []pattern.EdgeRef, b *pattern.Block) pattern.MarkRef {
	s := d.textValue(v)
	if v.kind != kText {
		return pattern.MarkRef{}
	}
	if p, m, dotted := strings.Cut(s, "."); dotted {
		if !pattern.ValidName(p) || !pattern.ValidName(m) {
			d.badName(s, "mark")
		}
		return pattern.MarkRef{Piece: p, Mark: m}
	}
	if !pattern.ValidName(s) {
		d.badName(s, "mark")
		return pattern.MarkRef{}
	}
	var on []string
	for _, r := range chain {
		p := b.PieceNamed(r.Piece)
		if p == nil || p.MarkNamed(s) < 0 || len(on) > 0 && on[len(on)-1] == p.Name {
			continue
		}
		on = append(on, p.Name)
	}
	switch len(on) {
	case 0:
		// Validate tells of it, with the marks that there are.
		return pattern.MarkRef{Mark: s}
	case 1:
		return pattern.MarkRef{Piece: on[0], Mark: s}
	}
	d.fail(pattern.Fault{Rule: "ambiguous_mark", Detail: fmt.Sprintf("several pieces of this seam have a mark %q: %s", s, strings.Join(on, ", ")), Valid: `"piece.mark"`, Remedy: fmt.Sprintf("write %q", on[0]+"."+s)})
	return pattern.MarkRef{Piece: on[0], Mark: s}
}
