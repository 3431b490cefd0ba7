package sheet_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

func TestAJobThatCannotBeDrawnIsRefusedAtItsPlace(t *testing.T) {
	a4, _ := sheet.Papers("A4")
	nan := math.NaN()
	for _, c := range []struct {
		name, rule string
		spoil      func(j *sheet.Job, p *sheet.Paper, o *sheet.Options)
		says       string
	}{
		{"no sizes", "sizes", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Sizes = nil }, "0 sizes"},
		{"too many sizes", "sizes", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { *j = sheettest.Run(sheet.MaxSizes + 1) }, "1 to 48"},
		{"no pieces", "pieces", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Pieces = nil }, "0 pieces"},
		{"a size twice", "size_name", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Sizes[1] = j.Sizes[0] }, "twice"},
		{"sizes of a piece", "piece_sizes", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Pieces[2].Sizes = j.Pieces[2].Sizes[:1] }, "sleeve_back"},
		{"never drawn", "no_drawing", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Pieces[1].Sizes = make([]sheet.Drawn, 3) }, "back"},
		{"open", "open_cut_line", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) {
			j.Pieces[0].Sizes[1].Cut = j.Pieces[0].Sizes[1].Cut[1:]
		}, "size 8"},
		{"not a number", "out_of_range", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) {
			j.Pieces[0].Sizes[2].Dots = []geom.Point{{X: nan}}
		}, "size 10"},
		{"far away", "out_of_range", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) {
			j.Pieces[0].Sizes[2].Grain[1].Y = 1e9
		}, "10000"},
		{"a point", "no_extent", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) {
			j.Pieces[0].Sizes[0].Cut = geom.Polyline(geom.Pt(1, 1), geom.Pt(1, 1))
		}, "no extent"},
		{"margin", "margin", func(_ *sheet.Job, p *sheet.Paper, _ *sheet.Options) { p.Margin = 2 }, "6 to 50"},
		{"paper", "paper_size", func(_ *sheet.Job, p *sheet.Paper, _ *sheet.Options) { p.W = nan }, "A4, Letter"},
		{"gap", "gap", func(_ *sheet.Job, _ *sheet.Paper, o *sheet.Options) { o.Gap = -1 }, "0 to 100"},
		{"line", "line_width", func(_ *sheet.Job, _ *sheet.Paper, o *sheet.Options) { o.Line = 40 }, "0.1 to 3"},
		{"table", "table", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) { j.Chart.Rows = make([][]string, 5000) }, "5000 rows"},
		{"pages", "too_many_pages", func(j *sheet.Job, _ *sheet.Paper, _ *sheet.Options) {
			*j = job(1, box("sail", 1, 15000, 15000, 0))
			for i := range j.Pieces[0].Sizes {
				j.Pieces[0].Sizes[i].Cut = j.Pieces[0].Sizes[i].Cut.Transform(geom.Translate(geom.Vec{X: -7500, Y: -7500}))
			}
		}, "larger paper"},
	} {
		t.Run(c.name, func(t *testing.T) {
			j, p, o := sheettest.Run(3), a4, sheet.Options{}
			c.spoil(&j, &p, &o)
			_, err := sheet.Layout(j, p, sheettest.Metrics{}, o)
			var f sheet.Fault
			if !errors.As(err, &f) {
				t.Fatalf("got %v", err)
			}
			if f.Rule != c.rule || f.Remedy == "" || !strings.Contains(f.Error(), c.says) {
				t.Errorf("rule %q: %s; want %q and the words %q", f.Rule, f, c.rule, c.says)
			}
		})
	}
}

