package change_test

import (
	"fmt"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/pattern"
)

// What random sequences have found: each of these broke something that every change owes. The last change
// is now made soundly, or refused by the rule that is named.

// found is a sequence on a demo block: a change and its arguments, one a line.
type found struct {
	claim, block string
	steps        [][]any
	refused      string
}

func TestWhatRandomSequencesFoundIsMended(t *testing.T) {
	for _, c := range []found{
		{"a dart in the cap keeps equal legs when the crown is raised", "rook-trousers", [][]any{
			{"gathered_head", "by", 369.236, "piece", "front", "crown", "waist_dart_outer"}}, ""},
		{"a hem below a dart is smooth however far it is opened", "dunlin-skirt", [][]any{
			{"flare", "piece", "front", "by", 2153.84}}, ""},
		{"a hem below a dart is smooth, opened upwards of a style's own changes", "dunlin-skirt", [][]any{
			{"taper", "piece", "front", "by", 162.143},
			{"flare", "piece", "front", "by", 85.713, "lines", 6}}, ""},
		{"a curve that turns all at one end keeps its length when it is opened", "wren-w", [][]any{
			{"neckline", "shape", "square", "lower", 34.409, "widen", 13.174, "back_fullness", 0.155},
			{"flare", "piece", "back", "by", 120, "lines", 1}}, ""},
		{"a long edge keeps its length when what is opened is short", "plover-circle", [][]any{
			{"pleats", "piece", "back", "kind", "knife"},
			{"split", "piece", "back", "from", obj("edge", "side", "along", 82.7592), "to", "pleat_corner_2", "fullness", 0.096, "left", "rest", "notches", 0},
			{"flare", "piece", "back_right", "by", 70.9948, "hem", "waist"}}, ""},
		{"one piece is no front and back", "dunlin-skirt", [][]any{
			{"band_collar", "front", "back", "neck", "waist_middle", "shoulder", "waist_side"}}, "given_twice"},
		{"the leg of a dart is no neck", "dunlin-skirt", [][]any{
			{"band_collar", "neck", "waist_dart_out", "shoulder", "waist_side"}}, "not_free"},
		{"gathers in one place of a seam that is gathered all along", "wren-draft-bodice", [][]any{
			{"ruffle", "edges", []any{"back.waist_centre", "back.waist_side", "front.waist_side", "front.waist_centre"}, "fullness", 1.15},
			{"dart_to_gathers", "piece", "front", "dart", "waist_dart"}}, "in_gathers"},
		{"a cap that is sewn in gathers already", "rook-trousers", [][]any{
			{"ruffle", "edges", "front.waist_side", "width", 126.356, "notches", 2},
			{"gathered_head", "by", 5.146, "piece", "ruffle", "cap", "stitched", "crown", "ruffle_waist_side_2"}}, "in_gathers"},
		{"a level that is measured from opposite ends of one seam", "plover-circle", [][]any{
			{"lengthen", "piece", []any{"back", "front"}, "by", -2.073, "at", obj("edge", "side", "along", 187.317)}}, "notches_apart"},
		{"a slit on the cloth that a petal cuts away goes with it, and the drawing says so", "wren-w", [][]any{
			{"hem_slit"},
			{"petal", "hem_in", 81.853}}, ""},
		{"petals need a dot to be laid together by", "rook-trousers", [][]any{
			{"petal", "piece", "front", "crown", "side_waist"}}, "unknown_point"},
		{"a cap along the grain cannot be gathered", "rook-trousers", [][]any{
			{"facing", "along", []any{"back.inside_leg", "back.hem"}},
			{"gathered_head", "by", 6.655, "piece", "back_facing", "crown", "facing_edge_end"}}, "slash_slants"},
		{"a second button stand spaces its own buttons", "plover-circle", [][]any{
			{"button_stand", "button", 25.416, "neck", "hem", "fullest", obj("between", []any{"side_waist", "side_hem"}, "share", 0.692571, "edge", "side")},
			{"button_stand", "edge", "stand_edge", "neck", "waist", "fullest", "button_6"}}, ""},
		{"a part so narrow that no grain line has room is none", "rook-trousers", [][]any{
			{"flare", "piece", "front", "by", 441.177, "lines", 8},
			{"split", "piece", "front", "from", obj("edge", "hem", "along", 98.29), "to", obj("between", []any{"side_hem", "inside_hem"}, "share", 0.40755, "edge", "hem")}}, "piece_vanishes"},
		{"a shoulder that is sewn to another piece than the one named", "rook-trousers", [][]any{
			{"facing", "along", "back.hem"},
			{"neckline", "front", "back_facing", "widen", 1.336, "strips", "remove", "neck", "hem", "shoulder", "inside_leg"}}, "seam_broken"},
		{"a strip that is left out is told", "plover-circle", [][]any{
			{"waistband", "edges", "back.hem", "notches", 3},
			{"neckline", "strips", "remove", "neck", "hem", "shoulder", "side"}}, ""},
		{"a hem is no waist", "dunlin-skirt", [][]any{
			{"hem_slit", "share", 0.263, "piece", "front"},
			{"shaped_waistband", "edges", []any{"back.hem", "front.hem"}, "open", "end", "notches", 0}}, "no_waist"},
		{"an armhole is no waist", "wren-draft-bodice", [][]any{
			{"band_collar", "height", 43.646, "instead_of", "sleeve"},
			{"shaped_waistband", "edges", []any{"back.armhole", "front.armhole"}, "overlap", 23.264, "open", "start", "width", 35.6473}}, "no_waist"},
		{"a mark of the waist goes to its band, and the drawing says so", "dunlin-skirt", [][]any{
			{"button_stand", "neck", "hem"},
			{"shaped_waistband", "edges", []any{"front.waist_centre", "front.waist_side", "back.waist_side", "back.waist_middle", "back.waist_centre"}}}, ""},
		{"a band that a smooth line cannot give an even width", "wren-draft-bodice", [][]any{
			{"dart_to_tucks", "piece", "back", "length", 5.317, "apart", 11.389},
			{"shrinkage", "weft", 0.023},
			{"shaped_waistband", "edges", []any{"front.neck", "back.neck"}}}, "no_sweep"},
		{"a waist goes over each piece once", "rook-trousers", [][]any{
			{"panel", "piece", "back", "dart", "waist_dart", "to", obj("edge", "waist_centre", "along", 40.1444), "notches", 12.991},
			{"shaped_waistband", "edges", []any{"back_centre.waist_side", "back_side.waist_centre", "back_centre.waist_centre"}}}, "edges_apart"},
		{"the hem of trousers is no neck", "rook-trousers", [][]any{
			{"taper", "piece", "front", "by", 0.28},
			{"panel", "piece", "front", "notches", 55.845, "centre", "front", "to", obj("between", []any{"fork", "centre_waist"}, "share", 0.496973, "edge", "centre_front")},
			{"dart_move", "piece", "back", "to", obj("edge", "hem", "along", 11.4195), "beyond", 10.629},
			{"flat_collar", "neck", "hem", "shoulder", "inside_leg"}}, "no_neck"},
		{"two panels that were cut along one line open by the same", "plover-circle", [][]any{
			{"panels", "piece", "front"},
			{"opening", "piece", "front_1", "edge", "panel_1", "length", 177.788, "how", "slit", "width", 110.176}}, ""},
		{"a hem is no neck", "plover-circle", [][]any{
			{"flat_collar", "neck", "hem", "shoulder", "side"}}, "no_neck"},
		{"a hem is no neck, whatever the collar is like", "plover-circle", [][]any{
			{"flat_collar", "neck", "hem", "overlap", 11.949, "raise", 5.563, "turn", 2.971, "shoulder", "side"}}, "no_neck"},
		{"a seam that leaves its shut dart far behind", "rook-trousers", [][]any{
			{"yoke", "piece", "front", "from", obj("edge", "inside_leg", "from", "fork", "along", 484.238), "to", "waist_dart_outer", "dart", "waist_dart"}}, "no_sweep"},
		{"a box pleat below a pointed yoke is as wide as asked for", "plover-circle", [][]any{
			{"yoke", "piece", "back", "from", obj("edge", "centre_back", "along", 250), "shape", "pointed", "fullness", 228.368, "into", "box_pleat"}}, ""},
	} {
		t.Run(c.claim, func(t *testing.T) { c.sail(t) })
	}
}

