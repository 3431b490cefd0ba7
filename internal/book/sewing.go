package book

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Sewing is the order of sewing of one size: the seams that the block has, with their allowances and
// ease as they came out in this size, and among them the steps that the changes add. Darts come
// first, then what a change prepares on a piece by itself, then the seams, the setting in of sleeves,
// and what finishes edges (common practice).
func Sewing(p *pattern.Pattern, cut []allowance.Piece, steps []change.Step) []string {
	told := saidBy(steps)
	var out []string
	add := func(s ...string) { out = append(out, s...) }
	add(dartSteps(p)...)
	ordered := slices.Clone(steps)
	slices.SortStableFunc(ordered, func(a, b change.Step) int { return cmp.Compare(a.Stage, b.Stage) })
	next := 0
	until := func(stage change.Stage) {
		for ; next < len(ordered) && ordered[next].Stage <= stage; next++ {
			add(named(p, ordered[next].Text))
		}
	}
	until(change.Prepare)
	for _, cap := range []bool{false, true} {
		for i := range p.Seams {
			s := &p.Seams[i]
			if s.Cap == cap && !dartSeam(p, s) && !told.seam(s) {
				add(seamStep(p, cut, s))
			}
		}
		if !cap {
			until(change.Join)
		}
	}
	until(change.SetIn)
	add(hemSteps(p, cut, told.pieces)...)
	until(change.Finish)
	return out
}

// said is what the changes have told in full: pieces, and single seams.
type said struct{ pieces, seams map[string]bool }

func saidBy(steps []change.Step) said {
	t := said{map[string]bool{}, map[string]bool{}}
	for _, s := range steps {
		for _, p := range s.Told {
			t.pieces[p] = true
		}
		for _, n := range s.Seams {
			t.seams[n] = true
		}
	}
	return t
}

// seam says whether a change has told of a seam, or of all the sewing of the pieces that are sewn.
func (t said) seam(s *pattern.Seam) bool {
	all := len(s.Sew) > 0
	for _, r := range s.Sew {
		all = all && t.pieces[r.Piece]
	}
	return all || t.seams[s.Name]
}

// named puts titles for the names of pieces.
func named(p *pattern.Pattern, text string) string {
	var pairs []string
	for i := range p.Pieces {
		if pc := &p.Pieces[i]; strings.Contains(pc.Name, "_") {
			pairs = append(pairs, pc.Name, Words(pc.Name))
		}
	}
	return strings.NewReplacer(pairs...).Replace(text)
}

func dartSeam(p *pattern.Pattern, s *pattern.Seam) bool {
	for _, r := range s.Sew {
		if pc := p.PieceNamed(r.Piece); pc == nil || !pc.IsLeg(r.Edge) {
			return false
		}
	}
	return true
}

func dartSteps(p *pattern.Pattern) []string {
	var out []string
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		for _, d := range pc.Darts {
			leg := pc.EdgeNamed(d.First)
			if leg < 0 {
				continue
			}
			out = append(out, fmt.Sprintf("%s: fold the %s dart right sides together, legs on each other, and sew from the edge to the point, %s long; tie the ends and press it as the folded edge was cut.",
				pc.Title, Words(d.Name), Both(pc.Edges[leg].Path.Length())))
		}
	}
	return out
}

// seamStep tells one seam with its allowance and its ease.
func seamStep(p *pattern.Pattern, cut []allowance.Piece, s *pattern.Seam) string {
	sew, to := side(p, s.Sew), side(p, s.To)
	w := width(cut, s.Sew)
	text := fmt.Sprintf("%s: right sides together, sew %s to %s", upperFirst(Words(s.Name)), sew, to)
	if sew == to {
		text = fmt.Sprintf("%s: fold %s right sides together and sew its two edges", upperFirst(Words(s.Name)), sew)
	}
	if w > 0 {
		text += ", " + Both(w) + " from the edge"
	}
	if n := len(s.Notches); n > 0 {
		text += ", notches and dots on their partners"
	}
	ease := length(p, s.Sew) - length(p, s.To) - s.Drawn
	if s.Drawn >= 2 {
		text += fmt.Sprintf("; %s of the first are drawn up in gathers between the notches", Mm(s.Drawn))
	}
	switch {
	case s.Gathers && ease >= 2:
		text += fmt.Sprintf("; the first is %s longer and is gathered evenly", Mm(ease))
	case ease >= 2:
		text += fmt.Sprintf("; %s is %s longer and is eased in", sew, Mm(ease))
	case ease <= -2:
		text += fmt.Sprintf("; %s is %s shorter and is stretched to fit", sew, Mm(-ease))
	}
	if s.Cap {
		text += ". Sew both sleeves"
	}
	return text + "."
}

func side(p *pattern.Pattern, refs []pattern.EdgeRef) string {
	var parts []string
	for _, r := range refs {
		title := Words(r.Piece)
		if pc := p.PieceNamed(r.Piece); pc != nil && pc.Title != "" {
			title = strings.ToLower(pc.Title)
		}
		if !slices.Contains(parts, title) {
			parts = append(parts, title)
		}
	}
	return strings.Join(parts, " and ")
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
func hemSteps(p *pattern.Pattern, cut []allowance.Piece, said map[string]bool) []string {
	type hem struct {
		width  float64
		turned int
	}
	var order []hem
	where := map[hem][]string{}
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		if said[pc.Name] || i >= len(cut) {
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
			place := strings.ToLower(pc.Title)
			if e.Name != "hem" {
				place += " (" + Words(e.Name) + ")"
			}
			where[h] = append(where[h], place)
		}
	}
	var out []string
	for _, h := range order {
		how := "finish the raw edge, turn it up once"
		if h.turned > 1 {
			how = "turn the raw edge under, then up again"
		}
		out = append(out, fmt.Sprintf("Hem %s: %s, %s in all, press and stitch.", strings.Join(where[h], ", "), how, Both(h.width)))
	}
	return out
}
