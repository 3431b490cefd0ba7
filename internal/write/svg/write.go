package svg

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"unicode/utf8"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

const (
	// MaxBytes is the most that one picture may take: some fifty sizes of a blouse.
	MaxBytes = 8 << 20
	// maxCoord keeps every number far inside what readers hold, mm.
	maxCoord = 1e5
	// decimals is how finely a coordinate is written: 0.001 mm.
	decimals = 1000
)

// family names the house's own face first. Where it is missing, words keep their room by textLength.
const family = "DejaVu Sans Condensed, DejaVu Sans, sans-serif"

// Write writes the only page of d. Nothing is written when it is refused; the refusal is a pattern.Faults.
func Write(w io.Writer, d sheet.Document, m sheet.Metrics) error {
	b, err := Append(nil, d, m)
	if err != nil {
		return err
	}
	if _, err := w.Write(b); err != nil {
		return fmt.Errorf("svg: write: %w", err)
	}
	return nil
}

// Append is Write at the end of b.
func Append(b []byte, d sheet.Document, m sheet.Metrics) ([]byte, error) {
	if len(d.Pages) != 1 {
		return nil, refuse("pages", "/pages", fmt.Sprintf("the document has %d pages", len(d.Pages)), "1 page", "write the pages one by one")
	}
	pg := &d.Pages[0]
	if !(pg.W > 0 && pg.W <= maxCoord && pg.H > 0 && pg.H <= maxCoord) {
		return nil, refuse("page_size", "/pages/0", fmt.Sprintf("the page is %g by %g mm", pg.W, pg.H), fmt.Sprintf("up to %g mm", maxCoord), "draw less at once")
	}
	s := &writer{b: b, from: len(b), d: &d, m: m, h: pg.H}
	s.open(`<svg xmlns="http://www.w3.org/2000/svg" class="sizerun" role="img" width="`, pg.W, `mm" height="`, pg.H, `mm" viewBox="0 0 `, pg.W, ` `, pg.H, `" fill="none" stroke-linejoin="round" font-family="`+family+`"`)
	if d.Info.Lang != "" {
		s.attr("lang", d.Info.Lang)
	}
	s.raw(">\n")
	s.element("title", d.Info.Title)
	s.element("desc", d.Info.Subject)
	for i, l := range d.Layers {
		if l.Ground {
			s.layer(pg.Items, i, "ground")
		}
	}
	for i, l := range d.Layers {
		if !l.Ground {
			s.layer(pg.Items, i, "layer")
		}
	}
	s.raw(`<g class="common">` + "\n")
	s.items(pg.Items, sheet.NoLayer)
	s.raw("</g>\n</svg>\n")
	if s.err == nil && len(s.b)-s.from > MaxBytes {
		s.err = refuse("too_much_drawing", "", fmt.Sprintf("the picture takes %d bytes", len(s.b)-s.from), fmt.Sprintf("up to %d", MaxBytes), "draw fewer sizes at once")
	}
	if s.err != nil {
		return nil, s.err
	}
	return s.b, nil
}

func refuse(rule, pointer, detail, valid, remedy string) error {
	return pattern.Faults{{Rule: "svg_" + rule, Pointer: pointer, Detail: detail, Valid: valid, Remedy: remedy}}
}

type writer struct {
	b    []byte
	from int
	d    *sheet.Document
	m    sheet.Metrics
	h    float64 // of the page: y is turned over
	err  error
}

// layer writes what lies on one layer, wherever it stands among the page's items.
func (s *writer) layer(items []sheet.Item, i int, class string) {
	l := s.d.Layers[i]
	s.raw(`<g class="` + class + `"`)
	s.attr("data-layer", l.Name)
	if !l.On {
		s.raw(` display="none"`)
	}
	s.raw(">\n")
	s.element("title", l.Name)
	s.items(items, i)
	s.raw("</g>\n")
}

