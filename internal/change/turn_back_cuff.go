package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A turn-back cuff (TRADE 4.2). Cut in one with the sleeve it is the sleeve mirrored in its hem, so that it
// lies flat on the sleeve when it is turned back; what is turned under it is mirrored again in the cuff's edge,
// and again where it goes past the hem. A mirror has to be straight, so has the hem then. Cut on its own it is a
// copy of the sleeve above the hem, and the hem may have any shape.
//
// Cloth that goes round an edge needs the turn of cloth: the fold lies half the roll below the hem line.

type turnBackArgs struct {
	Pieces     []string `arg:"piece" kind:"names" default:"sleeve" says:"The sleeve, or all the pieces of a sleeve that has several."`
	Hem        string   `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the pieces."`
	Depth      float64  `arg:"depth" kind:"length" min:"10" max:"300" default:"50mm" says:"How deep the finished cuff is, along the seams of the sleeve."`
	Facing     *float64 `arg:"facing" kind:"length" min:"0" max:"400" says:"How much is turned under a cuff cut in one; left out, the depth and 20 mm, so that it goes round to the inside of the sleeve and the right side of the cloth shows."`
	Roll       float64  `arg:"roll" kind:"length" min:"0" max:"15" default:"2mm" says:"The turn of cloth: what the cloth takes up in going round the fold; more for thick cloth."`
	Cut        string   `arg:"cut" kind:"choice" choices:"in_one,separate" default:"in_one" says:"Whether the cuff is cut in one with the sleeve, or as a piece of its own that is sewn to the hem."`
	Straighten bool     `arg:"straighten" kind:"flag" default:"false" says:"Whether a sleeve with a curved hem or leaning sides is first drawn straight down below the edge of a cuff cut in one."`
	Finish     float64  `arg:"finish" kind:"length" min:"0" max:"60" default:"10mm" says:"The allowance of the raw edge of a cuff cut in one."`
	Name       string   `arg:"name" kind:"name" default:"cuff" says:"The name of a separate cuff, and of the sides of one cut in one; with several pieces theirs are added."`
}

const (
	cuffInOne    = "in_one"
	cuffSeparate = "separate"
)

func defineTurnBackCuff() Definition {
	return Definition{
		Name:     "turn_back_cuff",
		Sentence: "Gives a sleeve a cuff that is turned back onto it, cut in one with the sleeve or as a piece of its own.",
		Promise:  "Turned back, the cuff lies on the sleeve to 0.1 mm at its sides, as deep as stated; what is turned under lies on the cuff; the seams still match.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(8, 95), geom.Pt(18, 50), geom.Pt(82, 50), geom.Pt(92, 95))},
			{New, geom.Polyline(geom.Pt(18, 50), geom.Pt(12, 26), geom.Pt(16, 8), geom.Pt(84, 8), geom.Pt(88, 26), geom.Pt(82, 50))},
			{Construction, geom.Polyline(geom.Pt(18, 50), geom.Pt(82, 50))},
			{Construction, geom.Polyline(geom.Pt(12, 26), geom.Pt(88, 26))},
			{CutAway, geom.Polyline(geom.Pt(12, 74), geom.Pt(88, 74))},
		},
		fresh: func() args { return new(turnBackArgs) },
	}
}

// past is how far what is turned under must reach round the hem to be caught there.
const past = 6.0

func (a *turnBackArgs) check() pattern.Faults {
	if a.Cut == cuffSeparate {
		var fs pattern.Faults
		if a.Facing != nil {
			fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/facing", Detail: "turn_back_cuff: a separate cuff is faced with its own shape", Remedy: "leave facing out, or cut the cuff in one"})
		}
		if a.Straighten {
			fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/straighten", Detail: "turn_back_cuff: a separate cuff follows the hem, which stays as it is", Remedy: "leave straighten out, or cut the cuff in one"})
		}
		return fs
	}
	switch f := a.under(); {
	case f > a.Depth && f < a.Depth+past:
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/facing", Detail: fmt.Sprintf("turn_back_cuff: %.1f mm turned under a cuff of %.1f mm would end just at the fold", f, a.Depth),
			Valid: fmt.Sprintf("up to %.1f mm, or %.1f to %.1f mm", a.Depth, a.Depth+past, 2*a.Depth), Remedy: "let it end under the cuff, or go on round the hem to be caught there"}}
	case f > 2*a.Depth:
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/facing", Detail: fmt.Sprintf("turn_back_cuff: %.1f mm is more than there is to turn under a cuff of %.1f mm", f, a.Depth),
			Valid: fmt.Sprintf("up to %.1f mm", 2*a.Depth), Remedy: "turn less under"}}
	}
	return nil
}

