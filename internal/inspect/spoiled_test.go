package inspect_test

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func piece(s *inspect.Sized, name string) *pattern.Piece { return s.Pattern.PieceNamed(name) }

func edge(s *inspect.Sized, name, e string) *pattern.Edge {
	p := piece(s, name)
	return &p.Edges[p.EdgeNamed(e)]
}

func mark(s *inspect.Sized, name, m string) *pattern.Mark { return piece(s, name).MarkNamed(m) }

func seam(s *inspect.Sized, name string) *pattern.Seam {
	for i := range s.Pattern.Seams {
		if s.Pattern.Seams[i].Name == name {
			return &s.Pattern.Seams[i]
		}
	}
	return nil
}

// slide moves a mark along its edge.
func slide(s *inspect.Sized, name, m string, by float64) {
	k := mark(s, name, m)
	k.S += by
	k.At = edge(s, name, k.Edge).Path.PointAt(k.S)
}

// bend moves the last handle of an edge's only curve.
func bend(s *inspect.Sized, name, e string, v geom.Vec, last bool) {
	x := edge(s, name, e)
	q := append(geom.Path{}, x.Path...)
	if last {
		q[len(q)-1].P2 = q[len(q)-1].P2.Add(v)
	} else {
		q[0].P1 = q[0].P1.Add(v)
	}
	q[0].Straight = false
	x.Path = q
}