// The audit would be worth nothing if it found nothing.
func TestTheAuditSeesWhatIsWrong(t *testing.T) {
	at := func(x, y float64, s string) sheet.Item {
		return sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(x, y), S: s, Size: 4}}
	}
	stroke := func(a, b geom.Point) sheet.Item {
		return sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: []geom.Path{geom.Polyline(a, b)}, Pen: sheet.Pen{Width: 0.4}}}
	}
	form := sheet.Form{Name: "front 8", Bounds: geom.Rect{Max: geom.Pt(50, 51)}, Items: []sheet.Item{stroke(geom.Pt(1, 1), geom.Pt(49, 50))}}
	clip := geom.Rect{Min: geom.Pt(10, 10), Max: geom.Pt(190, 280)}
	use := func(v geom.Vec) sheet.Item {
		return sheet.Item{Layer: 0, Use: &sheet.Use{Form: 0, Move: v, Clip: clip}}
	}
	for name, c := range map[string]struct {
		items []sheet.Item
		want  string
	}{
		"sound":           {[]sheet.Item{at(20, 20, "front"), stroke(geom.Pt(20, 30), geom.Pt(60, 30))}, ""},
		"over a line":     {[]sheet.Item{at(20, 20, "front"), stroke(geom.Pt(20, 21), geom.Pt(60, 22))}, "over a line"},
		"over a form":     {[]sheet.Item{at(45, 45, "front"), use(geom.Vec{X: 20, Y: 20})}, "over a line"},
		"over words":      {[]sheet.Item{at(20, 20, "front"), at(22, 21, "back")}, "over the words"},
		"off the paper":   {[]sheet.Item{at(204, 20, "front")}, "out of the printable area"},
		"in the margin":   {[]sheet.Item{stroke(geom.Pt(3, 20), geom.Pt(60, 30))}, "out of the printable area"},
		"no glyph":        {[]sheet.Item{at(20, 20, "前")}, "without a glyph"},
		"an empty window": {[]sheet.Item{use(geom.Vec{X: 500})}, "shows nothing"},
	} {
		d := sheet.Document{Layers: []sheet.Layer{{Name: "8", On: true}}, Forms: []sheet.Form{form}, Pages: []sheet.Page{{W: 210, H: 297, Items: c.items}}}
		got := strings.Join(sheet.Audit(d, 6, sheettest.Metrics{}), "\n")
		if c.want == "" && got != "" || !strings.Contains(got, c.want) {
			t.Errorf("%s: the audit says %q", name, got)
		}
	}
}

// Whatever shapes come, pages come out sound, or a Fault.
func FuzzLayout(f *testing.F) {
	f.Add([]byte{10, 200, 30, 40, 250, 60, 7, 80, 90, 100, 11, 120}, uint8(3), uint8(0))
	f.Add([]byte{0, 0, 0, 255, 255, 255, 255, 0}, uint8(1), uint8(3))
	f.Add([]byte{1, 1, 2, 2, 3, 3, 200, 4, 5, 200, 90, 3, 8, 1, 250, 250, 4, 9}, uint8(24), uint8(2))
	f.Fuzz(func(t *testing.T, data []byte, sizes, paper uint8) {
		n := int(sizes)%6 + 1
		var pts []geom.Point
		for i := 0; i+1 < len(data) && i < 24; i += 2 {
			pts = append(pts, geom.Pt(float64(data[i])*2.3-200, float64(data[i+1])*2.1-300))
		}
		if len(pts) < 3 {
			return
		}
		p := sheet.Piece{Name: "p", Lines: []string{string(data), "cut 1"}}
		for i := range n {
			k := 1 + float64(i)*0.04
			var q []geom.Point
			for _, a := range pts {
				q = append(q, geom.Pt(a.X*k, a.Y*k))
			}
			cut := geom.Polyline(append(q, q[0])...)
			if len(q) > 3 {
				cut[1] = geom.Cubic(cut[1].P0, q[len(q)-1], q[0], cut[1].P3)
			}
			p.Sizes = append(p.Sizes, sheet.Drawn{Cut: cut, Folds: []geom.Path{{cut[0]}}, Dots: q[:1], Grain: [2]geom.Point{q[0], q[2]},
				Squares: []sheet.Square{{At: q[1], Dir: q[1].Sub(q[0])}}, Texts: []sheet.Callout{{At: q[1], S: string(data[:3])}}})
		}
		names := sheet.PaperNames()
		pp, _ := sheet.Papers(names[int(paper)%len(names)])
		d, err := sheet.Layout(job(n, p), pp, sheettest.Metrics{}, sheet.Options{Turn: paper > 128})
		if err != nil {
			var fault sheet.Fault
			if !errors.As(err, &fault) {
				t.Fatalf("an error of another kind: %v", err)
			}
			return
		}
		audit(t, d, pp)
	})
}
