package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A flutter sleeve (TRADE 4.2): a part of a ring. Its inner edge is as long as the stretch of the armhole, or of
// the cap, that it is sewn to; with the angle θ its radius is that length divided by θ. It is so long at the crown
// and so long at its ends: each half of the hem is the arc of a circle that has its centre on the crown line, and so
// leaves that line square. Where both lengths are the same the circle is the ring's own.

type flutterArgs struct {
	Pieces []string `arg:"piece" kind:"names" default:"sleeve" says:"The sleeve, or all the pieces of a sleeve that has several: its cap seams tell the armhole."`
	As     string   `arg:"as" kind:"choice" choices:"instead,over,beneath" default:"instead" says:"Whether the flutter takes the place of the sleeve, or is sewn in over it or beneath it."`
	Fit    string   `arg:"fit" kind:"choice" choices:"armhole,cap" default:"armhole" says:"Whether it is as long as the armhole, or as the cap of the sleeve that it lies over or beneath."`
	Share  Each     `arg:"share" kind:"share" min:"0.1" max:"1" default:"1" says:"How far down it reaches: the share of each half of the armhole, from the shoulder."`
	Crown  float64  `arg:"crown" kind:"length" min:"20" max:"800" default:"120mm" says:"How long it is at the shoulder."`
	Ends   Each     `arg:"ends" kind:"length" min:"0" max:"800" default:"0mm" says:"How long it is at each of its ends; 0 lets it taper to a point."`
	Angle  float64  `arg:"angle" kind:"angle" min:"60" max:"360" default:"180" says:"How much of a whole circle it is, in degrees: the more, the more it flutters."`
	Ease   float64  `arg:"ease" kind:"length" min:"-10" max:"60" default:"0mm" says:"How much longer its inner edge is than what it is sewn to, in all; a hollow edge stretches, so often a little less than nothing."`
	Halves bool     `arg:"halves" kind:"flag" default:"false" says:"Whether it is cut as a front and a back half with a seam at the shoulder; more than 300 degrees must be."`
	Hem    float64  `arg:"hem" kind:"length" min:"0" max:"40" default:"5mm" says:"The allowance of the hem, turned twice; a round hem is kept narrow."`
	Name   string   `arg:"name" kind:"name" default:"flutter" says:"The name of the flutter; halves add _front and _back."`
}

func defineFlutter() Definition {
	o := geom.Pt(50, 92)
	return Definition{
		Name:     "flutter",
		Sentence: "Makes a flutter sleeve of part of a ring, in place of a sleeve or over or beneath it.",
		Promise:  "Its inner edge is as long as what it is sewn to plus the ease, its radius is that length divided by the angle, it is as long at crown and ends as asked, all to 0.1 mm; notches meet.",
		Sketch: []Stroke{
			{New, geom.Arc(o, 24, math.Pi, 2*math.Pi)},
			{New, geom.Path{geom.Cubic(geom.Pt(26, 92), geom.Pt(5, 45), geom.Pt(20, 8), geom.Pt(50, 8)), geom.Cubic(geom.Pt(50, 8), geom.Pt(80, 8), geom.Pt(95, 45), geom.Pt(74, 92))}},
			{Construction, geom.Polyline(o, geom.Pt(50, 8))},
			{Construction, geom.Polyline(geom.Pt(26, 92), geom.Pt(74, 92))},
		},
		fresh: func() args { return new(flutterArgs) },
	}
}

func (a *flutterArgs) check() pattern.Faults {
	const (
		most  = 300.0 // degrees: more would touch itself once it has its allowances
		least = 3.0   // mm that an end has, if any
	)
	var fs pattern.Faults
	if a.Angle > most && !a.Halves {
		fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/angle", Detail: fmt.Sprintf("flutter: a piece of %g degrees would meet itself", a.Angle), Valid: fmt.Sprintf("60 to %g degrees", most), Remedy: "cut it in halves, or take less of a circle"})
	}
	for _, e := range [2]float64{a.Ends.Back, a.Ends.Front} {
		if e > 0 && e < least || e > a.Crown {
			fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: "/ends", Detail: fmt.Sprintf("flutter: an end of %.1f mm with %.1f mm at the crown", e, a.Crown), Valid: fmt.Sprintf("0, or %g to %.1f mm", least, a.Crown), Remedy: "let it end in a point, or be no longer at its ends than at the crown"})
			break
		}
	}
	if a.Fit == "cap" && a.As == "instead" {
		fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: "/fit", Detail: "flutter: it takes the place of the sleeve, so that there is no cap to sew it to", Valid: "armhole", Remedy: "fit it to the armhole, or sew it over or beneath the sleeve"})
	}
	return fs
}

