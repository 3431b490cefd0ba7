package pdf

import (
	"encoding/binary"
	"fmt"
	"math/bits"
	"slices"
	"unicode/utf16"

	"github.com/tdewolff/font"
)

// inks is which glyphs of each face a document draws, and the text each stands for.
type inks struct {
	seen [faceCount][]uint64 // a bit per glyph
	text [faceCount]map[uint16]string
	obj  [faceCount]int // object number of the face, 0 until it is used
}

func (k *inks) reset(f *Fonts) {
	for i := range k.seen {
		n := (int(f.faces[i].Font.NumGlyphs()) + 63) / 64
		k.seen[i] = slices.Grow(k.seen[i][:0], n)[:n]
		clear(k.seen[i])
		if k.text[i] == nil {
			k.text[i] = map[uint16]string{}
		}
		clear(k.text[i])
		k.obj[i] = 0
	}
}

func (k *inks) mark(face int, glyph uint16, text string) {
	word, bit := glyph/64, uint64(1)<<(glyph%64)
	if k.seen[face][word]&bit != 0 {
		return
	}
	k.seen[face][word] |= bit
	k.text[face][glyph] = text
}

// glyphs lists what a face draws, in the font's order, .notdef first.
func (k *inks) glyphs(face int) []uint16 {
	out := []uint16{0}
	for i, w := range k.seen[face] {
		for ; w != 0; w &= w - 1 {
			if g := uint16(i*64 + bits.TrailingZeros64(w)); g != 0 {
				out = append(out, g)
			}
		}
	}
	return out
}

// writeFont embeds what is used of a face as a composite font: codes are glyph numbers of the whole
// font (so that a shaped label is written alike in every document) and CIDToGIDMap leads to the
// glyphs of the subset.
func (f *file) writeFont(id, face int, own *Fonts, k *inks) error {
	glyphs := k.glyphs(face)
	sfnt := own.faces[face].Font.SFNT
	count := len(glyphs)
	program, err := subset(own, face, glyphs)
	if err != nil {
		return err
	}
	name := subsetTag(glyphs) + "+" + psNames[face]
	em := float64(sfnt.Head.UnitsPerEm)
	mil := func(v int16) int64 { return int64(float64(v) * 1000 / em) }

	toGID := make([]byte, 2*(int(glyphs[count-1])+1))
	widths := []byte{'['}
	for i, g := range glyphs {
		binary.BigEndian.PutUint16(toGID[2*int(g):], uint16(i))
		if i == 0 || g != glyphs[i-1]+1 {
			if i > 0 {
				widths = append(widths, ']')
			}
			widths = append(appendInt(widths, int64(g)), '[')
		}
		widths = append(appendNum(widths, float64(sfnt.GlyphAdvance(g))*1000/em), ' ')
	}
	widths = append(widths, "]]"...)

	descendant, descriptor, data, gids, unicode := f.reserve(), f.reserve(), f.reserve(), f.reserve(), f.reserve()
	f.object(id, fmt.Appendf(nil, "<</Type /Font /Subtype /Type0 /BaseFont /%s /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R>>", name, descendant, unicode))
	f.object(descendant, fmt.Appendf(nil, "<</Type /Font /Subtype /CIDFontType2 /BaseFont /%s /CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> /FontDescriptor %d 0 R /DW 0 /W %s /CIDToGIDMap %d 0 R>>", name, descriptor, widths, gids))
	stem := 80
	if face > 0 {
		stem = 140
	}
	f.object(descriptor, fmt.Appendf(nil, "<</Type /FontDescriptor /FontName /%s /Flags 4 /FontBBox [%d %d %d %d] /ItalicAngle 0 /Ascent %d /Descent %d /CapHeight %d /StemV %d /FontFile2 %d 0 R>>",
		name, mil(sfnt.Head.XMin), mil(sfnt.Head.YMin), mil(sfnt.Head.XMax), mil(sfnt.Head.YMax),
		mil(sfnt.Hhea.Ascender), mil(sfnt.Hhea.Descender), mil(sfnt.OS2.SCapHeight), stem, data))
	if err := f.stream(data, fmt.Appendf(nil, "/Length1 %d", len(program)), program); err != nil {
		return err
	}
	if err := f.stream(gids, nil, toGID); err != nil {
		return err
	}
	return f.stream(unicode, nil, toUnicode(glyphs, k.text[face]))
}

