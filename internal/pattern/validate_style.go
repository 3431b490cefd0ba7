package pattern

import (
	"fmt"
	"strconv"
	"strings"
)

// Validate tells everything that is wrong with a style by itself. Whether its edges exist is known
// only after its changes were made.
func (s *Style) Validate() error {
	v := &validator{}
	v.name("/style", "style", s.Name)
	v.name("/block", "block", s.Block)
	v.text("/title", s.Title)
	v.text("/shop", s.Shop)
	if v.count("/labels", "labels", len(s.Labels), 0, 20) {
		for i, l := range s.Labels {
			v.text(Pointer("labels", strconv.Itoa(i)), l)
		}
	}
	if v.count("/changes", "changes", len(s.Changes), 0, MaxChanges) {
		for i, c := range s.Changes {
			v.name(Pointer("changes", strconv.Itoa(i), "change"), "change", c.Change)
		}
	}
	a := &s.Allowances
	v.allowance("/allowances/default", a.Default)
	if a.Limit != 0 {
		v.number("/allowances/limit", "the mitre limit", a.Limit, 1, 20, "times the allowance")
	}
	for _, k := range sorted(a.Edges) {
		ptr := Pointer("allowances", "edges", k)
		piece, edge, ok := strings.Cut(k, ".")
		if !ok || !ValidName(edge) || piece != "*" && !ValidName(piece) {
			v.add(Fault{Rule: "name", Pointer: ptr, Detail: fmt.Sprintf("%s does not name an edge", Quote(k)), Valid: `"piece.edge", or "*.edge" for that edge of every piece`, Remedy: "write the piece's name, a dot and the edge's name"})
		}
		v.allowance(ptr, a.Edges[k])
	}
	return v.faults.Err()
}

func (v *validator) allowance(ptr string, a Allowance) {
	v.number(ptr, "the allowance", a.Width, 0, MaxAllowance, "mm")
	v.count(ptr+"/turned", "turns", a.Turned, 0, 2)
	for _, c := range []struct {
		key string
		c   Corner
	}{{"start", a.Start}, {"end", a.End}} {
		switch c.c {
		case "", Mitre, SquareEnd, HemReturn:
		default:
			v.add(Fault{Rule: "unknown_value", Pointer: ptr + "/" + c.key, Detail: fmt.Sprintf("%s is no corner", Quote(string(c.c))),
				Valid: "mitre, square, hem_return", Remedy: Suggest(string(c.c), []string{"mitre", "square", "hem_return"})})
		}
	}
}
