package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// tube is a sleeve, or whatever has a hem below, sides beside it, and an edge above that is sewn to
// something else: what it is opened or narrowed between.
type tube struct {
	p           *pattern.Piece
	hem         int
	cap         run
	left, right int      // the side edges that meet the hem: at its start, at its end
	up          geom.Vec // along the grain, from the hem to the cap
}

// opens finds a tube whose hem is to be redrawn longer or shorter: one that is sewn to something would no
// longer match it.
func (w *work) opens(piece, hem string, cap []string) (tube, error) {
	t, err := w.tube(piece, hem, cap)
	if err != nil {
		return t, err
	}
	f := pattern.Fault{Pointer: "/hem", Piece: piece, Edge: hem, Remedy: "name an edge that is free"}
	switch {
	case t.p.Edges[t.hem].Fold:
		f.Rule, f.Detail = "edge_on_fold", fmt.Sprintf("edge %s.%s lies on the fold", piece, hem)
		return t, f
	case t.p.IsLeg(hem):
		f.Rule, f.Detail = "dart_leg", fmt.Sprintf("edge %s.%s is the leg of a dart", piece, hem)
		return t, f
	case w.sewn(piece, hem):
		f.Rule, f.Detail, f.Remedy = "edge_sewn", fmt.Sprintf("edge %s.%s is sewn to something, which would no longer match it", piece, hem), "put this change before the one that sews it, or name an edge that is free"
		return t, f
	}
	return t, nil
}

// tube finds them. The cap is what lies beyond the sides, which end at the first corner; or the edges
// named, or, on a piece that is set in, those that are.
func (w *work) tube(piece, hem string, cap []string) (tube, error) {
	t := tube{}
	p, err := w.piece("/piece", piece)
	if err != nil {
		return t, err
	}
	t.p = p
	if t.hem, err = w.edge("/hem", p, hem); err != nil {
		return t, err
	}
	n := len(p.Edges)
	t.left, t.right = (t.hem+n-1)%n, (t.hem+1)%n
	g := p.Grain[1].Sub(p.Grain[0]).Unit()
	if g == (geom.Vec{}) {
		return t, pattern.Fault{Rule: "no_grain", Pointer: "/piece", Piece: piece, Detail: fmt.Sprintf("piece %q has no grain line, so nothing tells which way is down", piece), Remedy: "give it a grain line"}
	}
	h := p.Edges[t.hem].Path
	if h.Start().Lerp(h.End(), 0.5).Sub(p.Outline().Bounds().Center()).Dot(g) > 0 {
		g = g.Neg()
	}
	t.up = g
	in := make([]bool, n)
	some := false
	for _, name := range cap {
		i, err := w.edge("/cap", p, name)
		if err != nil {
			return t, err
		}
		in[i], some = true, true
	}
	if !some {
		for i := range w.p.Seams {
			s := &w.p.Seams[i]
			for _, r := range s.Sew {
				if k := p.EdgeNamed(r.Edge); s.Cap && r.Piece == piece && k >= 0 {
					in[k], some = true, true
				}
			}
		}
	}
	if !some {
		for i := (t.right + 1) % n; i != t.left; i = (i + 1) % n {
			in[i], some = true, true
		}
	}
	t.cap = run{-1, -1}
	for k := range n {
		i := (t.hem + k) % n
		if in[i] && t.cap.first < 0 {
			t.cap.first = i
		}
		if in[i] {
			t.cap.last = i
		}
	}
	bad := !some || in[t.hem]
	if some {
		for _, i := range t.cap.edges(n) {
			bad = bad || !in[i]
		}
	}
	if bad {
		return t, pattern.Fault{Rule: "no_cap", Pointer: "/cap", Piece: piece, Detail: fmt.Sprintf("piece %q has no run of edges opposite its hem %q", piece, hem),
			Valid: pattern.Choices(p.EdgeNames()), Remedy: "name edges that follow each other, and not the hem"}
	}
	return t, nil
}

// hemRun is the hem as a run.
func (t *tube) hemRun() run { return run{t.hem, t.hem} }

