package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A lining (TRADE 5): the shell less its facings, plus an ease pleat, and shorter at the hem. Linings of pieces that
// are sewn together are sewn together as they are.

type liningArgs struct {
	Pieces  []string          `arg:"pieces" kind:"names" must:"yes" says:"The pieces that are lined; those that are sewn together belong in one change."`
	Facing  []string          `arg:"facing" kind:"names" says:"Facings made before: what they cover of a piece is left out of its lining, which is sewn to their inner edge."`
	Pleat   float64           `arg:"pleat" kind:"length" min:"2" max:"80" default:"20mm" says:"How deep the ease pleat is; it takes twice as much of the whole width."`
	PleatAt []pattern.EdgeRef `arg:"pleat_at" kind:"edges" says:"The edges on the fold, such as a centre back, at which an ease pleat is laid; left out, none is."`
	Shorter float64           `arg:"shorter" kind:"length" min:"0" max:"300" default:"20mm" says:"How much shorter than the shell the lining is at its hem."`
	Hem     string            `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the pieces; a piece without it is not shortened."`
	Cloth   string            `arg:"cloth" kind:"name" default:"lining" says:"The cloth that it is cut from."`
	Name    string            `arg:"name" kind:"name" default:"lining" says:"What is added to a piece's name for that of its lining."`
}

func defineLining() Definition {
	return Definition{
		Name:     "lining",
		Sentence: "Makes the lining of pieces: the shell less its facings, plus an ease pleat, shorter at the hem.",
		Promise:  "Lining and facings together cover the shell; the hem is shorter by the amount asked for, to 0.1 mm everywhere; seams of the lining match as those of the shell do.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(20, 3), geom.Pt(90, 3), geom.Pt(85, 95), geom.Pt(20, 80), geom.Pt(20, 3))},
			{New, geom.Polyline(geom.Pt(12, 12), geom.Pt(89, 12), geom.Pt(86, 82), geom.Pt(20, 66), geom.Pt(12, 66), geom.Pt(12, 12))},
			{Construction, geom.Polyline(geom.Pt(20, 12), geom.Pt(20, 66))},
		},
		fresh: func() args { return new(liningArgs) },
	}
}

// lined is one lining on its way.
type lined struct {
	shell   *pattern.Piece
	q       pattern.Piece
	covered float64 // by facings
	short   float64 // area lost at the hem
	pleat   float64 // area gained
	hem     geom.Path
	faced   [][2]string // edge of the lining, facing piece
}

func (a *liningArgs) apply(w *work) error {
	all := make([]lined, len(a.Pieces))
	for i, n := range a.Pieces {
		ptr := "/pieces"
		if len(a.Pieces) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		p, err := w.piece(ptr, n)
		if err != nil {
			return err
		}
		name := n + "_" + a.Name
		if !pattern.ValidName(name) || w.p.PieceNamed(name) != nil {
			return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: name, Detail: fmt.Sprintf("there is a piece %q already, or none can be called so", name), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
		}
		q := p.Clone()
		q.Name, q.Of, q.Cut.Cloth = name, name, a.Cloth
		if q.Title != "" {
			q.Title += ", lining"
		}
		for k := range q.Edges {
			q.Edges[k].Own = nil
		}
		for k := range q.Marks {
			if q.Marks[k].Match != "" {
				q.Marks[k].Match = a.Name + "_" + q.Marks[k].Match
			}
		}
		all[i] = lined{shell: p, q: q}
	}
	for i, n := range a.Facing {
		ptr := "/facing"
		if len(a.Facing) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		if err := a.less(w, ptr, n, all); err != nil {
			return err
		}
	}
	for i := range all {
		if err := a.shorten(w, &all[i]); err != nil {
			return err
		}
	}
	for i, r := range a.PleatAt {
		ptr := "/pleat_at"
		if len(a.PleatAt) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		if err := a.ease(w, ptr, r, all); err != nil {
			return err
		}
	}
	for i := range all {
		q := &all[i].q
		for k := range q.Edges {
			q.Edges[k].Src = pattern.Source{Piece: q.Name, Edge: q.Edges[k].Name, S1: q.Edges[k].Path.Length()}
		}
		fitGrain(q)
	}
	shells := make([]pattern.Piece, len(all))
	for i := range all {
		shells[i] = all[i].shell.Clone()
	}
	for i := range all {
		w.p.Pieces = append(w.p.Pieces, all[i].q)
		w.made = append(w.made, all[i].q.Name)
	}
	if err := a.sew(w, all); err != nil {
		return err
	}
	a.tell(w, shells, all)
	return nil
}

