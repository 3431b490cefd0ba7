package book

import (
	"cmp"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
)

func itoa(n int) string { return strconv.Itoa(n) }

// Part names a part of the order of sewing.
type Part string

// The parts, in order. Darts come first, then what a change prepares on a piece by itself, then the
// seams, the setting in of sleeves, and what finishes edges (common practice).
const (
	Pieces  Part = "The pieces, one by one"
	Seams   Part = "Seams"
	Sleeves Part = "Sleeves"
	Edges   Part = "Edges and hems"
)

// Instruction is one step of the order of sewing, in plain words, with the lengths it speaks of.
type Instruction struct {
	Part    Part
	Text    string
	Amounts []change.Amount
}

// Amount finds one of its lengths.
func (i Instruction) Amount(name string) (mm float64, ok bool) {
	for _, a := range i.Amounts {
		if a.Name == name {
			return a.MM, true
		}
	}
	return 0, false
}

// General is what holds for every step, so that no step need say it.
func General() []string {
	return []string{
		"Before the paper comes off, carry over all notches, dots and match squares.",
		"Sew right sides together, secure both ends of a seam, and press each step before the next.",
		"Neaten the raw edges of all allowances that stay visible inside (zigzag, overlock or binding), each before another seam crosses it.",
	}
}

// Sewing is the order of sewing of one size: the seams that the block has, with their allowances and
// ease as they came out in this size, and among them the steps that the changes add.
func Sewing(p *pattern.Pattern, cut []allowance.Piece, steps []change.Step) []Instruction {
	told := saidBy(steps)
	say := speakerOf(p)
	var out []Instruction
	add := func(part Part, s ...Instruction) {
		for _, i := range s {
			i.Part, i.Text = part, say.plain(i.Text)
			out = append(out, i)
		}
	}
	ordered := inOrderOfWork(p, steps)
	until := func(part Part, place int) {
		for len(ordered) > 0 && ordered[0].place <= place {
			s := ordered[0].Step
			add(part, Instruction{Text: s.Text, Amounts: s.Amounts})
			ordered = ordered[1:]
		}
	}
	flat, setting := setIn(p, cut, told)
	until(Pieces, general)
	add(Pieces, dartSteps(p, told)...)
	until(Pieces, assemble)
	add(Pieces, flat...)
	for i := range p.Seams {
		if s := &p.Seams[i]; !s.Cap && !dartSeam(p, s) && !told.seam(s) {
			add(Seams, seamStep(p, cut, s))
		}
	}
	add(Seams, centreSeams(p, cut, told)...)
	until(Seams, stand)
	add(Sleeves, setting...)
	until(Sleeves, sleeve)
	until(Edges, hang)
	add(Edges, hemSteps(p, cut, told)...)
	until(Edges, last)
	return out
}

// Places in the order of work, within and between the stages that a change knows (common practice): a
// facing covers the seams of what is joined before it; a lining is slipped in before a waistband closes
// over it; a skirt hangs from its band before it is levelled and hemmed; buttonholes are worked on the
// finished edge.
const (
	general = iota
	prepare
	assemble
	collar
	join
	facing
	stand // its seam takes in the upper end of a facing
	sleeve
	lining
	band
	hang // before it is hemmed
	finish
	last
)

type placed struct {
	change.Step
	place int
}

func inOrderOfWork(p *pattern.Pattern, steps []change.Step) []placed {
	out := make([]placed, 0, len(steps))
	for _, s := range steps {
		out = append(out, placed{s, placeOf(p, s)})
	}
	slices.SortStableFunc(out, func(a, b placed) int { return cmp.Compare(a.place, b.place) })
	for i := range out {
		at := i // of the step that moves back
		for k := i + 1; k < len(out) && out[k].place == assemble && out[at].place == assemble; k++ {
			if parts := out[k]; makesUp(p, &parts.Step, &out[at].Step) {
				copy(out[at+1:k+1], out[at:k])
				out[at] = parts
				at++
			}
		}
	}
	return out
}

// makesUp says whether a step sews together the parts of a piece that the other step speaks of: a later
// change cut the piece up, so that there is no such piece to sew before its parts are joined.
func makesUp(p *pattern.Pattern, parts, whole *change.Step) bool {
	if len(parts.Pieces) < 2 {
		return false
	}
	for _, n := range whole.Pieces {
		if p.PieceNamed(n) != nil {
			continue
		}
		of := n
		for _, m := range whole.Pieces {
			if pc := p.PieceNamed(m); pc != nil && pc.Of != "" {
				of = pc.Of
			}
		}
		all := true
		for _, m := range parts.Pieces {
			pc := p.PieceNamed(m)
			all = all && pc != nil && (pc.Of == of || pc.Of == n) && !slices.Contains(whole.Pieces, m)
		}
		if all {
			return true
		}
	}
	return false
}

