package allowance

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/geom/offset"
	"sizerun/internal/pattern"
)

// SeamFromCut finds the seam line of a piece that was drawn as its cut line, by the parallel inside. The allowance
// included is given by "piece.edge", else "*.edge", else "piece", else "" for all; folds and legs of darts
// have none. Corners come out where the edges' lines meet. Marks on an edge are carried in square to it, everything inside
// stays where it is.
func SeamFromCut(size string, p *pattern.Piece, included map[string]float64) (pattern.Piece, error) {
	j := job{size: size, p: p, limit: 1e3}
	if f, bad := j.outline(); bad {
		return pattern.Piece{}, f
	}
	for i := range p.Edges {
		e := &p.Edges[i]
		w := 0.0
		if !e.Fold && !p.IsLeg(e.Name) {
			for _, k := range []string{p.Name + "." + e.Name, "*." + e.Name, p.Name, ""} {
				if v, ok := included[k]; ok {
					w = v
					break
				}
			}
		}
		if f, bad := outOfRange(pattern.Allowance{Width: w}); bad {
			return pattern.Piece{}, j.fault("out_of_range", e.Name, "includes an allowance, but "+f.Detail, f.Valid, f.Remedy)
		}
		j.edges = append(j.edges, offset.Edge{Path: e.Path, Width: -w})
		j.joints = append(j.joints, offset.Joint{Limit: j.limit})
		j.names, j.after = append(j.names, e.Name), append(j.after, e.To)
	}
	j.darts, j.asked = make([]string, len(j.names)), make([]bool, len(j.names))
	res, err := offset.Loop(j.edges, j.joints, offset.DefaultTol)
	if err != nil {
		return pattern.Piece{}, j.refuse(err)
	}
	if err := j.judge(&res); err != nil {
		return pattern.Piece{}, err
	}
	out := p.Clone()
	for i := range out.Edges {
		out.Edges[i].Path = nil
	}
	for k, s := range res.Path {
		src := res.Sources[k]
		if src.Edge < 0 {
			return pattern.Piece{}, j.fault("corner_not_found", j.names[src.Corner], fmt.Sprintf("meets the next edge at %q so that their seam lines do not meet", j.after[src.Corner]), "",
				"give both edges the same included allowance, or draw the piece by its seam lines")
		}
		out.Edges[src.Edge].Path = append(out.Edges[src.Edge].Path, s)
	}
	for i := range out.Edges {
		e := &out.Edges[i]
		l := e.Path.Length()
		if e.Src.Piece == p.Name && e.Src.Edge == e.Name {
			e.Src.S0, e.Src.S1 = 0, l
		}
	}
	j.carryIn(&out)
	return out, nil
}

// carryIn moves the marks, and the point the nest is lined up on, to where they lie on the seam line.
func (j *job) carryIn(out *pattern.Piece) {
	for k := range out.Marks {
		m := &out.Marks[k]
		if i := j.p.EdgeNamed(m.Edge); i >= 0 {
			m.S, m.At = j.inward(out, i, m.S)
			continue
		}
		if q, ok := j.moved(out, m.At); ok {
			m.At = q
		}
	}
	if q, ok := j.moved(out, out.Align); ok {
		out.Align = q
	}
}

// inward carries a place on a cut edge square to the edge onto its seam line; corners go to corners.
func (j *job) inward(out *pattern.Piece, i int, s float64) (float64, geom.Point) {
	cut, seam := j.p.Edges[i].Path, out.Edges[i].Path
	switch l := cut.Length(); {
	case s <= pattern.Near:
		return 0, seam.Start()
	case s >= l-pattern.Near:
		return seam.Length(), seam.End()
	}
	in := cut.PointAt(s).Add(cut.TangentAt(s).Right().Mul(j.edges[i].Width))
	at, _ := seam.Project(in)
	return at, seam.PointAt(at)
}

// moved tells where a bare point goes: a point on the cut line comes onto the seam line, others stay.
func (j *job) moved(out *pattern.Piece, q geom.Point) (geom.Point, bool) {
	for i := range j.p.Edges {
		s, d := j.p.Edges[i].Path.Project(q)
		if d <= pattern.Near && !math.IsNaN(s) {
			_, at := j.inward(out, i, s)
			return at, true
		}
	}
	return geom.Point{}, false
}
