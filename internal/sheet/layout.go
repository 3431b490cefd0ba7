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
	Line      float64 // width of cut lines, mm; 0 means what is usual on the paper
}

const (
	usualGap = 8.0
	// maxAcross is how many pages a nest may be wide; a row of pages is kept in a word of 64.
	maxAcross = 56
	// searchBudget bounds the arranging, in words of rows looked at.
	searchBudget = 400_000
)

// Layout draws the job on the paper. The error is a Fault.
func Layout(j Job, p Paper, m Metrics, o Options) (Document, error) {
	if err := check(j, p, o); err != nil {
		return Document{}, err
	}
	if o.Gap == 0 {
		o.Gap = usualGap
	}
	if o.Line == 0 {
		o.Line = cutWidth
		if p.Line > 0 {
			o.Line = p.Line
		}
	}
	t := newSetter(m)
	if p.Words > 0 {
		t.large = p.Words
	}
	nests := make([][]nest, len(j.Pieces))
	lines := 0
	for k := range j.Pieces {
		turns := 1
		if o.Turn {
			turns = 4
		}
		for q := range turns {
			n := newNest(&j, k, q, o, t)
			if lines += len(n.lines); lines > MaxLines {
				return Document{}, Fault{Rule: "too_much_drawing", Piece: j.Pieces[k].Name, Detail: "up to here the job has too many lines", Valid: fmt.Sprintf("up to %d straight stretches in all", MaxLines), Remedy: "fit dense lines to curves first, or print fewer sizes at a time"}
			}
			nests[k] = append(nests[k], n)
		}
	}
	var pages []Page
	var d *drawing
	var err error
	if p.Tiled {
		d, pages, err = tiled(j, p, o, nests, t)
	} else {
		d, pages, err = standing(j, p, o, nests, t)
	}
	if err != nil {
		return Document{}, err
	}
	doc := Document{
		Info:  Info{Title: t.say(j.Title), Author: t.say(j.Shop), Subject: t.say(j.Ref), Keywords: []string{"sewing pattern", p.Name}, Lang: "en"},
		Forms: d.forms,
		Pages: pages,
	}
	for _, s := range j.Sizes {
		doc.Layers = append(doc.Layers, Layer{Name: t.say(s), On: true})
	}
	if p.Grid > 0 {
		doc.Layers = append(doc.Layers, Layer{Name: fmt.Sprintf("Grid of %g mm", p.Grid), On: true, Ground: true})
	}
	return doc, nil
}

// pack arranges the nests, and with them blocks that stand first and are never cut, on frames of
// one kind.
func pack(f frame, nests [][]nest, blocks []geom.Rect, o Options, p Paper) (*packer, arrangement, error) {
	gap, alone := o.Gap, !p.Tiled
	pk := &packer{first: -1, rolled: p.Rolled}
	// Cells of about 13 mm: finer ones found no fewer pages on trial, at four times the work. They
	// are never smaller than half of the gap, as footprints grow by at most one cell.
	side := math.Max(13, gap)
	pk.nx, pk.ny = max(2, int(f.tw/side)), max(2, int(f.th/side))
	cw, ch := f.tw/float64(pk.nx), f.th/float64(pk.ny)
	cells, area := 0, 0
	for _, ns := range nests {
		var fs []*footprint
		fits := false
		for k := range ns {
			ft := newFootprint(&ns[k], cw, ch, gap)
			fits = fits || ft.w <= pk.nx && ft.h <= pk.ny
			cells = max(cells, ft.w*ft.h)
			fs = append(fs, ft)
		}
		if w := fs[0].w/pk.nx + 1; w > maxAcross {
			return nil, arrangement{}, tooMany(w)
		}
		if cells/(pk.nx*pk.ny) > MaxPages {
			return nil, arrangement{}, tooMany(cells / (pk.nx * pk.ny))
		}
		pk.prints = append(pk.prints, fs)
		pk.whole = append(pk.whole, alone && fits)
		// Pages inside a large piece may be empty, hence twice the bound.
		if area += fs[0].area; area/(pk.nx*pk.ny) > 2*MaxPages {
			return nil, arrangement{}, tooMany(area / (pk.nx * pk.ny))
		}
	}
	for i, r := range blocks {
		n := nest{bounds: r, lines: fenceLines(r), sizes: []shape{{outline: rectPath(r).Flatten(1), bounds: r}}}
		if i == 0 {
			pk.first = len(pk.prints)
		}
		pk.prints = append(pk.prints, []*footprint{newFootprint(&n, cw, ch, gap)})
		pk.whole = append(pk.whole, true)
	}
	a, ok := pk.arrange(searchBudget)
	if !ok {
		return nil, a, Fault{Rule: "no_room", Detail: "the pieces could not be arranged on the paper", Remedy: "choose a larger paper"}
	}
	if a.tiles > MaxPages {
		return nil, a, tooMany(a.tiles)
	}
	return pk, a, nil
}

func tooMany(n int) error {
	return Fault{Rule: "too_many_pages", Detail: fmt.Sprintf("the pattern needs at least %d pages", n), Valid: fmt.Sprintf("up to %d", MaxPages), Remedy: "choose a larger paper or fewer sizes"}
}

