package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// What a redrawn cap promises is measured on what was drawn: a piece that is spoiled before it is measured fails.
func TestSpoiledCapsBreakTheirPromises(t *testing.T) {
	edge := func(name string, m func(p geom.Path) geom.Affine) func(*pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(name)]
			e.Path = e.Path.Transform(m(e.Path))
		}
	}
	stretch := func(name string, k float64) func(*pattern.Piece) {
		return edge(name, func(p geom.Path) geom.Affine {
			v := p.Start().Sub(geom.Point{})
			return geom.Translate(v.Neg()).Then(geom.Scale(k, k)).Then(geom.Translate(v))
		})
	}
	lean := func(name string) func(*pattern.Piece) {
		return edge(name, func(p geom.Path) geom.Affine { return geom.RotateAbout(p.Start(), 0.02) })
	}
	shift := func(name string, v geom.Vec) func(*pattern.Piece) {
		return edge(name, func(geom.Path) geom.Affine { return geom.Translate(v) })
	}
	eased := func(keep string) func(func(*pattern.Piece)) []inspect.Check {
		return func(spoil func(*pattern.Piece)) []inspect.Check {
			w, tb, _ := sleeveWork(t)
			w.change = "cap_ease"
			a := &capEaseArgs{Piece: "sleeve", Ease: 30, Back: 0.6, Keep: keep, Crown: "crown", Hem: "hem"}
			if err := a.apply(w); err != nil {
				t.Fatal(err)
			}
			w.res.Checks = nil
			c := asItWas(t, w, &tb)
			spoil(tb.p)
			if err := a.promises(w, &c, [2]float64{18, 12}); err != nil {
				t.Fatal(err)
			}
			return w.res.Checks
		}
	}
	raised := func(hem string) func(func(*pattern.Piece)) []inspect.Check {
		return func(spoil func(*pattern.Piece)) []inspect.Check {
			w, tb, _ := sleeveWork(t)
			w.change = "cap_height"
			by := -15.0
			a := &capHeightArgs{Piece: "sleeve", By: &by, HemAs: hem, Crown: "crown", Hem: "hem"}
			if err := a.apply(w); err != nil {
				t.Fatal(err)
			}
			w.res.Checks = nil
			c := asItWas(t, w, &tb)
			_, high := c.biceps(&c.was)
			spoil(tb.p)
			a.promises(w, &c, high+by)
			return w.res.Checks
		}
	}
	for claim, c := range map[string]struct {
		made  func(func(p *pattern.Piece)) []inspect.Check
		spoil func(p *pattern.Piece)
		rule  string
	}{
		"a front drawn longer":            {eased("width"), stretch("cap_front", 1.002), "cap_ease_half"},
		"a back drawn shorter":            {eased("width"), stretch("cap_back", 0.998), "cap_ease_total"},
		"a sleeve that became wider":      {eased("width"), shift("cap_front", geom.Vec{X: 1}), "cap_ease_still"},
		"a cap that became higher":        {eased("height"), shift("cap_front", geom.Vec{Y: 1}), "cap_ease_still"},
		"an underarm seam drawn longer":   {eased("height"), stretch("underarm_back", 1.01), "cap_ease_kept"},
		"a cap with a point at its crown": {eased("width"), lean("cap_back"), "cap_ease_smooth"},
		"a lower notch that moved":        {eased("width"), func(p *pattern.Piece) { p.MarkNamed("back_notch").S++ }, "cap_ease_notches"},
		"a lower notch that is gone":      {eased("width"), func(p *pattern.Piece) { p.Marks = p.Marks[:1] }, "cap_ease_notches"},
		"a lowered cap drawn longer":      {raised("follows"), stretch("cap_back", 1.001), "cap_height_length"},
		"a crown lowered too far":         {raised("follows"), shift("cap_front", geom.Vec{Y: -0.5}), "cap_height_high"},
		"a hem that does not follow":      {raised("follows"), stretch("hem", 0.99), "cap_height_hem"},
		"a hem that is not kept":          {raised("kept"), stretch("hem", 1.01), "cap_height_hem"},
		"a side that grew with its cap":   {raised("kept"), stretch("underarm_front", 1.01), "cap_height_kept"},
		"an underarm with a corner":       {raised("kept"), lean("underarm_back"), "cap_height_smooth"},
	} {
		for _, x := range c.made(func(*pattern.Piece) {}) {
			if x.Verdict != inspect.Pass {
				t.Errorf("unspoiled: %s %.4f in %v ± %g", x.Rule, x.Measured, x.Want, x.Tolerance)
			}
		}
		found := false
		for _, x := range c.made(c.spoil) {
			found = found || x.Rule == c.rule && x.Verdict == inspect.Fail
		}
		if !found {
			t.Errorf("%s: %s does not fail", claim, c.rule)
		}
	}
}

// asItWas is the cap of the blouse before the change, beside the piece as it is now.
func asItWas(t *testing.T, w *work, tb *tube) capLine {
	t.Helper()
	p := blouse.Make(blouse.Base())
	before := &work{change: w.change, p: p}
	old := *tb
	old.p = before.p.PieceNamed("sleeve")
	c, err := before.capLine(&old, "crown")
	if err != nil {
		t.Fatal(err)
	}
	c.t = tb
	return c
}
