package inspect_test

import (
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/testkit/blouse"
)

// puffed is a blouse whose cap was drafted for more ease, of which the surplus is told as gathers.
func puffed(drawn float64) inspect.Report {
	d := blouse.Base()
	plain := blouse.Make(d)
	d.EaseFront, d.EaseBack = d.EaseFront+40, d.EaseBack+40
	p := blouse.Make(d)
	for i := range p.Seams {
		if p.Seams[i].Cap {
			p.Seams[i].Ease, p.Seams[i].Drawn = plain.Seams[i].Ease, drawn
		}
	}
	return inspect.Run([]inspect.Sized{{Pattern: p}}, blouse.Chart(), inspect.Options{})
}

func failed(r inspect.Report) map[string]bool {
	out := map[string]bool{}
	for _, c := range r.Checks {
		if c.Verdict != inspect.Pass {
			out[c.Rule] = true
		}
	}
	return out
}

func TestGathersOfACapAreNoEase(t *testing.T) {
	if f := failed(puffed(40)); f["seam_length"] || f["cap_ease"] || f["cap_ease_share"] || f["cap_ease_crown"] || f["cap_ease_split"] {
		t.Errorf("gathers told as such are found fault with: %v", f)
	}
	if f := failed(puffed(0)); !f["seam_length"] || !f["cap_ease"] || !f["cap_ease_crown"] {
		t.Errorf("80 mm too much pass untold: %v", f)
	}
	if f := failed(puffed(60)); !f["seam_length"] || !f["cap_ease"] {
		t.Errorf("more gathers than there is cloth pass: %v", f)
	}
}

func TestNotchesBesideGathersMayBeApartByThem(t *testing.T) {
	for _, drawn := range []float64{0, 30} {
		p := blouse.Make(blouse.Base())
		for i := range p.Seams {
			if p.Seams[i].Name != "side" {
				continue
			}
			p.Seams[i].Drawn = drawn
			f := p.PieceNamed("front")
			f.MarkNamed("waist").S += 25
		}
		if f := failed(inspect.Run([]inspect.Sized{{Pattern: p}}, blouse.Chart(), inspect.Options{})); f["notch_walk"] != (drawn == 0) {
			t.Errorf("%g mm drawn up: %v", drawn, f)
		}
	}
}