// armHalf is half a cap or armhole, from the crown down.
type armHalf struct {
	side    string // "front", "back"
	refs    []pattern.EdgeRef
	stretch float64
}

// halves finds the two halves of the armhole that a sleeve is set into, or of its cap.
func (a *flutterArgs) halves(w *work) (front, back armHalf, err error) {
	of := map[string]bool{}
	for i, n := range a.Pieces {
		ptr := "/piece"
		if len(a.Pieces) > 1 {
			ptr += pattern.Pointer(fmt.Sprint(i))
		}
		if _, err := w.piece(ptr, n); err != nil {
			return front, back, err
		}
		of[n] = true
	}
	found := 0
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		sewn := false
		for _, r := range s.Sew {
			sewn = sewn || of[r.Piece]
		}
		if !s.Cap || !sewn {
			continue
		}
		found++
		h := armHalf{side: "back", refs: s.To}
		if a.Fit == "cap" {
			h.refs = s.Sew
		}
		first, last := s.Sew[0], s.Sew[len(s.Sew)-1]
		p, q := w.p.PieceNamed(first.Piece), w.p.PieceNamed(last.Piece)
		x, y := walked(p, first), walked(q, last)
		// The crown is the upper end; the half that lies to the right of it there is the front one.
		top := x
		if up := upright(p); y.End().Sub(x.Start()).Dot(up) > 0 {
			top = y.Reverse()
			h.refs = seamRun{refs: h.refs}.turned()
			p = q
		}
		if top.End().Sub(top.Start()).Dot(upright(p).Right()) > 0 {
			h.side = "front"
		}
		c, err := inspect.Walk(&w.p, h.refs)
		if err != nil {
			return front, back, err
		}
		h.stretch = c.Len
		if h.side == "front" {
			front = h
		} else {
			back = h
		}
	}
	if found != 2 || front.refs == nil || back.refs == nil {
		return front, back, pattern.Fault{Rule: "no_cap", Pointer: "/piece", Piece: a.Pieces[0], Detail: fmt.Sprintf("%s is set in by %s; a flutter needs a front one and a back one", said(a.Pieces), several(found, "cap seam", "cap seams")),
			Valid: "a sleeve with one cap seam on each half", Remedy: "name all the pieces of one sleeve"}
	}
	return front, back, nil
}

// walked is the edge as a chain walks it.
func walked(p *pattern.Piece, r pattern.EdgeRef) geom.Path {
	e := p.Edges[p.EdgeNamed(r.Edge)].Path
	if r.Against {
		return e.Reverse()
	}
	return e
}

// upright is the direction of the grain that leads up: a piece lies with its top upwards.
func upright(p *pattern.Piece) geom.Vec {
	u := p.Grain[1].Sub(p.Grain[0]).Unit()
	if u == (geom.Vec{}) {
		return geom.Vec{Y: 1}
	}
	if u.Y < 0 {
		return u.Neg()
	}
	return u
}

// end cuts a half off at the share asked for: the edge there becomes two, with a notch between them.
func (a *flutterArgs) end(w *work, h *armHalf, share float64) error {
	const clear = 3.0 // mm from the end of an edge
	want, at := share*h.stretch, 0.0
	for i, r := range h.refs {
		p := w.p.PieceNamed(r.Piece)
		k := p.EdgeNamed(r.Edge)
		l := p.Edges[k].Path.Length()
		s := want - at
		at += l
		switch {
		case s > l-clear:
			if i < len(h.refs)-1 && s > l+clear {
				continue
			}
			h.refs, h.stretch = h.refs[:i+1], at
			return nil
		case s < clear: // the edge before ends there
			h.refs, h.stretch = h.refs[:i], at-l
			return nil
		}
		low := r.Edge + "_low"
		names := [2]string{r.Edge, low}
		if r.Against {
			names = [2]string{low, r.Edge}
			s = l - s
		}
		if err := w.splitEdge(p, k, s, names, a.Name+"_"+h.side); err != nil {
			return err
		}
		w.made = append(w.made, p.Name)
		e := &p.Edges[p.EdgeNamed(r.Edge)]
		m := pattern.Mark{Kind: pattern.Notch, Name: free(a.Name+"_end_"+h.side, knows(p)), Count: 1, Edge: e.Name, S: e.Path.Length()}
		if r.Against {
			m.S = 0
		}
		m.At = e.Path.PointAt(m.S)
		p.Marks = append(p.Marks, m)
		h.refs, h.stretch = h.refs[:i+1], want
		return nil
	}
	return nil
}

