package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// step is one random change with its arguments, wise or not.
func step(r *rand.Rand, p *pattern.Pattern) (string, []any) {
	pick := func(names []string) string {
		if r.IntN(12) == 0 {
			return "nowhere"
		}
		return names[r.IntN(len(names))]
	}
	q := &p.Pieces[r.IntN(len(p.Pieces))]
	place := func() any {
		switch r.IntN(5) {
		case 0:
			return pick(q.PlaceNames())
		case 1:
			return obj("at", []any{r.Float64()*600 - 300, r.Float64()*700 - 450})
		case 2:
			n := q.PlaceNames()
			return obj("between", []any{pick(n), pick(n)}, "share", r.Float64())
		}
		e := &q.Edges[r.IntN(len(q.Edges))]
		return obj("edge", e.Name, "along", r.Float64()*e.Path.Length()*1.05)
	}
	switch r.IntN(5) {
	case 0:
		args := []any{"piece", pick([]string{q.Name, "sleeve"}), "cap_share", 0.05 + 0.9*r.Float64(), "hem_in", 5 + 300*r.Float64(), "match_in", 6 + 30*r.Float64()}
		if r.IntN(2) == 0 {
			args = append(args, "fullness", 0.05+0.9*r.Float64(), "inflection", r.IntN(2) == 0)
		}
		if r.IntN(4) == 0 {
			args = append(args, "cap_along", 10+200*r.Float64())
		}
		return "petal", args
	case 1, 2:
		pieces := []any{q.Name}
		if r.IntN(2) == 0 {
			o := p.Pieces[r.IntN(len(p.Pieces))].Name
			if o != q.Name {
				pieces = append(pieces, o)
			}
		}
		if r.IntN(3) == 0 {
			pieces = []any{"front", "back"}
		}
		args := []any{"piece", pieces, "by", math.Round(r.Float64()*300-100) + 0.5, "sides", []string{"as_drawn", "straight", "smooth"}[r.IntN(3)], "hem", pick([]string{"hem", "hem", "hem", q.Edges[r.IntN(len(q.Edges))].Name})}
		if r.IntN(3) == 0 {
			args = append(args, "above", r.Float64()*300-50)
		}
		if r.IntN(4) == 0 {
			args = append(args, "at", place())
		}
		return "lengthen", args
	}
	return "split", []any{"piece", q.Name, "from", place(), "to", place(), "shape", []string{"straight", "curved"}[r.IntN(2)], "inflection", r.IntN(2) == 0,
		"from_angle", 20 + 140*r.Float64(), "to_angle", 20 + 140*r.Float64(), "notches", r.IntN(4), "line", fmt.Sprintf("line_%d", r.IntN(3)), "left", fmt.Sprintf("part_%d", r.IntN(99)), "right", fmt.Sprintf("part_%d", 100+r.IntN(99))}
}

// sequence makes up to n random changes one after the other and holds each to what every change owes.
func sequence(t testing.TB, r *rand.Rand, d blouse.Draft, p pattern.Pattern, n int) (made, refused int) {
	ease := map[string]float64{"armhole_front": d.EaseFront, "armhole_back": d.EaseBack}
	for range n {
		name, args := step(r, &p)
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
		if err != nil {
			refused++
			continue
		}
		before := fmt.Sprintf("%v", p)
		res, err := b.Apply(p)
		if after := fmt.Sprintf("%v", p); after != before {
			t.Fatalf("%s %v touched the pattern it was given", name, args)
		}
		if err != nil {
			refused++
			for _, f := range pattern.FaultsOf(err) {
				if f.Rule == "" || f.Rule == "unknown" || f.Size != p.Size || !strings.HasPrefix(f.Detail, name+": ") || f.Remedy == "" || f.Pointer == "" && f.Piece == "" {
					t.Fatalf("%s %v: a refusal that tells too little: %+v", name, args, f)
				}
				if strings.Contains(f.Error(), "NaN") || strings.Contains(f.Error(), "Inf") {
					t.Fatalf("%s %v: %v", name, args, f)
				}
			}
			continue
		}
		made++
		q := res.Pattern
		for i := range q.Pieces {
			finite(t, name, args, &q.Pieces[i])
		}
		for _, s := range q.Seams {
			x, err1 := inspect.Walk(&q, s.Sew)
			y, err2 := inspect.Walk(&q, s.To)
			if err1 != nil || err2 != nil {
				t.Fatalf("%s %v: seam %s is lost: %v %v", name, args, s.Name, err1, err2)
			}
			if off := math.Abs(x.Len - y.Len - ease[s.Name]); !(off <= 0.1*float64(made)) {
				t.Fatalf("%s %v: seam %s is %.3f mm off", name, args, s.Name, off)
			}
		}
		for _, c := range res.Checks {
			if math.IsNaN(c.Measured) || c.Text == "" || strings.Contains(c.Text, "NaN") {
				t.Fatalf("%s %v: %+v", name, args, c)
			}
			if c.Verdict == inspect.Fail && c.Rule != "petal_bends" {
				t.Fatalf("%s %v broke a promise: %s %.4f in %v ± %g: %s", name, args, c.Rule, c.Measured, c.Want, c.Tolerance, c.Text)
			}
		}
		if name != "petal" {
			lost := map[string]bool{}
			for i := range p.Pieces {
				for _, m := range p.Pieces[i].Marks {
					lost[m.Name] = true
				}
			}
			for i := range q.Pieces {
				for _, m := range q.Pieces[i].Marks {
					delete(lost, m.Name)
				}
			}
			if len(lost) > 0 {
				t.Fatalf("%s %v lost the marks %v", name, args, lost)
			}
		}
		p = q
	}
	return made, refused
}

