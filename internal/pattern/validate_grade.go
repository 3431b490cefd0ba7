package pattern

import (
	"fmt"
	"math"
	"strconv"
)

// grading checks the way in which a piece is graded; sound tells that its base size is.
func (v *validator) grading(b *Block, p *BlockPiece, at string, points map[string]bool, sound bool) {
	ways := 0
	for _, has := range []bool{p.Rules != nil, p.Steps != nil, p.Digitised != nil} {
		if has {
			ways++
		}
	}
	if ways > 1 {
		v.add(Fault{Rule: "grade_ways", Pointer: at, Piece: p.Name, Detail: fmt.Sprintf("piece %q is graded in %d ways", p.Name, ways),
			Valid: "grade, steps or digitised", Remedy: "keep one of them"})
		return
	}
	v.rules(b, p, at, points)
	v.steps(b, p, at, points)
	v.digitised(b, p, at, sound)
}

func (v *validator) rules(b *Block, p *BlockPiece, at string, points map[string]bool) {
	measures := sorted(b.Chart.Body)
	ruled := 0
	for _, name := range sorted(p.Rules) {
		ptr := at + Pointer("grade", name)
		v.gradePoint(p, ptr, name, points)
		if points[name] {
			ruled++
		}
		r := p.Rules[name]
		for _, axis := range []struct {
			key string
			m   map[string]float64
		}{{"x", r.X}, {"y", r.Y}} {
			for _, k := range sorted(axis.m) {
				kp := ptr + Pointer(axis.key, k)
				if _, ok := b.Chart.Body[k]; !ok {
					v.unknown(kp, "measurement", k, measures)
				}
				v.number(kp, "the share", axis.m[k], -MaxShare, MaxShare, "")
			}
		}
	}
	// With one rule in all, every point would follow it, and the piece would only be shifted.
	if ruled == 1 {
		for _, name := range sorted(p.Rules) {
			if points[name] && !p.Rules[name].still() {
				v.lonely(p, at+"/grade", name)
			}
		}
	}
}

func (r Rule) still() bool {
	for _, m := range []map[string]float64{r.X, r.Y} {
		for _, x := range m {
			if x != 0 {
				return false
			}
		}
	}
	return true
}

func (v *validator) lonely(p *BlockPiece, ptr, name string) {
	v.add(Fault{Rule: "lone_rule", Pointer: ptr, Piece: p.Name,
		Detail: fmt.Sprintf("only %q of piece %q has a rule; points without one follow their neighbours, so the whole piece would be shifted and not grow", name, p.Name),
		Valid:  "rules for two points or more, or for none", Remedy: "give a rule to the other corners; one that stays where it is has an empty rule"})
}

// gradePoint refuses a rule for something that is neither a point nor a mark told by coordinates.
func (v *validator) gradePoint(p *BlockPiece, ptr, name string, points map[string]bool) {
	if points[name] {
		return
	}
	if i := p.MarkNamed(name); i >= 0 && p.Marks[i].At.At != nil {
		return
	}
	known := keys(points)
	for i := range p.Marks {
		if p.Marks[i].At.At != nil {
			known = append(known, p.Marks[i].Name)
		}
	}
	v.unknown(ptr, "point", name, known)
}

func (v *validator) steps(b *Block, p *BlockPiece, at string, points map[string]bool) {
	base := b.Chart.Index(b.Chart.Base)
	ruled, only := 0, ""
	for _, name := range sorted(p.Steps) {
		ptr := at + Pointer("steps", name)
		v.gradePoint(p, ptr, name, points)
		s := p.Steps[name]
		if len(s) != len(b.Chart.Run) {
			v.add(Fault{Rule: "chart_length", Pointer: ptr, Piece: p.Name, Detail: fmt.Sprintf("%q has %d displacements for %d sizes", name, len(s), len(b.Chart.Run)),
				Valid: fmt.Sprintf("%d, one per size of the run, counted from the base size", len(b.Chart.Run)), Remedy: "give one displacement per size, in the order of the run"})
			continue
		}
		moves := false
		for i, d := range s {
			if !(math.Abs(d.X) <= MaxCoord && math.Abs(d.Y) <= MaxCoord) {
				v.add(Fault{Rule: "out_of_range", Pointer: ptr + Pointer(strconv.Itoa(i)), Size: b.Chart.Run[i], Piece: p.Name,
					Detail: fmt.Sprintf("the displacement (%g, %g) is too large", d.X, d.Y), Valid: CoordRule, Remedy: "check the value and the unit of the document"})
			}
			moves = moves || d.X != 0 || d.Y != 0
		}
		if base >= 0 && (s[base].X != 0 || s[base].Y != 0) {
			v.add(Fault{Rule: "base_moves", Pointer: ptr + Pointer(strconv.Itoa(base)), Size: b.Chart.Base, Piece: p.Name,
				Detail: fmt.Sprintf("%q moves by (%g, %g) in the base size", name, s[base].X, s[base].Y), Valid: "0, 0 in the base size", Remedy: "count displacements from the base size"})
		}
		if points[name] {
			ruled++
			if moves {
				only = name
			}
		}
	}
	if ruled == 1 && only != "" {
		v.lonely(p, at+"/steps", only)
	}
}

