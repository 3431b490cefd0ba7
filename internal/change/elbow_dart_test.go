package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// longSleeved is a draft with a sleeve that reaches the wrist.
func longSleeved(d blouse.Draft) blouse.Draft {
	d.Underarm, d.Taper = 430, 50
	return d
}

func longRun() []pattern.Pattern {
	var out []pattern.Pattern
	c := blouse.Chart()
	for i := range c.Run {
		p := blouse.Make(longSleeved(blouse.At(i)))
		p.Base, p.Body = c.Run[i] == c.Base, c.BodyOf(i)
		out = append(out, p)
	}
	return out
}

// backwards is the pattern with its sleeve turned over: the back on the right.
func backwards(p pattern.Pattern) pattern.Pattern {
	p = p.Clone()
	s := p.PieceNamed("sleeve")
	m := geom.Scale(-1, 1)
	n := len(s.Edges)
	edges := make([]pattern.Edge, n)
	for i, e := range s.Edges {
		e.Path, e.From, e.To = e.Path.Transform(m).Reverse(), e.To, e.From
		edges[n-1-i] = e
	}
	s.Edges = edges
	for i := range s.Marks {
		k := &s.Marks[i]
		if e := s.EdgeNamed(k.Edge); e >= 0 {
			k.S = s.Edges[e].Path.Length() - k.S
		}
		k.At = m.Apply(k.At)
	}
	for i := range s.Lines {
		s.Lines[i].Path = s.Lines[i].Path.Transform(m)
	}
	s.Grain = [2]geom.Point{m.Apply(s.Grain[0]), m.Apply(s.Grain[1])}
	for i := range p.Seams {
		for _, refs := range [2][]pattern.EdgeRef{p.Seams[i].Sew, p.Seams[i].To} {
			for k := range refs {
				if refs[k].Piece == "sleeve" {
					refs[k].Against = !refs[k].Against
				}
			}
		}
	}
	return p
}

func TestAnElbowDartLengthensTheBackSeamByItsIntakeInEverySize(t *testing.T) {
	for _, args := range [][]any{nil, {"intake", 12}, {"intake", 30, "down", 180, "elbow", 0.35}, {"hinge", "middle"}, {"hinge", "middle", "intake", 18, "set_back", 0, "elbow", 0.3}} {
		for _, turned := range []bool{false, true} {
			var sizes []inspect.Sized
			for _, p := range longRun() {
				if turned {
					p = backwards(p)
				}
				r := apply(t, p, "elbow_dart", args...)
				passes(t, r)
				was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
				intake, _ := kv(args, "intake").(int)
				if intake == 0 {
					intake = 25
				}
				upper, lower := lengthOf(is, "underarm_back_upper"), lengthOf(is, "underarm_back_lower")
				if d := upper + lower - lengthOf(was, "underarm_back"); math.Abs(d) > 1e-5 {
					t.Errorf("%v size %s: the back seam less its dart gains %.6f mm", args, p.Size, d)
				}
				if d := lengthOf(is, "underarm_front") - lengthOf(was, "underarm_front"); math.Abs(d) > 1e-5 {
					t.Errorf("%v size %s: the front seam gains %.6f mm", args, p.Size, d)
				}
				a, _ := is.Corner("elbow_in")
				b, _ := is.Corner("elbow_out")
				if math.Abs(a.Dist(b)-float64(intake)) > 1e-5 {
					t.Errorf("%v size %s: the dart is %.5f mm wide", args, p.Size, a.Dist(b))
				}
				// The wrist swings forward: to the right, where the back lies on the left.
				h0, h1 := was.Edges[was.EdgeNamed("hem")].Path, is.Edges[is.EdgeNamed("hem")].Path
				swing := h1.PointAt(h1.Length()/2).X - h0.PointAt(h0.Length()/2).X
				if turned {
					swing = -swing
				}
				if swing < 3 {
					t.Errorf("%v size %s: the wrist swings by %.2f mm", args, p.Size, swing)
				}
				for _, e := range []string{"cap_front", "cap_back"} {
					if lengthOf(is, e) != lengthOf(was, e) {
						t.Errorf("%v size %s: %s was touched", args, p.Size, e)
					}
				}
				sizes = append(sizes, sized(t, r))
			}
			inspected(t, sizes)
		}
	}
}