// less takes what a facing covers out of the lining of its piece: its inner edge lies where it lay on the shell.
func (a *liningArgs) less(w *work, ptr, name string, all []lined) error {
	f, err := w.piece(ptr, name)
	if err != nil {
		return err
	}
	const on, in = 0.05, 2.0 // mm: on the outline, inside of it
	for i := range all {
		q := &all[i].q
		if f.Name == all[i].shell.Name {
			continue
		}
		out := q.Outline()
		found := -1
		for k := range f.Edges {
			e := f.Edges[k].Path
			m := e.PointAt(e.Length() / 2)
			_, d := out.Project(m)
			_, d0 := out.Project(e.Start())
			_, d1 := out.Project(e.End())
			if d0 <= on && d1 <= on && d > in && out.Contains(m) {
				found = k
			}
		}
		if found < 0 || !covers(f, q, found) {
			continue
		}
		path := f.Edges[found].Path
		l := cutLine{from: nearSpot(q, path.Start()), to: nearSpot(q, path.End()), path: path, edge: "faced"}
		area := q.Outline().Area()
		next, err := rightOf(q, l, q.Name)
		if err != nil {
			return blame(err, ptr)
		}
		all[i].covered += area - next.Outline().Area()
		all[i].faced = append(all[i].faced, [2]string{next.Edges[len(next.Edges)-1].Name, name})
		next.Of, next.Cut.Cloth = q.Of, q.Cut.Cloth
		*q = next
		return nil
	}
	return pattern.Fault{Rule: "no_facing", Pointer: ptr, Piece: name, Detail: fmt.Sprintf("%q does not lie along an edge of a lined piece where it was cut from", name), Valid: "a facing of one piece, not joined to others", Remedy: "make the facing without joining it, or leave it out here"}
}

// covers: the facing's other edges lie on the outline of the piece.
func covers(f, q *pattern.Piece, inner int) bool {
	out := q.Outline()
	for k := range f.Edges {
		if k == inner {
			continue
		}
		e := f.Edges[k].Path
		if _, d := out.Project(e.PointAt(e.Length() / 2)); d > 0.5 {
			return false
		}
	}
	return true
}

// nearSpot is the place of the outline at a point, on the edge that begins there when it is a corner.
func nearSpot(p *pattern.Piece, q geom.Point) spot {
	e, s, _, _ := p.Nearest(q)
	if p.Edges[e].Path.Length()-s <= pattern.Near {
		return spot{(e + 1) % len(p.Edges), 0}
	}
	if s <= pattern.Near {
		s = 0
	}
	return spot{e, s}
}

