package pdf

import (
	"encoding/json"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
	"sizerun/internal/testkit"
)

// The witnesses of this file are PyMuPDF, MuPDF's own trace, qpdf and poppler: programs that read
// PDF and know nothing of ours.

// save writes the document to a file for outside readers.
func save(t testing.TB, d sheet.Document) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "pattern.pdf")
	if err := os.WriteFile(path, write(t, d, faces(t)), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// tool runs an outside program and returns what it prints; it must not complain.
func tool(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(testkit.Need(t, name), args...)
	var complaints strings.Builder
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, complaints.String())
	}
	for line := range strings.Lines(complaints.String()) {
		low := strings.ToLower(line)
		// Debian's build says at every start that it has no colour profiles.
		if strings.Contains(low, "icc support is not available") {
			continue
		}
		if strings.Contains(low, "error") || strings.Contains(low, "warning") {
			t.Errorf("%s %v complains: %s", name, args, line)
		}
	}
	return out
}

// fitz runs testdata/read.py and decodes its answer into v.
func fitz(t testing.TB, v any, args ...string) {
	t.Helper()
	py := testkit.NeedPython(t, "fitz")
	out, err := exec.Command(py, append([]string{"testdata/read.py"}, args...)...).Output()
	if err != nil {
		var said []byte
		if e, ok := err.(*exec.ExitError); ok {
			said = e.Stderr
		}
		t.Fatalf("read.py %v: %v\n%s", args, err, said)
	}
	if err := json.Unmarshal(out, v); err != nil {
		t.Fatalf("read.py %v: %v: %.200s", args, err, out)
	}
}

// seenPath is a path as PyMuPDF tells it, in mm.
type seenPath struct {
	Segs  [][][2]float64
	Width float64
	Color []float64
	Fill  []float64
}

func (s seenPath) point(seg, i int) geom.Point { return geom.Pt(s.Segs[seg][i][0], s.Segs[seg][i][1]) }

// tracedPath is a path as `mutool trace` tells it, in mm of the page.
type tracedPath struct {
	width  float64
	points []geom.Point // in drawing order, handles included
	path   geom.Path
}

// trace reads `mutool trace`: numbers in the coordinates of the stream, and the matrix to points.
func trace(t testing.TB, path string, page int) []tracedPath {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(string(tool(t, "mutool", "trace", path, fmt.Sprint(page)))))
	var out []tracedPath
	var m geom.Affine
	var height float64
	var start geom.Point
	attr := func(e xml.StartElement, name string) float64 {
		for _, a := range e.Attr {
			if a.Name.Local == name {
				var v float64
				if _, err := fmt.Sscan(a.Value, &v); err != nil {
					t.Fatal(err)
				}
				return v
			}
		}
		t.Fatalf("%s has no %s", e.Name.Local, name)
		return 0
	}
	in := false
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.EndElement); ok && e.Name.Local == "stroke_path" {
			in = false
		}
		e, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		add := func(x, y string) {
			p := m.Apply(geom.Pt(attr(e, x), attr(e, y)))
			out[len(out)-1].points = append(out[len(out)-1].points, geom.Pt(p.X*25.4/72, (height-p.Y)*25.4/72))
		}
		last := func(back int) geom.Point { pts := out[len(out)-1].points; return pts[len(pts)-1-back] }
		join := func(s geom.Seg) { out[len(out)-1].path = append(out[len(out)-1].path, s) }
		switch name := e.Name.Local; {
		case name == "page":
			for _, a := range e.Attr {
				if a.Name.Local == "mediabox" {
					var x0, y0, w float64
					fmt.Sscan(a.Value, &x0, &y0, &w, &height)
				}
			}
		case name == "stroke_path":
			in = true
			for _, a := range e.Attr {
				if a.Name.Local == "transform" {
					fmt.Sscan(a.Value, &m.A, &m.B, &m.C, &m.D, &m.E, &m.F)
				}
			}
			out = append(out, tracedPath{width: attr(e, "linewidth")})
		case !in:
		case name == "moveto":
			add("x", "y")
			start = last(0)
		case name == "lineto":
			add("x", "y")
			join(geom.Line(last(1), last(0)))
		case name == "closepath":
			join(geom.Line(last(0), start))
		case name == "curveto":
			add("x1", "y1")
			add("x2", "y2")
			add("x3", "y3")
			join(geom.Cubic(last(3), last(2), last(1), last(0)))
		}
	}
}