// Hinged at the front the part below turns as a stiff whole: by the angle whose chord over the elbow line is the intake,
// or a little less, since truing lets the mouth stand out beyond that line.
func TestTheWristTurnsByTheAngleOfTheOpening(t *testing.T) {
	for _, p := range longRun() {
		for _, intake := range []float64{8, 16, 25} {
			r := apply(t, p, "elbow_dart", "intake", intake)
			passes(t, r)
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			h0, h1 := was.Edges[was.EdgeNamed("hem")].Path, is.Edges[is.EdgeNamed("hem")].Path
			turn := h0.End().Sub(h0.Start()).AngleTo(h1.End().Sub(h1.Start()))
			b, f := was.Edges[was.EdgeNamed("underarm_back")].Path, was.Edges[was.EdgeNamed("underarm_front")].Path.Reverse()
			s := b.Length()/2 - 25
			bare := 2 * math.Asin(intake/2/b.PointAt(s).Dist(f.PointAt(s)))
			if turn < 0.95*bare || turn > bare {
				t.Errorf("size %s, intake %g: turned by %.4f, and the bare opening by %.4f", p.Size, intake, turn, bare)
			}
			if math.Abs(h1.Length()-h0.Length()) > 1e-6 {
				t.Errorf("size %s: the wrist changes by %.5f mm", p.Size, h1.Length()-h0.Length())
			}
		}
	}
}

func TestMarksAndLinesGoWithTheForearm(t *testing.T) {
	for _, turned := range []bool{false, true} {
		for _, hinge := range []string{"front", "middle"} {
			p := blouse.Make(longSleeved(blouse.Base()))
			s := p.PieceNamed("sleeve")
			on := func(name, edge string, at float64) {
				e := s.Edges[s.EdgeNamed(edge)].Path
				s.Marks = append(s.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: 1, Edge: edge, S: at, At: e.PointAt(at)})
			}
			on("back_low", "underarm_back", 330)
			on("back_high", "underarm_back", 60)
			on("front_low", "underarm_front", lengthOf(s, "underarm_front")-330)
			on("vent", "hem", 60)
			on("pleat", "hem", 200)
			s.Marks = append(s.Marks, pattern.Mark{Kind: pattern.Dot, Name: "button", At: geom.Pt(-60, -400)}, pattern.Mark{Kind: pattern.Dot, Name: "patch", At: geom.Pt(-20, -50)})
			s.Lines = []pattern.InnerLine{{Name: "tape", Path: geom.Polyline(geom.Pt(-70, -40), geom.Pt(-70, -380))}}
			p.Seams[2].Notches = [][2]pattern.MarkRef{{{Piece: "sleeve", Mark: "back_low"}, {Piece: "sleeve", Mark: "front_low"}}}
			if turned {
				p = backwards(p)
				s = p.PieceNamed("sleeve")
			}
			r := apply(t, p, "elbow_dart", "hinge", hinge)
			passes(t, r)
			q := r.Pattern.PieceNamed("sleeve")
			for _, m := range s.Marks {
				n := q.MarkNamed(m.Name)
				if n == nil {
					t.Fatalf("%s is lost", m.Name)
				}
				if e := q.EdgeNamed(n.Edge); e >= 0 && q.Edges[e].Path.PointAt(n.S).Dist(n.At) > 1e-6 {
					t.Errorf("%s hinged, %s lies beside its edge", hinge, m.Name)
				}
			}
			if q.MarkNamed("patch").At != s.MarkNamed("patch").At || q.MarkNamed("button").At.Dist(s.MarkNamed("button").At) < 8 {
				t.Errorf("%s hinged, the patch went to %v, the button to %v", hinge, q.MarkNamed("patch").At, q.MarkNamed("button").At)
			}
			long := 0.0
			for _, l := range q.Lines {
				long += l.Path.Length()
			}
			if len(q.Lines) != 2 || math.Abs(long-340) > 1e-6 {
				t.Errorf("%s hinged, the tape is %d lines, %.3f mm", hinge, len(q.Lines), long)
			}
			sew, _ := inspect.Walk(&r.Pattern, r.Pattern.Seams[2].Sew)
			to, _ := inspect.Walk(&r.Pattern, r.Pattern.Seams[2].To)
			a, ok1 := sew.MarkAt("sleeve", "back_low")
			b, ok2 := to.MarkAt("sleeve", "front_low")
			if !ok1 || !ok2 || math.Abs(a-b) > 1e-4 {
				t.Errorf("%s hinged, turned %v: the lower notches lie after %.4f and %.4f mm", hinge, turned, a, b)
			}
		}
	}
}

