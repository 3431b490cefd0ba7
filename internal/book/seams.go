package book

import (
	"fmt"
	"slices"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
)

// seamStep tells one seam with its allowance and its ease.
func seamStep(p *pattern.Pattern, cut []allowance.Piece, s *pattern.Seam) Instruction {
	sew, to := side(p, s.Sew), side(p, s.To)
	w := width(cut, s.Sew)
	name := upperFirst(Words(s.Name))
	ease := length(p, s.Sew) - length(p, s.To) - s.Drawn
	each := ""
	if onFold(p, s.Sew) && onFold(p, s.To) {
		each = " on each half"
	}
	if w == 0 && strings.Contains(sew, "binding") {
		return bound(s, name, sew, to, each, ease)
	}
	text := fmt.Sprintf("%s: sew %s to %s", name, sew, to)
	if sew == to {
		text = fmt.Sprintf("%s: fold %s and sew its two edges", name, sew)
	}
	if w > 0 {
		text += ", " + Both(w) + " from the edge"
	}
	if m := matching(p, s); m != "" {
		text += ", " + m
	}
	var amounts []change.Amount
	if s.Drawn >= 2 {
		text += fmt.Sprintf("; draw up %s of %s%s in gathers between the notches", tape(s.Drawn), sew, each)
		amounts = append(amounts, change.Amount{Name: name + ", gathered", MM: s.Drawn})
	}
	press := ". Press it open."
	switch {
	case s.Gathers && ease >= 2:
		text += fmt.Sprintf("; gather %s evenly, it is %s longer%s", sew, tape(ease), each)
		press = ". Press the allowances away from the gathers."
	case ease >= 2:
		text += fmt.Sprintf("; %s is %s longer%s and is eased in", sew, tape(ease), each)
	case ease <= -2:
		text += fmt.Sprintf("; %s is %s shorter%s and is stretched to fit", sew, tape(-ease), each)
	}
	if s.Ease != (pattern.Range{}) {
		amounts = append(amounts, change.Amount{Name: name + ", ease", MM: ease})
	}
	if w == 0 {
		press = "."
	}
	return Instruction{Text: text + press, Amounts: amounts}
}

// centreSeams tells the seams in which a mirrored pair is sewn to itself: a block names none, for both its
// sides are one edge. Trousers are sewn so along the crotch, leg in leg (common practice).
func centreSeams(p *pattern.Pattern, cut []allowance.Piece, told said) []Instruction {
	sewn := map[[2]string]bool{}
	legs := false
	for i := range p.Seams {
		s := &p.Seams[i]
		for _, refs := range [2][]pattern.EdgeRef{s.Sew, s.To} {
			for _, r := range refs {
				sewn[[2]string{r.Piece, r.Edge}] = true
			}
		}
		legs = legs || s.Name == "inside_leg"
	}
	var out []Instruction
	var names []string
	w := 0.0
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		// A facing or a collar in two halves ends at the opening that parts them.
		if !pc.Cut.Pair || pc.Cut.Count != 2 || told.pieces[pc.Name] || i >= len(cut) || clothRank(pc.Cut.Cloth) != 0 || isStrip(pc) {
			continue
		}
		for k := range pc.Edges {
			e := &pc.Edges[k]
			a := cut[i].Allow[e.Name]
			if !strings.HasPrefix(e.Name, "centre") || e.Fold || a.Turned > 0 || a.Width == 0 || sewn[[2]string{pc.Name, e.Name}] {
				continue
			}
			names, w = append(names, Words(e.Name)), a.Width
			out = append(out, Instruction{Text: fmt.Sprintf("%s: sew the two of %s to each other, %s from the edge; leave open what the fastening needs. Press it open.",
				upperFirst(Words(e.Name)), Spoken(pc), Both(a.Width))})
		}
	}
	if legs && len(names) == 2 {
		return []Instruction{{Text: fmt.Sprintf("Crotch: turn one leg right side out and slip it into the other, right sides together. Sew %s in one, %s from the edge, inside leg seams on each other; leave open what the fastening needs. "+
			"Sew the curve a second time close beside the first.", list(names), Both(w))}}
	}
	return out
}

// isStrip says whether a piece finishes an edge of others, by its title.
func isStrip(p *pattern.Piece) bool {
	t := strings.ToLower(p.Title)
	for _, k := range []string{"facing", "collar", "stand", "cuff", "band", "binding"} {
		if strings.Contains(t, k) {
			return true
		}
	}
	return false
}

