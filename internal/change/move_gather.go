package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Gathers at a cap lie between two places, one on each side of the crown, that notches mark on the cap and
// on what it is sewn to. Below them nothing changes.

// gathering is the stretch of a cap that is gathered, from the side at which the hem begins.
type gathering struct {
	crown  spot
	within [2]spot
	marks  [2]string
	back   int        // which of the two lies on the back
	below  [2]float64 // cap below the gathers, on each side
	seams  map[int]float64
	drawn  map[int]float64     // how much more each of them draws up
	apart  map[meeting]float64 // of their notches, before
}

// gathering finds it and marks it. Without a reach it goes from notch to notch, of those the ones nearest to
// the underarm; a side without a notch is gathered for seven tenths of its way.
func (w *work) gathering(t *tube, crown string, reach *Each) (gathering, error) {
	const (
		least = 20.0 // mm of gathers on a side
		clear = 10.0 // mm from the underarm
		share = 0.7
	)
	g := gathering{seams: map[int]float64{}, drawn: map[int]float64{}}
	p := t.p
	th := newThread(p, t.cap, true)
	var err error
	if g.crown, err = w.spotOf("/crown", p, pattern.Place{Point: crown}); err != nil {
		return g, blame(err, "/crown")
	}
	c, ok := th.along(g.crown)
	if !ok || c < least+clear || th.length-c < least+clear {
		return g, pattern.Fault{Rule: "off_cap", Pointer: "/crown", Piece: p.Name, Detail: fmt.Sprintf("the crown %q does not lie on the cap of %q, clear of its ends", crown, p.Name), Remedy: "name the dot at the top of the cap"}
	}
	low := [2]string{}
	at := [2]float64{c - share*c, c + share*(th.length-c)}
	low0 := [2]float64{c, c}
	for _, m := range p.Marks {
		e := p.EdgeNamed(m.Edge)
		if e < 0 || m.Kind != pattern.Notch || !w.paired(p.Name, m.Name) {
			continue
		}
		u, ok := th.along(spot{e, m.S})
		if !ok {
			continue
		}
		side := 0
		if u > c {
			side = 1
		}
		if m.Count == 2 {
			g.back = side
		}
		if low[side] == "" || math.Abs(u-c) > math.Abs(low0[side]-c) {
			low[side], low0[side] = m.Name, u
		}
	}
	for k := range 2 {
		name := low[k]
		if name != "" {
			at[k] = low0[k]
		}
		end := c
		if k == 1 {
			end = th.length - c
		}
		if reach != nil {
			r, most := reach.Back, end-clear
			if k != g.back {
				r = reach.Front
			}
			if name != "" {
				most = math.Abs(low0[k] - c)
			}
			if r > most+pattern.Near {
				return g, pattern.Fault{Rule: "out_of_range", Pointer: "/reach", Piece: p.Name, Edge: p.Edges[th.spot(at[k]).edge].Name,
					Detail: fmt.Sprintf("gathers that reach %.1f mm from the crown go past the notch, or the end of the cap, at %.1f mm", r, most),
					Valid:  fmt.Sprintf("%g to %.1f mm", least, most), Remedy: "let them stop nearer to the crown"}
			}
			at[k] = c + float64(2*k-1)*math.Min(r, most)
			if math.Abs(r-most) > 2 {
				name = ""
			}
		}
		if math.Abs(at[k]-c) < least {
			return g, pattern.Fault{Rule: "out_of_range", Pointer: "/reach", Piece: p.Name, Detail: fmt.Sprintf("only %.1f mm beside the crown would be gathered", math.Abs(at[k]-c)),
				Valid: fmt.Sprintf("%g mm or more", least), Remedy: "let the gathers reach further"}
		}
		g.within[k], g.marks[k] = th.spot(at[k]), name
	}
	for k := range 2 {
		if g.marks[k] == "" {
			side := "front"
			if k == g.back {
				side = "back"
			}
			if g.marks[k], err = w.matedNotch(p, g.within[k], "gathers_"+side, map[bool]int{true: 2, false: 1}[k == g.back]); err != nil {
				return g, err
			}
		}
	}
	g.below = g.belowNow(t)
	for i := range w.p.Seams {
		if l, on := w.onSeam(i, p, t.cap); on {
			g.seams[i] = l
			if s := &w.p.Seams[i]; s.Gathers {
				return g, pattern.Fault{Rule: "in_gathers", Pointer: "/cap", Piece: p.Name, Edge: p.Edges[t.cap.first].Name, Detail: fmt.Sprintf("seam %s is gathered all along already", s.Name),
					Valid: "edges that are not gathered onto anything, nor anything onto them", Remedy: "put this change before the one that gathers that seam, or name other edges"}
			}
		}
	}
	g.apart = w.notchesApart()
	return g, nil
}

