package pattern

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
)

// Find looks up a place on a piece in its own size: the edge's index, the arc length along it and
// the point. A place inside the piece has the edge -1.
//
// A corner belongs to the edge that begins there. At is taken as a coordinate of this size; within
// OnOutline of the outline it is put onto it. Between two places the way along the outline that
// goes over Edge is taken, without Edge the shorter one.
func (p *Piece) Find(pl Place) (edge int, s float64, at geom.Point, err error) {
	return p.find(pl)
}

// Knows reports whether the places that pl refers to by name are there already. Marks may be told
// by other marks, in any order.
func (p *Piece) Knows(pl Place) bool {
	for _, n := range []string{pl.Point, pl.Between[0], pl.Between[1]} {
		if n != "" {
			if _, _, _, err := p.byName(n); err != nil {
				return false
			}
		}
	}
	return true
}

func (p *Piece) find(pl Place) (int, float64, geom.Point, error) {
	switch {
	case pl.At != nil:
		e, s, at, d := p.Nearest(*pl.At)
		if d <= OnOutline {
			return e, s, at, nil
		}
		return -1, 0, *pl.At, nil
	case pl.Between != [2]string{}:
		return p.between(pl)
	case pl.Edge != "":
		i := p.EdgeNamed(pl.Edge)
		if i < 0 {
			return 0, 0, geom.Point{}, Fault{Rule: "unknown_edge", Pointer: "/edge", Piece: p.Name, Edge: pl.Edge,
				Detail: fmt.Sprintf("piece %q has no edge %q", p.Name, pl.Edge),
				Valid:  Choices(p.EdgeNames()), Remedy: Suggest(pl.Edge, p.EdgeNames())}
		}
		e := &p.Edges[i]
		l := e.Path.Length()
		s := pl.Along
		switch pl.From {
		case e.From, "":
		case e.To:
			s = l - s
		default:
			return 0, 0, geom.Point{}, Fault{Rule: "unknown_end", Pointer: "/from", Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q does not end at %q", e.Name, pl.From),
				Valid:  e.From + ", " + e.To, Remedy: "measure from one of its two ends"}
		}
		if !(s >= -Near && s <= l+Near) {
			return 0, 0, geom.Point{}, Fault{Rule: "off_edge", Pointer: "/along", Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("%.1f mm along edge %q of piece %q is past its end: it is %.1f mm long", pl.Along, e.Name, p.Name, l),
				Valid:  fmt.Sprintf("0 to %.1f mm", l), Remedy: "give a shorter distance"}
		}
		s = math.Max(0, math.Min(l, s))
		return i, s, e.Path.PointAt(s), nil
	case pl.Point != "":
		return p.byName(pl.Point)
	}
	return 0, 0, geom.Point{}, Fault{Rule: "no_place", Piece: p.Name,
		Detail: "no place is given", Valid: "a point; an edge with a distance along; a share between two places; a coordinate",
		Remedy: "tell the place in one of these ways"}
}

func (p *Piece) byName(name string) (int, float64, geom.Point, error) {
	for i := range p.Edges {
		if p.Edges[i].From == name {
			return i, 0, p.Edges[i].Path.Start(), nil
		}
	}
	if m := p.MarkNamed(name); m != nil {
		if m.Edge == "" {
			return -1, 0, m.At, nil
		}
		if i := p.EdgeNamed(m.Edge); i >= 0 {
			return i, m.S, m.At, nil
		}
	}
	known := p.PlaceNames()
	return 0, 0, geom.Point{}, Fault{Rule: "unknown_point", Pointer: "/point", Piece: p.Name,
		Detail: fmt.Sprintf("piece %q has no point or mark %q", p.Name, name),
		Valid:  Choices(known), Remedy: Suggest(name, known)}
}

