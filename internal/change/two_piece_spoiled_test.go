package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestASpoiledTwoPieceSleeveBreaksItsPromises(t *testing.T) {
	made := func(spoil func(*pattern.Pattern)) []inspect.Check {
		w := &work{change: "two_piece", p: blouse.Make(blouse.Base())}
		w.sources()
		share := 0.5
		a := &twoPieceArgs{Piece: "sleeve", Hem: "hem", Crown: "crown", Forearm: 15, HindarmShare: &share, Upper: "upper", Under: "under"}
		was := w.p.Clone()
		if err := a.apply(w); err != nil {
			t.Fatal(err)
		}
		s, err := a.find(&work{change: "two_piece", p: was})
		if err == nil {
			// Found once more on the whole sleeve, to be measured against.
			w.res.Checks = nil
			spoil(&w.p)
			a.promises(w, &s)
		}
		return w.res.Checks
	}
	shift := func(x, y float64) geom.Affine { return geom.Translate(geom.Vec{X: x, Y: y}) }
	grow := func(k float64) geom.Affine { return geom.Scale(k, k) }
	notch := func(by float64) func(*pattern.Pattern) {
		return func(p *pattern.Pattern) { p.PieceNamed("under").MarkNamed("hindarm_notch_1").S += by }
	}
	brokenBy(t, "a cap that grew", "two_piece_cap", made, laidBy("upper", "cap_front", grow(1.002)))
	brokenBy(t, "a forearm seam too long", "two_piece_forearm", made, laidBy("under", "forearm", grow(1.002)))
	brokenBy(t, "a hindarm seam too long", "two_piece_hindarm", made, laidBy("upper", "hindarm", grow(1.002)))
	brokenBy(t, "a forearm seam aside", "two_piece_set_back", made, laidBy("upper", "forearm", shift(0.5, 0)))
	brokenBy(t, "cloth that came from nowhere", "two_piece_whole", made, laidBy("under", "hindarm", shift(0.5, 0)))
	brokenBy(t, "a hem that grew", "two_piece_hem", made, laidBy("under", "hem", grow(1.01)))
	brokenBy(t, "a notch that moved", "two_piece_notches", made, notch(0.5))
	brokenBy(t, "a mark that is gone", "two_piece_marks", made, func(p *pattern.Pattern) { p.PieceNamed("upper").Marks = p.PieceNamed("upper").Marks[1:] })
	brokenBy(t, "a cap that no longer fits", "two_piece_seams", made, laidBy("upper", "cap_back", grow(1.002)))
}
