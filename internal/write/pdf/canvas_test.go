package pdf

import (
	"fmt"
	"image"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/tdewolff/canvas"

	"sizerun/internal/geom"
)

// saveDrawing puts what a canvas.Context draws on an A4 page of its own.
func saveDrawing(t *testing.T, draw func(*canvas.Context)) string {
	t.Helper()
	f := faces(t)
	wr := new(writer)
	wr.file.reset()
	wr.inks.reset(f)
	wr.content.reset(f, &wr.inks)
	wr.content.op(toPoints)
	draw(canvas.NewContext(&wr.content))
	if wr.content.err != nil {
		t.Fatal(wr.content.err)
	}
	out := &wr.file
	root, pages, page, info, body := out.reserve(), out.reserve(), out.reserve(), out.reserve(), out.reserve()
	out.object(root, fmt.Appendf(nil, "<</Type /Catalog /Pages %d 0 R>>", pages))
	out.object(pages, fmt.Appendf(nil, "<</Type /Pages /Count 1 /Kids [%d 0 R]>>", page))
	out.object(info, []byte("<<>>"))
	dict := fmt.Appendf(nil, "<</Type /Page /Parent %d 0 R /MediaBox [0 0 595.27559 841.88976] /Contents %d 0 R", pages, body)
	out.object(page, append(wr.resources(dict, nil, nil), ">>"...))
	if err := out.stream(body, nil, wr.content.buf); err != nil {
		t.Fatal(err)
	}
	for face, id := range wr.inks.obj {
		if id != 0 {
			if err := out.writeFont(id, face, f, &wr.inks); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := out.finish(root, info); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "drawing.pdf")
	if err := os.WriteFile(path, out.buf, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestACanvasDrawingGoesIn(t *testing.T) {
	path := saveDrawing(t, func(c *canvas.Context) {
		c.SetFillColor(canvas.Transparent)
		c.SetStrokeColor(canvas.Black)
		c.SetStrokeWidth(0.3)
		c.MoveTo(20, 200)
		c.QuadTo(70, 200, 120, 230) // one handle
		c.Stroke()
	})
	got := trace(t, path, 1)
	if len(got) != 1 {
		t.Fatalf("%d paths, a curve was drawn", len(got))
	}
	// A parabola has a closed form: with control polygon (20,200) (70,200) (120,230) it is
	// y = 200 + 30 u², x = 20 + 100 u.
	q := got[0].points
	curve := geom.Cubic(q[0], q[1], q[2], q[3])
	for k := range 11 {
		u := float64(k) / 10
		near(t, "parabola", curve.At(u).Dist(geom.Pt(20+100*u, 200+30*u*u)), 0, 1e-4)
	}
}

func TestACanvasFillKeepsItsRule(t *testing.T) {
	ring := func(c *canvas.Context, rule canvas.FillRule) {
		c.SetFillColor(canvas.Black)
		c.SetFillRule(rule)
		p := canvas.Rectangle(60, 60).Append(canvas.Rectangle(20, 20).Translate(20, 20))
		c.DrawPath(30, 100, p)
	}
	for rule, want := range map[canvas.FillRule]int{canvas.NonZero: 1, canvas.EvenOdd: 2} {
		var runs [][2]float64
		fitz(t, &runs, "bars", saveDrawing(t, func(c *canvas.Context) { ring(c, rule) }), "300", "130")
		if len(runs) != want {
			t.Errorf("rule %v: dark runs across the square %v, want %d", rule, runs, want)
		}
	}
}

func TestCanvasTextGoesInAndTurns(t *testing.T) {
	f := faces(t)
	var c content
	var k inks
	k.reset(f)
	c.reset(f, &k)
	c.RenderText(f.shape(0, "front").text, canvas.Identity.Translate(10, 20).Rotate(90))
	if c.err != nil || len(c.buf) == 0 {
		t.Fatal(c.err)
	}
	other, err := Faces()
	if err != nil {
		t.Fatal(err)
	}
	c.RenderText(other.shape(0, "front").text, canvas.Identity)
	if c.err == nil {
		t.Error("text in another family's font passes")
	}
}

func TestWhatIsNotDrawnIsRefused(t *testing.T) {
	f := faces(t)
	for name, draw := range map[string]func(*content){
		"image": func(c *content) { c.RenderImage(image.NewGray(image.Rect(0, 0, 2, 2)), canvas.Identity) },
		"arc":   func(c *content) { c.RenderPath(canvas.Circle(40), canvas.DefaultStyle, canvas.Identity) },
		"gradient": func(c *content) {
			style := canvas.DefaultStyle
			style.Fill = canvas.Paint{Gradient: canvas.NewLinearGradient(canvas.Point{}, canvas.Point{X: 1})}
			c.RenderPath(canvas.Rectangle(2, 2), style, canvas.Identity)
		},
	} {
		var c content
		var k inks
		k.reset(f)
		c.reset(f, &k)
		draw(&c)
		if c.err == nil {
			t.Errorf("%s: not refused", name)
		}
	}
	if w, h := (&content{}).Size(); w != maxPage || h != maxPage || math.IsNaN(w) {
		t.Errorf("size %g × %g", w, h)
	}
}
