package geom

import (
	"slices"
	"testing"
)

func TestFlatteningIntoASliceGivesTheSamePoints(t *testing.T) {
	p := Path{Line(Pt(0, 0), Pt(50, 0)), Cubic(Pt(50, 0), Pt(80, 0), Pt(100, 40), Pt(100, 90))}
	first := Pt(7, 7)
	for _, tol := range []float64{0.01, 0.05, 1} {
		got := p.AppendFlat([]Point{first}, tol)
		if got[0] != first || !slices.Equal(got[1:], p.Flatten(tol)) {
			t.Errorf("within %g: %v, want %v", tol, got, p.Flatten(tol))
		}
	}
	if got := Path(nil).AppendFlat(nil, 1); got != nil {
		t.Errorf("an empty path gives %v", got)
	}
}
