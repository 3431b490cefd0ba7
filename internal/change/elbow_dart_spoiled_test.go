package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// What an elbow dart promises is measured on the sleeve as it was drawn: one that is spoiled before fails.
func TestSpoiledElbowDartsBreakTheirPromises(t *testing.T) {
	move := func(edge string, k float64, v geom.Vec) func(*pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(edge)]
			s := e.Path.Start().Sub(geom.Point{})
			e.Path = e.Path.Transform(geom.Translate(s.Neg()).Then(geom.Scale(k, k)).Then(geom.Translate(s.Add(v))))
		}
	}
	made := func(hinge string, spoil func(*pattern.Piece)) []inspect.Check {
		d := blouse.Base()
		d.Underarm, d.Taper = 430, 50
		w := &work{change: "elbow_dart", p: blouse.Make(d)}
		w.sources()
		tb, err := w.tube("sleeve", "hem", nil)
		if err != nil {
			t.Fatal(err)
		}
		a := &elbowArgs{Piece: "sleeve", Intake: 25, Elbow: 0.25, SetBack: 10, Hinge: hinge, Dart: "elbow", Hem: "hem"}
		e, err := a.find(w, &tb)
		if err != nil {
			t.Fatal(err)
		}
		g, err := a.bend(w, &e)
		if err != nil {
			t.Fatal(err)
		}
		q, _, err := a.lay(w, &e, &g)
		if err != nil {
			t.Fatal(err)
		}
		spoil(q)
		now, err := wedgeAt("/piece", q, 0)
		if err != nil {
			t.Fatal(err)
		}
		a.promises(w, &e, &g, q, now)
		return w.res.Checks
	}
	for claim, c := range map[string]struct {
		hinge string
		spoil func(*pattern.Piece)
		rule  string
	}{
		"a back seam drawn longer":     {"front", move("underarm_back_lower", 1.001, geom.Vec{}), "elbow_dart_seam"},
		"a front seam drawn shorter":   {"front", move("underarm_front", 0.999, geom.Vec{}), "elbow_dart_front"},
		"a front seam that was turned": {"middle", move("underarm_front", 0.999, geom.Vec{}), "elbow_dart_seam"},
		"a dart that gapes":            {"middle", move("elbow_lower", 1.05, geom.Vec{}), "elbow_dart_intake"},
		"a dart with a longer leg":     {"front", move("elbow_upper", 1.01, geom.Vec{}), "dart_legs"},
		"a dart that runs too far":     {"front", move("elbow_upper", 1, geom.Vec{X: 1}), "dart_set_back"},
		"a mouth with a corner": {"front", func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed("underarm_back_lower")]
			e.Path = e.Path.Transform(geom.RotateAbout(e.Path.Start(), 0.2))
		}, "dart_fold"},
		"a wrist that was cut too wide":  {"front", move("hem", 1.01, geom.Vec{}), "dart_area"},
		"a wrist that was not lapped":    {"middle", move("hem", 1, geom.Vec{Y: -1}), "dart_area"},
		"a notch that was left on paper": {"front", func(p *pattern.Piece) { p.Marks = p.Marks[1:] }, "dart_marks"},
	} {
		for _, x := range made(c.hinge, func(*pattern.Piece) {}) {
			if x.Verdict != inspect.Pass {
				t.Errorf("unspoiled: %s %.4f in %v ± %g", x.Rule, x.Measured, x.Want, x.Tolerance)
			}
		}
		found := false
		for _, x := range made(c.hinge, c.spoil) {
			found = found || x.Rule == c.rule && x.Verdict == inspect.Fail
		}
		if !found {
			t.Errorf("%s: %s does not fail", claim, c.rule)
		}
	}
}
