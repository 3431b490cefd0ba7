package book

import (
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

// flow sets headings, paragraphs and tables down a page, and begins another when one is full.
type flow struct {
	d     sheet.Document
	m     sheet.Metrics
	paper sheet.Paper
	foot  [2]string // left and right; the page number is added
	y     float64   // the next line's top
	air   float64   // after a paragraph
}

// Sizes of type, mm of em height.
const (
	titleSize  = 7.0
	headSize   = 4.4
	textSize   = 3.2
	smallSize  = 2.5
	leading    = 1.45 // of the em
	pageMargin = 15.0
	footRoom   = 9.0
	paraAir    = 1.0 // after a paragraph
	stepIndent = 8.0 // of what stands after a mark
)

var (
	black = sheet.RGB{}
	grey  = sheet.RGB{R: 0.45, G: 0.45, B: 0.45}
	pale  = sheet.RGB{R: 0.72, G: 0.72, B: 0.72}
)

func newFlow(info sheet.Info, p sheet.Paper, m sheet.Metrics, foot [2]string) *flow {
	f := &flow{d: sheet.Document{Info: info}, m: m, paper: p, foot: foot, air: paraAir}
	f.page()
	return f
}

func (f *flow) left() float64  { return pageMargin }
func (f *flow) width() float64 { return f.paper.W - 2*pageMargin }
func (f *flow) bottom() float64 {
	return pageMargin + footRoom
}

// page begins a new page.
func (f *flow) page() {
	f.d.Pages = append(f.d.Pages, sheet.Page{W: f.paper.W, H: f.paper.H})
	f.y = f.paper.H - pageMargin
}

// need begins a new page unless h mm are left on this one.
func (f *flow) need(h float64) {
	if f.y-h < f.bottom() {
		f.page()
	}
}

func (f *flow) add(it sheet.Item) {
	p := &f.d.Pages[len(f.d.Pages)-1]
	it.Layer = sheet.NoLayer
	p.Items = append(p.Items, it)
}

func (f *flow) text(x, y, size float64, face sheet.Face, c sheet.RGB, s string) {
	if s = f.drawable(s); s != "" {
		f.add(sheet.Item{Text: &sheet.Text{At: geom.Pt(x, y), S: s, Face: face, Size: size, Color: c}})
	}
}

// drawable puts a question mark for what the faces have no letter for.
func (f *flow) drawable(s string) string {
	for _, r := range f.m.Missing(s) {
		s = strings.ReplaceAll(s, string(r), "?")
	}
	return s
}

func (f *flow) rule(y, length, width float64) {
	f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{{geom.Line(geom.Pt(f.left(), y), geom.Pt(f.left()+length, y))}},
		Pen: sheet.Pen{Width: width, Color: black}}})
}

// line sets one line and moves down.
func (f *flow) line(indent, size float64, face sheet.Face, c sheet.RGB, s string) {
	f.need(size * leading)
	f.y -= size * leading
	f.text(f.left()+indent, f.y+size*(leading-1)/2, size, face, c, s)
}

// wrap breaks a text into lines no wider than w. A word that is too long by itself is cut.
func (f *flow) wrap(s string, size float64, face sheet.Face, w float64) []string {
	var lines []string
	now := ""
	for _, word := range runs(f.drawable(s)) {
		next := word
		if now != "" {
			next = now + " " + word
		}
		if f.m.Width(face, next)*size <= w {
			now = next
			continue
		}
		if now != "" {
			lines = append(lines, now)
		}
		for f.m.Width(face, word)*size > w {
			r := []rune(word)
			n := len(r) - 1
			for n > 1 && f.m.Width(face, string(r[:n]))*size > w {
				n--
			}
			lines, word = append(lines, string(r[:n])), string(r[n:])
		}
		now = word
	}
	if now != "" {
		lines = append(lines, now)
	}
	return lines
}

// tall is how much height a text takes.
func (f *flow) tall(s string, size, indent float64) float64 {
	return float64(len(f.wrap(s, size, sheet.Regular, f.width()-indent))) * size * leading
}

func (f *flow) gap(h float64) { f.y -= h }

// heading keeps at least two lines of what follows on its page.
func (f *flow) heading(s string) {
	f.gap(3)
	f.need(headSize*leading + 2*textSize*leading)
	for _, l := range f.wrap(s, headSize, sheet.Bold, f.width()) {
		f.line(0, headSize, sheet.Bold, black, l)
	}
	if p := &f.d.Pages[len(f.d.Pages)-1]; p.Label == "" {
		p.Label = f.drawable(s)
	}
	f.gap(1)
}

// para sets a paragraph after a mark (a number, a dash) that hangs to its left.
func (f *flow) para(mark, s string) {
	indent := 0.0
	if mark != "" {
		indent = stepIndent
	}
	lines := f.wrap(s, textSize, sheet.Regular, f.width()-indent)
	if len(lines) > 0 && len(lines) < 12 {
		f.need(float64(len(lines)) * textSize * leading)
	}
	for i, l := range lines {
		f.line(indent, textSize, sheet.Regular, black, l)
		if i == 0 && mark != "" {
			f.text(f.left(), f.y+textSize*(leading-1)/2, textSize, sheet.Bold, black, mark)
		}
	}
	f.gap(f.air)
}

// done numbers the pages.
func (f *flow) done() sheet.Document {
	n := len(f.d.Pages)
	for i := range f.d.Pages {
		p := &f.d.Pages[i]
		num := "page " + itoa(i+1) + " of " + itoa(n)
		// A reader's page list tells what begins on a page: a teacher jumps to a size's drawing.
		if p.Label == "" {
			p.Label = num
		} else {
			p.Label = itoa(i+1) + ": " + p.Label
		}
		put := func(x float64, al sheet.Align, s string) {
			if s = f.drawable(s); s != "" {
				p.Items = append(p.Items, sheet.Item{Layer: sheet.NoLayer, Text: &sheet.Text{At: geom.Pt(x, pageMargin), S: s, Size: smallSize, Align: al, Color: grey}})
			}
		}
		put(f.left(), sheet.Left, f.short(f.foot[0], f.width()*0.45))
		put(f.paper.W/2+f.width()*0.12, sheet.Center, f.short(f.foot[1], f.width()*0.35))
		put(f.left()+f.width(), sheet.Right, num)
	}
	return f.d
}

// short cuts a line that is too wide, with an ellipsis.
func (f *flow) short(s string, w float64) string {
	r := []rune(f.drawable(s))
	for len(r) > 1 && f.m.Width(sheet.Regular, string(r))*smallSize > w {
		r = append(r[:len(r)-2:len(r)-2], '…')
	}
	return string(r)
}