// bound tells of a strip that encloses raw edges: a seam without allowance.
func bound(s *pattern.Seam, name, strip, to, each string, ease float64) Instruction {
	text := fmt.Sprintf("%s: join the ends of %s, sew it along the raw edge of %s", name, strip, to)
	var amounts []change.Amount
	if ease <= -2 {
		text += fmt.Sprintf(", stretching it by %s%s", tape(-ease), each)
	}
	if s.Ease != (pattern.Range{}) {
		amounts = []change.Amount{{Name: name + ", stretched", MM: -ease}}
	}
	return Instruction{Text: text + ", fold it over the edge to the inside, turn its other edge under and stitch it down.", Amounts: amounts}
}

// matching says which marks of a seam meet, as far as its notch pairs tell.
func matching(p *pattern.Pattern, s *pattern.Seam) string {
	kinds := map[pattern.MarkKind]bool{}
	for _, n := range s.Notches {
		if pc := p.PieceNamed(n[0].Piece); pc != nil {
			if m := pc.MarkNamed(n[0].Mark); m != nil {
				kinds[m.Kind] = true
			}
		}
	}
	var out []string
	for _, k := range []struct {
		kind pattern.MarkKind
		word string
	}{{pattern.Notch, "notches"}, {pattern.Dot, "dots"}, {pattern.Square, "match squares"}} {
		if kinds[k.kind] {
			out = append(out, k.word)
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "matching " + list(out)
}

func side(p *pattern.Pattern, refs []pattern.EdgeRef) string {
	var parts []string
	for _, r := range refs {
		title := Words(r.Piece)
		if pc := p.PieceNamed(r.Piece); pc != nil {
			title = Spoken(pc)
		}
		if !slices.Contains(parts, title) {
			parts = append(parts, title)
		}
	}
	return list(parts)
}

// onFold says whether a side of a seam runs on to the fold, so that its lengths are those of a half.
func onFold(p *pattern.Pattern, refs []pattern.EdgeRef) bool {
	for _, r := range refs {
		pc := p.PieceNamed(r.Piece)
		if pc == nil {
			continue
		}
		i, n := pc.EdgeNamed(r.Edge), len(pc.Edges)
		if i >= 0 && (pc.Edges[(i+1)%n].Fold || pc.Edges[(i+n-1)%n].Fold) {
			return true
		}
	}
	return false
}

func length(p *pattern.Pattern, refs []pattern.EdgeRef) float64 {
	l := 0.0
	for _, r := range refs {
		if pc := p.PieceNamed(r.Piece); pc != nil {
			if i := pc.EdgeNamed(r.Edge); i >= 0 {
				l += pc.Edges[i].Path.Length()
			}
		}
	}
	return l
}

func width(cut []allowance.Piece, refs []pattern.EdgeRef) float64 {
	for _, r := range refs {
		for i := range cut {
			if cut[i].Name == r.Piece {
				return cut[i].Widths[r.Edge]
			}
		}
	}
	return 0
}

// hemSteps turns up the hems that no change has told of.
func hemSteps(p *pattern.Pattern, cut []allowance.Piece, told said) []Instruction {
	type hem struct {
		width  float64
		turned int
	}
	var order []hem
	where := map[hem][]string{}
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		if told.pieces[pc.Name] || told.hems[pc.Name] || i >= len(cut) || pc.Cut.Cloth == "interfacing" {
			continue
		}
		for _, e := range pc.Edges {
			a := cut[i].Allow[e.Name]
			if a.Turned == 0 {
				continue
			}
			h := hem{a.Width, a.Turned}
			if where[h] == nil {
				order = append(order, h)
			}
			place := Spoken(pc)
			if edge := strings.TrimRight(Words(e.Name), " 0123456789"); edge != "hem" {
				place += " (" + edge + ")"
			}
			if !slices.Contains(where[h], place) {
				where[h] = append(where[h], place)
			}
		}
	}
	var out []Instruction
	for _, h := range order {
		how := "neaten the raw edge, turn up " + Both(h.width)
		if h.turned > 1 {
			how = fmt.Sprintf("turn up %s, %d times over", Both(h.width/float64(h.turned)), h.turned)
			if h.turned == 2 {
				how = "turn up " + Both(h.width/2) + ", twice"
			}
		}
		out = append(out, Instruction{Text: fmt.Sprintf("Hem %s: %s, press and stitch.", list(where[h]), how)})
	}
	return out
}
