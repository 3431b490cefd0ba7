package book

import (
	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// Companion is what goes beside a printed pattern.
type Companion struct {
	Title, Shop, Ref, Stamp string
	Chart                   sheet.Table
	Cutting                 sheet.Table
	Notions                 []string
	Shown                   Shown // the size whose amounts and drawings are told
	Labels                  []string
	Children                bool
}

// Shown is one size in full.
type Shown struct {
	Pattern  pattern.Pattern
	Cut      []allowance.Piece
	Steps    []change.Step
	Drawings []change.Drawing
}

// Pages sets the companion on a paper: what to cut, the size chart, the order of sewing with the
// amounts of the size shown, and a working drawing for each change.
func (c Companion) Pages(p sheet.Paper, m sheet.Metrics) sheet.Document {
	f := newFlow(sheet.Info{Title: c.Title + ", companion", Author: c.Shop, Subject: c.Ref, Lang: "en"}, p, m,
		[2]string{c.Title + " · " + c.Shop, c.Stamp})
	for _, l := range f.wrap(c.Title, titleSize, sheet.Bold, f.width()) {
		f.line(0, titleSize, sheet.Bold, black, l)
	}
	f.line(0, headSize, sheet.Regular, black, c.Shop)
	f.line(0, smallSize, sheet.Regular, grey, c.Ref)
	f.rule(f.y-1, f.width(), 0.3)
	f.gap(2)
	for _, l := range c.Labels {
		f.para("", l)
	}
	f.heading("Before you begin")
	for _, s := range cautions(c.Children) {
		f.para("–", s)
	}
	f.table(c.Cutting)
	if len(c.Notions) > 0 {
		f.heading("Notions")
		for _, n := range c.Notions {
			f.para("–", n)
		}
	}
	f.table(c.Chart)
	f.heading("Order of sewing")
	f.para("", "Amounts are those of size "+c.Shown.Pattern.Size+"; lengths along curves differ from size to size.")
	for i, s := range Sewing(&c.Shown.Pattern, c.Shown.Cut, c.Shown.Steps) {
		f.para(itoa(i+1), s)
	}
	for _, d := range c.Shown.Drawings {
		f.drawing(d, &c.Shown.Pattern)
	}
	return f.done()
}

func cautions(children bool) []string {
	out := []string{
		"Measure the test squares of the pattern before cutting, and sew a trial garment in cheap cloth first: sizes are computed, a fitting decides.",
		"Rotary cutters, scissors and pins cut and prick, irons and steam burn. Keep them from children, cut away from yourself, unplug the iron.",
	}
	if children {
		out = append(out, ChildNotes()...)
	}
	return out
}