func (s *writer) items(items []sheet.Item, layer int) {
	for i := range items {
		it := &items[i]
		if it.Layer != layer || s.err != nil {
			continue
		}
		if it.Use == nil {
			s.item(it, geom.Vec{})
			continue
		}
		s.use(it.Use)
	}
}

// use writes a form where it is used. Only one that reaches out of its window is cut off, by an svg of its own:
// a clipPath would need an id, which could be another's in the page that this stands in.
func (s *writer) use(u *sheet.Use) {
	if u.Form < 0 || u.Form >= len(s.d.Forms) {
		s.fail("form", fmt.Sprintf("there is no form %d", u.Form))
		return
	}
	f := &s.d.Forms[u.Form]
	in := geom.Rect{Min: f.Bounds.Min.Add(u.Move), Max: f.Bounds.Max.Add(u.Move)}
	c := u.Clip
	whole := in.Min.X >= c.Min.X && in.Min.Y >= c.Min.Y && in.Max.X <= c.Max.X && in.Max.Y <= c.Max.Y
	if !whole {
		x, y := c.Min.X, s.h-c.Max.Y
		s.open(`<svg overflow="hidden" x="`, x, `" y="`, y, `" width="`, c.W(), `" height="`, c.H(), `" viewBox="`, x, ` `, y, ` `, c.W(), ` `, c.H(), "\">\n")
	}
	if f.Piece != "" {
		s.raw(`<g class="piece"`)
		s.attr("data-piece", f.Piece)
		s.raw(">\n")
	}
	for i := range f.Items {
		if f.Items[i].Use != nil {
			s.fail("nested_form", "a form uses a form")
			return
		}
		s.item(&f.Items[i], u.Move)
	}
	if f.Piece != "" {
		s.raw("</g>\n")
	}
	if !whole {
		s.raw("</svg>\n")
	}
}

func (s *writer) item(it *sheet.Item, v geom.Vec) {
	switch {
	case it.Stroke != nil:
		s.stroke(it.Stroke, v)
	case it.Fill != nil:
		s.raw(`<path fill="`)
		s.color(it.Fill.Color)
		s.path(it.Fill.Paths, true, v)
	case it.Text != nil:
		s.text(it.Text, v)
	}
}

func (s *writer) stroke(k *sheet.Stroke, v geom.Vec) {
	s.raw("<path")
	if k.Kind != "" {
		s.attr("class", string(k.Kind))
	}
	s.raw(` stroke="`)
	s.color(k.Pen.Color)
	s.open(`" stroke-width="`, k.Pen.Width)
	for i, l := range k.Pen.Dash {
		if i == 0 {
			s.raw(`" stroke-dasharray="`)
		} else {
			s.raw(" ")
		}
		s.num(l)
	}
	s.path(k.Paths, k.Closed, v)
}

// path ends an element that is open at its last attribute with its paths.
func (s *writer) path(paths []geom.Path, closed bool, v geom.Vec) {
	s.raw(`" d="`)
	for _, p := range paths {
		if len(p) == 0 {
			continue
		}
		s.raw("M")
		s.point(p[0].P0, v)
		for i := range p {
			g := &p[i]
			switch {
			case !g.Straight:
				s.raw("C")
				s.point(g.P1, v)
				s.raw(" ")
				s.point(g.P2, v)
				s.raw(" ")
				s.point(g.P3, v)
			case closed && i == len(p)-1 && g.P3 == p[0].P0:
				// Z draws this stretch.
			default:
				s.raw("L")
				s.point(g.P3, v)
			}
		}
		if closed {
			s.raw("Z")
		}
	}
	s.raw("\"/>\n")
}

