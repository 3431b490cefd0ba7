package book

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// ClothList is what is cut from one cloth.
type ClothList struct {
	Cloth string // "main", "lining", …
	Rows  []CutRow
}

// CutRow is one piece of a cutting list.
type CutRow struct {
	Piece string // its title
	Count int
	How   string // "on the fold", "a mirrored pair", "one way up"
	Fold  bool
	// Interfaced is how many of them are cut from interfacing, too; they have a row there.
	Interfaced int
}

// ByCloth is the cutting list, a list for every cloth: the main one first, then the lining, then the
// others in the order of the pieces.
func ByCloth(pieces []*pattern.Piece) []ClothList {
	order := append([]*pattern.Piece(nil), pieces...)
	sort.SliceStable(order, func(i, j int) bool { return clothRank(order[i].Cut.Cloth) < clothRank(order[j].Cut.Cloth) })
	at := map[string]int{}
	var out []ClothList
	add := func(c string, r CutRow) {
		i, ok := at[c]
		if !ok {
			i = len(out)
			at[c] = i
			out = append(out, ClothList{Cloth: c})
		}
		out[i].Rows = append(out[i].Rows, r)
	}
	for _, p := range order {
		add(cloth(p.Cut.Cloth), CutRow{Words(p.Title), p.Cut.Count, how(p), OnFold(p), p.Cut.Interfaced})
	}
	for _, p := range order {
		if n := p.Cut.Interfaced; n > 0 {
			q := *p
			q.Cut.Count, q.Cut.Pair = n, p.Cut.Pair && n > 1
			add("interfacing", CutRow{Words(p.Title), n, how(&q), OnFold(p), 0})
		}
	}
	return out
}

// how says how a piece lies on the cloth.
func how(p *pattern.Piece) string {
	switch n := p.Cut.Count; {
	case OnFold(p) && n == 1:
		return "on the fold"
	case OnFold(p):
		return "each on the fold"
	case n > 1 && p.Alike():
		return "either way up"
	case p.Cut.Pair && n == 2:
		return "a mirrored pair"
	case p.Cut.Pair && n%2 == 0:
		return fmt.Sprintf("%d mirrored pairs", n/2)
	case p.Cut.Pair:
		return "mirrored pairs"
	case n > 1:
		return "all the same way up"
	}
	return "right side up"
}

// clothTitle heads a list.
func clothTitle(c string) string {
	switch c {
	case "lining", "interfacing":
		return upperFirst(c)
	}
	return upperFirst(c) + " cloth"
}

// cutting sets the lists, each kept whole where it can be.
func (f *flow) cutting(lists []ClothList) {
	if len(lists) == 0 {
		return
	}
	t := sheet.Table{Title: "Cutting list", Head: []string{"Piece", "Cut", "How it lies on the cloth"}}
	fold, pair := false, false
	for _, l := range lists {
		t.Rows = append(t.Rows, []string{clothTitle(l.Cloth)})
		for _, r := range l.Rows {
			fold, pair = fold || strings.Contains(r.How, "fold"), pair || strings.Contains(r.How, "mirrored")
			t.Rows = append(t.Rows, []string{r.Piece, itoa(r.Count), r.How})
		}
	}
	f.tables(t)
	f.gap(1)
	var notes []string
	if fold {
		notes = append(notes, "On the fold: the edge so marked lies on the fold of the cloth, right sides in, and is not cut.")
	}
	if pair {
		notes = append(notes, "A mirrored pair: cut through cloth folded right sides in, or turn the paper over for the second.")
	}
	f.para("", strings.Join(append(notes, "Grain lines lie parallel to the selvedge."), " "))
}

// pieces shows the shapes of all pieces side by side, at one scale.
func (f *flow) pieces(p *pattern.Pattern, cut []allowance.Piece) {
	if len(cut) != len(p.Pieces) || len(cut) == 0 {
		return
	}
	const air, most = 6.0, 0.24 // between pieces, mm; of the page's height
	names := smallSize * leading
	widest := make([]float64, len(cut))
	for i := range cut {
		widest[i] = f.wide(itoa(i+1), smallSize)
	}
	var boxes []geom.Rect
	for i := range cut {
		boxes = append(boxes, cut[i].Cut.Bounds())
	}
	// rowsAt lays the pieces in rows at a scale and gives the height; it is called until they fit.
	lay := func(k float64) (at []geom.Point, high float64) {
		x, y, row := 0.0, 0.0, 0.0
		for i, b := range boxes {
			w := math.Max(b.W()*k, widest[i])
			if x > 0 && x+w > f.width() {
				x, y, row = 0, y+row+names+air/2, 0
			}
			at = append(at, geom.Pt(x, y))
			x += w + air
			row = math.Max(row, b.H()*k)
		}
		return at, y + row + names
	}
	n := 4
	at, high := lay(1 / float64(n))
	for ; n < 60; n++ {
		wide := 0.0
		for _, b := range boxes {
			wide = math.Max(wide, b.W()/float64(n))
		}
		if at, high = lay(1 / float64(n)); high <= most*(f.paper.H-2*pageMargin) && wide <= f.width() {
			break
		}
	}
	if n == 60 {
		return
	}
	k := 1 / float64(n)
	f.need(headSize*leading + 4 + high + 2*smallSize*leading)
	f.heading("The pieces")
	top := f.y
	var key string
	for i := range cut {
		b := boxes[i]
		o := geom.Pt(f.left()+at[i].X, top-at[i].Y)
		move := geom.Scale(k, k).Then(geom.Translate(geom.Pt(o.X-k*b.Min.X, o.Y-k*b.Max.Y).Sub(geom.Pt(0, 0))))
		f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{cut[i].Cut.Transform(move)}, Closed: true, Pen: sheet.Pen{Width: 0.3, Color: black}}})
		pc := &p.Pieces[i]
		for e := range pc.Edges {
			if pc.Edges[e].Fold {
				f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{pc.Edges[e].Path.Transform(move)}, Pen: sheet.Pen{Width: 0.6, Color: black, Dash: []float64{2.4, 0.9, 0.5, 0.9}}}})
			}
		}
		f.text(o.X, o.Y-b.H()*k-names+smallSize*0.3, smallSize, sheet.Bold, black, itoa(i+1))
		if i > 0 {
			key += " · "
		}
		key += itoa(i+1) + " " + Words(pc.Title)
	}
	f.y = top - high - 1
	for _, l := range f.wrap("Size "+p.Size+" at 1:"+itoa(n)+", dash-dotted edges on the fold. "+key, smallSize, sheet.Regular, f.width()) {
		f.line(0, smallSize, sheet.Regular, grey, l)
	}
}
