package document

import (
	"slices"

	"sizerun/internal/maker"
)

// rowDoc is a measurement in every size made: of the body, or of the finished garment.
type rowDoc struct {
	Name string             `json:"name"`
	Says string             `json:"says,omitempty"`
	Body string             `json:"body,omitempty"` // the body measurement that a finished one goes with
	MM   map[string]float64 `json:"mm"`
	// LeftOut tells where and why it can't be measured on this style.
	LeftOut []leftDoc `json:"left_out,omitempty"`
}

type leftDoc struct {
	Reason string   `json:"reason"`
	Sizes  []string `json:"sizes"`
}

// bodies tells every measurement of the bodies that were made for.
func bodies(m maker.Made) []rowDoc {
	all := map[string]map[string]float64{}
	for i := range m.Sizes {
		p := &m.Sizes[i].Pattern
		for k, v := range p.Body {
			if all[k] == nil {
				all[k] = map[string]float64{}
			}
			all[k][p.Size] = milli(v)
		}
	}
	out := []rowDoc{}
	for _, k := range sortedKeys(all) {
		out = append(out, rowDoc{Name: k, MM: all[k]})
	}
	return out
}

// garment tells what the garment measures, and what can't be measured on it any more.
func garment(m maker.Made) []rowDoc {
	out := []rowDoc{}
	at := map[string]int{}
	for i := range m.Sizes {
		size := m.Sizes[i].Pattern.Size
		for _, t := range m.Sizes[i].Finished {
			k, ok := at[t.Name]
			if !ok {
				k = len(out)
				at[t.Name] = k
				out = append(out, rowDoc{Name: t.Name, Says: t.Says, Body: t.Body, MM: map[string]float64{}})
			}
			r := &out[k]
			if t.Gone == "" {
				r.MM[size] = milli(t.MM)
				continue
			}
			n := slices.IndexFunc(r.LeftOut, func(l leftDoc) bool { return l.Reason == t.Gone })
			if n < 0 {
				n = len(r.LeftOut)
				r.LeftOut = append(r.LeftOut, leftDoc{Reason: t.Gone})
			}
			r.LeftOut[n].Sizes = append(r.LeftOut[n].Sizes, size)
		}
	}
	return out
}
