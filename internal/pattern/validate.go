package pattern

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"sizerun/internal/geom"
)

// Validate tells everything that is wrong with a block as it stands, before it is graded: names,
// bounds, references, outlines of the base size and of digitised sizes. The error is Faults whose
// pointers follow the block document.
func (b *Block) Validate() error {
	v := &validator{}
	v.name("/block", "block", b.Name)
	v.text("/title", b.Title)
	v.text("/shop", b.Shop)
	if b.Drawn != DrawnSeam && b.Drawn != DrawnCut {
		v.add(Fault{Rule: "unknown_value", Pointer: "/drawn", Detail: fmt.Sprintf("%s is not a line that a block can be drawn on", Quote(string(b.Drawn))),
			Valid: "seam, cut", Remedy: `write "seam" when allowances are to be added, "cut" when they are included`})
	}
	v.chart(&b.Chart)
	if b.Draft != nil {
		v.draft(b)
		v.finished(b, false)
		return v.faults.Err()
	}
	v.count("/pieces", "pieces", len(b.Pieces), 1, MaxPieces)
	if v.full() {
		return v.faults.Err()
	}
	seen := map[string]bool{}
	for i := range b.Pieces {
		p := &b.Pieces[i]
		at := Pointer("pieces", p.Name)
		v.name(at, "piece", p.Name)
		v.once(seen, at, "piece", p.Name)
		v.piece(b, p, at)
	}
	v.included(b)
	v.count("/seams", "seams", len(b.Seams), 0, MaxSeams)
	if !v.full() {
		seen = map[string]bool{}
		for i := range b.Seams {
			v.seam(b, i, seen)
		}
	}
	v.finished(b, true)
	return v.faults.Err()
}

// maxFaults is how many are told at once.
const maxFaults = 100

type validator struct{ faults Faults }

func (v *validator) full() bool { return len(v.faults) >= maxFaults }

func (v *validator) add(f Fault) {
	if !v.full() {
		v.faults = append(v.faults, f)
	}
}

func (v *validator) name(ptr, what, s string) {
	if !ValidName(s) {
		v.add(Fault{Rule: "name", Pointer: ptr, Detail: fmt.Sprintf("%s is no name for a %s", Quote(s), what), Valid: NameRule,
			Remedy: "use lower-case letters, digits, _ and -; put what people read into the title"})
	}
}

func (v *validator) text(ptr, s string) {
	if !ValidText(s) {
		v.add(Fault{Rule: "text", Pointer: ptr, Detail: "this text cannot be printed on a pattern", Valid: TextRule, Remedy: "shorten it, and take out line breaks and control characters"})
	}
}

func (v *validator) once(seen map[string]bool, ptr, what, s string) {
	if seen[s] {
		v.add(Fault{Rule: "duplicate_name", Pointer: ptr, Detail: fmt.Sprintf("there are two %ss named %s", what, Quote(s)), Valid: "each name once", Remedy: "rename one of them"})
	}
	seen[s] = true
}

func (v *validator) count(ptr, what string, n, least, most int) bool {
	if n >= least && n <= most {
		return true
	}
	r := "give fewer"
	if n < least {
		r = "give at least " + strconv.Itoa(least)
	}
	v.add(Fault{Rule: "count", Pointer: ptr, Detail: fmt.Sprintf("%d %s", n, what), Valid: fmt.Sprintf("%d to %d", least, most), Remedy: r})
	return false
}

func (v *validator) number(ptr, what string, x, lo, hi float64, unit string) bool {
	if x >= lo && x <= hi {
		return true
	}
	v.add(Fault{Rule: "out_of_range", Pointer: ptr, Detail: fmt.Sprintf("%s is %s", what, num(x, unit)), Valid: fmt.Sprintf("%s to %s", num(lo, ""), num(hi, unit)),
		Remedy: "check the value and the unit of the document"})
	return false
}

func num(x float64, unit string) string {
	s := strconv.FormatFloat(x, 'g', 9, 64)
	if unit != "" {
		s += " " + unit
	}
	return s
}

