package book_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"sizerun/internal/book"
	"sizerun/internal/geom"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet/sheettest"
)

func edge(t *testing.T, p *pattern.Pattern, piece, name string) geom.Path {
	t.Helper()
	pc := p.PieceNamed(piece)
	if pc == nil || pc.EdgeNamed(name) < 0 {
		t.Fatalf("no edge %s of %s", name, piece)
	}
	return pc.Edges[pc.EdgeNamed(name)].Path
}

// The plain block's sleeve, which no change has touched: what is told is what the cap has more than the
// armhole, measured here by chords.
func TestASleeveIsSetInInOneStepWithTheEaseOfItsOwnCap(t *testing.T) {
	made := demo(t, "corncrake", "8", "14", "22")
	sizes, orders := made.Order()
	for i := range made.Sizes {
		p := &made.Sizes[i].Pattern
		front := sampled(edge(t, p, "sleeve", "cap_front")) - sampled(edge(t, p, "front", "armhole"))
		back := sampled(edge(t, p, "sleeve", "cap_back")) - sampled(edge(t, p, "back", "armhole"))
		var set, flat []string
		for _, s := range orders[i] {
			if strings.HasPrefix(s.Text, "Set in") {
				set = append(set, s.Text)
				for _, a := range s.Amounts {
					want := map[string]float64{"cap ease, front": front, "cap ease, back": back}[a.Name]
					if math.Abs(a.MM-want) > 0.05 {
						t.Errorf("size %s: %s is %.2f mm, the geometry has %.2f", sizes[i], a.Name, a.MM, want)
					}
				}
				if len(s.Amounts) != 2 || s.Part != book.Sleeves {
					t.Errorf("size %s: %d amounts, part %q", sizes[i], len(s.Amounts), s.Part)
				}
			}
			if strings.Contains(s.Text, "ease stitches along the cap from notch to notch") {
				flat = append(flat, s.Text)
			}
		}
		if len(set) != 1 || len(flat) != 1 {
			t.Fatalf("size %s: set in %d times, ease stitches %d times", sizes[i], len(set), len(flat))
		}
		for _, want := range []string{
			fmt.Sprintf("%.1f mm", front), fmt.Sprintf("%.1f mm", back), "at the front", "at the back", "crown dot to shoulder seam",
			"notches to notches", "all of it above the notches", "Neaten", "15.9 mm (5/8 in)",
		} {
			if !strings.Contains(set[0], strings.TrimSuffix(want, ".0 mm")) {
				t.Errorf("size %s: nothing says %q: %s", sizes[i], want, set[0])
			}
		}
		if !strings.Contains(flat[0], "15.9 mm (5/8 in) and 9.5 mm (3/8 in) from the edge") {
			t.Errorf("the rows of ease stitches: %s", flat[0])
		}
	}
}

// A sleeve of two pieces is sewn together before its cap can be eased.
func TestATwoPieceSleeveIsEasedWhenItIsSewnTogether(t *testing.T) {
	var parts []string
	for _, s := range demo(t, "fieldfare").Companion(maker.Print{}).Order {
		for _, w := range []string{"hindarm", "ease stitches along the cap", "Set in the sleeve"} {
			if strings.Contains(s.Text, w) {
				parts = append(parts, w)
			}
		}
	}
	if got := strings.Join(parts, ", "); got != "hindarm, ease stitches along the cap, Set in the sleeve" {
		t.Error(got)
	}
}

