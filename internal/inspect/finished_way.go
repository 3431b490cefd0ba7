package inspect

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A way over the cloth is laid as a tape is: straight from a place, square to the grain or along it,
// straight on over closed darts and over seams, to an edge or another place.
//
// On the made pattern it begins at the same place, in the same direction to the edges there: where a
// part has been turned to close a dart elsewhere the way has turned with it. Where a piece has been spread
// open, so that no straight line leads from one end to the other in their directions, it is drawn as a
// maker draws a hip line on a flared skirt: one smooth curve that leaves both ends as the straight line did.

const (
	sameTurn = 0.3 * math.Pi / 180  // edges that have turned alike
	square   = 0.75 * math.Pi / 180 // how far an end may be off the angle that it has on the block
	missed   = 0.3                  // mm that a way may pass its end by
	begun    = 0.05                 // mm in which a way has left the outline that it begins on
)

// stop is where a way ends.
type stop struct {
	edge  *pattern.Source // an edge that came from here,
	name  string          // or a line with its name, where it is no edge any more
	at    geom.Point      // or a place
	piece string          // on this piece
}

// trail is a way that was gone.
type trail struct {
	mm    float64
	piece *pattern.Piece
	at    geom.Point
	dir   geom.Vec
	edge  int     // that it ended on, -1 inside
	angle float64 // of that edge to the way
}

// end is where on the outline the words put a place.
type end struct {
	name  string // of a corner or mark
	edge  int    // of the pattern of the words; -1 inside
	s     float64
	at    geom.Point
	piece *pattern.Piece
}

func (g *gauge) place(p *pattern.Piece, pl pattern.Place, ptr string) (end, error) {
	e, s, at, err := p.Find(pl)
	if err != nil {
		return end{}, pattern.FaultsOf(err).Under(ptr)
	}
	x := end{edge: e, s: s, at: at, piece: p}
	if pl.Edge == "" {
		x.name = pl.Point
	}
	if pl.Edge != "" && pl.Between == [2]string{} { // an edge's own end is told by that edge
		x.edge = p.EdgeNamed(pl.Edge)
		x.s, _ = p.Edges[x.edge].Path.Project(at)
	}
	return x, nil
}

// way is the length of a way over the made pattern.
func (g *gauge) way(t *pattern.Term) (float64, error) {
	word := "/across"
	if t.Along {
		word = "/along"
	}
	p := g.on.PieceNamed(t.Piece)
	if p == nil {
		return 0, pattern.Fault{Rule: "unknown_piece", Pointer: word, Piece: t.Piece, Detail: fmt.Sprintf("there is no piece %q", t.Piece),
			Valid: pattern.Choices(g.on.PieceNames()), Remedy: pattern.Suggest(t.Piece, g.on.PieceNames())}
	}
	from, err := g.place(p, t.From, "/from")
	if err != nil {
		return 0, err
	}
	var goal stop
	var to end
	var dirs []geom.Vec
	if t.ToEdge != "" {
		_, e, err := g.edgeOn(pattern.EdgeRef{Piece: t.Piece, Edge: t.ToEdge}, "/to")
		if err != nil {
			return 0, err
		}
		src := source(p, e)
		goal = stop{edge: &src, name: t.ToEdge}
		u := p.Grain[1].Sub(p.Grain[0]).Unit()
		if !t.Along {
			u = u.Left()
		}
		dirs = []geom.Vec{u, u.Neg()}
	} else {
		if to, err = g.place(p, t.To, "/to"); err != nil {
			return 0, err
		}
		goal = stop{at: to.at, piece: p.Name}
		dirs = []geom.Vec{to.at.Sub(from.at).Unit()}
	}
	var was trail
	var dir geom.Vec
	for _, d := range dirs {
		w, more := (&tape{p: g.on, g: g}).lay(p, from.at, d, goal)
		if err = more; more == nil && (was.piece == nil || w.mm < was.mm) {
			was, dir = w, d
		}
	}
	if was.piece == nil {
		f := pattern.FaultsOf(err)[0]
		f.Pointer = "/to"
		return 0, f
	}
	if g.on == g.made {
		return was.mm, nil
	}
	if t.ToEdge != "" {
		to = end{edge: was.edge, at: was.at, piece: was.piece}
		if was.edge >= 0 {
			to.s, _ = was.piece.Edges[was.edge].Path.Project(was.at)
		}
		if t.Along {
			by := g.sewnOn(goal.edge, pattern.EdgeRef{Piece: t.Piece, Edge: t.ToEdge})
			if q := g.made.PieceNamed(by); q != nil && q.Adds != nil {
				mm, err := g.again(from, to, dir, was, goal, true)
				return mm + *q.Adds, err
			}
			if by != "" {
				return 0, pattern.Fault{Rule: "sewn_on", Pointer: "/to", Piece: t.Piece, Edge: t.ToEdge, Detail: fmt.Sprintf("the %s of the %s is sewn to the %s", plain(t.ToEdge), plain(t.Piece), plain(by))}
			}
		}
	}
	return g.again(from, to, dir, was, goal, t.Along)
}