func (v *validator) point(ptr string, p geom.Point) bool {
	if p.Finite() && math.Abs(p.X) <= MaxCoord && math.Abs(p.Y) <= MaxCoord {
		return true
	}
	v.add(Fault{Rule: "out_of_range", Pointer: ptr, Detail: fmt.Sprintf("the coordinate (%g, %g) lies outside the sheet", p.X, p.Y), Valid: CoordRule,
		Remedy: "check the value and the unit of the document"})
	return false
}

func (v *validator) unknown(ptr, what, got string, known []string) {
	v.add(Fault{Rule: "unknown_" + what, Pointer: ptr, Detail: fmt.Sprintf("there is no %s %s here", what, Quote(got)), Valid: Choices(known), Remedy: Suggest(got, known)})
}

func (v *validator) chart(c *SizeChart) {
	if !v.count("/sizes/run", "sizes", len(c.Run), 1, MaxSizes) {
		return
	}
	seen := map[string]bool{}
	for i, s := range c.Run {
		ptr := Pointer("sizes", "run", strconv.Itoa(i))
		if !ValidSize(s) {
			v.add(Fault{Rule: "name", Pointer: ptr, Detail: fmt.Sprintf("%s cannot name a size", Quote(s)), Valid: SizeRule, Remedy: "shorten it"})
		}
		v.once(seen, ptr, "size", s)
	}
	if !seen[c.Base] {
		v.unknown("/sizes/base", "size", c.Base, c.Run)
	}
	for i, s := range c.Breaks {
		if !seen[s] {
			v.unknown(Pointer("sizes", "breaks", strconv.Itoa(i)), "size", s, c.Run)
		}
	}
	v.count("/sizes/breaks", "size breaks", len(c.Breaks), 0, MaxSizes)
	if !v.count("/sizes/body", "body measurements", len(c.Body), 0, MaxMeasures) {
		return
	}
	for _, k := range sorted(c.Body) {
		ptr := Pointer("sizes", "body", k)
		v.name(ptr, "body measurement", k)
		vals := c.Body[k]
		if len(vals) != len(c.Run) {
			v.add(Fault{Rule: "chart_length", Pointer: ptr, Detail: fmt.Sprintf("%s has %d values for %d sizes", k, len(vals), len(c.Run)),
				Valid: fmt.Sprintf("%d values, one per size of the run", len(c.Run)), Remedy: "give one value per size, in the order of the run"})
			continue
		}
		for i, x := range vals {
			v.number(Pointer("sizes", "body", k, strconv.Itoa(i)), k+" of size "+c.Run[i], x, 1, MaxBody, "mm")
		}
	}
}

func (v *validator) piece(b *Block, p *BlockPiece, at string) {
	v.text(at+"/title", p.Title)
	v.cut(p.Cut, at+"/cut")
	before := len(v.faults)
	points := map[string]bool{}
	if !v.count(at+"/points", "points", len(p.Points), 2, MaxPoints) || !v.count(at+"/outline", "edges", len(p.Outline), 2, MaxEdges) ||
		!v.count(at+"/marks", "marks", len(p.Marks), 0, MaxMarks) || !v.count(at+"/lines", "lines", len(p.Lines), 0, MaxLines) || v.full() {
		return
	}
	for _, q := range p.Points {
		ptr := at + Pointer("points", q.Name)
		v.name(ptr, "point", q.Name)
		v.once(points, ptr, "point", q.Name)
		v.point(ptr, q.At)
	}
	v.outline(p, at, points)
	sound := len(v.faults) == before
	if sound {
		edges, fs := p.Lay(p.Drawing())
		if len(fs) == 0 {
			fs = CheckOutline(p.Name, edges)
		}
		for _, f := range fs.Under(at) {
			f.Size = b.Chart.Base
			v.add(f)
		}
		sound = len(fs) == 0
		if sound {
			v.marks(p, at, &Piece{Name: p.Name, Edges: edges})
		}
	}
	v.lines(p, at)
	v.darts(p, at)
	if v.point(at+"/grain/from", p.Grain[0]) && v.point(at+"/grain/to", p.Grain[1]) && p.Grain[0].Dist(p.Grain[1]) < 1 {
		v.add(Fault{Rule: "grain", Pointer: at + "/grain", Piece: p.Name, Detail: "the grain line has no length", Valid: "at least 1 mm",
			Remedy: "give its two ends, tail first, parallel to the selvedge"})
	}
	if !points[p.Align] {
		v.add(Fault{Rule: "unknown_point", Pointer: at + "/align", Piece: p.Name,
			Detail: fmt.Sprintf("piece %q is to be lined up on %s, which is not one of its points", p.Name, Quote(p.Align)),
			Valid:  Choices(keys(points)), Remedy: Suggest(p.Align, keys(points))})
	}
	v.grading(b, p, at, points, sound)
}

