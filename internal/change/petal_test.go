package change_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

func TestThePetalSleeveKeepsItsPromisesInEverySize(t *testing.T) {
	for _, p := range blouse.Run() {
		r := apply(t, p, "petal")
		for _, c := range r.Checks {
			if c.Verdict != inspect.Pass {
				t.Errorf("size %s %s: %.3f %s in %v ± %g: %s", p.Size, c.Rule, c.Measured, c.Unit, c.Want, c.Tolerance, c.Text)
			}
			if c.Size != p.Size {
				t.Errorf("size %s: a check of size %q", p.Size, c.Size)
			}
		}
		if len(r.Checks) != 11 {
			t.Errorf("only %d promises", len(r.Checks))
		}
	}
}

func TestTheHalvesAreWhatTheTradeAsksFor(t *testing.T) {
	plain := blouse.Make(blouse.Base())
	s := plain.PieceNamed("sleeve")
	r := apply(t, plain, "petal")
	if r.Pattern.PieceNamed("sleeve") != nil {
		t.Error("the plain sleeve is still there")
	}
	b, f := r.Pattern.PieceNamed("sleeve_back"), r.Pattern.PieceNamed("sleeve_front")
	if b == nil || f == nil {
		t.Fatalf("pieces are %v", r.Pattern.PieceNames())
	}
	for _, q := range []*pattern.Piece{b, f} {
		if q.Cut != (pattern.Cut{Count: 2, Pair: true, Cloth: "main"}) {
			t.Errorf("%s is cut %+v, not twice as a mirrored pair", q.Name, q.Cut)
		}
		if q.Of != "sleeve" {
			t.Errorf("%s comes from %q", q.Name, q.Of)
		}
		for _, m := range []string{"crown", "overlap_back", "overlap_front"} {
			if q.MarkNamed(m) == nil {
				t.Errorf("%s lacks the mark %s", q.Name, m)
			}
		}
		if o := q.Edges[q.EdgeNamed("petal")].Own; o == nil || math.Abs(o.Width-12.7) > 1e-9 || o.Turned != 2 {
			t.Errorf("%s.petal asks for %+v, not a narrow hem of 12.7 mm turned twice", q.Name, o)
		}
		if l := lengthOf(q, "hem"); math.Abs(l-50.8) > 1e-6 {
			t.Errorf("%s keeps %.3f mm of hem, not 2 in", q.Name, l)
		}
		if m := q.MarkNamed("overlap_back"); m.Kind != pattern.Square || math.Abs(m.Inside-15.875) > 1e-9 {
			t.Errorf("the match mark is %+v, not a square 5/8 in inside", m)
		}
	}
	// The curve of the back half begins half-way between crown dot and front dot: 50 of 100 mm.
	if l := lengthOf(b, "cap_front"); math.Abs(l-50) > 1e-6 {
		t.Errorf("sleeve_back holds %.3f mm of the front cap", l)
	}
	if l := lengthOf(f, "cap_back"); math.Abs(l-50) > 1e-6 {
		t.Errorf("sleeve_front holds %.3f mm of the back cap", l)
	}
	for _, e := range []string{"cap_back", "underarm_back"} {
		if math.Abs(lengthOf(b, e)-lengthOf(s, e)) > 1e-9 {
			t.Errorf("%s changed its length", e)
		}
	}
	for _, e := range []string{"cap_front", "underarm_front"} {
		if math.Abs(lengthOf(f, e)-lengthOf(s, e)) > 1e-9 {
			t.Errorf("%s changed its length", e)
		}
	}
	if b.MarkNamed("back_notch") == nil || f.MarkNamed("front_notch") == nil || b.MarkNamed("front_notch") != nil {
		t.Error("the notches did not go to their halves")
	}
}

func TestTheSeamsOfThePlainSleeveFindTheHalfThatHoldsThemWhole(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "petal")
	want := map[string]string{"armhole_front": "sleeve_front.cap_front", "armhole_back": "sleeve_back.cap_back", "underarm": "sleeve_back.underarm_back"}
	for _, s := range r.Pattern.Seams {
		if w, ok := want[s.Name]; ok && (len(s.Sew) != 1 || s.Sew[0].Piece+"."+s.Sew[0].Edge != w || s.Sew[0].Against) {
			t.Errorf("seam %s sews %v, want %s", s.Name, s.Sew, w)
		}
		if s.Name == "underarm" && (s.To[0] != pattern.EdgeRef{Piece: "sleeve_front", Edge: "underarm_front", Against: true}) {
			t.Errorf("the underarm is sewn to %v", s.To)
		}
		if s.Name == "armhole_back" && s.Notches[0][0].Piece != "sleeve_back" {
			t.Errorf("the back notch is looked for on %s", s.Notches[0][0].Piece)
		}
	}
}

