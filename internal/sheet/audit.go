package sheet

import (
	"fmt"

	"sizerun/internal/geom"
)

// Audit reads a finished Document the way a critical eye does and lists what is wrong with it: a
// word over a line or over another word, anything outside the printable area, text that the faces
// cannot show. A sound Document gives none. It shares no bookkeeping with Layout: it looks only at what
// will be printed.
func Audit(d Document, margin float64, m Metrics) []string {
	var out []string
	t := newSetter(m)
	flats := make([][]line, len(d.Forms))
	for i, f := range d.Forms {
		flats[i] = inkLines(f.Items)
		for _, l := range fillLines(f.Items) {
			flats[i] = append(flats[i], line{l.a, l.b, -1, nobody})
		}
		for _, l := range flats[i] {
			if l.half < 0 {
				continue
			}
			r := geom.EmptyRect().Add(l.a).Add(l.b).Inset(-l.half)
			if r.Union(f.Bounds) != f.Bounds && !nearlyIn(r, f.Bounds) {
				out = append(out, fmt.Sprintf("form %q draws outside its bounds", f.Name))
				break
			}
		}
	}
	for n, pg := range d.Pages {
		where := fmt.Sprintf("page %d (%s)", n+1, pg.Label)
		area := geom.Rect{Min: geom.Pt(margin, margin), Max: geom.Pt(pg.W-margin, pg.H-margin)}
		ix := newIndex(geom.Rect{Max: geom.Pt(pg.W, pg.H)}, nil)
		put := func(l line) {
			ix.add(l)
			if !nearlyIn(geom.EmptyRect().Add(l.a).Add(l.b).Inset(-l.half), area) {
				out = append(out, fmt.Sprintf("%s: a line at (%.1f, %.1f) runs out of the printable area", where, l.a.X, l.a.Y))
			}
		}
		type said struct {
			x    Text
			b    box
			clip *geom.Rect
		}
		var words []said
		for _, it := range pg.Items {
			if it.Layer != NoLayer && d.Layers[it.Layer].Ground {
				continue
			}
			for _, l := range inkLines([]Item{it}) {
				put(l)
			}
		}
		for _, it := range pg.Items {
			switch {
			case it.Text != nil:
				words = append(words, said{*it.Text, t.box(*it.Text), nil})
			case it.Use != nil:
				u := it.Use
				if !nearlyIn(u.Clip, area) {
					out = append(out, where+": a window reaches out of the printable area")
				}
				shows := false
				for _, l := range flats[u.Form] {
					a, b := l.a.Add(u.Move), l.b.Add(u.Move)
					if segmentMeetsRect(a, b, u.Clip) {
						shows = true
						if l.half < 0 { // the edge of a fill: seen, but no obstacle
							continue
						}
						a, b = cutSegment(a, b, u.Clip)
						ix.add(line{a, b, l.half, nobody})
					}
				}
				for _, fi := range d.Forms[u.Form].Items {
					if fi.Text != nil {
						x := *fi.Text
						x.At = x.At.Add(u.Move)
						clip := u.Clip
						words = append(words, said{x, t.box(x), &clip})
						shows = true
					}
				}
				if !shows {
					out = append(out, fmt.Sprintf("%s: form %q is used and shows nothing", where, d.Forms[u.Form].Name))
				}
			}
		}
		for i, w := range words {
			if miss := m.Missing(w.x.S); len(miss) > 0 {
				out = append(out, fmt.Sprintf("%s: %q has runes without a glyph", where, w.x.S))
			}
			if w.clip == nil {
				if !w.b.inside(area.Inset(-1e-6)) {
					out = append(out, fmt.Sprintf("%s: the words %q run out of the printable area", where, w.x.S))
				}
				if !ix.free(w.b, 0, 0, nobody) {
					out = append(out, fmt.Sprintf("%s: the words %q lie over a line at (%.1f, %.1f)", where, w.x.S, w.b.c.X, w.b.c.Y))
				}
			}
			for _, o := range words[:i] {
				if seen(w.b, w.clip).grow(-1e-6).hits(seen(o.b, o.clip)) {
					out = append(out, fmt.Sprintf("%s: the words %q lie over the words %q", where, w.x.S, o.x.S))
				}
			}
		}
	}
	return out
}

// seen is what of the box shows through the window.
func seen(b box, clip *geom.Rect) box {
	if clip == nil || b.inside(*clip) {
		return b
	}
	r := b.bounds()
	r = geom.Rect{
		Min: geom.Pt(max(r.Min.X, clip.Min.X), max(r.Min.Y, clip.Min.Y)),
		Max: geom.Pt(min(r.Max.X, clip.Max.X), min(r.Max.Y, clip.Max.Y)),
	}
	return rectBox(r)
}

// nearlyIn allows for rounding and for the flattening of curves.
func nearlyIn(r, area geom.Rect) bool {
	a := area.Inset(-0.06)
	return r.Min.X >= a.Min.X && r.Min.Y >= a.Min.Y && r.Max.X <= a.Max.X && r.Max.Y <= a.Max.Y
}

// inkLines are the straight stretches of all strokes. Fills are no obstacle to words: the map
// writes page numbers on them.
func inkLines(items []Item) []line {
	var out []line
	for _, it := range items {
		if it.Stroke == nil {
			continue
		}
		for _, p := range it.Stroke.Paths {
			pts := p.Flatten(flat)
			if it.Stroke.Closed && len(pts) > 0 {
				pts = append(pts, pts[0])
			}
			for i := 1; i < len(pts); i++ {
				out = append(out, line{pts[i-1], pts[i], it.Stroke.Pen.Width / 2, nobody})
			}
		}
	}
	return out
}

// fillLines are the edges of all fills.
func fillLines(items []Item) []line {
	var out []line
	for _, it := range items {
		if it.Fill == nil {
			continue
		}
		for _, p := range it.Fill.Paths {
			pts := p.Flatten(flat)
			for i := 1; i < len(pts); i++ {
				out = append(out, line{pts[i-1], pts[i], 0, nobody})
			}
		}
	}
	return out
}

// cutSegment is what of the stretch from a to b lies in r, which it meets.
func cutSegment(a, b geom.Point, r geom.Rect) (geom.Point, geom.Point) {
	d := b.Sub(a)
	t0, t1 := 0.0, 1.0
	for _, s := range [4][2]float64{{-d.X, a.X - r.Min.X}, {d.X, r.Max.X - a.X}, {-d.Y, a.Y - r.Min.Y}, {d.Y, r.Max.Y - a.Y}} {
		switch {
		case s[0] < 0:
			t0 = max(t0, s[1]/s[0])
		case s[0] > 0:
			t1 = min(t1, s[1]/s[0])
		}
	}
	return a.Add(d.Mul(t0)), a.Add(d.Mul(t1))
}
