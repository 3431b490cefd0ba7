package pdf

import (
	"bytes"
	"fmt"
	"math"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

var black = sheet.RGB{}

// nest is a document as a pattern is printed: a form per size, each on its own layer, seen through
// tiles of A4, and a page 1 with test squares.
func nest(sizes, pieces, cols, rows int) sheet.Document {
	d := sheet.Document{Info: sheet.Info{Title: "Wren blouse, petal sleeve", Author: "Rookery Lane Patterns",
		Subject: "Sewing pattern", Keywords: []string{"blouse", "petal sleeve"}, Lang: "en"}}
	const w, h, m = 190.0, 277.0, 10.0
	bounds := geom.Rect{Max: geom.Pt(w*float64(cols), h*float64(rows))}
	for s := range sizes {
		d.Layers = append(d.Layers, sheet.Layer{Name: fmt.Sprint(8 + 2*s), On: true})
		fm := sheet.Form{Name: fmt.Sprint(8 + 2*s), Bounds: bounds}
		pen := sheet.Pen{Width: 0.35, Color: sheet.RGB{R: float64(s) / float64(sizes), G: 0.2, B: 0.4}}
		if s%2 == 1 {
			pen.Dash = []float64{4, 1.5}
		}
		for p := range pieces {
			at := geom.Pt(bounds.Max.X*(float64(p%4)+0.5)/4, bounds.Max.Y*(float64(p/4)+0.5)/float64((pieces+3)/4))
			var out geom.Path
			const n = 40
			r := bounds.Max.X/16 + 3*float64(s)
			pt := func(i int) (geom.Point, geom.Vec) {
				a := 2 * math.Pi * float64(i%n) / n
				q := r * (1 + 0.1*math.Sin(5*a+float64(p)))
				return at.Add(geom.Vec{X: q, Y: 0}.Rotate(a)), geom.Vec{X: 0, Y: q * 2 * math.Pi / n / 3}.Rotate(a)
			}
			for i := range n {
				a, ta := pt(i)
				b, tb := pt(i + 1)
				out = append(out, geom.Cubic(a, a.Add(ta), b.Add(tb.Neg()), b))
			}
			fm.Items = append(fm.Items, sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: []geom.Path{out}, Closed: true, Pen: pen}})
			fine := pen
			fine.Width, fine.Dash = 0.18, []float64{1, 1}
			fm.Items = append(fm.Items, sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: []geom.Path{geom.Polyline(at, at.Add(geom.Vec{X: 0, Y: r / 2}))}, Pen: fine}})
			if s > 0 {
				continue // a nest has its label once
			}
			for i, line := range []string{fmt.Sprintf("Piece %d", p+1), "Cut 1 pair, ⅝ in seam allowance", "Ärmel · manche · рукав · μανίκι"} {
				fm.Items = append(fm.Items, sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: at.Add(geom.Vec{Y: -6 * float64(i)}), S: line, Size: 4 - float64(i)/2, Align: sheet.Center, Face: sheet.Face(min(1, 2-i) & 1), Angle: 0.2 * float64(p), Color: black}})
			}
		}
		d.Forms = append(d.Forms, fm)
	}
	page1 := sheet.Page{W: 210, H: 297, Label: "Start here"}
	square := func(x, y, side float64, name string) {
		page1.Items = append(page1.Items,
			sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: []geom.Path{geom.Polyline(geom.Pt(x, y), geom.Pt(x+side, y), geom.Pt(x+side, y+side), geom.Pt(x, y+side), geom.Pt(x, y))}, Closed: true, Pen: sheet.Pen{Width: 0.25}}},
			sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(x+side/2, y+side/2), S: name, Size: 3, Align: sheet.Center}})
	}
	square(20, 20, 50, "50 mm")
	square(90, 20, 50.8, "2 in")
	page1.Items = append(page1.Items, sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(20, 270), S: d.Info.Title, Size: 8, Face: sheet.Bold}},
		sheet.Item{Layer: sheet.NoLayer, Fill: &sheet.Fill{Paths: []geom.Path{geom.Polyline(geom.Pt(20, 262), geom.Pt(60, 262), geom.Pt(60, 264), geom.Pt(20, 264), geom.Pt(20, 262))}, Color: sheet.RGB{R: 0.8, G: 0.8, B: 0.8}}})
	d.Pages = append(d.Pages, page1)
	for r := range rows {
		for c := range cols {
			p := sheet.Page{W: 210, H: 297, Label: fmt.Sprintf("row %d column %d", r+1, c+1)}
			clip := geom.Rect{Min: geom.Pt(m, m), Max: geom.Pt(m+w, m+h)}
			for s := range sizes {
				p.Items = append(p.Items, sheet.Item{Layer: s, Use: &sheet.Use{Form: s, Move: geom.Vec{X: m - w*float64(c), Y: m - h*float64(r)}, Clip: clip}})
			}
			p.Items = append(p.Items,
				sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: []geom.Path{geom.Polyline(geom.Pt(m, m), geom.Pt(m+w, m), geom.Pt(m+w, m+h), geom.Pt(m, m+h), geom.Pt(m, m))}, Closed: true, Pen: sheet.Pen{Width: 0.1, Color: sheet.RGB{R: 0.5, G: 0.5, B: 0.5}}}},
				sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(105, 5), S: p.Label, Size: 3, Align: sheet.Center}})
			d.Pages = append(d.Pages, p)
		}
	}
	return d
}

func faces(t testing.TB) *Fonts {
	t.Helper()
	f, err := Faces()
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func write(t testing.TB, d sheet.Document, f *Fonts) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, d, f); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
