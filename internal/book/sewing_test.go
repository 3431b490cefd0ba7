package book_test

import (
	"strings"
	"testing"

	"sizerun/internal/maker"
)

// A change that adds a step to a piece leaves the piece's other seams to be told, each of them once.
func TestEverySeamIsToldOnceWhateverTheChangesTell(t *testing.T) {
	for name, want := range map[string][]string{
		"pipit-bishop":    {"Underarm:", "Set in the sleeve:", "ease stitches along the cap", "Side:", "Gather the hem of sleeve"},
		"dunnock-puff":    {"Underarm:", "Set in the sleeve:", "gathering stitches along the cap", "Hem sleeve:"},
		"siskin-bell":     {"Underarm:", "Set in the sleeve:", "ease stitches along the cap", "hang overnight", "Hem sleeve:"},
		"linnet-gathered": {"Underarm:", "Set in the sleeve:", "gathering stitches along the cap", "Gather the hem of sleeve"},
	} {
		made := demo(t, name, "14")
		var steps []string
		for _, i := range made.Companion(maker.Print{}).Order {
			steps = append(steps, i.Text)
		}
		all := strings.Join(steps, "\n")
		for _, w := range want {
			if n := strings.Count(all, w); n != 1 {
				t.Errorf("%s: %q is told %d times:\n%s", name, w, n, all)
			}
		}
		for _, s := range steps {
			// What is gathered onto a band is not eased onto it as well, and gathers of a cap are no ease.
			if strings.Contains(s, "sew sleeve to") {
				t.Errorf("%s: the hem is told twice: %s", name, s)
			}
			if strings.HasPrefix(s, "Armhole") {
				t.Errorf("%s: the armhole is told as two seams: %s", name, s)
			}
			if strings.HasPrefix(s, "Set in") && strings.Contains(name, "puff") && !strings.Contains(s, "Draw up the gathering stitches") {
				t.Errorf("%s: the gathers of the cap are told as ease: %s", name, s)
			}
		}
	}
}
