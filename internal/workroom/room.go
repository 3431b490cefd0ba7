package workroom

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"sizerun/internal/change"
	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/shop"
	"sizerun/internal/write/pdf"
)

// Engine names what makes the files. It changes with every change that makes other bytes of the
// same input, so that files kept from an older engine are not handed out as this one's.
const Engine = "sizerun-4"

// Room makes files. It is safe for use by several workers at once: each making borrows a set of
// fonts of its own.
type Room struct {
	limits document.Limits
	fonts  pdf.Pool
	recent recent
}

var _ shop.Maker = (*Room)(nil)

// New opens a workroom. It fails when the embedded fonts can't be read.
func New(limits document.Limits) (*Room, error) {
	r := &Room{limits: limits}
	f, err := r.fonts.Borrow()
	if err != nil {
		return nil, err
	}
	r.fonts.Return(f)
	return r, nil
}

// Version names the engine.
func (r *Room) Version() string { return Engine }

// Check makes the style and judges it, without paper.
func (r *Room) Check(ctx context.Context, m shop.Making) ([]byte, shop.Summary, error) {
	d, err := r.design(ctx, m, nil)
	if err != nil {
		return nil, shop.Summary{}, err
	}
	report, err := d.reported()
	return report, summary(d.made), err
}

// Make makes the style, and its files unless a check failed and the request did not say to deliver
// anyway.
func (r *Room) Make(ctx context.Context, m shop.Making, progress func(stage string, done, total int)) (shop.Product, error) {
	if progress == nil {
		progress = func(string, int, int) {}
	}
	d, err := r.design(ctx, m, progress)
	if err != nil {
		return shop.Product{}, err
	}
	p := shop.Product{Summary: summary(d.made), Failed: d.made.Report.Fail > 0}
	sheets := sheetsOf(d.made, m.Request)
	if p.Report, err = d.reported(drawnIn(d.made, sheets)...); err != nil {
		return shop.Product{}, err
	}
	if p.Failed && !m.Request.DeliverAnyway {
		return p, nil
	}
	if p.Files, err = r.printAll(ctx, d, sheets, progress); err != nil {
		return shop.Product{}, err
	}
	for _, f := range p.Files {
		p.Summary.Pages += f.Pages
	}
	return p, nil
}

// design answers what was made of this lately, or makes it.
func (r *Room) design(ctx context.Context, m shop.Making, progress func(string, int, int)) (*design, error) {
	key, err := designKey(m)
	if err != nil {
		return nil, err
	}
	if d := r.recent.get(key); d != nil {
		if err := asked(m.Request, d.made.Block, d.made.Style).Err(); err != nil {
			return nil, err
		}
		return d, ctx.Err()
	}
	made, err := r.make(ctx, m, progress)
	if err != nil {
		return nil, err
	}
	d := &design{key: key, made: made}
	r.recent.put(d)
	return d, nil
}

// make decodes the documents and makes the pattern.
func (r *Room) make(ctx context.Context, m shop.Making, progress func(string, int, int)) (maker.Made, error) {
	in, err := r.input(m)
	if err != nil {
		return maker.Made{}, err
	}
	return makeIt(ctx, in, progress)
}

// input decodes the documents, and judges the request by them.
func (r *Room) input(m shop.Making) (maker.Input, error) {
	var fs pattern.Faults
	block, err := document.DecodeBlock(m.Block, r.limits)
	fs = append(fs, pattern.FaultsOf(err).Under("/block")...)
	// A block alone is looked at as it is: nothing is changed, and no allowance is added but its own.
	style := pattern.Style{Name: block.Name, Title: block.Title, Block: block.Name}
	if m.Style != nil {
		style, err = document.DecodeStyle(m.Style, r.limits)
		fs = append(fs, pattern.FaultsOf(err).Under("/style")...)
	}
	if err := fs.Err(); err != nil {
		return maker.Input{}, err
	}
	if err := asked(m.Request, block, style).Err(); err != nil {
		return maker.Input{}, err
	}
	in := maker.Input{Block: block, Style: style, Sizes: m.Request.Sizes}
	for _, b := range m.Request.Bodies {
		in.Bodies = append(in.Bodies, maker.Body{Name: b.Name, Body: b.Body})
	}
	return in, nil
}

func makeIt(ctx context.Context, in maker.Input, progress func(string, int, int)) (maker.Made, error) {
	return maker.Make(in, func(s maker.Stage, done, total int) error {
		if err := ctx.Err(); err != nil {
			return err
		}
		if progress != nil {
			progress(string(s), done, total)
		}
		return nil
	})
}