// phCubic is a curve with a hodograph whose length is a polynomial: exactly 184 + 1/3 mm.
var phCubic = geom.Cubic(geom.Pt(0, 0), geom.Pt(91.0/3, 20), geom.Pt(68, 64), geom.Pt(319.0/3, 148))

const phLength = 184 + 1.0/3

func line(pen sheet.Pen, closed bool, paths ...geom.Path) sheet.Item {
	return sheet.Item{Layer: sheet.NoLayer, Stroke: &sheet.Stroke{Paths: paths, Closed: closed, Pen: pen}}
}

func text(x, y, size float64, s string) sheet.Item {
	return sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(x, y), S: s, Size: size}}
}

func onePage(w, h float64, items ...sheet.Item) sheet.Document {
	return sheet.Document{Pages: []sheet.Page{{W: w, H: h, Items: items}}}
}

func square(x, y, side float64) geom.Path {
	return geom.Polyline(geom.Pt(x, y), geom.Pt(x+side, y), geom.Pt(x+side, y+side), geom.Pt(x, y+side), geom.Pt(x, y))
}

func TestAPrintedLengthIsTheDrawnLength(t *testing.T) {
	pen := sheet.Pen{Width: 0.35}
	// Straight and curved, at the far corner of a page, where a reader's own numbers are coarsest.
	curve := geom.Path{phCubic.Transform(geom.Translate(geom.Vec{X: 77.7777777, Y: 123.4567891}))}
	path := save(t, onePage(210, 297,
		line(pen, true, square(20, 20, 100)),
		line(pen, true, square(130, 20, 50.8)),
		line(pen, false, curve)))

	t.Run("PyMuPDF", func(t *testing.T) {
		var pages [][]seenPath
		fitz(t, &pages, "lines", path)
		got := pages[0]
		if len(got) != 3 {
			t.Fatalf("%d paths are seen, 3 were drawn", len(got))
		}
		for i, side := range []float64{100, 50.8} {
			for k := range 4 {
				// 0.1 µm: PyMuPDF holds points in 32 bits, which is 0.02 µm at the edge of A4.
				near(t, "side of a test square", got[i].point(0, k).Dist(got[i].point(0, (k+1)%4)), side, 1e-4)
			}
			near(t, "line width", got[i].Width, 0.35, 1e-6)
		}
		c := geom.Cubic(got[2].point(0, 0), got[2].point(0, 1), got[2].point(0, 2), got[2].point(0, 3))
		near(t, "length of the curve", c.Length(), phLength, 1e-4)
	})
	t.Run("mutool trace", func(t *testing.T) {
		got := trace(t, path, 1)
		if len(got) != 3 {
			t.Fatalf("%d paths are seen, 3 were drawn", len(got))
		}
		for i, side := range []float64{100, 50.8} {
			p := got[i].points
			for k := range 4 {
				near(t, "side of a test square", p[k].Dist(p[(k+1)%4]), side, 2e-5)
			}
		}
		p := got[2].points
		// mutool prints the matrix to eight digits, which is 0.02 µm on this curve.
		near(t, "length of the curve", geom.Cubic(p[0], p[1], p[2], p[3]).Length(), phLength, 4e-5)
	})
}

// What is written is nearer to the drawing than 0.02 µm per 100 mm, whatever a reader's own
// precision: the content itself is read here.
func TestCoordinatesAreWrittenToFiveDecimals(t *testing.T) {
	for _, v := range []float64{0, 1, -1, 100, 0.1, 1.0 / 3, -2.0 / 3, 123.456789, 5080, 99999.999994, -0.000004, 1e-5, 0.5, 12.34567, 7.00001} {
		s := string(appendNum(nil, v))
		var back float64
		if _, err := fmt.Sscan(s, &back); err != nil {
			t.Fatal(err)
		}
		near(t, s, back, v, 0.5e-5+1e-11)
		if strings.ContainsAny(s, "eE+") || strings.HasSuffix(s, ".") || strings.Contains(s, ".") && strings.HasSuffix(s, "0") || s == "-0" {
			t.Errorf("%g is written %q", v, s)
		}
	}
}

func TestALongSeamKeepsItsLengthOnALongPage(t *testing.T) {
	// The longest page there is, on the 36 in roll.
	path := save(t, onePage(914.4, maxPage, line(sheet.Pen{Width: 0.5}, false, geom.Polyline(geom.Pt(40, 40), geom.Pt(40, 5040)))))
	var pages [][]seenPath
	fitz(t, &pages, "lines", path)
	near(t, "5 m line", pages[0][0].point(0, 0).Dist(pages[0][0].point(0, 1)), 5000, 1e-3)
	p := trace(t, path, 1)[0].points
	near(t, "5 m line", p[0].Dist(p[1]), 5000, 1e-3)
}

