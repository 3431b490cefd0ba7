package svg_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
	"sizerun/internal/write/svg"
)

// node is an element as a reader of XML that is not ours sees it.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Kids    []node     `xml:",any"`
}

func (n *node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (n *node) walk(f func(*node)) {
	f(n)
	for i := range n.Kids {
		n.Kids[i].walk(f)
	}
}

func written(t *testing.T, d sheet.Document) (string, node) {
	t.Helper()
	var b bytes.Buffer
	if err := svg.Write(&b, d, sheettest.Metrics{}); err != nil {
		t.Fatal(err)
	}
	dec := xml.NewDecoder(bytes.NewReader(bytes.TrimSuffix(b.Bytes(), []byte("\n"))))
	var root node
	if err := dec.Decode(&root); err != nil {
		t.Fatalf("not XML: %v\n%s", err, b.String())
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		t.Errorf("something follows the root: %v", err)
	}
	return b.String(), root
}

// nasty are names as strangers send them, and what a reader is to see.
var nasty = [][2]string{
	{`"14" & 'tall'`, `"14" & 'tall'`},
	{`</title></g><script>alert(1)</script>`, `</title></g><script>alert(1)</script>`},
	{`" onload="alert(1)`, `" onload="alert(1)`},
	{"]]> <!-- &lt; &#x41;", "]]> <!-- &lt; &#x41;"},
	{"מידה 14", "מידה 14"},
	{"14\u202e41", "14\ufffd41"},
	{"👗 größe ½", "👗 größe ½"},
	{"a\x00b\x1bc\u2028d\xffe\ufffe", "a\ufffdb\ufffdc\ufffdd\ufffde\ufffd"},
}

func TestNamesAreNothingButText(t *testing.T) {
	d := sheet.Document{Info: sheet.Info{Lang: "en", Title: nasty[1][0], Subject: nasty[0][0]}, Pages: []sheet.Page{{W: 200, H: 100}}}
	for i, n := range nasty {
		d.Layers = append(d.Layers, sheet.Layer{Name: n[0], On: i%2 == 0})
		d.Forms = append(d.Forms, sheet.Form{Piece: n[0], Bounds: geom.Rect{Max: geom.Pt(10, 10)}, Items: []sheet.Item{
			{Layer: sheet.NoLayer, Text: &sheet.Text{S: n[0], Size: 3}}}})
		d.Pages[0].Items = append(d.Pages[0].Items, sheet.Item{Layer: i, Use: &sheet.Use{Form: i, Clip: geom.Rect{Max: geom.Pt(200, 100)}}})
	}
	_, root := written(t, d)
	known := map[string]bool{"svg": true, "title": true, "desc": true, "g": true, "path": true, "text": true}
	var layers, pieces, words, titles []string
	root.walk(func(n *node) {
		if !known[n.XMLName.Local] {
			t.Errorf("there is an element %s", n.XMLName.Local)
		}
		for _, a := range n.Attrs {
			if strings.HasPrefix(a.Name.Local, "on") || a.Name.Local == "id" || a.Name.Local == "style" || a.Name.Local == "href" {
				t.Errorf("%s has %s", n.XMLName.Local, a.Name.Local)
			}
		}
		switch {
		case n.attr("class") == "layer":
			layers = append(layers, n.attr("data-layer"))
			titles = append(titles, n.Kids[0].Text)
			if hidden := n.attr("display") == "none"; hidden == d.Layers[len(layers)-1].On {
				t.Errorf("layer %d is hidden: %v", len(layers)-1, hidden)
			}
		case n.attr("class") == "piece":
			pieces = append(pieces, n.attr("data-piece"))
		case n.XMLName.Local == "text":
			words = append(words, n.Text)
		}
	})
	for i, n := range nasty {
		for what, got := range map[string][]string{"layer": layers, "title": titles, "piece": pieces, "text": words} {
			if len(got) != len(nasty) {
				t.Fatalf("%d of %s, want %d", len(got), what, len(nasty))
			}
			if got[i] != n[1] {
				t.Errorf("%s %q came out as %q", what, n[0], got[i])
			}
		}
	}
}

func TestCoordinatesStandAsTheyAreDrawnWithYDown(t *testing.T) {
	d := sheet.Document{Layers: []sheet.Layer{{Name: "14", On: true}},
		Forms: []sheet.Form{{Piece: "cuff", Bounds: geom.Rect{Min: geom.Pt(-10, -10), Max: geom.Pt(30, 30)}, Items: []sheet.Item{{Layer: sheet.NoLayer,
			Stroke: &sheet.Stroke{Kind: sheet.CutLine, Closed: true, Pen: sheet.Pen{Width: 0.4, Color: sheet.RGB{R: 1, G: 0.5}, Dash: []float64{9, 1.4}},
				Paths: []geom.Path{{geom.Line(geom.Pt(0, 0), geom.Pt(20.12345, 0)), geom.Cubic(geom.Pt(20.12345, 0), geom.Pt(25, 5), geom.Pt(10, 9), geom.Pt(0, 10)), geom.Line(geom.Pt(0, 10), geom.Pt(0, 0))}}}}}}},
		Pages: []sheet.Page{{W: 297.5, H: 100, Items: []sheet.Item{
			{Layer: 0, Use: &sheet.Use{Form: 0, Move: geom.Vec{X: 50, Y: 40}, Clip: geom.Rect{Max: geom.Pt(297.5, 100)}}},
			{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(10, 20), S: "grain", Size: 3, Face: sheet.Bold, Align: sheet.Center, Angle: math.Pi / 2}}}}}}
	_, root := written(t, d)
	if root.attr("width") != "297.5mm" || root.attr("height") != "100mm" || root.attr("viewBox") != "0 0 297.5 100" {
		t.Errorf("the size is %v", root.Attrs)
	}
	seen := 0
	root.walk(func(n *node) {
		switch n.XMLName.Local {
		case "path":
			seen++
			if n.attr("d") != "M50 60L70.123 60C75 55 60 51 50 50Z" || n.attr("class") != "cut" || n.attr("stroke") != "#ff8000" || n.attr("stroke-width") != "0.4" || n.attr("stroke-dasharray") != "9 1.4" {
				t.Errorf("the cut line is %v", n.Attrs)
			}
		case "text":
			seen++
			if n.attr("x") != "10" || n.attr("y") != "80" || n.attr("transform") != "rotate(-90 10 80)" || n.attr("text-anchor") != "middle" || n.attr("font-weight") != "bold" || n.attr("textLength") == "" {
				t.Errorf("the word is %v", n.Attrs)
			}
		case "svg":
			if n != &root {
				t.Error("a form that lies in its window is cut off")
			}
		}
	})
	if seen != 2 {
		t.Errorf("saw %d of 2", seen)
	}
	// In a smaller window it is cut off, without an id that could be another's.
	d.Pages[0].Items[0].Use.Clip = geom.Rect{Min: geom.Pt(60, 30), Max: geom.Pt(90, 45)}
	_, root = written(t, d)
	clipped := 0
	root.walk(func(n *node) {
		if n.XMLName.Local == "svg" && n.attr("viewBox") == "60 55 30 15" && n.attr("overflow") == "hidden" && n.attr("x") == "60" && n.attr("width") == "30" {
			clipped++
		}
	})
	if clipped != 1 {
		t.Error("a form that reaches out of its window is not cut off")
	}
}

