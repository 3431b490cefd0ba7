package book

import (
	"math"
	"slices"
	"strings"

	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/sheet"
)

// A working drawing shows how a change is drawn by hand: what was there in grey, construction lines
// dashed, what is new in black, numbered points, the distances measured, and the steps in words. It is
// drawn smaller than life, and says so; every number is the geometry's own.

const (
	leastFigure = 0.36 // of a page's height: the words give way to another page
	pointRadius = 0.8
	numberSize  = 2.8
	measureSize = 2.3
	figureAir   = 8.0 // room for numbers around a figure
)

// drawing sets one working drawing on a page of its own, and more pages when its words need them.
func (f *flow) drawing(d change.Drawing, say speaker) {
	if len(d.Lines) == 0 {
		return
	}
	f.page()
	f.heading("Working drawing: " + say.plain(d.Title))
	box := geom.EmptyRect()
	for _, l := range d.Lines {
		box = box.Union(l.Path.Bounds())
	}
	for _, q := range d.Points {
		box = box.Add(q.At)
	}
	words := drawnSteps(d, say)
	key := f.keyOf(d, say)
	// The figure has what the words leave.
	need := float64(len(key.rows))*smallSize*leading + 3*smallSize*leading
	for _, w := range words {
		need += f.tall(w.text, textSize, stepIndent) + f.tall(w.measured, smallSize, stepIndent) + 1
	}
	high := math.Max(f.y-f.bottom()-need-2*figureAir, (f.paper.H-2*pageMargin)*leastFigure)
	room := geom.Rect{Min: geom.Pt(f.left()+figureAir, f.y-figureAir-high), Max: geom.Pt(f.left()+f.width()-figureAir, f.y-figureAir)}
	k := scaleFor(math.Min(room.W()/math.Max(box.W(), 1), room.H()/math.Max(box.H(), 1)))
	o := geom.Pt(room.Center().X-k*box.Center().X, room.Max.Y-k*box.Max.Y)
	floor := o.Y + k*box.Min.Y
	low := f.figure(d, geom.Scale(k, k).Then(geom.Translate(o.Sub(geom.Pt(0, 0)))), floor, say)
	f.y = math.Min(floor-figureAir/2, low-1.5)
	for _, l := range f.wrap(legend(d, k), smallSize, sheet.Regular, f.width()) {
		f.line(0, smallSize, sheet.Regular, grey, l)
	}
	f.gap(1)
	for i, w := range words {
		f.para(itoa(i+1), w.text)
		if w.measured != "" {
			f.gap(-1)
			for _, l := range f.wrap(w.measured, smallSize, sheet.Regular, f.width()-stepIndent) {
				f.line(stepIndent, smallSize, sheet.Regular, black, l)
			}
			f.gap(1)
		}
	}
	f.key(key)
}

// drawn is one step in words, and what is measured in it.
type drawnStep struct{ text, measured string }

// drawnSteps tells the steps with their measures: like ones once, with the points of each.
func drawnSteps(d change.Drawing, say speaker) []drawnStep {
	out := make([]drawnStep, len(d.Steps))
	for i, s := range d.Steps {
		out[i].text = say.plain(s)
		var order []string
		between := map[string][]string{}
		for _, m := range d.Measures {
			if m.Step != i+1 {
				continue
			}
			long := tape(m.MM)
			if between[long] == nil {
				order = append(order, long)
			}
			between[long] = append(between[long], itoa(m.From)+"–"+itoa(m.To))
		}
		var parts []string
		for _, long := range order {
			parts = append(parts, strings.Join(between[long], ", ")+": "+long)
		}
		out[i].measured = strings.Join(parts, "; ")
	}
	return out
}

// legend says how to read the lines that there are.
func legend(d change.Drawing, k float64) string {
	kinds := map[change.StrokeKind]bool{}
	for _, l := range d.Lines {
		kinds[l.Kind] = true
	}
	scale := "Drawn at 1:" + itoa(int(math.Round(1/k)))
	if k >= 1 {
		scale = "Drawn at true size, but"
	}
	out := []string{scale + " not to be cut from."}
	if k < 1 {
		out[0] = scale + ", not to be cut from."
	}
	for _, w := range []struct {
		kind change.StrokeKind
		word string
	}{{change.Outline, "Grey: what was there."}, {change.Construction, "Dashed: construction."}, {change.CutAway, "Dotted: cut away."}, {change.New, "Black: new."}} {
		if kinds[w.kind] {
			out = append(out, w.word)
		}
	}
	if len(d.Measures) > 0 {
		out = append(out, "Inches to the nearest sixteenth.")
	}
	return strings.Join(out, " ")
}