// shorten cuts a strip off along the hem.
func (a *liningArgs) shorten(w *work, l *lined) error {
	q := &l.q
	k := q.EdgeNamed(a.Hem)
	if k < 0 {
		return nil
	}
	l.hem = q.Edges[k].Path
	if a.Shorter == 0 {
		return nil
	}
	refuse := func(why string) error {
		return pattern.Fault{Rule: "no_parallel", Pointer: "/shorter", Piece: l.shell.Name, Edge: a.Hem, Detail: fmt.Sprintf("the lining of %q cannot be %s shorter: %s", l.shell.Name, say(a.Shorter), why), Valid: "less than the piece has room for", Remedy: "shorten it by less"}
	}
	far := 3*a.Shorter + 20
	par, err := parallelIn(runOut(l.hem, far, far), a.Shorter)
	if err != nil {
		return refuse("its hem bends more tightly than that")
	}
	mid, _ := par.Project(l.hem.PointAt(l.hem.Length() / 2))
	lo, hi := -1.0, math.Inf(1)
	var from, to spot
	start := q.EdgeStart((k + 1) % len(q.Edges))
	var rest geom.Path
	for i := 1; i < len(q.Edges); i++ {
		rest = append(rest, q.Edges[(k+i)%len(q.Edges)].Path...)
	}
	for _, x := range geom.Intersect(par, rest, 1e-6) {
		at := spotAt(q, start+x.T)
		if x.S <= mid && x.S > lo {
			lo, from = x.S, at
		}
		if x.S > mid && x.S < hi {
			hi, to = x.S, at
		}
	}
	if lo < 0 || math.IsInf(hi, 1) || hi-lo < 2 {
		return refuse("it has no room for that")
	}
	area := q.Outline().Area()
	c := cutLine{from: from, to: to, path: par.Sub(lo, hi), edge: "hem_of_lining"}
	next, err := leftOf(q, c, q.Name)
	if err != nil {
		return blame(err, "/shorter")
	}
	next.Of, next.Cut.Cloth = q.Of, q.Cut.Cloth
	last := len(next.Edges) - 1
	if next.EdgeNamed(a.Hem) < 0 {
		for i := range next.Marks {
			if next.Marks[i].Edge == next.Edges[last].Name {
				next.Marks[i].Edge = a.Hem
			}
		}
		next.Edges[last].Name = a.Hem
	}
	l.short = area - next.Outline().Area()
	*q = next
	return nil
}

// ease lets an ease pleat in at an edge on the fold: the fold moves out, the old one is the line that it is laid to.
func (a *liningArgs) ease(w *work, ptr string, r pattern.EdgeRef, all []lined) error {
	for i := range all {
		if all[i].shell.Name != r.Piece {
			continue
		}
		q := &all[i].q
		k, err := w.edge(ptr, q, r.Edge)
		if err != nil {
			return err
		}
		if !q.Edges[k].Fold || !isStraight(q.Edges[k].Path) {
			return pattern.Fault{Rule: "no_fold", Pointer: ptr, Piece: r.Piece, Edge: r.Edge, Detail: fmt.Sprintf("%s.%s does not lie on the fold", r.Piece, r.Edge), Valid: "an edge on the fold", Remedy: "name the centre back, on the fold"}
		}
		area := q.Outline().Area()
		fold := q.Edges[k].Path
		out := fold.StartTangent().Right().Mul(a.Pleat)
		q.Lines = append(q.Lines, pattern.InnerLine{Name: "pleat_line", Path: fold})
		moved := q.Edges[k]
		moved.Path = fold.Transform(geom.Translate(out))
		edges := []pattern.Edge{moved}
		n := len(q.Edges)
		prev, next := (k+n-1)%n, (k+1)%n
		before, after := geom.Polyline(fold.Start(), moved.Path.Start()), geom.Polyline(moved.Path.End(), fold.End())
		taken := func(s string) bool { return q.EdgeNamed(s) >= 0 }
		if q.Edges[prev].Name == a.Hem {
			q.Edges[prev].Path = append(append(geom.Path{}, q.Edges[prev].Path...), before...)
		} else {
			e := pattern.Edge{Name: free("pleat_"+q.Edges[prev].Name, taken), From: moved.From, Path: before}
			edges[0].From = free(moved.From+"_out", knows(q))
			e.To = edges[0].From
			edges = append([]pattern.Edge{e}, edges...)
		}
		if q.Edges[next].Name == a.Hem {
			shift := a.Pleat
			q.Edges[next].Path = append(append(geom.Path{}, after...), q.Edges[next].Path...)
			for m := range q.Marks {
				if q.Marks[m].Edge == a.Hem {
					q.Marks[m].S += shift
				}
			}
		} else {
			e := pattern.Edge{Name: free("pleat_"+q.Edges[next].Name, taken), To: moved.To, Path: after}
			at := len(edges) - 1
			edges[at].To = free(moved.To+"_out", knows(q))
			e.From = edges[at].To
			edges = append(edges, e)
		}
		for m := range q.Marks {
			if q.Marks[m].Edge == moved.Name {
				q.Marks[m].At = moved.Path.PointAt(q.Marks[m].S)
			}
		}
		q.Edges = append(append(append([]pattern.Edge(nil), q.Edges[:k]...), edges...), q.Edges[k+1:]...)
		all[i].pleat += q.Outline().Area() - area
		return nil
	}
	return pattern.Fault{Rule: "unknown_piece", Pointer: ptr, Piece: r.Piece, Detail: fmt.Sprintf("piece %q is not lined", r.Piece), Valid: pattern.Choices(a.Pieces), Remedy: pattern.Suggest(r.Piece, a.Pieces)}
}