// The main promise: whatever the layout moves or turns, every cut line of every size leaves the
// printer as long as it was made.
func TestEveryCutLineOfEverySizeKeepsItsLength(t *testing.T) {
	job := sheettest.Run(5)
	paper, ok := sheet.Papers("A0")
	if !ok {
		t.Fatal("no A0")
	}
	d, err := sheet.Layout(job, paper, faces(t), sheet.Options{})
	if err != nil {
		t.Fatal(err)
	}
	path := save(t, d)
	var seen []float64
	for i := range d.Pages {
		for _, p := range trace(t, path, i+1) {
			seen = append(seen, p.path.Length())
		}
	}
	slices.Sort(seen)
	cuts := 0
	for _, p := range job.Pieces {
		for i, s := range p.Sizes {
			if len(s.Cut) == 0 {
				continue
			}
			cuts++
			want := s.Cut.Length()
			at, _ := slices.BinarySearch(seen, want)
			off := math.Inf(1)
			for _, l := range seen[max(0, at-1):min(len(seen), at+1)] {
				off = min(off, math.Abs(l-want))
			}
			if off > want*1e-6 { // 0.1 µm per 100 mm; what is asked for is 0.01 mm
				t.Errorf("%s, size %s: the cut line is %.5f mm long, the nearest on paper is off by %.5f", p.Name, job.Sizes[i], want, off)
			}
		}
	}
	if cuts < 20 {
		t.Errorf("only %d cut lines were looked at", cuts)
	}
}

// Two tiles show one nest: a point of it lies on both where the move says, so that glued sheets
// meet.
func TestTilesOfOneFormJoin(t *testing.T) {
	const w, h, m = 190.0, 277.0, 10.0
	seam := geom.Path{phCubic.Transform(geom.Translate(geom.Vec{X: 120.123456, Y: 200.654321}))}
	d := sheet.Document{
		Layers: []sheet.Layer{{Name: "14", On: true}},
		Forms:  []sheet.Form{{Name: "14", Bounds: geom.Rect{Max: geom.Pt(2*w, 2*h)}, Items: []sheet.Item{line(sheet.Pen{Width: 0.3}, false, seam)}}},
	}
	var moves []geom.Vec
	for r := range 2 {
		for c := range 2 {
			mv := geom.Vec{X: m - w*float64(c), Y: m - h*float64(r)}
			moves = append(moves, mv)
			d.Pages = append(d.Pages, sheet.Page{W: 210, H: 297, Items: []sheet.Item{
				{Layer: 0, Use: &sheet.Use{Form: 0, Move: mv, Clip: geom.Rect{Min: geom.Pt(m, m), Max: geom.Pt(m+w, m+h)}}}}})
		}
	}
	path := save(t, d)
	var pages [][]seenPath
	fitz(t, &pages, "lines", path)
	want := []geom.Point{seam[0].P0, seam[0].P1, seam[0].P2, seam[0].P3}
	for i, mv := range moves {
		for k, p := range trace(t, path, i+1)[0].points {
			near(t, fmt.Sprintf("tile %d, point %d (mutool)", i+1, k), p.Dist(want[k].Add(mv)), 0, 5e-4)
		}
		if len(pages[i]) != 1 {
			continue // PyMuPDF leaves out what the clip hides altogether
		}
		for k := range 4 {
			near(t, fmt.Sprintf("tile %d, point %d (PyMuPDF)", i+1, k), pages[i][0].point(0, k).Dist(want[k].Add(mv)), 0, 5e-4)
		}
	}
	if len(pages[0]) != 1 {
		t.Error("the first tile shows nothing")
	}
}

func TestNothingShowsOutsideTheClip(t *testing.T) {
	d := sheet.Document{
		Forms: []sheet.Form{{Bounds: geom.Rect{Max: geom.Pt(200, 200)}, Items: []sheet.Item{line(sheet.Pen{Width: 1}, false, geom.Polyline(geom.Pt(0, 50), geom.Pt(200, 50)))}}},
		Pages: []sheet.Page{{W: 210, H: 297, Items: []sheet.Item{
			{Layer: sheet.NoLayer, Use: &sheet.Use{Form: 0, Clip: geom.Rect{Min: geom.Pt(20, 20), Max: geom.Pt(120, 120)}}},
			line(sheet.Pen{Width: 1}, false, geom.Polyline(geom.Pt(10, 200), geom.Pt(200, 200)))}}},
	}
	path := save(t, d)
	for _, row := range []struct{ y, from, long float64 }{{50, 20, 100}, {200, 10, 190}} {
		var runs [][2]float64
		fitz(t, &runs, "bars", path, "1200", fmt.Sprint(row.y))
		if len(runs) != 1 {
			t.Fatalf("at %g mm: %v", row.y, runs)
		}
		near(t, "start of ink", runs[0][0], row.from, 0.03)
		near(t, "length of ink", runs[0][1], row.long, 0.05)
	}
}

