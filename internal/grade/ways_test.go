package grade_test

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/geom"
	"sizerun/internal/grade"
	"sizerun/internal/pattern"
)

// rewrite sends a block through its document, as a shop would.
func rewrite(t testing.TB, b pattern.Block) pattern.Block {
	t.Helper()
	data, err := document.EncodeBlock(b)
	if err != nil {
		t.Fatal(err)
	}
	out, err := document.DecodeBlock(data, document.DefaultLimits())
	if err != nil {
		t.Fatalf("%v\n%s", err, data)
	}
	return out
}

// asSteps writes the shares of a block as plain displacements per size.
func asSteps(b pattern.Block) pattern.Block {
	base := b.Chart.BodyOf(b.Chart.Index(b.Chart.Base))
	sum := func(m map[string]float64, body map[string]float64) float64 {
		d := 0.0
		for k, s := range m {
			d += s * (body[k] - base[k])
		}
		return d
	}
	b.Pieces = append([]pattern.BlockPiece(nil), b.Pieces...)
	for i := range b.Pieces {
		p := &b.Pieces[i]
		p.Steps = map[string][]geom.Vec{}
		for name, r := range p.Rules {
			for k := range b.Chart.Run {
				body := b.Chart.BodyOf(k)
				p.Steps[name] = append(p.Steps[name], geom.Vec{X: sum(r.X, body), Y: sum(r.Y, body)})
			}
		}
		p.Rules = nil
	}
	return b
}

// asDigitised writes every size of a block as a drawing of its own.
func asDigitised(t testing.TB, b pattern.Block) pattern.Block {
	t.Helper()
	ps := run(t, b)
	b.Pieces = append([]pattern.BlockPiece(nil), b.Pieces...)
	for i := range b.Pieces {
		p := &b.Pieces[i]
		p.Rules, p.Digitised = nil, map[string]pattern.Drawing{}
		for _, sized := range ps {
			if sized.Base {
				continue
			}
			q := &sized.Pieces[i]
			d := pattern.Drawing{Shapes: map[string]pattern.Shape{}, Marks: map[string]geom.Point{}, Grain: &q.Grain}
			alignIsCorner := false
			for _, e := range q.Edges {
				d.Points = append(d.Points, pattern.NamedPoint{Name: e.From, At: e.Path.Start()})
				if e.From == p.Align {
					alignIsCorner = true
				}
				var s pattern.Shape
				for k, seg := range e.Path {
					if seg.Straight {
						continue
					}
					s.Curve = append(s.Curve, seg.P1, seg.P2)
					if k < len(e.Path)-1 {
						s.Curve = append(s.Curve, seg.P3)
					}
				}
				if !s.Straight() {
					d.Shapes[e.Name] = s
				}
			}
			if !alignIsCorner {
				d.Points = append(d.Points, pattern.NamedPoint{Name: p.Align, At: q.Align})
			}
			for _, m := range q.Marks {
				d.Marks[m.Name] = m.At
			}
			p.Digitised[sized.Size] = d
		}
	}
	return b
}

// The same block written as shares of the chart, as plain steps and as digitised sizes is the same
// pattern to 0.01 mm in every size.
func TestThreeWaysOfGradingAgree(t *testing.T) {
	shares := block(t, blouse)
	want := run(t, shares)
	for name, b := range map[string]pattern.Block{"steps": asSteps(shares), "digitised": asDigitised(t, shares)} {
		got := run(t, rewrite(t, b))
		for i := range got {
			if d := apart(t, &want[i], &got[i]); d > 0.01 {
				t.Errorf("%s: size %s is %.4f mm off", name, got[i].Size, d)
			}
		}
	}
}

