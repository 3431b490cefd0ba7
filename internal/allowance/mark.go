package allowance

import (
	"fmt"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

const (
	// apart is the distance between the two strokes of a double notch: common practice, 6 to 10 mm.
	apart = 8
	// outside and inside are how far a notch stroke reaches past the cut line, mm. Inside it stops at half the
	// allowance, so that a snip never comes near the seam.
	outside, inside = 3, 5
)

// marks draws notches across the cut line and places match squares inside it.
func (j *job) marks(out *Piece) error {
	for _, m := range j.p.Marks {
		switch m.Kind {
		case pattern.Notch:
			ns, err := j.notch(out, m)
			if err != nil {
				return err
			}
			out.Notches = append(out.Notches, ns...)
		case pattern.Square:
			sq := SquareMark{Name: m.Name, Match: m.Match, At: m.At, Dir: geom.Vec{X: 1}}
			if m.Edge != "" {
				c, n, err := j.carry(out, m, m.S)
				if err != nil {
					return err
				}
				sq.Dir = n.Left()
				if m.Inside > 0 {
					sq.At = c.Add(n.Mul(-m.Inside))
				}
			}
			out.Squares = append(out.Squares, sq)
		}
	}
	return nil
}

func (j *job) notch(out *Piece, m pattern.Mark) ([]NotchLine, error) {
	i := j.p.EdgeNamed(m.Edge)
	if i < 0 {
		return nil, j.fault("notch_off_edge", "", fmt.Sprintf("has notch %q, which lies on no edge", m.Name), "", "place it along an edge; inside a piece use a dot")
	}
	n := min(max(m.Count, 1), 4)
	l := j.p.Edges[i].Path.Length()
	half := float64(n-1) * apart / 2
	mid := m.S
	if l >= 2*half {
		mid = max(half, min(l-half, mid))
	}
	var ns []NotchLine
	for k := range n {
		s := max(0, min(l, mid-half+float64(k)*apart))
		c, nv, err := j.carry(out, m, s)
		if err != nil {
			return nil, err
		}
		in := float64(inside)
		if w := out.Widths[m.Edge]; w > 0 {
			in = min(in, w/2)
		}
		ns = append(ns, NotchLine{Name: m.Name, Edge: m.Edge, From: c.Add(nv.Mul(outside)), To: c.Add(nv.Mul(-in)), Cut: c})
	}
	return ns, nil
}

// carry takes a place at arc length s of a mark's edge out to the cut line, square to the seam; it gives the
// place on the cut line and the outward normal. At a dart's mouth it goes on in the leg's direction.
func (j *job) carry(out *Piece, m pattern.Mark, s float64) (geom.Point, geom.Vec, error) {
	i := j.p.EdgeNamed(m.Edge)
	if i < 0 {
		return geom.Point{}, geom.Vec{}, j.fault("mark_off_edge", "", fmt.Sprintf("has mark %q on edge %s, which it does not have", m.Name, pattern.Quote(m.Edge)), "", pattern.Suggest(m.Edge, j.p.EdgeNames()))
	}
	e := &j.p.Edges[i]
	at, n := e.Path.PointAt(s), e.Path.TangentAt(s).Right()
	w := out.Widths[m.Edge]
	if j.p.IsLeg(m.Edge) {
		return j.carryLeg(out, m, s)
	}
	if w == 0 {
		return at, n, nil
	}
	c, ok := out.meet(at, n, j.limit*w+10)
	if !ok {
		return at, n, j.fault("mark_not_carried", m.Edge, fmt.Sprintf("has mark %q at %s mm, where the cut line is not within reach", m.Name, mm(s)), "", "move the mark, or use a smaller allowance")
	}
	return c, n, nil
}

func (j *job) carryLeg(out *Piece, m pattern.Mark, s float64) (geom.Point, geom.Vec, error) {
	e := &j.p.Edges[j.p.EdgeNamed(m.Edge)]
	l := e.Path.Length()
	for _, d := range j.p.Darts {
		mouth, tip, off := e.Path.Start(), e.Path.End(), s
		if d.Second == m.Edge {
			mouth, tip, off = tip, mouth, l-s
		} else if d.First != m.Edge {
			continue
		}
		if off > 1 {
			return geom.Point{}, geom.Vec{}, j.fault("notch_in_dart", m.Edge, fmt.Sprintf("is a dart's leg, and mark %q lies %s mm inside its mouth, where nothing is cut", m.Name, mm(off)), "", "place it at the mouth, or use a dot")
		}
		n := mouth.Sub(tip).Unit()
		if c, ok := out.meet(mouth, n, 10*pattern.MaxAllowance); ok {
			return c, n, nil
		}
		return mouth, n, nil
	}
	return geom.Point{}, geom.Vec{}, j.fault("notch_in_dart", m.Edge, "is no leg of a dart", "", "")
}

// meet is where a ray from inside first meets the cut line.
func (p *Piece) meet(from geom.Point, dir geom.Vec, far float64) (geom.Point, bool) {
	return geom.Line(from, from.Add(dir.Mul(far))).FirstOn(p.Cut, 1e-9)
}
