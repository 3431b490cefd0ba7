package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Lengthening and shortening (TRADE 4.2): the piece is cut across at a level, the part on the hem's side
// moves along the grain, the two edges that the level crosses are redrawn.
//
// Sides that are sewn gain exactly the amount along themselves, whatever their slant: so two of them that
// matched still match, on one piece or on several, and a flared hem rises at its sides as it should.
// At the centre the hem moves by the amount along the grain. The hem between keeps its angle to each side
// (what ran on smoothly across the seam still does) and stays square to the grain at the centre.

type lengthenArgs struct {
	Pieces []string       `arg:"piece" kind:"names" must:"yes" says:"The piece or pieces to lengthen; pieces whose sides are sewn together belong in one change."`
	By     float64        `arg:"by" kind:"length" min:"-2000" max:"2000" must:"yes" says:"By how much; a negative length shortens."`
	At     *pattern.Place `arg:"at" kind:"place" says:"The place that the level goes through, on each of the pieces; left out, the level is told from the hem."`
	Above  *float64       `arg:"above" kind:"length" min:"-3000" max:"3000" says:"How far above that place, or above the hem where it meets the side, the level lies; left out without a place, half-way up the sides."`
	Sides  string         `arg:"sides" kind:"choice" choices:"as_drawn,straight,smooth" default:"as_drawn" says:"How the two edges that the level crosses are redrawn. As drawn: straight ones straight, but a slanting sewn side with a slight bend that keeps its angle at the corner above, so that what runs on across the seam there still does; curved ones smooth. Or all straight, or all smooth."`
	Hem    string         `arg:"hem" kind:"name" default:"hem" says:"The hem edge of the pieces: the part of a piece on its side moves."`
}

func defineLengthen() Definition {
	return Definition{
		Name:     "lengthen",
		Sentence: "Lengthens or shortens pieces along the grain at a level.",
		Promise:  "Sewn sides gain exactly the amount, so that seams still match to 0.1 mm; every edge above the level stays as it is; the hem stays square to the grain at the centre.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(20, 60), geom.Pt(15, 95), geom.Pt(85, 95), geom.Pt(80, 60))},
			{Construction, geom.Polyline(geom.Pt(5, 60), geom.Pt(95, 60))},
			{CutAway, geom.Polyline(geom.Pt(20, 60), geom.Pt(23, 38), geom.Pt(77, 38), geom.Pt(80, 60))},
			{New, geom.Polyline(geom.Pt(20, 60), geom.Pt(24, 8), geom.Pt(76, 8), geom.Pt(80, 60))},
		},
		fresh: func() args { return new(lengthenArgs) },
	}
}

func (a *lengthenArgs) check() pattern.Faults {
	if a.By == 0 {
		return pattern.Faults{{Rule: "out_of_range", Pointer: "/by", Detail: "lengthen: by is nothing", Valid: "-2000 to 2000 mm, not 0", Remedy: "give a length, negative to shorten"}}
	}
	return nil
}

// level is a piece cut across.
type level struct {
	p      *pattern.Piece
	hem    int
	u      geom.Vec // from the level to the hem, along the grain
	o      geom.Point
	down   int // the edge that crosses the level towards the hem
	up     int // and the one that comes back
	sd, su float64
	// c0, c1 are how far along the old and the new hem its centre lies; c1 is 0 where it has none.
	c0, c1 float64
}

// depth is how far below the level a point lies.
func (l *level) depth(q geom.Point) float64 { return q.Sub(l.o).Dot(l.u) }