// under is what is turned under.
func (a *turnBackArgs) under() float64 {
	if a.Facing != nil {
		return *a.Facing
	}
	return a.Depth + min(20, a.Depth)
}

// turned is one piece with its cuff.
type turnedBack struct {
	was         pattern.Piece // before, straightened
	raw         pattern.Piece // before all
	piece, cuff string
	left, right string // sides of the sleeve
	sides       [2]string
	end         string
	folds       []string // inner lines that it is folded at, from the hem on
}

func (a *turnBackArgs) apply(w *work) error {
	var all []turnedBack
	lens := w.seamLengths()
	for i, name := range a.Pieces {
		ptr := "/piece"
		if len(a.Pieces) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		t, err := w.opens(name, a.Hem, nil)
		if err != nil {
			fs := pattern.FaultsOf(err)
			if fs[0].Pointer == "/piece" {
				fs[0].Pointer = ptr
			}
			return fs
		}
		if err := a.room(&t); err != nil {
			return err
		}
		b := turnedBack{raw: t.p.Clone(), piece: name, left: t.p.Edges[t.left].Name, right: t.p.Edges[t.right].Name, cuff: a.Name}
		if len(a.Pieces) > 1 {
			b.cuff = a.Name + "_" + name
		}
		if a.Cut == cuffSeparate {
			if err := a.separate(w, &t, &b); err != nil {
				return err
			}
		} else {
			if err := a.inOne(w, &t, &b); err != nil {
				return err
			}
		}
		all = append(all, b)
	}
	if a.Cut == cuffSeparate {
		a.sewCuffs(w, all)
		a.promiseSeparate(w, all)
		a.tellSeparate(w, all)
		return nil
	}
	if err := a.sewOn(w, all); err != nil {
		return err
	}
	a.promiseInOne(w, all, lens)
	a.tellInOne(w, all)
	return nil
}

// room refuses a cuff that is deeper than the sleeve has sides for.
func (a *turnBackArgs) room(t *tube) error {
	const rest = 10.0 // mm of the side that stay above the cuff
	for _, i := range [2]int{t.left, t.right} {
		if l := t.p.Edges[i].Path.Length(); a.Depth > l-rest {
			return pattern.Fault{Rule: "out_of_range", Pointer: "/depth", Piece: t.p.Name, Edge: t.p.Edges[i].Name,
				Detail: fmt.Sprintf("a cuff of %.1f mm does not fit on edge %s.%s, which is %.1f mm long", a.Depth, t.p.Name, t.p.Edges[i].Name, l),
				Valid:  fmt.Sprintf("10 to %.1f mm", l-rest), Remedy: "make the cuff less deep, or lengthen the sleeve first"}
		}
		if t.p.IsLeg(t.p.Edges[i].Name) {
			return pattern.Fault{Rule: "dart_leg", Pointer: "/hem", Piece: t.p.Name, Edge: t.p.Edges[i].Name, Detail: fmt.Sprintf("edge %s beside the hem is the leg of a dart", t.p.Edges[i].Name), Remedy: "sew or move the dart first"}
		}
	}
	return nil
}

// crooked is how far a line strays from straight.
func crooked(p geom.Path) float64 {
	off := 0.0
	u := p.End().Sub(p.Start()).Unit()
	for _, q := range p.Spread(24) {
		off = math.Max(off, math.Abs(q.Sub(p.Start()).Cross(u)))
	}
	return off
}

