package change_test

import (
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// laid is a pattern with its sleeve laid down elsewhere, turned.
func laid(p pattern.Pattern, m geom.Affine) pattern.Pattern {
	p = p.Clone()
	s := p.PieceNamed("sleeve")
	for i := range s.Edges {
		s.Edges[i].Path = s.Edges[i].Path.Transform(m)
	}
	for i := range s.Marks {
		s.Marks[i].At = m.Apply(s.Marks[i].At)
	}
	s.Grain = [2]geom.Point{m.Apply(s.Grain[0]), m.Apply(s.Grain[1])}
	s.Align = m.Apply(s.Align)
	return p
}

// capChanges are the changes of a long sleeve's cap and elbow, each in each of its ways.
var capChanges = map[string][][]any{
	"cap_ease":   {{"ease", 31}, {"ease", 12, "keep", "height"}, {"ease", 33, "keep", "height", "hem_width", "kept"}},
	"cap_height": {{"by", 14}, {"by", -22}, {"by", -22, "hem_width", "kept"}},
	"elbow_dart": {{"intake", 22}, {"intake", 18, "hinge", "middle"}},
}

// Which way a sleeve lies on the table makes no difference: the grain says where up is.
func TestASleeveThatLiesAslantIsChangedAlike(t *testing.T) {
	p := blouse.Make(longSleeved(blouse.Base()))
	for _, m := range []geom.Affine{geom.RotateAbout(geom.Pt(30, 40), 0.7), geom.RotateAbout(geom.Pt(-200, 10), math.Pi).Then(geom.Translate(geom.Vec{X: 900, Y: 20}))} {
		for name, ways := range capChanges {
			for _, args := range ways {
				a, b := apply(t, p, name, args...), apply(t, laid(p, m), name, args...)
				passes(t, b)
				x, y := a.Pattern.PieceNamed("sleeve"), b.Pattern.PieceNamed("sleeve")
				for i := range x.Edges {
					l := x.Edges[i].Path.Length()
					for _, k := range []float64{0, 0.3, 0.7, 1} {
						if off := m.Apply(x.Edges[i].Path.PointAt(k * l)).Dist(y.Edges[i].Path.PointAt(k * l)); off > 1e-5 {
							t.Fatalf("%s %v: %s lies %.6f mm elsewhere", name, args, x.Edges[i].Name, off)
						}
					}
				}
				for _, k := range x.Marks {
					if off := m.Apply(k.At).Dist(y.MarkNamed(k.Name).At); off > 1e-5 {
						t.Errorf("%s %v: %s lies %.6f mm elsewhere", name, args, k.Name, off)
					}
				}
			}
		}
	}
}

// split is a pattern with the front of the cap in two edges, at a distance from the underarm.
func splitCap(p pattern.Pattern, at float64) pattern.Pattern {
	p = p.Clone()
	s := p.PieceNamed("sleeve")
	i := s.EdgeNamed("cap_front")
	a, b := s.Edges[i], s.Edges[i]
	a.Path, b.Path = a.Path.Split(at)
	a.Name, b.Name, a.To, b.From = "cap_low", "cap_high", "cap_mid", "cap_mid"
	a.Src, b.Src = pattern.Source{}, pattern.Source{}
	s.Edges = append(s.Edges[:i:i], append([]pattern.Edge{a, b}, s.Edges[i+1:]...)...)
	for k := range s.Marks {
		if m := &s.Marks[k]; m.Edge == "cap_front" {
			if m.Edge = "cap_low"; m.S > at {
				m.Edge, m.S = "cap_high", m.S-at
			}
		}
	}
	for k := range p.Seams {
		if p.Seams[k].Name == "armhole_front" {
			p.Seams[k].Sew = []pattern.EdgeRef{{Piece: "sleeve", Edge: "cap_low"}, {Piece: "sleeve", Edge: "cap_high"}}
		}
	}
	return p
}

// A half in two edges is redrawn as one curve, and its marks go over the border where they have to.
func TestACapInPartsIsRedrawnAsAWhole(t *testing.T) {
	p := blouse.Make(blouse.Base())
	for _, at := range []float64{40, 83.5, 84.5, 120} {
		q := splitCap(p, at)
		for _, name := range []string{"cap_ease", "cap_height"} {
			for _, args := range capChanges[name] {
				a, b := apply(t, p, name, args...), apply(t, q, name, args...)
				passes(t, b)
				x, y := a.Pattern.PieceNamed("sleeve"), b.Pattern.PieceNamed("sleeve")
				lo, hi := y.Edges[y.EdgeNamed("cap_low")].Path, y.Edges[y.EdgeNamed("cap_high")].Path
				if lo.End() != hi.Start() || math.Abs(lo.EndTangent().AngleTo(hi.StartTangent())) > 1e-6 {
					t.Errorf("%s %v: the cap has a corner at its border", name, args)
				}
				// The handles of a part are shorter, so the ends bend a little sooner: the curves agree as drawn by hand.
				w := x.Edges[x.EdgeNamed("cap_front")].Path
				if d := w.PointAt(w.Length() / 2).Dist(lo.Join(hi).PointAt(w.Length() / 2)); d > 1.5 {
					t.Errorf("%s %v cut at %g: the curves lie %.3f mm apart", name, args, at, d)
				}
				for _, k := range x.Marks {
					n := y.MarkNamed(k.Name)
					s := n.S
					if n.Edge == "cap_high" {
						s += lo.Length()
					}
					if n.Edge != k.Edge && math.Abs(s-k.S) > 0.2 {
						t.Errorf("%s %v cut at %g: %s lies after %.3f, not %.3f mm", name, args, at, k.Name, s, k.S)
					}
				}
			}
		}
	}
}

// A sleeve that has its elbow dart goes along, dart and all, when its cap is changed afterwards.
func TestACapIsChangedOverAnElbowDart(t *testing.T) {
	p := apply(t, blouse.Make(longSleeved(blouse.Base())), "elbow_dart").Pattern
	for name, args := range map[string][]any{"cap_height": {"by", -20}, "cap_ease": {"ease", 30, "keep", "height"}, "taper": {"piece", "sleeve", "by", 12}} {
		r := apply(t, p, name, args...)
		passes(t, r)
		a, b := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
		// The dart still points at the elbow, as far from it as before.
		set := func(q *pattern.Piece) geom.Vec { return q.MarkNamed("elbow").At.Sub(q.MarkNamed("elbow_point").At) }
		if d := set(b).Sub(set(a)).Len(); d > 1e-6 {
			t.Errorf("%s: the elbow moves %.3f mm against its dart", name, d)
		}
		if name == "taper" {
			continue
		}
		for _, e := range []string{"elbow_upper", "elbow_lower", "underarm_back_upper", "underarm_back_lower", "underarm_front"} {
			if d := lengthOf(b, e) - lengthOf(a, e); math.Abs(d) > 1e-6 {
				t.Errorf("%s: %s gains %.6f mm", name, e, d)
			}
		}
		if d := easeBySteps(&r.Pattern, "underarm"); math.Abs(d) > 0.01 {
			t.Errorf("%s: the underarm seams are %.4f mm apart", name, d)
		}
	}
	_, err := bind(t, "cap_height", "by", -20, "hem_width", "kept").Apply(p)
	if f := pattern.FaultsOf(err); err == nil || f[0].Rule != "side_in_parts" || f[0].Pointer != "/hem_width" || f[0].Remedy == "" {
		t.Errorf("a side in parts that should lean: %v", err)
	}
}
