package book

import (
	"cmp"
	"fmt"
	"math"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// half is one half of a cap against its half of the armhole.
type half struct {
	name  string  // "front", "back", or what it is sewn to
	ease  float64 // cap less armhole, less what is gathered
	drawn float64 // what is gathered
	below float64 // how much of the ease lies between the underarm and the first notch
}

// setIn tells how the sleeves are set in that no change has told of: ease stitches while a sleeve of one
// piece still lies flat, or when one of several is sewn together, then the whole armhole in one step, for a
// sleeve goes in round and round, not in two seams (common practice).
func setIn(p *pattern.Pattern, cut []allowance.Piece, told said) (flat, set []Instruction) {
	var order []string
	sleeves := map[string][]*pattern.Seam{}
	for i := range p.Seams {
		s := &p.Seams[i]
		if !s.Cap || told.seam(s) || len(s.Sew) == 0 {
			continue
		}
		key := s.Sew[0].Piece
		if pc := p.PieceNamed(key); pc != nil && pc.Of != "" {
			key = pc.Of
		}
		if sleeves[key] == nil {
			order = append(order, key)
		}
		sleeves[key] = append(sleeves[key], s)
	}
	for _, k := range order {
		f, s := setOne(p, cut, sleeves[k])
		flat, set = append(flat, f...), append(set, s...)
	}
	return flat, set
}

// setOne tells one sleeve: what is done while it lies flat, and the steps of setting it in.
func setOne(p *pattern.Pattern, cut []allowance.Piece, seams []*pattern.Seam) (flat, set []Instruction) {
	var halves []half
	var refs []pattern.EdgeRef
	most, drawn, below, dots, crown := 0.0, 0.0, 0.0, false, false
	for _, s := range seams {
		h, c := halfOf(p, s)
		halves, refs = append(halves, h), append(refs, s.Sew...)
		most, drawn, below = math.Max(most, h.ease), drawn+h.drawn, math.Max(below, math.Abs(h.below))
		crown = crown || c
		dots = dots || strings.Contains(matching(p, s), "dots")
	}
	w := width(cut, refs)
	who := side(p, refs)
	eased := most >= 2 && drawn < 2
	the, one := "the sleeve", !strings.Contains(who, " and ")
	if one {
		the = "the " + who
	}
	switch {
	case eased && one:
		flat = []Instruction{{Text: fmt.Sprintf("%s: while it lies flat, sew two rows of long ease stitches along the cap from notch to notch, %s.", upperFirst(who), rows(w))}}
	case eased:
		set = []Instruction{{Text: fmt.Sprintf("Sew two rows of long ease stitches along the cap of the sleeve from notch to notch, %s.", rows(w))}}
	}
	top := "the top of the cap to the shoulder seam"
	if crown {
		top = "crown dot to shoulder seam"
	}
	text := "Set in " + the + ": underarm to side seam, notches to notches (one at the front, two at the back), "
	if dots {
		text += "dots to dots, "
	}
	text += top + ". "
	if drawn >= 2 {
		text += "Draw up the gathering stitches: " + each(halves, func(h half) float64 { return h.drawn }) + " between the notches, most of it near the crown. "
		if most >= 2 {
			text += "Beside the gathers, ease in " + each(halves, func(h half) float64 { return h.ease }) + ". "
		}
	} else if eased {
		text += "Draw up the ease stitches until the cap lies in the armhole without a pucker: " + each(halves, func(h half) float64 { return h.ease })
		if below < 1 {
			text += ", all of it above the notches"
		}
		text += ". "
	}
	for _, h := range halves {
		if h.ease <= -2 {
			text += fmt.Sprintf("At the %s stretch the cap by %s. ", h.name, tape(-h.ease))
		}
	}
	text += "Baste, then stitch"
	if w > 0 {
		text += " " + Both(w) + " from the edge"
	}
	text += ", sleeve uppermost. Neaten both allowances together and press them into the sleeve. Sew both sleeves."
	last := Instruction{Text: text}
	for _, h := range halves {
		last.Amounts = append(last.Amounts, change.Amount{Name: "cap ease, " + h.name, MM: h.ease})
		if h.drawn >= 2 {
			last.Amounts = append(last.Amounts, change.Amount{Name: "cap gathers, " + h.name, MM: h.drawn})
		}
	}
	return flat, append(set, last)
}

// rows says where two rows of ease stitches lie: on the seam line and 6.35 mm (1/4 in) nearer the edge,
// if the allowance has room for that (common practice).
func rows(w float64) string {
	const between = 6.35
	if w < between+3 {
		return "inside the allowance, close to the seam line"
	}
	return Both(w) + " and " + Both(w-between) + " from the edge"
}

// each lists an amount of every half that has any: "9.7 mm (3/8 in) at the front and …".
func each(halves []half, of func(half) float64) string {
	var out []string
	for _, h := range halves {
		if v := of(h); v >= 0.5 {
			out = append(out, tape(v)+" at the "+h.name)
		}
	}
	return list(out)
}

// halfOf measures one half, and says whether its crown is marked by a dot.
func halfOf(p *pattern.Pattern, s *pattern.Seam) (h half, crown bool) {
	// A yoke over the shoulder reaches round to the other half: a half is named by most of its armhole.
	h.name = side(p, s.To)
	most, along := 0.0, map[string]float64{}
	for _, r := range s.To {
		pc := p.PieceNamed(r.Piece)
		if pc == nil {
			continue
		}
		of := cmp.Or(pc.Of, pc.Name)
		if of != "front" && of != "back" {
			continue
		}
		if along[of] += length(p, []pattern.EdgeRef{r}); along[of] > most {
			h.name, most = of, along[of]
		}
	}
	h.drawn, h.ease = s.Drawn, length(p, s.Sew)-length(p, s.To)-s.Drawn
	sew, err := inspect.Walk(p, s.Sew)
	if err != nil {
		return h, false
	}
	to, err := inspect.Walk(p, s.To)
	if err != nil {
		return h, false
	}
	// The underarm is the end of the walk that lies lower: a sleeve lies with its crown up.
	first, last := sew.Links[0], sew.Links[len(sew.Links)-1]
	start, end := first.Piece.Edges[first.Edge].Path.Start(), last.Piece.Edges[last.Edge].Path.End()
	if first.Against {
		start = first.Piece.Edges[first.Edge].Path.End()
	}
	if last.Against {
		end = last.Piece.Edges[last.Edge].Path.Start()
	}
	top, at := last.Piece, end
	if start.Y > end.Y {
		top, at = first.Piece, start
	}
	for i := range top.Marks {
		crown = crown || top.Marks[i].Kind == pattern.Dot && top.Marks[i].At.Dist(at) <= 1
	}
	nearest := math.Inf(1)
	for _, n := range s.Notches {
		a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
		b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
		if !ok1 || !ok2 {
			continue
		}
		if start.Y > end.Y {
			a, b = sew.Len-a, to.Len-b
		}
		if a < nearest {
			nearest, h.below = a, a-b
		}
	}
	return h, crown
}