func (c *found) sail(t *testing.T) {
	v := newVoyage(t, onDemo(t, c.block))
	v.begin(c.block, v.c.start(nil))
	defer func() {
		if x, ok := recover().(broken); ok {
			t.Errorf("%s after\n  %s", string(x), strings.Join(v.log, "\n  "))
		}
	}()
	for i, s := range c.steps {
		name, args := s[0].(string), obj(s[1:]...)
		v.log = append(v.log, name+" "+show(args))
		next, fs := v.apply(v.defs[name], args)
		last := i == len(c.steps)-1
		switch {
		case fs == nil && last && c.refused != "":
			t.Errorf("%s was made", name)
		case fs != nil && (!last || c.refused == ""), fs != nil && fs[0].Rule != c.refused:
			t.Fatalf("%s: refused as %s: %v", name, fs[0].Rule, fs)
		case fs == nil:
			v.put(next)
		}
	}
}

// A refusal that nothing can be done about at the place that it points to is a riddle.
func TestAPieceWithoutADartIsToldApartFromADartThatIsNotThere(t *testing.T) {
	for _, name := range []string{"dart_move", "dart_to_flare", "dart_to_gathers", "panel"} {
		p := demoBlock(t, "wren-w").three()[1]
		args := []any{"piece", "sleeve"}
		if name == "dart_move" || name == "panel" {
			args = append(args, "to", "crown")
		}
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
		if err != nil {
			t.Fatal(err)
		}
		_, err = b.Apply(p)
		if f := pattern.FaultsOf(err); len(f) == 0 || f[0].Rule != "unknown_dart" || f[0].Pointer != "/piece" || !strings.Contains(f[0].Valid, "front") {
			t.Errorf("%s: %v", name, fmt.Sprint(err))
		}
	}
}