func TestAPetalBlousePassesInspectionInEverySize(t *testing.T) {
	var sizes []inspect.Sized
	for _, p := range blouse.Run() {
		r := apply(t, p, "petal")
		sizes = append(sizes, sized(t, r))
	}
	rep := inspect.Run(sizes, blouse.Chart(), inspect.Options{})
	for _, c := range rep.Worst() {
		if c.Verdict == inspect.Fail || c.Rule != "hem_turn" {
			t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
		}
	}
}

// The areas add up: what the halves share is there twice, what lies below both curves is cut away.
func TestTheAreasOfTheHalvesAddUp(t *testing.T) {
	plain := blouse.Make(blouse.Base())
	s := plain.PieceNamed("sleeve")
	for _, full := range []float64{0.2, 0.5, 0.8} {
		r := apply(t, plain, "petal", "fullness", full)
		b, f := r.Pattern.PieceNamed("sleeve_back"), r.Pattern.PieceNamed("sleeve_front")
		pb := b.Edges[b.EdgeNamed("petal")].Path.Reverse() // from the cap down
		pf := f.Edges[f.EdgeNamed("petal")].Path
		x := geom.Intersect(pb, pf, 1e-9)
		if len(x) != 1 {
			t.Fatalf("the curves cross %d times", len(x))
		}
		// Overlap: over the cap from front cap point to back cap point, down the front half's curve to the
		// crossing, up the back half's.
		caps := f.Edges[f.EdgeNamed("cap_back")].Path
		capF := b.Edges[b.EdgeNamed("cap_front")].Path
		up, _ := pb.Split(x[0].S)
		dn, _ := pf.Split(x[0].T)
		overlap := capF.Join(caps).Join(dn).Join(up.Reverse()).Area()
		// Cut away: the hem between the stubs, back along the front half's curve, then the back half's.
		hem := s.Edges[s.EdgeNamed("hem")].Path
		_, lowB := pb.Split(x[0].S)
		_, lowF := pf.Split(x[0].T)
		away := hem.Sub(50.8, hem.Length()-50.8).Join(lowF.Reverse()).Join(lowB).Area()
		got := b.Outline().Area() + f.Outline().Area() - overlap + away
		if want := s.Outline().Area(); math.Abs(got-want) > 1e-3 {
			t.Errorf("fullness %g: %.4f mm², the plain sleeve has %.4f", full, got, want)
		}
		if overlap <= 0 || away <= 0 {
			t.Errorf("fullness %g: overlap %.0f, cut away %.0f", full, overlap, away)
		}
	}
}

// A symmetrical sleeve makes two halves that mirror each other.
func TestTheFrontHalfIsTheBackHalfMirrored(t *testing.T) {
	d := blouse.Base()
	d.CrownRight, d.EaseBack = 0, d.EaseFront
	p := blouse.Make(d)
	p.Pieces[2] = blouse.Sleeve(d, 250, 250)
	r := apply(t, p, "petal")
	b, f := r.Pattern.PieceNamed("sleeve_back"), r.Pattern.PieceNamed("sleeve_front")
	m := geom.MirrorAbout(geom.Pt(0, 0), geom.Vec{Y: 1})
	// The back of this draft bows by a solved amount that equals the front's 0.33 only to rounding.
	pb := b.Edges[b.EdgeNamed("petal")].Path
	pf := f.Edges[f.EdgeNamed("petal")].Path.Transform(m)
	for i := range 21 {
		q := pf.PointAt(pf.Length() * float64(i) / 20)
		if _, d := pb.Project(q); d > 1e-3 {
			t.Fatalf("the mirrored curve is %.4f mm off", d)
		}
	}
}

func TestEachHalfMayHaveItsOwnCurve(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "petal", "cap_share", obj("back", 0.3, "front", 0.7), "hem_in", obj("back", "1in", "front", "3in"), "fullness", obj("back", 0.3, "front", 0.8))
	b, f := r.Pattern.PieceNamed("sleeve_back"), r.Pattern.PieceNamed("sleeve_front")
	for _, c := range []struct{ got, want float64 }{{lengthOf(b, "cap_front"), 30}, {lengthOf(f, "cap_back"), 70}, {lengthOf(b, "hem"), 25.4}, {lengthOf(f, "hem"), 76.2}} {
		if math.Abs(c.got-c.want) > 1e-6 {
			t.Errorf("%.3f mm, want %g", c.got, c.want)
		}
	}
	r = apply(t, blouse.Make(blouse.Base()), "petal", "cap_along", "1 1/2in")
	if l := lengthOf(r.Pattern.PieceNamed("sleeve_back"), "cap_front"); math.Abs(l-38.1) > 1e-6 {
		t.Errorf("the curve begins %.3f mm from the crown, not 1 1/2 in", l)
	}
}

func TestTheOverlapMayBeNotchedInstead(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "petal", "match", "notches")
	for _, n := range []string{"sleeve_back", "sleeve_front"} {
		m := r.Pattern.PieceNamed(n).MarkNamed("overlap_front")
		if m == nil || m.Kind != pattern.Notch || m.Count != 1 {
			t.Errorf("%s: %+v", n, m)
		}
	}
}

