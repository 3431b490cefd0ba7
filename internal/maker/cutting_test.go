package maker_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"sizerun/internal/maker"
)

// A ruffle that is joined of as many lengths as the cloth asks for says on its label in which sizes there are more.
func TestALabelTellsInWhichSizesAPieceIsCutMoreOften(t *testing.T) {
	m := made(t, block(t, read(t, "blocks/dunlin-skirt")), `{"change": "ruffle", "edges": ["back.hem", "front.hem"], "fullness": 2, "width": "100mm", "cloth_width": "1100mm"}`)
	counts := m.CountsBySize()["Ruffle"]
	if len(counts) != len(m.Sizes) || len(m.CountsBySize()) != 1 {
		t.Fatalf("%v", m.CountsBySize())
	}
	first := counts[m.Sizes[0].Pattern.Size]
	var more []string
	for i := range m.Sizes {
		size := m.Sizes[i].Pattern.Size
		if counts[size] == first+1 {
			more = append(more, size)
		}
	}
	if len(more) == 0 {
		t.Fatalf("no size needs a length more: %v", counts)
	}
	found := false
	for _, p := range m.Job(maker.Print{}).Pieces {
		has := slices.ContainsFunc(p.Lines, func(l string) bool { return strings.HasSuffix(l, " in "+strings.Join(more, ", ")) })
		if has != (p.Name == "ruffle") {
			t.Errorf("the label of %s: %q", p.Name, p.Lines)
		}
		found = found || has
	}
	if !found {
		t.Errorf("no label tells of %v", more)
	}
}

// Half a straight band on the fold, 40 mm wide when it is finished: twice its length is cut, twice its width.
func TestInterfacingIsAsLargeAsWhatItBacks(t *testing.T) {
	m := made(t, block(t, read(t, "blocks/dunlin-skirt")), `{"change": "waistband", "edges": ["back.waist_centre", "back.waist_middle", "back.waist_side", "front.waist_side", "front.waist_centre"], "width": "40mm", "cut": "fold", "overlap": 0}`)
	areas := m.Interfacing()
	for i := range m.Sizes {
		p := &m.Sizes[i].Pattern
		b := p.PieceNamed("waistband")
		want := 2 * b.Edges[b.EdgeNamed("stitched")].Path.Length() * 80
		if math.Abs(areas[p.Size]-want) > 1 {
			t.Errorf("size %s: %.0f mm2, want %.0f", p.Size, areas[p.Size], want)
		}
	}
	for _, l := range m.Cutting() {
		if l.Cloth == "interfacing" && len(l.Rows) == 1 && l.Rows[0].Count == 1 && l.Rows[0].Fold {
			return
		}
	}
	t.Errorf("%+v", m.Cutting())
}