func (a *lengthenArgs) apply(w *work) error {
	ptr := func(i int) string {
		if len(a.Pieces) == 1 {
			return "/piece"
		}
		return pattern.Pointer("piece", fmt.Sprint(i))
	}
	levels := make([]level, len(a.Pieces))
	half := math.Inf(1)
	for i, name := range a.Pieces {
		p, err := w.piece(ptr(i), name)
		if err != nil {
			return err
		}
		l := level{p: p}
		if l.hem, err = w.edge("/hem", p, a.Hem); err != nil {
			return err
		}
		g := p.Grain[1].Sub(p.Grain[0]).Unit()
		if g == (geom.Vec{}) {
			return pattern.Fault{Rule: "no_grain", Pointer: ptr(i), Piece: name, Detail: fmt.Sprintf("piece %q has no grain line to lengthen along", name), Remedy: "give it a grain line"}
		}
		hem := p.Edges[l.hem].Path
		mid := hem.PointAt(hem.Length() / 2)
		if mid.Sub(p.Outline().Bounds().Center()).Dot(g) < 0 {
			g = g.Neg()
		}
		l.u = g
		l.o = a.hemAtSide(w, &l)
		half = math.Min(half, a.halfUp(&l))
		levels[i] = l
	}
	eases, err := w.eases()
	if err != nil {
		return err
	}
	apart := w.notchesApart()
	for i := range levels {
		l := &levels[i]
		if err := a.place(w, l, ptr(i), half); err != nil {
			return err
		}
		before := l.p.Clone()
		if err := a.stretch(w, l, ptr(i)); err != nil {
			return err
		}
		w.made = append(w.made, l.p.Name)
		a.tell(w, l, &before)
	}
	if err := a.stillMatch(w, eases); err != nil {
		return err
	}
	at := "/above"
	if a.At != nil {
		at = "/at"
	}
	return w.notchesMeet(at, apart, "give a level that lies equally far along both sides of the seam: tell from which corner it is measured")
}

// hemAtSide is where the hem meets a sewn side, its start where it meets none.
func (a *lengthenArgs) hemAtSide(w *work, l *level) geom.Point {
	n := len(l.p.Edges)
	hem := l.p.Edges[l.hem].Path
	if !w.sewn(l.p.Name, l.p.Edges[(l.hem+n-1)%n].Name) && w.sewn(l.p.Name, l.p.Edges[(l.hem+1)%n].Name) {
		return hem.End()
	}
	return hem.Start()
}

// halfUp is half the height of the shorter of the two edges beside the hem.
func (a *lengthenArgs) halfUp(l *level) float64 {
	n := len(l.p.Edges)
	left, right := l.p.Edges[(l.hem+n-1)%n].Path, l.p.Edges[(l.hem+1)%n].Path
	return math.Min(-l.depth(left.Start()), -l.depth(right.End())) / 2
}

// place finds the level on a piece and the two edges that it crosses.
func (a *lengthenArgs) place(w *work, l *level, ptr string, half float64) error {
	above := half
	at := "/above"
	if a.At != nil {
		at = "/at"
		_, _, q, err := l.p.Find(*a.At)
		if err != nil {
			return pattern.FaultsOf(err).Under("/at")
		}
		l.o, above = q, 0
	}
	if a.Above != nil {
		above = *a.Above
	}
	l.o = l.o.Add(l.u.Mul(-above))
	const clear = 0.5 // mm between the level and a corner
	wide := l.u.Left().Mul(1e5)
	across := geom.Polyline(l.o.Add(wide.Neg()), l.o.Add(wide))
	refuse := func(rule, detail string) error {
		return pattern.Fault{Rule: rule, Pointer: at, Piece: l.p.Name, Detail: fmt.Sprintf("%s: %s", l.p.Name, detail),
			Valid: "a level between the hem and the next corners above it, that crosses two edges", Remedy: "move the level up or down"}
	}
	l.down, l.up = -1, -1
	crossed := 0
	for i := range l.p.Edges {
		e := &l.p.Edges[i]
		d0, d1 := l.depth(e.Path.Start()), l.depth(e.Path.End())
		if math.Abs(d0) < clear {
			return refuse("level_at_corner", fmt.Sprintf("the level goes through the corner %s", e.From))
		}
		x := geom.Intersect(e.Path, across, 1e-7)
		crossed += len(x)
		if len(x) != 1 {
			continue
		}
		switch {
		case d0 < 0 && d1 > 0:
			l.down, l.sd = i, x[0].S
		case d0 > 0 && d1 < 0:
			l.up, l.su = i, x[0].S
		}
	}
	if crossed != 2 || l.down < 0 || l.up < 0 {
		return refuse("level_crosses", fmt.Sprintf("the level crosses the outline %d times", crossed))
	}
	n := len(l.p.Edges)
	for i := (l.down + 1) % n; i != l.hem; i = (i + 1) % n {
		if i == l.up {
			return refuse("hem_not_below", fmt.Sprintf("the hem %s does not lie below the level", a.Hem))
		}
	}
	if l.hem == l.down || l.hem == l.up {
		return refuse("level_in_hem", "the level crosses the hem itself")
	}
	return nil
}

