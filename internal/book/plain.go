package book

import (
	"math"
	"regexp"
	"strconv"
	"strings"

	"sizerun/internal/pattern"
)

// A reader at the table knows pieces by their titles. What a change says may still hold names of the
// document ("sleeve_band", "front.hem") and lengths finer than any tape: a speaker puts them in plain
// words. Nothing else of a sentence is touched.
type speaker struct {
	title map[string]string // piece name → its title within a sentence
	marks map[string]mark   // by the mark's name, of the first piece that has it
}

type mark struct {
	kind  pattern.MarkKind
	piece string
}

func speakerOf(p *pattern.Pattern) speaker {
	s := speaker{map[string]string{}, map[string]mark{}}
	for i := range p.Pieces {
		pc := &p.Pieces[i]
		s.title[pc.Name] = Spoken(pc)
		for k := range pc.Marks {
			if m := &pc.Marks[k]; s.marks[m.Name].piece == "" {
				s.marks[m.Name] = mark{m.Kind, pc.Name}
			}
		}
	}
	return s
}

// Spoken is a piece's title within a sentence: "Front, side panel" is "front side panel", and what
// stands in brackets is for the label only.
func Spoken(p *pattern.Piece) string {
	t := Words(p.Title)
	if i := strings.IndexByte(t, '('); i > 0 {
		t = t[:i]
	}
	t = strings.ToLower(strings.Join(strings.Fields(strings.ReplaceAll(t, ",", " ")), " "))
	if t == "" {
		return Words(p.Name)
	}
	return t
}

var (
	// codeName is a name of the document: words tied by underscores, or a piece and its edge by a point.
	codeName = regexp.MustCompile(`\b[a-z][a-z0-9]*(?:[_.][a-z0-9]+)+\b`)
	exact    = regexp.MustCompile(`\b(\d+\.\d+) mm( \()?`)
)

// plain is a sentence in the reader's words.
func (s speaker) plain(text string) string {
	text = codeName.ReplaceAllStringFunc(text, func(name string) string {
		piece, edge, ok := strings.Cut(name, ".")
		if !ok {
			return s.piece(name)
		}
		if len(piece) < 2 {
			return name // "e.g"
		}
		return Words(edge) + " of " + s.piece(piece)
	})
	return exact.ReplaceAllStringFunc(text, func(m string) string {
		number, _, _ := strings.Cut(m, " ")
		mm, err := strconv.ParseFloat(number, 64)
		if err != nil || strings.HasSuffix(m, "(") {
			return m // an exact fraction of an inch keeps its millimetres
		}
		return tapeMm(mm) + strings.TrimPrefix(m, number+" mm")
	})
}

func (s speaker) piece(name string) string {
	if t, ok := s.title[name]; ok {
		return t
	}
	return Words(name)
}

// tapeMm writes a measured length as finely as it can be measured by hand: tenths up to 100 mm, which
// a ruler's edge allows, halves up to a metre, then whole millimetres (common practice).
func tapeMm(mm float64) string {
	step := 0.1
	switch a := math.Abs(mm); {
	case a >= 1000:
		step = 1
	case a >= 100:
		step = 0.5
	}
	return Mm(math.Round(mm/step) * step)
}

// tape writes a measured length with the nearest sixteenth of an inch beside it. What is a sixteenth to
// the eye keeps its tenths: 4 in are 101.6 mm.
func tape(mm float64) string {
	in, off := pattern.Inches(mm, 16)
	if off <= 0.05 && math.Abs(mm) < 1000 {
		return Mm(mm) + " (" + in + " in)"
	}
	return tapeMm(mm) + " (" + in + " in)"
}

// list joins words as a sentence does: "front, back and sleeve".
func list(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
	return strings.Join(words, "")
}

// runs breaks a text into what a line may be broken between: words, but a number keeps its unit and
// its fraction, and the inches in brackets their millimetres.
func runs(text string) []string {
	words := strings.Fields(text)
	var out []string
	for i, w := range words {
		if i > 0 && glued(words[i-1], w) {
			out[len(out)-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

func glued(a, b string) bool {
	digit := func(c byte) bool { return c >= '0' && c <= '9' }
	start := strings.TrimLeft(b, "([")
	switch unit := strings.TrimRight(b, ".,;:)]"); {
	case start == "":
		return false
	case digit(a[len(a)-1]):
		if unit == "mm" || unit == "cm" || unit == "in" || unit == "m" || unit == "%" {
			return true
		}
		return strings.Contains(b, "/") && digit(b[0]) // "5 11/16"
	case a == "mm":
		return b[0] == '(' && (digit(start[0]) || start == "about")
	}
	return strings.TrimLeft(a, "([") == "about" && digit(start[0])
}

// label is what a point of a drawing is called. A mark that a change numbered ("hem_seam_2",
// "band_hem_1_2") is known by what it is, and one of many lines by its kind.
func (s speaker) label(text string) string {
	m, ok := s.marks[text]
	if !ok {
		return s.plain(oneOfMany.ReplaceAllString(text, "a line"))
	}
	if m.kind == pattern.Dot && !strings.Contains(strings.TrimPrefix(text, m.piece+"_"), "_") {
		return Words(text) // "front dot" on the front
	}
	name := text
	for piece := range s.title {
		if n, ok := strings.CutPrefix(text, piece+"_"); ok && len(n) < len(name) && n != "notch" {
			name = n
		}
	}
	name = Words(strings.TrimRight(name, "_0123456789"))
	if m.kind == pattern.Notch && !strings.Contains(name, "notch") && !strings.Contains(name, "seam") {
		name = strings.TrimSuffix("notch, "+name, ", ")
	}
	return name
}

var oneOfMany = regexp.MustCompile(`^line \d+\b`)
