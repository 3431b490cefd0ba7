package change_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// dartTrial is one change of one dart of a demo block, told by its arguments.
type dartTrial struct {
	piece, dart, change, where string
	args                       []any
}

// dartTrials are all of them: each dart, where it is and at the middle of every edge of its piece.
func dartTrials(p *pattern.Pattern) (out []dartTrial) {
	for i := range p.Pieces {
		q := &p.Pieces[i]
		for _, d := range q.Darts {
			add := func(name, where string, args ...any) {
				out = append(out, dartTrial{q.Name, d.Name, name, where, append([]any{"piece", q.Name, "dart", d.Name}, args...)})
			}
			add("dart_to_gathers", "where it is", "spread", 8)
			add("dart_to_tucks", "where it is", "number", 4, "apart", 13, "length", 40)
			for k := range q.Edges {
				e := &q.Edges[k]
				if q.IsLeg(e.Name) || e.Fold {
					continue
				}
				mid := obj("between", []any{e.From, e.To}, "share", 0.5, "edge", e.Name)
				add("dart_move", e.Name, "to", mid)
				add("dart_to_gathers", e.Name, "to", mid, "spread", 8)
				add("dart_to_tucks", e.Name, "to", mid, "number", 3, "apart", 20, "length", 40)
				add("panel", e.Name, "to", mid)
				if strings.Contains(e.Name, "hem") {
					add("dart_to_flare", e.Name, "hem", e.Name)
				}
			}
			for _, o := range q.Darts {
				if o.Name != d.Name {
					add("panel", "dart "+o.Name, "dart_2", o.Name)
				}
			}
		}
	}
	return out
}

// dartReasons are what such a change may be refused for: a slash that would run over another dart, a sleeve that is
// eased into the edge, tucks for which there is no room. least is in how many sizes of all it has to be made.
var dartReasons = map[string]struct {
	why   []string
	least int
}{
	"dart_move":       {[]string{"line_leaves_piece /to", "line_touches_outline /to"}, 550},
	"dart_to_gathers": {[]string{"line_leaves_piece /to", "line_touches_outline /to", "in_armhole /to"}, 600},
	"dart_to_flare":   {nil, 72},
	"dart_to_tucks":   {[]string{"line_leaves_piece /to", "line_touches_outline /to", "tucks_aslant /to", "tucks_overlap /apart", "no_room /apart"}, 300},
	"panel":           {[]string{"line_leaves_piece /to", "line_touches_outline /to"}, 600},
}

// Every change of a dart, on every dart of every demo block, in every size: it is made with all its promises kept and
// all seams matching, or refused for a reason that is listed here.
func TestEveryDartOfEveryDemoBlockCanBeChanged(t *testing.T) {
	made, refused := map[string]int{}, map[string]int{}
	for _, name := range demoNames {
		d := demoBlock(t, name)
		for _, x := range dartTrials(&d.run[0]) {
			b, err := change.Bind(pattern.ChangeSpec{Change: x.change, Args: obj(x.args...)})
			if err != nil {
				t.Fatal(err)
			}
			key := fmt.Sprintf("%s %s.%s %s: %s", name, x.piece, x.dart, x.change, x.where)
			for _, p := range d.run {
				r, err := b.Apply(p)
				if err != nil {
					f := pattern.FaultsOf(err)[0]
					refused[x.change]++
					if !slices.Contains(dartReasons[x.change].why, f.Rule+" "+f.Pointer) || x.where == "where it is" || f.Remedy == "" || f.Size != p.Size || f.Piece == "" {
						t.Errorf("%s: refused in size %s: %+v", key, p.Size, f)
					}
					continue
				}
				made[x.change]++
				for _, c := range r.Checks {
					if c.Verdict == inspect.Fail {
						t.Errorf("%s: size %s %s %.3f in %v ± %g: %s", key, p.Size, c.Rule, c.Measured, c.Want, c.Tolerance, c.Text)
					}
				}
				if bad := unsound(&r.Pattern); len(bad) > 0 {
					t.Errorf("%s: size %s: %v", key, p.Size, bad)
				}
				for _, c := range inspect.Run([]inspect.Sized{{Pattern: r.Pattern}}, d.block.Chart, inspect.Options{}).Worst() {
					if c.Verdict == inspect.Fail {
						t.Errorf("%s: size %s %s %s: %.3f %s", key, p.Size, c.Rule, c.Place, c.Measured, c.Text)
					}
				}
			}
		}
	}
	for name, r := range dartReasons {
		if made[name] < r.least {
			t.Errorf("%s is made in only %d sizes, and refused in %d", name, made[name], refused[name])
		}
	}
	t.Logf("made %v refused %v", made, refused)
}
