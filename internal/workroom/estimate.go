package workroom

import (
	"context"

	"sizerun/internal/geom"
	"sizerun/internal/sheet"
	"sizerun/internal/shop"
)

var _ shop.Estimator = (*Room)(nil)

// What a file takes, fitted to the styles that are tested: the faces of a file and its frame, a page, and
// what is drawn and said, compressed.
const (
	bytesOfFile  = 15_000
	bytesOfPage  = 700
	bytesOfPoint = 6
	bytesOfText  = 14
)

// Estimate lays out what a run would print, and keeps it for the run. Of outputs per size the last one, which is
// the largest as charts go, stands for all.
func (r *Room) Estimate(ctx context.Context, m shop.Making) (shop.Estimate, error) {
	d, err := r.design(ctx, m, nil)
	if err != nil {
		return shop.Estimate{}, err
	}
	report, err := d.reported()
	if err != nil {
		return shop.Estimate{}, err
	}
	f, err := r.fonts.Borrow()
	if err != nil {
		return shop.Estimate{}, err
	}
	defer r.fonts.Return(f)
	e := shop.Estimate{Bytes: len(report)}
	for _, o := range m.Request.Outputs {
		if err := ctx.Err(); err != nil {
			return shop.Estimate{}, err
		}
		one := m.Request
		one.Outputs = append(one.Outputs[:0:0], o)
		sheets := sheetsOf(d.made, one)
		doc, err := d.layout(sheets[len(sheets)-1], f)
		if err != nil {
			return shop.Estimate{}, err
		}
		w := weighed(doc)
		e.Pages += w.Pages * len(sheets)
		e.Points += w.Points * len(sheets)
		e.Bytes += w.Bytes * len(sheets)
	}
	return e, nil
}

// weighed counts what is in a document.
func weighed(doc sheet.Document) shop.Estimate {
	points, texts := 0, 0
	count := func(paths []geom.Path) {
		for _, p := range paths {
			points += len(p) + 1
		}
	}
	items := func(its []sheet.Item) {
		for _, it := range its {
			switch {
			case it.Stroke != nil:
				count(it.Stroke.Paths)
			case it.Fill != nil:
				count(it.Fill.Paths)
			case it.Text != nil:
				texts += len(it.Text.S)
			}
		}
	}
	for i := range doc.Forms {
		items(doc.Forms[i].Items)
	}
	for i := range doc.Pages {
		items(doc.Pages[i].Items)
	}
	return shop.Estimate{Pages: len(doc.Pages), Points: points, Bytes: bytesOfFile + bytesOfPage*len(doc.Pages) + bytesOfPoint*points + texts*bytesOfText/10}
}