// inOne draws the extension below the hem.
func (a *turnBackArgs) inOne(w *work, t *tube, b *turnedBack) error {
	const straight = 0.2 // mm that a hem may stray from a straight line and still be folded flat
	p := t.p
	if a.Straighten {
		if err := a.straighten(t); err != nil {
			return err
		}
	}
	if off := crooked(p.Edges[t.hem].Path); off > straight {
		return pattern.Fault{Rule: "curved_fold", Pointer: "/cut", Piece: p.Name, Edge: a.Hem,
			Detail: fmt.Sprintf("edge %s.%s strays %.1f mm from a straight line, and cloth cannot be turned back flat over a curve", p.Name, a.Hem, off),
			Valid:  fmt.Sprintf("a hem straight to %g mm", straight), Remedy: "cut the cuff separate, or say straighten: true"}
	}
	b.was = p.Clone()
	f := newFolding(p.Edges[t.left].Path.Reverse(), p.Edges[t.right].Path, a.Depth, a.under(), a.Roll)
	q := p.Clone()
	q.Edges = nil
	n := len(p.Edges)
	for i := t.right; i != t.hem; i = (i + 1) % n {
		q.Edges = append(q.Edges, p.Edges[i])
	}
	taken := func(s string) bool { return p.EdgeNamed(s) >= 0 || q.EdgeNamed(s) >= 0 }
	side := func(k int, like pattern.Edge, path geom.Path) pattern.Edge {
		e := pattern.Edge{Name: free(a.Name+"_"+like.Name, taken), Path: path, Own: like.Own, Fold: like.Fold}
		e.Src = pattern.Source{Piece: p.Name, Edge: e.Name, S1: path.Length()}
		b.sides[k] = e.Name
		return e
	}
	for k, i := range [2]int{t.left, t.right} {
		if e := p.Edges[i]; e.Fold && crooked(e.Path.Join(f.sides[k])) > 0.01 {
			return pattern.Fault{Rule: "edge_on_fold", Pointer: "/hem", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("the cuff would leave the fold of the cloth at %s", e.Name), Valid: "a hem square to the fold", Remedy: "cut the cuff separate"}
		}
	}
	left := side(0, p.Edges[t.left], f.sides[0])
	q.Edges = append(q.Edges, left)
	right := side(1, p.Edges[t.right], f.sides[1].Reverse())
	end := pattern.Edge{Name: free(a.Name+"_edge", taken), Path: geom.Polyline(left.Path.End(), right.Path.Start()), Own: &pattern.Allowance{Width: a.Finish}}
	end.Src = pattern.Source{Piece: p.Name, Edge: end.Name, S1: end.Path.Length()}
	b.end = end.Name
	q.Edges = append(q.Edges, end, right)
	corner := knows(p)
	k := len(q.Edges)
	q.Edges[k-3].From = q.Edges[k-4].To
	q.Edges[k-3].To = free(end.Name+"_start", corner)
	q.Edges[k-2].From, q.Edges[k-2].To = q.Edges[k-3].To, free(end.Name+"_end", corner)
	q.Edges[k-1].From, q.Edges[k-1].To = q.Edges[k-2].To, q.Edges[0].From
	q.Edges[k-1].Path = closeTo(q.Edges[k-1].Path, q.Edges[k-2].Path.End(), q.Edges[0].Path.Start())
	for i := range q.Marks {
		if q.Marks[i].Edge == a.Hem {
			q.Marks[i] = offSeam(&q, q.Marks[i])
		}
	}
	for i, l := range f.lines {
		name := free([]string{"hem_fold", a.Name + "_fold", "inside_fold"}[i], func(s string) bool {
			for j := range q.Lines {
				if q.Lines[j].Name == s {
					return true
				}
			}
			return false
		})
		q.Lines = append(q.Lines, pattern.InnerLine{Name: name, Path: l})
		b.folds = append(b.folds, name)
	}
	fitGrain(&q)
	*p = q
	w.made = append(w.made, q.Name)
	w.lostNotches()
	return nil
}

