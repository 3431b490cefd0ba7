package change

import (
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// careless is a change that thinks of nothing but what it does.
type careless func(p *pattern.Pattern)

func (c careless) apply(w *work) error {
	c(&w.p)
	return nil
}

func carelessly(p pattern.Pattern, c careless) (Result, error) {
	return Bound{Definition{Name: "careless"}, c}.Apply(p)
}

// hemDart has a dart in the hem of the front, sewn leg to leg.
func hemDart() pattern.Pattern {
	p := blouse.Make(blouse.Base())
	f := p.PieceNamed("front")
	i := f.EdgeNamed("hem")
	h := f.Edges[i]
	l := h.Path.Length()
	a, b := h.Path.PointAt(l/2-10), h.Path.PointAt(l/2+10)
	tip := a.Lerp(b, 0.5).Add(geom.Vec{Y: 120})
	parts := []pattern.Edge{{Name: "hem", From: h.From, To: "in", Path: h.Path.Sub(0, l/2-10)}, {Name: "first", From: "in", To: "tip", Path: geom.Polyline(a, tip)},
		{Name: "second", From: "tip", To: "out", Path: geom.Polyline(tip, b)}, {Name: "hem_2", From: "out", To: h.To, Path: h.Path.Sub(l/2+10, l)}}
	f.Edges = append(append(append([]pattern.Edge(nil), f.Edges[:i]...), parts...), f.Edges[i+1:]...)
	f.Darts = []pattern.Dart{{Name: "hem_dart", First: "first", Second: "second", Towards: "first"}}
	return p
}

func TestWhatIsSewnStaysSewnWhateverAChangeDoes(t *testing.T) {
	side := func(p *pattern.Pattern) *pattern.Seam {
		for i := range p.Seams {
			if p.Seams[i].Name == "side" {
				return &p.Seams[i]
			}
		}
		return nil
	}
	for claim, c := range map[string]struct {
		rule string
		do   careless
	}{
		"nothing is done": {"", func(*pattern.Pattern) {}},
		"one side of a seam is lengthened": {"seam_broken", func(p *pattern.Pattern) {
			r := side(p).Sew[0]
			e := &p.PieceNamed(r.Piece).Edges[p.PieceNamed(r.Piece).EdgeNamed(r.Edge)]
			e.Path = geom.Polyline(e.Path.Start(), e.Path.PointAt(e.Path.Length()/2).Add(geom.Vec{X: -30}), e.Path.End())
		}},
		"the ease that is stated changes with it": {"", func(p *pattern.Pattern) {
			s := side(p)
			r := s.Sew[0]
			e := &p.PieceNamed(r.Piece).Edges[p.PieceNamed(r.Piece).EdgeNamed(r.Edge)]
			was := e.Path.Length()
			e.Path = geom.Polyline(e.Path.Start(), e.Path.PointAt(was/2).Add(geom.Vec{X: -30}), e.Path.End())
			d := e.Path.Length() - was
			s.Ease, s.Notches = pattern.Range{Min: d, Max: d}, nil
		}},
		"a notch is moved": {"notches_apart", func(p *pattern.Pattern) {
			n := side(p).Notches[0][0]
			q := p.PieceNamed(n.Piece)
			m := q.MarkNamed(n.Mark)
			m.S += 5
			m.At = q.Edges[q.EdgeNamed(m.Edge)].Path.PointAt(m.S)
		}},
		"a notch is lost": {"notches_apart", func(p *pattern.Pattern) {
			n := side(p).Notches[0][0]
			p.PieceNamed(n.Piece).MarkNamed(n.Mark).Name = "lost"
		}},
		"the mouth of a dart is moved along": {"dart_legs", func(p *pattern.Pattern) {
			f := p.PieceNamed("front")
			e, h := &f.Edges[f.EdgeNamed("second")], &f.Edges[f.EdgeNamed("hem_2")]
			h.Path = h.Path.Sub(30, h.Path.Length())
			e.Path = geom.Polyline(e.Path.Start(), h.Path.Start())
		}},
	} {
		_, err := carelessly(hemDart(), c.do)
		switch f := pattern.FaultsOf(err); {
		case c.rule == "" && err != nil:
			t.Errorf("%s: refused: %v", claim, err)
		case c.rule != "" && err == nil:
			t.Errorf("%s: was made", claim)
		case c.rule != "" && (f[0].Rule != c.rule || f[0].Size != "14" || f[0].Piece == "" || f[0].Remedy == ""):
			t.Errorf("%s: %+v", claim, f[0])
		}
	}
}
