package document

import (
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
)

// What is measured on the finished garment is told by the block, in its own edges and places:
//
//	{"name": "bust", "says": "Bust, under the arm", "terms": [
//	   {"across": "front", "from": {"point": "underarm"}, "to": "centre_front", "times": 2}, … ]}
//	{"name": "hem", "says": "Hem, all round", "terms": [{"edges": [["front", "hem"], ["back", "hem"]], "outer": true, "times": 2}]}
//	{"name": "length", "says": "Sleeve, crown to hem", "terms": [{"along": "sleeve", "from": {"point": "crown"}, "to": "hem"}]}

const termRule = `{"edges": [[piece, edge], …]}, {"across": piece, "from", "to"} or {"along": piece, "from", "to"}`

func (d *decoder) finished(v *value) []pattern.Finished {
	var out []pattern.Finished
	d.field(v, "finished", func(m *value) {
		d.items(m, "finished measurements", pattern.MaxFinished, func(_ int, m *value) {
			var f pattern.Finished
			if !d.object(m, []string{"name", "says", "terms"}, []string{"body"}) && m.kind != kObject {
				return
			}
			f.Name, f.Says = d.name(m, "name", "finished measurement"), d.text(m, "says")
			f.Body = d.name(m, "body", "body measurement")
			d.field(m, "terms", func(m *value) {
				d.items(m, "terms", pattern.MaxTerms, func(_ int, m *value) { f.Terms = append(f.Terms, d.term(m)) })
			})
			out = append(out, f)
		})
	})
	return out
}

func (d *decoder) term(v *value) pattern.Term {
	t := pattern.Term{Times: 1}
	d.object(v, nil, []string{"edges", "outer", "across", "along", "from", "to", "times"})
	if v.kind != kObject {
		return t
	}
	d.field(v, "times", func(m *value) { t.Times = d.whole(m, "times", 1, pattern.MaxTimes) })
	has := func(names ...string) bool {
		for _, n := range names {
			if v.get(n) != nil {
				return true
			}
		}
		return false
	}
	way := has("across", "along")
	if has("edges") == way || has("across") && has("along") || way && has("outer") || !way && has("from", "to") || way && !(has("from") && has("to")) {
		d.fail(pattern.Fault{Rule: "term", Detail: "a term is measured in exactly one way", Valid: termRule + `, each with "times"; edges may be "outer"`, Remedy: "give the members of one of these forms"})
		return t
	}
	if !way {
		d.field(v, "edges", func(m *value) { t.Edges = d.refs(m, false) })
		t.Outer = d.yes(v, "outer")
		return t
	}
	t.Along = has("along")
	if t.Along {
		t.Piece = d.name(v, "along", "piece")
	} else {
		t.Piece = d.name(v, "across", "piece")
	}
	d.field(v, "from", func(m *value) { t.From = d.place(m) })
	d.field(v, "to", func(m *value) {
		if m.kind == kText {
			t.ToEdge = d.nameValue(m, "edge")
			return
		}
		t.To = d.place(m)
	})
	return t
}

// measurable measures a block's list on its base size, so that a term that leads nowhere is refused when it
// comes, not when a style is ordered.
func measurable(b *pattern.Block) pattern.Faults {
	if len(b.Finished) == 0 {
		return nil
	}
	return maker.CheckFinished(*b)
}

func encodeFinished(w *writer, list []pattern.Finished) {
	if len(list) == 0 {
		return
	}
	w.key("finished")
	w.list(false, func() {
		for i := range list {
			f := &list[i]
			w.next()
			w.object(true, func() {
				w.key("name")
				w.str(f.Name)
				w.key("says")
				w.str(f.Says)
				w.textIf("body", f.Body)
				w.key("terms")
				w.list(true, func() {
					for k := range f.Terms {
						w.next()
						w.object(true, func() { encodeTerm(w, &f.Terms[k]) })
					}
				})
			})
		}
	})
}

func encodeTerm(w *writer, t *pattern.Term) {
	if len(t.Edges) > 0 {
		encodeRefs(w, "edges", t.Edges, false)
		if t.Outer {
			w.key("outer")
			w.bool(true)
		}
	} else {
		w.key(map[bool]string{true: "along", false: "across"}[t.Along])
		w.str(t.Piece)
		w.key("from")
		encodePlace(w, &t.From)
		w.key("to")
		if t.ToEdge != "" {
			w.str(t.ToEdge)
		} else {
			encodePlace(w, &t.To)
		}
	}
	if t.Times > 1 {
		w.key("times")
		w.int(t.Times)
	}
}
