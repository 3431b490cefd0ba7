package pdf

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

const (
	// maxPage is 14,400 pt, the side that every reader accepts (ISO 32000-1, Annex C).
	maxPage = 5080.0
	// minPage is 3 pt, the least that readers accept (the same annex).
	minPage = 3 * 25.4 / 72
	// maxCoord keeps every number far inside what readers hold: 100 m.
	maxCoord = 1e5
	// gap is how far apart the ends of neighbouring stretches may lie.
	gap = 0.001
	// The most that one file may hold: far more than any pattern, far less than the 65,535 objects
	// that the cross-reference stream can tell apart.
	maxPages, maxForms, maxLayers = 10_000, 20_000, 1_000
	// maxFaults is enough to mend a document by; a broken generator would tell thousands.
	maxFaults = 50
)

// checker collects faults in document order.
type checker struct {
	fonts  *Fonts
	doc    *sheet.Document
	faults pattern.Faults
}

func check(d sheet.Document, f *Fonts) pattern.Faults {
	c := &checker{fonts: f, doc: &d}
	if len(d.Pages) == 0 {
		c.add("no_pages", "/pages", "the document has no pages", "at least 1 page", "lay out at least one page")
	}
	for _, n := range []struct {
		what     string
		has, max int
	}{{"pages", len(d.Pages), maxPages}, {"forms", len(d.Forms), maxForms}, {"layers", len(d.Layers), maxLayers}} {
		if n.has > n.max {
			c.add("too_many", "/"+n.what, fmt.Sprintf("the document has %d %s", n.has, n.what), fmt.Sprintf("up to %d", n.max), "split it into several documents")
			return c.faults
		}
	}
	for i, l := range d.Layers {
		if strings.TrimSpace(l.Name) == "" {
			c.add("no_name", fmt.Sprintf("/layers/%d/name", i), "the layer has no name", "", "name it after its size")
		}
	}
	for i, fm := range d.Forms {
		at := fmt.Sprintf("/forms/%d", i)
		if !c.rect(at+"/bounds", fm.Bounds) {
			continue
		}
		c.items(at, fm.Items, &fm.Bounds)
	}
	for i, p := range d.Pages {
		at := fmt.Sprintf("/pages/%d", i)
		c.side(at+"/w", "width", p.W)
		c.side(at+"/h", "height", p.H)
		c.items(at, p.Items, nil)
	}
	return c.faults
}

func (c *checker) add(rule, pointer, detail, valid, remedy string) {
	if len(c.faults) < maxFaults {
		c.faults = append(c.faults, pattern.Fault{Rule: "pdf_" + rule, Pointer: pointer, Detail: detail, Valid: valid, Remedy: remedy})
	}
}

func (c *checker) side(at, what string, v float64) {
	if !(v >= minPage && v <= maxPage) {
		c.add("page_size", at, fmt.Sprintf("a page cannot have a %s of %g mm", what, v),
			fmt.Sprintf("%.2f to %.0f mm", minPage, maxPage), "split it into several pages")
	}
}

// number tells whether v can be written, and refuses it if not.
func (c *checker) number(at, what string, v, low, high float64) bool {
	if v >= low && v <= high { // false for NaN
		return true
	}
	c.add("number", at, fmt.Sprintf("%s is %g", what, v), fmt.Sprintf("%g to %g", low, high), "correct the drawing")
	return false
}

func (c *checker) rect(at string, r geom.Rect) bool {
	ok := true
	for _, v := range []float64{r.Min.X, r.Min.Y, r.Max.X, r.Max.Y} {
		ok = ok && c.number(at, "a side of the box", v, -maxCoord, maxCoord)
	}
	if ok && r.Empty() {
		c.add("empty_box", at, "the box is empty", "", "give the box of what is drawn")
		ok = false
	}
	return ok
}

// items checks what is drawn; inside is the form's box, nil on a page.
func (c *checker) items(at string, items []sheet.Item, inside *geom.Rect) {
	for i, it := range items {
		if len(c.faults) >= maxFaults {
			return
		}
		// The pointer is only spelled out when there is something to tell.
		n := len(c.faults)
		c.item(it, inside)
		for j := n; j < len(c.faults); j++ {
			c.faults[j].Pointer = fmt.Sprintf("%s/items/%d%s", at, i, c.faults[j].Pointer)
		}
	}
}

func (c *checker) item(it sheet.Item, inside *geom.Rect) {
	if it.Layer != sheet.NoLayer && (it.Layer < 0 || it.Layer >= len(c.doc.Layers)) {
		c.add("layer", "/layer", fmt.Sprintf("there is no layer %d", it.Layer), fmt.Sprintf("%d, or 0 to %d", sheet.NoLayer, len(c.doc.Layers)-1), "use a layer of the document")
	}
	kinds := 0
	if it.Stroke != nil {
		kinds++
		c.strokeItem(it.Stroke, inside)
	}
	if it.Fill != nil {
		kinds++
		c.paths("/fill", it.Fill.Paths, inside)
		c.color("/fill/color", it.Fill.Color)
	}
	if it.Text != nil {
		kinds++
		c.text(it.Text)
	}
	if it.Use != nil {
		kinds++
		c.use(it.Use, inside != nil)
	}
	if kinds != 1 {
		c.add("item", "", fmt.Sprintf("the item has %d things to draw", kinds), "exactly one of stroke, fill, text and use", "make an item for each")
	}
}