func (v *validator) cut(c Cut, at string) {
	v.count(at+"/count", "pieces of cloth", c.Count, 1, MaxCut)
	if c.Pair && c.Count%2 != 0 {
		v.add(Fault{Rule: "odd_pair", Pointer: at + "/count", Detail: fmt.Sprintf("%d pieces cannot be cut as mirrored pairs", c.Count), Valid: "an even count", Remedy: `give an even count, or "pair": false`})
	}
	if c.Cloth != "" {
		v.name(at+"/cloth", "cloth", c.Cloth)
	}
}

func (v *validator) outline(p *BlockPiece, at string, points map[string]bool) {
	seen := map[string]bool{}
	visits := map[string]int{}
	for i, e := range p.Outline {
		ptr := at + Pointer("outline", strconv.Itoa(i))
		v.name(ptr+"/edge", "edge", e.Name)
		v.once(seen, ptr+"/edge", "edge", e.Name)
		if !points[e.From] {
			v.unknown(ptr+"/from", "point", e.From, keys(points))
		}
		if !points[e.To] {
			v.unknown(ptr+"/to", "point", e.To, keys(points))
		}
		next := p.Outline[(i+1)%len(p.Outline)]
		if e.To != next.From {
			v.add(Fault{Rule: "open_outline", Pointer: ptr + "/to", Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("edge %q ends at %q, but the next edge, %q, begins at %q", e.Name, e.To, next.Name, next.From),
				Valid:  "each edge begins where the one before it ends, the first where the last ends",
				Remedy: "put the edges in order counter-clockwise, or add the missing one"})
		}
		if visits[e.From]++; visits[e.From] == 2 {
			v.add(Fault{Rule: "repeated_corner", Pointer: ptr + "/from", Piece: p.Name, Edge: e.Name,
				Detail: fmt.Sprintf("the outline comes through %q twice", e.From), Valid: "each corner once",
				Remedy: "name the second place differently, or take out the pinched part"})
		}
		v.shape(e.Shape, ptr)
	}
}

func (v *validator) shape(s Shape, ptr string) {
	ways := 0
	for _, w := range []struct {
		key  string
		pts  []geom.Point
		most int
	}{{"curve", s.Curve, MaxControls}, {"through", s.Through, MaxControls}, {"polyline", s.Polyline, MaxPolyline}} {
		if len(w.pts) == 0 {
			continue
		}
		ways++
		if !v.count(ptr+"/"+w.key, "points", len(w.pts), 1, w.most) {
			continue
		}
		for k, q := range w.pts {
			v.point(ptr+Pointer(w.key, strconv.Itoa(k)), q)
		}
		if w.key == "curve" && len(w.pts)%3 != 2 {
			v.add(Fault{Rule: "edge_shape", Pointer: ptr + "/curve", Detail: fmt.Sprintf("a curve cannot have %d points between its ends", len(w.pts)),
				Valid: "2 handles; or 5, 8, 11 … : handle, handle, knot, handle, handle …", Remedy: "give two handles for each cubic, and the knots between cubics"})
		}
	}
	if ways > 1 {
		v.add(Fault{Rule: "edge_shape", Pointer: ptr, Detail: "an edge is drawn in one way only", Valid: "curve, through or polyline", Remedy: "keep one of them"})
	}
}

