package document

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// tangle is a block whose right-hand edge is drawn by n points.
func tangle(key string, n int, at func(i int) (x, y float64)) []byte {
	var s strings.Builder
	for i := range n {
		x, y := at(i)
		fmt.Fprintf(&s, "[%.3f,%.3f],", x, y)
	}
	return fmt.Appendf(nil, `{"block":"b","sizes":{"base":"1","run":["1"]},"pieces":{"p":{"points":{"a":[0,0],"b":[900,0],"c":[900,400],"d":[0,400]},
		"outline":[{"edge":"ab","from":"a","to":"b"},{"edge":"bc","from":"b","to":"c","%s":[%s]},{"edge":"cd","from":"c","to":"d"},{"edge":"da","from":"d","to":"a"}],
		"grain":{"from":[50,20],"to":[50,300]},"align":"a"}}}`, key, strings.TrimSuffix(s.String(), ","))
}

// Drawings that meet themselves everywhere are refused at the first place; the first of these once
// kept an exact search for all crossings busy for minutes.
func TestTanglesAreRefused(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	random := func(int) (float64, float64) { return rng.Float64() * 900, rng.Float64() * 400 }
	zigzag := func(i int) (float64, float64) { return 900 + float64(i%2)*50, 400 * float64(i+1) / 5001 }
	for name, c := range map[string]struct {
		doc           []byte
		rule, pointer string
	}{
		"curves on one another": {tangle("curve", 599, func(i int) (float64, float64) { return 900, []float64{100, 300, 200}[i%3] }), "self_crossing", "/pieces/p/outline"},
		"curves in one place":   {tangle("curve", 599, func(i int) (float64, float64) { return 950 + float64(i%3), 200 }), "self_crossing", "/pieces/p/outline"},
		"curves at random":      {tangle("curve", 599, random), "self_crossing", "/pieces/p/outline"},
		"points at random":      {tangle("polyline", 500, random), "self_crossing", "/pieces/p/outline"},
		"too many at random":    {tangle("polyline", 5000, random), "edge_shape", "/pieces/p/outline/1"},
		"a saw of 5000 teeth":   {tangle("polyline", 5000, zigzag), "edge_shape", "/pieces/p/outline/1"},
		"back along itself":     {tangle("polyline", 3, func(i int) (float64, float64) { return 950 - 50*math.Abs(float64(i-1)), 200 }), "self_crossing", "/pieces/p/outline"},
		"a turning of 10 windings": {tangle("polyline", 2000, func(i int) (float64, float64) {
			f := float64(i) / 2000
			return 1500 + 200*f*math.Cos(f*63), 200 + 200*f*math.Sin(f*63)
		}), "self_crossing", "/pieces/p/outline"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := DecodeBlock(c.doc, DefaultLimits())
			refused(t, err, c.rule, c.pointer)
		})
	}
}
