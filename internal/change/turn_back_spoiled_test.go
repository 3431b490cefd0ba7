package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// brokenBy makes something, spoils it, measures it again, and wants the rule to fail then and only then.
func brokenBy(t *testing.T, claim, rule string, made func(spoil func(*pattern.Pattern)) []inspect.Check, spoil func(*pattern.Pattern)) {
	t.Helper()
	for _, x := range made(func(*pattern.Pattern) {}) {
		if x.Verdict != inspect.Pass {
			t.Errorf("unspoiled: %s %.4f in %v ± %g", x.Rule, x.Measured, x.Want, x.Tolerance)
		}
	}
	for _, x := range made(spoil) {
		if x.Rule == rule && x.Verdict == inspect.Fail {
			return
		}
	}
	t.Errorf("%s: %s does not fail", claim, rule)
}

// laidBy moves an edge of a piece.
func laidBy(piece, edge string, m geom.Affine) func(*pattern.Pattern) {
	return func(p *pattern.Pattern) {
		e := &p.PieceNamed(piece).Edges[p.PieceNamed(piece).EdgeNamed(edge)]
		e.Path = e.Path.Transform(m)
	}
}

func TestASpoiledTurnBackCuffBreaksItsPromises(t *testing.T) {
	made := func(cut string) func(func(*pattern.Pattern)) []inspect.Check {
		return func(spoil func(*pattern.Pattern)) []inspect.Check {
			w := &work{change: "turn_back", p: blouse.Make(blouse.Base())}
			w.sources()
			a := &turnBackArgs{Hem: "hem", Depth: 40, Roll: 2, Cut: cut, Straighten: cut == cuffInOne, Name: "cuff"}
			lens := w.seamLengths()
			tb, err := w.opens("sleeve", "hem", nil)
			if err != nil {
				t.Fatal(err)
			}
			b := turnedBack{raw: tb.p.Clone(), piece: "sleeve", left: "underarm_back", right: "underarm_front", cuff: "cuff"}
			if cut == cuffInOne {
				if err := a.inOne(w, &tb, &b); err != nil {
					t.Fatal(err)
				}
				if err := a.sewOn(w, []turnedBack{b}); err != nil {
					t.Fatal(err)
				}
				spoil(&w.p)
				a.promiseInOne(w, []turnedBack{b}, lens)
				return w.res.Checks
			}
			if err := a.separate(w, &tb, &b); err != nil {
				t.Fatal(err)
			}
			a.sewCuffs(w, []turnedBack{b})
			spoil(&w.p)
			a.promiseSeparate(w, []turnedBack{b})
			return w.res.Checks
		}
	}
	shift := func(x, y float64) geom.Affine { return geom.Translate(geom.Vec{X: x, Y: y}) }
	fold := func(name string, y float64) func(*pattern.Pattern) {
		return func(p *pattern.Pattern) {
			q := p.PieceNamed("sleeve")
			for i := range q.Lines {
				if q.Lines[i].Name == name {
					q.Lines[i].Path = q.Lines[i].Path.Transform(shift(0, y))
				}
			}
		}
	}
	inOne, own := made(cuffInOne), made(cuffSeparate)
	brokenBy(t, "a side of the cuff shifted", "turn_back_lies", inOne, laidBy("sleeve", "cuff_underarm_front", shift(0.5, 0)))
	brokenBy(t, "what is turned under leans", "turn_back_under", inOne, laidBy("sleeve", "cuff_underarm_back", geom.RotateAbout(geom.Pt(-163, -137), 0.02)))
	brokenBy(t, "a fold drawn too low", "turn_back_depth", inOne, fold("hem_fold", -0.2))
	brokenBy(t, "a side that grew", "turn_back_kept", inOne, laidBy("sleeve", "underarm_back", geom.Scale(1.01, 1.01)))
	brokenBy(t, "a side of the cuff that grew", "turn_back_seams", inOne, laidBy("sleeve", "cuff_underarm_back", geom.Scale(1.01, 1.01)))
	brokenBy(t, "a cuff cut too short", "turn_back_seam", own, laidBy("cuff", "stitched", geom.Scale(0.99, 1)))
	brokenBy(t, "a cuff's side shifted", "turn_back_lies", own, laidBy("cuff", "side_end", shift(0.5, 0)))
	brokenBy(t, "a cuff too deep", "turn_back_depth", own, laidBy("cuff", "edge", shift(0, 0.5)))
	brokenBy(t, "an edge that sags", "turn_back_parallel", own, func(p *pattern.Pattern) {
		e := &p.PieceNamed("cuff").Edges[2]
		e.Path = geom.Polyline(e.Path.Start(), e.Path.PointAt(e.Path.Length()/2).Add(geom.Vec{Y: -3}), e.Path.End())
	})
}
