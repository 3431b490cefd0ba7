package document

import (
	"fmt"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// DecodeBlock reads a block document and validates it. The error is pattern.Faults.
func DecodeBlock(data []byte, lim Limits) (pattern.Block, error) {
	v, err := read(data, lim)
	if err != nil {
		return pattern.Block{}, err
	}
	return blockOf(v, lim, nil)
}

// blockOf decodes a block that stands at path of a larger document.
func blockOf(v *value, lim Limits, path []token) (pattern.Block, error) {
	d := &decoder{lim: lim, path: append([]token(nil), path...), per: 1}
	b := d.block(v)
	if len(d.faults) > 0 {
		return pattern.Block{}, d.faults
	}
	if err := b.Validate(); err != nil {
		return pattern.Block{}, pattern.FaultsOf(err).Under(pointerOf(path))
	}
	if b.Draft != nil {
		if fs := drawable(&b, v); len(fs) > 0 {
			return pattern.Block{}, fs.Under(pointerOf(path))
		}
	}
	if fs := measurable(&b); len(fs) > 0 {
		return pattern.Block{}, fs.Under(pointerOf(path))
	}
	return b, nil
}

func (d *decoder) block(v *value) pattern.Block {
	if v.kind == kObject && v.get("draft") != nil {
		return d.drafted(v)
	}
	var b pattern.Block
	d.object(v, []string{"block", "sizes", "pieces"}, []string{"title", "shop", "unit", "drawn", "included", "seams", "finished"})
	if v.kind != kObject {
		return b
	}
	d.unit(v)
	b.Name = d.name(v, "block", "block")
	b.Title, b.Shop = d.text(v, "title"), d.text(v, "shop")
	b.Drawn = pattern.DrawnSeam
	if s := d.choice(v, "drawn", "seam", "cut"); s != "" {
		b.Drawn = pattern.Drawn(s)
	}
	d.field(v, "included", func(m *value) { b.Included = d.included(m) })
	d.field(v, "sizes", func(m *value) { b.Chart = d.chart(m) })
	d.field(v, "pieces", func(m *value) {
		d.members(m, "piece", d.lim.Pieces, func(name string, m *value) {
			if !pattern.ValidName(name) {
				d.badName(name, "piece")
				return
			}
			b.Pieces = append(b.Pieces, d.piece(name, m, &b.Chart))
		})
	})
	d.field(v, "seams", func(m *value) {
		d.items(m, "seams", pattern.MaxSeams, func(_ int, m *value) { b.Seams = append(b.Seams, d.seam(m, &b)) })
	})
	b.Finished = d.finished(v)
	return b
}

func (d *decoder) included(v *value) map[string]float64 {
	out := map[string]float64{}
	if v.kind != kObject {
		out[""] = d.length(v, "the included allowance", 0, pattern.MaxAllowance)
		return out
	}
	d.members(v, "edge", pattern.MaxPieces*pattern.MaxEdges, func(name string, m *value) {
		w := d.length(m, "the included allowance", 0, pattern.MaxAllowance)
		if name == "*" {
			name = ""
		} else if p, e, dotted := strings.Cut(name, "."); !pattern.ValidName(p) || dotted && !pattern.ValidName(e) {
			d.fail(pattern.Fault{Rule: "name", Detail: fmt.Sprintf("%s names neither a piece nor an edge", pattern.Quote(name)), Valid: `"*" for all, "piece" or "piece.edge"`, Remedy: "write the piece's name, a dot and the edge's name"})
			return
		}
		out[name] = w
	})
	return out
}

func (d *decoder) chart(v *value) pattern.SizeChart {
	var c pattern.SizeChart
	if v.kind == kObject && v.get("chart") != nil {
		return d.namedChart(v)
	}
	if !d.object(v, []string{"base", "run"}, []string{"breaks", "body"}) {
		return c
	}
	d.field(v, "base", func(m *value) { c.Base = d.size(m) })
	fold := map[string]int{}
	d.field(v, "run", func(m *value) {
		if m.kind == kList && len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "the run has no size", Valid: fmt.Sprintf("1 to %d sizes", d.lim.Sizes), Remedy: "name at least the base size"})
		}
		d.items(m, "sizes", d.lim.Sizes, func(i int, m *value) {
			s := d.size(m)
			if k, twice := fold[strings.ToLower(s)]; twice && c.Run[k] != s {
				d.fail(pattern.Fault{Rule: "duplicate_name", Detail: fmt.Sprintf("the sizes %s and %s differ by case only", pattern.Quote(c.Run[k]), pattern.Quote(s)), Valid: "each size once", Remedy: "rename one of them"})
			}
			fold[strings.ToLower(s)] = i
			c.Run = append(c.Run, s)
		})
	})
	d.field(v, "breaks", func(m *value) {
		d.items(m, "sizes", d.lim.Sizes, func(_ int, m *value) { c.Breaks = append(c.Breaks, d.size(m)) })
	})
	d.field(v, "body", func(m *value) {
		c.Body = map[string][]float64{}
		d.members(m, "measurement", pattern.MaxMeasures, func(name string, m *value) {
			if !pattern.ValidName(name) {
				d.badName(name, "body measurement")
				return
			}
			var vals []float64
			d.items(m, "lengths, one per size", d.lim.Sizes, func(_ int, m *value) {
				vals = append(vals, d.length(m, "the measurement", 1, pattern.MaxBody))
			})
			c.Body[name] = vals
		})
	})
	return c
}

