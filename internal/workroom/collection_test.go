package workroom

import (
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/document"
	"sizerun/testdata"
)

// The shop's collection shows all that the register can do: a change that no style uses was never looked
// at on paper.
func TestTheCollectionUsesEveryChange(t *testing.T) {
	styles, err := testdata.Files.ReadDir("styles")
	if err != nil {
		t.Fatal(err)
	}
	used := map[string][]string{}
	for _, f := range styles {
		s, err := document.DecodeStyle(demo(t, "styles/"+strings.TrimSuffix(f.Name(), ".json")), document.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range s.Changes {
			used[c.Change] = append(used[c.Change], s.Name)
		}
	}
	for _, d := range change.Register() {
		if len(used[d.Name]) == 0 {
			t.Errorf("no style uses %s", d.Name)
		}
	}
	if len(styles) < 10 {
		t.Errorf("the collection has %d styles", len(styles))
	}
}

// BenchmarkTheCollection checks every style over its whole run, decoding included.
func BenchmarkTheCollection(b *testing.B) {
	styles, err := testdata.Files.ReadDir("styles")
	if err != nil {
		b.Fatal(err)
	}
	for _, f := range styles {
		name := strings.TrimSuffix(f.Name(), ".json")
		b.Run(name, func(b *testing.B) {
			raw := demo(b, "styles/"+name)
			s, err := document.DecodeStyle(raw, document.DefaultLimits())
			if err != nil {
				b.Fatal(err)
			}
			r, m := room(b), making(b)
			m.Block, m.Style, m.Request.Style = demo(b, "blocks/"+s.Block), raw, name
			sizes := 0
			for b.Loop() {
				r.recent.forget()
				_, sum, err := r.Check(b.Context(), m)
				if err != nil {
					b.Fatal(err)
				}
				sizes = len(sum.Sizes)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*sizes), "ns/size")
		})
	}
}