// ring is the geometry of a flutter around the origin, the crown straight below it and the front to the right.
type ring struct {
	r, theta     float64
	front, back  float64 // angles of the halves
	crown        float64
	ends         Each
	inner, outer [2]geom.Path // front, back; both walked from the crown
}

func newRing(front, back, angle, crown float64, ends Each) ring {
	g := ring{theta: angle * math.Pi / 180, crown: crown, ends: ends}
	g.r = (front + back) / g.theta
	g.front, g.back = front/g.r, back/g.r
	flip := geom.Scale(-1, 1)
	for k, t := range [2]float64{g.front, g.back} {
		end := ends.Front
		if k == 1 {
			end = ends.Back
		}
		in, out := geom.Arc(geom.Point{}, g.r, -math.Pi/2, t-math.Pi/2), g.hem(t, end)
		if k == 1 {
			in, out = in.Transform(flip), out.Transform(flip)
		}
		g.inner[k], g.outer[k] = in, out
	}
	return g
}

// hem is the outer edge of a half: the circle with its centre on the crown line, k below the ring's centre, that goes
// through the crown's end, w beyond the inner radius r, and through the half's end, e beyond it and t round:
//
//	(r+w−k)² = (r+e)² + k² − 2 (r+e) k cos t
func (g *ring) hem(t, e float64) geom.Path {
	far, near := g.r+g.crown, g.r+e
	k := (far*far - near*near) / (2 * (far - near*math.Cos(t)))
	c := geom.Pt(0, -k)
	end := geom.Pt(near*math.Sin(t), -near*math.Cos(t))
	a := end.Sub(c).Angle()
	if a < -math.Pi/2 {
		a += 2 * math.Pi
	}
	return geom.Arc(c, far-k, -math.Pi/2, a)
}

func (a *flutterArgs) apply(w *work) error {
	front, back, err := a.halves(w)
	if err != nil {
		return err
	}
	cut := w.p.PieceNamed(a.Pieces[0]).Cut
	if err := a.end(w, &front, a.Share.Front); err != nil {
		return err
	}
	if err := a.end(w, &back, a.Share.Back); err != nil {
		return err
	}
	whole := front.stretch + back.stretch
	k := (whole + a.Ease) / whole
	g := newRing(front.stretch*k, back.stretch*k, a.Angle, a.Crown, a.Ends)
	if far := g.r + a.Crown; far > pattern.MaxCoord/2 || g.r < 10 {
		return pattern.Fault{Rule: "out_of_range", Pointer: "/angle", Piece: a.Name, Detail: fmt.Sprintf("the ring would have radii of %.1f and %.1f mm", g.r, far), Valid: fmt.Sprintf("10 to %.0f mm", pattern.MaxCoord/2), Remedy: "take less of a circle, or more of the armhole"}
	}
	if a.As == "instead" {
		if err := a.alone(w, &front, &back); err != nil {
			return err
		}
		for _, n := range a.Pieces {
			if err := w.remove("/piece", n); err != nil {
				return err
			}
		}
	}
	made := a.pieces(&g, cut)
	for i := range made {
		if err := a.sharp(&made[i]); err != nil {
			return err
		}
		a.mark(w, &made[i], &front, &back, k)
		if err := w.addPiece("/name", made[i]); err != nil {
			return err
		}
	}
	a.sew(w, &front, &back, k)
	a.finished(w)
	a.promises(w, &front, &back, whole)
	a.tell(w, &front, &back, &g)
	return nil
}

// finished is what is measured on the flutter: how long it is at the shoulder, and round its hem.
func (a *flutterArgs) finished(w *work) {
	long := pattern.Term{Piece: a.named("front"), Along: true, From: pattern.Place{Point: "crown"}, ToEdge: "hem", Times: 1}
	hem := pattern.Term{Outer: true, Times: 1, Edges: []pattern.EdgeRef{{Piece: a.named("front"), Edge: "hem"}}}
	if a.Halves {
		hem.Edges = append(hem.Edges, pattern.EdgeRef{Piece: a.named("back"), Edge: "hem"})
	}
	w.res.Finished = append(w.res.Finished,
		pattern.Finished{Name: a.Name + "_length", Says: titled(a.Name) + ", at the shoulder", Terms: []pattern.Term{long}},
		pattern.Finished{Name: a.Name + "_hem", Says: titled(a.Name) + ", along the hem", Terms: []pattern.Term{hem}})
}