// Every check can fail: each of these is a blouse with one thing spoiled.
func TestASpoiledBlouseIsFound(t *testing.T) {
	draft := func(f func(*blouse.Draft)) func(*testing.T) inspect.Sized {
		return func(t *testing.T) inspect.Sized {
			d := blouse.Base()
			f(&d)
			return sized(t, blouse.Make(d))
		}
	}
	spoil := func(f func(*inspect.Sized)) func(*testing.T) inspect.Sized {
		return func(t *testing.T) inspect.Sized {
			s := sized(t, blouse.Make(blouse.Base()))
			f(&s)
			return s
		}
	}
	for _, c := range []struct {
		claim, rule, piece, place string
		want                      inspect.Verdict
		make                      func(*testing.T) inspect.Sized
	}{
		{"a front side 2 mm longer than the back's does not sew", "seam_length", "front", "side", inspect.Fail, spoil(func(s *inspect.Sized) {
			e := edge(s, "front", "side")
			e.Path = geom.Polyline(e.Path.Start(), e.Path.End().Add(e.Path.EndTangent().Mul(2)))
		})},
		{"a cap with 20 mm where the block states 6 to 12 is too full", "seam_length", "sleeve", "armhole_front", inspect.Fail, spoil(func(s *inspect.Sized) {
			seam(s, "armhole_front").Ease = pattern.Range{Min: 20, Max: 22}
		})},
		{"a seam that names an edge which is gone", "seam_edges", "", "side", inspect.Fail, spoil(func(s *inspect.Sized) { seam(s, "side").To[0].Edge = "gone" })},
		{"a waist notch slid by 3 mm misses its partner", "notch_walk", "front", "waist / waist", inspect.Fail, spoil(func(s *inspect.Sized) { slide(s, "front", "waist", 3) })},
		{"a notch that lies on another edge is not on the seam", "notch_there", "front", "waist", inspect.Fail, spoil(func(s *inspect.Sized) {
			m := mark(s, "front", "waist")
			m.Edge, m.S = "hem", 60
			m.At = edge(s, "front", "hem").Path.PointAt(60)
		})},
		{"a hem that kinks by more than 2 degrees at the side seam", "runs_on", "front", "hem", inspect.Fail, spoil(func(s *inspect.Sized) { bend(s, "front", "hem", geom.Vec{Y: 5}, false) })},
		{"a neck that kinks at the shoulder", "runs_on", "front", "neck", inspect.Fail, spoil(func(s *inspect.Sized) { bend(s, "front", "neck", geom.Vec{X: 6}, true) })},
		{"an armhole that kinks at the shoulder", "runs_on", "front", "armhole", inspect.Fail, spoil(func(s *inspect.Sized) { bend(s, "front", "armhole", geom.Vec{X: 6}, false) })},
		{"a cap with 58 mm of ease puckers", "cap_ease", "sleeve", "cap", inspect.Fail, draft(func(d *blouse.Draft) { d.EaseFront, d.EaseBack = 26, 32 })},
		{"a cap with 6 mm of ease drags, and the maker is warned", "cap_ease", "sleeve", "cap", inspect.Warn, spoil(func(s *inspect.Sized) {
			d := blouse.Base()
			d.EaseFront, d.EaseBack = 2, 4
			*s = sized(t, blouse.Make(d))
			seam(s, "armhole_front").Ease = pattern.Range{Min: 0, Max: 20}
			seam(s, "armhole_back").Ease = pattern.Range{Min: 0, Max: 20}
		})},
		{"more than 8 % of the armhole is a warning", "cap_ease_share", "sleeve", "cap", inspect.Warn, draft(func(d *blouse.Draft) { d.EaseFront, d.EaseBack = 19, 22 })},
		{"more ease at the front than at the back is a warning", "cap_ease_split", "sleeve", "cap", inspect.Warn, draft(func(d *blouse.Draft) { d.EaseFront, d.EaseBack = 14, 10 })},
		{"ease below the notch", "cap_ease_underarm", "sleeve", "armhole_front", inspect.Fail, spoil(func(s *inspect.Sized) { slide(s, "sleeve", "front_notch", 4) })},
		{"all ease below the notch leaves none for the crown", "cap_ease_crown", "sleeve", "armhole_front", inspect.Fail, spoil(func(s *inspect.Sized) { slide(s, "sleeve", "front_notch", 9) })},
		{"a second notch between which the cap is shorter than the armhole", "cap_ease_between", "sleeve", "front_notch / n2", inspect.Fail, spoil(func(s *inspect.Sized) {
			put := func(name, e string, at float64) {
				p := piece(s, name)
				p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Notch, Name: "n2", Count: 1, Edge: e, S: at, At: edge(s, name, e).Path.PointAt(at)})
			}
			put("sleeve", "cap_front", 130)
			put("front", "armhole", edge(s, "front", "armhole").Path.Length()-135)
			seam(s, "armhole_front").Notches = append(seam(s, "armhole_front").Notches, [2]pattern.MarkRef{{Piece: "sleeve", Mark: "n2"}, {Piece: "front", Mark: "n2"}})
		})},
		{"a cap without a notch tells nobody where its ease lies", "cap_notch", "sleeve", "armhole_front", inspect.Warn, spoil(func(s *inspect.Sized) { seam(s, "armhole_front").Notches = nil })},
		{"an outline with a gap", "outline_closed", "front", "", inspect.Fail, spoil(func(s *inspect.Sized) {
			e := edge(s, "front", "shoulder")
			e.Path = geom.Polyline(e.Path.Start(), e.Path.End().Add(geom.Vec{X: 0.1}))
		})},
		{"an outline drawn clockwise", "outline_turn", "back", "outline", inspect.Fail, spoil(func(s *inspect.Sized) {
			p := piece(s, "back")
			n := len(p.Edges)
			q := make([]pattern.Edge, n)
			for i, e := range p.Edges {
				e.Path = e.Path.Reverse()
				q[n-1-i] = e
			}
			p.Edges = q
		})},
		{"an outline that crosses itself", "outline_simple", "front", "", inspect.Fail, spoil(func(s *inspect.Sized) { bend(s, "front", "hem", geom.Vec{X: 900, Y: 100}, false) })},
		{"a cut line that crosses itself", "cut_simple", "front", "cut line", inspect.Fail, spoil(func(s *inspect.Sized) {
			c := cut(s, "front")
			q := append(geom.Path{}, c.Cut...)
			mid := c.Cut.Bounds().Center()
			q[0] = geom.Cubic(q[0].P0, mid.Add(geom.Vec{X: 900}), mid.Add(geom.Vec{X: -900, Y: 400}), q[0].P3)
			c.Cut = q
		})},
		{"a cut line inside the seam line", "cut_outside", "front", "cut line", inspect.Fail, spoil(func(s *inspect.Sized) {
			c := cut(s, "front")
			o := c.Cut.Bounds().Center()
			c.Cut = c.Cut.Transform(geom.Translate(geom.Point{}.Sub(o)).Then(geom.Scale(0.8, 0.8)).Then(geom.Translate(o.Sub(geom.Point{}))))
		})},
		{"an armhole hollow tighter than its allowance", "small_radius", "front", "neck", inspect.Fail, spoil(func(s *inspect.Sized) {
			a := cut(s, "front").Allow["neck"]
			a.Width = 150
			cut(s, "front").Allow["neck"] = a
		})},
		{"a round tighter than what is turned over it", "hem_radius", "sleeve", "cap_front", inspect.Fail, spoil(func(s *inspect.Sized) {
			cut(s, "sleeve").Allow["cap_front"] = pattern.Allowance{Width: 200, Turned: 1}
		})},
		{"a grain line that leaves the piece", "grain_inside", "front", "grain", inspect.Fail, spoil(func(s *inspect.Sized) { piece(s, "front").Grain[0].X = 30 })},
		{"a grain line of 20 mm cannot be laid by", "grain_length", "front", "grain", inspect.Fail, spoil(func(s *inspect.Sized) {
			g := &piece(s, "front").Grain
			g[1] = g[0].Add(geom.Vec{Y: 20})
		})},
		{"a grain line of a tenth of the piece is a warning", "grain_length", "front", "grain", inspect.Warn, spoil(func(s *inspect.Sized) {
			g := &piece(s, "front").Grain
			g[1] = g[0].Add(geom.Vec{Y: 70})
		})},
		{"a dot outside the piece", "mark_inside", "front", "bust_point", inspect.Fail, spoil(func(s *inspect.Sized) { mark(s, "front", "bust_point").At.X = 4 })},
		{"a notch that is not where its edge has it", "mark_inside", "front", "waist", inspect.Fail, spoil(func(s *inspect.Sized) { mark(s, "front", "waist").At.X += 1 })},
		{"a mark on an edge that is not there", "mark_edge", "front", "waist", inspect.Fail, spoil(func(s *inspect.Sized) { mark(s, "front", "waist").Edge = "gone" })},
		{"a notch 3 mm from a corner is cut away with it", "mark_corner", "front", "waist", inspect.Fail, spoil(func(s *inspect.Sized) {
			slide(s, "front", "waist", 3-mark(s, "front", "waist").S)
		})},
		{"a notch exactly on a corner", "mark_corner", "front", "waist", inspect.Fail, spoil(func(s *inspect.Sized) { slide(s, "front", "waist", -mark(s, "front", "waist").S) })},
		{"a round hem turned too deep ripples", "hem_turn", "front", "neck", inspect.Fail, spoil(func(s *inspect.Sized) {
			cut(s, "front").Allow["neck"] = pattern.Allowance{Width: 25, Turned: 1}
		})},
		{"a little too deep is a warning", "hem_turn", "sleeve", "hem", inspect.Warn, spoil(func(s *inspect.Sized) {
			cut(s, "sleeve").Allow["hem"] = pattern.Allowance{Width: 30, Turned: 1}
		})},
		{"a promise that is broken", "promised", "sleeve", "", inspect.Fail, spoil(func(s *inspect.Sized) {
			s.Promised = []inspect.Check{{Rule: "promised", Piece: "sleeve", Measured: 3, Tolerance: 1, Unit: inspect.Degrees, Verdict: inspect.Pass}}
		})},
		{"what could not be measured", "promised", "sleeve", "", inspect.Fail, spoil(func(s *inspect.Sized) {
			s.Promised = []inspect.Check{{Rule: "promised", Piece: "sleeve", Measured: math.NaN(), Want: pattern.Range{Min: -1e9, Max: 1e9}}}
		})},
	} {
		t.Run(c.claim, func(t *testing.T) {
			s := c.make(t)
			r := inspect.Run([]inspect.Sized{s}, blouse.Chart(), inspect.Options{})
			for _, k := range r.Worst() {
				if k.Rule != c.rule || k.Piece != c.piece && c.piece != "" || c.place != "" && k.Place != c.place {
					continue
				}
				if k.Verdict != c.want {
					t.Errorf("%s, want %s: %.3f %s in %v ± %g", k.Verdict, c.want, k.Measured, k.Unit, k.Want, k.Tolerance)
				}
				if k.Size != "14" || k.Text == "" && k.Rule != "promised" || strings.Contains(k.Text, "NaN") {
					t.Errorf("says too little: %+v", k)
				}
				return
			}
			t.Errorf("no %s found at %s.%s; found %v", c.rule, c.piece, c.place, rules(r.Worst()))
		})
	}
}

func cut(s *inspect.Sized, name string) *allowance.Piece {
	for i := range s.Cut {
		if s.Cut[i].Name == name {
			return &s.Cut[i]
		}
	}
	return nil
}

func rules(cs []inspect.Check) []string {
	var out []string
	for _, c := range cs {
		out = append(out, c.Rule+" "+c.Piece+"."+c.Place)
	}
	return out
}