func TestTheOrderOfSewingHasTheAmountsOfThisPattern(t *testing.T) {
	r := apply(t, blouse.Make(blouse.Base()), "petal", "top", "front", "narrow_hem", "10mm")
	var all []string
	for _, s := range r.Steps {
		all = append(all, s.Text)
	}
	text := strings.Join(all, "\n")
	for _, want := range []string{"5 mm", "2 in", "12.7 mm (1/2 in)", "15.9 mm (5/8 in)", "9.5 mm (3/8 in)", "Lay sleeve_front over sleeve_back", "crown dot to shoulder seam", "both sleeves"} {
		if !strings.Contains(text, want) {
			t.Errorf("the steps do not say %q:\n%s", want, text)
		}
	}
	l := lengthOf(r.Pattern.PieceNamed("sleeve_back"), "petal")
	if !strings.Contains(text, fmt.Sprintf("(%.0f mm)", l)) {
		t.Errorf("the curve of %.1f mm is not told:\n%s", l, text)
	}
}

func TestTheWorkingDrawingCanBeRedoneByHand(t *testing.T) {
	d := apply(t, blouse.Make(blouse.Base()), "petal").Drawing
	want := map[string]float64{"crown to front_dot": 100, "crown to cap point": 50, "underarm to hem point": 50.8}
	seen := map[string]int{}
	for _, m := range d.Measures {
		if w, ok := want[m.Label]; ok && math.Abs(m.MM-w) > 1e-6 {
			t.Errorf("%s is %.3f mm, want %g", m.Label, m.MM, w)
		}
		seen[m.Label]++
		for _, n := range []int{m.From, m.To} {
			if n < 1 || n > len(d.Points) || d.Points[n-1].N != n {
				t.Errorf("%s goes to point %d, which is not there", m.Label, n)
			}
		}
		if len(m.Path) > 0 && (m.Path.Start().Dist(d.Points[m.From-1].At) > 1e-6 && m.Path.End().Dist(d.Points[m.From-1].At) > 1e-6) {
			t.Errorf("%s is not measured from its point", m.Label)
		}
		if m.Step < 1 || m.Step > len(d.Steps) {
			t.Errorf("%s belongs to step %d of %d", m.Label, m.Step, len(d.Steps))
		}
	}
	if seen["crown to cap point"] != 2 || seen["underarm to hem point"] != 2 {
		t.Errorf("measured %v", seen)
	}
	news := 0
	for _, l := range d.Lines {
		if l.Kind == change.New {
			news++
		}
	}
	if news != 2 {
		t.Errorf("%d new lines", news)
	}
}

func TestThePetalSaysWhatItCannotDo(t *testing.T) {
	for _, c := range []struct {
		claim, rule, pointer, says string
		args                       []any
		spoil                      func(*pattern.Pattern)
	}{
		{"no such piece", "unknown_piece", "/piece", "sleev", []any{"piece", "sleev"}, nil},
		{"no such hem", "unknown_edge", "/hem", "cuff", []any{"hem", "cuff"}, nil},
		{"no crown dot", "unknown_point", "/crown", "top", []any{"crown", "top"}, nil},
		{"no such mark on the front cap", "unknown_mark", "/front_mark", "back_dot", []any{"front_mark", "back_dot"}, nil},
		{"a hem distance longer than the hem", "out_of_range", "/hem_in", "past the hem", []any{"hem_in", 400}, nil},
		{"a place past the cap", "out_of_range", "/cap_along", "past the front cap", []any{"cap_along", 290}, nil},
		{"an overlap too short to mark", "overlap_too_short", "/match_in", "20.0 mm", []any{"cap_share", 0.2}, nil},
		{"a cap without marks", "unknown_mark", "/front_mark", "no dot or notch", nil, func(p *pattern.Pattern) {
			s := p.PieceNamed("sleeve")
			s.Marks = s.Marks[:1]
			for i := range p.Seams {
				p.Seams[i].Notches = nil
			}
		}},
		{"a half's name that is taken", "name_taken", "/piece", "sleeve_back", nil, func(p *pattern.Pattern) {
			q := p.Pieces[0].Clone()
			q.Name = "sleeve_back"
			p.Pieces = append(p.Pieces, q)
		}},
		{"a seam whose edge is cut away", "seam_lost", "/cap_share", "band", nil, func(p *pattern.Pattern) {
			p.Seams = append(p.Seams, pattern.Seam{Name: "band", Sew: []pattern.EdgeRef{{Piece: "sleeve", Edge: "hem"}}, To: []pattern.EdgeRef{{Piece: "front", Edge: "hem"}}})
		}},
	} {
		p := blouse.Make(blouse.Base())
		if c.spoil != nil {
			c.spoil(&p)
		}
		_, err := bind(t, "petal", c.args...).Apply(p)
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer && c.rule != "seam_lost" || f.Size != "14" || !strings.HasPrefix(f.Detail, "petal: ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}
