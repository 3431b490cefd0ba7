package book

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// Companion is what goes beside a printed pattern.
type Companion struct {
	Title, Shop, Ref, Stamp string
	Chart                   sheet.Table // body measurements, a column a size
	Finished                sheet.Table // of the garment, in the same columns; no rows: left out
	Cutting                 []ClothList
	Notions                 []string
	Shown                   Shown   // the size whose amounts are told
	Drawn                   []Shown // the sizes whose working drawings are shown
	Order                   []Instruction
	Amounts                 sheet.Table // what the order of sewing speaks of, in every size
	Labels                  []string
	Children                bool
	Custom                  []string // of a pattern made for a body: what must be known of that
}

// Shown is one size in full.
type Shown struct {
	Pattern  pattern.Pattern
	Cut      []allowance.Piece
	Steps    []change.Step
	Drawings []change.Drawing
}

// Pages sets the companion on a paper: what to cut, the measurements of body and garment side by side,
// the order of sewing with the amounts of the size shown, and the working drawings.
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
	for _, s := range append(cautions(c.Children), c.Custom...) {
		f.para("–", s)
	}
	f.pieces(&c.Shown.Pattern, c.Shown.Cut)
	f.cutting(c.Cutting)
	if all := c.notions(); len(all) > 0 {
		say := speakerOf(&c.Shown.Pattern)
		f.heading("Notions")
		for _, n := range all {
			f.para("–", upperFirst(say.plain(n)))
		}
	}
	f.tables(c.Chart, c.Finished)
	// The order of sewing lies beside the machine: it begins on a page of its own unless all of it, amounts
	// and all, still fits below what was there.
	if f.sewingPages(c.Order, c.Shown.Pattern.Size, math.Inf(1)) > 1 || f.sewingRest(c.Order, c.Shown.Pattern.Size)-tableHigh(c.Amounts) < f.bottom() {
		f.tables(c.Amounts)
		f.page()
		f.sewing(c.Order, c.Shown.Pattern.Size)
	} else {
		f.setSewing(c.Order, c.Shown.Pattern.Size, math.Inf(1))
		f.tables(c.Amounts)
	}
	for _, s := range c.Drawn {
		say := speakerOf(&s.Pattern)
		for _, d := range s.Drawings {
			f.drawing(d, say)
		}
	}
	return f.done()
}

func amountsOf(size string) string {
	return "Amounts are those of size " + size + "; lengths along curves differ from size to size. Inches are to the nearest sixteenth."
}

// sewing sets the order of sewing. If it is a little too long for one page its steps move closer; if it is
// longer, its pages are filled alike, so that none holds a last step alone.
func (f *flow) sewing(order []Instruction, size string) {
	whole := f.paper.H - pageMargin - f.bottom()
	n := f.sewingPages(order, size, whole)
	if n > 1 {
		f.air = closeAir
		if f.sewingPages(order, size, whole) > 1 {
			f.air = paraAir
		} else {
			n = 1
		}
	}
	most := whole
	for k := 50; n > 1 && k < 100; k += 2 { // the least that a page may take without making another
		if m := whole * float64(k) / 100; f.sewingPages(order, size, m) <= n {
			most = m
			break
		}
	}
	f.setSewing(order, size, most)
	f.air = paraAir
}

// sewingPages tries how many pages the order takes when none is filled further than most.
func (f *flow) sewingPages(order []Instruction, size string, most float64) int {
	try := *f
	try.d = sheet.Document{Pages: []sheet.Page{{}}}
	try.setSewing(order, size, most)
	return len(try.d.Pages)
}

// sewingRest tries how far down the page the order reaches.
func (f *flow) sewingRest(order []Instruction, size string) float64 {
	try := *f
	try.d = sheet.Document{Pages: []sheet.Page{{}}}
	try.setSewing(order, size, math.Inf(1))
	return try.y
}

func (f *flow) setSewing(order []Instruction, size string, most float64) {
	top := f.y
	f.heading("Order of sewing")
	f.para("", amountsOf(size))
	for _, s := range General() {
		f.para("–", s)
	}
	part := Part("")
	for i, s := range order {
		high := f.tall(s.Text, textSize, stepIndent)
		if s.Part != part {
			high += partGap + textSize*leading
		}
		if top-f.y+high > most || f.y-high < f.bottom() {
			f.page()
			top = f.y
		}
		if s.Part != part {
			f.gap(partGap)
			f.line(0, textSize, sheet.Bold, black, string(s.Part))
		}
		part = s.Part
		f.para(itoa(i+1), s.Text)
	}
}

const (
	partGap  = 1.5 // above a part's name
	closeAir = 0.2 // between steps that must move closer
)

// Amounts is a table of what the order of sewing speaks of in every size, mm. Steps are the same in all
// sizes, only their amounts differ; what is the same in all is told by the step itself and left out.
func Amounts(sizes []string, orders [][]Instruction) sheet.Table {
	t := sheet.Table{Title: "Amounts in every size, mm", Head: append([]string{"Step"}, sizes...)}
	if len(sizes) < 2 || len(orders) != len(sizes) {
		return t
	}
	for _, o := range orders {
		if len(o) != len(orders[0]) {
			return t // a change that takes other steps in other sizes has no common numbers
		}
	}
	for k, s := range orders[0] {
		for _, a := range s.Amounts {
			row, differ := []string{itoa(k+1) + "  " + Words(a.Name)}, false
			for _, o := range orders {
				mm, ok := o[k].Amount(a.Name)
				if !ok {
					row = append(row, "–")
					continue
				}
				differ = differ || math.Abs(mm-a.MM) >= 0.5
				row = append(row, strconv.FormatFloat(math.Round(mm)+0, 'f', -1, 64)) // +0: no negative zero
			}
			if differ {
				t.Rows = append(t.Rows, row)
			}
		}
	}
	return t
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

// notions are those that the changes ask for, and interfacing where a piece is cut from it and none of
// them has spoken of that.
func (c Companion) notions() []string {
	for _, n := range c.Notions {
		if strings.Contains(strings.ToLower(n), "interfacing") {
			return c.Notions
		}
	}
	for _, l := range c.Cutting {
		if l.Cloth == "interfacing" && len(l.Rows) > 0 {
			return append(slices.Clone(c.Notions), "Interfacing")
		}
	}
	return c.Notions
}
