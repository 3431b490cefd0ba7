package sheet

import (
	"fmt"

	"sizerun/internal/geom"
)

// drawing is the plane made ready to be cut into pages: its Forms and where each of them shows.
type drawing struct {
	pl    *plane
	forms []Form
	uses  [][]use  // by page
	words [][]Item // words that lie on one page, in plane coordinates
}

type use struct {
	layer, form int
	move        geom.Vec // into the plane
}

// newDrawing makes the Forms: one per size and piece, one per nest for what is drawn once, one per
// word that lies across a page border.
func newDrawing(pl *plane, j Job, t *setter) *drawing {
	d := &drawing{pl: pl, uses: make([][]use, len(pl.ink)), words: make([][]Item, len(pl.ink))}
	for i := range pl.nests {
		n := &pl.nests[i]
		pc := j.Pieces[n.piece].Name
		for k := range n.sizes {
			if s := &n.sizes[k]; s.outline != nil {
				d.form(Form{Name: pc + " " + j.Sizes[k], Piece: pc, Bounds: s.bounds, Items: s.items}, k, pl.on[i][k], pl.move[i])
			}
		}
		if len(n.common) > 0 {
			f := Form{Name: pc, Piece: pc, Bounds: geom.EmptyRect(), Items: n.common}
			c := nest{bounds: geom.EmptyRect()}
			for _, it := range n.common {
				c.put(it)
			}
			f.Bounds = c.bounds
			d.form(f, NoLayer, pl.pages(c.lines, c.bounds, pl.move[i]), pl.move[i])
		}
	}
	for _, w := range pl.words {
		b := t.box(w.t)
		c := pl.cellAt(b.c)
		x := w.t
		if k := pl.at(c); k >= 0 && b.inside(pl.rect(c)) {
			d.words[k] = append(d.words[k], Item{Layer: w.layer, Text: &x})
			pl.print(c)
			continue
		}
		r := b.bounds()
		f := Form{Name: "words " + x.S, Bounds: r.Inset(-0.5), Items: []Item{{Layer: NoLayer, Text: &x}}}
		q := rectBox(r).corners()
		var ls []line
		for k := range q {
			ls = append(ls, line{q[k], q[(k+1)%4], 0.1, nobody})
		}
		d.form(f, w.layer, pl.pages(ls, r, geom.Vec{}), geom.Vec{})
	}
	return d
}

// form adds a Form and notes the pages on which something of it shows.
func (d *drawing) form(f Form, layer int, pages []int32, v geom.Vec) {
	id := len(d.forms)
	d.forms = append(d.forms, f)
	for _, k := range pages {
		d.uses[k] = append(d.uses[k], use{layer, id, v})
	}
}

// printed lists the pages with something on them, row by row.
func (pl *plane) printed() []cell {
	var out []cell
	for k, on := range pl.ink {
		if on {
			out = append(out, cell{k % pl.cols, k / pl.cols})
		}
	}
	return out
}

// page draws one page of the grid; n of m is its number.
func (d *drawing) page(c cell, p Paper, j Job, n, m int, t *setter) Page {
	pl := d.pl
	r := pl.rect(c)
	in := geom.Vec{X: pl.f.left - r.Min.X, Y: pl.f.low - r.Min.Y}
	window := pl.f.tile()
	pg := Page{W: pl.f.w, H: pl.f.h, Label: fmt.Sprintf("%s row %d column %d", p.Name, c.row+1, c.col+1)}
	if pl.glued || pl.cols*pl.rows > 1 {
		pg.Items = append(pg.Items, d.borders(c)...)
	}
	for _, u := range d.uses[pl.at(c)] {
		pg.Items = append(pg.Items, Item{Layer: u.layer, Use: &Use{Form: u.form, Move: u.move.Add(in), Clip: window}})
	}
	for _, it := range d.words[pl.at(c)] {
		x := *it.Text
		x.At = x.At.Add(in)
		pg.Items = append(pg.Items, Item{Layer: it.Layer, Text: &x})
	}
	for _, k := range pl.marks {
		if k.on != c {
			continue
		}
		for _, ph := range k.lines {
			pg.Items = append(pg.Items, strokeItem(Pen{Width: 0.25}, ph.Transform(geom.Translate(in))))
		}
		if k.text != nil {
			x := *k.text
			x.At = x.At.Add(in)
			pg.Items = append(pg.Items, Item{Layer: NoLayer, Text: &x})
		}
	}
	at := fmt.Sprintf("row %d, column %d", c.row+1, c.col+1)
	if !pl.glued {
		at = ""
	}
	return foot(pg, pl.f, j, at, n, m, t)
}

