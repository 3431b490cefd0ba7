package sheet

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
)

// A picture is for a screen: all nests at true size on one page that is as large as they are, without page 1,
// without borders, and without the search that saves paper.

// pictureWide is how much wider than high a picture wishes to be, as most screens are.
const pictureWide = 1.4

// Picture draws the job as one page. Pieces stand in rows in the job's order, so that they stay where they are while
// a parameter is tried out. The error is a Fault.
func Picture(j Job, m Metrics, o Options) (Document, error) {
	if err := check(j, Paper{Name: "picture", W: 1000, H: 1000, Margin: 6}, o); err != nil {
		return Document{}, err
	}
	if o.Gap == 0 {
		o.Gap = usualGap
	}
	if o.Line == 0 {
		o.Line = cutWidth
	}
	t := newSetter(m)
	nests := make([][]nest, len(j.Pieces))
	lines := 0
	for k := range j.Pieces {
		n := newNest(&j, k, 0, o, t)
		if lines += len(n.lines); lines > MaxLines {
			return Document{}, Fault{Rule: "too_much_drawing", Piece: j.Pieces[k].Name, Detail: "up to here the drawing has too many lines", Valid: fmt.Sprintf("up to %d straight stretches in all", MaxLines), Remedy: "fit dense lines to curves first, or draw fewer sizes at a time"}
		}
		nests[k] = []nest{n}
	}
	room := 0.0
	if j.Warning != "" {
		room = warnHigh + o.Gap
	}
	pk, a, f := rows(nests, o.Gap, room)
	d := lay(f, a, pk, nests, false, j, t, nil)
	pg := Page{W: f.w, H: f.h, Label: t.say(j.Title)}
	for _, u := range d.uses[0] {
		pg.Items = append(pg.Items, Item{Layer: u.layer, Use: &Use{Form: u.form, Move: u.move, Clip: f.tile()}})
	}
	pg.Items = append(pg.Items, d.words[0]...)
	if j.Warning != "" {
		s := t.fit(Bold, 3.6, j.Warning, f.w-2*o.Gap)
		pg.Items = append(pg.Items, Item{Layer: NoLayer, Text: &Text{At: geom.Pt(o.Gap, o.Gap), S: s, Face: Bold, Size: 3.6, Color: alarm}})
	}
	doc := Document{Info: Info{Title: t.say(j.Title), Author: t.say(j.Shop), Subject: t.say(j.Ref), Lang: "en"}, Forms: d.forms, Pages: []Page{pg}}
	for _, s := range j.Sizes {
		doc.Layers = append(doc.Layers, Layer{Name: t.say(s), On: true})
	}
	return doc, nil
}

// rows puts the nests side by side, one row below the other, in cells of 1 mm; room is kept free below them.
func rows(nests [][]nest, gap, room float64) (*packer, arrangement, frame) {
	cells := func(v float64) int { return int(math.Ceil(v + gap + 2*pad)) }
	area, widest := 0.0, 0
	for _, ns := range nests {
		b := ns[0].bounds
		area += float64(cells(b.W())) * float64(cells(b.H()))
		widest = max(widest, cells(b.W()))
	}
	most := max(widest, int(math.Sqrt(area*pictureWide)))
	edge := cells(0)
	a := arrangement{cols: 1, rows: 1, tiles: 1}
	x, y, high, wide := edge, edge, 0, 0
	for _, ns := range nests {
		b := ns[0].bounds
		w, h := cells(b.W()), cells(b.H())
		if x > edge && x-edge+w > most {
			x, y, high = edge, y+high, 0
		}
		a.at = append(a.at, spot{0, x, y})
		x += w
		high, wide = max(high, h), max(wide, x)
	}
	pk := &packer{nx: wide, ny: y + high + int(math.Ceil(room))}
	w, h := float64(pk.nx), float64(pk.ny)
	return pk, a, frame{w: w, h: h, tw: w, th: h}
}
