package sheet

import (
	"strings"
	"unicode/utf8"

	"sizerun/internal/geom"
)

// setter sets words: it knows their width, mends what the faces cannot show, and cuts what has no
// room. It remembers, because a label is measured many times while a place is looked for.
type setter struct {
	m      Metrics
	widths map[setKey]float64
	clean  map[string]string
	dots   string
	dense  float64 // how close page 1 is set, 1 or a little less
	large  float64 // how large words on the pieces are set, 1 or more
}

type setKey struct {
	f Face
	s string
}

func newSetter(m Metrics) *setter {
	t := &setter{m: m, widths: map[setKey]float64{}, clean: map[string]string{}, dots: "…", dense: 1, large: 1}
	if len(m.Missing("…")) > 0 {
		t.dots = "..."
	}
	return t
}

// say is s as it can be printed: one line, no control characters, '?' for what the faces lack.
func (t *setter) say(s string) string {
	if c, ok := t.clean[s]; ok {
		return c
	}
	in := s
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "?")
	}
	n := 0
	cut := len(s)
	for i := range s {
		if n == MaxText {
			cut = i
			break
		}
		n++
	}
	if cut < len(s) {
		s = s[:cut] + t.dots
	}
	s = strings.Map(func(r rune) rune {
		if r < 0x20 || r == 0x7f || r >= 0x80 && r < 0xa0 || r == '\u2028' || r == '\u2029' {
			return ' '
		}
		return r
	}, s)
	missing := map[rune]bool{}
	for _, r := range t.m.Missing(s) {
		missing[r] = true
	}
	if len(missing) > 0 {
		s = strings.Map(func(r rune) rune {
			if missing[r] {
				return '?'
			}
			return r
		}, s)
	}
	s = strings.Join(strings.Fields(s), " ")
	t.clean[in] = s
	return s
}

// width of s in mm at an em of size.
func (t *setter) width(f Face, size float64, s string) float64 {
	k := setKey{f, s}
	w, ok := t.widths[k]
	if !ok {
		w = t.m.Width(f, s)
		if !(w >= 0) { // a measure that fails must not let words run over lines
			w = float64(len(s))
		}
		t.widths[k] = w
	}
	return w * size
}

func (t *setter) ascent(f Face, size float64) float64  { return t.m.Ascent(f) * size }
func (t *setter) descent(f Face, size float64) float64 { return t.m.Descent(f) * size }

// fit is s shortened by an ellipsis to at most w mm.
func (t *setter) fit(f Face, size float64, s string, w float64) string {
	s = t.say(s)
	if t.width(f, size, s) <= w {
		return s
	}
	rs := []rune(s)
	lo, hi := 0, len(rs)
	for lo < hi {
		m := (lo + hi + 1) / 2
		if t.width(f, size, strings.TrimRight(string(rs[:m]), " ")+t.dots) <= w {
			lo = m
		} else {
			hi = m - 1
		}
	}
	if lo == 0 {
		if t.width(f, size, t.dots) <= w {
			return t.dots
		}
		return ""
	}
	return strings.TrimRight(string(rs[:lo]), " ") + t.dots
}

// wrap breaks s into at most n lines of w mm, between words where it can; the last is shortened.
func (t *setter) wrap(f Face, size float64, s string, w float64, n int) []string {
	s = t.say(s)
	w += 1e-6 // a column as wide as its widest word holds it, whatever the rounding
	var out []string
	for {
		whole := t.width(f, size, s)
		if whole <= w {
			return append(out, s)
		}
		if len(out) == n-1 {
			return append(out, t.fit(f, size, s, w))
		}
		end := t.take(f, size, s, w, int(w/whole*float64(len(s))))
		if end == 0 { // a word longer than the line is broken
			word, _, _ := strings.Cut(s, " ")
			end = t.prefix(f, size, word, w)
		}
		out = append(out, s[:end])
		if s = strings.TrimPrefix(s[end:], " "); s == "" {
			return out
		}
	}
}

// take is how many bytes of s, whole words, fit in w; about guess, most likely. 0 when the first does not.
func (t *setter) take(f Face, size float64, s string, w float64, guess int) int {
	end := strings.LastIndexByte(s[:min(guess+1, len(s))], ' ')
	if end < 0 {
		end = strings.IndexByte(s, ' ')
	}
	if end < 0 {
		return 0
	}
	if t.width(f, size, s[:end]) > w {
		for end > 0 && t.width(f, size, s[:end]) > w {
			end = max(0, strings.LastIndexByte(s[:end], ' '))
		}
		return end
	}
	for end < len(s) {
		next := len(s)
		if k := strings.IndexByte(s[end+1:], ' '); k >= 0 {
			next = end + 1 + k
		}
		if t.width(f, size, s[:next]) > w {
			break
		}
		end = next
	}
	return end
}

// prefix is how many bytes of s fit in w, at least one rune.
func (t *setter) prefix(f Face, size float64, s string, w float64) int {
	last := 0
	for i, r := range s {
		end := i + utf8.RuneLen(r)
		if last > 0 && t.width(f, size, s[:end]) > w {
			break
		}
		last = end
	}
	return last
}

// box is the room that x takes.
func (t *setter) box(x Text) box {
	return textBox(x, t.width(x.Face, x.Size, x.S), t.ascent(x.Face, x.Size), t.descent(x.Face, x.Size))
}

func textBox(x Text, w, asc, desc float64) box {
	u := geom.Vec{X: 1}.Rotate(x.Angle)
	mid := 0.0
	switch x.Align {
	case Left:
		mid = w / 2
	case Right:
		mid = -w / 2
	}
	return box{c: x.At.Add(u.Mul(mid)).Add(u.Left().Mul((asc - desc) / 2)), u: u, hw: w / 2, hh: (asc + desc) / 2}
}