// borders draws the tile's edges: unbroken where the next page is laid upon this one (left and
// below), dashed where this page is trimmed (right and above), pale where there is no neighbour.
func (d *drawing) borders(c cell) []Item {
	f := d.pl.f
	w := f.tile()
	keep := Pen{Width: 0.2, Color: grey}
	trim := Pen{Width: 0.25, Color: grey, Dash: []float64{6, 2}}
	none := Pen{Width: 0.15, Color: pale}
	linked := map[cell]bool{}
	if d.pl.glued {
		for _, n := range []cell{{c.col - 1, c.row}, {c.col + 1, c.row}, {c.col, c.row - 1}, {c.col, c.row + 1}} {
			linked[n] = d.pl.inked(n)
		}
	}
	side := func(p Pen, n cell, a, b geom.Point) Item {
		if !linked[n] {
			p = none
		}
		return strokeItem(p, geom.Polyline(a, b))
	}
	lr, ul := geom.Pt(w.Max.X, w.Min.Y), geom.Pt(w.Min.X, w.Max.Y)
	return []Item{
		side(keep, cell{c.col - 1, c.row}, ul, w.Min),
		side(keep, cell{c.col, c.row + 1}, w.Min, lr),
		side(trim, cell{c.col + 1, c.row}, lr, w.Max),
		side(trim, cell{c.col, c.row - 1}, w.Max, ul),
	}
}

// foot writes the strip below the tile: where the page belongs, what it is of, and the stamp.
func foot(pg Page, f frame, j Job, at string, n, m int, t *setter) Page {
	const em, small, space = 2.7, 2.2, 4
	x0, x1 := f.margin+hair, f.w-f.margin-hair
	y2 := f.margin + 0.2 + t.descent(Regular, small)
	y1 := f.margin + stripHigh - 0.7 - t.ascent(Bold, em)
	put := func(s string, face Face, size float64, al Align, x, y, room float64, col RGB) float64 {
		s = t.fit(face, size, s, room)
		if s == "" {
			return 0
		}
		pg.Items = append(pg.Items, Item{Layer: NoLayer, Text: &Text{At: geom.Pt(x, y), S: s, Face: face, Size: size, Align: al, Color: col}})
		return t.width(face, size, s) + space
	}
	l := put(at, Bold, em, Left, x0, y1, 60, black)
	r := put(fmt.Sprintf("page %d of %d", n, m), Regular, em, Right, x1, y1, 50, black)
	put(j.Title, Regular, em, Left, x0+l, y1, x1-x0-l-r, black)
	s := put(j.Shop, Regular, small, Right, x1, y2, (x1-x0)*0.4, black)
	stamp := j.Stamp
	if stamp == "" {
		stamp = j.Ref
	}
	if put(stamp, Regular, small, Left, x0, y2, x1-x0-s, black) > 0 && j.Stamp != "" {
		pg.Items[len(pg.Items)-1].Text.StampRoom = x1 - x0 - s
	}
	if f.warn {
		put(j.Warning, Bold, 3.6, Left, x0, f.margin+stripHigh+0.6+t.descent(Bold, 3.6)-0.3, x1-x0, alarm)
	}
	return pg
}
