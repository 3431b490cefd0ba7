package pdf

import (
	"image"
	"image/color"
	"math"

	"github.com/tdewolff/canvas"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// content builds one content stream, in millimetres. It is a canvas.Renderer, so everything that
// canvas can hold as paths and lines of text can be drawn into it.
type content struct {
	buf   []byte
	fonts *Fonts
	inks  *inks
	pen   graphics
	data  []float64 // a path in canvas's own form, reused

	layer int // the layer whose marked content is open, or sheet.NoLayer
	at    use // the window, when it is open
	open  bool
	forms set
	ocgs  set
	faces [faceCount]bool
	err   error
}

// use is a window: forms drawn with the same move and clip share one.
type use struct {
	move geom.Vec
	clip geom.Rect
}

// graphics is what the stream has set so far; nothing is repeated.
type graphics struct {
	stroke, fill color.RGBA // alpha 0: not set yet
	width        float64
	dash         []float64
	dashed       int // 0 not set yet, 1 solid, 2 dash
	face         int // -1 not set yet
	size         float64
}

// set keeps indices in order of first appearance.
type set struct {
	list []int
	seen []bool
}

func (s *set) add(i int) {
	if i >= len(s.seen) {
		s.seen = append(s.seen, make([]bool, i+1-len(s.seen))...)
	}
	if !s.seen[i] {
		s.seen[i] = true
		s.list = append(s.list, i)
	}
}

// emptied is the empty set in the same memory.
func (s set) emptied() set {
	for _, i := range s.list {
		s.seen[i] = false
	}
	return set{s.list[:0], s.seen}
}

var _ canvas.Renderer = (*content)(nil)

func (c *content) reset(f *Fonts, k *inks) {
	*c = content{buf: c.buf[:0], data: c.data[:0], fonts: f, inks: k, layer: sheet.NoLayer,
		forms: c.forms.emptied(), ocgs: c.ocgs.emptied()}
	c.pen.face = -1
}

// items draws a page's or a form's items and closes what they opened.
func (c *content) items(items []sheet.Item) {
	c.op("1 j") // round joins: a mitre would carry ink past a corner of the cut line
	for _, it := range items {
		if it.Use != nil {
			c.window(it.Use)
		} else {
			c.closeWindow()
		}
		c.enter(it.Layer)
		switch {
		case it.Stroke != nil:
			c.stroke(it.Stroke)
		case it.Fill != nil:
			c.fill(it.Fill)
		case it.Text != nil:
			c.text(it.Text)
		case it.Use != nil:
			c.forms.add(it.Use.Form)
			c.buf = append(appendInt(append(c.buf, "/X"...), int64(it.Use.Form)), " Do\n"...)
		}
	}
	c.enter(sheet.NoLayer)
	c.closeWindow()
}

func (c *content) op(s string) { c.buf = append(append(c.buf, s...), '\n') }

// enter makes layer the one that is open.
func (c *content) enter(layer int) {
	if layer == c.layer {
		return
	}
	if c.layer != sheet.NoLayer {
		c.op("EMC")
	}
	if c.layer = layer; layer != sheet.NoLayer {
		c.ocgs.add(layer)
		c.buf = append(appendInt(append(c.buf, "/OC /L"...), int64(layer)), " BDC\n"...)
	}
}

func (c *content) window(u *sheet.Use) {
	w := use{u.Move, u.Clip}
	if c.open && c.at == w {
		return
	}
	c.enter(sheet.NoLayer)
	c.closeWindow()
	c.at, c.open = w, true
	c.op("q")
	c.buf = appendNums(c.buf, w.clip.Min.X, w.clip.Min.Y, w.clip.W(), w.clip.H())
	c.op("re W n")
	c.buf = appendNums(append(c.buf, "1 0 0 1 "...), w.move.X, w.move.Y)
	c.op("cm")
}

func (c *content) closeWindow() {
	if c.open {
		c.enter(sheet.NoLayer)
		c.op("Q")
		c.open = false
	}
}

func (c *content) stroke(s *sheet.Stroke) {
	c.paint(c.path(s.Paths, s.Closed), canvas.Style{
		Stroke:       canvas.Paint{Color: rgba(s.Pen.Color)},
		StrokeWidth:  s.Pen.Width,
		StrokeCapper: canvas.ButtCap,
		StrokeJoiner: canvas.RoundJoin,
		Dashes:       s.Pen.Dash, // in mm: only canvas.Context multiplies them by the width
	}, canvas.Identity)
}

func (c *content) fill(f *sheet.Fill) {
	c.paint(c.path(f.Paths, true), canvas.Style{Fill: canvas.Paint{Color: rgba(f.Color)}}, canvas.Identity)
}

func (c *content) text(t *sheet.Text) {
	if t.S == "" {
		return
	}
	sh := c.fonts.shape(t.Face, t.S)
	back := 0.0
	switch t.Align {
	case sheet.Center:
		back = sh.width / 2
	case sheet.Right:
		back = sh.width
	}
	sin, cos := math.Sincos(t.Angle)
	k := t.Size
	m := canvas.Matrix{
		{k * cos, -k * sin, t.At.X - back*k*cos},
		{k * sin, k * cos, t.At.Y - back*k*sin},
	}
	c.pen.textFill(c, rgba(t.Color))
	c.RenderText(sh.text, m)
}

// path lays geom's Segs out as canvas stores a path (Path.Data). It is filled directly because canvas's own
// MoveTo, LineTo and Close drop and merge short stretches; a drawn line must keep every one.
func (c *content) path(paths []geom.Path, closed bool) []float64 {
	d := c.data[:0]
	for _, p := range paths {
		if len(p) == 0 {
			continue
		}
		start := p[0].P0
		d = append(d, canvas.MoveToCmd, start.X, start.Y, canvas.MoveToCmd)
		for i, s := range p {
			switch {
			case !s.Straight:
				d = append(d, canvas.CubeToCmd, s.P1.X, s.P1.Y, s.P2.X, s.P2.Y, s.P3.X, s.P3.Y, canvas.CubeToCmd)
			case closed && i == len(p)-1 && s.P3 == start:
				// the closing operator draws this stretch
			default:
				d = append(d, canvas.LineToCmd, s.P3.X, s.P3.Y, canvas.LineToCmd)
			}
		}
		if closed {
			d = append(d, canvas.CloseCmd, start.X, start.Y, canvas.CloseCmd)
		}
	}
	c.data = d
	return d
}

// Size is the largest page; a content stream has no size of its own.
func (c *content) Size() (float64, float64) { return maxPage, maxPage }

// RenderPath draws a path in plain colours, fill before stroke. Arcs are refused: canvas turns them
// into cubics that miss the circle by 0.2 % of its radius, which no pattern can bear.
func (c *content) RenderPath(p *canvas.Path, style canvas.Style, m canvas.Matrix) {
	d := p.Data()
	for i := 0; i < len(d); i += cmdLen(d[i]) {
		if d[i] == canvas.ArcToCmd {
			c.fail("arc", "arcs are not drawn")
			return
		}
	}
	c.paint(d, style, m)
}

func (c *content) paint(d []float64, style canvas.Style, m canvas.Matrix) {
	fill, stroke := style.HasFill(), style.HasStroke()
	if !fill && !stroke || len(d) == 0 {
		return
	}
	if fill && !style.Fill.IsColor() || stroke && !style.Stroke.IsColor() {
		c.fail("paint", "gradients and patterns are not drawn")
		return
	}
	if fill {
		c.pen.setFill(c, style.Fill.Color)
	}
	if stroke {
		c.pen.setStroke(c, style.Stroke.Color)
		c.pen.setWidth(c, style.StrokeWidth)
		c.pen.setDash(c, style.Dashes)
	}
	c.pathOps(d, m)
	switch {
	case !fill:
		c.op("S")
	case style.FillRule == canvas.EvenOdd:
		c.op(map[bool]string{true: "B*", false: "f*"}[stroke])
	default:
		c.op(map[bool]string{true: "B", false: "f"}[stroke])
	}
}

func (c *content) pathOps(d []float64, m canvas.Matrix) {
	plain := m == canvas.Identity
	b := c.buf
	xy := func(x, y float64) {
		if !plain {
			q := m.Dot(canvas.Point{X: x, Y: y})
			x, y = q.X, q.Y
		}
		b = append(appendNum(append(appendNum(b, x), ' '), y), ' ')
	}
	var px, py float64
	for i := 0; i < len(d); {
		n := cmdLen(d[i])
		x, y := d[i+n-3], d[i+n-2]
		switch d[i] {
		case canvas.MoveToCmd:
			xy(x, y)
			b = append(b, "m\n"...)
		case canvas.LineToCmd:
			xy(x, y)
			b = append(b, "l\n"...)
		case canvas.QuadToCmd:
			qx, qy := d[i+1], d[i+2]
			xy(px+(qx-px)*2/3, py+(qy-py)*2/3)
			xy(x+(qx-x)*2/3, y+(qy-y)*2/3)
			xy(x, y)
			b = append(b, "c\n"...)
		case canvas.CubeToCmd:
			xy(d[i+1], d[i+2])
			xy(d[i+3], d[i+4])
			xy(x, y)
			b = append(b, "c\n"...)
		case canvas.CloseCmd:
			b = append(b, "h\n"...)
		}
		px, py = x, y
		i += n
	}
	c.buf = b
}

// cmdLen is how many numbers a path command takes in canvas's storage.
func cmdLen(cmd float64) int {
	switch cmd {
	case canvas.QuadToCmd:
		return 6
	case canvas.CubeToCmd, canvas.ArcToCmd:
		return 8
	}
	return 4
}

// RenderText shows a shaped text as glyphs, in the colour that is set.
func (c *content) RenderText(t *canvas.Text, m canvas.Matrix) {
	t.WalkSpans(func(x, y float64, span canvas.TextSpan) {
		face := c.faceOf(span.Face)
		if face < 0 {
			c.fail("font", "text in a font that is not the house's")
			return
		}
		c.faces[face] = true
		// The matrix carries turn and size; the size goes to Tf so that readers can tell it.
		k := m[0][0]
		level := m[0][1] == 0 && m[1][0] == 0 && k == m[1][1]
		if !level {
			k = math.Hypot(m[0][0], m[1][0])
		}
		if k == 0 {
			return
		}
		at := m.Dot(canvas.Point{X: x, Y: y})
		c.op("BT")
		size := k * span.Face.Size
		if c.pen.face != face || c.pen.size != size {
			c.pen.face, c.pen.size = face, size
			c.buf = appendNum(append(appendInt(append(c.buf, "/F"...), int64(face)), ' '), size)
			c.op(" Tf")
		}
		if level {
			c.buf = appendNums(c.buf, at.X, at.Y)
			c.op("Td")
		} else {
			c.buf = appendNums(c.buf, m[0][0]/k, m[1][0]/k, m[0][1]/k, m[1][1]/k, at.X, at.Y)
			c.op("Tm")
		}
		c.glyphs(face, span)
		c.op("ET")
	})
}

func (c *content) faceOf(f *canvas.FontFace) int {
	for i, own := range c.fonts.faces {
		if own.Font == f.Font {
			return i
		}
	}
	return -1
}

// glyphs writes one TJ: glyph numbers of the whole font in hex, and where the shaped advance differs
// from the font's own, the difference in thousandths of an em.
func (c *content) glyphs(face int, span canvas.TextSpan) {
	sfnt := span.Face.Font.SFNT
	em := float64(sfnt.Head.UnitsPerEm)
	b := c.buf
	b = append(b, '[')
	open := false
	shift := func(units int32) { // a positive shift moves right
		if units == 0 {
			return
		}
		if open {
			b = append(b, '>')
			open = false
		}
		b = appendNum(b, -float64(units)*1000/em)
	}
	rise := int32(0)
	for _, g := range span.Glyphs {
		c.inks.mark(face, g.ID, g.Text)
		if g.YOffset != rise {
			if open {
				b = append(b, '>')
				open = false
			}
			rise = g.YOffset
			b = append(b, "]TJ "...)
			b = append(appendNum(b, float64(rise)*c.pen.size/em), " Ts ["...)
		}
		shift(g.XOffset)
		if !open {
			b = append(b, '<')
			open = true
		}
		const hex = "0123456789ABCDEF"
		b = append(b, hex[g.ID>>12], hex[g.ID>>8&15], hex[g.ID>>4&15], hex[g.ID&15])
		shift(g.XAdvance - int32(sfnt.GlyphAdvance(g.ID)) - g.XOffset)
	}
	if open {
		b = append(b, '>')
	}
	b = append(b, "]TJ\n"...)
	if rise != 0 {
		b = append(b, "0 Ts\n"...)
	}
	c.buf = b
}

// RenderImage is refused: a pattern is lines and letters.
func (c *content) RenderImage(image.Image, canvas.Matrix) {
	c.fail("image", "images are not drawn")
}

func (c *content) fail(rule, detail string) {
	if c.err == nil {
		c.err = pattern.Fault{Rule: "pdf_" + rule, Detail: detail, Remedy: "draw it with lines, cubics, plain colours and text"}
	}
}

func (g *graphics) setStroke(c *content, k color.RGBA) {
	if g.stroke != k {
		g.stroke = k
		c.color(k, "G", "RG")
	}
}

func (g *graphics) setFill(c *content, k color.RGBA) {
	if g.fill != k {
		g.fill = k
		c.color(k, "g", "rg")
	}
}

func (g *graphics) textFill(c *content, k color.RGBA) { g.setFill(c, k) }

func (c *content) color(k color.RGBA, gray, rgb string) {
	part := func(v uint8) float64 { return math.Round(float64(v)/255*1000) / 1000 }
	if k.R == k.G && k.G == k.B {
		c.buf = appendNums(c.buf, part(k.R))
		c.op(gray)
		return
	}
	c.buf = appendNums(c.buf, part(k.R), part(k.G), part(k.B))
	c.op(rgb)
}

func (g *graphics) setWidth(c *content, w float64) {
	if g.width != w {
		g.width = w
		c.buf = appendNums(c.buf, w)
		c.op("w")
	}
}

func (g *graphics) setDash(c *content, dash []float64) {
	kind := 1
	if len(dash) > 0 {
		kind = 2
	}
	if g.dashed == kind && equal(g.dash, dash) {
		return
	}
	g.dashed, g.dash = kind, dash
	c.buf = append(c.buf, '[')
	c.buf = appendNums(c.buf, dash...)
	c.op("] 0 d")
}

func equal(a, b []float64) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