// sewnOn names what a change has sewn to an edge that was free.
func (g *gauge) sewnOn(src *pattern.Source, r pattern.EdgeRef) string {
	if sewnTo(g.on, r) != "" {
		return ""
	}
	refs, _ := pattern.Covering(*src, g.made.Pieces, false)
	for _, c := range refs {
		if by := sewnTo(g.made, c); by != "" {
			return by
		}
	}
	return ""
}

// again goes the way on the made pattern. A hem may slant as it likes; a level ends as it did.
func (g *gauge) again(from, to end, dir geom.Vec, was trail, goal stop, along bool) (float64, error) {
	starts := g.find(from)
	if len(starts) == 0 {
		return 0, pattern.Fault{Rule: "place_gone", Pointer: "/from", Piece: from.piece.Name, Detail: fmt.Sprintf("the place on the %s from which it is measured is gone", plain(from.piece.Name))}
	}
	ends := g.find(to)
	var why error
	for _, a := range starts {
		d := dir.Rotate(a.turn)
		goals := []stop{goal}
		if goal.edge == nil {
			goals = nil
			for _, b := range ends {
				goals = append(goals, stop{at: b.at, piece: b.piece.Name})
			}
		}
		for _, s := range goals {
			w, err := (&tape{p: g.made, g: g}).lay(a.piece, a.at, d, s)
			if err == nil && (along || s.edge == nil || math.Abs(turnBetween(w.angle, was.angle)) <= square) {
				return w.mm, nil
			}
			if why == nil {
				why = err
			}
		}
		for _, b := range ends {
			if along || b.piece.Name != a.piece.Name || math.Abs(a.turn-b.turn) <= sameTurn {
				continue
			}
			if mm, ok := g.curved(a, b, d, was.dir.Rotate(b.turn)); ok {
				return mm, nil
			}
		}
	}
	if why == nil {
		why = pattern.Fault{Rule: "way_bent", Piece: from.piece.Name, Detail: fmt.Sprintf("the %s is not spread evenly there, so that no line across it is level", plain(from.piece.Name))}
		if goal.edge == nil && len(ends) == 0 {
			why = pattern.Fault{Rule: "place_gone", Pointer: "/to", Piece: to.piece.Name, Detail: fmt.Sprintf("the place on the %s to which it is measured is gone", plain(to.piece.Name))}
		}
	}
	return 0, why
}

func turnBetween(a, b float64) float64 { return math.Remainder(a-b, 2*math.Pi) }

// found is a place on the made pattern, and how far the cloth there has been turned.
type foundEnd struct {
	piece *pattern.Piece
	at    geom.Point
	turn  float64
}

// find looks for a place on every piece that came of the one it was told on.
func (g *gauge) find(x end) []foundEnd {
	var out []foundEnd
	for i := range g.made.Pieces {
		q := &g.made.Pieces[i]
		if q.Of != x.piece.Name && q.Of != x.piece.Of && q.Name != x.piece.Name && !hasEdgeOf(q, x.piece.Name) || !g.kin(q) {
			continue
		}
		if f, ok := g.findOn(x, q); ok {
			out = append(out, f)
		}
	}
	return out
}

