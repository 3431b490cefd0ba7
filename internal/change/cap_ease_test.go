package change_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// easeBySteps is the ease of a seam told by short straight steps, as with a tape.
func easeBySteps(p *pattern.Pattern, seam string) float64 {
	const steps = 2000
	long := func(refs []pattern.EdgeRef) float64 {
		l := 0.0
		for _, r := range refs {
			q := p.PieceNamed(r.Piece)
			for _, s := range q.Edges[q.EdgeNamed(r.Edge)].Path {
				for i := range steps {
					l += s.At(float64(i) / steps).Dist(s.At(float64(i+1) / steps))
				}
			}
		}
		return l
	}
	for _, s := range p.Seams {
		if s.Name == seam {
			return long(s.Sew) - long(s.To) - s.Drawn
		}
	}
	return math.NaN()
}

// capFrame is the sleeve's width at the biceps line, the height of its cap and the width of its hem.
func capFrame(p *pattern.Pattern) (wide, high, hem float64) {
	s := p.PieceNamed("sleeve")
	f, b, h := s.Edges[s.EdgeNamed("cap_front")].Path, s.Edges[s.EdgeNamed("cap_back")].Path, s.Edges[s.EdgeNamed("hem")].Path
	return f.Start().X - b.End().X, f.End().Y - f.Start().Y, h.End().X - h.Start().X
}

func TestACapGetsItsEaseInEverySize(t *testing.T) {
	for _, c := range []struct {
		ease, back float64
		args       []any
	}{
		{25, 0.6, nil},
		{32, 0.55, []any{"ease", 32, "back_share", 0.55}},
		{14, 0.5, []any{"ease", 14, "back_share", 0.5}},
		{6, 0.6, []any{"ease", 6}},
		{0, 0.6, []any{"ease", 0}},
		{30, 0.6, []any{"ease", 30, "keep", "height"}},
		{14, 0.65, []any{"ease", 14, "back_share", 0.65, "keep", "height", "hem_width", "kept"}},
	} {
		var sizes []inspect.Sized
		for _, p := range blouse.Run() {
			r := apply(t, p, "cap_ease", c.args...)
			passes(t, r)
			if b := easeBySteps(&r.Pattern, "armhole_back"); math.Abs(b-c.back*c.ease) > 0.01 {
				t.Errorf("%v size %s: the back has %.4f mm of ease", c.args, p.Size, b)
			}
			if f := easeBySteps(&r.Pattern, "armhole_front"); math.Abs(f-(1-c.back)*c.ease) > 0.01 {
				t.Errorf("%v size %s: the front has %.4f mm of ease", c.args, p.Size, f)
			}
			w0, h0, m0 := capFrame(&p)
			w1, h1, m1 := capFrame(&r.Pattern)
			switch keep, hem := kv(c.args, "keep"), kv(c.args, "hem_width"); {
			case keep != "height":
				if math.Abs(w1-w0)+math.Abs(m1-m0) > 1e-6 {
					t.Errorf("%v size %s: the sleeve is wider by %.4f, its hem by %.4f mm", c.args, p.Size, w1-w0, m1-m0)
				}
			case math.Abs(h1-h0) > 1e-6:
				t.Errorf("%v size %s: the cap is higher by %.4f mm", c.args, p.Size, h1-h0)
			case hem == "kept" && math.Abs(m1-m0) > 1e-6, hem == nil && math.Abs(m1-m0-(w1-w0)) > 1e-6:
				t.Errorf("%v size %s: wider by %.4f at the biceps line and by %.4f mm at the hem", c.args, p.Size, w1-w0, m1-m0)
			}
			was, is := p.PieceNamed("sleeve"), r.Pattern.PieceNamed("sleeve")
			for _, e := range []string{"underarm_front", "underarm_back"} {
				if d := lengthOf(is, e) - lengthOf(was, e); math.Abs(d) > 1e-6 {
					t.Errorf("%v size %s: %s gains %.5f mm", c.args, p.Size, e, d)
				}
			}
			if at, _ := is.Corner("crown"); is.MarkNamed("crown").At.Dist(at) > 1e-9 {
				t.Errorf("%v size %s: the crown dot has left the crown", c.args, p.Size)
			}
			sizes = append(sizes, sized(t, r))
		}
		inspected(t, sizes)
	}
}

func kv(args []any, name string) any {
	for i := 0; i+1 < len(args); i += 2 {
		if args[i] == name {
			return args[i+1]
		}
	}
	return nil
}

// Ease that is asked for twice is there once: a cap that has it already is left as it is.
func TestACapThatHasItsEaseStaysAsItIs(t *testing.T) {
	for _, keep := range []string{"width", "height"} {
		d := blouse.Base()
		p := blouse.Make(d)
		r := apply(t, p, "cap_ease", "ease", d.EaseFront+d.EaseBack, "back_share", d.EaseBack/(d.EaseFront+d.EaseBack), "keep", keep)
		a, b := p.PieceNamed("sleeve").Outline(), r.Pattern.PieceNamed("sleeve").Outline()
		for k := range 40 {
			s := a.Length() * float64(k) / 40
			if off := a.PointAt(s).Dist(b.PointAt(s)); off > 0.01 {
				t.Fatalf("keeping its %s: after %.1f mm the outline has moved by %.4f mm", keep, s, off)
			}
		}
	}
}