// straighten lets the sides fall straight down the sleeve over the depth of the cuff, and draws the hem straight
// between them. The bend lies above the cuff, and takes as much from one side as from the other.
func (a *turnBackArgs) straighten(t *tube) error {
	const most = 60.0 // degrees from straight down
	p := t.p
	was := p.Clone()
	l, r := p.Edges[t.left].Path, p.Edges[t.right].Path.Reverse()
	down := squareTo(p.Edges[t.hem].Path).Neg()
	bend := min(30, (min(l.Length(), r.Length())-a.Depth)/3)
	fall := func(s geom.Path) (geom.Path, geom.Path) {
		up := s.Sub(0, s.Length()-a.Depth-bend)
		return up, geom.Polyline(up.End(), up.End().Add(down.Mul(a.Depth+bend)))
	}
	l0, l1 := fall(l)
	r0, r1 := fall(r)
	if len(l0) == 0 || len(r0) == 0 || degrees(l0.EndTangent(), down) > most || degrees(r0.EndTangent(), down) > most {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/straighten", Piece: p.Name, Edge: a.Hem, Detail: fmt.Sprintf("the sides of %s cannot be drawn straight down beside a cuff of %.1f mm", p.Name, a.Depth),
			Valid: "sides that lead down the sleeve, longer than the cuff", Remedy: "make the cuff less deep, or cut it separate"}
	}
	left, right := knees(l0, r0, l1, r1, bend)
	p.Edges[t.left].Path = left
	p.Edges[t.right].Path = right.Reverse()
	p.Edges[t.hem].Path = geom.Polyline(left.End(), right.End())
	for i := range p.Marks {
		// Marks on the right side are told from the hem: they keep their place from above.
		if m := &p.Marks[i]; m.Edge == p.Edges[t.right].Name {
			m.S = max(0, right.Length()-(r.Length()-m.S))
		}
	}
	t.carryAll(&was, t.sway(&was))
	return nil
}

// folding is a strip below a hem that is folded like a screen: up onto the sleeve, under that, and up again
// inside. sides run down from the hem, left and right; lines are the folds.
type folding struct {
	sides [2]geom.Path
	lines []geom.Path
}

// newFolding draws it. left and right are the sides of the sleeve walked up from the hem.
func newFolding(left, right geom.Path, depth, under, roll float64) folding {
	var f folding
	side := [2]geom.Path{left, right}
	var up [2]geom.Path // from the fold up
	for k, s := range side {
		up[k] = runOut(s.Sub(0, depth), roll/2, 0)
	}
	reach := depth + roll/2
	flat := geom.Identity()
	fold := func(at float64) { // mirrors what lies so far from the fold, as it lies now
		var q [2]geom.Point
		for k := range up {
			q[k] = flat.Apply(up[k].PointAt(at))
		}
		f.lines = append(f.lines, geom.Polyline(q[0], q[1]))
		flat = flat.Then(geom.MirrorAbout(q[0], q[1].Sub(q[0])))
	}
	add := func(s0, s1 float64) {
		for k := range up {
			lo, hi := min(s0, s1), max(s0, s1)
			if p := up[k].Sub(lo, hi).Transform(flat); hi-lo > tiny {
				if s1 < s0 {
					p = p.Reverse()
				}
				f.sides[k] = append(f.sides[k], closeOn(f.sides[k], p)...)
			}
		}
	}
	add(roll/2, 0)
	fold(0)
	add(0, reach)
	if under > 0 {
		fold(reach)
		if under <= depth {
			add(reach, reach-under)
		} else { // round the hem and up inside
			add(reach, 0)
			fold(0)
			add(0, under-depth+roll/2)
		}
	}
	for k := range f.sides {
		if isStraight(f.sides[k]) {
			f.sides[k] = geom.Polyline(f.sides[k].Start(), f.sides[k].End())
		}
	}
	return f
}

// closeOn lets q begin where p ends, which it does but for rounding.
func closeOn(p, q geom.Path) geom.Path {
	if len(p) == 0 {
		return q
	}
	return closeTo(q, p.End(), q.End())
}

