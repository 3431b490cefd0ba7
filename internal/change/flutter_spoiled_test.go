package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestASpoiledFlutterBreaksItsPromises(t *testing.T) {
	made := func(halves bool) func(func(*pattern.Pattern)) []inspect.Check {
		return func(spoil func(*pattern.Pattern)) []inspect.Check {
			w := &work{change: "flutter", p: blouse.Make(blouse.Base())}
			w.sources()
			a := &flutterArgs{Pieces: []string{"sleeve"}, As: "over", Fit: "armhole", Share: Each{Back: 1, Front: 1}, Crown: 120, Ends: Each{Back: 30, Front: 30}, Angle: 180, Hem: 6, Name: "flutter", Halves: halves}
			if err := a.apply(w); err != nil {
				t.Fatal(err)
			}
			front, back, err := a.halves(w)
			if err != nil {
				t.Fatal(err)
			}
			w.res.Checks = nil
			spoil(&w.p)
			a.promises(w, &front, &back, front.stretch+back.stretch)
			return w.res.Checks
		}
	}
	shift := func(x, y float64) geom.Affine { return geom.Translate(geom.Vec{X: x, Y: y}) }
	whole, halves := made(false), made(true)
	brokenBy(t, "an inner edge drawn too long", "flutter_inner", whole, laidBy("flutter", "cap_front", geom.Scale(1.002, 1.002)))
	brokenBy(t, "an inner edge bent flatter", "flutter_radius", whole, laidBy("flutter", "cap_back", geom.Scale(1, 0.98)))
	brokenBy(t, "a hem too low", "flutter_crown", whole, laidBy("flutter", "hem", shift(0, -0.5)))
	brokenBy(t, "a hem aside", "flutter_end", whole, laidBy("flutter", "hem", shift(0.5, 0)))
	brokenBy(t, "a half too low", "flutter_crown", halves, laidBy("flutter_back", "hem", shift(0, -0.5)))
	brokenBy(t, "a half that turns at the shoulder", "flutter_smooth", halves, laidBy("flutter_back", "hem", geom.RotateAbout(geom.Pt(0, -250), 0.05)))
	brokenBy(t, "a notch that moved", "flutter_notches", whole, func(p *pattern.Pattern) { p.PieceNamed("flutter").MarkNamed("front_notch").S += 1 })
	brokenBy(t, "a hem with a corner", "flutter_smooth", whole, func(p *pattern.Pattern) {
		e := &p.PieceNamed("flutter").Edges[0]
		q := append(geom.Path{}, e.Path...)
		q[1].P1.Y += 6
		e.Path = q
	})
}