// Gathers are not ease: a puff keeps them when the ease beside them is changed.
func TestGathersOfACapAreNotEase(t *testing.T) {
	p := blouse.Make(blouse.Base())
	puff := apply(t, p, "gathered_head", "by", 90)
	r := apply(t, puff.Pattern, "cap_ease", "ease", 16)
	passes(t, r)
	sum := 0.0
	for i, s := range r.Pattern.Seams {
		if s.Drawn != puff.Pattern.Seams[i].Drawn {
			t.Errorf("seam %s now draws up %.2f mm", s.Name, s.Drawn)
		}
		if s.Cap {
			sum += easeBySteps(&r.Pattern, s.Name)
		}
	}
	if math.Abs(sum-16) > 0.01 {
		t.Errorf("%.3f mm of ease", sum)
	}
}

func TestCapEaseOnAnySoundDraft(t *testing.T) {
	made, refused := 0, 0
	sleeves(t, 71, 80, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		ease, back := -5+50*r.Float64(), 0.35+0.4*r.Float64()
		args := []any{"ease", ease, "back_share", back}
		if r.IntN(2) == 0 {
			args = append(args, "keep", "height")
		}
		if r.IntN(2) == 0 {
			args = append(args, "hem_width", "kept")
		}
		x, err := bind(t, "cap_ease", args...).Apply(p)
		if err != nil {
			refused++
			if f := pattern.FaultsOf(err)[0]; f.Pointer != "/ease" {
				t.Errorf("%+v %v: %v", d, args, err)
			}
			return
		}
		made++
		passes(t, x)
		e := easeBySteps(&x.Pattern, "armhole_back") + easeBySteps(&x.Pattern, "armhole_front")
		if math.Abs(e-ease) > 0.01 {
			t.Errorf("%v: %.4f mm of ease", args, e)
		}
		was, is := p.PieceNamed("sleeve"), x.Pattern.PieceNamed("sleeve")
		if len(is.Marks) != len(was.Marks) {
			t.Errorf("%v: marks were lost", args)
		}
		for _, m := range is.Marks {
			at := is.Edges[is.EdgeNamed(m.Edge)].Path.PointAt(m.S)
			if m.At.Dist(at) > 1e-6 {
				t.Errorf("%v: %s lies beside its edge", args, m.Name)
			}
		}
	})
	if made < 60 {
		t.Errorf("only %d made, %d refused", made, refused)
	}
}

func TestCapEaseSaysWhatItCannotDo(t *testing.T) {
	refuses(t, "cap_ease", []refusal{
		{"no such piece", "unknown_piece", "/piece", "slev", []any{"piece", "slev"}},
		{"a body", "off_cap", "/crown", "crown", []any{"piece", "front", "crown", "underarm"}},
		{"no such crown", "unknown_point", "/crown", "top", []any{"crown", "top"}},
		{"a crown that is a notch", "off_cap", "/crown", "corner", []any{"crown", "front_notch"}},
		{"a crown at the underarm", "off_cap", "/crown", "corner", []any{"crown", "underarm_back"}},
	})
	// A wide sleeve whose cap is low already cannot become so much shorter.
	d := blouse.Base()
	d.UpperArm, d.EaseFront, d.EaseBack = 470, 20, 20
	_, err := bind(t, "cap_ease", "ease", -5).Apply(blouse.Make(d))
	if f := pattern.FaultsOf(err); err == nil || f[0].Rule != "out_of_range" || f[0].Pointer != "/ease" || f[0].Edge != "cap_back" || f[0].Valid != "about -1 to 163 mm" {
		t.Errorf("a cap that cannot become lower: %v", err)
	}
	p := blouse.Make(blouse.Base())
	p.Seams = p.Seams[:3]
	if _, err := bind(t, "cap_ease").Apply(p); err == nil || pattern.FaultsOf(err)[0].Rule != "not_set_in" {
		t.Errorf("a sleeve that is not set in: %v", err)
	}
	p = blouse.Make(blouse.Base())
	p.Seams[3].Sew = append(p.Seams[3].Sew, p.Seams[4].Sew...)
	p.Seams = p.Seams[:4]
	if _, err := bind(t, "cap_ease").Apply(p); err == nil || pattern.FaultsOf(err)[0].Rule != "cap_seam" {
		t.Errorf("a seam over the crown: %v", err)
	}
	if _, err := change.Bind(pattern.ChangeSpec{Change: "cap_ease", Args: obj("ease", 95)}); err == nil || pattern.FaultsOf(err)[0].Pointer != "/ease" {
		t.Errorf("too much ease: %v", err)
	}
}

func BenchmarkCapEase(b *testing.B) { benchChange(b, "cap_ease", "ease", 30) }
func BenchmarkCapEaseByWidth(b *testing.B) {
	benchChange(b, "cap_ease", "ease", 30, "keep", "height", "hem_width", "kept")
}