func (v *validator) digitised(b *Block, p *BlockPiece, at string, sound bool) {
	if p.Digitised == nil {
		return
	}
	root := at + "/digitised"
	edges := map[string]bool{}
	for _, e := range p.Outline {
		edges[e.Name] = true
	}
	for _, size := range sorted(p.Digitised) {
		ptr := root + Pointer(size)
		if b.Chart.Index(size) < 0 {
			v.unknown(ptr, "size", size, b.Chart.Run)
			continue
		}
		d := p.Digitised[size]
		before := len(v.faults)
		seen := map[string]bool{}
		for _, q := range d.Points {
			qp := ptr + Pointer("points", q.Name)
			if _, ok := p.PointNamed(q.Name); !ok {
				v.unknown(qp, "point", q.Name, pointNames(p.Points))
			}
			v.once(seen, qp, "point", q.Name)
			v.point(qp, q.At)
		}
		for _, e := range p.Outline {
			if !seen[e.From] {
				v.add(Fault{Rule: "missing_point", Pointer: ptr + "/points", Size: size, Piece: p.Name, Detail: fmt.Sprintf("size %s of piece %q has no point %q", size, p.Name, e.From),
					Valid: "the same corners in every size", Remedy: "give its coordinates in this size"})
			}
		}
		for _, k := range sorted(d.Shapes) {
			kp := ptr + Pointer("curves", k)
			if !edges[k] {
				v.unknown(kp, "edge", k, keys(edges))
			}
			v.shape(d.Shapes[k], kp)
		}
		for _, e := range p.Outline {
			if _, ok := d.Shapes[e.Name]; !ok && !e.Shape.Straight() {
				v.add(Fault{Rule: "missing_edge", Pointer: ptr + "/curves", Size: size, Piece: p.Name, Edge: e.Name,
					Detail: fmt.Sprintf("edge %q is curved in the base size and missing in size %s", e.Name, size), Valid: "the same edges in every size", Remedy: "give its curve in this size"})
			}
		}
		for _, k := range sorted(d.Marks) {
			kp := ptr + Pointer("marks", k)
			if p.MarkNamed(k) < 0 {
				v.unknown(kp, "mark", k, markNames(p.Marks))
			}
			v.point(kp, d.Marks[k])
		}
		if d.Grain != nil && v.point(ptr+"/grain/from", d.Grain[0]) && v.point(ptr+"/grain/to", d.Grain[1]) && d.Grain[0].Dist(d.Grain[1]) < 1 {
			v.add(Fault{Rule: "grain", Pointer: ptr + "/grain", Size: size, Piece: p.Name, Detail: "the grain line has no length", Valid: "at least 1 mm", Remedy: "give its two ends"})
		}
		if !sound || len(v.faults) > before {
			continue
		}
		laid, fs := p.Lay(d)
		if len(fs) == 0 {
			fs = CheckOutline(p.Name, laid)
		}
		for _, f := range fs.Under(ptr) {
			f.Size = size
			v.add(f)
		}
	}
	for _, s := range b.Chart.Run {
		if _, ok := p.Digitised[s]; !ok && s != b.Chart.Base {
			v.add(Fault{Rule: "missing_size", Pointer: root, Size: s, Piece: p.Name, Detail: fmt.Sprintf("piece %q has no drawing of size %s", p.Name, s),
				Valid: "a drawing for every size but the base", Remedy: "digitise this size, or take it out of the run"})
		}
	}
	if d, ok := p.Digitised[b.Chart.Base]; ok {
		for _, q := range d.Points {
			if at, ok := p.PointNamed(q.Name); ok && at.Dist(q.At) > Near {
				v.add(Fault{Rule: "base_moves", Pointer: root + Pointer(b.Chart.Base, "points", q.Name), Size: b.Chart.Base, Piece: p.Name,
					Detail: fmt.Sprintf("%q lies %.2f mm from where the piece's own points have it", q.Name, at.Dist(q.At)),
					Valid:  "the same drawing of the base size", Remedy: "leave the base size out: it is the piece's own points and outline"})
			}
		}
	}
}

func pointNames(pts []NamedPoint) []string {
	out := make([]string, len(pts))
	for i := range pts {
		out[i] = pts[i].Name
	}
	return out
}

func markNames(ms []BlockMark) []string {
	out := make([]string, len(ms))
	for i := range ms {
		out[i] = ms[i].Name
	}
	return out
}