// Bias drops: what is to hang does so before it is hemmed, and where a dart lies is found before it is sewn.
func TestWhatComesFirstIsToldFirst(t *testing.T) {
	for _, c := range []struct{ style, first, then string }{
		{"lapwing", " hang ", "Hem "},
		{"nightjar", "mark it from the paper", "fold the bust dart"},
		{"nuthatch", "Stay-stitch the neck", "fold the bust dart"},
		{"goldcrest", "waistband", "Hem "},
		{"nuthatch", "Hem ", "buttonhole"},
		{"nuthatch", "sew front facing to the edge", "stand to the neck"},
		{"dunlin", "sew front facing to the edge", "Sew collar to the neck"},
		{"redstart", "Lay collar on", "sew front facing to the edge"},
		{"goldcrest", "along the style line", "along the yoke seam (264"},
	} {
		first, then := -1, -1
		for i, s := range demo(t, c.style).Companion(maker.Print{}).Order {
			if first < 0 && strings.Contains(s.Text, c.first) {
				first = i
			}
			if then < 0 && strings.Contains(s.Text, c.then) {
				then = i
			}
		}
		if first < 0 || then < 0 || first > then {
			t.Errorf("%s: %q is step %d, %q step %d", c.style, c.first, first+1, c.then, then+1)
		}
	}
}

// A pleated front is hemmed before its pleats are laid, and then not again.
func TestAPieceThatIsHemmedFirstIsNotHemmedAgain(t *testing.T) {
	times := 0
	for _, s := range demo(t, "curlew").Companion(maker.Print{}).Order {
		if strings.HasPrefix(s.Text, "Hem ") && strings.Contains(s.Text, "front") {
			times++
		}
	}
	if times != 1 {
		t.Errorf("the front is hemmed %d times", times)
	}
}

// What is gathered is drawn up between the notches; the rest of the surplus is eased.
func TestGathersOfACapAreNoEase(t *testing.T) {
	made := demo(t, "dunnock-puff", "14")
	_, orders := made.Order()
	p := &made.Sizes[0].Pattern
	for _, s := range orders[0] {
		if strings.Contains(s.Text, "rows of long ease stitches") {
			t.Errorf("a gathered cap gets ease stitches too: %s", s.Text)
		}
		if !strings.HasPrefix(s.Text, "Set in") {
			continue
		}
		total := 0.0
		for _, a := range s.Amounts {
			total += a.MM
		}
		cap := sampled(edge(t, p, "sleeve", "cap_front")) + sampled(edge(t, p, "sleeve", "cap_back"))
		hole := sampled(edge(t, p, "front", "armhole")) + sampled(edge(t, p, "back", "armhole"))
		if len(s.Amounts) != 4 || math.Abs(total-(cap-hole)) > 0.1 {
			t.Errorf("gathers and ease are %.1f mm in %d amounts, the cap has %.1f mm more than the armhole", total, len(s.Amounts), cap-hole)
		}
	}
}

func TestADartIsPressedToTheSideThatItsEdgeWasCutFor(t *testing.T) {
	made := demo(t, "corncrake", "14")
	for towards, want := range map[string]string{"dart_lower": "downwards", "dart_upper": "upwards"} {
		p := made.Sizes[0].Pattern.Clone()
		p.PieceNamed("front").Darts[0].Towards = towards
		got := ""
		for _, s := range book.Sewing(&p, made.Sizes[0].Cut, nil) {
			if strings.Contains(s.Text, "bust dart") {
				got = s.Text
			}
		}
		if !strings.Contains(got, "press it "+want) {
			t.Errorf("towards %s: %s", towards, got)
		}
	}
}

// Darts of a bodice lie different ways: the waist dart towards the centre, the bust dart down (common practice).
func TestDartsThatArePressedDifferentlySaySo(t *testing.T) {
	_, orders := plain(t, "wren-draft-bodice", "88").Order()
	if s := orders[0][0].Text; !strings.Contains(s, "press the waist dart towards the ") || !strings.Contains(s, "and the bust dart ") || !strings.Contains(s, "wards.") {
		t.Error(s)
	}
}

