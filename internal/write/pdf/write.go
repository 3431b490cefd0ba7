package pdf

import (
	"fmt"
	"io"
	"sync"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// writer is the scratch space of one Write, kept from one to the next: a deflater is large.
type writer struct {
	file    file
	content content
	inks    inks
	dict    []byte // a dictionary in the making
}

var idle = sync.Pool{New: func() any { return new(writer) }}

// Write checks d and writes it as a PDF. Nothing is written to w when d is refused; the refusal is
// a pattern.Faults. Equal documents give equal bytes. f must not be in use by another goroutine.
func Write(w io.Writer, d sheet.Document, f *Fonts) error {
	wr := idle.Get().(*writer)
	if err := wr.guarded(d, f); err != nil {
		return err // a writer that was interrupted is not used again
	}
	_, err := w.Write(wr.file.buf)
	idle.Put(wr)
	if err != nil {
		return fmt.Errorf("pdf: write: %w", err)
	}
	return nil
}

// guarded writes the document into the buffer. The font library panics on what it cannot do; a
// caller must never fall with it.
func (wr *writer) guarded(d sheet.Document, f *Fonts) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = pattern.Fault{Rule: "pdf_internal", Detail: fmt.Sprintf("writing the PDF stopped: %v", p),
				Remedy: "please report the style and run that led here"}
		}
	}()
	if f == nil {
		return pattern.Fault{Rule: "pdf_fonts", Detail: "no fonts given", Remedy: "load them with Faces"}
	}
	if err := check(d, f).Err(); err != nil {
		return err
	}
	return wr.document(d, f)
}

func (wr *writer) document(d sheet.Document, f *Fonts) error {
	out := &wr.file
	out.reset()
	wr.inks.reset(f)
	root, pages, info, meta := out.reserve(), out.reserve(), out.reserve(), out.reserve()
	ocgs := make([]int, len(d.Layers))
	for i := range ocgs {
		ocgs[i] = out.reserve()
	}
	forms := make([]int, len(d.Forms))
	for i, fm := range d.Forms {
		if err := wr.draw(f, fm.Items); err != nil {
			return err
		}
		forms[i] = out.reserve()
		wr.dict = box(append(wr.dict[:0], "/Type /XObject /Subtype /Form /BBox "...), formBox(fm))
		wr.dict = wr.resources(wr.dict, ocgs, forms)
		if err := out.stream(forms[i], wr.dict, wr.content.buf); err != nil {
			return err
		}
	}
	var kids []byte
	for _, p := range d.Pages {
		// One matrix per page leads from millimetres to points.
		if err := wr.draw(f, p.Items, toPoints); err != nil {
			return err
		}
		page, body := out.reserve(), out.reserve()
		media := geom.Rect{Max: geom.Pt(p.W*ptPerMM, p.H*ptPerMM)}
		wr.dict = fmt.Appendf(wr.dict[:0], "<</Type /Page /Parent %d 0 R /Contents %d 0 R /MediaBox ", pages, body)
		wr.dict = wr.resources(box(wr.dict, media), ocgs, forms)
		out.object(page, append(wr.dict, ">>"...))
		if err := out.stream(body, nil, wr.content.buf); err != nil {
			return err
		}
		kids = append(appendInt(kids, int64(page)), " 0 R "...)
	}
	out.object(pages, fmt.Appendf(nil, "<</Type /Pages /Count %d /Kids [%s]>>", len(d.Pages), kids))
	for face, id := range wr.inks.obj {
		if id != 0 {
			if err := out.writeFont(id, face, f, &wr.inks); err != nil {
				return err
			}
		}
	}
	layers := out.writeLayers(d.Layers, ocgs)
	lang := ""
	if d.Info.Lang != "" {
		lang = " /Lang " + textString(d.Info.Lang)
	}
	out.object(root, fmt.Appendf(nil, "<</Type /Catalog /Pages %d 0 R%s%s%s /ViewerPreferences <</DisplayDocTitle true /PrintScaling /None>> /Metadata %d 0 R>>",
		pages, layers, pageLabels(d.Pages), lang, meta))
	out.object(info, []byte(infoDict(d.Info)))
	out.raw(meta, []byte("/Type /Metadata /Subtype /XML"), []byte(xmp(d.Info)))
	return out.finish(root, info)
}

const (
	ptPerMM  = 72 / 25.4
	toPoints = "2.8346456693 0 0 2.8346456693 0 0 cm"
)

// box writes a rectangle array.
func box(b []byte, r geom.Rect) []byte {
	b = appendNums(append(b, '['), r.Min.X, r.Min.Y, r.Max.X, r.Max.Y)
	b[len(b)-1] = ']'
	return b
}

// formBox is the form's box with room for the width of its lines: the box clips, and half a line
// lies outside the path it is drawn along.
func formBox(fm sheet.Form) geom.Rect {
	room := 1.0
	for _, it := range fm.Items {
		if it.Stroke != nil {
			room = max(room, it.Stroke.Pen.Width)
		}
	}
	return fm.Bounds.Inset(-room)
}

func (wr *writer) draw(f *Fonts, items []sheet.Item, first ...string) error {
	c := &wr.content
	c.reset(f, &wr.inks)
	for _, op := range first {
		c.op(op)
	}
	c.items(items)
	return c.err
}

// resources appends the entry that lists what the content just drawn refers to by name.
func (wr *writer) resources(b []byte, ocgs, forms []int) []byte {
	c := &wr.content
	b = append(b, " /Resources <<"...)
	entry := func(prefix byte, i, id int) {
		b = append(appendInt(append(b, '/', prefix), int64(i)), ' ')
		b = append(appendInt(b, int64(id)), " 0 R "...)
	}
	if len(c.forms.list) > 0 {
		b = append(b, "/XObject <<"...)
		for _, i := range c.forms.list {
			entry('X', i, forms[i])
		}
		b = append(b, ">> "...)
	}
	if len(c.ocgs.list) > 0 {
		b = append(b, "/Properties <<"...)
		for _, i := range c.ocgs.list {
			entry('L', i, ocgs[i])
		}
		b = append(b, ">> "...)
	}
	if c.faces != [faceCount]bool{} {
		b = append(b, "/Font <<"...)
		for face, used := range c.faces {
			if !used {
				continue
			}
			if wr.inks.obj[face] == 0 {
				wr.inks.obj[face] = wr.file.reserve()
			}
			entry('F', face, wr.inks.obj[face])
		}
		b = append(b, ">> "...)
	}
	return append(b, ">>"...)
}
