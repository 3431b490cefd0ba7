package allowance

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sizerun/internal/pattern"
)

// Resolve finds the allowance of every edge of a piece: what the style says for "piece.edge", else what it says
// for "*.edge", else what the change that made the edge asks for, else the style's default. An edge on the fold
// and the legs of a dart have none.
func Resolve(a pattern.Allowances, p *pattern.Piece) (map[string]pattern.Allowance, error) {
	var fs pattern.Faults
	for _, key := range sortedKeys(a.Edges) {
		piece, edge, ok := strings.Cut(key, ".")
		if ok && piece == p.Name && p.EdgeNamed(edge) < 0 {
			fs = append(fs, pattern.Fault{Rule: "unknown_edge", Pointer: pattern.Pointer("allowances", "edges", key), Piece: p.Name,
				Detail: fmt.Sprintf("piece %q has no edge %s", p.Name, pattern.Quote(edge)),
				Remedy: pattern.Suggest(edge, p.EdgeNames())})
		}
	}
	out := make(map[string]pattern.Allowance, len(p.Edges))
	for i := range p.Edges {
		e := &p.Edges[i]
		al, from := a.Default, "default"
		if e.Own != nil {
			al, from = *e.Own, ""
		}
		if w, ok := a.Edges["*."+e.Name]; ok {
			al, from = w, "edges/*."+e.Name
		}
		if w, ok := a.Edges[p.Name+"."+e.Name]; ok {
			al, from = w, "edges/"+p.Name+"."+e.Name
			if e.Fold && w.Width != 0 {
				fs = append(fs, pattern.Fault{Rule: "allowance_on_fold", Pointer: "/allowances/" + from, Piece: p.Name, Edge: e.Name,
					Detail: fmt.Sprintf("edge %q of piece %q lies on the fold of the cloth, so an allowance of %s mm cannot be cut there", e.Name, p.Name, mm(w.Width)),
					Valid:  "0", Remedy: "give it the width 0, or take the fold off the edge"})
			}
		}
		if e.Fold || p.IsLeg(e.Name) {
			al = pattern.Allowance{}
		}
		if f, bad := outOfRange(al); bad {
			f.Piece, f.Edge = p.Name, e.Name
			if from != "" {
				f.Pointer = "/allowances/" + from
			}
			f.Detail = fmt.Sprintf("edge %q of piece %q: %s", e.Name, p.Name, f.Detail)
			fs = append(fs, f)
			continue
		}
		out[e.Name] = al
	}
	if err := fs.Err(); err != nil {
		return nil, err
	}
	return out, nil
}

func outOfRange(a pattern.Allowance) (pattern.Fault, bool) {
	switch {
	case !(a.Width >= 0 && a.Width <= pattern.MaxAllowance):
		v := fmt.Sprint(a.Width)
		if math.Abs(a.Width) < 1e6 {
			v = mm(a.Width)
		}
		return pattern.Fault{Rule: "out_of_range", Detail: fmt.Sprintf("the allowance is %s mm", v),
			Valid: fmt.Sprintf("0 to %g mm", pattern.MaxAllowance), Remedy: "give a width in that range"}, true
	case a.Turned < 0 || a.Turned > 2:
		return pattern.Fault{Rule: "out_of_range", Detail: fmt.Sprintf("the hem is turned %d times", a.Turned),
			Valid: "0, 1 or 2", Remedy: "turn it once or twice, or not at all"}, true
	}
	for _, c := range []pattern.Corner{a.Start, a.End} {
		switch c {
		case "", pattern.Mitre, pattern.SquareEnd, pattern.HemReturn:
		default:
			return pattern.Fault{Rule: "unknown_corner", Detail: fmt.Sprintf("there is no corner %s", pattern.Quote(string(c))),
				Valid: "mitre, square, hem_return", Remedy: "choose one of them, or leave it out"}, true
		}
	}
	return pattern.Fault{}, false
}

func sortedKeys(m map[string]pattern.Allowance) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}

// mm writes a length for people: to a tenth, without a needless ".0".
func mm(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
}