func TestDashesAreMillimetresWhateverTheWidth(t *testing.T) {
	for _, width := range []float64{0.2, 0.5, 2} {
		path := save(t, onePage(210, 297, line(sheet.Pen{Width: width, Dash: []float64{6, 2}}, false, geom.Polyline(geom.Pt(20, 100), geom.Pt(180, 100)))))
		var runs [][2]float64
		fitz(t, &runs, "bars", path, "1200", "100")
		if len(runs) != 20 {
			t.Fatalf("width %g: %d dashes on 160 mm, 20 of 6 + 2 mm were asked for", width, len(runs))
		}
		for i, r := range runs {
			near(t, "start of a dash", r[0], 20+8*float64(i), 0.03)
			near(t, "length of a dash", r[1], 6, 0.045) // a pixel is 0.021 mm
		}
	}
}

// Page sizes: ISO 216 A series; ANSI/ASME Y14.1 sheets A to E, 8.5 × 11 in to 34 × 44 in; the 36 in
// roll. Debian's paperconf, where it is installed, is asked as well.
func TestPagesHaveTheSizeOfThePaper(t *testing.T) {
	papers := []struct {
		name string
		w, h float64
	}{
		{"a4", 210, 297}, {"a3", 297, 420}, {"a2", 420, 594}, {"a1", 594, 841}, {"a0", 841, 1189},
		{"letter", 215.9, 279.4}, {"11x17", 279.4, 431.8}, {"csheet", 431.8, 558.8}, {"dsheet", 558.8, 863.6}, {"esheet", 863.6, 1117.6},
		{"", 914.4, 5080},
	}
	var d sheet.Document
	for _, p := range papers {
		d.Pages = append(d.Pages, sheet.Page{W: p.w, H: p.h}, sheet.Page{W: p.h, H: p.w})
	}
	var got about
	path := save(t, d)
	fitz(t, &got, "about", path)
	for i, p := range papers {
		near(t, p.name+" width", got.Pages[2*i].W, p.w, 0.001)
		near(t, p.name+" height", got.Pages[2*i].H, p.h, 0.001)
		near(t, p.name+" landscape width", got.Pages[2*i+1].W, p.h, 0.001)
		if got.Pages[2*i+1].Rot != 0 {
			t.Errorf("%s is turned by the reader", p.name)
		}
	}
	info := string(tool(t, "pdfinfo", "-f", "1", "-l", "1", path))
	if !strings.Contains(info, "(A4)") {
		t.Errorf("pdfinfo does not call page 1 A4:\n%s", info)
	}
	t.Run("paperconf", func(t *testing.T) {
		for _, p := range papers[:len(papers)-1] {
			var w, h float64
			said := string(tool(t, "paperconf", "-s", "-m", "-p", p.name))
			if _, err := fmt.Sscanf(said, "%g mm %g mm", &w, &h); err != nil {
				t.Fatalf("%s: %q: %v", p.name, said, err)
			}
			near(t, p.name+" by paperconf", w, p.w, 0.05)
			near(t, p.name+" by paperconf", h, p.h, 0.05)
		}
	})
}

type about struct {
	Metadata map[string]any
	XMP      string
	Pages    []struct {
		W, H        float64
		Rot         int
		Label, Text string
	}
	Layers   [][2]any
	Groups   []string
	Fonts    []string
	Repaired bool
	Catalog  string
}

