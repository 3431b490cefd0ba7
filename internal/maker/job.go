package maker

import (
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/book"
	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// Print says how a made pattern goes on paper.
type Print struct {
	Only      string // one size by name; "" draws the whole nest
	SeamLines bool   // the seam lines too
	Stamp     string // "made for order 1001"
	Sample    bool   // every sheet says that it is no more than a sample
	Ref       string // small print: what made it
	// Drawings names the sizes whose working drawings a companion shows, EveryDrawing means all that were made;
	// neither, the base size.
	Drawings     []string
	EveryDrawing bool
}

// sampleText stands on every sheet of a sample.
const sampleText = "Sample: not for sale"

// Job turns what was made into what a sheet shows.
func (m Made) Job(pr Print) sheet.Job {
	var sizes []*Size
	for i := range m.Sizes {
		if pr.Only == "" || m.Sizes[i].Pattern.Size == pr.Only {
			sizes = append(sizes, &m.Sizes[i])
		}
	}
	j := sheet.Job{
		Title: m.title(), Shop: m.shop(), Ref: pr.Ref, Stamp: pr.Stamp,
		Notes: book.Notes(m.Style.Labels),
	}
	if m.Children() {
		j.Notes = append(j.Notes, book.ChildNotes()...)
	}
	j.Notes = append(j.Notes, m.custom(sizes)...)
	if m.Report.Fail > 0 {
		j.Warning = "Some checks failed: this pattern will not sew as it is"
	}
	if pr.Sample {
		j.Warning = strings.TrimSuffix(sampleText+". "+j.Warning, ". ")
	}
	bodies := 0
	for _, s := range sizes {
		j.Sizes = append(j.Sizes, s.Pattern.Size)
		// A size has its line by its place in the run, whichever sizes are printed; bodies have those after it.
		style := m.Block.Chart.Index(s.Pattern.Size)
		if style < 0 {
			style = len(m.Block.Chart.Run) + bodies
			bodies++
		}
		j.Styles = append(j.Styles, style)
	}
	j.Chart, j.Finished = m.chart(sizes), garment(sizes)
	var listed []*pattern.Piece
	for _, name := range pieceNames(sizes) {
		pc := sheet.Piece{Name: name}
		for _, s := range sizes {
			i := pieceIndex(&s.Pattern, name)
			if i < 0 {
				pc.Sizes = append(pc.Sizes, sheet.Drawn{})
				continue
			}
			p := &s.Pattern.Pieces[i]
			if pc.Lines == nil {
				pc.Lines = book.Label(m.title(), p, s.Cut[i])
				listed = append(listed, p)
			}
			pc.Sizes = append(pc.Sizes, drawn(p, s.Cut[i], pr.SeamLines))
		}
		pc.Lines = append(pc.Lines, otherCounts(sizes, name)...)
		j.Pieces = append(j.Pieces, pc)
	}
	j.Cutting = book.Cutting(listed)
	return j
}

func (m Made) title() string {
	if m.Style.Title != "" {
		return m.Style.Title
	}
	return m.Style.Name
}

func (m Made) shop() string {
	if m.Style.Shop != "" {
		return m.Style.Shop
	}
	return m.Block.Shop
}

// pieceNames lists the pieces in the order of the first size that has them.
func pieceNames(sizes []*Size) []string {
	var names []string
	for _, s := range sizes {
		names = append(names, s.Pattern.PieceNames()...)
	}
	return unique(names)
}

func pieceIndex(p *pattern.Pattern, name string) int {
	for i := range p.Pieces {
		if p.Pieces[i].Name == name {
			return i
		}
	}
	return -1
}

// drawn lines a piece up on its align point, which becomes the origin of the nest.
func drawn(p *pattern.Piece, c allowance.Piece, seamLines bool) sheet.Drawn {
	m := geom.Translate(geom.Pt(0, 0).Sub(p.Align))
	d := sheet.Drawn{Cut: c.Cut.Transform(m), Grain: [2]geom.Point{m.Apply(p.Grain[0]), m.Apply(p.Grain[1])}}
	for _, n := range c.Notches {
		d.Notches = append(d.Notches, geom.Path{geom.Line(m.Apply(n.From), m.Apply(n.To))})
	}
	for _, s := range c.Squares {
		d.Squares = append(d.Squares, sheet.Square{At: m.Apply(s.At), Dir: s.Dir})
	}
	for i := range p.Marks {
		if k := &p.Marks[i]; k.Kind == pattern.Dot {
			at := m.Apply(k.At)
			d.Dots = append(d.Dots, at)
			d.Texts = append(d.Texts, sheet.Callout{At: at, S: book.Words(k.Name)})
		}
	}
	for i := range p.Edges {
		e := &p.Edges[i]
		path := e.Path.Transform(m)
		switch {
		case e.Fold:
			d.Folds = append(d.Folds, path)
		case p.IsLeg(e.Name):
			d.Inner = append(d.Inner, path)
		case seamLines:
			d.Seam = append(d.Seam, path)
		}
	}
	for _, l := range p.Lines {
		d.Inner = append(d.Inner, l.Path.Transform(m))
	}
	return d
}
