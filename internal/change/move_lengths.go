package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A strip that is longer than the cloth lets it be is cut as equal lengths, which are joined end to end. They are
// all the same piece. A flounce is joined of half rings likewise: full rings, each cut in two so that there is cloth
// for the allowances of its ends.

// all is the length of the whole strip, over both halves of the body unless it is cut for each.
func (s *strip) all(as string) float64 {
	if as == cutEach {
		return s.long
	}
	return 2 * s.long
}

// inLengths is in how many lengths the strip is cut.
func (s *strip) inLengths(as string) int {
	if s.lengths > 0 {
		return s.lengths
	}
	if s.longest <= 0 {
		return 1
	}
	return max(1, int(math.Ceil(s.all(as)/s.longest-1e-9)))
}

// addLengths makes one piece of the lengths and sews them to the run, over both halves of the body where its middle
// lies on a fold.
func (w *work) addLengths(s strip, m *madeStrip, n int, midFirst bool) error {
	sides := 1
	if m.as == cutEach && s.run.pair {
		sides = 2
	}
	m.total, m.n, m.lengths = s.all(m.as), n, true
	to := append([]pattern.EdgeRef(nil), s.run.refs...)
	if m.as != cutEach {
		if midFirst {
			to = append(s.run.turned(), to...)
		} else {
			to = append(to, s.run.turned()...)
		}
	}
	count := n * sides * max(1, s.count)
	if count > pattern.MaxCut || s.longest > 0 && !s.rings && m.total/float64(n) > s.longest+1e-6 {
		least := int(math.Ceil(m.total / math.Max(1, s.longest)))
		return pattern.Fault{Rule: "out_of_range", Pointer: "/lengths", Piece: s.name, Detail: fmt.Sprintf("%.0f mm in %d lengths of %.0f mm, cut %d times in all, cannot be cut from this cloth", m.total, n, m.total/float64(n), count),
			Valid: fmt.Sprintf("at least %d lengths, and at most %d pieces in all", least, pattern.MaxCut), Remedy: "change the number of lengths, take wider cloth, or run the strip along the grain"}
	}
	p, err := s.oneLength(m.total/float64(n), count)
	if err != nil {
		return err
	}
	m.sewn = []string{"stitched"}
	var own []pattern.EdgeRef
	for range n {
		own = append(own, pattern.EdgeRef{Piece: s.name, Edge: "stitched"})
	}
	seam := pattern.Seam{Name: w.seamFree(s.name + "_" + s.run.refs[0].Edge), Sew: own, To: to}
	d := m.total - s.run.len*float64(len(to)/len(s.run.refs))
	if math.Abs(d) >= 1e-6 {
		seam.Ease = pattern.Range{Min: d, Max: d}
		seam.Gathers = s.gathered
		if s.gathered && d < 0 {
			seam.Sew, seam.To, seam.Ease = to, own, pattern.Range{Min: -d, Max: -d}
		}
	}
	w.p.Seams = append(w.p.Seams, seam)
	m.seams = append(m.seams, seam.Name)
	if m.joined = s.joined(m.as, midFirst); m.joined || n > 1 {
		w.p.Seams = append(w.p.Seams, pattern.Seam{Name: w.seamFree(s.name + "_join"), Sew: []pattern.EdgeRef{{Piece: s.name, Edge: "end"}}, To: []pattern.EdgeRef{{Piece: s.name, Edge: "begin", Against: true}}})
	}
	s.meetJoins(w, m, n)
	s.finished(w, &p, m)
	w.p.Pieces = append(w.p.Pieces, p)
	w.made = append(w.made, s.name)
	m.piece = &w.p.Pieces[len(w.p.Pieces)-1]
	return nil
}

// oneLength draws one of the lengths.
func (s *strip) oneLength(long float64, count int) (pattern.Piece, error) {
	if s.rings {
		return s.halfRing(long, count)
	}
	t := *s
	t.over = 0
	m := madeStrip{as: cutEach, total: long}
	p := t.draw(&m, false)
	p.Cut = pattern.Cut{Count: count, Cloth: s.cloth}
	return p, nil
}

// halfRing lies below its centre: its inner edge is sewn on, its outer one hangs. An inner edge of length c on half a
// circle has the radius c/π, and the outer one is longer by π times the depth, whatever the radius.
func (s *strip) halfRing(inner float64, count int) (pattern.Piece, error) {
	const (
		least = 12.0 // mm: a tighter curve cannot be clipped and sewn on
		most  = 3000.0
	)
	r := inner / math.Pi
	if r < least || r+s.high > most {
		return pattern.Piece{}, pattern.Fault{Rule: "ring_radius", Pointer: "/lengths", Piece: s.name, Detail: fmt.Sprintf("a half ring with %.0f mm of inner edge has a radius of %.1f mm", inner, r),
			Valid: fmt.Sprintf("an inner radius from %g mm, an outer one up to %g mm", least, most), Remedy: "change the number of half rings, or the fullness"}
	}
	o := geom.Pt(0, 0)
	in, out := geom.Arc(o, r, 2*math.Pi, math.Pi), geom.Arc(o, r+s.high, math.Pi, 2*math.Pi)
	p := newPiece(s.name, s.title, pattern.Cut{Count: count, Cloth: s.cloth},
		pattern.Edge{Name: "stitched", From: "begin_low", Path: in, Own: s.sewOwn},
		pattern.Edge{Name: "end", From: "end_low", Path: geom.Polyline(in.End(), out.Start()), Own: s.endOwn},
		pattern.Edge{Name: s.far, From: "end_high", Path: out, Own: s.farOwn},
		pattern.Edge{Name: "begin", From: "begin_high", Path: geom.Polyline(out.End(), in.Start()), Own: s.endOwn})
	p.Grain = [2]geom.Point{geom.Pt(0, -r-0.15*s.high), geom.Pt(0, -r-0.85*s.high)}
	p.Align = geom.Pt(0, -r)
	return p, nil
}

// meetJoins notches the edges of the run where the joins between the lengths meet them.
func (s *strip) meetJoins(w *work, m *madeStrip, n int) {
	const clear = 8.0 // mm from a corner or another notch
	over := s.all(m.as) * s.run.len / s.long
	for i := 1; i < n; i++ {
		x := over * float64(i) / float64(n)
		if x > s.run.len {
			break // the other half is the same
		}
		for k, r := range s.run.refs {
			q := w.p.PieceNamed(r.Piece)
			path := q.Edges[q.EdgeNamed(r.Edge)].Path
			at, l := x-s.run.at[k], path.Length()
			if at < clear || at > l-clear {
				continue
			}
			if r.Against {
				at = l - at
			}
			near := false
			for _, o := range q.Marks {
				near = near || o.Edge == r.Edge && math.Abs(o.S-at) < clear
			}
			if !near {
				name := free(fmt.Sprintf("%s_join_%d", s.name, i), knows(q))
				q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: 1, Edge: r.Edge, S: at, At: path.PointAt(at)})
			}
		}
	}
}

// tellJoin tells how the lengths become one strip.
func (m *madeStrip) tellJoin(name string, ring bool) string {
	switch {
	case m.n == 1 && ring:
		return fmt.Sprintf("Right sides together, sew the ends of %s to a ring; %s. ", name, NeatenOpen)
	case m.n == 1:
		return ""
	case ring:
		return fmt.Sprintf("Right sides together, sew the %d lengths of %s end to end to a ring; %s. ", m.n, name, NeatenOpen)
	}
	return fmt.Sprintf("Right sides together, sew the %d lengths of %s end to end; %s. ", m.n, name, NeatenOpen)
}
