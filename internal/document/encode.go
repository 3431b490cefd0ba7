package document

import (
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// EncodeBlock writes a block in its canonical form: fixed order of members, millimetres rounded
// to 0.001. What it writes, DecodeBlock reads back to the same value up to that rounding. A block
// that is not valid is refused.
func EncodeBlock(b pattern.Block) ([]byte, error) {
	if err := b.Validate(); err != nil {
		return nil, err
	}
	w := &writer{}
	w.object(false, func() { encodeBlock(w, &b) })
	return append(w.b, '\n'), nil
}

func encodeBlock(w *writer, b *pattern.Block) {
	w.key("block")
	w.str(b.Name)
	w.textIf("title", b.Title)
	w.textIf("shop", b.Shop)
	w.textIf("unit", "mm")
	if b.Draft != nil {
		encodeDraft(w, b.Draft)
		w.key("sizes")
		w.object(false, func() { encodeChart(w, &b.Chart) })
		encodeFinished(w, b.Finished)
		return
	}
	w.textIf("drawn", string(b.Drawn))
	if len(b.Included) > 0 {
		w.key("included")
		w.object(true, func() {
			for _, k := range sortedKeys(b.Included) {
				if k == "" {
					w.key("*")
				} else {
					w.key(k)
				}
				w.mm(b.Included[k])
			}
		})
	}
	w.key("sizes")
	w.object(false, func() { encodeChart(w, &b.Chart) })
	w.key("pieces")
	w.object(false, func() {
		for i := range b.Pieces {
			w.key(b.Pieces[i].Name)
			w.object(false, func() { encodePiece(w, b, &b.Pieces[i]) })
		}
	})
	if len(b.Seams) > 0 {
		w.key("seams")
		w.list(false, func() {
			for i := range b.Seams {
				w.next()
				w.object(true, func() { encodeSeam(w, &b.Seams[i]) })
			}
		})
	}
	encodeFinished(w, b.Finished)
}

func encodeChart(w *writer, c *pattern.SizeChart) {
	strs := func(k string, list []string) {
		w.key(k)
		w.list(true, func() {
			for _, s := range list {
				w.next()
				w.str(s)
			}
		})
	}
	w.key("base")
	w.str(c.Base)
	strs("run", c.Run)
	if len(c.Breaks) > 0 {
		strs("breaks", c.Breaks)
	}
	if len(c.Body) > 0 {
		w.key("body")
		w.object(false, func() {
			for _, k := range sortedKeys(c.Body) {
				w.key(k)
				w.list(true, func() {
					for _, v := range c.Body[k] {
						w.next()
						w.mm(v)
					}
				})
			}
		})
	}
}

func encodePiece(w *writer, b *pattern.Block, p *pattern.BlockPiece) {
	w.textIf("title", p.Title)
	w.key("cut")
	w.object(true, func() {
		w.key("count")
		w.int(p.Cut.Count)
		if p.Cut.Pair {
			w.key("pair")
			w.bool(true)
		}
		w.textIf("cloth", p.Cut.Cloth)
	})
	w.key("points")
	encodePoints(w, p.Points)
	w.key("outline")
	w.list(false, func() {
		for _, e := range p.Outline {
			w.next()
			w.object(true, func() {
				w.key("edge")
				w.str(e.Name)
				w.key("from")
				w.str(e.From)
				w.key("to")
				w.str(e.To)
				if e.Fold {
					w.key("fold")
					w.bool(true)
				}
				encodeShape(w, e.Shape)
			})
		}
	})
	if len(p.Marks) > 0 {
		w.key("marks")
		w.list(false, func() {
			for i := range p.Marks {
				w.next()
				w.object(true, func() { encodeMark(w, &p.Marks[i]) })
			}
		})
	}
	if len(p.Lines) > 0 {
		w.key("lines")
		w.list(false, func() {
			for _, l := range p.Lines {
				w.next()
				w.object(true, func() {
					w.key("line")
					w.str(l.Name)
					w.key("via")
					w.points(l.Via)
				})
			}
		})
	}
	if len(p.Darts) > 0 {
		w.key("darts")
		w.list(false, func() {
			for _, d := range p.Darts {
				w.next()
				w.object(true, func() {
					w.key("dart")
					w.str(d.Name)
					w.key("legs")
					w.list(true, func() { w.next(); w.str(d.First); w.next(); w.str(d.Second) })
					w.key("towards")
					w.str(d.Towards)
				})
			}
		})
	}
	w.key("grain")
	encodeGrain(w, p.Grain)
	w.key("align")
	w.str(p.Align)
	encodeGrading(w, b, p)
}

func encodePoints(w *writer, pts []pattern.NamedPoint) {
	w.object(false, func() {
		for _, q := range pts {
			w.key(q.Name)
			w.point(q.At)
		}
	})
}

func encodeGrain(w *writer, g [2]geom.Point) {
	w.object(true, func() {
		w.key("from")
		w.point(g[0])
		w.key("to")
		w.point(g[1])
	})
}

func encodeShape(w *writer, s pattern.Shape) {
	switch {
	case len(s.Curve) > 0:
		w.key("curve")
		w.points(s.Curve)
	case len(s.Through) > 0:
		w.key("through")
		w.points(s.Through)
	case len(s.Polyline) > 0:
		w.key("polyline")
		w.points(s.Polyline)
	}
}

func encodeMark(w *writer, m *pattern.BlockMark) {
	w.key("mark")
	w.str(string(m.Kind))
	w.key("name")
	w.str(m.Name)
	if m.Kind == pattern.Notch {
		w.key("count")
		w.int(m.Count)
	}
	if m.Inside != 0 {
		w.key("inside")
		w.mm(m.Inside)
	}
	w.textIf("match", m.Match)
	w.key("at")
	encodePlace(w, &m.At)
}

func encodePlace(w *writer, p *pattern.Place) {
	if p.At != nil {
		w.point(*p.At)
		return
	}
	w.object(true, func() {
		switch {
		case p.Between != [2]string{}:
			w.textIf("edge", p.Edge)
			w.key("between")
			w.list(true, func() { w.next(); w.str(p.Between[0]); w.next(); w.str(p.Between[1]) })
			w.key("share")
			w.plain(p.Share)
		case p.Edge != "":
			w.key("edge")
			w.str(p.Edge)
			w.key("from")
			w.str(p.From)
			w.key("along")
			w.mm(p.Along)
		default:
			w.key("point")
			w.str(p.Point)
		}
	})
}

func encodeGrading(w *writer, b *pattern.Block, p *pattern.BlockPiece) {
	if p.Rules != nil {
		w.key("grade")
		w.object(false, func() {
			for _, k := range sortedKeys(p.Rules) {
				w.key(k)
				w.object(true, func() {
					encodeShares(w, "x", p.Rules[k].X)
					encodeShares(w, "y", p.Rules[k].Y)
				})
			}
		})
	}
	if p.Steps != nil {
		w.key("steps")
		w.object(false, func() {
			for _, k := range sortedKeys(p.Steps) {
				w.key(k)
				w.list(true, func() {
					for _, v := range p.Steps[k] {
						w.next()
						w.pair(v.X, v.Y)
					}
				})
			}
		})
	}
	if p.Digitised != nil {
		w.key("digitised")
		w.object(false, func() {
			for _, size := range b.Chart.Run {
				if d, ok := p.Digitised[size]; ok {
					w.key(size)
					w.object(false, func() { encodeDrawing(w, p, &d) })
				}
			}
		})
	}
}

func encodeShares(w *writer, axis string, m map[string]float64) {
	if len(m) == 0 {
		return
	}
	w.key(axis)
	w.object(true, func() {
		for _, k := range sortedKeys(m) {
			w.key(k)
			w.plain(m[k])
		}
	})
}

func encodeDrawing(w *writer, p *pattern.BlockPiece, d *pattern.Drawing) {
	w.key("points")
	encodePoints(w, d.Points)
	if len(d.Shapes) > 0 {
		w.key("curves")
		w.object(false, func() {
			for _, e := range p.Outline {
				if s, ok := d.Shapes[e.Name]; ok {
					w.key(e.Name)
					w.object(true, func() { encodeShape(w, s) })
				}
			}
		})
	}
	if len(d.Marks) > 0 {
		w.key("marks")
		w.object(true, func() {
			for _, k := range sortedKeys(d.Marks) {
				w.key(k)
				w.point(d.Marks[k])
			}
		})
	}
	if d.Grain != nil {
		w.key("grain")
		encodeGrain(w, *d.Grain)
	}
}

func encodeSeam(w *writer, s *pattern.Seam) {
	w.key("seam")
	w.str(s.Name)
	if s.Cap {
		w.key("cap")
		w.bool(true)
	}
	encodeRefs(w, "sew", s.Sew, false)
	encodeRefs(w, "to", s.To, true)
	w.key("ease")
	w.pair(s.Ease.Min, s.Ease.Max)
	if s.SmoothStart || s.SmoothEnd {
		w.key("smooth")
		w.list(true, func() {
			if s.SmoothStart {
				w.next()
				w.str("start")
			}
			if s.SmoothEnd {
				w.next()
				w.str("end")
			}
		})
	}
	if len(s.Notches) > 0 {
		w.key("notches")
		w.list(true, func() {
			for _, n := range s.Notches {
				w.next()
				w.list(true, func() {
					for _, r := range n {
						w.next()
						w.str(r.Piece + "." + r.Mark)
					}
				})
			}
		})
	}
}

func encodeRefs(w *writer, k string, refs []pattern.EdgeRef, against bool) {
	w.key(k)
	w.list(true, func() {
		for _, r := range refs {
			w.next()
			if r.Against == against {
				w.list(true, func() { w.next(); w.str(r.Piece); w.next(); w.str(r.Edge) })
				continue
			}
			w.object(true, func() {
				w.key("piece")
				w.str(r.Piece)
				w.key("edge")
				w.str(r.Edge)
				w.key("against")
				w.bool(r.Against)
			})
		}
	})
}

func sortedKeys[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
