package maker

import (
	"sort"
	"strings"

	"sizerun/internal/pattern"
)

// unmet refuses allowances that speak of an edge that is not there once all changes are made: a
// misspelt hem would otherwise be cut with the default allowance, and nobody would see it on paper.
func unmet(a pattern.Allowances, p *pattern.Pattern) error {
	keys := make([]string, 0, len(a.Edges))
	for k := range a.Edges {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	var fs pattern.Faults
	for _, k := range keys {
		piece, edge, _ := strings.Cut(k, ".")
		var known []string
		found := false
		for i := range p.Pieces {
			pc := &p.Pieces[i]
			if piece != "*" && pc.Name != piece {
				known = append(known, pc.Name)
				continue
			}
			if pc.EdgeNamed(edge) >= 0 {
				found = true
				break
			}
			if piece != "*" {
				known = pc.EdgeNames()
				break
			}
			known = append(known, pc.EdgeNames()...)
		}
		if found {
			continue
		}
		word := edge
		if piece != "*" && p.PieceNamed(piece) == nil {
			word = piece
		}
		fs = append(fs, pattern.Fault{
			Rule: "unknown_edge", Pointer: "/style/allowances/edges/" + escape(k), Size: p.Size, Piece: piece, Edge: edge,
			Detail: "no piece has the edge \"" + k + "\" when all changes are made",
			Valid:  pattern.Choices(unique(known)), Remedy: pattern.Suggest(word, unique(known)),
		})
	}
	return fs.Err()
}

// escape writes a name as a token of a JSON pointer (RFC 6901).
func escape(s string) string { return strings.NewReplacer("~", "~0", "/", "~1").Replace(s) }

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