// sew gives the lining the seams that the shell has, and those to the facings.
func (a *liningArgs) sew(w *work, all []lined) error {
	over := func(refs []pattern.EdgeRef) ([]pattern.EdgeRef, bool) {
		var out []pattern.EdgeRef
		for _, r := range refs {
			if !slices.Contains(a.Pieces, r.Piece) {
				return nil, false
			}
			r.Piece += "_" + a.Name
			if q := w.p.PieceNamed(r.Piece); q.EdgeNamed(r.Edge) < 0 {
				return nil, false
			}
			out = append(out, r)
		}
		return out, true
	}
	for _, s := range append([]pattern.Seam(nil), w.p.Seams...) {
		sew, ok1 := over(s.Sew)
		to, ok2 := over(s.To)
		if !ok1 || !ok2 {
			continue
		}
		x, err1 := inspect.Walk(&w.p, sew)
		y, err2 := inspect.Walk(&w.p, to)
		if err1 != nil || err2 != nil {
			continue
		}
		if d := x.Len - y.Len; !s.Ease.Has(d-s.Drawn, 0.4) {
			return pattern.Fault{Rule: "seam_broken", Pointer: "/facing", Piece: s.Sew[0].Piece, Edge: s.Sew[0].Edge, Detail: fmt.Sprintf("seam %s of the lining would not match: one side is %.1f mm longer than the other", s.Name, d), Valid: "facings that end alike on both sides of a seam", Remedy: "face both pieces, or neither"}
		}
		n := s
		n.Name, n.Sew, n.To, n.Notches = w.seamFree(a.Name+"_"+s.Name), sew, to, nil
		for _, m := range s.Notches {
			b := m
			b[0].Piece += "_" + a.Name
			b[1].Piece += "_" + a.Name
			_, ok1 := x.MarkAt(b[0].Piece, b[0].Mark)
			_, ok2 := y.MarkAt(b[1].Piece, b[1].Mark)
			if ok1 && ok2 {
				n.Notches = append(n.Notches, b)
			}
		}
		w.p.Seams = append(w.p.Seams, n)
	}
	for i := range all {
		for _, f := range all[i].faced {
			a.sewFacing(w, &all[i], f)
		}
	}
	return nil
}

// sewFacing sews a lining to its facing where the two are still equally long.
func (a *liningArgs) sewFacing(w *work, l *lined, f [2]string) {
	q, p := w.p.PieceNamed(l.q.Name), w.p.PieceNamed(f[1])
	k := q.EdgeNamed(f[0])
	if k < 0 {
		return
	}
	for i := range p.Edges {
		e := p.Edges[i].Path
		m := e.PointAt(e.Length() / 2)
		if _, d := q.Edges[k].Path.Project(m); d <= pattern.Near && math.Abs(e.Length()-q.Edges[k].Path.Length()) <= 0.1 {
			w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(q.Name + "_" + f[1]), Sew: []pattern.EdgeRef{{Piece: q.Name, Edge: f[0]}}, To: []pattern.EdgeRef{{Piece: p.Name, Edge: p.Edges[i].Name, Against: true}}})
			return
		}
	}
}