// lay puts the arranged nests under the grid and finds room for all words.
func lay(f frame, a arrangement, p *packer, nests [][]nest, glued bool, j Job, t *setter, taken []geom.Rect) *drawing {
	pl := newPlane(f, a, p, nests, glued)
	for _, r := range taken {
		pl.ix.word(rectBox(r))
	}
	pl.placeLabels(t)
	pl.placeJoins(t)
	pl.placeWords(t)
	pl.placeNames(j, t)
	pl.placeMarkNames(j, t)
	return newDrawing(pl, j, t)
}

// tiled makes the pages of a paper that is glued together, after the pages of information.
func tiled(j Job, p Paper, o Options, nests [][]nest, t *setter) (*drawing, []Page, error) {
	f := newFrame(p, j.Warning != "")
	pk, a, err := pack(f, nests, nil, o, p)
	if err != nil {
		return nil, nil, err
	}
	d := lay(f, a, pk, nests, true, j, t, nil)
	cells := d.pl.printed()
	// The map tells page numbers, which begin after the pages of information: their number does
	// not depend on what the map says.
	area := f.tile()
	front, _ := flow(frontPanels(j, p, o, d.pl, 0, area.W(), t), area.W(), area.H())
	n := len(front)
	dense := 1.0
	for _, t.dense = range []float64{0.92, 0.84, 0.78} {
		if n == 1 {
			break
		}
		if closer, _ := flow(frontPanels(j, p, o, d.pl, 0, area.W(), t), area.W(), area.H()); len(closer) < n {
			n, dense = len(closer), t.dense
		}
	}
	t.dense = dense
	front, _ = flow(frontPanels(j, p, o, d.pl, n+1, area.W(), t), area.W(), area.H())
	total := n + len(cells)
	if total > MaxPages {
		return nil, nil, tooMany(total)
	}
	var pages []Page
	for i, slots := range front {
		pg := Page{W: p.W, H: p.H, Label: fmt.Sprintf("%s information %d", p.Name, i+1)}
		for _, s := range slots {
			pg.Items = append(pg.Items, s.p.draw(geom.Pt(area.Min.X+s.x, area.Max.Y-s.y))...)
		}
		pages = append(pages, foot(pg, f, j, "", i+1, total, t))
	}
	for i, c := range cells {
		pages = append(pages, d.page(c, p, j, n+i+1, total, t))
	}
	return d, pages, nil
}

// standing makes sheets that stand alone, upright or across as takes fewer; the information is a
// block on the first.
func standing(j Job, p Paper, o Options, nests [][]nest, t *setter) (*drawing, []Page, error) {
	var bestP *packer
	var best arrangement
	var bestF frame
	var blocks []geom.Rect
	var slots [][]slot
	var first error
	bestCut := 0 // nests larger than the sheet, which must be glued
	for _, wide := range []bool{false, true} {
		if wide && p.Rolled { // a roll is as wide as it is
			break
		}
		q := p
		if wide {
			q.W, q.H = p.H, p.W
		}
		f := newFrame(q, j.Warning != "")
		w := math.Min(f.tw-2*pad, 2*196+panelGap)
		ss, used := flow(frontPanels(j, p, o, nil, 0, w, t), w, f.th-2*pad)
		var bs []geom.Rect
		for _, h := range used {
			bs = append(bs, geom.Rect{Max: geom.Pt(w, h)})
		}
		pk, a, err := pack(f, nests, bs, o, q)
		if err != nil {
			first = err
			continue
		}
		if cut := pk.cut(); bestP == nil || cut < bestCut || cut == bestCut && a.tiles < best.tiles {
			bestCut = cut
			bestP, best, bestF, blocks, slots = pk, a, f, bs, ss
		}
	}
	if bestP == nil {
		return nil, nil, first
	}
	if p.Rolled {
		bestF = bestP.shorten(bestF, &best)
	}
	var taken []geom.Rect
	cw, ch := bestF.tw/float64(bestP.nx), bestF.th/float64(bestP.ny)
	for i, r := range blocks {
		s := best.at[len(nests)+i]
		at := geom.Pt(float64(s.x)*cw+pad, float64(best.rows)*bestF.th-float64(s.y)*ch-pad-r.H())
		taken = append(taken, geom.Rect{Min: at, Max: geom.Pt(at.X+r.W(), at.Y+r.H())})
	}
	d := lay(bestF, best, bestP, nests, false, j, t, taken)
	on := map[cell][]int{}
	for i, r := range taken {
		c := d.pl.cellAt(r.Center())
		on[c] = append(on[c], i)
		d.pl.print(c)
	}
	cells := d.pl.printed()
	var pages []Page
	for i, c := range cells {
		pg := d.page(c, p, j, i+1, len(cells), t)
		pg.Items = append(bestF.grid(p.Grid, len(j.Sizes)), pg.Items...)
		r := d.pl.rect(c)
		in := geom.Vec{X: bestF.left - r.Min.X, Y: bestF.low - r.Min.Y}
		for _, b := range on[c] {
			for _, s := range slots[b] {
				corner := geom.Pt(taken[b].Min.X+s.x, taken[b].Max.Y-s.y).Add(in)
				pg.Items = append(pg.Items, s.p.draw(corner)...)
			}
		}
		pages = append(pages, pg)
	}
	return d, pages, nil
}
