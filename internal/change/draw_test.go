package change_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"

	"sizerun/internal/change"
	"sizerun/internal/pattern"
)

// drawer draws arguments for any change of the register: from its parameters' kinds, ranges and defaults,
// and from what the pattern holds. It knows no change. What it does not know (that "hem" is an edge, that
// a cap is set into an armhole) it learns the way a maker does: from the refusal, which says what is
// valid, at the place that the refusal points to. A refusal that misleads shows as a change that never
// succeeds.
type drawer struct {
	r *rand.Rand
	n int // names made so far
}

func (d *drawer) one(list []string) string {
	if len(list) == 0 {
		return "nothing"
	}
	return list[d.r.IntN(len(list))]
}

func (d *drawer) odds(n int) bool { return d.r.IntN(n) == 0 }

// args draws the arguments of a change on a pattern; bare leaves out what need not be given.
func (d *drawer) args(p *pattern.Pattern, params []change.Param, bare bool) pattern.Arg {
	piece := &p.Pieces[d.r.IntN(len(p.Pieces))]
	a := pattern.Arg{Kind: pattern.ArgObject, PerMM: 1}
	for i := range params {
		q := &params[i]
		leave := 2 // of 3: defaults are what most makers leave as they are
		if q.Default == "" {
			leave = 3
		}
		if q.Kind == change.Name && q.Default != "" {
			leave = 11
		}
		if !q.Required && (bare || d.r.IntN(leave+1) > 0) {
			continue
		}
		a.Fields = append(a.Fields, pattern.Field{Name: q.Name, Value: d.value(p, piece, q)})
	}
	return a
}

func (d *drawer) value(p *pattern.Pattern, piece *pattern.Piece, q *change.Param) pattern.Arg {
	switch q.Kind {
	case change.Length, change.Share, change.Angle, change.Number:
		if len(q.Sides) > 0 && d.odds(3) {
			var kv []any
			for _, s := range q.Sides {
				kv = append(kv, s, d.number(q))
			}
			return obj(kv...)
		}
		return val(d.number(q))
	case change.Flag:
		return val(d.odds(2))
	case change.Choice:
		return val(d.one(q.Choices))
	case change.Name:
		return val(d.name(p, piece))
	case change.Names:
		switch d.r.IntN(4) {
		case 0:
			return names(d.some(p.PieceNames()))
		case 1:
			return names(d.some(piece.EdgeNames()))
		}
		return val(piece.Name)
	case change.PlaceOf:
		return d.place(piece)
	case change.EdgesOf:
		return names(d.chain(p))
	}
	return val("a kind that nobody knows")
}

// number lies in the parameter's range: near its default where it has one, else more often small than
// large, for ranges reach to what is barely possible.
func (d *drawer) number(q *change.Param) float64 {
	lo, hi := q.Min, q.Max
	if !q.Bounded {
		lo, hi = 0, 100
	}
	v := lo + (hi-lo)*math.Pow(d.r.Float64(), 3)
	if lo < 0 {
		v = (hi - lo) / 2 * math.Pow(2*d.r.Float64()-1, 3)
	}
	if q.Default != "" && !d.odds(3) {
		x, err := strconv.ParseFloat(q.Default, 64)
		if q.Kind == change.Length {
			x, err = pattern.ParseLength(q.Default)
		}
		if err == nil {
			v = x * (0.5 + d.r.Float64()*1.5)
			if x == 0 {
				v = hi * 0.1 * d.r.Float64()
			}
		}
	}
	v = max(lo, min(hi, v))
	if q.Kind == change.Number {
		return math.Round(v)
	}
	return math.Round(v*1000) / 1000
}

// name is of anything that is there, or a new one.
func (d *drawer) name(p *pattern.Pattern, piece *pattern.Piece) string {
	switch d.r.IntN(8) {
	case 0:
		d.n++
		return fmt.Sprintf("new_%d", d.n)
	case 1:
		return piece.Edges[d.r.IntN(len(piece.Edges))].Name
	case 2:
		for _, x := range piece.Darts {
			return x.Name
		}
	case 3:
		return d.one(piece.PlaceNames())
	}
	return d.one(p.PieceNames())
}

func (d *drawer) some(list []string) []string {
	list = slices.Clone(list)
	d.r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	return list[:1+d.r.IntN(min(3, len(list)))]
}

func names(list []string) pattern.Arg {
	if len(list) == 1 {
		return val(list[0])
	}
	a := pattern.Arg{Kind: pattern.ArgList, PerMM: 1}
	for _, n := range list {
		a.List = append(a.List, val(n))
	}
	return a
}