// A mirrored pair is sewn to itself along the crotch: both sides of that seam are one edge, so that the
// block names no seam, and the order of sewing tells it all the same.
func TestTrousersAreSewnTogetherLegInLeg(t *testing.T) {
	_, orders := plain(t, "rook-trousers", "8").Order()
	at := map[string]int{}
	for i, s := range orders[0] {
		for _, w := range []string{"Side:", "Inside leg:", "Crotch:"} {
			if strings.HasPrefix(s.Text, w) {
				at[w] = i + 1
			}
		}
	}
	if at["Crotch:"] == 0 || at["Crotch:"] < at["Inside leg:"] || at["Crotch:"] < at["Side:"] {
		t.Fatalf("%v", at)
	}
	if s := orders[0][at["Crotch:"]-1].Text; !strings.Contains(s, "centre front and centre back in one") && !strings.Contains(s, "centre back and centre front in one") {
		t.Error(s)
	}
	// A bodice cut on the fold has no such seam, nor have facings on both sides of a zip.
	for _, order := range [][]book.Instruction{plain(t, "wren-draft-bodice", "88").Companion(maker.Print{}).Order, demo(t, "whimbrel", "14").Companion(maker.Print{}).Order} {
		for _, s := range order {
			if strings.Contains(s.Text, "to each other") {
				t.Error(s.Text)
			}
		}
	}
}

// The amounts that differ between sizes stand in a table, under the number of their step.
func TestAmountsOfEverySizeStandUnderTheirStep(t *testing.T) {
	c := demo(t, "siskin-bell", "8", "14", "22").Companion(maker.Print{})
	if strings.Join(c.Amounts.Head, " ") != "Step 8 14 22" {
		t.Errorf("columns %v", c.Amounts.Head)
	}
	step := regexp.MustCompile(`^(\d+)  `)
	seen := false
	for _, r := range c.Amounts.Rows {
		m := step.FindStringSubmatch(r[0])
		if m == nil {
			t.Fatalf("row %q names no step", r[0])
		}
		k := int(number(t, m[1]))
		for _, a := range c.Order[k-1].Amounts {
			if strings.HasSuffix(r[0], "  "+a.Name) {
				seen = true
				if r[2] != fmt.Sprintf("%.0f", a.MM) {
					t.Errorf("%s: size 14 has %s, the step tells %.1f", r[0], r[2], a.MM)
				}
			}
		}
		if r[1] == r[2] && r[2] == r[3] && r[1] != "–" && !strings.Contains(r[0], "ease") {
			t.Errorf("%s is the same in every size: %v", r[0], r)
		}
	}
	if !seen {
		t.Error("no row was found again in its step")
	}
}

// A yoke cut in one over the shoulder lies at both halves of the armhole: each keeps its own name.
func TestAHalfIsNamedByMostOfItsArmhole(t *testing.T) {
	for _, s := range demo(t, "bullfinch", "14").Companion(maker.Print{}).Order {
		if !strings.HasPrefix(s.Text, "Set in") {
			continue
		}
		for _, want := range []string{"cap ease, front", "cap ease, back"} {
			if _, ok := s.Amount(want); !ok {
				t.Errorf("no %s among %v", want, s.Amounts)
			}
		}
		if !strings.Contains(s.Text, "at the front and ") || !strings.Contains(s.Text, "at the back") {
			t.Error(s.Text)
		}
	}
}

// A demo style has no interfaced piece whose interfacing is not to be bought.
func TestInterfacingThatIsCutIsBought(t *testing.T) {
	for _, style := range demos(t) {
		made := demo(t, style)
		cut := false
		for _, l := range made.Cutting() {
			cut = cut || l.Cloth == "interfacing"
		}
		text := running(made.Companion(maker.Print{}).Pages(a4, sheettest.Metrics{}))
		_, notions, _ := strings.Cut(text, "Notions ")
		notions, _, _ = strings.Cut(notions, "Body measurements")
		if got := strings.Contains(notions, "nterfacing"); got != cut {
			t.Errorf("%s: interfacing is cut: %v, bought: %v", style, cut, got)
		}
	}
}