// subset is a font file with just these glyphs and what they are composed of. The last one of each
// face is kept: a job is written on several papers, and a style for many orders, with the same
// letters.
func subset(own *Fonts, face int, glyphs []uint16) ([]byte, error) {
	if last := &own.last[face]; last.program != nil && slices.Equal(last.glyphs, glyphs) {
		return last.program, nil
	}
	sub, err := own.faces[face].Font.Subset(slices.Clone(glyphs), font.SubsetOptions{Tables: font.KeepPDFTables})
	if err != nil {
		return nil, fmt.Errorf("pdf: subset %s: %w", psNames[face], err)
	}
	b := sub.Write()
	if err := unstamp(b); err != nil {
		return nil, err
	}
	own.last[face].glyphs, own.last[face].program = slices.Clone(glyphs), b
	return b, nil
}

// toUnicode is the CMap that lets readers copy and search text (ISO 32000-1, 9.10.3).
func toUnicode(glyphs []uint16, text map[uint16]string) []byte {
	b := []byte("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n" +
		"/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n" +
		"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
	var known []uint16
	for _, g := range glyphs {
		if text[g] != "" {
			known = append(known, g)
		}
	}
	for part := range slices.Chunk(known, 100) { // no more than 100 entries in a section
		b = fmt.Appendf(b, "%d beginbfchar\n", len(part))
		for _, g := range part {
			b = fmt.Appendf(b, "<%04X> <", g)
			for _, u := range utf16.Encode([]rune(text[g])) {
				b = fmt.Appendf(b, "%04X", u)
			}
			b = append(b, ">\n"...)
		}
		b = append(b, "endbfchar\n"...)
	}
	return append(b, "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"...)
}

// subsetTag is the six capitals that mark a subset; the same glyphs have the same tag.
func subsetTag(glyphs []uint16) string {
	h := uint64(14695981039346656037) // FNV-1a
	for _, g := range glyphs {
		h = (h ^ uint64(g)) * 1099511628211
	}
	var tag [6]byte
	for i := range tag {
		tag[i] = byte('A' + h%26)
		h /= 26
	}
	return string(tag[:])
}

// unstamp replaces the time of writing that the font library puts into head.modified by the time
// of the font's creation, and mends the two checksums that cover it, so that the same glyphs give
// the same bytes on any day.
func unstamp(b []byte) error {
	const created, modified, adjustment, magic = 20, 28, 8, 0xB1B0AFBA
	n := int(binary.BigEndian.Uint16(b[4:]))
	for i := range n {
		rec := b[12+16*i:]
		if string(rec[:4]) != "head" {
			continue
		}
		at, size := binary.BigEndian.Uint32(rec[8:]), binary.BigEndian.Uint32(rec[12:])
		head := b[at : at+(size+3)&^3]
		copy(head[modified:modified+8], head[created:created+8])
		binary.BigEndian.PutUint32(head[adjustment:], 0)
		binary.BigEndian.PutUint32(rec[4:], checksum(head))
		binary.BigEndian.PutUint32(head[adjustment:], magic-checksum(b))
		return nil
	}
	return fmt.Errorf("pdf: the font subset has no head table")
}

// checksum adds up 32-bit words; a table is padded to whole words.
func checksum(b []byte) uint32 {
	var sum uint32
	for ; len(b) >= 4; b = b[4:] {
		sum += binary.BigEndian.Uint32(b)
	}
	return sum
}
