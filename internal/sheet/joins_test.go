package sheet_test

import (
	"fmt"
	"math"
	"regexp"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

type halfMark struct {
	row, col int
	at       geom.Point // the middle of the triangle's base, from the tile's corner
	side     string
}

var joinName = regexp.MustCompile(`^[A-Z]+[0-9]+$`)

// joins reads the marks back from the pages: triangles of three points with their base on the
// border, each with the name nearest to it.
func joins(d sheet.Document) map[string][]halfMark {
	var out map[string][]halfMark
	for _, pg := range d.Pages {
		var row, col int
		if _, err := fmt.Sscanf(regexp.MustCompile(`row .*`).FindString(pg.Label), "row %d column %d", &row, &col); err != nil {
			continue
		}
		var clip geom.Rect
		for _, it := range pg.Items {
			if it.Use != nil {
				clip = it.Use.Clip
			}
		}
		for _, it := range pg.Items {
			if it.Stroke == nil || len(it.Stroke.Paths) != 1 || len(it.Stroke.Paths[0]) != 2 || it.Stroke.Pen.Width != 0.25 {
				continue
			}
			p := it.Stroke.Paths[0]
			base := p[0].P0.Lerp(p[1].P3, 0.5)
			h := halfMark{row: row, col: col, at: geom.Pt(base.X-clip.Min.X, base.Y-clip.Min.Y)}
			switch {
			case math.Abs(base.X-clip.Min.X) < 1e-6:
				h.side = "left"
			case math.Abs(base.X-clip.Max.X) < 1e-6:
				h.side = "right"
			case math.Abs(base.Y-clip.Min.Y) < 1e-6:
				h.side = "below"
			case math.Abs(base.Y-clip.Max.Y) < 1e-6:
				h.side = "above"
			default:
				continue
			}
			tip := p[0].P3
			for _, tail := range pg.Items {
				if tail.Stroke != nil && len(tail.Stroke.Paths[0]) == 1 && tail.Stroke.Paths[0][0].P0.Dist(tip) < 1e-9 {
					tip = tail.Stroke.Paths[0][0].P3
				}
			}
			name, best := "", 9.0
			for _, x := range texts(d, pg) {
				if dd := x.At.Dist(tip); joinName.MatchString(x.S) && dd < best {
					name, best = x.S, dd
				}
			}
			if out == nil {
				out = map[string][]halfMark{}
			}
			out[name] = append(out[name], h)
		}
	}
	return out
}

func TestEveryBorderHasOneJoinWhoseHalvesMeet(t *testing.T) {
	for _, paper := range []string{"A4", "Letter", "A4+Letter"} {
		d, _ := lay(t, sheettest.Typical(), paper, sheet.Options{})
		on := map[[2]int]bool{}
		for _, pg := range d.Pages {
			var row, col int
			if _, err := fmt.Sscanf(pg.Label, paper+" row %d column %d", &row, &col); err == nil {
				on[[2]int{row, col}] = true
			}
		}
		borders := 0
		for c := range on {
			if on[[2]int{c[0], c[1] + 1}] {
				borders++
			}
			if on[[2]int{c[0] + 1, c[1]}] {
				borders++
			}
		}
		js := joins(d)
		if len(js) != borders {
			t.Errorf("%s: %d joins on %d borders", paper, len(js), borders)
		}
		for name, hs := range js {
			if len(hs) != 2 {
				t.Errorf("%s: join %q has %d halves", paper, name, len(hs))
				continue
			}
			a, b := hs[0], hs[1]
			switch {
			case a.side == "right" && b.side == "left" && a.row == b.row && a.col+1 == b.col && math.Abs(a.at.Y-b.at.Y) < 1e-9:
			case a.side == "below" && b.side == "above" && a.col == b.col && a.row+1 == b.row && math.Abs(a.at.X-b.at.X) < 1e-9:
			default:
				t.Errorf("%s: the halves of %q do not meet: %+v %+v", paper, name, a, b)
			}
		}
	}
}
