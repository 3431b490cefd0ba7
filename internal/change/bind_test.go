package change_test

import (
	"math"
	"sort"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestTheRegisterTellsEverythingAFormNeeds(t *testing.T) {
	defs := change.Register()
	if !sort.SliceIsSorted(defs, func(i, j int) bool { return defs[i].Name < defs[j].Name }) {
		t.Error("not sorted by name")
	}
	for _, d := range defs {
		if !pattern.ValidName(d.Name) || !strings.HasSuffix(d.Sentence, ".") || !strings.HasSuffix(d.Promise, ".") || len(d.Sketch) < 2 {
			t.Errorf("%s tells too little", d.Name)
		}
		for _, s := range d.Sketch {
			b := s.Path.Bounds()
			if b.Min.X < 0 || b.Min.Y < 0 || b.Max.X > 100 || b.Max.Y > 100 {
				t.Errorf("%s: the sketch leaves its box: %v", d.Name, b)
			}
		}
		for _, p := range d.Params {
			if p.Kind == change.Unreadable {
				t.Errorf("%s.%s has a kind that is none", d.Name, p.Name)
			}
			if !strings.HasSuffix(p.Sentence, ".") {
				t.Errorf("%s.%s has no sentence", d.Name, p.Name)
			}
			if (p.Kind == change.Length || p.Kind == change.Share || p.Kind == change.Angle || p.Kind == change.Number) && !(p.Bounded && p.Min < p.Max) {
				t.Errorf("%s.%s has no range", d.Name, p.Name)
			}
			if p.Kind == change.Choice && len(p.Choices) < 2 {
				t.Errorf("%s.%s leaves no choice", d.Name, p.Name)
			}
			if p.Required && p.Default != "" {
				t.Errorf("%s.%s is required and has a default", d.Name, p.Name)
			}
		}
	}
}

// Giving every default outright is giving nothing.
func TestDefaultsMeanWhatTheySay(t *testing.T) {
	for _, d := range change.Register() {
		if d.Name != "petal" {
			continue
		}
		var kv []any
		for _, p := range d.Params {
			switch {
			case p.Default == "":
			case p.Kind == change.Share:
				kv = append(kv, p.Name, 0.5)
			case p.Kind == change.Flag:
				kv = append(kv, p.Name, false)
			default:
				kv = append(kv, p.Name, p.Default)
			}
		}
		a := apply(t, blouse.Make(blouse.Base()), "petal")
		b := apply(t, blouse.Make(blouse.Base()), "petal", kv...)
		for i := range a.Pattern.Pieces {
			if a.Pattern.Pieces[i].Outline().Area() != b.Pattern.Pieces[i].Outline().Area() {
				t.Errorf("%s differs", a.Pattern.Pieces[i].Name)
			}
		}
	}
}

func TestLengthsComeInTheDocumentsUnitOrTheirOwn(t *testing.T) {
	inch := pattern.Arg{Kind: pattern.ArgNumber, Number: 2, PerMM: 25.4}
	for _, v := range []any{inch, "2in", 50.8, "50.8mm", "5.08cm"} {
		r := apply(t, blouse.Make(blouse.Base()), "petal", "hem_in", v)
		if l := lengthOf(r.Pattern.PieceNamed("sleeve_back"), "hem"); math.Abs(l-50.8) > 1e-6 {
			t.Errorf("%v: %.4f mm", v, l)
		}
	}
}

func TestWrongArgumentsAreRefusedBeforeAnySizeIsMade(t *testing.T) {
	long := strings.Repeat("x", 300)
	for _, c := range []struct {
		claim, change, rule, pointer string
		arg                          pattern.Arg
	}{
		{"no such change", "petall", "unknown_change", "/change", obj()},
		{"no such parameter", "petal", "unknown_argument", "/cap_shar", obj("cap_shar", 0.5)},
		{"given twice", "petal", "given_twice", "/top", obj("top", "back", "top", "front")},
		{"a share above its range", "petal", "out_of_range", "/cap_share", obj("cap_share", 0.96)},
		{"a share that is no number", "petal", "wrong_kind", "/cap_share", obj("cap_share", true)},
		{"not an ordinary number", "petal", "wrong_kind", "/hem_in", obj("hem_in", math.NaN())},
		{"an infinite one", "petal", "wrong_kind", "/hem_in", obj("hem_in", math.Inf(1))},
		{"a length without sense", "petal", "", "/hem_in", obj("hem_in", "two inches")},
		{"a share with a unit", "petal", "wrong_kind", "/cap_share", obj("cap_share", "1in")},
		{"one side only", "petal", "missing_argument", "/cap_share/front", obj("cap_share", obj("back", 0.5))},
		{"a side that is none", "petal", "unknown_argument", "/cap_share/left", obj("cap_share", obj("left", 0.5, "front", 0.5, "back", 0.5))},
		{"a side out of range", "petal", "out_of_range", "/hem_in/back", obj("hem_in", obj("back", 1, "front", 50))},
		{"a choice that is none", "petal", "unknown_choice", "/top", obj("top", "bottom")},
		{"a name that cannot be one", "petal", "bad_name", "/piece", obj("piece", "The Sleeve")},
		{"a name that is too long", "petal", "bad_name", "/piece", obj("piece", long)},
		{"arguments that are no object", "petal", "wrong_kind", "", val("x")},
		{"the same mark for both sides", "petal", "given_twice", "/front_mark", obj("front_mark", "dot", "back_mark", "dot")},
		{"nothing to lengthen", "lengthen", "missing_argument", "/piece", obj("by", 20)},
		{"by nothing", "lengthen", "out_of_range", "/by", obj("piece", "sleeve", "by", 0)},
		{"the same piece twice", "lengthen", "given_twice", "/piece/1", obj("piece", []any{"front", "front"}, "by", 5)},
		{"an empty list", "lengthen", "wrong_kind", "/piece", obj("piece", []any{}, "by", 5)},
		{"half a notch", "split", "wrong_kind", "/notches", obj("piece", "a", "from", "b", "to", "c", "notches", 1.5)},
		{"a place told in two ways", "split", "bad_place", "/from", obj("piece", "a", "from", obj("point", "x", "edge", "y", "along", 5), "to", "c")},
		{"a place without its share", "split", "bad_place", "/from/share", obj("piece", "a", "from", obj("between", []any{"x", "y"}), "to", "c")},
		{"an unknown part of a place", "split", "bad_place", "/to/side", obj("piece", "a", "from", "b", "to", obj("side", "x"))},
		{"both parts of one name", "split", "given_twice", "/right", obj("piece", "a", "from", "b", "to", "c", "left", "d", "right", "d")},
		{"a coordinate far away", "split", "out_of_range", "/from/at/0", obj("piece", "a", "from", obj("at", []any{1e9, 0}), "to", "c")},
	} {
		_, err := change.Bind(pattern.ChangeSpec{Change: c.change, Args: c.arg})
		if err == nil {
			t.Errorf("%s: was bound", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if c.rule != "" && f.Rule != c.rule || f.Pointer != c.pointer || f.Detail == "" || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

// A number alone says nothing: 1016 may be millimetres or a slip of the unit.
func TestAnOutOfRangeLengthIsToldWithItsUnitAndWhatToDo(t *testing.T) {
	_, err := change.Bind(pattern.ChangeSpec{Change: "petal", Args: obj("hem_in", "40in")})
	fs := pattern.FaultsOf(err)
	if len(fs) != 1 || fs[0].Detail != "petal: hem_in is 1016 mm" || fs[0].Valid != "5 to 1000 mm" || !strings.HasPrefix(fs[0].Remedy, "give a length") {
		t.Errorf("%+v", fs)
	}
	_, err = change.Bind(pattern.ChangeSpec{Change: "petal", Args: obj("cap_share", 2)})
	if fs := pattern.FaultsOf(err); len(fs) != 1 || fs[0].Detail != "petal: cap_share is 2" || fs[0].Remedy != "give a share in that range" {
		t.Errorf("%+v", fs)
	}
}
