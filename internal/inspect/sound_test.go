package inspect_test

import (
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// home are the allowances of a home pattern.
var home = pattern.Allowances{Default: pattern.Allowance{Width: 15.9}, Edges: map[string]pattern.Allowance{
	"*.hem": {Width: 12.7, Turned: 2}, "front.neck": {Width: 6}, "back.neck": {Width: 6}}}

func sized(t testing.TB, p pattern.Pattern) inspect.Sized {
	t.Helper()
	s := inspect.Sized{Pattern: p}
	for i := range p.Pieces {
		c, err := allowance.Make(p.Size, &p.Pieces[i], home)
		if err != nil {
			t.Fatal(err)
		}
		s.Cut = append(s.Cut, c)
	}
	return s
}

func run(t testing.TB, ps ...pattern.Pattern) inspect.Report {
	t.Helper()
	var s []inspect.Sized
	for _, p := range ps {
		s = append(s, sized(t, p))
	}
	return inspect.Run(s, blouse.Chart(), inspect.Options{})
}

func TestASoundBlousePassesEveryCheckInEverySize(t *testing.T) {
	r := run(t, blouse.Run()...)
	for _, c := range r.Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s, want %v ± %g: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Tolerance, c.Text)
	}
	if r.Pass < 500 {
		t.Errorf("only %d checks were made", r.Pass)
	}
}