// paired: some seam says that the mark meets another.
func (w *work) paired(piece, mark string) bool {
	for i := range w.p.Seams {
		for _, n := range w.p.Seams[i].Notches {
			if n[0].Piece == piece && n[0].Mark == mark {
				return true
			}
		}
	}
	return false
}

// onSeam is the length of the edges of a run that the Sew side of a seam goes over, less that of those on its
// To side.
func (w *work) onSeam(i int, p *pattern.Piece, r run) (l float64, on bool) {
	for _, k := range r.edges(len(p.Edges)) {
		for side, refs := range [2][]pattern.EdgeRef{w.p.Seams[i].Sew, w.p.Seams[i].To} {
			for _, ref := range refs {
				if ref.Piece == p.Name && ref.Edge == p.Edges[k].Name {
					l, on = l+float64(1-2*side)*p.Edges[k].Path.Length(), true
				}
			}
		}
	}
	return l, on
}

// belowNow is the length of the cap below the marks, on each side.
func (g *gathering) belowNow(t *tube) [2]float64 {
	th := newThread(t.p, t.cap, true)
	var out [2]float64
	for k := range 2 {
		m := t.p.MarkNamed(g.marks[k])
		if m == nil {
			continue
		}
		out[k], _ = th.along(spot{t.p.EdgeNamed(m.Edge), m.S})
		if k == 1 {
			out[k] = th.length - out[k]
		}
	}
	return out
}

// matedNotch puts a notch on a sewn edge, and one where it comes to lie on the other side of the seam: as far
// between the notches, or ends, next to it as it is on its own side.
func (w *work) matedNotch(p *pattern.Piece, at spot, name string, count int) (string, error) {
	edge := p.Edges[at.edge].Name
	name = free(name, knows(p))
	m := pattern.Mark{Kind: pattern.Notch, Name: name, Count: count, Edge: edge, S: at.s, At: at.at(p)}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		on := false
		for _, r := range s.Sew {
			on = on || r.Piece == p.Name && r.Edge == edge
		}
		if !on {
			continue
		}
		sew, err := inspect.Walk(&w.p, s.Sew)
		if err != nil {
			return "", err
		}
		to, err := inspect.Walk(&w.p, s.To)
		if err != nil {
			return "", err
		}
		p.Marks = append(p.Marks, m)
		x, _ := sew.MarkAt(p.Name, name)
		a, b := [2]float64{0, 0}, [2]float64{sew.Len, to.Len}
		for _, n := range s.Notches {
			u, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
			v, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
			if ok1 && ok2 && u <= x && u > a[0] {
				a = [2]float64{u, v}
			}
			if ok1 && ok2 && u >= x && u < b[0] {
				b = [2]float64{u, v}
			}
		}
		y := a[1]
		if b[0] > a[0] {
			y += (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
		}
		mate := w.markOnChain(to, y, name, count)
		s.Notches = append(s.Notches, [2]pattern.MarkRef{{Piece: p.Name, Mark: name}, mate})
		return name, nil
	}
	p.Marks = append(p.Marks, m)
	return name, nil
}

// markOnChain puts a notch after the length y walked along a chain.
func (w *work) markOnChain(c inspect.Chain, y float64, name string, count int) pattern.MarkRef {
	for i, l := range c.Links {
		if y > l.Start+l.Len && i < len(c.Links)-1 {
			continue
		}
		s := math.Max(0, math.Min(l.Len, y-l.Start))
		if l.Against {
			s = l.Len - s
		}
		q := w.p.PieceNamed(l.Piece.Name)
		e := &q.Edges[l.Edge]
		m := pattern.Mark{Kind: pattern.Notch, Name: free(name, knows(q)), Count: count, Edge: e.Name, S: s, At: e.Path.PointAt(s)}
		q.Marks = append(q.Marks, m)
		return pattern.MarkRef{Piece: q.Name, Mark: m.Name}
	}
	return pattern.MarkRef{}
}

