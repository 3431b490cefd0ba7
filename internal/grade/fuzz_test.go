package grade_test

import (
	"math"
	"os"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/grade"
	"sizerun/internal/pattern"
)

// Whatever block is read is graded without a panic, to patterns that are closed, counter-clockwise
// and hold ordinary numbers, with every mark where it says it is; or it is refused with reasons.
func FuzzRun(f *testing.F) {
	f.Add([]byte(blouse), 920.0)
	f.Add([]byte(rectangle), 880.0)
	if data, err := os.ReadFile("../../testdata/blocks/wren-w.json"); err == nil {
		f.Add(data, 1000.0)
	}
	lim := document.DefaultLimits()
	lim.Bytes, lim.Points = 64<<10, 1000
	f.Fuzz(func(t *testing.T, data []byte, bust float64) {
		b, err := document.DecodeBlock(data, lim)
		if err != nil {
			return
		}
		ps, err := grade.Run(b, b.Chart.Run)
		if err != nil {
			for _, x := range pattern.FaultsOf(err) {
				if x.Rule == "unknown" || x.Size == "" || x.Detail == "" || x.Remedy == "" {
					t.Fatalf("badly told: %+v", x)
				}
			}
			return
		}
		body := b.Chart.BodyOf(0)
		if _, ok := body["bust"]; ok {
			body["bust"] = bust
		}
		if p, err := grade.Body(b, "order", body); err == nil {
			ps = append(ps, p)
		}
		for i := range ps {
			sound(t, &ps[i])
		}
	})
}

func sound(t *testing.T, p *pattern.Pattern) {
	t.Helper()
	for i := range p.Pieces {
		q := &p.Pieces[i]
		n := len(q.Edges)
		for k := range q.Edges {
			e, next := &q.Edges[k], &q.Edges[(k+1)%n]
			if d := e.Path.End().Dist(next.Path.Start()); d > 1e-6 {
				t.Fatalf("size %s %s: a gap of %g mm after %s", p.Size, q.Name, d, e.Name)
			}
			if e.To != next.From || math.IsNaN(e.Path.Length()) || e.Src.S1 != e.Path.Length() {
				t.Fatalf("size %s %s: edge %+v", p.Size, q.Name, e)
			}
		}
		if a := q.Outline().Area(); !(a > 0) {
			t.Fatalf("size %s %s: area %g", p.Size, q.Name, a)
		}
		for _, m := range q.Marks {
			if !m.At.Finite() {
				t.Fatalf("size %s %s: mark %+v", p.Size, q.Name, m)
			}
			if m.Edge == "" {
				continue
			}
			if d := m.At.Dist(q.Edges[q.EdgeNamed(m.Edge)].Path.PointAt(m.S)); d > 1e-6 {
				t.Fatalf("size %s %s: mark %s is %g mm from its place on %s", p.Size, q.Name, m.Name, d, m.Edge)
			}
		}
		for _, g := range append(q.Grain[:], q.Align) {
			if !g.Finite() {
				t.Fatalf("size %s %s: grain %v align %v", p.Size, q.Name, q.Grain, q.Align)
			}
		}
	}
}

// The demo block grades to sound patterns in every size, and in three ways to the same.
func TestDemoBlock(t *testing.T) {
	b := demo(t)
	want := run(t, b)
	for i := range want {
		sound(t, &want[i])
	}
	for name, c := range map[string]pattern.Block{"steps": asSteps(b), "digitised": asDigitised(t, b)} {
		got := run(t, rewrite(t, c))
		for i := range got {
			if d := apart(t, &want[i], &got[i]); d > 0.01 {
				t.Errorf("%s: size %s is %.4f mm off", name, got[i].Size, d)
			}
		}
	}
}