func (d *decoder) piece(name string, v *value, c *pattern.SizeChart) pattern.BlockPiece {
	p := pattern.BlockPiece{Name: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}}
	if !d.object(v, []string{"points", "outline", "grain", "align"}, []string{"title", "cut", "marks", "lines", "darts", "grade", "steps", "digitised"}) && v.kind != kObject {
		return p
	}
	p.Title = d.text(v, "title")
	d.field(v, "cut", func(m *value) {
		if d.object(m, []string{"count"}, []string{"pair", "cloth"}) {
			d.field(m, "count", func(m *value) { p.Cut.Count = d.whole(m, "the count", 1, pattern.MaxCut) })
			p.Cut.Pair = d.yes(m, "pair")
			if s := d.name(m, "cloth", "cloth"); s != "" {
				p.Cut.Cloth = s
			}
		}
	})
	d.field(v, "points", func(m *value) { p.Points = d.namedPoints(m) })
	d.field(v, "outline", func(m *value) {
		d.items(m, "edges", d.lim.Edges, func(_ int, m *value) { p.Outline = append(p.Outline, d.edge(m)) })
	})
	d.field(v, "marks", func(m *value) {
		d.items(m, "marks", pattern.MaxMarks, func(_ int, m *value) { p.Marks = append(p.Marks, d.mark(m)) })
	})
	d.field(v, "lines", func(m *value) {
		d.items(m, "lines", pattern.MaxLines, func(_ int, m *value) {
			if !d.object(m, []string{"line", "via"}, nil) {
				return
			}
			l := pattern.BlockLine{Name: d.name(m, "line", "line")}
			d.field(m, "via", func(m *value) { l.Via = d.pointList(m, pattern.MaxControls) })
			p.Lines = append(p.Lines, l)
		})
	})
	d.field(v, "darts", func(m *value) {
		d.items(m, "darts", pattern.MaxEdges/2, func(_ int, m *value) { p.Darts = append(p.Darts, d.dart(m)) })
	})
	d.field(v, "grain", func(m *value) {
		if g := d.grain(m); g != nil {
			p.Grain = *g
		}
	})
	p.Align = d.name(v, "align", "point")
	d.field(v, "grade", func(m *value) { p.Rules = d.rules(m) })
	d.field(v, "steps", func(m *value) { p.Steps = d.steps(m, c) })
	d.field(v, "digitised", func(m *value) { p.Digitised = d.digitised(m) })
	return p
}

func (d *decoder) namedPoints(v *value) []pattern.NamedPoint {
	var out []pattern.NamedPoint
	d.members(v, "point", pattern.MaxPoints, func(name string, m *value) {
		if !pattern.ValidName(name) {
			d.badName(name, "point")
			return
		}
		out = append(out, pattern.NamedPoint{Name: name, At: d.point(m)})
	})
	return out
}

var shapeKeys = []string{"curve", "through", "polyline"}

func (d *decoder) edge(v *value) pattern.BlockEdge {
	var e pattern.BlockEdge
	d.object(v, []string{"edge", "from", "to"}, append([]string{"fold"}, shapeKeys...))
	if v.kind != kObject {
		return e
	}
	e.Name = d.name(v, "edge", "edge")
	e.From, e.To = d.name(v, "from", "point"), d.name(v, "to", "point")
	e.Fold = d.yes(v, "fold")
	e.Shape = d.shape(v)
	return e
}