func (a *liningArgs) tell(w *work, shells []pattern.Piece, all []lined) {
	d := plan{d: Drawing{Title: fmt.Sprintf("Lining, size %s", w.p.Size)}}
	d.step("Copy the pieces of the shell and draw the inner edges of their facings over them.")
	for i := range shells {
		d.line(Outline, shells[i].Name, shells[i].Outline(), shells[i].Name)
	}
	if a.Shorter > 0 {
		d.step("Leave out what the facings cover; raise the hem by %s, parallel.", say(a.Shorter))
	} else {
		d.step("Leave out what the facings cover.")
	}
	var names []string
	var amounts []Amount
	for i := range all {
		l := &all[i]
		q := w.p.PieceNamed(l.q.Name)
		names = append(names, q.Name)
		whole := (q.Outline().Area() + l.covered + l.short - l.pleat - shells[i].Outline().Area()) / 100
		w.promise(inspect.Check{Rule: "lining_whole", Piece: q.Name, Place: "outline", Measured: whole, Tolerance: 0.01, Unit: "cm2",
			Text: fmt.Sprintf("%s, the facings and what the hem is shorter by cover %s, but for the ease pleat.", q.Name, shells[i].Name)})
		if k := q.EdgeNamed(a.Hem); k >= 0 && len(l.hem) > 0 {
			off := 0.0
			for n := range 17 {
				e := q.Edges[k].Path
				s, dist := l.hem.Project(e.PointAt(e.Length() * float64(n) / 16))
				if s < 0.5 || s > l.hem.Length()-0.5 {
					continue // an ease pleat runs on past the shell's hem
				}
				// Inside a slight corner of the hem, as over a pleat, the parallel runs a little wide: it is mitred.
				wide := a.Shorter / math.Cos(sharpest(l.hem)*math.Pi/360)
				off = math.Max(off, math.Max(a.Shorter-dist, dist-wide))
			}
			w.promise(inspect.Check{Rule: "lining_shorter", Piece: q.Name, Place: a.Hem, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("The hem of %s lies %.1f mm above that of %s, to %.3f mm.", q.Name, a.Shorter, shells[i].Name, off)})
			x := d.point(l.hem.PointAt(l.hem.Length()/2), "hem of "+shells[i].Name)
			y := d.point(q.Edges[k].Path.PointAt(q.Edges[k].Path.Length()/2), "hem of "+q.Name)
			d.measure(x, y, nil, "shorter")
			amounts = append(amounts, Amount{"hem of " + q.Name, q.Edges[k].Path.Length()})
		}
	}
	if len(a.PleatAt) > 0 {
		d.step("Move the fold out by %s for the ease pleat; the old fold is the line that it is laid to.", say(a.Pleat))
	}
	d.step("Trace the linings apart.")
	for _, n := range names {
		d.line(New, n, w.p.PieceNamed(n).Outline(), n)
	}
	w.res.Drawing = d.d
	pleat, faced, ends := "", "", "as long as the shell"
	if a.Shorter > 0 {
		ends = "it ends " + say(a.Shorter) + " above the shell"
	}
	if len(a.PleatAt) > 0 {
		pleat = fmt.Sprintf(" Lay the ease pleat %s deep at the fold and baste it at both ends.", say(a.Pleat))
	}
	if len(a.Facing) > 0 {
		faced = " Sew its faced edges to the facings."
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: names,
		Text:    fmt.Sprintf("Sew the lining (%s) like the shell, pressing its seams the other way.%s%s Slip it in, wrong sides together, and hem it by itself: %s.", said(names), pleat, faced, ends),
		Amounts: append([]Amount{{"shorter", a.Shorter}}, amounts...)})
}
