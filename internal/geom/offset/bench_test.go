package offset

import (
	"math/rand/v2"
	"testing"
)

func BenchmarkCurve(b *testing.B) {
	cs := curves(60)
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		_, _ = Curve(cs[i%len(cs)], 16, DefaultTol) // some bend too tightly: refusing takes part
	}
}

// twelve is a piece of twelve edges, five of them curved: a bodice front with its darts sewn into panels.
func twelve() []Edge {
	es := quarter(rand.New(rand.NewPCG(21, 22)), shop)
	var out []Edge
	for _, e := range es {
		l := e.Path.Length()
		a, b := e.Path.Split(l / 2)
		out = append(out, Edge{a, e.Width}, Edge{b, e.Width})
	}
	return out
}

func BenchmarkLoop(b *testing.B) {
	for name, es := range map[string][]Edge{"6": quarter(rand.New(rand.NewPCG(21, 22)), shop), "12": twelve()} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Loop(es, nil, 0); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkLoopInward(b *testing.B) {
	es := quarter(rand.New(rand.NewPCG(21, 22)), uniform(-16))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Loop(es, nil, 0); err != nil {
			b.Fatal(err)
		}
	}
}