// sides redraws one crossed edge, walked from above to below.
func (a *lengthenArgs) side(w *work, l *level, ptr string, edge int, p geom.Path, at float64) (geom.Path, float64, error) {
	e := &l.p.Edges[edge]
	sewn := w.sewn(l.p.Name, e.Name)
	how := bridged
	switch {
	case a.Sides == "straight", a.Sides == "as_drawn" && isStraight(p) && !sewn:
		how = straightOn
	case isStraight(p):
		how = bentIn
		const hardly = 0.25 // degrees that a corner may turn unseen
		if t := drawOut(p, at, a.By, l.u, straightOn); a.Sides == "as_drawn" && t != nil && degrees(t.StartTangent(), p.StartTangent()) < hardly {
			how = straightOn
		}
	}
	var q geom.Path
	m := a.By
	if sewn {
		q, m = drawOutTo(p, at, p.Length()+a.By, a.By, l.u, how)
	} else {
		q = drawOut(p, at, a.By, l.u, how)
	}
	if q == nil {
		most := math.Max(0, math.Min(p.Length(), p.End().Sub(p.Start()).Dot(l.u))-10)
		return nil, 0, pattern.Fault{Rule: "out_of_range", Pointer: "/by", Piece: l.p.Name, Edge: e.Name,
			Detail: fmt.Sprintf("edge %s of %s is %.1f mm long and cannot be redrawn %.1f mm %s", e.Name, l.p.Name, p.Length(), math.Abs(a.By), map[bool]string{true: "longer", false: "shorter"}[a.By > 0]),
			Valid:  fmt.Sprintf("-%.1f mm or more", most), Remedy: "shorten by less, or at a level with more room above and below it"}
	}
	return q, m, nil
}

func (a *lengthenArgs) stretch(w *work, l *level, ptr string) error {
	p := l.p
	n := len(p.Edges)
	old := append([]pattern.Edge(nil), p.Edges...)
	left, ml, err := a.side(w, l, ptr, l.down, old[l.down].Path, l.sd)
	if err != nil {
		return err
	}
	rp := old[l.up].Path
	right, mr, err := a.side(w, l, ptr, l.up, rp.Reverse(), rp.Length()-l.su)
	if err != nil {
		return err
	}
	right = right.Reverse()
	p.Edges[l.down].Path, p.Edges[l.up].Path = left, right
	for i := (l.down + 1) % n; i != l.hem; i = (i + 1) % n {
		p.Edges[i].Path = old[i].Path.Transform(geom.Translate(l.u.Mul(ml)))
	}
	for i := (l.hem + 1) % n; i != l.up; i = (i + 1) % n {
		p.Edges[i].Path = old[i].Path.Transform(geom.Translate(l.u.Mul(mr)))
	}
	before, after := (l.hem+n-1)%n, (l.hem+1)%n
	turnL := old[before].Path.EndTangent().AngleTo(p.Edges[before].Path.EndTangent())
	turnR := old[after].Path.StartTangent().AngleTo(p.Edges[after].Path.StartTangent())
	p.Edges[l.hem].Path = a.hemline(w, l, old, ml, turnL, mr, turnR)
	a.carry(l, old)
	return nil
}

// hemline redraws the hem between its moved ends. Its centre moves by the stated amount: half-way where
// both sides are sewn, else the end at the edge that is not.
func (a *lengthenArgs) hemline(w *work, l *level, old []pattern.Edge, ml, turnL, mr, turnR float64) geom.Path {
	n := len(old)
	hem := old[l.hem].Path
	if !w.sewn(l.p.Name, old[(l.hem+n-1)%n].Name) || !w.sewn(l.p.Name, old[(l.hem+1)%n].Name) {
		return closeTo(reEnd(hem, l.u.Mul(ml), turnL, l.u.Mul(mr), turnR), l.p.Edges[(l.hem+n-1)%n].Path.End(), l.p.Edges[(l.hem+1)%n].Path.Start())
	}
	c, turn := hemCentre(hem, l.u)
	h0, h1 := hem.Split(c)
	mid := l.u.Mul(a.By)
	out := reEnd(h0, l.u.Mul(ml), turnL, mid, turn)
	l.c0, l.c1 = c, out.Length()
	out = append(out, reEnd(h1, mid, turn, l.u.Mul(mr), turnR)...)
	if isStraight(out) {
		out = geom.Polyline(out.Start(), out.End())
	}
	return closeTo(out, l.p.Edges[(l.hem+n-1)%n].Path.End(), l.p.Edges[(l.hem+1)%n].Path.Start())
}

