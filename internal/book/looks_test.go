package book_test

import (
	"regexp"
	"strings"
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/geom"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
)

// Each demo style's companion is read the way a critical eye does.
func TestEveryDemosCompanionIsFitToBePrinted(t *testing.T) {
	code := regexp.MustCompile(`[A-Za-z0-9]_[A-Za-z0-9]|\b[a-z]{2,}\.[a-z]{2,}`)
	torn := regexp.MustCompile(`^(mm|cm)\b|^\d+/\d+ in|^\(\d[\d /]* in\)|^in\)`)
	fine := regexp.MustCompile(`(?:\d{3,}\.[1-46-9]\d*|\d{4,}\.\d+|\.\d\d+) mm(?: [^(]|[^ ]|$)`)
	for _, name := range demos(t) {
		c := demo(t, name).Companion(maker.Print{Ref: name, EveryDrawing: true})
		for _, p := range []sheet.Paper{a4, {Name: "Letter", W: 215.9, H: 279.4}} {
			d := c.Pages(p, sheettest.Metrics{})
			for _, fault := range sheet.Audit(d, 6, sheettest.Metrics{}) {
				t.Errorf("%s on %s: %s", name, p.Name, fault)
			}
			for n, pg := range d.Pages {
				lines := 0
				for _, it := range pg.Items {
					if it.Text == nil {
						continue
					}
					s := it.Text.S
					if it.Text.At.Y > 20 {
						lines++
					}
					if code.MatchString(s) {
						t.Errorf("%s, page %d speaks in code: %s", name, n+1, s)
					}
					if torn.MatchString(s) {
						t.Errorf("%s, page %d: a length is broken over two lines: %s", name, n+1, s)
					}
					if fine.MatchString(s) {
						t.Errorf("%s, page %d: finer than any tape: %s", name, n+1, s)
					}
				}
				if lines < 6 {
					t.Errorf("%s on %s: page %d is all but empty", name, p.Name, n+1)
				}
			}
		}
	}
}

func TestACuttingListIsByClothMainFirst(t *testing.T) {
	c := demo(t, "corncrake").Companion(maker.Print{})
	var cloths []string
	n := 0
	for _, l := range c.Cutting {
		cloths = append(cloths, l.Cloth)
		n += len(l.Rows)
		for _, r := range l.Rows {
			pc := ""
			for _, p := range c.Shown.Pattern.Pieces {
				if book.Words(p.Title) == r.Piece {
					pc = p.Cut.Cloth
					if p.Cut.Count != r.Count {
						t.Errorf("%s: cut %d, not %d", r.Piece, r.Count, p.Cut.Count)
					}
				}
			}
			if pc != l.Cloth {
				t.Errorf("%s is listed with %s, and is of %s", r.Piece, l.Cloth, pc)
			}
		}
	}
	if strings.Join(cloths, " ") != "main interfacing" || n != len(c.Shown.Pattern.Pieces) {
		t.Errorf("%v, %d rows for %d pieces", cloths, n, len(c.Shown.Pattern.Pieces))
	}
	said := running(c.Pages(a4, sheettest.Metrics{}))
	for _, w := range []string{"Main cloth", "Interfacing", "on the fold", "a mirrored pair"} {
		if !strings.Contains(said, w) {
			t.Errorf("nothing says %q", w)
		}
	}
}

// What is its own mirror image lies either way up, however often it is cut; what is not, is told which way.
func TestAPieceThatIsItsOwnMirrorImageLiesEitherWayUp(t *testing.T) {
	board := func(name string, count int, corners ...geom.Point) *pattern.Piece {
		p := &pattern.Piece{Name: name, Title: name, Cut: pattern.Cut{Count: count, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(20, 10), geom.Pt(20, 30)}}
		for i, c := range corners {
			p.Edges = append(p.Edges, pattern.Edge{Name: string(rune('a' + i)), Path: geom.Polyline(c, corners[(i+1)%len(corners)])})
		}
		return p
	}
	list := book.ByCloth([]*pattern.Piece{
		board("Ruffle", 3, geom.Pt(0, 0), geom.Pt(600, 0), geom.Pt(600, 80), geom.Pt(0, 80)),
		board("Wedge", 3, geom.Pt(0, 0), geom.Pt(600, 0), geom.Pt(500, 80), geom.Pt(0, 80)),
	})
	for i, want := range []string{"either way up", "all the same way up"} {
		if got := list[0].Rows[i].How; got != want {
			t.Errorf("%s is cut %q, not %q", list[0].Rows[i].Piece, got, want)
		}
	}
}

// However long the order of sewing is, no page of it holds a last step alone.
func TestTheOrderOfSewingFillsItsPagesAlike(t *testing.T) {
	c := book.Companion{Title: "Trial", Shop: "Rookery Lane Patterns"}
	c.Shown.Pattern.Size = "14"
	longest := 0
	for n := 1; n <= 120; n++ {
		part := book.Pieces
		if n > 12 {
			part = book.Seams
		}
		if n > 70 {
			part = book.Edges
		}
		text := "Sew one piece to another, right sides together."
		if n%5 == 0 {
			text = strings.Repeat(text+" ", 5)
		}
		c.Order = append(c.Order, book.Instruction{Part: part, Text: text})
		d := c.Pages(a4, sheettest.Metrics{})
		began, told := false, 0
		for i, pg := range d.Pages {
			steps := 0
			for _, it := range pg.Items {
				if it.Text != nil && it.Text.At.Y > 20 {
					began = began || it.Text.S == "Order of sewing"
					if it.Text.Face == sheet.Bold && it.Text.S != "–" && strings.Trim(it.Text.S, "0123456789") == "" {
						steps++
					}
				}
			}
			told += steps
			if began && i > 0 && steps < min(n, 5) {
				t.Errorf("%d steps: page %d of %d has %d of them", n, i+1, len(d.Pages), steps)
			}
		}
		if told != n {
			t.Errorf("%d steps: %d are told", n, told)
		}
		longest = max(longest, len(d.Pages))
	}
	if longest < 4 {
		t.Errorf("the longest order has %d pages", longest)
	}
}