// sewOn lets every seam of a side run on over the cuff.
func (a *turnBackArgs) sewOn(w *work, all []turnedBack) error {
	grow := func(refs []pattern.EdgeRef) ([]pattern.EdgeRef, int, string) {
		var out []pattern.EdgeRef
		n, piece := 0, ""
		for _, r := range refs {
			var before, after []pattern.EdgeRef
			for i := range all {
				b := &all[i]
				if r.Piece != b.piece {
					continue
				}
				ext := pattern.EdgeRef{Piece: r.Piece, Against: r.Against}
				switch r.Edge {
				case b.left: // its end lies at the hem
					ext.Edge = b.sides[0]
					if r.Against {
						before = append(before, ext)
					} else {
						after = append(after, ext)
					}
				case b.right:
					ext.Edge = b.sides[1]
					if r.Against {
						after = append(after, ext)
					} else {
						before = append(before, ext)
					}
				default:
					continue
				}
				n++
				piece = r.Piece
			}
			out = append(append(append(out, before...), r), after...)
		}
		return out, n, piece
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		sew, n, p1 := grow(s.Sew)
		to, m, p2 := grow(s.To)
		if n != m {
			if p1 == "" {
				p1 = p2
			}
			return pattern.Fault{Rule: "edge_sewn", Pointer: "/piece", Piece: p1, Detail: fmt.Sprintf("seam %s sews the side of %s to a piece that gets no cuff", s.Name, p1),
				Valid: pattern.Choices(w.p.PieceNames()), Remedy: "name every piece of the sleeve"}
		}
		s.Sew, s.To = sew, to
	}
	return nil
}

// separate draws the cuff as a piece of its own: the sleeve above its hem, set off from it by the roll.
func (a *turnBackArgs) separate(w *work, t *tube, b *turnedBack) error {
	p := t.p
	b.was = p.Clone()
	hem := p.Edges[t.hem].Path
	left, right := p.Edges[t.left].Path.Reverse().Sub(0, a.Depth), p.Edges[t.right].Path.Sub(0, a.Depth)
	line, err := parallelIn(hem, a.Depth)
	if err != nil || len(line) == 0 {
		return pattern.Fault{Rule: "no_parallel", Pointer: "/depth", Piece: p.Name, Edge: a.Hem, Detail: fmt.Sprintf("no line can be drawn %.1f mm above edge %s.%s", a.Depth, p.Name, a.Hem), Valid: "less than the tightest bend of the hem", Remedy: "make the cuff less deep"}
	}
	line = closeTo(reEnd(line, left.End().Sub(line.Start()), 0, right.End().Sub(line.End()), 0), left.End(), right.End())
	if off := awry(hem, line, a.Depth); off > a.parallel() {
		return pattern.Fault{Rule: "aslant", Pointer: "/hem", Piece: p.Name, Edge: a.Hem, Detail: fmt.Sprintf("%.1f mm up the sides of %s.%s the edge of the cuff would be up to %.1f mm nearer to it, or further: the sides meet it aslant", a.Depth, p.Name, a.Hem, off),
			Valid: fmt.Sprintf("sides that meet the hem about squarely, to %.1f mm", a.parallel()), Remedy: "make the cuff less deep, or name another edge"}
	}
	over := squareTo(hem)
	lift := geom.Translate(over.Mul(a.Roll))
	up := func(side geom.Path) geom.Path {
		s := side.Transform(lift)
		if a.Roll > 0 {
			s = geom.Polyline(side.Start(), s.Start()).Join(s)
		}
		return s
	}
	cut := p.Cut
	cut.Count = min(2*cut.Count, pattern.MaxCut)
	cut.Layers, cut.Interfaced = 2, cut.Count/2
	title := titled(b.cuff)
	if b.cuff != a.Name {
		title = cuffTitle(a.Name, b.piece)
	}
	q := newPiece(b.cuff, title, cut,
		pattern.Edge{Name: "stitched", From: "hem_start", Path: hem},
		pattern.Edge{Name: "side_end", From: "hem_end", Path: up(right), Own: p.Edges[t.right].Own, Fold: p.Edges[t.right].Fold},
		pattern.Edge{Name: "edge", From: "edge_end", Path: line.Transform(lift).Reverse()},
		pattern.Edge{Name: "side_start", From: "edge_start", Path: up(left).Reverse(), Own: p.Edges[t.left].Own, Fold: p.Edges[t.left].Fold})
	q.Align = hem.Start()
	q.Adds = new(0.0) // it is turned back
	mid := hem.PointAt(hem.Length() / 2)
	q.Grain = [2]geom.Point{mid.Add(t.up.Mul(0.15 * a.Depth)), mid.Add(t.up.Mul(0.85 * a.Depth))}
	fitGrain(&q)
	if err := w.addPiece("/name", q); err != nil {
		return err
	}
	b.sides = [2]string{"side_start", "side_end"}
	own := p.Edges[t.hem].Own
	if own == nil || own.Turned > 0 { // it is sewn now, not turned
		w.p.PieceNamed(p.Name).Edges[t.hem].Own = &pattern.Allowance{Width: a.Finish}
	}
	w.made = append(w.made, p.Name)
	return nil
}