// kept is the most that any edge but those of the given runs has changed its length by.
func (t *tube) kept(was *pattern.Piece, but ...run) float64 {
	n := len(was.Edges)
	open := make([]bool, n)
	for _, r := range but {
		for _, i := range r.edges(n) {
			open[i] = true
		}
	}
	most := 0.0
	for i := range was.Edges {
		if !open[i] {
			most = math.Max(most, math.Abs(t.p.Edges[i].Path.Length()-was.Edges[i].Path.Length()))
		}
	}
	return most
}

// slashed draws how a piece was slashed and spread: the lines, the wedges as they open, the new outline.
func (l *plan) slashed(was, is *pattern.Piece, s *spreading, o *opening, from, to string) {
	for i := range was.Edges {
		l.line(Outline, was.Name, was.Edges[i].Path, was.Edges[i].Name)
	}
	n := len(s.cuts)
	l.step("Draw %d lines on %s from %s to %s, and cut along them%s.", n, was.Name, from, to, hinges(o, from, to))
	for i := range s.cuts {
		l.line(Construction, was.Name, s.cuts[i].was, fmt.Sprintf("line %d", i+1))
		l.point(s.cuts[i].was.Start(), fmt.Sprintf("line %d at %s", i+1, from))
		l.point(s.cuts[i].was.End(), fmt.Sprintf("line %d at %s", i+1, to))
	}
	l.step("Lay the parts out and open them as measured.")
	for i := range s.cuts {
		c := &s.cuts[i]
		l.line(Construction, is.Name, c.left, "")
		l.line(Construction, is.Name, c.right, "")
		for _, e := range []struct {
			by   float64
			a, b geom.Point
			at   string
		}{{o.cuts[i].open, c.left.Start(), c.right.Start(), from}, {o.cuts[i].head, c.left.End(), c.right.End(), to}} {
			if e.by != 0 {
				a, b := l.point(e.a, "left lip"), l.point(e.b, "right lip")
				l.measure(a, b, nil, fmt.Sprintf("opening %d at %s", i+1, e.at))
			}
		}
	}
}

// hinges tells at which end the lines stay together.
func hinges(o *opening, from, to string) string {
	open, head := false, false
	for _, c := range o.cuts {
		open, head = open || c.open != 0, head || c.head != 0
	}
	switch {
	case !head:
		return ", not quite through at " + to
	case !open:
		return ", not quite through at " + from
	}
	return ", right through"
}

// redrawnEdges draws what has become of the outline.
func (l *plan) redrawnEdges(was, is *pattern.Piece) {
	for i := range is.Edges {
		kind := Outline
		if was.Edges[i].Path.Bounds() != is.Edges[i].Path.Bounds() {
			kind = New
		}
		if kind == New {
			l.line(kind, is.Name, is.Edges[i].Path, is.Edges[i].Name)
		}
	}
}

// slashes are lines along the grain where these reach from one run to the other, else lines between equal
// shares of both.
func (t *tube) slashes(open, head run, n int) []slash {
	c := slashesAlong(t.p, open, head, n, t.up)
	if len(c) != n {
		c = slashesEven(t.p, open, head, n)
	}
	return c
}

// sharpest is the greatest corner inside a path, in degrees.
func sharpest(p geom.Path) float64 {
	most := 0.0
	for i := 1; i < len(p); i++ {
		most = math.Max(most, degrees(p[i-1].Tangent(1), p[i].Tangent(0)))
	}
	return most
}

// turned is the most that any corner has opened or closed, in degrees.
func (t *tube) turned(was *pattern.Piece) float64 {
	most := 0.0
	n := len(was.Edges)
	for i := range was.Edges {
		j := (i + 1) % n
		a, b := inspect.Interior(was.Edges[i].Path, was.Edges[j].Path), inspect.Interior(t.p.Edges[i].Path, t.p.Edges[j].Path)
		most = math.Max(most, math.Abs(math.Remainder(a-b, 2*math.Pi))*180/math.Pi) // a corner of nothing is one of a full turn
	}
	return most
}