func finite(t testing.TB, name string, args []any, q *pattern.Piece) {
	ok := func(p geom.Point) bool { return p.Finite() && math.Abs(p.X) < 1e5 && math.Abs(p.Y) < 1e5 }
	good := ok(q.Grain[0]) && ok(q.Grain[1]) && ok(q.Align)
	n := len(q.Edges)
	names := map[string]bool{}
	for i := range q.Edges {
		e, next := &q.Edges[i], &q.Edges[(i+1)%n]
		for _, s := range e.Path {
			good = good && ok(s.P0) && ok(s.P1) && ok(s.P2) && ok(s.P3)
		}
		good = good && e.Path.End().Dist(next.Path.Start()) < 1e-6 && e.To == next.From && e.From != "" && !names[e.Name]
		names[e.Name] = true
	}
	for _, m := range q.Marks {
		good = good && ok(m.At) && !math.IsNaN(m.S)
		if m.Edge != "" {
			i := q.EdgeNamed(m.Edge)
			good = good && i >= 0 && q.Edges[i].Path.PointAt(m.S).Dist(m.At) < 1e-6
		}
	}
	if !good {
		t.Fatalf("%s %v: piece %s is not sound: %v %+v", name, args, q.Name, q.EdgeNames(), q.Marks)
	}
}

func TestAnySequenceOfChangesKeepsSeamsMarksAndPromises(t *testing.T) {
	made, refused := 0, 0
	sleeves(t, 5, 150, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		m, n := sequence(t, r, d, p, 8)
		made, refused = made+m, refused+n
	})
	if made < 200 || refused < 200 {
		t.Errorf("%d made, %d refused: the sequences try too little", made, refused)
	}
	t.Logf("%d changes made, %d refused", made, refused)
}

func FuzzSequence(f *testing.F) {
	for i := range 8 {
		f.Add(uint64(i), uint64(1))
	}
	f.Fuzz(func(t *testing.T, a, b uint64) {
		r := rand.New(rand.NewPCG(a, b))
		d := soundDraft(r)
		if p, ok := try(d); ok {
			sequence(t, r, d, p, 10)
		}
	})
}

// FuzzBind reads arguments made of bytes: it may refuse them, never fall over.
func FuzzBind(f *testing.F) {
	f.Add("petal", "cap_share", 0.5, "2in", uint8(1))
	f.Add("split", "from", 1.0, "neck", uint8(4))
	f.Add("lengthen", "piece", -20.0, "front", uint8(3))
	f.Fuzz(func(t *testing.T, name, field string, x float64, s string, kind uint8) {
		leaf := []pattern.Arg{{}, {Kind: pattern.ArgNumber, Number: x, PerMM: 1}, {Kind: pattern.ArgText, Text: s}, {Kind: pattern.ArgBool, Bool: x > 0}}
		v := leaf[int(kind)%4]
		switch kind / 4 % 4 {
		case 1:
			v = pattern.Arg{Kind: pattern.ArgList, List: leaf}
		case 2:
			v = pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: s, Value: v}, {Name: "edge", Value: v}, {Name: "along", Value: leaf[1]}}}
		case 3:
			v = pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: "between", Value: pattern.Arg{Kind: pattern.ArgList, List: leaf[1:3]}}, {Name: "share", Value: v}}}
		}
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: pattern.Arg{Kind: pattern.ArgObject, Fields: []pattern.Field{{Name: field, Value: v}, {Name: "piece", Value: leaf[2]}, {Name: "by", Value: leaf[1]}}}})
		if err != nil {
			if len(pattern.FaultsOf(err)) == 0 || strings.Contains(err.Error(), "\n\n") {
				t.Fatalf("%v", err)
			}
			return
		}
		if _, err := b.Apply(blouse.Make(blouse.Base())); err != nil && pattern.FaultsOf(err)[0].Size != "14" {
			t.Fatalf("%v", err)
		}
	})
}

func BenchmarkPetal(b *testing.B) { benchChange(b, "petal") }
func BenchmarkLengthen(b *testing.B) {
	benchChange(b, "lengthen", "piece", []any{"front", "back"}, "by", 100)
}
func BenchmarkSplit(b *testing.B) {
	benchChange(b, "split", yoke("shape", "curved", "inflection", true)...)
}
