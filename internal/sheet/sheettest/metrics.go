// Package sheettest holds what tests of the drawing and of its writers share: a job of the usual
// size, and a measure of text that needs no font. Only tests import it.
package sheettest

import "sizerun/internal/sheet"

// Metrics measures text as a plain sans serif of even width would: wide enough that labels which
// fit by it also fit in the house's faces. It lacks every rune outside Latin-1 and a little
// punctuation, so that tests can see missing runes handled.
type Metrics struct{}

// Width is 0.56 em a rune, 0.60 in bold; narrow letters and marks 0.30.
func (Metrics) Width(f sheet.Face, s string) float64 {
	w := 0.0
	for _, r := range s {
		switch r {
		case 'i', 'j', 'l', '.', ',', ':', ';', '\'', '|', ' ', '!', '·':
			w += 0.30
		case 'm', 'w', 'M', 'W', '—', '…':
			w += 0.90
		default:
			w += 0.56
		}
	}
	if f == sheet.Bold {
		w *= 1.07
	}
	return w
}

// Ascent is the height of a capital.
func (Metrics) Ascent(sheet.Face) float64 { return 0.73 }

// Descent is the depth of a g.
func (Metrics) Descent(sheet.Face) float64 { return 0.22 }

// Missing lists the runes that are not in the pretended font.
func (Metrics) Missing(s string) []rune {
	var out []rune
	for _, r := range s {
		if r >= 0x20 && r < 0x7f || r >= 0xa0 && r < 0x180 || r == '—' || r == '–' || r == '…' || r == '’' || r == '×' {
			continue
		}
		out = append(out, r)
	}
	return out
}
