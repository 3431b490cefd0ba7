package workroom

import (
	"bytes"
	"context"
	"encoding/json"
	"encoding/xml"
	"fmt"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
	"sizerun/internal/testkit"
)

func preview(t *testing.T, m shop.Making) []byte {
	t.Helper()
	b, err := room(t).Preview(context.Background(), m)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// drawnLine is a path of a preview and where it stands.
type drawnLine struct {
	layer, piece, class string
	length              float64 // mm
}

// linesOf reads a preview back with a reader of XML and of paths that shares nothing with the writer.
func linesOf(t *testing.T, svg []byte) (lines []drawnLine, layers []string) {
	t.Helper()
	type place struct{ layer, piece string }
	stack := []place{{}}
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		tok, err := d.Token()
		if tok == nil {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			at := map[string]string{}
			for _, a := range e.Attr {
				at[a.Name.Local] = a.Value
			}
			now := stack[len(stack)-1]
			if at["class"] == "layer" {
				now.layer = at["data-layer"]
				layers = append(layers, now.layer)
			}
			if p := at["data-piece"]; p != "" {
				now.piece = p
			}
			stack = append(stack, now)
			if e.Name.Local == "path" {
				lines = append(lines, drawnLine{now.layer, now.piece, at["class"], pathLength(t, at["d"])})
			}
		case xml.EndElement:
			stack = stack[:len(stack)-1]
		}
	}
	return lines, layers
}

// pathLength adds up chords: curves in a thousand each.
func pathLength(t *testing.T, d string) float64 {
	t.Helper()
	var at, start complex128
	total := 0.0
	for len(d) > 0 {
		op := d[0]
		n := strings.IndexAny(d[1:], "MLCZ") + 1
		if n == 0 {
			n = len(d)
		}
		var ps []complex128
		f := strings.Fields(d[1:n])
		for i := 0; i+1 < len(f); i += 2 {
			x, errX := strconv.ParseFloat(f[i], 64)
			y, errY := strconv.ParseFloat(f[i+1], 64)
			if errX != nil || errY != nil {
				t.Fatalf("%q is no path", d)
			}
			ps = append(ps, complex(x, y))
		}
		d = d[n:]
		far := func(a, b complex128) float64 { return math.Hypot(real(a-b), imag(a-b)) }
		switch {
		case op == 'M' && len(ps) == 1:
			at, start = ps[0], ps[0]
		case op == 'L' && len(ps) == 1:
			total += far(at, ps[0])
			at = ps[0]
		case op == 'C' && len(ps) == 3:
			last := at
			for k := 1; k <= 1000; k++ {
				u := complex(float64(k)/1000, 0)
				v := 1 - u
				q := v*v*v*at + 3*v*v*u*ps[0] + 3*v*u*u*ps[1] + u*u*u*ps[2]
				total += far(last, q)
				last = q
			}
			at = ps[2]
		case op == 'Z' && len(ps) == 0:
			total += far(at, start)
			at = start
		default:
			t.Fatalf("%c with %d points", op, len(ps))
		}
	}
	return total
}

// Every cut line, seam line, notch and dot of every piece stands in its size's group, as long as in the pattern.
func TestAPreviewShowsThePatternAtTrueSize(t *testing.T) {
	sizes := []string{"6", "14", "28"}
	svg := preview(t, making(t, sizes...))
	lines, layers := linesOf(t, svg)
	if !slices.Equal(layers, sizes) {
		t.Fatalf("the groups are %v", layers)
	}
	type key struct{ layer, piece, class string }
	got := map[key]float64{}
	for _, l := range lines {
		got[key{l.layer, l.piece, l.class}] += l.length
	}
	worst, looked := 0.0, 0
	for _, s := range made(t, demo(t, "blocks/wren-w"), demo(t, "styles/wren-petal"), sizes...).Sizes {
		for k := range s.Pattern.Pieces {
			p := &s.Pattern.Pieces[k]
			seam, notches, dots := 0.0, 0.0, 0.0
			for i := range p.Edges {
				if e := &p.Edges[i]; !e.Fold && !p.IsLeg(e.Name) {
					seam += e.Path.Length()
				}
			}
			for _, n := range s.Cut[k].Notches {
				notches += n.From.Dist(n.To)
			}
			for _, m := range p.Marks {
				if m.Kind == pattern.Dot {
					dots += 2 * math.Pi * 1.5
				}
			}
			for class, want := range map[string]float64{"cut": s.Cut[k].Cut.Length(), "seam": seam, "notch": notches, "dot": dots} {
				off := math.Abs(got[key{s.Pattern.Size, p.Name, class}] - want)
				worst = math.Max(worst, off)
				looked++
				if off > 0.05 {
					t.Errorf("size %s, %s, %s: %.3f mm in the preview, %.3f in the pattern", s.Pattern.Size, p.Name, class, got[key{s.Pattern.Size, p.Name, class}], want)
				}
			}
		}
	}
	t.Logf("%d lines, the worst %.4f mm off", looked, worst)
	if looked < 50 || got[key{"", "front", "grain"}] < 100 || got[key{"", "front", "fold"}] < 100 {
		t.Errorf("looked at %d lines; grain %.1f mm, fold %.1f mm", looked, got[key{"", "front", "grain"}], got[key{"", "front", "fold"}])
	}
	for _, word := range []string{">Front</text>", ">grain</text>", ">place on the fold</text>", ">28</text>", "<title>Wren blouse, petal sleeve</title>"} {
		if !bytes.Contains(svg, []byte(word)) {
			t.Errorf("it does not say %s", word)
		}
	}
	if again := preview(t, making(t, sizes...)); !bytes.Equal(svg, again) {
		t.Error("the same request gives other bytes")
	}
}

