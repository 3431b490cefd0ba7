package pdf

import (
	"fmt"
	"image/color"
	"runtime"
	"strings"
	"sync"

	"github.com/go-fonts/dejavu/dejavusanscondensed"
	"github.com/go-fonts/dejavu/dejavusanscondensedbold"
	"github.com/tdewolff/canvas"
	"golang.org/x/text/unicode/bidi"

	"sizerun/internal/sheet"
)

// The house family is DejaVu Sans Condensed: narrow enough for labels on small pieces, and it has
// the fractions of an inch, arrows, and the letters of Latin, Greek and Cyrillic languages with all
// their marks, in both weights. Its licence (LICENSE-DejaVu.txt beside this file) allows embedding
// and selling documents.
const (
	faceCount  = int(sheet.Bold) + 1
	familyName = "DejaVu Sans Condensed"
)

// psNames are the PostScript names of the faces; a PDF name with spaces would need escaping.
var psNames = [faceCount]string{sheet.Regular: "DejaVuSansCondensed", sheet.Bold: "DejaVuSansCondensed-Bold"}

// memoLabels bounds the shaped labels that a Fonts remembers. A pattern has about a thousand; when
// the memo is full it is emptied, which costs time and never changes an answer.
const memoLabels = 8192

// Fonts measures and shapes text in the house family. It is a worker's own: the font library keeps
// scratch space, so one Fonts must not be used by two goroutines at once. Take one per worker from
// Faces, or borrow one from a Pool.
type Fonts struct {
	faces [faceCount]*canvas.FontFace // em of 1 mm
	memo  map[label]*shaped
	has   map[rune]bool
	last  [faceCount]struct {
		glyphs  []uint16
		program []byte
	}
}

type label struct {
	face sheet.Face
	s    string
}

// shaped is a line of text at an em of 1 mm, its start at the origin.
type shaped struct {
	text  *canvas.Text
	width float64
}

var _ sheet.Metrics = (*Fonts)(nil)

// Faces loads the embedded family. It takes some milliseconds: a worker does it once.
func Faces() (*Fonts, error) {
	f := &Fonts{memo: map[label]*shaped{}, has: map[rune]bool{}}
	family := canvas.NewFontFamily(familyName)
	for face, src := range [faceCount]struct {
		ttf   []byte
		style canvas.FontStyle
	}{
		sheet.Regular: {dejavusanscondensed.TTF, canvas.FontRegular},
		sheet.Bold:    {dejavusanscondensedbold.TTF, canvas.FontBold},
	} {
		if err := family.LoadFont(src.ttf, 0, src.style); err != nil {
			return nil, fmt.Errorf("pdf: load %s: %w", familyName, err)
		}
		f.faces[face] = family.Face(72/25.4, canvas.Black, src.style)
	}
	return f, nil
}

// Pool lends Fonts to goroutines, each to one at a time. The zero Pool is ready.
// It keeps as many idle ones as there are cores: loading takes longer than a whole document, so they
// must outlive the garbage collector, which empties a sync.Pool.
type Pool struct {
	mu   sync.Mutex
	idle []*Fonts
}

// Borrow hands out an idle Fonts or loads a new one.
func (p *Pool) Borrow() (*Fonts, error) {
	p.mu.Lock()
	if n := len(p.idle); n > 0 {
		f := p.idle[n-1]
		p.idle = p.idle[:n-1]
		p.mu.Unlock()
		return f, nil
	}
	p.mu.Unlock()
	return Faces()
}

// Return gives f back; the borrower must not use it any more.
func (p *Pool) Return(f *Fonts) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if len(p.idle) < runtime.GOMAXPROCS(0) {
		p.idle = append(p.idle, f)
	}
}

// Width is the advance of s in mm for an em of 1 mm, kerned and shaped as it will be drawn.
func (f *Fonts) Width(face sheet.Face, s string) float64 { return f.shape(face, s).width }

// Ascent is the height of a capital above the baseline, em = 1.
func (f *Fonts) Ascent(face sheet.Face) float64 { return f.face(face).Metrics().CapHeight }

// Descent is the depth below the baseline, positive, em = 1.
func (f *Fonts) Descent(face sheet.Face) float64 { return f.face(face).Metrics().Descent }

// Missing lists each rune of s that cannot be drawn, once, in order of appearance: a letter that a
// face lacks (there is no second family to fall back on), a control character, or a letter of a
// script that runs from right to left, for which the shaper is not to be trusted.
func (f *Fonts) Missing(s string) []rune {
	var out []rune
next:
	for _, r := range s {
		if f.drawable(r) {
			continue
		}
		for _, seen := range out {
			if seen == r {
				continue next
			}
		}
		out = append(out, r)
	}
	return out
}

func (f *Fonts) drawable(r rune) bool {
	ok, known := f.has[r]
	if !known {
		ok = r >= ' ' && leftToRight(r)
		for _, face := range f.faces {
			ok = ok && face.Font.GlyphIndex(r) != 0
		}
		if len(f.has) < memoLabels {
			f.has[r] = ok
		}
	}
	return ok
}

// leftToRight tells whether r leaves the direction of a line alone. The shaper's account of which
// glyph stands for which letters goes wrong, and panics, in runs that go the other way.
func leftToRight(r rune) bool {
	p, _ := bidi.LookupRune(r)
	switch p.Class() {
	case bidi.R, bidi.AL, bidi.AN, bidi.RLO, bidi.RLE, bidi.RLI, bidi.LRO, bidi.LRE, bidi.LRI, bidi.FSI, bidi.PDF, bidi.PDI, bidi.BN:
		return false
	}
	return true
}

// face reads an unknown Face as Regular; check refuses it before anything is drawn.
func (f *Fonts) face(face sheet.Face) *canvas.FontFace {
	if face < 0 || int(face) >= faceCount {
		face = sheet.Regular
	}
	return f.faces[face]
}

func (f *Fonts) shape(face sheet.Face, s string) *shaped {
	k := label{face, s}
	if t, ok := f.memo[k]; ok {
		return t
	}
	if len(f.memo) >= memoLabels {
		clear(f.memo)
	}
	if len(f.Missing(s)) > 0 { // still to be measured, though check will refuse to draw it
		s = strings.Map(func(r rune) rune {
			if f.drawable(r) {
				return r
			}
			return '?'
		}, s)
	}
	t := &shaped{text: canvas.NewTextLine(f.face(face), s, canvas.Left)}
	t.text.WalkSpans(func(_, _ float64, span canvas.TextSpan) { t.width += span.Width })
	f.memo[k] = t
	return t
}

func rgba(c sheet.RGB) color.RGBA {
	part := func(v float64) uint8 { return uint8(v*255 + 0.5) }
	return color.RGBA{part(c.R), part(c.G), part(c.B), 255}
}