// alone refuses to take out a sleeve that something else hangs on, or the piece that it is set into.
func (a *flutterArgs) alone(w *work, front, back *armHalf) error {
	set := map[string]bool{}
	for _, h := range []*armHalf{front, back} {
		for _, r := range h.refs {
			set[r.Piece] = true
		}
	}
	for i, n := range a.Pieces {
		if n == a.Name || a.Halves && (n == a.Name+"_front" || n == a.Name+"_back") {
			return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: n, Detail: fmt.Sprintf("piece %q goes, and its name with it", n), Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
		}
		if set[n] {
			return pattern.Fault{Rule: "not_sleeve", Pointer: pattern.Pointer("piece", fmt.Sprint(i)), Piece: n, Detail: fmt.Sprintf("%s has the armhole that the flutter is sewn to", n), Valid: "the pieces of one sleeve", Remedy: "leave it out"}
		}
	}
	for i := range w.p.Seams {
		s := &w.p.Seams[i]
		own, other := "", ""
		for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			for _, r := range refs {
				if slices.Contains(a.Pieces, r.Piece) {
					own = r.Piece
				} else {
					other = r.Piece
				}
			}
		}
		if own != "" && other != "" && !s.Cap {
			return pattern.Fault{Rule: "edge_sewn", Pointer: "/piece", Piece: other, Detail: fmt.Sprintf("%s is sewn to %s, which the flutter takes the place of", other, own), Valid: "a sleeve with all that is sewn to it", Remedy: "name that piece too, or put the flutter before the change that makes it"}
		}
	}
	return nil
}

// named is the piece that a half lies on.
func (a *flutterArgs) named(side string) string {
	if a.Halves {
		return a.Name + "_" + side
	}
	return a.Name
}

// pieces closes the ring into one piece, or two halves.
func (a *flutterArgs) pieces(g *ring, cut pattern.Cut) []pattern.Piece {
	own := &pattern.Allowance{Width: a.Hem, Turned: 2}
	if a.Hem == 0 {
		own.Turned = 0
	}
	closed := a.closed()
	end := func(name, from string, p, q geom.Point, long float64) []pattern.Edge {
		if long == 0 {
			return nil
		}
		e := pattern.Edge{Name: name, From: from, Path: geom.Polyline(p, q), Own: own}
		if closed {
			e.Own = nil
		}
		return []pattern.Edge{e}
	}
	in, out := g.inner, g.outer
	top, low := geom.Pt(0, -g.r), geom.Pt(0, -g.r-a.Crown)
	frontEnd := end("end_front", "hem_front", out[0].End(), in[0].End(), a.Ends.Front)
	backEnd := end("end_back", "inner_back", in[1].End(), out[1].End(), a.Ends.Back)
	capFront := pattern.Edge{Name: "cap_front", From: "inner_front", Path: in[0].Reverse()}
	capBack := pattern.Edge{Name: "cap_back", From: "crown", Path: in[1]}
	finish := func(name string, edges ...pattern.Edge) pattern.Piece {
		p := newPiece(name, titled(name), cut, edges...)
		p.Align = top
		p.Grain = [2]geom.Point{geom.Pt(0, -g.r-0.85*a.Crown), geom.Pt(0, -g.r-0.15*a.Crown)}
		fitGrain(&p)
		return p
	}
	if !a.Halves {
		hem := pattern.Edge{Name: "hem", From: "hem_back", Path: out[1].Reverse().Join(out[0]), Own: own}
		edges := append([]pattern.Edge{hem}, frontEnd...)
		edges = append(append(edges, capFront, capBack), backEnd...)
		p := finish(a.Name, edges...)
		p.Marks = append(p.Marks, pattern.Mark{Kind: pattern.Dot, Name: "crown_dot", Edge: "cap_back", At: top})
		return []pattern.Piece{p}
	}
	f := append([]pattern.Edge{{Name: "hem", From: "hem_crown", Path: out[0], Own: own}}, frontEnd...)
	f = append(f, capFront, pattern.Edge{Name: "centre", From: "crown", Path: geom.Polyline(top, low)})
	b := append([]pattern.Edge{{Name: "hem", From: "hem_back", Path: out[1].Reverse(), Own: own}, {Name: "centre", From: "hem_crown", Path: geom.Polyline(low, top)}, capBack}, backEnd...)
	return []pattern.Piece{finish(a.Name+"_front", f...), finish(a.Name+"_back", b...)}
}