func (d *decoder) shape(v *value) pattern.Shape {
	var s pattern.Shape
	ways := 0
	for _, w := range []struct {
		key  string
		into *[]geom.Point
		most int
	}{{"curve", &s.Curve, pattern.MaxControls}, {"through", &s.Through, pattern.MaxControls}, {"polyline", &s.Polyline, pattern.MaxPolyline}} {
		if d.field(v, w.key, func(m *value) { *w.into = d.pointList(m, w.most) }) {
			ways++
		}
	}
	if ways > 1 {
		d.fail(pattern.Fault{Rule: "edge_shape", Detail: "an edge is drawn in one way only", Valid: pattern.Choices(shapeKeys), Remedy: "keep one of them"})
	}
	return s
}

func (d *decoder) mark(v *value) pattern.BlockMark {
	var m pattern.BlockMark
	d.object(v, []string{"mark", "name", "at"}, []string{"count", "inside", "match"})
	if v.kind != kObject {
		return m
	}
	m.Kind = pattern.MarkKind(d.choice(v, "mark", "notch", "dot", "square"))
	m.Name = d.name(v, "name", "mark")
	if m.Kind == pattern.Notch {
		m.Count = 1
	}
	d.field(v, "count", func(c *value) {
		m.Count = d.whole(c, "the count", 1, 4)
		if m.Kind != pattern.Notch {
			m.Count = 0
			d.fail(pattern.Fault{Rule: "unknown_name", Detail: "only a notch has a count", Valid: "1 single, 2 double, on a notch", Remedy: "take it out"})
		}
	})
	d.field(v, "inside", func(x *value) { m.Inside = d.length(x, "the distance inside the cut edge", 0, pattern.MaxAllowance) })
	m.Match = d.name(v, "match", "match group")
	d.field(v, "at", func(x *value) { m.At = d.place(x) })
	return m
}

const placeRule = `{"point": name}; {"edge", "from", "along"}; {"between": [name, name], "share"}, with "edge" to say which way round; or [x, y]`

// place reads one of the four forms in which a place is spoken.
func (d *decoder) place(v *value) pattern.Place {
	var p pattern.Place
	if v.kind == kList {
		q := d.point(v)
		p.At = &q
		return p
	}
	d.object(v, nil, []string{"point", "edge", "from", "along", "between", "share"})
	if v.kind != kObject {
		return p
	}
	has := func(names ...string) bool {
		if len(v.members) != len(names) {
			return false
		}
		for _, n := range names {
			if v.get(n) == nil {
				return false
			}
		}
		return true
	}
	switch {
	case has("point"):
		p.Point = d.name(v, "point", "point")
	case has("edge", "from", "along"):
		p.Edge, p.From = d.name(v, "edge", "edge"), d.name(v, "from", "point")
		d.field(v, "along", func(m *value) { p.Along = d.length(m, "the distance along the edge", 0, pattern.MaxPlaceLength) })
	case has("between", "share"), has("edge", "between", "share"):
		p.Edge = d.name(v, "edge", "edge")
		d.field(v, "share", func(m *value) { p.Share = d.number(m, "the share", 0, 1) })
		d.field(v, "between", func(m *value) {
			if m.kind != kList || len(m.list) != 2 {
				d.wrongKind(m, "a list of two names")
				return
			}
			for i := range m.list {
				d.pushIndex(i)
				p.Between[i] = d.nameValue(&m.list[i], "point")
				d.pop()
			}
		})
	default:
		d.fail(pattern.Fault{Rule: "place", Detail: "a place is told in exactly one way", Valid: placeRule, Remedy: "give the members of one of these forms"})
	}
	return p
}

func (d *decoder) dart(v *value) pattern.Dart {
	var t pattern.Dart
	d.object(v, []string{"dart", "legs", "towards"}, nil)
	if v.kind != kObject {
		return t
	}
	t.Name = d.name(v, "dart", "dart")
	t.Towards = d.name(v, "towards", "edge")
	d.field(v, "legs", func(m *value) {
		if m.kind != kList || len(m.list) != 2 {
			d.wrongKind(m, "a list of two edges")
			return
		}
		for i, into := range []*string{&t.First, &t.Second} {
			d.pushIndex(i)
			*into = d.nameValue(&m.list[i], "edge")
			d.pop()
		}
	})
	return t
}