// hasEdgeOf: an edge of the piece came from another one, as those of a waistband that was cut off several do.
func hasEdgeOf(q *pattern.Piece, piece string) bool {
	for i := range q.Edges {
		if q.Edges[i].Src.Piece == piece {
			return true
		}
	}
	return false
}

// kin: a piece that has edges of the pattern of the words is a part of the garment itself; a facing that was
// copied from a part has none.
func (g *gauge) kin(q *pattern.Piece) bool {
	for i := range q.Edges {
		if g.known(pattern.EdgeRef{Piece: q.Name, Edge: q.Edges[i].Name}) {
			return true
		}
	}
	return false
}

func (g *gauge) findOn(x end, q *pattern.Piece) (foundEnd, bool) {
	if x.name != "" {
		for i := range q.Edges {
			if q.Edges[i].From == x.name && x.edge >= 0 && x.s <= pattern.Near {
				prev := (i + len(q.Edges) - 1) % len(q.Edges)
				turn, ok := g.cornerTurn(x, q, prev, i)
				return foundEnd{q, q.Edges[i].Path.Start(), turn}, ok
			}
		}
		if m := q.MarkNamed(x.name); m != nil {
			f := foundEnd{piece: q, at: m.At}
			if e := q.EdgeNamed(m.Edge); e >= 0 && x.edge >= 0 {
				f.turn = g.edgeTurn(x, q, e, m.S)
			}
			return f, true
		}
	}
	if x.edge < 0 {
		return foundEnd{}, false
	}
	was := &x.piece.Edges[x.edge]
	src, l := source(x.piece, was), was.Path.Length()
	at := src.S0 + (src.S1-src.S0)*x.s/l
	for i := range q.Edges {
		e := &q.Edges[i]
		if e.Src.Piece != src.Piece || e.Src.Edge != src.Edge || (e.Src.S1 < e.Src.S0) != (src.S1 < src.S0) {
			continue
		}
		long := e.Path.Length()
		span := math.Abs(e.Src.S1 - e.Src.S0)
		s := math.Abs(at - e.Src.S0)
		switch {
		case x.s <= pattern.Near && g.outermost(e, q, true):
			s = 0
		case x.s >= l-pattern.Near && g.outermost(e, q, false):
			s = long
		case math.Min(e.Src.S0, e.Src.S1) > at+1e-4 || math.Max(e.Src.S0, e.Src.S1) < at-1e-4:
			continue
		case math.Abs(span-long) > 0.05:
			continue // redrawn: no telling where on it the place lies
		}
		return foundEnd{q, e.Path.PointAt(math.Min(s, long)), g.edgeTurn(x, q, i, s)}, true
	}
	return foundEnd{}, false
}

// outermost: no other edge has more of the beginning (or of the end) of what this one came from.
func (g *gauge) outermost(e *pattern.Edge, q *pattern.Piece, start bool) bool {
	for i := range g.made.Pieces {
		for k := range g.made.Pieces[i].Edges {
			o := &g.made.Pieces[i].Edges[k]
			if o.Src.Piece != e.Src.Piece || o.Src.Edge != e.Src.Edge {
				continue
			}
			sign := 1.0
			if e.Src.S1 < e.Src.S0 {
				sign = -1
			}
			if start && sign*(o.Src.S0-e.Src.S0) < -1e-4 || !start && sign*(o.Src.S1-e.Src.S1) > 1e-4 {
				return false
			}
		}
	}
	return true
}

