package sheet

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
)

// Options are the choices a shop has about the drawing. The zero value is the usual sheet.
type Options struct {
	SeamLines bool    // draw seam lines inside the cut lines
	Turn      bool    // pieces may be turned by 90 or 180 degrees to save pages
	Gap       float64 // least space between pieces, mm; 0 means 8
	Line      float64 // width of cut lines, mm; 0 means 0.4
}

// Layout draws the job on the paper.
func Layout(j Job, p Paper, m Metrics, o Options) (Document, error) {
	d := Document{Info: Info{Title: j.Title, Author: j.Shop, Subject: j.Ref, Lang: "en"}}
	for _, s := range j.Sizes {
		d.Layers = append(d.Layers, Layer{s, true})
	}
	x := 0.0
	type placed struct {
		form, size int
		move       geom.Vec
	}
	var all []placed
	hMax := 0.0
	for _, pc := range j.Pieces {
		r := geom.EmptyRect()
		for _, s := range pc.Sizes {
			if len(s.Cut) > 0 {
				r = r.Union(s.Cut.Bounds())
			}
		}
		for i, s := range pc.Sizes {
			if len(s.Cut) == 0 {
				continue
			}
			pen := Pen{Width: 0.4, Dash: []float64{float64(1 + i), 1}}
			items := []Item{{Layer: NoLayer, Stroke: &Stroke{Paths: []geom.Path{s.Cut}, Closed: true, Pen: pen}}}
			items = append(items, Item{Layer: NoLayer, Stroke: &Stroke{Paths: s.Notches, Pen: Pen{Width: 0.4}}})
			d.Forms = append(d.Forms, Form{Name: pc.Name + " " + j.Sizes[i], Bounds: r.Inset(-12), Items: items})
			all = append(all, placed{len(d.Forms) - 1, i, geom.Vec{X: x - r.Min.X, Y: -r.Min.Y}})
		}
		x += r.W() + 8
		hMax = math.Max(hMax, r.H())
	}
	tw, th := p.W-14, p.H-19
	for row := range int(math.Ceil(hMax / th)) {
		for col := range int(math.Ceil(x / tw)) {
			clip := geom.Rect{Min: geom.Pt(7, 12), Max: geom.Pt(7+tw, 12+th)}
			pg := Page{W: p.W, H: p.H, Label: fmt.Sprintf("%s row %d column %d", p.Name, row+1, col+1)}
			pg.Items = append(pg.Items, Item{Layer: NoLayer, Text: &Text{At: geom.Pt(7, 7), S: pg.Label, Size: 2.4}})
			for _, a := range all {
				mv := a.move.Add(geom.Vec{X: 7 - float64(col)*tw, Y: 12 - float64(row)*th})
				b := d.Forms[a.form].Bounds
				if !(geom.Rect{Min: b.Min.Add(mv), Max: b.Max.Add(mv)}).Overlaps(clip) {
					continue
				}
				pg.Items = append(pg.Items, Item{Layer: a.size, Use: &Use{Form: a.form, Move: mv, Clip: clip}})
			}
			d.Pages = append(d.Pages, pg)
		}
	}
	return d, nil
}