func (c *checker) strokeItem(s *sheet.Stroke, inside *geom.Rect) {
	c.paths("/stroke", s.Paths, inside)
	c.color("/stroke/pen/color", s.Pen.Color)
	c.number("/stroke/pen/width", "the line width", s.Pen.Width, 0.01, 100)
	sum := 0.0
	for _, d := range s.Pen.Dash {
		if !c.number("/stroke/pen/dash", "a dash", d, 0, 1000) {
			return
		}
		sum += d
	}
	if len(s.Pen.Dash) > 0 && sum < 0.05 {
		c.add("dash", "/stroke/pen/dash", fmt.Sprintf("the dashes are %g mm long in all", sum), "0.05 mm or more", "leave the dash out for a solid line")
	}
}

func (c *checker) paths(at string, paths []geom.Path, inside *geom.Rect) {
	if len(paths) == 0 {
		c.add("empty_path", at+"/paths", "there is nothing to draw", "", "leave the item out")
	}
	for i, p := range paths {
		if len(p) == 0 {
			c.add("empty_path", fmt.Sprintf("%s/paths/%d", at, i), "the path is empty", "", "leave it out")
		}
		for j, s := range p {
			if !(within(s.P0) && within(s.P3) && (s.Straight || within(s.P1) && within(s.P2))) {
				c.add("number", fmt.Sprintf("%s/paths/%d/%d", at, i, j), fmt.Sprintf("a coordinate lies outside what can be drawn: %v", s),
					fmt.Sprintf("%g to %g mm", -maxCoord, maxCoord), "correct the drawing")
				return
			}
			if j > 0 && p[j-1].P3.Dist(s.P0) > gap {
				c.add("broken_path", fmt.Sprintf("%s/paths/%d/%d", at, i, j), fmt.Sprintf("the stretch begins %.3f mm away from where the one before it ends", p[j-1].P3.Dist(s.P0)),
					fmt.Sprintf("up to %g mm", gap), "draw the parts as paths of their own")
				return
			}
			if inside != nil && !(inside.Inset(-gap).Contains(s.P0) && inside.Inset(-gap).Contains(s.P3)) {
				c.add("outside_form", fmt.Sprintf("%s/paths/%d/%d", at, i, j), fmt.Sprintf("the stretch from %v to %v lies outside the form's box and would be cut off", s.P0, s.P3),
					fmt.Sprintf("inside %v", *inside), "make the form's box larger")
				return
			}
		}
	}
}

func within(p geom.Point) bool { return math.Abs(p.X) <= maxCoord && math.Abs(p.Y) <= maxCoord }

func (c *checker) color(at string, k sheet.RGB) {
	for _, v := range []float64{k.R, k.G, k.B} {
		if !c.number(at, "a part of the colour", v, 0, 1) {
			return
		}
	}
}

func (c *checker) text(t *sheet.Text) {
	if t.Face < 0 || int(t.Face) >= faceCount {
		c.add("face", "/text/face", fmt.Sprintf("there is no face %d", t.Face), fmt.Sprintf("0 to %d", faceCount-1), "use Regular or Bold")
	}
	c.color("/text/color", t.Color)
	c.number("/text/size", "the size of the text", t.Size, 0.1, 1000)
	c.number("/text/angle", "the angle of the text", t.Angle, -1000, 1000)
	if !within(t.At) {
		c.add("number", "/text/at", fmt.Sprintf("the text stands at %v", t.At), fmt.Sprintf("%g to %g mm", -maxCoord, maxCoord), "correct the drawing")
	}
	if t.Align != sheet.Left && t.Align != sheet.Center && t.Align != sheet.Right {
		c.add("align", "/text/align", fmt.Sprintf("there is no alignment %d", t.Align), "Left, Center, Right", "use one of these")
	}
	if !utf8.ValidString(t.S) {
		c.add("text", "/text/s", "the text is not UTF-8", "", "send valid UTF-8")
		return
	}
	if miss := c.fonts.Missing(t.S); len(miss) > 0 {
		var names []string
		for _, r := range miss[:min(len(miss), 8)] {
			names = append(names, fmt.Sprintf("U+%04X", r))
		}
		c.add("glyph", "/text/s", fmt.Sprintf("the font %s cannot show %s of %q", familyName, strings.Join(names, ", "), t.S),
			"letters of Latin, Greek and Cyrillic scripts, digits, fractions and common signs, in one line", "write the text with those")
	}
}

func (c *checker) use(u *sheet.Use, inForm bool) {
	if inForm {
		c.add("nested_form", "/use", "a form uses a form", "", "use it from the page")
	}
	if u.Form < 0 || u.Form >= len(c.doc.Forms) {
		c.add("form", "/use/form", fmt.Sprintf("there is no form %d", u.Form), fmt.Sprintf("0 to %d", len(c.doc.Forms)-1), "use a form of the document")
	}
	if !within(geom.Pt(u.Move.X, u.Move.Y)) {
		c.add("number", "/use/move", fmt.Sprintf("the move is %v", u.Move), fmt.Sprintf("%g to %g mm", -maxCoord, maxCoord), "correct the drawing")
	}
	c.rect("/use/clip", u.Clip)
}