func (d *decoder) grain(v *value) *[2]geom.Point {
	if !d.object(v, []string{"from", "to"}, nil) {
		return nil
	}
	var g [2]geom.Point
	d.field(v, "from", func(m *value) { g[0] = d.point(m) })
	d.field(v, "to", func(m *value) { g[1] = d.point(m) })
	return &g
}

func (d *decoder) rules(v *value) map[string]pattern.Rule {
	out := map[string]pattern.Rule{}
	d.members(v, "point", pattern.MaxPoints, func(name string, m *value) {
		d.object(m, nil, []string{"x", "y"})
		var r pattern.Rule
		for _, axis := range []struct {
			key  string
			into *map[string]float64
		}{{"x", &r.X}, {"y", &r.Y}} {
			d.field(m, axis.key, func(m *value) {
				*axis.into = map[string]float64{}
				d.members(m, "measurement", pattern.MaxMeasures, func(k string, m *value) {
					(*axis.into)[k] = d.number(m, "the share", -pattern.MaxShare, pattern.MaxShare)
				})
			})
		}
		out[name] = r
	})
	return out
}

// steps reads plain displacements: a list, one per size, counted from the base size; or one step
// for each size with other steps after the sizes at which they break.
func (d *decoder) steps(v *value, c *pattern.SizeChart) map[string][]geom.Vec {
	out := map[string][]geom.Vec{}
	vec := func(m *value) geom.Vec {
		x, y := d.pair(m, "the displacement")
		return geom.Vec{X: x, Y: y}
	}
	d.members(v, "point", pattern.MaxPoints, func(name string, m *value) {
		if m.kind == kList {
			var s []geom.Vec
			d.items(m, "displacements", d.lim.Sizes, func(_ int, m *value) { s = append(s, vec(m)) })
			out[name] = s
			return
		}
		if !d.object(m, []string{"each"}, []string{"after"}) {
			return
		}
		steps := make([]geom.Vec, len(c.Run)) // steps[i] leads from size i to i+1
		d.field(m, "each", func(m *value) {
			s := vec(m)
			for i := range steps {
				steps[i] = s
			}
		})
		d.field(m, "after", func(m *value) {
			breaks := make([]*geom.Vec, len(c.Run))
			d.members(m, "size", d.lim.Sizes, func(size string, m *value) {
				s := vec(m)
				if i := c.Index(size); i >= 0 {
					breaks[i] = &s
					return
				}
				d.fail(pattern.Fault{Rule: "unknown_size", Detail: fmt.Sprintf("there is no size %s in the run", pattern.Quote(size)), Valid: pattern.Choices(c.Run), Remedy: pattern.Suggest(size, c.Run)})
			})
			var s *geom.Vec
			for i := range steps {
				if breaks[i] != nil {
					s = breaks[i]
				}
				if s != nil {
					steps[i] = *s
				}
			}
		})
		out[name] = cumulate(steps, c.Index(c.Base))
	})
	return out
}

// cumulate adds steps up, away from the base size.
func cumulate(steps []geom.Vec, base int) []geom.Vec {
	if base < 0 {
		base = 0
	}
	out := make([]geom.Vec, len(steps))
	for i := base + 1; i < len(out); i++ {
		out[i] = out[i-1].Add(steps[i-1])
	}
	for i := base - 1; i >= 0; i-- {
		out[i] = out[i+1].Sub(steps[i])
	}
	return out
}

func (d *decoder) digitised(v *value) map[string]pattern.Drawing {
	out := map[string]pattern.Drawing{}
	d.members(v, "size", d.lim.Sizes, func(size string, m *value) {
		if !d.object(m, []string{"points"}, []string{"curves", "marks", "grain"}) {
			return
		}
		var g pattern.Drawing
		d.field(m, "points", func(m *value) { g.Points = d.namedPoints(m) })
		d.field(m, "curves", func(m *value) {
			g.Shapes = map[string]pattern.Shape{}
			d.members(m, "edge", d.lim.Edges, func(name string, m *value) {
				if d.object(m, nil, shapeKeys) {
					g.Shapes[name] = d.shape(m)
				}
			})
		})
		d.field(m, "marks", func(m *value) {
			g.Marks = map[string]geom.Point{}
			d.members(m, "mark", pattern.MaxMarks, func(name string, m *value) { g.Marks[name] = d.point(m) })
		})
		d.field(m, "grain", func(m *value) { g.Grain = d.grain(m) })
		out[size] = g
	})
	return out
}
