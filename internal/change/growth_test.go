package change_test

import (
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
)

// wren-w is graded by rules, each point moving by shares of how the body grows: so long as what is asked of a
// change is the same in every size, what it makes grows as evenly as the block did.

// uneven tells by how much, in mm, what a change makes may rightly be off even steps, and why; half a
// millimetre is what any garment is held to.
var uneven = map[string]struct {
	most float64
	why  string
}{
	"dart_move":     {2, "a new mouth is the dart's angle times its distance from the pivot; both grow, and their product bends"},
	"dart_to_flare": {2, "an opened hem is the dart's angle times its distance from the hinge; both grow"},
	"skirt_flare":   {2, "so is the hem of a skirt whose darts are closed"},
	"panel":         {2, "a slanting line is the root of two squares that grow"},
	"flutter":       {1, "its hem lies beyond an edge that is bent until it is as long as the cap: the radius is the cap over an angle"},
	"petal":         {3, "so is a curve; and where it may change its turn, the fairest one changes its shape as well"},
}

func TestWhatChangesMakeGrowsEvenlyOverTheRun(t *testing.T) {
	d := demoBlock(t, "wren-w")
	o := inspect.DefaultOptions()
	for _, def := range change.Register() {
		made := 0
		v := newVoyage(t, course{name: "wren-w"})
		for seed := uint64(0); made < 3 && seed < 60; seed++ {
			v.d = &drawer{r: rand.New(rand.NewPCG(71, seed))}
			v.begin("wren-w", d.run)
			if !v.step(def) {
				continue
			}
			made++
			var sizes []inspect.Sized
			for _, p := range v.at {
				sizes = append(sizes, inspect.Sized{Pattern: p})
			}
			for _, c := range inspect.Run(sizes, d.block.Chart, inspect.Options{}).Worst() {
				if c.Rule == "growth" && c.Measured > max(o.Growth, uneven[def.Name].most) || c.Rule == "growth_there" {
					t.Errorf("%s: %s %s.%s: %s", v.log[len(v.log)-1], c.Rule, c.Piece, c.Place, c.Text)
				}
			}
		}
		// The block's sleeve is too short for an elbow, and none of its pieces has a waist at its top.
		if made < 1 && def.Name != "elbow_dart" && def.Name != "shaped_waistband" {
			t.Errorf("%s was made on no size run", def.Name)
		}
	}
}