// scaleFor rounds a scale down to one that a maker can measure by: 1:1, 1:2, 1:3 …
func scaleFor(k float64) float64 {
	if k >= 1 {
		return 1
	}
	return 1 / math.Ceil(1/k)
}

func penOf(k change.StrokeKind) sheet.Pen {
	switch k {
	case change.Construction:
		return sheet.Pen{Width: 0.2, Color: black, Dash: []float64{1.6, 1.2}}
	case change.CutAway:
		return sheet.Pen{Width: 0.25, Color: grey, Dash: []float64{0.3, 1}}
	case change.New:
		return sheet.Pen{Width: 0.6, Color: black}
	}
	return sheet.Pen{Width: 0.35, Color: pale}
}

// figure draws the lines, then the points with their numbers, then the pieces' titles and what is measured,
// as far as there is room for them. It gives how low its words reach; floor is
// where its lines end.
func (f *flow) figure(d change.Drawing, place geom.Affine, floor float64, say speaker) float64 {
	g := newFigure(geom.Rect{Min: geom.Pt(f.left(), math.Max(f.bottom(), floor-2.5*figureAir)), Max: geom.Pt(f.left()+f.width(), f.y)})
	pieces := map[string]geom.Rect{}
	var order []string
	for _, l := range d.Lines {
		path := l.Path.Transform(place)
		g.ink(path)
		f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{path}, Pen: penOf(l.Kind)}})
		if l.Piece == "" || l.Kind == change.Construction {
			continue
		}
		box, ok := pieces[l.Piece]
		if !ok {
			box = geom.EmptyRect()
			order = append(order, l.Piece)
		}
		pieces[l.Piece] = box.Union(path.Bounds())
	}
	for _, q := range d.Points {
		at := place.Apply(q.At)
		f.add(sheet.Item{Fill: &sheet.Fill{Paths: []geom.Path{disc(at, pointRadius)}, Color: black}})
		g.taken = append(g.taken, geom.Rect{Min: at, Max: at}.Inset(-pointRadius-0.1))
	}
	for _, q := range d.Points {
		f.number(g, place.Apply(q.At), itoa(q.N))
	}
	for _, n := range order {
		c := pieces[n].Center()
		w := f.wide(say.piece(n), measureSize)
		if r, ok := g.beside(c, w, measureSize, 0.8, false, []float64{0, 2.5, 5}); ok && r.air >= 0.8 {
			g.take(r)
			f.centred(r.at, measureSize, sheet.Regular, grey, say.piece(n))
		}
	}
	for _, m := range d.Measures {
		if m.From < 1 || m.To < 1 || m.From > len(d.Points) || m.To > len(d.Points) {
			continue
		}
		a, b := place.Apply(d.Points[m.From-1].At), place.Apply(d.Points[m.To-1].At)
		mid := a.Lerp(b, 0.5)
		if len(m.Path) > 0 {
			mid = place.Apply(m.Path.PointAt(m.Path.Length() / 2))
		}
		if a.Dist(b) < 2*numberSize {
			continue // told in the words
		}
		// A hair line shows what is measured where no line is drawn.
		var hair geom.Path
		if d := a.Dist(b); len(m.Path) == 0 {
			from, to := a.Lerp(b, 1.6/d), a.Lerp(b, 1-1.6/d)
			if !g.crosses(from, to) {
				hair = geom.Path{geom.Line(from, to)}
				g.ink(hair)
			}
		}
		text := itoa(m.From) + "–" + itoa(m.To) + ": " + tapeMm(m.MM)
		if r, ok := g.beside(mid, f.wide(text, measureSize), measureSize, 0.7, false, []float64{2, 2.8, 3.6}); ok && r.air >= 0.6 {
			g.take(r)
			f.centred(r.at, measureSize, sheet.Regular, black, text)
			if len(hair) > 0 {
				f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{hair}, Pen: sheet.Pen{Width: 0.12, Color: grey}}})
			}
		}
	}
	return g.low
}

