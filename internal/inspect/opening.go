package inspect

import (
	"fmt"
	"math"
	"regexp"
	"strings"

	"sizerun/internal/pattern"
)

// Whether the garment can be put on. The neck goes over the head, a skirt's waist over the hip, or there is an opening
// that makes room: one that begins there gives twice its length, one that runs right through a piece gives all.

// headGirth is what an adult's neck must go over when the chart does not tell: heads are 540 to 590 mm round, with
// hair and for comfort 560 to 600 mm are allowed (common practice).
const headGirth = 580.0

// stretch is how far the stretchiest cloth gives: ribbing to twice its width, jersey by half (common practice). The
// tool does not know the cloth, so that less room than the body needs is a warning as far as some cloth would bear it.
const stretch = 2.0

// ring is the edges of a neck or a waist.
type ring struct {
	name  string
	edges map[[2]string]bool // piece and edge
	mm    float64            // round the whole body
}

// neckNames are what the edges of a neck are called: a square one has sides, one that was cut has numbers.
var neckNames = regexp.MustCompile(`^neck(_side)?(_[0-9]+)?$`)

// putOn judges neck and waist.
func (w *watch) putOn() {
	if !w.s.Worn {
		return
	}
	p := washed(&w.s.Pattern)
	neck := ringOf(p, "neck", func(_ *pattern.Piece, e *pattern.Edge) bool {
		return neckNames.MatchString(e.Name) || e.Src.Edge == "neck"
	})
	if neck.mm > 0 {
		w.goesOver(p, &neck, "goes_over_head", "head", headGirth)
		return // what has a neck is not stepped into
	}
	waist := ringOf(p, "waist", func(p *pattern.Piece, e *pattern.Edge) bool {
		return (e.Name == "waist" || strings.HasPrefix(e.Name, "waist_") || e.Src.Edge == "waist") && !p.IsLeg(e.Name)
	})
	if waist.mm > 0 {
		w.goesOver(p, &waist, "goes_over_hip", "hip", 0)
	}
}

// ringOf gathers the edges of the garment itself: not of linings, nor of what is sewn to such an edge, as a facing is.
func ringOf(p *pattern.Pattern, name string, is func(*pattern.Piece, *pattern.Edge) bool) ring {
	r := ring{name: name, edges: map[[2]string]bool{}}
	in := func(refs []pattern.EdgeRef) bool {
		for _, x := range refs {
			if r.edges[[2]string{x.Piece, x.Edge}] {
				return true
			}
		}
		return false
	}
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		for k := range pc.Edges {
			if pc.Cut.Cloth != "lining" && pc.Cut.Cloth != "interfacing" && !pc.Edges[k].Fold && is(pc, &pc.Edges[k]) {
				r.edges[[2]string{pc.Name, pc.Edges[k].Name}] = true
			}
		}
	}
	// Leave out what is sewn to the ring, and what of it is sewn to itself, as pleats are.
	for i := range p.Seams {
		s := &p.Seams[i]
		if in(s.Sew) && in(s.To) {
			for _, x := range s.Sew {
				delete(r.edges, [2]string{x.Piece, x.Edge})
			}
			if s.Sew[0].Piece == s.To[0].Piece {
				for _, x := range s.To {
					delete(r.edges, [2]string{x.Piece, x.Edge})
				}
			}
		}
	}
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		for k := range pc.Edges {
			if r.edges[[2]string{pc.Name, pc.Edges[k].Name}] {
				r.mm += copies(pc) * pc.Edges[k].Path.Length()
			}
		}
	}
	// Gathered onto a band the ring is as long as the band.
	for i := range p.Seams {
		s := &p.Seams[i]
		if !in(s.Sew) || !s.Gathers && s.Drawn == 0 {
			continue
		}
		sew, err1 := Walk(p, s.Sew)
		to, err2 := Walk(p, s.To)
		if err1 == nil && err2 == nil {
			less := s.Drawn
			if s.Gathers {
				less = sew.Len - to.Len
			}
			r.mm -= copies(sew.Links[0].Piece) * less
		}
	}
	return r
}

// copies is how often a piece goes round the body: a half on the fold and a mirrored pair go twice.
func copies(p *pattern.Piece) float64 {
	for i := range p.Edges {
		if p.Edges[i].Fold {
			return 2
		}
	}
	if p.Cut.Pair && p.Cut.Count > max(1, p.Cut.Layers) {
		return 2
	}
	return 1
}

// goesOver compares the ring, opened as far as it can be, with the body.
func (w *watch) goesOver(p *pattern.Pattern, r *ring, rule, body string, habitual float64) {
	girth, told := p.Body[body]
	source := "the size chart"
	if !told {
		girth, source = habitual, habit
	}
	if girth <= 0 {
		return
	}
	opens, through := 0.0, false
	for _, o := range p.Openings {
		found := o.Find(p)
		begins, long := false, 0.0
		for i := range found {
			at, all := r.opens(&found[i], i == 0)
			through, begins = through || all, begins || at
			long += found[i].Length // it may run on over a seam, as from a band into the skirt
		}
		if begins {
			opens += math.Min(long, math.Abs(o.Src.S1-o.Src.S0))
		}
	}
	c := Check{Rule: rule, Place: r.name, Measured: r.mm + 2*opens, Want: pattern.Range{Min: girth, Max: far}, Tolerance: w.o.SeamLength, Unit: MM, Source: source,
		Bearable: &pattern.Range{Min: girth / stretch, Max: far}}
	what := fmt.Sprintf("The %s is %.0f mm round", r.name, r.mm)
	if opens > 0 {
		what += fmt.Sprintf(" and opens by %.0f mm, which makes %.0f mm", opens, r.mm+2*opens)
	}
	switch {
	case through:
		c.Measured = math.Max(c.Measured, girth)
		c.Text = fmt.Sprintf("%s, and the garment opens right through beside it.", what)
	case r.mm+2*opens >= girth:
		c.Text = fmt.Sprintf("%s: it goes over the %s, %.0f mm.", what, body, girth)
	default:
		c.Text = fmt.Sprintf("%s: it does not go over the %s, %.0f mm, unless the cloth stretches. Give it an opening, or make it wider.", what, body, girth)
	}
	w.say(c)
}

// opens tells whether an opening begins at the ring, and whether it opens a piece of the ring right through.
func (r *ring) opens(o *pattern.Opened, first bool) (at, through bool) {
	n := len(o.Piece.Edges)
	beside := (o.Edge + 1) % n
	if o.AtStart {
		beside = (o.Edge + n - 1) % n
	}
	at = first && r.edges[[2]string{o.Piece.Name, o.Piece.Edges[beside].Name}]
	if !o.Through {
		return at, false
	}
	for i := range o.Piece.Edges {
		through = through || r.edges[[2]string{o.Piece.Name, o.Piece.Edges[i].Name}]
	}
	return at, through
}
