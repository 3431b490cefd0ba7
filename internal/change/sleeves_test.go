package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// sleeveStep is one random change to a sleeve or its halves, wise or not.
func sleeveStep(r *rand.Rand, p *pattern.Pattern) (string, []any) {
	q := &p.Pieces[r.IntN(len(p.Pieces))]
	if s := p.PieceNamed("sleeve"); s != nil && r.IntN(4) > 0 {
		q = s
	}
	u := func(lo, hi float64) float64 { return lo + r.Float64()*(hi-lo) }
	args := []any{"piece", q.Name}
	opt := func(n int, kv ...any) {
		if r.IntN(n) == 0 {
			args = append(args, kv...)
		}
	}
	opt(6, "hem", q.Edges[r.IntN(len(q.Edges))].Name)
	name := []string{"taper", "flare", "gathered_head", "gathered_hem", "gathered_both", "lengthen", "petal", "cap_ease", "cap_height", "elbow_dart"}[r.IntN(10)]
	switch name {
	case "taper":
		return name, append(args, "by", u(-80, 80)+0.01)
	case "lengthen":
		return name, append(args, "by", u(-60, 200)+0.01)
	case "petal":
		return name, append(args, "hem_in", u(10, 80))
	case "cap_ease":
		opt(2, "keep", "height")
		opt(3, "hem_width", "kept")
		return name, append(args, "ease", u(-5, 60), "back_share", u(0.3, 0.8))
	case "cap_height":
		opt(3, "hem_width", "kept")
		return name, append(args, "by", u(-70, 60))
	case "elbow_dart":
		opt(3, "hinge", "middle")
		opt(3, "down", u(60, 250))
		return name, append(args, "intake", u(5, 50), "elbow", u(0.15, 0.5))
	}
	opt(2, "lines", 1+r.IntN(12))
	opt(5, "cap", q.Edges[r.IntN(len(q.Edges))].Name)
	if name == "flare" {
		return name, append(args, "by", u(1, 500))
	}
	args = append(args, "by", u(5, 300))
	if name != "gathered_hem" {
		opt(2, "puff", u(0, 60))
		opt(3, "reach", u(20, 180))
	}
	if name != "gathered_head" {
		opt(2, "drop", u(0, 50))
		opt(2, "band", false)
		opt(3, "band_length", u(100, 500))
		opt(3, "overlap", u(0, 40))
		args = append(args, "band_name", fmt.Sprintf("band_%d", r.IntN(5)))
	}
	return name, args
}

// After any sequence of them seams still match, gathers told, marks are where they were, promises hold, and
// a refusal says which change, size and place.
func sleeveSequence(t testing.TB, r *rand.Rand, p pattern.Pattern, n int) (made, refused int) {
	for range n {
		name, args := sleeveStep(r, &p)
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
		if err != nil {
			refused++
			continue
		}
		before := fmt.Sprintf("%v", p)
		res, err := b.Apply(p)
		if fmt.Sprintf("%v", p) != before {
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
		for i, s := range q.Seams {
			x, err1 := inspect.Walk(&q, s.Sew)
			y, err2 := inspect.Walk(&q, s.To)
			if err1 != nil || err2 != nil {
				t.Fatalf("%s %v: seam %s is lost: %v %v", name, args, s.Name, err1, err2)
			}
			if i >= len(p.Seams) || s.Gathers || name == "cap_ease" && s.Cap || q.Seams[i].Name != p.Seams[i].Name {
				continue
			}
			a, _ := inspect.Walk(&p, p.Seams[i].Sew)
			b, _ := inspect.Walk(&p, p.Seams[i].To)
			if d := (x.Len - y.Len - s.Drawn) - (a.Len - b.Len - p.Seams[i].Drawn); math.Abs(d) > 0.1 {
				t.Fatalf("%s %v: seam %s is %.3f mm off", name, args, s.Name, d)
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
			for i := range p.Pieces {
				for _, m := range p.Pieces[i].Marks {
					if is := q.PieceNamed(p.Pieces[i].Name); is == nil || is.MarkNamed(m.Name) == nil {
						t.Fatalf("%s %v lost the mark %s", name, args, m.Name)
					}
				}
			}
		}
		p = q
	}
	return made, refused
}

func TestAnySequenceOfSleeveChangesKeepsSeamsAndMarks(t *testing.T) {
	made, refused := 0, 0
	sleeves(t, 15, 80, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		p.Body = map[string]float64{"upper_arm": d.UpperArm - 60}
		m, n := sleeveSequence(t, r, p, 7)
		made, refused = made+m, refused+n
	})
	if made < 150 || refused < 100 {
		t.Errorf("%d made, %d refused: the sequences try too little", made, refused)
	}
	t.Logf("%d changes made, %d refused", made, refused)
}

func FuzzSleeves(f *testing.F) {
	for i := range 8 {
		f.Add(uint64(i), uint64(7))
	}
	f.Fuzz(func(t *testing.T, a, b uint64) {
		r := rand.New(rand.NewPCG(a, b))
		d := soundDraft(r)
		if p, ok := try(d); ok {
			p.Body = map[string]float64{"upper_arm": d.UpperArm - 60}
			sleeveSequence(t, r, p, 7)
		}
	})
}