// number sets a point's number beside it, with a hair line where it had to stand aside.
func (f *flow) number(g *figure, at geom.Point, n string) {
	h := numberSize * f.m.Ascent(sheet.Bold)
	w := f.m.Width(sheet.Bold, n)*numberSize + 0.6
	r, ok := g.beside(at, w, h+0.6, 0.7, true, []float64{2.6, 3.4, 4.4, 5.6, 7, 8.5, 10, 12, 14, 16.5, 19, 22})
	if !ok {
		return // a page so full of numbers that none more can be read; the key tells it
	}
	g.take(r)
	if len(r.leader) > 0 {
		f.add(sheet.Item{Stroke: &sheet.Stroke{Paths: []geom.Path{r.leader}, Pen: sheet.Pen{Width: 0.12, Color: grey}}})
	}
	c := r.at.Center()
	f.add(sheet.Item{Text: &sheet.Text{At: geom.Pt(c.X, c.Y-h/2), S: n, Face: sheet.Bold, Size: numberSize, Align: sheet.Center, Color: black}})
}

func (f *flow) wide(s string, size float64) float64 {
	return f.m.Width(sheet.Regular, f.drawable(s))*size + 0.6
}

func (f *flow) centred(r geom.Rect, size float64, face sheet.Face, c sheet.RGB, s string) {
	at := r.Center()
	f.add(sheet.Item{Text: &sheet.Text{At: geom.Pt(at.X, at.Y-size*f.m.Ascent(face)/2), S: f.drawable(s), Face: face, Size: size, Align: sheet.Center, Color: c}})
}

// disc is a circle of four cubics; 0.5523 is the arm with which they miss it by 0.03 % of the radius.
func disc(c geom.Point, r float64) geom.Path {
	const arm = 0.5522847498307936
	k := arm * r
	e, n, w, s := geom.Pt(c.X+r, c.Y), geom.Pt(c.X, c.Y+r), geom.Pt(c.X-r, c.Y), geom.Pt(c.X, c.Y-r)
	return geom.Path{
		geom.Cubic(e, geom.Pt(e.X, e.Y+k), geom.Pt(n.X+k, n.Y), n),
		geom.Cubic(n, geom.Pt(n.X-k, n.Y), geom.Pt(w.X, w.Y+k), w),
		geom.Cubic(w, geom.Pt(w.X, w.Y-k), geom.Pt(s.X-k, s.Y), s),
		geom.Cubic(s, geom.Pt(s.X+k, s.Y), geom.Pt(e.X, e.Y-k), e),
	}
}

// keyTable says what the numbered points are, in columns.
type keyTable struct {
	entries []string
	rows    []int // entries per row, first to last
	cols    int
	pitch   float64
}

// keyOf lists what the points are called, those of one name together.
func (f *flow) keyOf(d change.Drawing, say speaker) keyTable {
	var order []string
	points := map[string][]int{}
	for _, q := range d.Points {
		name := say.label(q.Label)
		if name == "" {
			continue
		}
		if points[name] == nil {
			order = append(order, name)
		}
		points[name] = append(points[name], q.N)
	}
	k := keyTable{cols: 1}
	wide := 0.0
	for _, name := range order {
		e := numbers(points[name]) + "  " + name
		k.entries = append(k.entries, e)
		wide = math.Max(wide, f.m.Width(sheet.Regular, f.drawable(e))*smallSize)
	}
	k.pitch = wide + 5
	if free := f.width() - stepIndent; k.pitch < free {
		k.cols = min(int(free/k.pitch), 4)
		k.pitch = free / float64(k.cols)
	}
	k.rows = make([]int, (len(k.entries)+k.cols-1)/k.cols)
	return k
}

// key sets the table, down its columns first.
func (f *flow) key(k keyTable) {
	if len(k.entries) == 0 {
		return
	}
	n := len(k.rows)
	if h := float64(n) * smallSize * leading; h < (f.paper.H-2*pageMargin)/2 {
		f.need(h)
	}
	for r := range n {
		f.need(smallSize * leading)
		f.y -= smallSize * leading
		for c := range k.cols {
			if i := c*n + r; i < len(k.entries) {
				lines := f.wrap(k.entries[i], smallSize, sheet.Regular, math.Max(k.pitch-2, 20))
				f.text(f.left()+stepIndent+float64(c)*k.pitch, f.y+smallSize*(leading-1)/2, smallSize, sheet.Regular, grey, lines[0])
			}
		}
	}
}

// numbers writes a list of points, runs of three and more shortened: "1, 4–6, 9".
func numbers(n []int) string {
	slices.Sort(n)
	var parts []string
	for i := 0; i < len(n); {
		j := i
		for j+1 < len(n) && n[j+1] == n[j]+1 {
			j++
		}
		if j-i >= 2 {
			parts = append(parts, itoa(n[i])+"–"+itoa(n[j]))
		} else {
			for _, x := range n[i : j+1] {
				parts = append(parts, itoa(x))
			}
		}
		i = j + 1
	}
	return strings.Join(parts, ", ")
}