// Whoever switches sizes on screen and on paper finds them under the same names. PyMuPDF reads the paper's.
func TestAPreviewsGroupsAreNamedAsThePDFsLayers(t *testing.T) {
	python := testkit.NeedPython(t, "fitz")
	body := document.Body{Name: `Ann "B" & <co>`, Body: map[string]float64{"bust": 940, "waist": 780, "hip": 1020, "neck": 377, "shoulder": 124, "nape_to_waist": 412, "scye_depth": 216, "upper_arm": 296}}
	for _, m := range []shop.Making{making(t, "8", "14"), making(t, []string{}...)} {
		if len(m.Request.Sizes) == 0 {
			m.Request.Sizes, m.Request.Bodies = []string{}, []document.Body{body}
		}
		_, layers := linesOf(t, preview(t, m))
		p, err := room(t).Make(context.Background(), m, nil)
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(t.TempDir(), "a.pdf")
		if err := os.WriteFile(file, p.Files[0].Data, 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.Command(python, "-c", "import fitz, json, sys; print(json.dumps([c['text'] for c in fitz.open(sys.argv[1]).layer_ui_configs()]))", file).Output()
		if err != nil {
			t.Fatal(err)
		}
		var paper []string
		if err := json.Unmarshal(out, &paper); err != nil {
			t.Fatal(err)
		}
		if len(layers) == 0 || !slices.Equal(layers, paper) {
			t.Errorf("groups %q, layers %q", layers, paper)
		}
	}
}

// librsvg draws it: as large as it says, and not empty.
func TestAPreviewOpensElsewhere(t *testing.T) {
	rsvg := testkit.Need(t, "rsvg-convert")
	svg := preview(t, making(t, "14"))
	var w, h float64
	if _, err := fmt.Sscanf(string(svg[bytes.Index(svg, []byte("width=")):]), `width="%fmm" height="%fmm"`, &w, &h); err != nil {
		t.Fatal(err)
	}
	c := exec.Command(rsvg, "--dpi-x", "25.4", "--dpi-y", "25.4", "--background-color", "white")
	c.Stdin = bytes.NewReader(svg)
	out, err := c.Output()
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	// At 25.4 dots an inch a dot is a millimetre.
	if b := img.Bounds(); math.Abs(float64(b.Dx())-w) > 1 || math.Abs(float64(b.Dy())-h) > 1 {
		t.Errorf("%g by %g mm are drawn as %v", w, h, b)
	}
	ink := 0
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			if r, _, _, _ := img.At(x, y).RGBA(); r < 0xc000 {
				ink++
			}
		}
	}
	if ink < 3000 {
		t.Errorf("%d mm² of ink", ink)
	}
}

func TestAPreviewOfABlockAlone(t *testing.T) {
	m := making(t, "14")
	m.Style = nil
	lines, _ := linesOf(t, preview(t, m))
	pieces := map[string]bool{}
	for _, l := range lines {
		pieces[l.piece] = true
	}
	if !pieces["sleeve"] || pieces["sleeve_back"] {
		t.Errorf("the pieces are %v", pieces)
	}
	if _, s, err := room(t).Check(context.Background(), m); err != nil || s.Pass == 0 || s.Fail > 0 {
		t.Errorf("its check: %+v, %v", s, err)
	}
}

func TestAPreviewsBounds(t *testing.T) {
	many := making(t)
	many.Request.Sizes = wren(t).Chart.Run
	for i := range 3 {
		many.Request.Bodies = append(many.Request.Bodies, document.Body{Name: fmt.Sprint("order ", i), Body: wren(t).Chart.BodyOf(3)})
	}
	unknown := making(t, "14", "99")
	for name, c := range map[string]struct {
		m             shop.Making
		rule, pointer string
	}{
		"too many":     {many, "count", "/sizes"},
		"unknown size": {unknown, "unknown_size", "/sizes/1"},
	} {
		b, err := room(t).Preview(context.Background(), c.m)
		if fs := pattern.FaultsOf(err); len(fs) != 1 || fs[0].Rule != c.rule || fs[0].Pointer != c.pointer || fs[0].Remedy == "" || b != nil {
			t.Errorf("%s: %v, %d bytes", name, err, len(b))
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := room(t).Preview(ctx, making(t, "14")); err == nil {
		t.Error("a preview that nobody waits for any more was drawn")
	}
}