// closed: the ends are sewn to each other under the arm.
func (a *flutterArgs) closed() bool {
	return a.Share == (Each{Back: 1, Front: 1}) && a.Ends.Front > 0 && a.Ends.Front == a.Ends.Back
}

// sharp refuses a point that no hem can be turned at.
func (a *flutterArgs) sharp(p *pattern.Piece) error {
	const least = 8.0 // degrees
	for i := range p.Edges {
		e, next := &p.Edges[i], &p.Edges[(i+1)%len(p.Edges)]
		if d := inspect.Interior(e.Path, next.Path) * 180 / math.Pi; d < least {
			return pattern.Fault{Rule: "point_too_sharp", Pointer: "/ends", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("the flutter would end in a point of %.1f degrees, which cannot be hemmed", d),
				Valid: fmt.Sprintf("at least %g degrees", least), Remedy: "give its ends a length, or take less of a circle"}
		}
	}
	return nil
}

// mark gives the inner edges a mark for each that lies on the stretch they are sewn to, when that is stretched evenly.
func (a *flutterArgs) mark(w *work, p *pattern.Piece, front, back *armHalf, k float64) {
	const clear = 8.0 // mm from a corner
	for _, h := range []*armHalf{front, back} {
		i := p.EdgeNamed("cap_" + h.side)
		if i < 0 {
			continue
		}
		path := p.Edges[i].Path
		c, err := inspect.Walk(&w.p, h.refs)
		if err != nil {
			continue
		}
		for _, l := range c.Links {
			for _, m := range l.Piece.Marks {
				d, ok := c.MarkAt(l.Piece.Name, m.Name)
				if !ok || m.Kind == pattern.Square || m.Edge != l.Piece.Edges[l.Edge].Name || d < clear || d > c.Len-clear {
					continue
				}
				n := pattern.Mark{Kind: m.Kind, Name: free(m.Name, knows(p)), Count: m.Count, Edge: "cap_" + h.side, S: d * k}
				if h.side == "front" {
					n.S = path.Length() - n.S
				}
				n.At = path.PointAt(n.S)
				p.Marks = append(p.Marks, n)
			}
		}
	}
}

// sew sews the inner edges in, and what else is joined.
func (a *flutterArgs) sew(w *work, front, back *armHalf, k float64) {
	for _, h := range []*armHalf{front, back} {
		n := a.named(h.side)
		s := pattern.Seam{Name: w.seamFree(a.Name + "_" + h.side), Sew: []pattern.EdgeRef{{Piece: n, Edge: "cap_" + h.side}}, To: h.refs}
		if d := h.stretch * (k - 1); a.Ease != 0 {
			s.Ease = pattern.Range{Min: d, Max: d}
		}
		if h.side == "front" {
			s.To = seamRun{refs: h.refs}.turned()
		}
		own := w.p.PieceNamed(n)
		for _, r := range h.refs {
			q := w.p.PieceNamed(r.Piece)
			for _, m := range q.Marks {
				if o := own.MarkNamed(m.Name); o != nil && m.Edge == r.Edge && o.Edge == "cap_"+h.side {
					s.Notches = append(s.Notches, [2]pattern.MarkRef{{Piece: n, Mark: o.Name}, {Piece: q.Name, Mark: m.Name}})
				}
			}
		}
		w.p.Seams = append(w.p.Seams, s)
	}
	if a.Halves {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Name + "_centre"), SmoothStart: true, SmoothEnd: true,
			Sew: []pattern.EdgeRef{{Piece: a.Name + "_front", Edge: "centre"}}, To: []pattern.EdgeRef{{Piece: a.Name + "_back", Edge: "centre", Against: true}}})
	}
	if a.closed() {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(a.Name + "_underarm"),
			Sew: []pattern.EdgeRef{{Piece: a.named("front"), Edge: "end_front"}}, To: []pattern.EdgeRef{{Piece: a.named("back"), Edge: "end_back", Against: true}}})
	}
}
