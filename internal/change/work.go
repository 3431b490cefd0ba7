package change

import (
	"fmt"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// work is the state of one Apply: the pattern as it stands, and what is to be told about it.
type work struct {
	change string
	p      pattern.Pattern
	res    Result
	made   []string // pieces that the change made or altered
	gone   []string // pieces that it was asked to leave out
}

// named puts the change and the size on every fault.
func (w *work) named(err error) error {
	fs := append(pattern.Faults(nil), pattern.FaultsOf(err)...)
	for i := range fs {
		fs[i].Size = w.p.Size
		if !strings.HasPrefix(fs[i].Detail, w.change+": ") {
			fs[i].Detail = w.change + ": " + fs[i].Detail
		}
	}
	return fs
}

// piece finds a piece by name. A piece that an earlier change has cut up is told apart from one that
// never was.
func (w *work) piece(ptr, name string) (*pattern.Piece, error) {
	if p := w.p.PieceNamed(name); p != nil {
		if len(p.Edges) == 0 || len(p.Outline()) == 0 {
			return nil, pattern.Fault{Rule: "empty_piece", Pointer: ptr, Piece: name, Detail: fmt.Sprintf("piece %q has no outline", name), Remedy: "give it one"}
		}
		return p, nil
	}
	var parts []string
	for i := range w.p.Pieces {
		if w.p.Pieces[i].Of == name {
			parts = append(parts, w.p.Pieces[i].Name)
		}
	}
	f := pattern.Fault{Rule: "unknown_piece", Pointer: ptr, Piece: name, Detail: fmt.Sprintf("there is no piece %q", name),
		Valid: pattern.Choices(w.p.PieceNames()), Remedy: pattern.Suggest(name, w.p.PieceNames())}
	if len(parts) > 0 {
		f.Detail = fmt.Sprintf("piece %q was made into %s by an earlier change", name, strings.Join(parts, ", "))
		f.Remedy = "name what it was made into, or put this change first"
	}
	return nil, f
}

// edge finds an edge by name.
func (w *work) edge(ptr string, p *pattern.Piece, name string) (int, error) {
	if i := p.EdgeNamed(name); i >= 0 {
		return i, nil
	}
	return 0, pattern.Fault{Rule: "unknown_edge", Pointer: ptr, Piece: p.Name, Edge: name, Detail: fmt.Sprintf("piece %q has no edge %q", p.Name, name),
		Valid: pattern.Choices(p.EdgeNames()), Remedy: pattern.Suggest(name, p.EdgeNames())}
}

// spot is a place on a piece's outline.
type spot struct {
	edge int
	s    float64
}

func (s spot) at(p *pattern.Piece) geom.Point { return p.Edges[s.edge].Path.PointAt(s.s) }

// outlinePos is the arc length along the whole outline.
func (s spot) outlinePos(p *pattern.Piece) float64 { return p.EdgeStart(s.edge) + s.s }

func spotAt(p *pattern.Piece, pos float64) spot {
	e, s := p.OnOutline(pos)
	return spot{e, s}
}

// spotOf finds a place that must lie on the outline.
func (w *work) spotOf(ptr string, p *pattern.Piece, pl pattern.Place) (spot, error) {
	e, s, _, err := p.Find(pl)
	if err != nil {
		return spot{}, pattern.FaultsOf(err).Under(ptr)
	}
	if e < 0 {
		return spot{}, pattern.Fault{Rule: "off_outline", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("the place lies inside piece %q, not on its outline", p.Name),
			Valid: pattern.Choices(p.PlaceNames()), Remedy: "choose a corner, or a mark on an edge"}
	}
	return spot{e, s}, nil
}

// sound refuses what no change may give: numbers that are none, empty edges, outlines that cross
// themselves or have been turned inside out.
func (w *work) sound() error {
	for _, name := range w.made {
		p := w.p.PieceNamed(name)
		if p == nil {
			continue
		}
		for i := range p.Edges {
			e := &p.Edges[i]
			for _, s := range e.Path {
				if !s.P0.Finite() || !s.P1.Finite() || !s.P2.Finite() || !s.P3.Finite() {
					return pattern.Fault{Rule: "not_finite", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s.%s could not be computed", p.Name, e.Name), Remedy: "try less extreme values"}
				}
			}
			if l := e.Path.Length(); !(l >= pattern.MinEdge) {
				return pattern.Fault{Rule: "edge_vanishes", Piece: p.Name, Edge: e.Name, Detail: fmt.Sprintf("edge %s.%s would be only %.2f mm long", p.Name, e.Name, l),
					Valid: fmt.Sprintf("at least %g mm", pattern.MinEdge), Remedy: "move the place away from the corner, or onto it"}
			}
		}
		out := p.Outline()
		if !(out.Area() > 1) {
			return pattern.Fault{Rule: "piece_vanishes", Piece: p.Name, Detail: fmt.Sprintf("piece %s would have no area", p.Name), Remedy: "try less extreme values"}
		}
		if p.Grain[0].Dist(p.Grain[1]) < 1 {
			return pattern.Fault{Rule: "piece_vanishes", Piece: p.Name, Detail: fmt.Sprintf("piece %s would be a sliver, in which no grain line has room", p.Name), Remedy: "try less extreme values"}
		}
		if x := out.SelfCrossings(true, pattern.Near); len(x) > 0 {
			e, _ := p.OnOutline(x[0].S)
			f, _ := p.OnOutline(x[0].T)
			return pattern.Fault{Rule: "self_crossing", Piece: p.Name, Edge: p.Edges[e].Name,
				Detail: fmt.Sprintf("piece %s would cross itself at (%.1f, %.1f), where %s meets %s", p.Name, x[0].P.X, x[0].P.Y, p.Edges[e].Name, p.Edges[f].Name),
				Remedy: "try less extreme values"}
		}
	}
	return nil
}

// stillThere refuses to leave a dot or a line of a piece outside it, such as the end of a slit in a piece that is made
// shorter than the slit.
func (w *work) stillThere(before *pattern.Pattern) error {
	done := map[string]bool{}
	for _, name := range w.made {
		p, was := w.p.PieceNamed(name), before.PieceNamed(name)
		if p == nil || was == nil || done[name] {
			continue
		}
		done[name] = true
		out, old := p.Outline(), was.Outline()
		f := pattern.Fault{Rule: "mark_off_piece", Piece: name, Remedy: "change less, or put this change before the one that marks it"}
		for i := range p.Marks {
			m := &p.Marks[i]
			if k := was.MarkNamed(m.Name); m.Edge == "" && k != nil && k.Edge == "" && !inside(out, m.At) && inside(old, k.At) {
				f.Detail = fmt.Sprintf("the dot %q of %s would lie outside it", m.Name, name)
				return f
			}
		}
		for _, l := range p.Lines {
			if len(l.Path) == 0 || l.Path.Length() < pattern.Near {
				f.Detail = fmt.Sprintf("nothing of the line %q of %s would be left", l.Name, name)
				return f
			}
		}
	}
	return nil
}

// promise adds a check that the change promises.
func (w *work) promise(c inspect.Check) {
	if c.Source == "" {
		c.Source = "promised by " + w.change
	}
	w.res.Checks = append(w.res.Checks, inspect.Judge(c))
}

// free makes a name that none of the taken ones is.
func free(name string, taken func(string) bool) string {
	if len(name) > pattern.MaxName-4 {
		name = name[:pattern.MaxName-4]
	}
	if !taken(name) {
		return name
	}
	for i := 2; ; i++ {
		if n := fmt.Sprintf("%s_%d", name, i); !taken(n) {
			return n
		}
	}
}

// knows reports whether a piece has a corner or mark of that name.
func knows(p *pattern.Piece) func(string) bool {
	return func(n string) bool {
		if p.MarkNamed(n) != nil {
			return true
		}
		_, ok := p.Corner(n)
		return ok
	}
}
