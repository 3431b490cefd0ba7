package document

import (
	"fmt"
	"math"
	"strconv"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// decoder walks a tree and collects faults; path is where it is.
type decoder struct {
	lim    Limits
	path   []token
	faults pattern.Faults
	per    float64 // mm per unit of bare numbers
	points int     // coordinates so far
}

// maxFaults is how many are told at once.
const maxFaults = 100

func (d *decoder) fail(f pattern.Fault) {
	if len(d.faults) < maxFaults {
		f.Pointer = pointerOf(d.path) + f.Pointer
		d.faults = append(d.faults, f)
	}
}

func (d *decoder) push(name string) { d.path = append(d.path, token{name: name}) }
func (d *decoder) pushIndex(i int)  { d.path = append(d.path, token{idx: i, list: true}) }
func (d *decoder) pop()             { d.path = d.path[:len(d.path)-1] }

// at runs f one step further along the path.
func (d *decoder) at(name string, f func()) {
	d.push(name)
	f()
	d.pop()
}

func (d *decoder) wrongKind(v *value, want string) {
	d.fail(pattern.Fault{Rule: "kind", Detail: "this is " + v.kind.String(), Valid: want, Remedy: "write " + want})
}

// object checks that v is an object whose names are all known; required ones must be there.
func (d *decoder) object(v *value, required, optional []string) bool {
	if v.kind != kObject {
		d.wrongKind(v, "an object")
		return false
	}
next:
	for i := range v.members {
		n := v.members[i].name
		for _, list := range [2][]string{required, optional} {
			for _, k := range list {
				if k == n {
					continue next
				}
			}
		}
		known := append(append([]string(nil), required...), optional...)
		d.at(n, func() {
			d.fail(pattern.Fault{Rule: "unknown_name", Detail: fmt.Sprintf("there is no member %s here", pattern.Quote(n)), Valid: pattern.Choices(known), Remedy: pattern.Suggest(n, known)})
		})
	}
	ok := true
	for _, k := range required {
		if v.get(k) == nil {
			d.fail(pattern.Fault{Rule: "missing_name", Pointer: pattern.Pointer(k), Detail: fmt.Sprintf("the member %q is missing", k), Valid: "required: " + pattern.Choices(required), Remedy: fmt.Sprintf("add %q", k)})
			ok = false
		}
	}
	return ok
}

// members runs f for each member of a map-like object whose names are the writer's own.
func (d *decoder) members(v *value, what string, most int, f func(name string, v *value)) {
	if v.kind != kObject {
		d.wrongKind(v, "an object with a name for each "+what)
		return
	}
	if len(v.members) > most {
		d.fail(pattern.Fault{Rule: "count", Detail: fmt.Sprintf("there are %d %ss", len(v.members), what), Valid: fmt.Sprintf("at most %d", most), Remedy: "give fewer"})
		return
	}
	for i := range v.members {
		d.push(v.members[i].name)
		f(v.members[i].name, &v.members[i].val)
		d.pop()
	}
}

// items runs f for each item of a list.
func (d *decoder) items(v *value, what string, most int, f func(i int, v *value)) {
	if v.kind != kList {
		d.wrongKind(v, "a list of "+what)
		return
	}
	if len(v.list) > most {
		d.fail(pattern.Fault{Rule: "count", Detail: fmt.Sprintf("there are %d %s", len(v.list), what), Valid: fmt.Sprintf("at most %d", most), Remedy: "give fewer"})
		return
	}
	for i := range v.list {
		d.pushIndex(i)
		f(i, &v.list[i])
		d.pop()
	}
}

// field runs f on a member when it is there.
func (d *decoder) field(v *value, name string, f func(v *value)) bool {
	m := v.get(name)
	if m == nil {
		return false
	}
	d.push(name)
	f(m)
	d.pop()
	return true
}

func (d *decoder) textValue(v *value) string {
	if v.kind != kText {
		d.wrongKind(v, "text in double quotes")
		return ""
	}
	return v.text
}

func (d *decoder) text(v *value, name string) string {
	s := ""
	d.field(v, name, func(m *value) {
		s = d.textValue(m)
		if m.kind == kText && !pattern.ValidText(s) {
			d.fail(pattern.Fault{Rule: "text", Detail: "this text cannot be printed on a pattern", Valid: pattern.TextRule, Remedy: "shorten it, and take out line breaks and control characters"})
		}
	})
	return s
}

// name reads a name of the trade's things. What is no name is refused here, so that it is told
// once and at its place.
func (d *decoder) name(v *value, name, what string) string {
	s := ""
	d.field(v, name, func(m *value) { s = d.nameValue(m, what) })
	return s
}

func (d *decoder) nameValue(m *value, what string) string {
	if m.kind != kText {
		d.wrongKind(m, "text in double quotes")
		return ""
	}
	if !pattern.ValidName(m.text) {
		d.badName(m.text, what)
	}
	return m.text
}

func (d *decoder) badName(s, what string) {
	d.fail(pattern.Fault{Rule: "name", Detail: fmt.Sprintf("%s is no name for a %s", pattern.Quote(s), what), Valid: pattern.NameRule, Remedy: "use lower-case letters, digits, _ and -; put what people read into the title"})
}

func (d *decoder) size(v *value) string {
	s := d.textValue(v)
	if v.kind == kText && !pattern.ValidSize(s) {
		d.fail(pattern.Fault{Rule: "name", Detail: fmt.Sprintf("%s cannot name a size", pattern.Quote(s)), Valid: pattern.SizeRule, Remedy: "shorten it"})
	}
	return s
}

// choice reads one of a few words.
func (d *decoder) choice(v *value, name string, words ...string) string {
	s := ""
	d.field(v, name, func(m *value) { s = d.choiceValue(m, words...) })
	return s
}

func (d *decoder) choiceValue(m *value, words ...string) string {
	s := d.textValue(m)
	if m.kind != kText {
		return ""
	}
	for _, w := range words {
		if s == w {
			return s
		}
	}
	d.fail(pattern.Fault{Rule: "unknown_value", Detail: fmt.Sprintf("%s is not one of the choices", pattern.Quote(s)), Valid: pattern.Choices(words), Remedy: pattern.Suggest(s, words)})
	return ""
}

func (d *decoder) yes(v *value, name string) bool {
	b := false
	d.field(v, name, func(m *value) {
		if m.kind != kBool {
			d.wrongKind(m, "true or false")
		}
		b = m.yes
	})
	return b
}

func (d *decoder) number(m *value, what string, lo, hi float64) float64 {
	if m.kind != kNumber {
		d.wrongKind(m, "a number")
		return 0
	}
	return d.inside(m.num, m.text, what, lo, hi, "")
}

func (d *decoder) whole(m *value, what string, lo, hi int) int {
	f := d.number(m, what, float64(lo), float64(hi))
	if f != math.Trunc(f) {
		d.fail(pattern.Fault{Rule: "whole_number", Detail: fmt.Sprintf("%s is %s", what, m.text), Valid: fmt.Sprintf("a whole number, %d to %d", lo, hi), Remedy: "write it without a fraction"})
		return 0
	}
	return int(f)
}

// inside checks lo ≤ f ≤ hi; the value given back is always one that may be reckoned with.
func (d *decoder) inside(f float64, shown, what string, lo, hi float64, unit string) float64 {
	if f >= lo && f <= hi {
		return f
	}
	d.fail(pattern.Fault{Rule: "out_of_range", Detail: fmt.Sprintf("%s is %s", what, shown), Valid: fmt.Sprintf("%s to %s%s", short(lo), short(hi), unit), Remedy: "check the value and the unit of the document"})
	return math.Max(lo, math.Min(hi, 0))
}

func short(f float64) string { return strconv.FormatFloat(f, 'g', 6, 64) }

// length reads a number in the document's unit or text with its own.
func (d *decoder) length(v *value, what string, lo, hi float64) float64 {
	switch v.kind {
	case kNumber:
		return d.inside(pattern.Millimetres(v.num, d.per), v.text, what, lo, hi, " mm")
	case kText:
		mm, err := ParseLength(v.text)
		if err != nil {
			d.fail(pattern.FaultsOf(err)[0])
			return math.Max(lo, math.Min(hi, 0))
		}
		return d.inside(mm, strconv.Quote(v.text), what, lo, hi, " mm")
	}
	d.wrongKind(v, `a length: a number in the document's unit, or text with its own unit ("5/8in")`)
	return math.Max(lo, math.Min(hi, 0))
}

// pair reads [x, y].
func (d *decoder) pair(v *value, what string) (x, y float64) {
	if v.kind != kList || len(v.list) != 2 {
		d.wrongPair(v)
		return 0, 0
	}
	d.pushIndex(0)
	x = d.length(&v.list[0], what, -pattern.MaxCoord, pattern.MaxCoord)
	d.path[len(d.path)-1].idx = 1
	y = d.length(&v.list[1], what, -pattern.MaxCoord, pattern.MaxCoord)
	d.pop()
	return x, y
}

func (d *decoder) wrongPair(v *value) {
	detail := "this is " + v.kind.String()
	if v.kind == kList {
		detail = fmt.Sprintf("this list has %d items", len(v.list))
	}
	d.fail(pattern.Fault{Rule: "kind", Detail: detail, Valid: "[x, y]", Remedy: "give two lengths"})
}

func (d *decoder) point(v *value) geom.Point {
	if d.points++; d.points == d.lim.Points+1 {
		d.fail(pattern.Fault{Rule: "too_many_points", Detail: fmt.Sprintf("the document has more than %d points", d.lim.Points), Valid: fmt.Sprintf("at most %d", d.lim.Points), Remedy: "thin out the polylines; a point every 2 to 5 mm is plenty"})
	}
	x, y := d.pair(v, "the coordinate")
	return geom.Pt(x, y)
}

func (d *decoder) pointList(v *value, most int) []geom.Point {
	if v.kind != kList {
		d.wrongKind(v, "a list of points")
		return nil
	}
	if len(v.list) == 0 || len(v.list) > most {
		d.fail(pattern.Fault{Rule: "count", Detail: fmt.Sprintf("there are %d points", len(v.list)), Valid: fmt.Sprintf("1 to %d", most), Remedy: "leave the member out for a straight edge, or thin out the points"})
		return nil
	}
	out := make([]geom.Point, len(v.list))
	d.pushIndex(0)
	for i := range v.list {
		d.path[len(d.path)-1] = token{idx: i, list: true}
		out[i] = d.point(&v.list[i])
	}
	d.pop()
	return out
}

// unit reads the document's unit, which holds for every bare length in it.
func (d *decoder) unit(v *value) {
	d.per = 1
	if u := d.choice(v, "unit", "mm", "cm", "in"); u != "" {
		d.per, _ = pattern.PerMM(u)
	}
}