func TestTheSameDocumentGivesTheSameBytes(t *testing.T) {
	d, err := sheet.Picture(sheettest.Typical(), sheettest.Metrics{}, sheet.Options{SeamLines: true})
	if err != nil {
		t.Fatal(err)
	}
	a, root := written(t, d)
	for range 3 {
		if b, _ := written(t, d); a != b {
			t.Fatal("it differs")
		}
	}
	layers := 0
	root.walk(func(n *node) {
		if n.attr("class") == "layer" {
			layers++
		}
	})
	if layers != len(d.Layers) {
		t.Errorf("%d groups for %d layers", layers, len(d.Layers))
	}
}

func TestWhatCantBeDrawnIsRefused(t *testing.T) {
	stroke := func(p geom.Point, k sheet.RGB) sheet.Document {
		return sheet.Document{Pages: []sheet.Page{{W: 100, H: 100, Items: []sheet.Item{{Layer: sheet.NoLayer,
			Stroke: &sheet.Stroke{Paths: []geom.Path{{geom.Line(geom.Pt(0, 0), p)}}, Pen: sheet.Pen{Width: 1, Color: k}}}}}}}
	}
	use := func(form int, forms ...sheet.Form) sheet.Document {
		return sheet.Document{Forms: forms, Pages: []sheet.Page{{W: 100, H: 100, Items: []sheet.Item{{Layer: sheet.NoLayer, Use: &sheet.Use{Form: form, Clip: geom.Rect{Max: geom.Pt(100, 100)}}}}}}}
	}
	big := sheet.Document{Pages: []sheet.Page{{W: 100, H: 100}}}
	long := &sheet.Text{S: strings.Repeat("x", 1<<20), Size: 1e-3}
	for range 9 {
		big.Pages[0].Items = append(big.Pages[0].Items, sheet.Item{Layer: sheet.NoLayer, Text: long})
	}
	for rule, d := range map[string]sheet.Document{
		"svg_pages":            {Pages: make([]sheet.Page, 2)},
		"svg_page_size":        {Pages: []sheet.Page{{W: math.NaN(), H: 10}}},
		"svg_number":           stroke(geom.Pt(math.NaN(), 0), sheet.RGB{}),
		"svg_color":            stroke(geom.Pt(1, 1), sheet.RGB{R: math.Inf(1)}),
		"svg_form":             use(1, sheet.Form{}),
		"svg_nested_form":      use(0, sheet.Form{Items: []sheet.Item{{Use: &sheet.Use{}}}}),
		"svg_too_much_drawing": big,
	} {
		var b bytes.Buffer
		err := svg.Write(&b, d, sheettest.Metrics{})
		if fs := pattern.FaultsOf(err); len(fs) != 1 || fs[0].Rule != rule || fs[0].Remedy == "" || b.Len() > 0 {
			t.Errorf("want %s, got %v and %d bytes", rule, err, b.Len())
		}
	}
}
