package maker

import (
	"fmt"
	"strings"

	"sizerun/internal/book"
	"sizerun/internal/pattern"
)

// CountsBySize tells of the pieces, by their titles, that are not cut equally often in all sizes how often they are in
// each: a strip that is joined of as many lengths as the cloth asks for takes one more in the larger ones.
func (m Made) CountsBySize() map[string]map[string]int {
	all := map[string]map[string]int{}
	alike := map[string]bool{}
	for i := range m.Sizes {
		p := &m.Sizes[i].Pattern
		for k := range p.Pieces {
			title, n := book.Words(p.Pieces[k].Title), p.Pieces[k].Cut.Count
			if all[title] == nil {
				all[title], alike[title] = map[string]int{}, true
			}
			for _, o := range all[title] {
				alike[title] = alike[title] && o == n
			}
			all[title][p.Size] = n
		}
	}
	for title, same := range alike {
		if same {
			delete(all, title)
		}
	}
	return all
}

// Interfacing is the area of all pieces of interfacing of every size, mm2: those that are cut from it, with their
// allowances, and those of cloth that are interfaced, up to their seam lines.
func (m Made) Interfacing() map[string]float64 {
	out := map[string]float64{}
	for i := range m.Sizes {
		s := &m.Sizes[i]
		for k := range s.Pattern.Pieces {
			p := &s.Pattern.Pieces[k]
			area, n := p.Outline().Area(), p.Cut.Interfaced
			if p.Cut.Cloth == "interfacing" {
				n = p.Cut.Count
				if k < len(s.Cut) {
					area = s.Cut[k].Cut.Area()
				}
			}
			out[s.Pattern.Size] += area * float64(n*halves(p))
		}
	}
	return out
}

// halves is how many times what is drawn of a piece is cut out at once: on the fold two.
func halves(p *pattern.Piece) int {
	if book.OnFold(p) {
		return 2
	}
	return 1
}

// otherCounts are the lines of a label that tell in which sizes a piece is cut more or less often than in the first one,
// whose count the label gives.
func otherCounts(sizes []*Size, name string) []string {
	first, counts := -1, []int(nil)
	in := map[int][]string{}
	for _, s := range sizes {
		i := pieceIndex(&s.Pattern, name)
		if i < 0 {
			continue
		}
		n := s.Pattern.Pieces[i].Cut.Count
		if first < 0 {
			first = n
		}
		if n == first {
			continue
		}
		if in[n] == nil {
			counts = append(counts, n)
		}
		in[n] = append(in[n], s.Pattern.Size)
	}
	var lines []string
	for _, n := range counts {
		lines = append(lines, fmt.Sprintf("Cut %d in %s", n, strings.Join(in[n], ", ")))
	}
	return lines
}