// asked judges the request against the block before anything is made.
func asked(q document.RunRequest, b pattern.Block, st pattern.Style) pattern.Faults {
	var fs pattern.Faults
	for i, s := range q.Sizes {
		if b.Chart.Index(s) < 0 {
			fs = append(fs, pattern.Fault{Rule: "unknown_size", Pointer: fmt.Sprintf("/sizes/%d", i), Size: s,
				Detail: fmt.Sprintf("the block has no size %q", s), Valid: pattern.Choices(b.Chart.Run), Remedy: pattern.Suggest(s, b.Chart.Run)})
		}
	}
	for i, o := range q.Outputs {
		if _, ok := sheet.Papers(o.Paper); !ok {
			fs = append(fs, pattern.Fault{Rule: "unknown_paper", Pointer: fmt.Sprintf("/outputs/%d/paper", i),
				Detail: fmt.Sprintf("there is no paper %q", o.Paper), Valid: pattern.Choices(sheet.PaperNames()), Remedy: pattern.Suggest(o.Paper, sheet.PaperNames())})
		}
		fs = append(fs, drawable(q, b, st, o).Under(fmt.Sprintf("/outputs/%d", i))...)
	}
	return fs
}

// aSheet is one file to be drawn: a paper, the whole nest or one size of it.
type aSheet struct {
	name      string
	paper     string
	print     maker.Print
	companion bool
}

func sheetsOf(made maker.Made, q document.RunRequest) []aSheet {
	var out []aSheet
	for _, o := range q.Outputs {
		pr := maker.Print{SeamLines: o.SeamLines, Stamp: q.Stamp, Sample: q.Sample, Ref: made.Style.Name + " · " + Engine, Drawings: o.Drawings, EveryDrawing: o.EveryDrawing}
		switch {
		case o.Companion:
			out = append(out, aSheet{fileName(made.Style.Name+"-companion", o.Paper), o.Paper, pr, true})
			continue
		case !o.PerSize:
			out = append(out, aSheet{fileName(made.Style.Name, o.Paper), o.Paper, pr, false})
			continue
		}
		for i := range made.Sizes {
			pr.Only = made.Sizes[i].Pattern.Size
			out = append(out, aSheet{fileName(made.Style.Name+"-"+safe(pr.Only), o.Paper), o.Paper, pr, false})
		}
	}
	return out
}

func (r *Room) print(d *design, s aSheet) (shop.ProductFile, error) {
	f, err := r.fonts.Borrow()
	if err != nil {
		return shop.ProductFile{}, err
	}
	defer r.fonts.Return(f)
	doc, err := d.layout(s, f)
	if err != nil {
		return shop.ProductFile{}, err
	}
	var b bytes.Buffer
	if err := pdf.Write(&b, doc, f); err != nil {
		return shop.ProductFile{}, err
	}
	return shop.ProductFile{Name: s.name, MediaType: "application/pdf", Paper: s.paper, Pages: len(doc.Pages), Data: b.Bytes()}, nil
}

// layout answers a sheet of the design as it was laid out before, or lays it out.
func (d *design) layout(s aSheet, f sheet.Metrics) (sheet.Document, error) {
	paper, ok := sheet.Papers(s.paper)
	if !ok {
		return sheet.Document{}, fmt.Errorf("workroom: no paper %q", s.paper)
	}
	if doc, known := d.laid(s, f); known {
		return doc, nil
	}
	if s.companion {
		return d.made.Companion(s.print).Pages(paper, f), nil
	}
	doc, err := sheet.Layout(d.made.Job(s.print), paper, f, sheet.Options{SeamLines: s.print.SeamLines})
	if err != nil {
		return sheet.Document{}, onPaper(err)
	}
	d.keep(s, doc)
	return doc, nil
}

// onPaper turns what a sheet refuses into the common Fault: sheet knows of no patterns.
func onPaper(err error) error {
	if f, ok := errors.AsType[sheet.Fault](err); ok {
		return pattern.Faults{{Rule: f.Rule, Pointer: "/outputs", Size: f.Size, Piece: f.Piece, Detail: f.Detail, Valid: f.Valid, Remedy: f.Remedy}}
	}
	return err
}

func summary(m maker.Made) shop.Summary {
	s := shop.Summary{Pass: m.Report.Pass, Warn: m.Report.Warn, Fail: m.Report.Fail}
	at := map[string]int{}
	for i := range m.Sizes {
		size := m.Sizes[i].Pattern.Size
		at[size] = i
		s.Sizes = append(s.Sizes, size)
		s.BySize = append(s.BySize, shop.SizeSummary{Size: size})
		if i == 0 {
			s.Pieces = len(m.Sizes[i].Pattern.Pieces)
		}
	}
	for _, c := range m.Report.Checks {
		i, ok := at[c.Size]
		if !ok {
			continue // a check over the whole run
		}
		switch c.Verdict {
		case "pass":
			s.BySize[i].Pass++
		case "warn":
			s.BySize[i].Warn++
		default:
			s.BySize[i].Fail++
		}
	}
	return s
}

// fileName is the name that a file is offered under: letters, digits, "-" and "_" only.
func fileName(base, paper string) string { return safe(base) + "-" + safe(paper) + ".pdf" }

func safe(s string) string {
	b := []byte(s)
	for i, c := range b {
		switch {
		case c >= 'a' && c <= 'z', c >= 'A' && c <= 'Z', c >= '0' && c <= '9', c == '-', c == '_':
		default:
			b[i] = '-'
		}
	}
	return string(b)
}

// Changes is the register of changes as JSON.
func (r *Room) Changes() []byte {
	b, err := document.EncodeChanges(change.Register())
	if err != nil {
		return []byte("[]") // strings and finite numbers always encode
	}
	return b
}