// hemCentre is where a hem is square to the grain, nearest to its middle, and by what it must be turned
// to be so: by nothing, unless it is square nowhere.
func hemCentre(hem geom.Path, u geom.Vec) (at, turn float64) {
	const n = 200
	l := hem.Length()
	square := u.Left() // a hem runs counter-clockwise: with the grain pointing down it goes to the right
	best, off := l/2, math.Inf(1)
	last := 0.0
	for i := 1; i < n; i++ {
		s := l * float64(i) / n
		d := square.AngleTo(hem.TangentAt(s))
		if i > 1 && (d > 0) != (last > 0) || math.Abs(d) < 1e-9 {
			lo, hi := l*float64(i-1)/n, s
			for range 50 {
				m := (lo + hi) / 2
				if (square.AngleTo(hem.TangentAt(m)) > 0) == (last > 0) {
					lo = m
				} else {
					hi = m
				}
			}
			if math.Abs(d) < 1e-9 {
				hi = s
			}
			if math.Abs(hi-l/2) < off {
				best, off = hi, math.Abs(hi-l/2)
			}
		}
		last = d
	}
	return best, hem.TangentAt(best).AngleTo(square)
}

// carry moves marks, lines, grain and align point: what lies below the level goes with the hem; what lies
// in a strip that is taken out comes to lie on the level.
func (a *lengthenArgs) carry(l *level, old []pattern.Edge) {
	p := l.p
	move := func(q geom.Point) geom.Point {
		d := l.depth(q)
		if d <= 0 {
			return q
		}
		return q.Add(l.u.Mul(math.Max(-d, a.By)))
	}
	for k := range p.Marks {
		m := &p.Marks[k]
		i := p.EdgeNamed(m.Edge)
		if i < 0 {
			m.At = move(m.At)
			continue
		}
		was, is := old[i].Path.Length(), p.Edges[i].Path.Length()
		fromEnd := is - (was - m.S)
		switch {
		case i == l.down && m.S > l.sd:
			m.S = math.Max(fromEnd, math.Min(l.sd, is))
		case i == l.up && m.S > l.su:
			m.S = fromEnd
		case i == l.up:
			m.S = math.Min(m.S, math.Max(0, is-(was-l.su)))
		case i == l.hem:
			m.S *= is / was
		}
		m.S = math.Max(0, math.Min(is, m.S))
		m.At = p.Edges[i].Path.PointAt(m.S)
	}
	for k := range p.Lines {
		q := append(geom.Path{}, p.Lines[k].Path...)
		for i := range q {
			s := &q[i]
			if s.Straight {
				*s = geom.Line(move(s.P0), move(s.P3))
				continue
			}
			a0, a3 := move(s.P0), move(s.P3)
			s.P1, s.P2 = s.P1.Add(a0.Sub(s.P0)), s.P2.Add(a3.Sub(s.P3))
			s.P0, s.P3 = a0, a3
		}
		p.Lines[k].Path = q
	}
	p.Grain = [2]geom.Point{move(p.Grain[0]), move(p.Grain[1])}
	if p.Grain[0].Dist(p.Grain[1]) < 1 {
		p.Grain[1] = p.Grain[0].Add(l.u.Neg())
	}
	p.Align = move(p.Align)
	fitGrain(p)
}

