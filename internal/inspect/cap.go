package inspect

import (
	"fmt"
	"math"
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// capSide is one half of a cap against its half of the armhole, both walked from the underarm.
type capSide struct {
	seam         *pattern.Seam
	piece        string
	sew, to      Chain
	back, front  bool
	notches      []capNotch
	ease, below  float64
	hasSideNotch bool
}

type capNotch struct {
	name    string
	sew, to float64
}

// caps judges the ease of every set-in sleeve: none from underarm to notch, the rest between notch
// and crown, more at the back than at the front, and in all what the cloth can take.
func (w *watch) caps() {
	var order []string
	sleeves := map[string][]capSide{}
	for i := range w.s.Pattern.Seams {
		s := &w.s.Pattern.Seams[i]
		if !s.Cap {
			continue
		}
		sew, err1 := Walk(&w.s.Pattern, s.Sew)
		to, err2 := Walk(&w.s.Pattern, s.To)
		if err1 != nil || err2 != nil {
			continue // told by seams
		}
		c := newCapSide(s, sew, to)
		w.capSide(c)
		key := sew.Links[0].Piece.Of
		if key == "" {
			key = sew.Links[0].Piece.Name
		}
		if _, ok := sleeves[key]; !ok {
			order = append(order, key)
		}
		sleeves[key] = append(sleeves[key], c)
	}
	for _, k := range order {
		w.capWhole(k, sleeves[k])
	}
}

func newCapSide(s *pattern.Seam, sew, to Chain) capSide {
	c := capSide{seam: s, piece: sew.Links[0].Piece.Name, sew: sew, to: to, ease: sew.Len - to.Len - s.Drawn}
	crownAtEnd := crownEnd(sew)
	for _, n := range s.Notches {
		a, ok1 := sew.MarkAt(n[0].Piece, n[0].Mark)
		b, ok2 := to.MarkAt(n[1].Piece, n[1].Mark)
		if !ok1 || !ok2 {
			continue // told by notches
		}
		if !crownAtEnd {
			a, b = sew.Len-a, to.Len-b
		}
		c.notches = append(c.notches, capNotch{n[0].Mark, a, b})
		if p := markOf(sew, n[0]); p != nil && p.Kind == pattern.Notch {
			c.back = c.back || p.Count >= 2
			c.front = c.front || p.Count == 1
		}
	}
	sort.SliceStable(c.notches, func(i, j int) bool { return c.notches[i].sew < c.notches[j].sew })
	for len(c.notches) > 0 && c.notches[len(c.notches)-1].sew > sew.Len-1 {
		c.notches = c.notches[:len(c.notches)-1] // the crown itself
	}
	if len(c.notches) > 0 {
		c.hasSideNotch = true
		c.below = c.notches[0].sew - c.notches[0].to
	}
	return c
}

func markOf(c Chain, r pattern.MarkRef) *pattern.Mark {
	for _, l := range c.Links {
		if l.Piece.Name == r.Piece {
			return l.Piece.MarkNamed(r.Mark)
		}
	}
	return nil
}

// crownEnd tells whether the walk of a cap ends at the crown: the end where a dot lies, else the
// upper one.
func crownEnd(c Chain) bool {
	ps, s := c.atEnd(false)
	pe, e := c.atEnd(true)
	ds, de := dotAt(ps, s), dotAt(pe, e)
	if ds != de {
		return de
	}
	return e.Y > s.Y
}

func dotAt(p *pattern.Piece, at geom.Point) bool {
	for i := range p.Marks {
		if p.Marks[i].Kind == pattern.Dot && p.Marks[i].At.Dist(at) <= 1 {
			return true
		}
	}
	return false
}

func (w *watch) capSide(c capSide) {
	s := c.seam
	if !c.hasSideNotch {
		w.say(Check{Rule: "cap_notch", Piece: c.piece, Place: s.Name, Measured: 0, Want: pattern.Range{Min: 1, Max: 9}, Unit: Count,
			Bearable: &pattern.Range{Min: 0, Max: 9},
			Text:     fmt.Sprintf("Seam %s has no notch between underarm and crown, so nothing tells where its ease may lie.", s.Name)})
		return
	}
	first := c.notches[0]
	w.say(Check{Rule: "cap_ease_underarm", Piece: c.piece, Place: s.Name, Measured: c.below, Tolerance: w.o.Underarm, Unit: MM,
		Text: fmt.Sprintf("Seam %s: from the underarm to %s %.1f mm of cap is sewn to %.1f mm of armhole; no ease belongs there.", s.Name, first.name, first.sew, first.to)})
	most := w.o.CapEase.Max
	want := pattern.Range{Min: 0, Max: most}
	if s.Ease != (pattern.Range{}) {
		want = s.Ease
	}
	above := c.ease - c.below
	w.say(Check{Rule: "cap_ease_crown", Piece: c.piece, Place: s.Name, Measured: above, Want: want, Tolerance: w.o.Notch, Unit: MM,
		Text: fmt.Sprintf("Seam %s: between %s and the crown %.1f mm of cap is eased onto %.1f mm, %+.1f mm of ease.",
			s.Name, first.name, c.sew.Len-first.sew-s.Drawn, c.to.Len-first.to, above) + drawn(s)})
	for i := 1; i < len(c.notches); i++ {
		a, b := c.notches[i-1], c.notches[i]
		e := (b.sew - a.sew) - (b.to - a.to)
		w.say(Check{Rule: "cap_ease_between", Piece: c.piece, Place: a.name + " / " + b.name, Measured: e,
			Want: pattern.Range{Min: 0, Max: most + math.Max(0, s.Drawn)}, Tolerance: w.o.Notch, Unit: MM,
			Text: fmt.Sprintf("Seam %s: between %s and %s the cap has %+.1f mm of ease%s.", s.Name, a.name, b.name, e, gathersToo(s))})
	}
}

// gathersToo: a stretch between two marks may hold gathers as well.
func gathersToo(s *pattern.Seam) string {
	if s.Drawn == 0 {
		return ""
	}
	return " and gathers"
}

// drawn tells of gathers; they are no ease.
func drawn(s *pattern.Seam) string {
	if s.Drawn == 0 {
		return ""
	}
	return fmt.Sprintf(" Besides, %.1f mm are drawn up in gathers.", s.Drawn)
}

func (w *watch) capWhole(sleeve string, sides []capSide) {
	ease, armhole := 0.0, 0.0
	var stated pattern.Range
	var front, back *capSide
	for i := range sides {
		c := &sides[i]
		ease += c.ease
		armhole += c.to.Len
		stated.Min += c.seam.Ease.Min
		stated.Max += c.seam.Ease.Max
		switch {
		case c.back:
			back = c
		case c.front:
			front = c
		}
	}
	want, bear := w.o.CapEase, &w.o.CapBearable
	shirt := stated != (pattern.Range{}) && stated.Max < want.Min
	if shirt {
		want, bear = stated, nil // the block says outright that it is a sleeve with little ease
	}
	w.say(Check{Rule: "cap_ease", Piece: sleeve, Place: "cap", Measured: ease, Want: want, Bearable: bear, Tolerance: w.o.SeamLength, Unit: MM,
		Text: fmt.Sprintf("The cap of %s has %.1f mm of ease in an armhole of %.1f mm: too much puckers, too little drags.", sleeve, ease, armhole)})
	if armhole > 0 && !shirt {
		w.say(Check{Rule: "cap_ease_share", Piece: sleeve, Place: "cap", Measured: 100 * ease / armhole, Want: w.o.CapShare,
			Bearable: &pattern.Range{Min: 0, Max: 2 * w.o.CapShare.Max}, Tolerance: 0.05, Unit: Percent,
			Text: fmt.Sprintf("The cap ease of %s is %.1f %% of the armhole.", sleeve, 100*ease/armhole)})
	}
	if front != nil && back != nil {
		d := back.ease - front.ease
		w.say(Check{Rule: "cap_ease_split", Piece: sleeve, Place: "cap", Measured: d, Want: pattern.Range{Min: 0, Max: w.o.CapEase.Max},
			Bearable: &pattern.Range{Min: -w.o.CapEase.Max, Max: w.o.CapEase.Max}, Tolerance: w.o.SeamLength, Unit: MM,
			Text: fmt.Sprintf("The back of the cap of %s has %.1f mm of ease, the front %.1f mm; the back should not have less.", sleeve, back.ease, front.ease)})
	}
}
