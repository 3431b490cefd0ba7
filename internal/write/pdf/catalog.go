package pdf

import (
	"fmt"
	"strings"

	"sizerun/internal/sheet"
)

// producer names the writer in the metadata.
const producer = "Sizerun"

// writeLayers writes an optional content group for every layer and returns the catalogue's
// entry. Every reader's list shows them in document order, and each starts as its layer says.
func (f *file) writeLayers(layers []sheet.Layer, ids []int) string {
	if len(layers) == 0 {
		return ""
	}
	var all, on, off []string
	for i, l := range layers {
		f.object(ids[i], fmt.Appendf(nil, "<</Type /OCG /Name %s /Intent /View>>", textString(l.Name)))
		ref := fmt.Sprintf("%d 0 R", ids[i])
		all = append(all, ref)
		if l.On {
			on = append(on, ref)
		} else {
			off = append(off, ref)
		}
	}
	list := func(refs []string) string { return "[" + strings.Join(refs, " ") + "]" }
	d := "/Name (Sizes) /BaseState /ON /ON " + list(on)
	if len(off) > 0 {
		d += " /OFF " + list(off)
	}
	return fmt.Sprintf(" /OCProperties <</OCGs %s /D <<%s /Order %s /ListMode /AllPages>>>> /PageMode /UseOC",
		list(all), d, list(all))
}

// pageLabels gives every page its own name in a reader's page list.
func pageLabels(pages []sheet.Page) string {
	var b strings.Builder
	for i, p := range pages {
		if p.Label == "" {
			fmt.Fprintf(&b, "%d <</S /D /St %d>> ", i, i+1)
			continue
		}
		fmt.Fprintf(&b, "%d <</P %s>> ", i, textString(p.Label))
	}
	return " /PageLabels <</Nums [" + b.String() + "]>>"
}

func infoDict(in sheet.Info) string {
	var b strings.Builder
	b.WriteString("<<")
	for _, e := range []struct{ key, value string }{
		{"Title", in.Title}, {"Author", in.Author}, {"Subject", in.Subject},
		{"Keywords", strings.Join(in.Keywords, ", ")}, {"Creator", producer}, {"Producer", producer},
	} {
		if e.value != "" {
			fmt.Fprintf(&b, "/%s %s ", e.key, textString(e.value))
		}
	}
	b.WriteString(">>")
	return b.String()
}

// esc makes s fit for XML text: what XML 1.0 cannot hold at all, as most control characters, is
// left out.
func esc(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' && r != '\r' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(s)
}

// xmp says the same as the information dictionary in the form of ISO 16684-1. It stays
// uncompressed, so that tools which do not read PDF can find it.
func xmp(in sheet.Info) string {
	var b strings.Builder
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n" +
		"<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\">\n" +
		"<dc:format>application/pdf</dc:format>\n")
	alt := func(name, v string) {
		if v != "" {
			fmt.Fprintf(&b, "<dc:%s><rdf:Alt><rdf:li xml:lang=\"x-default\">%s</rdf:li></rdf:Alt></dc:%s>\n", name, esc(v), name)
		}
	}
	alt("title", in.Title)
	if in.Author != "" {
		fmt.Fprintf(&b, "<dc:creator><rdf:Seq><rdf:li>%s</rdf:li></rdf:Seq></dc:creator>\n", esc(in.Author))
	}
	alt("description", in.Subject)
	if len(in.Keywords) > 0 {
		b.WriteString("<dc:subject><rdf:Bag>")
		for _, k := range in.Keywords {
			fmt.Fprintf(&b, "<rdf:li>%s</rdf:li>", esc(k))
		}
		fmt.Fprintf(&b, "</rdf:Bag></dc:subject>\n<pdf:Keywords>%s</pdf:Keywords>\n", esc(strings.Join(in.Keywords, ", ")))
	}
	if in.Lang != "" {
		fmt.Fprintf(&b, "<dc:language><rdf:Bag><rdf:li>%s</rdf:li></rdf:Bag></dc:language>\n", esc(in.Lang))
	}
	fmt.Fprintf(&b, "<pdf:Producer>%s</pdf:Producer>\n<xmp:CreatorTool>%s</xmp:CreatorTool>\n", producer, producer)
	b.WriteString("</rdf:Description>\n</rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.String()
}
