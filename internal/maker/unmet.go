package maker

import (
	"slices"
	"sort"
	"strings"

	"sizerun/internal/pattern"
)

// unmet refuses allowances that speak of a piece, or of an edge of any piece ("*.hem"), that is not
// there once all changes are made: a misspelt one would otherwise be cut with the default allowance,
// and nobody would see it on paper. The edges of a named piece are allowance.Resolve's to judge.
func unmet(a pattern.Allowances, p *pattern.Pattern) error {
	keys := make([]string, 0, len(a.Edges))
	for k := range a.Edges {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	var fs pattern.Faults
	for _, k := range keys {
		piece, edge, _ := strings.Cut(k, ".")
		word, known := piece, p.PieceNames()
		if piece == "*" {
			word, known = edge, nil
			for i := range p.Pieces {
				known = append(known, p.Pieces[i].EdgeNames()...)
			}
		}
		if slices.Contains(known, word) {
			continue
		}
		fs = append(fs, pattern.Fault{
			Rule: "unknown_edge", Pointer: "/style" + pattern.Pointer("allowances", "edges", k), Size: p.Size, Piece: piece, Edge: edge,
			Detail: "no piece has the edge \"" + k + "\" when all changes are made",
			Valid:  pattern.Choices(unique(known)), Remedy: pattern.Suggest(word, unique(known)),
		})
	}
	return fs.Err()
}

func unique(s []string) []string {
	seen := map[string]bool{}
	var out []string
	for _, x := range s {
		if !seen[x] {
			seen[x] = true
			out = append(out, x)
		}
	}
	return out
}