// A step for each size with breaks is the same as the displacements it adds up to.
func TestStepsWithBreaksAddUp(t *testing.T) {
	one := strings.Replace(rectangle, "GRADE", `"steps": { "a": [[0,0],[0,0],[0,0],[0,0],[0,0]], "b": { "each": [4, "1mm"], "after": { "12": [5, 1], "14": [7.5, "1/8in"] } } }`, 1)
	b := block(t, one)
	// Sizes 8 10 12 14 16, base 12: 8→10→12 by (4,1), 12→14 by (5,1), 14→16 by (7.5, 3.175).
	want := []geom.Vec{{X: -8, Y: -2}, {X: -4, Y: -1}, {}, {X: 5, Y: 1}, {X: 12.5, Y: 4.175}}
	for i, p := range run(t, b) {
		at, _ := piece(t, &p, "r").Corner("b")
		if d := at.Dist(geom.Pt(100, 0).Add(want[i])); d > 1e-9 {
			t.Errorf("size %s: b is %g mm off", p.Size, d)
		}
	}
}

const rectangle = `{ "block": "r", "sizes": { "base": "12", "run": ["8","10","12","14","16"], "body": { "bust": [800,840,880,920,980] } },
  "pieces": { "r": { "points": { "a": [0,0], "b": [100,0], "c": [100,200], "d": [0,200] },
    "outline": [ {"edge":"ab","from":"a","to":"b"}, {"edge":"bc","from":"b","to":"c"}, {"edge":"cd","from":"c","to":"d"}, {"edge":"da","from":"d","to":"a"} ],
    "grain": { "from": [50,20], "to": [50,180] }, "align": "a", GRADE } } }`

// What cannot be graded is refused with the size, the place, what is valid and what to do.
func TestRefusals(t *testing.T) {
	b := block(t, blouse)
	bodies := func(change func(map[string]float64)) map[string]float64 {
		m := b.Chart.BodyOf(2)
		change(m)
		return m
	}
	inside := strings.Replace(rectangle, "GRADE", `"grade": { "a": {}, "d": {}, "b": { "x": { "bust": 1.5 } }, "c": { "x": { "bust": 1.5 } } }`, 1)
	crossing := strings.Replace(rectangle, "GRADE", `"grade": { "a": {}, "d": {}, "b": { "x": { "bust": 1.5 } }, "c": {} }`, 1)
	for _, c := range []struct {
		name string
		do   func() error
		rule string
		ptr  string
		size string
	}{
		{"unknown size", func() error { _, err := grade.Run(b, []string{"12", "41"}); return err }, "unknown_size", "/sizes/1", "41"},
		{"turned over", func() error { _, err := grade.Run(block(t, inside), []string{"12", "8"}); return err }, "clockwise", "/pieces/r/outline", "8"},
		{"crossed", func() error { _, err := grade.Run(block(t, crossing), []string{"8"}); return err }, "self_crossing", "/pieces/r/outline", "8"},
		{"no arm", func() error {
			_, err := grade.Body(b, "o", bodies(func(m map[string]float64) { delete(m, "upper_arm") }))
			return err
		}, "missing_measurement", "/body/upper_arm", "o"},
		{"odd name", func() error {
			_, err := grade.Body(b, "o", bodies(func(m map[string]float64) { m["upper_amr"] = 280 }))
			return err
		}, "unknown_measurement", "/body/upper_amr", "o"},
		{"inches for mm", func() error {
			_, err := grade.Body(b, "o", bodies(func(m map[string]float64) { m["bust"] = 36 }))
			return err
		}, "out_of_range", "/body/bust", "o"},
		{"NaN", func() error {
			_, err := grade.Body(b, "o", bodies(func(m map[string]float64) { m["bust"] = math.NaN() }))
			return err
		}, "out_of_range", "/body/bust", "o"},
		{"steps", func() error { _, err := grade.Body(asSteps(b), "o", b.Chart.BodyOf(1)); return err }, "no_shares", "/pieces/sleeve/steps", "o"},
	} {
		err := c.do()
		if err == nil {
			t.Errorf("%s: not refused", c.name)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.ptr || f.Size != c.size || f.Valid == "" || f.Remedy == "" {
			t.Errorf("%s: %+v", c.name, f)
		}
	}
}