func (p *Piece) between(pl Place) (int, float64, geom.Point, error) {
	var pos [2]float64
	for k, n := range pl.Between {
		e, s, _, err := p.byName(n)
		if err != nil {
			f := FaultsOf(err)[0]
			f.Pointer = Pointer("between", fmt.Sprint(k))
			return 0, 0, geom.Point{}, f
		}
		if e < 0 {
			return 0, 0, geom.Point{}, Fault{Rule: "off_outline", Pointer: Pointer("between", fmt.Sprint(k)), Piece: p.Name,
				Detail: fmt.Sprintf("%q lies inside piece %q, not on its outline", n, p.Name),
				Valid:  "a corner, or a mark on an edge", Remedy: "choose a place on the outline"}
		}
		pos[k] = p.EdgeStart(e) + s
	}
	if !(pl.Share >= 0 && pl.Share <= 1) {
		return 0, 0, geom.Point{}, Fault{Rule: "out_of_range", Pointer: "/share", Piece: p.Name,
			Detail: fmt.Sprintf("a share of %g lies outside the stretch", pl.Share), Valid: "0 to 1", Remedy: "0.5 is half-way"}
	}
	l := p.Length()
	ahead := math.Mod(pos[1]-pos[0]+l, l)
	if l-ahead < 1e-9 {
		ahead = 0
	}
	forward := ahead <= l/2
	if pl.Edge != "" {
		i := p.EdgeNamed(pl.Edge)
		if i < 0 {
			return 0, 0, geom.Point{}, Fault{Rule: "unknown_edge", Pointer: "/edge", Piece: p.Name, Edge: pl.Edge,
				Detail: fmt.Sprintf("piece %q has no edge %q", p.Name, pl.Edge),
				Valid:  Choices(p.EdgeNames()), Remedy: Suggest(pl.Edge, p.EdgeNames())}
		}
		// How much of the edge lies on the way forward decides.
		e0 := p.EdgeStart(i)
		el := p.Edges[i].Path.Length()
		forward = overlap(pos[0], ahead, e0, el, l) >= overlap(pos[1], l-ahead, e0, el, l)
	} else if math.Abs(ahead-l/2) <= Near && ahead > Near {
		return 0, 0, geom.Point{}, Fault{Rule: "ambiguous_place", Pointer: "/between", Piece: p.Name,
			Detail: fmt.Sprintf("both ways round from %q to %q are equally long", pl.Between[0], pl.Between[1]),
			Remedy: `name the "edge" that the way goes over`}
	}
	q := pos[0] + pl.Share*ahead
	if !forward {
		q = pos[0] - pl.Share*(l-ahead)
	}
	e, s := p.OnOutline(q)
	return e, s, p.Edges[e].Path.PointAt(s), nil
}

// overlap is how much of the stretch [b, b+bl] lies on [a, a+al], both on a round of length l.
func overlap(a, al, b, bl, l float64) float64 {
	sum := 0.0
	for _, k := range [3]float64{-l, 0, l} {
		lo, hi := math.Max(a, b+k), math.Min(a+al, b+k+bl)
		sum += math.Max(0, hi-lo)
	}
	return sum
}

// Length is the whole way round the outline.
func (p *Piece) Length() float64 {
	l := 0.0
	for i := range p.Edges {
		l += p.Edges[i].Path.Length()
	}
	return l
}

// EdgeStart is the arc length along the whole outline at which edge i begins.
func (p *Piece) EdgeStart(i int) float64 {
	l := 0.0
	for k := range i {
		l += p.Edges[k].Path.Length()
	}
	return l
}

// OnOutline turns an arc length along the whole outline, taken round as often as needed, into an
// edge and the arc length along it.
func (p *Piece) OnOutline(q float64) (edge int, s float64) {
	l := p.Length()
	q = math.Mod(math.Mod(q, l)+l, l)
	for i := range p.Edges {
		el := p.Edges[i].Path.Length()
		if q < el || i == len(p.Edges)-1 {
			return i, math.Min(q, el)
		}
		q -= el
	}
	return 0, 0
}

// Nearest finds the place of the outline nearest to q and its distance.
func (p *Piece) Nearest(q geom.Point) (edge int, s float64, at geom.Point, dist float64) {
	dist = math.Inf(1)
	for i := range p.Edges {
		es, d := p.Edges[i].Path.Project(q)
		if d < dist-1e-9 {
			edge, s, dist = i, es, d
		}
	}
	if !math.IsInf(dist, 1) {
		at = p.Edges[edge].Path.PointAt(s)
	}
	return edge, s, at, dist
}

// EdgeNames lists the edges in order.
func (p *Piece) EdgeNames() []string {
	out := make([]string, len(p.Edges))
	for i := range p.Edges {
		out[i] = p.Edges[i].Name
	}
	return out
}

// PlaceNames lists everything that can be spoken of by name: corners, then marks.
func (p *Piece) PlaceNames() []string {
	var out []string
	for i := range p.Edges {
		out = append(out, p.Edges[i].From)
	}
	for i := range p.Marks {
		out = append(out, p.Marks[i].Name)
	}
	return out
}

// PieceNames lists the pieces in order.
func (p *Pattern) PieceNames() []string {
	out := make([]string, len(p.Pieces))
	for i := range p.Pieces {
		out[i] = p.Pieces[i].Name
	}
	return out
}