func TestAReaderSwitchesEachSizeAlone(t *testing.T) {
	d := nest(4, 8, 2, 2)
	d.Layers[2].On = false
	path := save(t, d)
	var a about
	fitz(t, &a, "about", path)
	if got := fmt.Sprint(a.Layers); got != "[[8 true] [10 true] [12 false] [14 true]]" {
		t.Errorf("layers and their state: %s", got)
	}
	for _, want := range []string{"/PageMode /UseOC", "/ListMode /AllPages", "/BaseState /ON", "/Name (Sizes)", "/PrintScaling /None", "/DisplayDocTitle true"} {
		if !strings.Contains(squeeze(a.Catalog), squeeze(want)) {
			t.Errorf("the catalogue lacks %s: %s", want, a.Catalog)
		}
	}
	ink := func(names ...string) []int {
		var n []int
		fitz(t, &n, append([]string{"ink", path, "72"}, names...)...)
		return n
	}
	none := ink()
	all := ink("8", "10", "12", "14")
	sum := slices.Clone(none)
	for _, name := range []string{"8", "10", "12", "14"} {
		one := ink(name)
		for i := range one {
			sum[i] += one[i] - none[i]
			if i > 0 && one[i] <= none[i] {
				t.Errorf("size %s alone puts no ink on page %d", name, i+1)
			}
		}
	}
	if none[0] != all[0] {
		t.Error("page 1 has no layers, but its ink changes with them")
	}
	for i := range all[1:] {
		// Lines cross and labels overlap a little, so the sum of the sizes is somewhat more than all.
		if ratio := float64(sum[i+1]) / float64(all[i+1]); ratio < 1 || ratio > 1.6 {
			t.Errorf("page %d: sizes one by one give %d dark pixels, together %d", i+2, sum[i+1], all[i+1])
		}
	}
}

// A layer may also be marked inside a form, item by item.
func TestLayersInsideAFormSwitchToo(t *testing.T) {
	bar := func(layer int, y float64) sheet.Item {
		it := line(sheet.Pen{Width: 4}, false, geom.Polyline(geom.Pt(0, y), geom.Pt(100, y)))
		it.Layer = layer
		return it
	}
	d := sheet.Document{
		Layers: []sheet.Layer{{Name: "S", On: true}, {Name: "M", On: true}},
		Forms:  []sheet.Form{{Bounds: geom.Rect{Max: geom.Pt(100, 100)}, Items: []sheet.Item{bar(0, 10), bar(1, 30), bar(0, 50), bar(sheet.NoLayer, 70)}}},
		Pages: []sheet.Page{{W: 210, H: 297, Items: []sheet.Item{
			{Layer: sheet.NoLayer, Use: &sheet.Use{Form: 0, Move: geom.Vec{X: 20, Y: 20}, Clip: geom.Rect{Max: geom.Pt(210, 297)}}}}}},
	}
	path := save(t, d)
	got := map[string]int{}
	for _, names := range []string{"", "S", "M", "S M"} {
		var n []int
		fitz(t, &n, append([]string{"ink", path, "100"}, strings.Fields(names)...)...)
		got[names] = n[0]
	}
	b := float64(got["S M"]) / 4
	for names, bars := range map[string]float64{"": 1, "S": 3, "M": 2, "S M": 4} {
		if n := float64(got[names]) / b; b == 0 || math.Abs(n-bars) > 0.1 { // edges fall between pixels
			t.Errorf("with %q on there are %.2f bars, want %g", names, n, bars)
		}
	}
	if t.Failed() {
		t.Logf("bars of equal size, one always, two on S, one on M: dark pixels %v", got)
	}
}

// Two validators beside the readers: one alone has let a broken page tree pass. A third, pdfcpu,
// is asked in the module witness beside this package.
func TestValidatorsAccept(t *testing.T) {
	roll := nest(3, 8, 2, 2)
	roll.Pages = append(roll.Pages, sheet.Page{W: 914.4, H: maxPage, Items: []sheet.Item{line(sheet.Pen{Width: 1}, true, square(20, 20, 800))}})
	for name, d := range map[string]sheet.Document{
		"nest": roll, "labels": labelPage(), "one empty page": onePage(210, 297), "no layers": onePage(210, 297, text(20, 20, 3, "front")),
	} {
		t.Run(name, func(t *testing.T) {
			path := save(t, d)
			if out := string(tool(t, "qpdf", "--check", path)); !strings.Contains(out, "No syntax or stream encoding errors found") {
				t.Errorf("qpdf: %s", out)
			}
			tool(t, "mutool", "info", path)
			tool(t, "mutool", "trace", path)
			if out := string(tool(t, "mutool", "clean", "-g", "-s", path, filepath.Join(t.TempDir(), "clean.pdf"))); strings.Contains(out, "error") {
				t.Errorf("mutool clean: %s", out)
			}
			tool(t, "pdftocairo", "-svg", "-f", "1", "-l", "1", path, filepath.Join(t.TempDir(), "page.svg"))
		})
	}
}

func squeeze(s string) string { return strings.Join(strings.Fields(s), "") }

func near(t testing.TB, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.7f, want %.7f ± %g", what, got, want, tol)
	}
}