// tell promises what was kept and draws how it was done.
func (a *lengthenArgs) tell(w *work, l *level, before *pattern.Piece) {
	p := l.p
	hem, was := p.Edges[l.hem].Path, before.Edges[l.hem].Path
	for _, i := range []int{l.down, l.up} {
		e := &p.Edges[i]
		if !w.sewn(p.Name, e.Name) {
			continue
		}
		gain := e.Path.Length() - before.Edges[i].Path.Length()
		w.promise(inspect.Check{Rule: "lengthen_side", Piece: p.Name, Place: e.Name, Measured: gain, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("The side %s.%s gains %.2f mm.", p.Name, e.Name, gain)})
	}
	kept := 0.0
	for i := range p.Edges {
		if i != l.down && i != l.up && i != l.hem {
			kept = math.Max(kept, math.Abs(p.Edges[i].Path.Length()-before.Edges[i].Path.Length()))
		}
	}
	w.promise(inspect.Check{Rule: "lengthen_kept", Piece: p.Name, Place: "outline", Measured: kept, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The other edges of %s keep their lengths to %.3f mm.", p.Name, kept)})
	if l.c1 > 0 {
		turn := hem.TangentAt(l.c1).AngleTo(l.u.Left())
		w.promise(inspect.Check{Rule: "lengthen_hem_square", Piece: p.Name, Place: a.Hem, Measured: turn * 180 / math.Pi, Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("The hem of %s is square to the grain at its centre.", p.Name)})
		gain := hem.PointAt(l.c1).Sub(was.PointAt(l.c0)).Dot(l.u)
		w.promise(inspect.Check{Rule: "lengthen_centre", Piece: p.Name, Place: a.Hem, Measured: gain, Want: pattern.Range{Min: a.By, Max: a.By}, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("At its centre %s gains %.2f mm along the grain.", p.Name, gain)})
	}
	d := plan{d: w.res.Drawing}
	if d.d.Title == "" {
		word := "Lengthen"
		if a.By < 0 {
			word = "Shorten"
		}
		d.d.Title = fmt.Sprintf("%s by %s, size %s", word, say(math.Abs(a.By)), w.p.Size)
	}
	for i := range before.Edges {
		kind := Outline
		if before.Edges[i].Path.Bounds() != p.Edges[i].Path.Bounds() {
			kind = CutAway
		}
		d.line(kind, p.Name, before.Edges[i].Path, before.Edges[i].Name)
	}
	d.step("On %s draw a line across the grain at the level, and cut along it.", p.Name)
	x, y := before.Edges[l.down].Path.PointAt(l.sd), before.Edges[l.up].Path.PointAt(l.su)
	d.line(Construction, p.Name, geom.Polyline(x, y), "level")
	d.point(x, "level at "+before.Edges[l.down].Name)
	d.point(y, "level at "+before.Edges[l.up].Name)
	verb := "Spread the two parts"
	if a.By < 0 {
		verb = "Overlap the two parts"
	}
	d.step("%s of %s by %s along the grain.", verb, p.Name, say(math.Abs(a.By)))
	f := d.point(was.PointAt(was.Length()/2), "hem before")
	t := d.point(hem.PointAt(hem.Length()/2), "hem after")
	d.measure(f, t, nil, "amount")
	d.step("Redraw the two edges that the level crosses, so that each sewn side gains %s, and the hem between them, square to the grain at the centre.", say(math.Abs(a.By)))
	for i := range p.Edges {
		if before.Edges[i].Path.Bounds() != p.Edges[i].Path.Bounds() {
			d.line(New, p.Name, p.Edges[i].Path, p.Edges[i].Name)
		}
	}
	w.res.Drawing = d.d
}

// eases measures every seam as it stands.
func (w *work) eases() ([]float64, error) {
	out := make([]float64, len(w.p.Seams))
	for i := range w.p.Seams {
		sew, err1 := inspect.Walk(&w.p, w.p.Seams[i].Sew)
		to, err2 := inspect.Walk(&w.p, w.p.Seams[i].To)
		if err1 != nil {
			return nil, err1
		}
		if err2 != nil {
			return nil, err2
		}
		out[i] = sew.Len - to.Len
	}
	return out, nil
}

// stillMatch refuses what would pull a seam apart: a side lengthened without the side it is sewn to.
func (a *lengthenArgs) stillMatch(w *work, before []float64) error {
	after, err := w.eases()
	if err != nil {
		return err
	}
	var fs pattern.Faults
	most := 0.0
	for i := range after {
		d := after[i] - before[i]
		most = math.Max(most, math.Abs(d))
		if math.Abs(d) <= 0.1 {
			continue
		}
		s := &w.p.Seams[i]
		var others []string
		for _, r := range append(append([]pattern.EdgeRef(nil), s.Sew...), s.To...) {
			in := false
			for _, n := range append(append([]string(nil), a.Pieces...), others...) {
				in = in || n == r.Piece
			}
			if !in {
				others = append(others, r.Piece)
			}
		}
		f := pattern.Fault{Rule: "seam_broken", Pointer: "/piece", Piece: a.Pieces[0], Detail: fmt.Sprintf("seam %s would no longer match: one side gains %.1f mm more than the other", s.Name, d),
			Valid: "pieces whose sewn sides gain alike", Remedy: "move the level so that it crosses both sides of the seam, or neither"}
		if len(others) > 0 {
			f.Valid = "together with " + pattern.Choices(others)
			f.Remedy = "name " + pattern.Choices(others) + " in the same change"
		}
		fs = append(fs, f)
	}
	w.promise(inspect.Check{Rule: "lengthen_seams", Piece: a.Pieces[0], Place: "seams", Measured: most, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Every seam keeps its ease to %.3f mm.", most)})
	return fs.Err()
}
