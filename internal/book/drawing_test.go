package book_test

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/change"
	"sizerun/internal/geom"
	"sizerun/internal/maker"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// measured is what stands below a step: "1–2, 3–4: 25 mm (1 in)".
var measured = regexp.MustCompile(`((?:\d+–\d+, )*\d+–\d+): (\d+(?:\.\d+)?) mm \(((?:\d+ )?\d+(?:/\d+)?) in\)`)

// sampled is the length of a path by many short chords, which knows nothing of how the path measures itself.
func sampled(p geom.Path) float64 {
	l := 0.0
	for _, s := range p {
		at := s.P0
		for i := 1; i <= 400; i++ {
			next := s.P3.Lerp(s.P0, 1-float64(i)/400)
			if !s.Straight {
				t, u := float64(i)/400, 1-float64(i)/400
				next = geom.Pt(u*u*u*s.P0.X+3*u*u*t*s.P1.X+3*u*t*t*s.P2.X+t*t*t*s.P3.X, u*u*u*s.P0.Y+3*u*u*t*s.P1.Y+3*u*t*t*s.P2.Y+t*t*t*s.P3.Y)
			}
			l += at.Dist(next)
			at = next
		}
	}
	return l
}

// Every number that a working drawing shows is measured again on the geometry it is drawn from: straight
// between the numbered points, or along the line that runs from one to the other.
func TestTheNumbersOfAWorkingDrawingAreThoseOfItsGeometry(t *testing.T) {
	told := 0
	for _, name := range demos(t) {
		made := demo(t, name)
		for _, s := range made.Sizes {
			for _, d := range s.Drawings {
				c := made.Companion(maker.Print{})
				c.Drawn = c.Drawn[:1]
				c.Drawn[0].Pattern, c.Drawn[0].Drawings = s.Pattern, []change.Drawing{d}
				pages := c.Pages(a4, sheettest.Metrics{}).Pages
				said := running(sheet.Document{Pages: pages})
				said = said[strings.LastIndex(said, "Working drawing:"):]
				shown := map[[2]int][][2]float64{}
				for _, m := range measured.FindAllStringSubmatch(said, -1) {
					mm, in := number(t, m[2]), inches(t, m[3])
					for _, pair := range strings.Split(m[1], ", ") {
						a, b, _ := strings.Cut(pair, "–")
						k := [2]int{int(number(t, a)), int(number(t, b))}
						shown[k] = append(shown[k], [2]float64{mm, in})
					}
				}
				for _, m := range d.Measures {
					long := d.Points[m.From-1].At.Dist(d.Points[m.To-1].At)
					if len(m.Path) > 0 {
						long = sampled(m.Path)
					}
					step := 0.1
					if long >= 100 {
						step = 0.5
					}
					if long >= 1000 {
						step = 1
					}
					near := false
					for _, v := range shown[[2]int{m.From, m.To}] {
						near = near || math.Abs(v[0]-long) <= step/2+0.05 && math.Abs(v[1]-long) <= 25.4/32+0.05
					}
					if !near {
						t.Errorf("%s, size %s, %s: %d–%d is %.2f mm, shown as %v", name, s.Pattern.Size, d.Title, m.From, m.To, long, shown[[2]int{m.From, m.To}])
					}
					told++
				}
			}
		}
	}
	if told < 300 {
		t.Errorf("only %d measures were looked at", told)
	}
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// inches reads "5 11/16" and gives millimetres.
func inches(t *testing.T, s string) float64 {
	t.Helper()
	total := 0.0
	for _, part := range strings.Fields(s) {
		n, d, ok := strings.Cut(part, "/")
		v := number(t, n)
		if ok {
			den := number(t, d)
			if den != 2 && den != 4 && den != 8 && den != 16 {
				t.Errorf("%s in is on no tape measure", s)
			}
			v /= den
		}
		total += v
	}
	return total * 25.4
}

func TestEverySizeAskedForIsDrawnAndNoOther(t *testing.T) {
	made := demo(t, "pipit-bishop", "8", "14", "22")
	titles := func(pr maker.Print) string {
		var out []string
		for _, l := range strings.Split(words(made.Companion(pr).Pages(a4, sheettest.Metrics{})), "\n") {
			if t, ok := strings.CutPrefix(l, "Working drawing: "); ok {
				out = append(out, t)
			}
		}
		return strings.Join(out, "; ")
	}
	for want, pr := range map[string]maker.Print{
		"Lengthen by 160 mm, size 14; Gather the hem of sleeve, size 14":                                                               {},
		"Lengthen by 160 mm, size 8; Gather the hem of sleeve, size 8; Lengthen by 160 mm, size 22; Gather the hem of sleeve, size 22": {Drawings: []string{"22", "8"}},
	} {
		if got := titles(pr); got != want {
			t.Errorf("%v: drawn are %s", pr.Drawings, got)
		}
	}
	// A reader's page list leads to them.
	last := made.Companion(maker.Print{}).Pages(a4, sheettest.Metrics{}).Pages
	if l := last[len(last)-1].Label; l != strconv.Itoa(len(last))+": Working drawing: Gather the hem of sleeve, size 14" {
		t.Errorf("the last page is labelled %q", l)
	}
	if n := strings.Count(titles(maker.Print{EveryDrawing: true}), "size"); n != 6 {
		t.Errorf("all sizes are %d drawings", n)
	}
}

// A point that a step speaks of is found on the figure: its number stands beside it, once.
func TestEveryPointHasItsNumberBesideIt(t *testing.T) {
	for _, name := range demos(t) {
		c := demo(t, name).Companion(maker.Print{EveryDrawing: true})
		for _, s := range c.Drawn {
			for _, d := range s.Drawings {
				one := c
				one.Drawn = []book.Shown{{Pattern: s.Pattern, Drawings: []change.Drawing{d}}}
				pages := one.Pages(a4, sheettest.Metrics{}).Pages
				for len(pages) > 1 && !strings.Contains(words(sheet.Document{Pages: pages[:1]}), "Working drawing:") {
					pages = pages[1:]
				}
				stands := map[string]int{}
				for _, it := range pages[0].Items {
					if it.Text != nil && it.Text.Align == sheet.Center && it.Text.Face == sheet.Bold {
						stands[it.Text.S]++
					}
				}
				for _, q := range d.Points {
					if n := stands[strconv.Itoa(q.N)]; n != 1 {
						t.Errorf("%s, size %s, %s: point %d is numbered %d times", name, s.Pattern.Size, d.Title, q.N, n)
					}
				}
			}
		}
	}
}

func TestADrawingSaysThatItIsNotTrueSize(t *testing.T) {
	said := running(wren(t).Companion(maker.Print{}).Pages(a4, sheettest.Metrics{}))
	for _, w := range []string{"Drawn at 1:", "not to be cut from", "Grey: what was there", "Inches to the nearest sixteenth"} {
		if !strings.Contains(said, w) {
			t.Errorf("nothing says %q", w)
		}
	}
}