// place is told in any of the ways there are.
func (d *drawer) place(q *pattern.Piece) pattern.Arg {
	e := &q.Edges[d.r.IntN(len(q.Edges))]
	switch d.r.IntN(8) {
	case 0, 1:
		return val(d.one(q.PlaceNames()))
	case 2, 5:
		b := q.Outline().Bounds()
		return obj("at", []any{b.Min.X + d.r.Float64()*(b.Max.X-b.Min.X), b.Min.Y + d.r.Float64()*(b.Max.Y-b.Min.Y)})
	case 3:
		return obj("between", []any{e.From, e.To}, "share", d.r.Float64(), "edge", e.Name)
	case 4:
		return obj("edge", e.Name, "from", e.To, "along", d.r.Float64()*e.Path.Length())
	}
	return obj("edge", e.Name, "along", d.r.Float64()*e.Path.Length())
}

// chain walks from an edge along the outline, over folded darts and across seams into the next piece, as
// what is sewn on there would.
func (d *drawer) chain(p *pattern.Pattern) []string {
	q := &p.Pieces[d.r.IntN(len(p.Pieces))]
	i := d.r.IntN(len(q.Edges))
	for range len(q.Edges) { // not a dart's leg, if there is another
		if !q.IsLeg(q.Edges[i].Name) {
			break
		}
		i = (i + 1) % len(q.Edges)
	}
	out := []string{q.Name + "." + q.Edges[i].Name}
	ahead := true
	for !d.odds(3) && len(out) < 8 {
		q, i, ahead = beyond(p, q, i, ahead)
		if q == nil {
			break
		}
		ref := q.Name + "." + q.Edges[i].Name
		if slices.Contains(out, ref) {
			break
		}
		out = append(out, ref)
	}
	return out
}

// beyond is the edge that a line along edge i runs on into: past a folded dart, or over a seam.
func beyond(p *pattern.Pattern, q *pattern.Piece, i int, ahead bool) (*pattern.Piece, int, bool) {
	step := 1
	if !ahead {
		step = -1
	}
	n := len(q.Edges)
	next := (i + step + n) % n
	if q.IsLeg(q.Edges[next].Name) {
		return q, (next + 2*step + n) % n, ahead
	}
	if q.Edges[next].Fold {
		return nil, 0, false
	}
	if o, k, more := across(p, pattern.EdgeRef{Piece: q.Name, Edge: q.Edges[next].Name}, ahead); o != nil {
		return o, k, more
	}
	return q, next, ahead
}

// across finds what adjoins on the other piece where a walk meets the seam that edge r is sewn in. ahead:
// the walk arrives at the start of r; it meets that end of the other side that is sewn to it.
func across(p *pattern.Pattern, r pattern.EdgeRef, ahead bool) (*pattern.Piece, int, bool) {
	for i := range p.Seams {
		s := &p.Seams[i]
		for k, side := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			other := [2][]pattern.EdgeRef{s.To, s.Sew}[k]
			if len(side) == 0 || len(other) == 0 {
				continue
			}
			first, last := side[0], side[len(side)-1]
			var end pattern.EdgeRef
			atStart := false
			switch {
			case first.Piece == r.Piece && first.Edge == r.Edge && first.Against != ahead:
				end, atStart = other[0], true
			case last.Piece == r.Piece && last.Edge == r.Edge && last.Against == ahead:
				end = other[len(other)-1]
			default:
				continue
			}
			q := p.PieceNamed(end.Piece)
			if q == nil || q.EdgeNamed(end.Edge) < 0 {
				return nil, 0, false
			}
			e, n := q.EdgeNamed(end.Edge), len(q.Edges)
			if atStart != end.Against { // the seam ends at the edge's own start
				return q, (e - 1 + n) % n, false
			}
			return q, (e + 1) % n, true
		}
	}
	return nil, 0, false
}

