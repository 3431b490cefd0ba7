package sheet

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
)

// A join is the border that two neighbouring pages share. It has a name of its own, a letter for
// the row and a number within it, and a mark that falls into two halves: a triangle on each page,
// which meet when the pages are glued right.

// joinMark is one half, in the plane, on the page at cell.
type joinMark struct {
	on    cell
	name  string
	lines []geom.Path // the triangle, and a tail
	text  *Text       // nil when the name found no room: the halves still meet
}

const (
	triDeep = 4.0
	triHalf = 2.6
	joinEm  = 3.2
	joinOff = 0.6 // from the border, whose own line is no obstacle to its mark
)

// rowLetters names rows A, B, … Z, AA, AB …
func rowLetters(r int) string {
	s := ""
	for r++; r > 0; r = (r - 1) / 26 {
		s = string(rune('A'+(r-1)%26)) + s
	}
	return s
}

// placeJoins marks every border between two printed pages, in the middle or as near to it as both
// halves are clear of lines.
func (pl *plane) placeJoins(t *setter) {
	for r := range pl.rows {
		n := 0
		name := func() string { n++; return fmt.Sprintf("%s%d", rowLetters(r), n) }
		for c := 0; c+1 < pl.cols; c++ {
			a, b := cell{c, r}, cell{c + 1, r}
			if pl.inked(a) && pl.inked(b) && (pl.glued || pl.crossed(a, b)) {
				x, y := float64(c+1)*pl.f.tw, pl.rect(a).Min.Y
				pl.join(name(), a, b, geom.Pt(x, y), geom.Vec{Y: 1}, pl.f.th, t)
			}
		}
		for c := 0; c < pl.cols && r+1 < pl.rows; c++ {
			a, b := cell{c, r}, cell{c, r + 1}
			if pl.inked(a) && pl.inked(b) && (pl.glued || pl.crossed(a, b)) {
				x, y := float64(c)*pl.f.tw, pl.rect(a).Min.Y
				// Walking right along the border, the page above lies on the left hand.
				pl.join(name(), a, b, geom.Pt(x, y), geom.Vec{X: 1}, pl.f.tw, t)
			}
		}
	}
}

// crossed reports whether a line runs from one page to the other.
func (pl *plane) crossed(a, b cell) bool {
	ra, rb := pl.rect(a).Inset(-0.01), pl.rect(b).Inset(-0.01)
	edge := geom.Rect{Min: geom.Pt(max(ra.Min.X, rb.Min.X), max(ra.Min.Y, rb.Min.Y)), Max: geom.Pt(min(ra.Max.X, rb.Max.X), min(ra.Max.Y, rb.Max.Y))}
	for i, n := range pl.nests {
		for _, l := range n.lines {
			if l.half >= 0 && segmentMeetsRect(l.a.Add(pl.move[i]), l.b.Add(pl.move[i]), edge) {
				return true
			}
		}
	}
	return false
}

// half is one half of a mark that might be made.
type half struct {
	tri  geom.Path
	tail geom.Path // from the tip to a name that stands off; nil when it stands at the tip
	text Text
	room box // of triangle, tail and name
}

// half makes the half at m on the border, pointing in, with the name off mm away from the tip.
func (pl *plane) half(name string, m geom.Point, along, in geom.Vec, off float64, t *setter) half {
	tip := m.Add(in.Mul(triDeep))
	h := half{tri: geom.Polyline(m.Add(along.Mul(-triHalf)), tip, m.Add(along.Mul(triHalf)))}
	asc, w := t.ascent(Bold, joinEm), t.width(Bold, joinEm, name)
	reach := w // of the name, in the direction in
	if in.X == 0 {
		reach = asc
	}
	c := tip.Add(in.Mul(0.9 + off + reach/2))
	if off > 0 {
		h.tail = geom.Polyline(tip, tip.Add(in.Mul(off)))
	}
	long := (triDeep + 0.9 + off + reach) / 2
	h.room = box{m.Add(in.Mul(joinOff + long)), in, long, math.Max(triHalf, asc/2) + 0.2}
	if in.X == 0 {
		h.room.hh = math.Max(triHalf, w/2) + 0.2
	}
	h.text = Text{At: geom.Pt(c.X, c.Y-asc/2), S: name, Face: Bold, Size: joinEm, Align: Center}
	return h
}

// join marks the border that starts at p and runs along u for l; page a lies on its left.
func (pl *plane) join(name string, a, b cell, p geom.Point, u geom.Vec, l float64, t *setter) {
	const edge, step, far = 12.0, 3.0, 60.0
	left, right := u.Left(), u.Left().Neg()
	var ha, hb half
	ok := false
	// The middle first, then away from it on both sides.
	for k := 0.0; k <= l/2-edge && !ok; k += step {
		for _, s := range []float64{l/2 + k, l/2 - k} {
			m := p.Add(u.Mul(s))
			x, y := pl.half(name, m, u, left, 0, t), pl.half(name, m, u, right, 0, t)
			if pl.free(x.room, 0.3, 0.3, nobody) && pl.free(y.room, 0.3, 0.3, nobody) {
				ha, hb, ok = x, y, true
				break
			}
		}
	}
	// Where lines lie all along the border the triangle crosses them, and only its name needs room:
	// at the end of a tail if need be, the shorter the better.
	if !ok {
		off := func(m geom.Point, in geom.Vec, most float64) (half, float64) {
			for o := 0.0; o < most; o += step / 2 {
				h := pl.half(name, m, u, in, o, t)
				if pl.free(t.box(h.text), 0.3, 0.3, nobody) && pl.ix.silent(h.room) {
					return h, o
				}
			}
			return half{}, most
		}
		best := 2 * far
		for s := edge; s <= l-edge; s += step {
			m := p.Add(u.Mul(s))
			x, ox := off(m, left, math.Min(far, best))
			if ox >= best {
				continue
			}
			y, oy := off(m, right, math.Min(far, best-ox))
			if x.tri != nil && y.tri != nil && ox+oy < best {
				ha, hb, ok, best = x, y, true, ox+oy
			}
		}
	}
	named := ok
	if !ok {
		m := p.Add(u.Mul(l / 2))
		ha, hb = pl.half(name, m, u, left, 0, t), pl.half(name, m, u, right, 0, t)
	}
	for _, m := range []struct {
		on cell
		h  half
	}{{a, ha}, {b, hb}} {
		jm := joinMark{on: m.on, name: name, lines: []geom.Path{m.h.tri}}
		if m.h.tail != nil {
			jm.lines = append(jm.lines, m.h.tail)
		}
		if named {
			x := m.h.text
			jm.text = &x
			pl.ix.word(t.box(x))
		}
		for _, ph := range jm.lines {
			for _, s := range ph {
				pl.ix.add(line{s.P0, s.P3, 0.15, nobody})
			}
		}
		pl.marks = append(pl.marks, jm)
	}
}
