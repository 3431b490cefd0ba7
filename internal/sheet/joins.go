package sheet

import (
	"fmt"

	"sizerun/internal/geom"
)

// A join is the border that two neighbouring pages share. It has a name of its own, a letter for
// the row and a number within it, and a mark that falls into two halves: a triangle on each page,
// which meet when the pages are glued right.

// joinMark is one half, in the plane, on the page at cell.
type joinMark struct {
	on   cell
	name string
	tri  geom.Path
	text *Text // nil when the name found no room: the halves still meet
}

const (
	triDeep = 4.0
	triHalf = 2.6
	joinEm  = 3.2
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
			if pl.ink[a] && pl.ink[b] && (pl.glued || pl.crossed(a, b)) {
				x, y := float64(c+1)*pl.f.tw, pl.rect(a).Min.Y
				pl.join(name(), a, b, geom.Pt(x, y), geom.Vec{Y: 1}, pl.f.th, t)
			}
		}
		for c := 0; c < pl.cols && r+1 < pl.rows; c++ {
			a, b := cell{c, r}, cell{c, r + 1}
			if pl.ink[a] && pl.ink[b] && (pl.glued || pl.crossed(a, b)) {
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

// join marks the border that starts at p and runs along u for l; page a lies on its left.
func (pl *plane) join(name string, a, b cell, p geom.Point, u geom.Vec, l float64, t *setter) {
	type half struct {
		tri  geom.Path
		text Text
		room box // of triangle and name
	}
	at := func(s float64, in geom.Vec) half {
		m := p.Add(u.Mul(s))
		tip := m.Add(in.Mul(triDeep))
		h := half{tri: geom.Polyline(m.Add(u.Mul(-triHalf)), tip, m.Add(u.Mul(triHalf)))}
		asc := t.ascent(Bold, joinEm)
		w := t.width(Bold, joinEm, name)
		var c geom.Point
		if in.Y == 0 {
			c = tip.Add(in.Mul(0.9 + w/2))
			h.room = box{m.Add(in.Mul(0.4 + (triDeep+0.9+w)/2)), geom.Vec{X: 1}, (triDeep + 0.9 + w) / 2, triHalf + 0.2}
		} else {
			c = tip.Add(in.Mul(0.9 + asc/2))
			h.room = box{m.Add(in.Mul(0.4 + (triDeep+0.9+asc)/2)), geom.Vec{X: 1}, max(triHalf, w/2) + 0.2, (triDeep + 0.9 + asc) / 2}
		}
		h.text = Text{At: geom.Pt(c.X, c.Y-asc/2), S: name, Face: Bold, Size: joinEm, Align: Center}
		return h
	}
	left, right := u.Left(), u.Left().Neg()
	edge := 12.0
	var ha, hb half
	ok := false
	// The middle first, then away from it on both sides; at last only the names need room.
	for pass := 0; pass < 2 && !ok; pass++ {
		for k := 0.0; k <= l/2-edge && !ok; k += 3 {
			for _, s := range []float64{l/2 + k, l/2 - k} {
				x, y := at(s, left), at(s, right)
				bx, by := x.room, y.room
				if pass == 1 {
					bx, by = t.box(x.text), t.box(y.text)
				}
				if pl.ix.free(bx, 0.3, 0.3, nobody) && pl.ix.free(by, 0.3, 0.3, nobody) {
					ha, hb, ok = x, y, true
					break
				}
			}
		}
	}
	if !ok {
		ha, hb = at(l/2, left), at(l/2, right)
	}
	for _, m := range []struct {
		on cell
		h  half
	}{{a, ha}, {b, hb}} {
		jm := joinMark{on: m.on, name: name, tri: m.h.tri}
		if ok || pl.ix.free(t.box(m.h.text), 0.3, 0.3, nobody) {
			x := m.h.text
			jm.text = &x
			pl.ix.word(m.h.room)
		}
		for i := range m.h.tri {
			pl.ix.add(line{m.h.tri[i].P0, m.h.tri[i].P3, 0.15, nobody})
		}
		pl.marks = append(pl.marks, jm)
	}
}