// marks resolves every mark on the base size; one that cannot be found is a fault.
func (v *validator) marks(p *BlockPiece, at string, on *Piece) {
	seen := map[string]bool{}
	for i := range p.Marks {
		m := &p.Marks[i]
		ptr := at + Pointer("marks", strconv.Itoa(i))
		v.name(ptr+"/name", "mark", m.Name)
		v.once(seen, ptr+"/name", "mark", m.Name)
		if m.Kind != Notch && m.Kind != Dot && m.Kind != Square {
			v.add(Fault{Rule: "unknown_value", Pointer: ptr + "/mark", Piece: p.Name, Detail: fmt.Sprintf("%s is no kind of mark", Quote(string(m.Kind))),
				Valid: "notch, dot, square", Remedy: Suggest(string(m.Kind), []string{"notch", "dot", "square"})})
		}
		if m.Kind == Notch {
			v.count(ptr+"/count", "strokes of a notch", m.Count, 1, 4)
		}
		v.number(ptr+"/inside", "the distance inside the cut edge", m.Inside, 0, MaxAllowance, "mm")
		if m.Match != "" {
			v.name(ptr+"/match", "match group", m.Match)
		}
		if m.At.At != nil {
			v.point(ptr+"/at", *m.At.At)
		}
	}
	if v.full() {
		return
	}
	marks, fs := p.PlaceMarks(on, p.Points, nil)
	on.Marks = marks
	for _, f := range fs.Under(at) {
		v.add(f)
	}
}

func (v *validator) lines(p *BlockPiece, at string) {
	seen := map[string]bool{}
	for i, l := range p.Lines {
		ptr := at + Pointer("lines", strconv.Itoa(i))
		v.name(ptr+"/line", "line", l.Name)
		v.once(seen, ptr+"/line", "line", l.Name)
		if v.count(ptr+"/via", "points", len(l.Via), 2, MaxControls) {
			for k, q := range l.Via {
				v.point(ptr+Pointer("via", strconv.Itoa(k)), q)
			}
		}
	}
}

func (v *validator) darts(p *BlockPiece, at string) {
	seen := map[string]bool{}
	names := make([]string, len(p.Outline))
	for i := range p.Outline {
		names[i] = p.Outline[i].Name
	}
	for i, d := range p.Darts {
		ptr := at + Pointer("darts", strconv.Itoa(i))
		v.name(ptr+"/dart", "dart", d.Name)
		v.once(seen, ptr+"/dart", "dart", d.Name)
		a, b := p.EdgeNamed(d.First), p.EdgeNamed(d.Second)
		for k, x := range []int{a, b} {
			if x < 0 {
				v.unknown(ptr+Pointer("legs", strconv.Itoa(k)), "edge", [2]string{d.First, d.Second}[k], names)
			}
		}
		if a >= 0 && b >= 0 && (a+1)%len(p.Outline) != b {
			v.add(Fault{Rule: "dart_legs", Pointer: ptr + "/legs", Piece: p.Name, Detail: fmt.Sprintf("legs %q and %q of dart %q do not meet in its point", d.First, d.Second, d.Name),
				Valid: "two edges that follow one another along the outline", Remedy: "name the leg that runs into the dart point first"})
		}
		if d.Towards != d.First && d.Towards != d.Second {
			v.add(Fault{Rule: "unknown_edge", Pointer: ptr + "/towards", Piece: p.Name, Detail: fmt.Sprintf("dart %q is pressed towards %s, which is not one of its legs", d.Name, Quote(d.Towards)),
				Valid: d.First + ", " + d.Second, Remedy: "name the leg to whose side the folded dart lies"})
		}
	}
}

func keys(m map[string]bool) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

func sorted[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
