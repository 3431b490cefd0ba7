package document

import (
	"math"
	"strconv"
	"unicode/utf8"

	"sizerun/internal/geom"
)

// writer puts JSON together: one member or item to a line, short things on one line.
type writer struct {
	b     []byte
	depth int
	flat  int  // > 0: everything on one line
	first bool // nothing written in the innermost list or object yet
}

func (w *writer) open(c byte) {
	w.b = append(w.b, c)
	w.depth++
	w.first = true
}

func (w *writer) close(c byte) {
	w.depth--
	if !w.first {
		w.line()
	}
	w.b = append(w.b, c)
	w.first = false
}

func (w *writer) line() {
	if w.flat > 0 {
		return
	}
	w.b = append(w.b, '\n')
	for range w.depth {
		w.b = append(w.b, ' ', ' ')
	}
}

// next separates items.
func (w *writer) next() {
	if !w.first {
		w.b = append(w.b, ',')
		if w.flat > 0 {
			w.b = append(w.b, ' ')
		}
	}
	w.line()
	w.first = false
}

// object and list write their content by f; inline ones stay on one line.
func (w *writer) object(inline bool, f func()) { w.group('{', '}', inline, f) }
func (w *writer) list(inline bool, f func())   { w.group('[', ']', inline, f) }

func (w *writer) group(open, end byte, inline bool, f func()) {
	if inline {
		w.flat++
	}
	w.open(open)
	f()
	w.close(end)
	if inline {
		w.flat--
	}
}

func (w *writer) key(k string) {
	w.next()
	w.str(k)
	w.b = append(w.b, ':', ' ')
}

func (w *writer) str(s string) {
	const hex = "0123456789abcdef"
	w.b = append(w.b, '"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			w.b = append(w.b, '\\', byte(r))
		case r < 0x20:
			w.b = append(w.b, '\\', 'u', '0', '0', hex[r>>4], hex[r&15])
		default:
			w.b = utf8.AppendRune(w.b, r)
		}
	}
	w.b = append(w.b, '"')
}

func (w *writer) bool(v bool) { w.b = strconv.AppendBool(w.b, v) }
func (w *writer) int(v int)   { w.b = strconv.AppendInt(w.b, int64(v), 10) }

// mm writes a length rounded to a thousandth of a millimetre.
func (w *writer) mm(v float64) { w.plain(math.Round(v*1000) / 1000) }

// plain writes a number as exactly as it needs, without an exponent and without a minus zero.
func (w *writer) plain(v float64) {
	if v == 0 {
		v = 0
	}
	n := len(w.b)
	w.b = strconv.AppendFloat(w.b, v, 'f', -1, 64)
	if len(w.b)-n > 40 {
		w.b = strconv.AppendFloat(w.b[:n], v, 'e', -1, 64)
	}
}

func (w *writer) point(p geom.Point) { w.pair(p.X, p.Y) }

func (w *writer) pair(x, y float64) {
	w.list(true, func() {
		w.next()
		w.mm(x)
		w.next()
		w.mm(y)
	})
}

func (w *writer) points(pts []geom.Point) {
	w.list(true, func() {
		for _, p := range pts {
			w.next()
			w.point(p)
		}
	})
}

func (w *writer) textIf(k, s string) {
	if s != "" {
		w.key(k)
		w.str(s)
	}
}