func (s *writer) text(t *sheet.Text, v geom.Vec) {
	if t.S == "" {
		return
	}
	at := t.At.Add(v)
	s.open(`<text x="`, at.X, `" y="`, s.h-at.Y, `" font-size="`, t.Size)
	if t.Face == sheet.Bold {
		s.raw(`" font-weight="bold`)
	}
	switch t.Align {
	case sheet.Center:
		s.raw(`" text-anchor="middle`)
	case sheet.Right:
		s.raw(`" text-anchor="end`)
	}
	if w := s.m.Width(t.Face, t.S) * t.Size; w > 0 && w <= maxCoord {
		s.open(`" lengthAdjust="spacingAndGlyphs" textLength="`, w)
	}
	if t.Angle != 0 {
		// SVG turns clockwise, as its y runs downwards.
		s.open(`" transform="rotate(`, -t.Angle*180/math.Pi, ` `, at.X, ` `, s.h-at.Y, `)`)
	}
	s.raw(`" fill="`)
	s.color(t.Color)
	s.raw(`">`)
	s.escape(t.S)
	s.raw("</text>\n")
}

func (s *writer) raw(t string) { s.b = append(s.b, t...) }

// open writes text and numbers in turn.
func (s *writer) open(parts ...any) {
	for _, p := range parts {
		switch p := p.(type) {
		case string:
			s.b = append(s.b, p...)
		case float64:
			s.num(p)
		}
	}
}

func (s *writer) attr(name, value string) {
	s.raw(" " + name + `="`)
	s.escape(value)
	s.raw(`"`)
}

func (s *writer) element(name, value string) {
	if value == "" {
		return
	}
	s.raw("<" + name + ">")
	s.escape(value)
	s.raw("</" + name + ">\n")
}

func (s *writer) point(p geom.Point, v geom.Vec) {
	s.num(p.X + v.X)
	s.b = append(s.b, ' ')
	s.num(s.h - (p.Y + v.Y))
}

// num writes v to 0.001 without an exponent or superfluous zeros.
func (s *writer) num(v float64) {
	if !(v >= -maxCoord && v <= maxCoord) { // NaN too
		s.fail("number", fmt.Sprintf("a number of the drawing is %g", v))
		return
	}
	n := int64(math.RoundToEven(v * decimals))
	if n < 0 {
		s.b = append(s.b, '-')
		n = -n
	}
	s.b = strconv.AppendInt(s.b, n/decimals, 10)
	if r := n % decimals; r != 0 {
		d := [4]byte{'.', byte('0' + r/100), byte('0' + r/10%10), byte('0' + r%10)}
		end := 4
		for d[end-1] == '0' {
			end--
		}
		s.b = append(s.b, d[:end]...)
	}
}

func (s *writer) color(c sheet.RGB) {
	const hex = "0123456789abcdef"
	s.b = append(s.b, '#')
	for _, v := range [3]float64{c.R, c.G, c.B} {
		if !(v >= 0 && v <= 1) {
			s.fail("color", fmt.Sprintf("a part of a colour is %g", v))
			return
		}
		n := int(v*255 + 0.5)
		s.b = append(s.b, hex[n>>4], hex[n&15])
	}
}

// escape writes text so that it can be nothing but text, in an element or in quotes. What XML can't hold, and signs
// that turn the reading direction of what follows, become U+FFFD.
func (s *writer) escape(t string) {
	for _, r := range t {
		switch {
		case r == '&':
			s.raw("&amp;")
		case r == '<':
			s.raw("&lt;")
		case r == '>':
			s.raw("&gt;")
		case r == '"':
			s.raw("&quot;")
		case r == '\'':
			s.raw("&#39;")
		case r < ' ', r >= 0x7f && r < 0xa0, r == 0xfffe, r == 0xffff, r >= 0x200e && r <= 0x200f, r >= 0x2028 && r <= 0x202e, r >= 0x2066 && r <= 0x2069:
			s.b = utf8.AppendRune(s.b, utf8.RuneError)
		default:
			s.b = utf8.AppendRune(s.b, r)
		}
	}
}

func (s *writer) fail(rule, detail string) {
	if s.err == nil {
		s.err = refuse(rule, "", detail, "", "correct the drawing")
	}
}