// mend does what a refusal says: at the place it points to it takes one of the valid values. It reports
// whether there was anything to be done.
func (d *drawer) mend(p *pattern.Pattern, params []change.Param, a *pattern.Arg, f pattern.Fault) bool {
	path := strings.Split(strings.TrimPrefix(f.Pointer, "/"), "/")
	k := slices.IndexFunc(params, func(q change.Param) bool { return q.Name == path[0] })
	if k < 0 {
		return false
	}
	q := &params[k]
	i := slices.IndexFunc(a.Fields, func(f pattern.Field) bool { return f.Name == q.Name })
	if f.Rule == "given_twice" || f.Rule == "not_both" || i >= 0 && !q.Required && f.Valid == "" {
		if i >= 0 {
			a.Fields = slices.Delete(slices.Clone(a.Fields), i, i+1)
		}
		return i >= 0
	}
	a.Fields = slices.Clone(a.Fields)
	// "to or dart_2": one of these is to be given.
	for _, n := range strings.Split(f.Valid, " or ") {
		k := slices.IndexFunc(params, func(q change.Param) bool { return q.Name == n })
		if k < 0 || d.odds(2) || slices.ContainsFunc(a.Fields, func(f pattern.Field) bool { return f.Name == n }) {
			continue
		}
		piece := p.PieceNamed(f.Piece)
		if piece == nil {
			piece = &p.Pieces[0]
		}
		a.Fields = append(a.Fields, pattern.Field{Name: n, Value: d.value(p, piece, &params[k])})
		return true
	}
	if more, ok := strings.CutPrefix(f.Valid, "together with "); ok && i >= 0 {
		old := &a.Fields[i].Value
		list := []pattern.Arg{*old}
		if old.Kind == pattern.ArgList {
			list = slices.Clone(old.List)
		}
		for _, n := range strings.Split(more, ", ") {
			list = append(list, val(n))
		}
		*old = pattern.Arg{Kind: pattern.ArgList, PerMM: 1, List: list}
		return true
	}
	v, ok := d.valid(p, q, f)
	if !ok {
		return false
	}
	if i < 0 {
		a.Fields = append(a.Fields, pattern.Field{Name: q.Name, Value: v})
		return true
	}
	old := &a.Fields[i].Value
	switch {
	case len(path) > 1 && old.Kind == pattern.ArgList && q.Kind == change.EdgesOf:
		if n, err := strconv.Atoi(path[1]); err == nil && n < len(old.List) {
			list := slices.Clone(old.List)
			list[n] = v
			old.List = list
			return true
		}
	case len(path) > 1 && old.Kind == pattern.ArgObject && v.Kind == pattern.ArgNumber:
		old.Fields = slices.Clone(old.Fields)
		for n := range old.Fields {
			if old.Fields[n].Name == path[1] {
				old.Fields[n].Value = v
				return true
			}
		}
	}
	*old = v
	return true
}

// valid draws one of the values that a refusal calls valid.
func (d *drawer) valid(p *pattern.Pattern, q *change.Param, f pattern.Fault) (pattern.Arg, bool) {
	switch q.Kind {
	case change.Length, change.Share, change.Angle, change.Number:
		lo, hi, ok := bounds(f.Valid)
		if !ok {
			return pattern.Arg{}, false
		}
		if math.IsInf(hi, 1) {
			hi = lo * 1.5
		}
		if q.Bounded {
			lo, hi = max(lo, q.Min), min(hi, q.Max)
		}
		if !(lo <= hi) {
			return pattern.Arg{}, false // there is no way with these arguments
		}
		x := lo + (hi-lo)*(0.02+0.96*d.r.Float64())
		if q.Kind == change.Number {
			x = lo + math.Floor((hi-lo+1)*d.r.Float64())
		}
		return val(x), true
	case change.PlaceOf:
		if piece := p.PieceNamed(f.Piece); piece != nil && d.odds(2) {
			return d.place(piece), true
		}
	}
	list := strings.Split(strings.TrimPrefix(strings.TrimPrefix(f.Valid, "one of "), "one or more of "), ", ")
	var known []string
	for _, n := range list {
		if n = strings.TrimSpace(n); n != "" && (pattern.ValidName(n) || strings.Count(n, ".") == 1 && !strings.Contains(n, " ")) {
			known = append(known, n)
		}
	}
	if len(known) == 0 {
		switch {
		case q.Kind == change.EdgesOf:
			return names(d.chain(p)), true
		case q.Kind == change.PlaceOf && p.PieceNamed(f.Piece) != nil:
			return d.place(p.PieceNamed(f.Piece)), true
		case q.Kind == change.Name && f.Rule != "unknown_edge":
			d.n++
			return val(fmt.Sprintf("new_%d", d.n)), true
		}
		return pattern.Arg{}, false
	}
	n := d.one(known)
	if q.Kind == change.EdgesOf && !strings.Contains(n, ".") {
		n = f.Piece + "." + n
	}
	return val(n), true
}

// bounds reads "a to b mm", "at least a mm", "up to b".
func bounds(s string) (lo, hi float64, ok bool) {
	var nums []float64
	for _, w := range strings.FieldsFunc(s, func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '%' }) {
		if x, err := strconv.ParseFloat(w, 64); err == nil && !math.IsInf(x, 0) && !math.IsNaN(x) {
			nums = append(nums, x)
		}
	}
	switch {
	case len(nums) >= 2 && strings.Contains(s, " to "):
		return nums[0], nums[1], nums[0] <= nums[1]
	case len(nums) == 0:
		return 0, 0, false
	case strings.Contains(s, "least"), strings.Contains(s, "more than"):
		return nums[0], math.Inf(1), true
	}
	return 0, nums[0], nums[0] > 0
}
