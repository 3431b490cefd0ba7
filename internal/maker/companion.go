package maker

import (
	"slices"
	"strings"

	"sizerun/internal/book"
	"sizerun/internal/pattern"
)

// Companion is what goes beside the printed pattern. Its amounts are those of the base size, or of the
// first size made when the base is not among them; so are its working drawings unless the print asks
// for those of other sizes.
func (m Made) Companion(pr Print) book.Companion {
	shown := m.Shown()
	var all []*Size
	for i := range m.Sizes {
		all = append(all, &m.Sizes[i])
	}
	sizes, orders := m.Order()
	c := book.Companion{
		Title: m.title(), Shop: m.shop(), Ref: pr.Ref, Stamp: pr.Stamp, Labels: m.Style.Labels,
		Chart: m.chart(all), Finished: garment(all), Cutting: m.Cutting(), Notions: shown.Notions,
		Children: m.Children(), Custom: m.custom(all), Shown: shownOf(shown), Amounts: book.Amounts(sizes, orders),
	}
	if pr.Sample { // the shop's name is at the head of every page
		c.Shop = strings.TrimPrefix(c.Shop+" · "+sampleText, " · ")
	}
	for i := range m.Sizes {
		if &m.Sizes[i] == shown {
			c.Order = orders[i]
		}
	}
	for _, s := range m.Drawn(pr) {
		c.Drawn = append(c.Drawn, shownOf(s))
	}
	return c
}

// Cutting is what is cut, by cloth: the same in every size.
func (m Made) Cutting() []book.ClothList {
	p := &m.Shown().Pattern
	var pieces []*pattern.Piece
	for i := range p.Pieces {
		pieces = append(pieces, &p.Pieces[i])
	}
	return book.ByCloth(pieces)
}

func shownOf(s *Size) book.Shown {
	return book.Shown{Pattern: s.Pattern, Cut: s.Cut, Steps: s.Steps, Drawings: s.Drawings}
}

// Order is the order of sewing of every size made, and their names.
func (m Made) Order() (sizes []string, orders [][]book.Instruction) {
	for i := range m.Sizes {
		s := &m.Sizes[i]
		sizes = append(sizes, s.Pattern.Size)
		orders = append(orders, book.Sewing(&s.Pattern, s.Cut, s.Steps))
	}
	return sizes, orders
}

// Shown is the size whose amounts are told: the base size where it was made.
func (m Made) Shown() *Size {
	for i := range m.Sizes {
		if m.Sizes[i].Pattern.Base {
			return &m.Sizes[i]
		}
	}
	return &m.Sizes[0]
}

// Drawn lists the sizes whose working drawings a print shows, in the order made.
func (m Made) Drawn(pr Print) []*Size {
	if len(pr.Drawings) == 0 && !pr.EveryDrawing {
		return []*Size{m.Shown()}
	}
	var out []*Size
	for i := range m.Sizes {
		if s := &m.Sizes[i]; pr.EveryDrawing || slices.Contains(pr.Drawings, s.Pattern.Size) {
			out = append(out, s)
		}
	}
	return out
}

// Children says whether the pattern is one for children, by its chart or by a body it was made for.
func (m Made) Children() bool {
	if book.Children(m.Block.Chart) {
		return true
	}
	for i := range m.Sizes {
		if p := &m.Sizes[i].Pattern; m.Block.Chart.Index(p.Size) < 0 && book.Child(p.Body) {
			return true
		}
	}
	return false
}
