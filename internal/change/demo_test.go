package change_test

import (
	"sync"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/grade"
	"sizerun/internal/pattern"
	"sizerun/testdata"
)

// demoNames are the demo blocks drawn on their seam lines: a graded one and the drafted ones.
var demoNames = []string{"wren-w", "wren-draft-bodice", "dunlin-skirt", "rook-trousers", "plover-circle"}

// demo is a demo block and every size of it.
type demo struct {
	block pattern.Block
	run   []pattern.Pattern
}

var demos = func() map[string]func() (demo, error) {
	out := map[string]func() (demo, error){}
	for _, n := range demoNames {
		out[n] = sync.OnceValues(func() (demo, error) {
			data, err := testdata.Files.ReadFile("blocks/" + n + ".json")
			if err != nil {
				return demo{}, err
			}
			b, err := document.DecodeBlock(data, document.DefaultLimits())
			if err != nil {
				return demo{}, err
			}
			run, err := grade.Run(b, b.Chart.Run)
			return demo{b, run}, err
		})
	}
	return out
}()

// demoBlock is a demo block of the shop in every size of its chart. Changes never touch what they are
// given, so tests share it.
func demoBlock(t testing.TB, name string) demo {
	t.Helper()
	d, err := demos[name]()
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// three are the smallest, the base and the largest size.
func (d demo) three() []pattern.Pattern {
	return []pattern.Pattern{d.run[0], d.run[d.block.Chart.Index(d.block.Chart.Base)], d.run[len(d.run)-1]}
}
