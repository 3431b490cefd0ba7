package book_test

import (
	"strings"
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/testdata"
)

// A change that adds a step to a piece leaves the piece's other seams to be told, each of them once.
func TestEverySeamIsToldOnceWhateverTheChangesTell(t *testing.T) {
	read := func(name string) []byte {
		b, err := testdata.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	block, err := document.DecodeBlock(read("blocks/wren-w.json"), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	for name, want := range map[string][]string{
		"pipit-bishop":    {"Underarm:", "Armhole front:", "Armhole back:", "Side:", "Gather the hem of sleeve"},
		"dunnock-puff":    {"Underarm:", "Armhole front:", "gathering stitches along the cap", "Hem sleeve:"},
		"siskin-bell":     {"Underarm:", "Armhole front:", "hang overnight", "Hem sleeve:"},
		"linnet-gathered": {"Underarm:", "Armhole back:", "gathering stitches along the cap", "Gather the hem of sleeve"},
	} {
		style, err := document.DecodeStyle(read("styles/"+name+".json"), document.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		made, err := maker.Make(maker.Input{Block: block, Style: style, Sizes: []string{"14"}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		c := made.Companion(maker.Print{})
		steps := book.Sewing(&c.Shown.Pattern, c.Shown.Cut, c.Shown.Steps)
		all := strings.Join(steps, "\n")
		for _, w := range want {
			if n := strings.Count(all, w); n != 1 {
				t.Errorf("%s: %q is told %d times:\n%s", name, w, n, all)
			}
		}
		// What is gathered onto a band is not eased onto it as well, and gathers of a cap are no ease.
		for _, s := range steps {
			if strings.Contains(s, "sew sleeve to") && !strings.HasPrefix(s, "Armhole") {
				t.Errorf("%s: the hem is told twice: %s", name, s)
			}
		}
		for _, s := range steps {
			if strings.HasPrefix(s, "Armhole") && strings.Contains(name, "puff") && !strings.Contains(s, "drawn up in gathers") {
				t.Errorf("%s: the gathers of the cap are told as ease: %s", name, s)
			}
		}
	}
}
