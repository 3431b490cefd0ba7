package book

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"sizerun/internal/allowance"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// Chart tells the body measurements of the sizes, a column a size, in centimetres as size charts
// are written (EN 13402-1 labels in centimetres). Rows that no size has are left out.
func Chart(ps []pattern.Pattern) sheet.Table {
	t := sheet.Table{Title: "Body measurements, cm", Head: []string{"Size"}}
	keys := map[string]bool{}
	for _, p := range ps {
		t.Head = append(t.Head, p.Size)
		for k := range p.Body {
			keys[k] = true
		}
	}
	for _, k := range inOrder(keys) {
		row := []string{words(k)}
		for _, p := range ps {
			if v, ok := p.Body[k]; ok {
				row = append(row, strconv.FormatFloat(math.Round(v)/10, 'f', -1, 64))
			} else {
				row = append(row, "–")
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// Finished tells what the garment itself measures, in the same columns as Chart: bodies and garments
// are compared down a column. What no size can be measured by any more is left out.
func Finished(sizes []string, taken [][]inspect.Taken) sheet.Table {
	t := sheet.Table{Title: "Finished garment, cm", Head: append([]string{"Size"}, sizes...)}
	if len(taken) == 0 {
		return t
	}
	for k, first := range taken[0] {
		says := first.Says
		if says == "" {
			says = words(first.Name)
		}
		row, some := []string{says}, false
		for _, of := range taken {
			if k >= len(of) || of[k].Name != first.Name || of[k].Gone != "" {
				row = append(row, "–")
				continue
			}
			some = true
			row = append(row, strconv.FormatFloat(math.Round(of[k].MM)/10, 'f', -1, 64))
		}
		if some {
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// bodyOrder is the order in which a chart is read: girths from bust to hip, then the rest from
// neck to wrist. Measurements that are not named here follow by name.
var bodyOrder = [...]string{"bust", "chest", "waist", "hip", "height", "neck", "shoulder", "back_width", "nape_to_waist", "scye_depth", "upper_arm", "wrist"}

func inOrder(keys map[string]bool) []string {
	rank := func(k string) int {
		for i, b := range bodyOrder {
			if b == k {
				return i
			}
		}
		return len(bodyOrder)
	}
	var out []string
	for k := range keys {
		out = append(out, k)
	}
	sort.Slice(out, func(i, j int) bool {
		if a, b := rank(out[i]), rank(out[j]); a != b {
			return a < b
		}
		return out[i] < out[j]
	})
	return out
}

// words makes a name of a document readable: "upper_arm" is "Upper arm".
func words(name string) string {
	return upperFirst(strings.ReplaceAll(name, "_", " "))
}

// Words is words for a mark or an edge, in lower case: "front_dot" is "front dot".
func Words(name string) string { return strings.ReplaceAll(name, "_", " ") }

// OnFold says whether a piece has an edge on the fold of the cloth.
func OnFold(p *pattern.Piece) bool {
	for i := range p.Edges {
		if p.Edges[i].Fold {
			return true
		}
	}
	return false
}

// CutWords is the cut instruction: "cut 2, a mirrored pair".
func CutWords(p *pattern.Piece) string {
	n := p.Cut.Count
	switch {
	case OnFold(p):
		return fmt.Sprintf("cut %d on the fold", n)
	case p.Cut.Pair && p.Alike():
		return fmt.Sprintf("cut %d", n)
	case p.Cut.Pair && n == 2:
		return "cut 2, a mirrored pair"
	case p.Cut.Pair:
		return fmt.Sprintf("cut %d, mirrored pairs", n)
	}
	return fmt.Sprintf("cut %d", n)
}

// Cutting is the cutting list, by cloth and in the order of the pieces.
func Cutting(pieces []*pattern.Piece) sheet.Table {
	t := sheet.Table{Title: "Cutting list", Head: []string{"Piece", "Cut", "Cloth"}}
	order := append([]*pattern.Piece(nil), pieces...)
	sort.SliceStable(order, func(i, j int) bool { return clothRank(order[i].Cut.Cloth) < clothRank(order[j].Cut.Cloth) })
	for _, p := range order {
		t.Rows = append(t.Rows, []string{Words(p.Title), strings.TrimPrefix(CutWords(p), "cut "), cloth(p.Cut.Cloth) + interfaced(p)})
	}
	return t
}

// interfaced tells how many of a piece are cut from interfacing, too: whoever holds the paper in hand need
// not look that up.
func interfaced(p *pattern.Piece) string {
	if p.Cut.Interfaced == 0 {
		return ""
	}
	return fmt.Sprintf(", and %d of interfacing", p.Cut.Interfaced)
}

func clothRank(c string) int {
	switch c {
	case "", "main":
		return 0
	case "lining":
		return 1
	}
	return 2
}

func cloth(c string) string {
	if c == "" {
		return "main"
	}
	return Words(c)
}

// Label is what stands on a piece, the most important first.
func Label(style string, p *pattern.Piece, cut allowance.Piece) []string {
	lines := []string{Words(p.Title), style, upperFirst(CutWords(p)) + ", " + strings.ToLower(clothTitle(cloth(p.Cut.Cloth))) + interfaced(p)}
	return append(lines, AllowanceWords(p, cut)...)
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// AllowanceWords tells what is included: the width that most of the piece's seams have, then each
// edge that differs.
func AllowanceWords(p *pattern.Piece, cut allowance.Piece) []string {
	length := map[float64]float64{}
	for i := range p.Edges {
		e := &p.Edges[i]
		a := cut.Allow[e.Name]
		if !e.Fold && !p.IsLeg(e.Name) && a.Turned == 0 {
			length[a.Width] += e.Path.Length()
		}
	}
	main, most := 0.0, -1.0
	for w, l := range length {
		if l > most || l == most && w > main {
			main, most = w, l
		}
	}
	var lines []string
	if most >= 0 && main > 0 {
		lines = append(lines, "Includes "+Both(main)+" seam allowance")
	}
	groups := map[string][]string{}
	for i := range p.Edges {
		e := &p.Edges[i]
		a := cut.Allow[e.Name]
		if e.Fold || p.IsLeg(e.Name) || a.Turned == 0 && a.Width == main {
			continue
		}
		var what string
		switch {
		case a.Width == 0:
			what = "no allowance"
		case a.Turned == 1:
			what = Both(a.Width) + " hem"
		case a.Turned > 1:
			what = Both(a.Width) + " hem, turned twice"
		default:
			what = Both(a.Width)
		}
		groups[what] = append(groups[what], Words(e.Name))
	}
	var whats []string
	for w := range groups {
		whats = append(whats, w)
	}
	sort.Strings(whats)
	for _, w := range whats {
		sort.Strings(groups[w])
		if len(groups[w]) == 1 && groups[w][0] == "hem" {
			lines = append(lines, "Includes "+w)
			continue
		}
		lines = append(lines, upperFirst(strings.Join(groups[w], ", "))+": "+w)
	}
	return lines
}

// Notes are for page 1: the shop's own lines, then how to read the pieces. The cautions about
// printing, blades and irons are the sheet's own.
func Notes(labels []string) []string {
	notes := append([]string(nil), labels...)
	return append(notes,
		"Lines are cut lines; the allowances that each piece's label names are included.",
		"One notch marks a front, two notches side by side a back. Dots and small squares are matched with their partners.",
	)
}

// Children says whether a chart is one for children: by height where it tells one (EN 14682 speaks of
// young children up to 134 cm and of older ones up to 14 years, about 160 cm, from memory), else by a
// chest below the smallest class for women (EN 13402-3: XXS begins at 66 cm).
func Children(c pattern.SizeChart) bool {
	i := c.Index(c.Base)
	if i < 0 {
		return false
	}
	body := map[string]float64{}
	for k, v := range c.Body {
		if i < len(v) {
			body[k] = v[i]
		}
	}
	return Child(body)
}

// Child says the same of one body.
func Child(body map[string]float64) bool {
	if h, ok := body["height"]; ok {
		return h <= 1400
	}
	for _, k := range []string{"bust", "chest"} {
		if g, ok := body[k]; ok {
			return g < 660
		}
	}
	return false
}

// ChildNotes are added where the chart is one for children. The rules differ by country and change:
// the note names where to look and defers to them.
func ChildNotes() []string {
	return []string{
		"Children's clothes: no cords or drawstrings at neck or hood, and short fixed ones elsewhere (EN 14682; ASTM F1816). " +
			"Sleepwear must meet flammability rules (in the US 16 CFR 1615 and 1616). Small parts can choke. Your local rules decide.",
	}
}