// drawUp tells every seam of the cap how much it has to draw up, and gives the sum.
func (w *work) drawUp(t *tube, g *gathering) float64 {
	sum := 0.0
	for i := range w.p.Seams {
		before, ok := g.seams[i]
		if !ok {
			continue
		}
		l, _ := w.onSeam(i, t.p, t.cap)
		w.p.Seams[i].Drawn += l - before
		g.drawn[i] = l - before
		sum += l - before
	}
	return sum
}

// gatherPromises holds what lies below the gathers, and the ease beside them, to what they were.
func (w *work) gatherPromises(t *tube, g *gathering, eases []float64) error {
	now := g.belowNow(t)
	off := math.Max(math.Abs(now[0]-g.below[0]), math.Abs(now[1]-g.below[1]))
	w.promise(inspect.Check{Rule: w.change + "_below", Piece: t.p.Name, Place: "cap", Measured: off, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Below the notches where the gathers of %s begin, its cap keeps its length to %.3f mm.", t.p.Name, off)})
	after, err := w.eases()
	if err != nil {
		return err
	}
	most := 0.0
	for i := range eases {
		if _, ok := g.seams[i]; ok {
			most = math.Max(most, math.Abs(after[i]-w.p.Seams[i].Drawn-eases[i]))
		}
	}
	w.promise(inspect.Check{Rule: w.change + "_ease", Piece: t.p.Name, Place: "cap", Measured: most, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Gathers apart, the cap of %s keeps its ease to %.3f mm.", t.p.Name, most)})
	return w.gathersLie(t, g)
}

// gathersLie refuses gathers that would pull notches of their seams past each other: where the cap runs so
// slantwise that it becomes shorter at one place, while it is gathered at another.
func (w *work) gathersLie(t *tube, g *gathering) error {
	const slack = 0.5 // mm
	now := w.notchesApart()
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		for _, n := range s.Notches {
			is, ok := now[meeting{s.Name, n}]
			d := is - g.apart[meeting{s.Name, n}]
			if ok && (d < min(0, g.drawn[i])-slack || d > max(0, g.drawn[i])+slack) {
				return pattern.Fault{Rule: "slash_slants", Pointer: "/cap", Piece: t.p.Name, Edge: t.p.Edges[t.cap.first].Name, Detail: fmt.Sprintf("seam %s: the notches %s and %s would no longer meet, for the edges that are opened run along the grain there", s.Name, n[0].Mark, n[1].Mark),
					Valid: "edges that the grain meets about squarely", Remedy: "name as cap only edges that lie across the grain"}
			}
		}
	}
	return nil
}

// easesNow are the eases of all seams, gathers apart.
func (w *work) easesNow() ([]float64, error) {
	e, err := w.eases()
	for i := range e {
		e[i] -= w.p.Seams[i].Drawn
	}
	return e, err
}

// gatherStep is how a gathered cap is made ready to be set in.
func (w *work) gatherStep(t *tube, g *gathering, by float64) {
	th := newThread(t.p, t.cap, true)
	from := th.length - g.below[0] - g.below[1]
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{t.p.Name},
		Text: fmt.Sprintf("Sew two rows of gathering stitches along the cap of %s, beside the seam line, from notch to notch: %s, to be drawn up to %s when the sleeve is set in, most of it near the crown.",
			t.p.Name, say(from), say(from-by)),
		Amounts: []Amount{{"cap between the notches", from}, {"drawn up", by}, {"cap as set in", from - by}}})
}

// band is a straight band or cuff for a gathered hem.
type bandOf struct {
	measure      string
	length       *float64
	ease, width  float64
	overlap      float64
	name, cloth  string
	piece, hem   string
	girth, finds float64 // of the body; length of the band between the ends of the hem
}

// band makes it and sews the hem to it. The piece list grows: pointers to pieces are to be found anew.
func (w *work) band(b *bandOf) error {
	run, err := w.runOf("/piece", []pattern.EdgeRef{{Piece: b.piece, Edge: b.hem}})
	if err != nil {
		return blame(err, "/hem")
	}
	ptr := "/measure"
	if b.length != nil {
		b.finds, ptr = *b.length, "/band_length"
	} else {
		if b.girth, err = w.bodyMeasure("/measure", b.measure); err != nil {
			return err
		}
		b.finds = b.girth + b.ease
	}
	if k := run.len / b.finds; !(b.finds >= 20 && k >= 1 && k <= 6) {
		return pattern.Fault{Rule: "out_of_range", Pointer: ptr, Piece: b.piece, Edge: b.hem,
			Detail: fmt.Sprintf("the hem of %s, %.1f mm long, cannot be gathered onto %.1f mm of band", b.piece, run.len, b.finds),
			Valid:  fmt.Sprintf("a band of %.1f to %.1f mm", run.len/6, run.len), Remedy: "open the hem further, or change the measure or the ease of the band"}
	}
	s := strip{name: b.name, title: "Band", cloth: b.cloth, run: run, long: b.finds, high: 2 * b.width, as: cutEach, over: b.overlap, hangs: true, gathered: true, interfaced: true, foldLine: true, far: "inner", notches: 1}
	s.grain.X = 1
	if b.length == nil {
		s.body = b.measure
	}
	m, err := w.addStrip(s)
	if err != nil {
		return blame(err, "/band")
	}
	w.stripPromises(&s, &m, run.said())
	own := m.piece.Edges[m.piece.EdgeNamed(m.sewn[0])].Path.Length()
	w.promise(inspect.Check{Rule: w.change + "_band", Piece: b.name, Place: m.sewn[0], Measured: own, Want: pattern.Range{Min: b.finds, Max: b.finds}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Between its ends %s is %.1f mm long.", b.name, own)})
	shut := "Close its ends to a ring"
	if b.overlap > 0 {
		shut = fmt.Sprintf("Close its ends, the overlap of %s standing out past the opening", say(b.overlap))
		w.res.Notions = append(w.res.Notions, b.name+": a button each")
	}
	w.res.Notions = append(w.res.Notions, fmt.Sprintf("interfacing for %s, %s wide", b.name, say(s.high)))
	w.res.Steps = append(w.res.Steps, Step{Stage: Join, Pieces: []string{b.piece, b.name},
		Text: fmt.Sprintf("Gather the hem of %s from %s to %s. Interface %s. %s. Right sides together, sew it to the hem, matching notches; fold it to the inside at its finished width of %s and sew its inner edge down over the seam.",
			b.piece, say(run.len), say(b.finds), b.name, shut, say(b.width)),
		Amounts: []Amount{{"hem", run.len}, {"band", b.finds}, {"overlap", b.overlap}, {"finished width", b.width}}})
	return nil
}

// bandDrawn draws the band as the last step of a working drawing, below the piece.
func (l *plan) bandDrawn(w *work, b *bandOf) {
	const clear = 40.0 // mm between the two
	q, p := w.p.PieceNamed(b.name), w.p.PieceNamed(b.piece)
	sum := say(b.finds)
	if b.girth > 0 {
		sum = fmt.Sprintf("%s and %s of ease: %s", say(b.girth), say(b.ease), say(b.finds))
	}
	lap := ""
	if b.overlap > 0 {
		lap = fmt.Sprintf(", with %s of overlap", say(b.overlap))
	}
	l.step("Draw %s, a rectangle as long as %s%s, and twice its finished width of %s wide.", b.name, sum, lap, say(b.width))
	at, low := q.Outline().Bounds(), p.Outline().Bounds()
	lay := geom.Translate(geom.Pt(low.Center().X, low.Min.Y-clear-at.H()/2).Sub(at.Center()))
	l.line(New, b.name, q.Outline().Transform(lay), b.name)
	e := q.Edges[q.EdgeNamed("stitched")].Path.Transform(lay)
	x, y := l.point(e.Start(), "band begins"), l.point(e.End(), "band ends")
	l.measure(x, y, e, "band")
}