// cuffTitle names the cuff of one of several pieces: that of sleeve_upper is the Upper sleeve cuff, as it is said.
func cuffTitle(name, piece string) string {
	words := strings.Split(piece, "_")
	if len(words) == 2 && words[0] == "sleeve" {
		words[0], words[1] = words[1], words[0]
	}
	return titled(strings.Join(append(words, name), "_"))
}

// parallel is how far, in mm, the edge of a separate cuff may stray from its depth above the hem.
func (a *turnBackArgs) parallel() float64 { return 0.5 + 0.01*a.Depth }

// awry is how far a line strays from lying so deep above a hem.
func awry(hem, line geom.Path, deep float64) float64 {
	off := 0.0
	for _, x := range line.Spread(40) {
		_, d := hem.Project(x)
		off = math.Max(off, math.Abs(d-deep))
	}
	return off
}

// squareTo is the direction from a hem up the arm: square to the line between its ends.
func squareTo(hem geom.Path) geom.Vec { return hem.End().Sub(hem.Start()).Unit().Left() }

// sewCuffs sews each cuff to its hem, and the cuffs to each other as the sides of the sleeve are.
func (a *turnBackArgs) sewCuffs(w *work, all []turnedBack) {
	type at struct {
		cuff, edge string
	}
	cuffs := map[pattern.EdgeRef]at{}
	for i := range all {
		b := &all[i]
		cuffs[pattern.EdgeRef{Piece: b.piece, Edge: b.left}] = at{b.cuff, b.sides[0]}
		cuffs[pattern.EdgeRef{Piece: b.piece, Edge: b.right}] = at{b.cuff, b.sides[1]}
		refs := []pattern.EdgeRef{{Piece: b.piece, Edge: a.Hem}}
		q := w.p.PieceNamed(b.cuff)
		l := edgeLength(q, "stitched")
		s := strip{name: b.cuff, long: l, run: seamRun{refs: refs, len: l}, notches: 1}
		seam := s.notch(w, q, "stitched", refs)
		seam.Name = w.seamFree(b.cuff + "_" + a.Hem)
		seam.Sew, seam.To = []pattern.EdgeRef{{Piece: b.cuff, Edge: "stitched"}}, refs
		w.p.Seams = append(w.p.Seams, seam)
	}
	find := func(refs []pattern.EdgeRef) (pattern.EdgeRef, bool) {
		for _, r := range refs {
			if c, ok := cuffs[pattern.EdgeRef{Piece: r.Piece, Edge: r.Edge}]; ok {
				return pattern.EdgeRef{Piece: c.cuff, Edge: c.edge, Against: r.Against}, true
			}
		}
		return pattern.EdgeRef{}, false
	}
	for i := range w.p.Seams {
		x, ok1 := find(w.p.Seams[i].Sew)
		y, ok2 := find(w.p.Seams[i].To)
		if !ok1 || !ok2 {
			continue
		}
		s := pattern.Seam{Name: w.seamFree(a.Name + "_" + w.p.Seams[i].Name), Sew: []pattern.EdgeRef{x}, To: []pattern.EdgeRef{y}}
		// The edge runs on as the hem does; along the hem the roll stands between.
		if (x.Edge == "side_end") != x.Against {
			s.SmoothEnd = w.p.Seams[i].SmoothStart
			s.SmoothStart = s.SmoothEnd && a.Roll == 0
		} else {
			s.SmoothStart = w.p.Seams[i].SmoothEnd
			s.SmoothEnd = s.SmoothStart && a.Roll == 0
		}
		w.p.Seams = append(w.p.Seams, s)
	}
}