// placeOf tells a step's place by its stage and by the kinds of its pieces. The kind is read off the
// titles, which are the trade's words.
func placeOf(p *pattern.Pattern, s change.Step) int {
	is := func(kinds ...string) bool {
		for _, n := range s.Pieces {
			for _, k := range kinds {
				if pc := p.PieceNamed(n); pc != nil && strings.Contains(strings.ToLower(pc.Title), k) {
					return true
				}
			}
		}
		return false
	}
	switch s.Stage {
	case change.Prepare:
		// What is done before the first dart: on the cloth as a whole, before it is cut, so that a cut edge
		// does not stretch, or to find where a dart lies.
		if len(s.Pieces) == 0 || strings.HasPrefix(s.Text, "Before cutting") || strings.HasPrefix(s.Text, "Stay") || strings.Contains(s.Text, "mark it from the paper") {
			return general
		}
		return prepare
	case change.Assemble:
		return assemble
	case change.Collar:
		// A flat collar is covered by the facing; a standing one encloses its upper end.
		if is("collar stand", "band collar") {
			return stand
		}
		return collar
	case change.Join:
		if is("facing") {
			return facing
		}
		return join
	case change.SetIn:
		return sleeve
	case change.Finish:
	}
	switch {
	case is("lining"):
		return lining
	case is("waistband", "binding"):
		return band
	case strings.Contains(s.Text, "buttonhole"):
		return last
	case strings.Contains(s.Text, " hang "):
		return hang
	}
	return finish
}

// said is what the changes have told in full: pieces, single seams, and pieces whose hems are turned already.
type said struct{ pieces, seams, hems map[string]bool }

// hemmed is how a step says that a piece's hem is turned before the rest of it.
var hemmed = regexp.MustCompile(`^Hem ([a-z0-9_]+) first\b`)

func saidBy(steps []change.Step) said {
	t := said{map[string]bool{}, map[string]bool{}, map[string]bool{}}
	for _, s := range steps {
		if m := hemmed.FindStringSubmatch(s.Text); m != nil {
			t.hems[m[1]] = true
		}
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

func dartSeam(p *pattern.Pattern, s *pattern.Seam) bool {
	for _, r := range s.Sew {
		if pc := p.PieceNamed(r.Piece); pc == nil || !pc.IsLeg(r.Edge) {
			return false
		}
	}
	return true
}

// dartSteps tells the darts of each piece; those of one piece that are sewn alike in one step. A lining
// is sewn like the shell.
func dartSteps(p *pattern.Pattern, told said) []Instruction {
	var out []Instruction
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		if told.pieces[pc.Name] || pc.Cut.Cloth == "lining" {
			continue
		}
		var names, lengths, ways []string
		var amounts []change.Amount
		for _, d := range pc.Darts {
			leg := pc.EdgeNamed(d.First)
			if leg < 0 {
				continue
			}
			l := pc.Edges[leg].Path.Length()
			name := strings.TrimSuffix(Words(d.Name), " dart")
			if !strings.Contains(name, "dart") {
				name += " dart"
			}
			names, lengths, ways = append(names, name), append(lengths, tape(l)), append(ways, pressed(pc, d))
			amounts = append(amounts, change.Amount{Name: Spoken(pc) + ", " + name, MM: l})
		}
		if len(names) == 0 {
			continue
		}
		fold, press := "the "+names[0], "it "+ways[0]
		if len(names) > 1 {
			fold, press = "the "+list(names)+", one after the other", "them "+ways[0]
		}
		if len(slices.Compact(slices.Clone(ways))) > 1 {
			each := make([]string, len(names))
			for k := range names {
				each[k] = "the " + names[k] + " " + ways[k]
			}
			press = list(each)
		}
		out = append(out, Instruction{Amounts: amounts, Text: fmt.Sprintf("%s: fold %s, right sides together and leg on leg, and sew from the edge to the point, %s long; knot the threads at the point and press %s.",
			upperFirst(Spoken(pc)), fold, list(lengths), press)})
	}
	return out
}

// pressed says to which side a folded dart lies: its cut edge allows for that one only.
func pressed(p *pattern.Piece, d pattern.Dart) string {
	a, b := p.EdgeNamed(d.First), p.EdgeNamed(d.Second)
	if a < 0 || b < 0 {
		return "the way its edge was cut"
	}
	// First runs from the mouth to the point, Second from the point back to the mouth.
	to := p.Edges[a].Path.Start().Sub(p.Edges[b].Path.End())
	if d.Towards == d.Second {
		to = to.Mul(-1)
	}
	if math.Abs(to.Y) > math.Abs(to.X) {
		if to.Y < 0 {
			return "downwards"
		}
		return "upwards"
	}
	const centre, side = "towards the centre", "towards the side"
	for i := range p.Edges {
		e := &p.Edges[i]
		nearer := (e.Path.Start().X-p.Edges[a].Path.Start().X)*to.X > 0
		switch {
		case e.Fold || strings.HasPrefix(e.Name, "centre"):
			if nearer {
				return centre
			}
			return side
		case strings.HasPrefix(e.Name, "side"):
			if nearer {
				return side
			}
			return centre
		}
	}
	return "the way its edge was cut"
}
