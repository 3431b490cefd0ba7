package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// Promises can be broken: each piece is spoiled in one way after the change was made, before it is measured.
func TestSpoiledSleevesBreakTheirPromises(t *testing.T) {
	stretch := func(edge string, k float64) func(p *pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(edge)]
			s := e.Path.Start()
			e.Path = e.Path.Transform(geom.Translate(geom.Point{}.Sub(s)).Then(geom.Scale(k, k)).Then(geom.Translate(s.Sub(geom.Point{}))))
		}
	}
	kink := func(edge string) func(p *pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(edge)]
			q := append(geom.Path{}, e.Path...)
			q[len(q)/2].P1.Y += 4
			e.Path = q
		}
	}
	shift := func(edge string, v geom.Vec) func(p *pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(edge)]
			e.Path = e.Path.Transform(geom.Translate(v))
		}
	}
	lean := func(edge string, a float64) func(p *pattern.Piece) {
		return func(p *pattern.Piece) {
			e := &p.Edges[p.EdgeNamed(edge)]
			e.Path = e.Path.Transform(geom.RotateAbout(e.Path.Start(), a))
		}
	}
	flared := func(spoil func(p *pattern.Piece)) []inspect.Check {
		w, tb, was := sleeveWork(t)
		a := &flareArgs{Piece: "sleeve", By: 100, Lines: 4, Hem: "hem"}
		o := opening{open: tb.hemRun(), head: tb.cap, cuts: tb.slashes(tb.hemRun(), tb.cap, 4), gain: 100}
		for i := range o.cuts {
			o.cuts[i].open = 25
		}
		s, err := w.spread(tb.p, o)
		if err != nil {
			t.Fatal(err)
		}
		spoil(tb.p)
		a.tell(w, &was, &tb, &s, &o)
		return w.res.Checks
	}
	tapered := func(spoil func(p *pattern.Piece)) []inspect.Check {
		w, tb, was := sleeveWork(t)
		a := &taperArgs{Pieces: []string{"sleeve"}, By: 20, Hem: "hem"}
		if err := a.one(w, "sleeve"); err != nil {
			t.Fatal(err)
		}
		w.res.Checks = nil
		spoil(tb.p)
		a.tell(w, &was, &tb, tb.up.Right(), 2)
		return w.res.Checks
	}
	gathered := func(spoil func(p *pattern.Piece)) []inspect.Check {
		w, tb, _ := sleeveWork(t)
		eases, err := w.easesNow()
		if err != nil {
			t.Fatal(err)
		}
		g, err := w.gathering(&tb, "crown", nil)
		if err != nil {
			t.Fatal(err)
		}
		was := tb.p.Clone()
		a := &gatheredBothArgs{By: 80, Hem: "hem"}
		o := opening{open: tb.hemRun(), head: tb.cap, cuts: slashesWithin(tb.p, tb.hemRun(), tb.cap, 4, tb.up, g.within), within: &g.within}
		for i := range o.cuts {
			o.cuts[i].open, o.cuts[i].head = 20, 20
		}
		if _, err := w.spread(tb.p, o); err != nil {
			t.Fatal(err)
		}
		w.drawUp(&tb, &g)
		spoil(tb.p)
		if err := a.promises(w, &was, &tb, &g, eases); err != nil {
			t.Fatal(err)
		}
		return w.res.Checks
	}
	for claim, c := range map[string]struct {
		made  func(func(p *pattern.Piece)) []inspect.Check
		spoil func(p *pattern.Piece)
		rule  string
	}{
		"a flared cap drawn longer":       {flared, stretch("cap_front", 1.002), "flare_kept"},
		"a flared hem drawn too short":    {flared, stretch("hem", 0.99), "flare_hem"},
		"a flared hem with a corner":      {flared, kink("hem"), "flare_smooth"},
		"a flared side that leans":        {flared, lean("underarm_front", 0.02), "flare_corners"},
		"a tapered side drawn longer":     {tapered, stretch("underarm_front", 1.01), "taper_kept"},
		"a tapered hem shifted":           {tapered, shift("hem", geom.Vec{X: 1}), "taper_side"},
		"a tapered cap shifted":           {tapered, shift("cap_back", geom.Vec{Y: 1}), "taper_cap"},
		"a gathered side drawn longer":    {gathered, stretch("underarm_back", 1.01), "gathered_both_kept"},
		"a gathered side that leans":      {gathered, lean("underarm_back", 0.01), "gathered_both_sides"},
		"a gathered hem drawn too narrow": {gathered, stretch("hem", 0.99), "gathered_both_width"},
		"gathers that nobody told":        {gathered, stretch("cap_front", 1.01), "test_ease"},
		"a notch that moved":              {gathered, func(p *pattern.Piece) { p.MarkNamed("front_notch").S += 2 }, "test_below"},
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

// sleeveWork is the sleeve of a blouse about to be changed.
func sleeveWork(t *testing.T) (*work, tube, pattern.Piece) {
	t.Helper()
	w := &work{change: "test", p: blouse.Make(blouse.Base())}
	w.sources()
	tb, err := w.tube("sleeve", "hem", nil)
	if err != nil {
		t.Fatal(err)
	}
	return w, tb, tb.p.Clone()
}