func TestElbowDartsOnAnySoundLongSleeve(t *testing.T) {
	made, refused := 0, 0
	sleeves(t, 73, 90, func(r *rand.Rand, d blouse.Draft, _ pattern.Pattern) {
		d.Underarm, d.Taper = 260+240*r.Float64(), 70*r.Float64()
		p, ok := try(d)
		if !ok {
			return
		}
		if r.IntN(3) == 0 { // a short sleeve made long: its sides bend
			d.Underarm, d.Taper = 95, 12
			p = apply(t, blouse.Make(d), "lengthen", "piece", "sleeve", "by", 250+100*r.Float64()).Pattern
			p = apply(t, p, "taper", "piece", "sleeve", "by", 40*r.Float64()).Pattern
			d.Underarm = 340
		}
		if r.IntN(2) == 0 {
			p = backwards(p)
		}
		args := []any{"intake", 5 + 40*r.Float64(), "elbow", 0.2 + 0.28*r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "hinge", "middle")
		}
		if r.IntN(2) == 0 {
			args = append(args, "down", 70+0.6*(d.Underarm-140)*r.Float64())
		}
		x, err := bind(t, "elbow_dart", args...).Apply(p)
		if err != nil {
			refused++
			if f := pattern.FaultsOf(err)[0]; f.Rule != "dart_wide" && f.Rule != "dart_short" && f.Rule != "out_of_range" {
				t.Errorf("%+v %v: %v", d, args, err)
			}
			return
		}
		made++
		passes(t, x)
		for _, c := range inspect.Run([]inspect.Sized{sized(t, x)}, blouse.Chart(), inspect.Options{}).Worst() {
			if c.Verdict == inspect.Fail {
				t.Errorf("%v: %s %s.%s %.3f: %s", args, c.Rule, c.Piece, c.Place, c.Measured, c.Text)
			}
		}
	})
	if made < 50 {
		t.Errorf("only %d made, %d refused", made, refused)
	}
	t.Logf("%d made, %d refused", made, refused)
}

func TestElbowDartSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "elbow_dart", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev"}},
		{"a short sleeve", "no_elbow", "/piece", "lengthen", nil},
		{"a body", "edge_on_fold", "/piece", "fold", []any{"piece", "back", "back", "side"}},
	})
	long := blouse.Make(longSleeved(blouse.Base()))
	twice := apply(t, long, "elbow_dart").Pattern
	open := long.Clone() // the centre of its back is a seam
	back := open.PieceNamed("back")
	back.Edges[back.EdgeNamed("centre_back")].Fold = false
	vent := long.Clone()
	vent.PieceNamed("sleeve").Darts = []pattern.Dart{{Name: "vent", First: "cap_back", Second: "underarm_back", Towards: "cap_back"}}
	for claim, c := range map[string]struct {
		p             pattern.Pattern
		rule, pointer string
		args          []any
	}{
		"no such back":             {long, "no_side", "/back", []any{"back", "cap_back"}},
		"at the wrist":             {long, "out_of_range", "/down", []any{"down", 400}},
		"too wide for its length":  {long, "dart_wide", "/intake", []any{"intake", 70}},
		"a point before its mouth": {long, "dart_short", "/set_back", []any{"elbow", 0.15, "set_back", 50}},
		"an elbow past the hinge":  {long, "out_of_range", "/elbow", []any{"elbow", 0.6, "hinge", "middle"}},
		"a dart at the wrist":      {vent, "dart_leg", "/piece", nil},
		"a bodice":                 {open, "no_cap", "/piece", []any{"piece", "back", "back", "side"}},
		"a second dart":            {twice, "side_in_parts", "/piece", []any{"dart", "second"}},
	} {
		_, err := bind(t, "elbow_dart", c.args...).Apply(c.p)
		if f := pattern.FaultsOf(err); err == nil || f[0].Rule != c.rule || f[0].Pointer != c.pointer || f[0].Size != "14" || f[0].Remedy == "" {
			t.Errorf("%s: %v", claim, err)
		}
	}
	if _, err := change.Bind(pattern.ChangeSpec{Change: "elbow_dart", Args: obj("hinge", "back")}); err == nil {
		t.Error("hinged at the back: was bound")
	}
}

func BenchmarkElbowDart(b *testing.B) {
	benchOn(b, blouse.Make(longSleeved(blouse.Base())), "elbow_dart")
}
func BenchmarkElbowDartMiddle(b *testing.B) {
	benchOn(b, blouse.Make(longSleeved(blouse.Base())), "elbow_dart", "hinge", "middle")
}