// cornerTurn is how far a corner has been turned: both edges that met there must still meet there and have
// turned alike, or one of them alone be left. Else the corner was redrawn where it lay: no turn.
func (g *gauge) cornerTurn(x end, q *pattern.Piece, in, out int) (float64, bool) {
	p := x.piece
	n := len(p.Edges)
	wasIn, wasOut := &p.Edges[(x.edge+n-1)%n], &p.Edges[x.edge]
	same := func(was *pattern.Edge, now int) bool {
		s := source(p, was)
		return q.Edges[now].Src.Piece == s.Piece && q.Edges[now].Src.Edge == s.Edge
	}
	a, b := same(wasIn, in), same(wasOut, out)
	ta := wasIn.Path.EndTangent().AngleTo(q.Edges[in].Path.EndTangent())
	tb := wasOut.Path.StartTangent().AngleTo(q.Edges[out].Path.StartTangent())
	switch {
	case a && b && math.Abs(turnBetween(ta, tb)) <= sameTurn:
		return ta, true
	case a && b:
		return 0, true
	case a:
		return g.sure(q, in, ta), true
	case b:
		return g.sure(q, out, tb), true
	}
	return 0, false
}

// edgeTurn is how far an edge has been turned at a place of it.
func (g *gauge) edgeTurn(x end, q *pattern.Piece, e int, s float64) float64 {
	was := x.piece.Edges[x.edge].Path
	return g.sure(q, e, was.TangentAt(x.s).AngleTo(q.Edges[e].Path.TangentAt(s)))
}

// sure believes a turn of an edge only if a neighbour of it has turned alike: an edge that was redrawn
// leans another way, but nothing has turned.
func (g *gauge) sure(q *pattern.Piece, e int, turn float64) float64 {
	if math.Abs(turn) <= 1e-9 {
		return 0
	}
	n := len(q.Edges)
	for _, k := range [2]int{(e + n - 1) % n, (e + 1) % n} {
		now := &q.Edges[k]
		was, s0, s1 := g.onEdge(now)
		if was == nil {
			continue
		}
		t := was.TangentAt(s1).AngleTo(now.Path.EndTangent())
		if k == (e+1)%n {
			t = was.TangentAt(s0).AngleTo(now.Path.StartTangent())
		}
		if math.Abs(turnBetween(t, turn)) <= sameTurn {
			return turn
		}
	}
	return 0
}

// onEdge is the edge of the pattern of the words that an edge came from, and where on it the edge begins
// and ends; nil where it came from none, or lies the other way round.
func (g *gauge) onEdge(e *pattern.Edge) (was geom.Path, s0, s1 float64) {
	p := g.on.PieceNamed(e.Src.Piece)
	if p == nil || p.EdgeNamed(e.Src.Edge) < 0 {
		return nil, 0, 0
	}
	o := &p.Edges[p.EdgeNamed(e.Src.Edge)]
	s := source(p, o)
	if (s.S1 < s.S0) != (e.Src.S1 < e.Src.S0) {
		return nil, 0, 0
	}
	return o.Path, math.Abs(e.Src.S0 - s.S0), math.Abs(e.Src.S1 - s.S0)
}

// curved is the way over a piece that was spread open.
func (g *gauge) curved(a, b foundEnd, leave, arrive geom.Vec) (float64, bool) {
	chord := b.at.Sub(a.at)
	turn := leave.AngleTo(arrive)
	pleats, ok := pleatsOf(g.made, a.piece)
	if !ok || len(pleats) > 0 || chord.Len() < 1 || math.Abs(leave.AngleTo(chord)) > math.Pi/3 || math.Abs(chord.AngleTo(arrive)) > math.Pi/3 {
		return 0, false
	}
	// The handles of an arc that turns so much: chord / (3 cos² (turn/4)).
	c := math.Cos(turn / 4)
	h := chord.Len() / (3 * c * c)
	line := geom.Path{geom.Cubic(a.at, a.at.Add(leave.Mul(h)), b.at.Add(arrive.Mul(-h)), b.at)}
	out := a.piece.Outline()
	const samples = 24
	for i := 1; i < samples; i++ {
		q := line[0].At(float64(i) / samples)
		if _, d := out.Project(q); d > 1 && !out.Contains(q) {
			return 0, false
		}
	}
	return line.Length(), true
}
