package maker

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"sizerun/internal/book"
	"sizerun/internal/grade"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
)

// CheckFinished measures what a block wants measured on its base size. Pointers begin at the block.
func CheckFinished(b pattern.Block) pattern.Faults {
	patterns, err := graded(Input{Block: b, Sizes: []string{b.Chart.Base}})
	if err != nil {
		fs := append(pattern.Faults(nil), pattern.FaultsOf(err)...)
		for i := range fs {
			fs[i].Pointer = trimBlock(fs[i].Pointer)
		}
		return fs
	}
	return inspect.CheckFinished(&patterns[0], b.Finished).Under("/finished")
}

// trimBlock takes "/block" off a pointer.
func trimBlock(ptr string) string {
	const under = "/block"
	if len(ptr) >= len(under) && ptr[:len(under)] == under {
		return ptr[len(under):]
	}
	return ptr
}

// finishedOf is what is to be measured on the block as graded to one size.
func finishedOf(b pattern.Block, p *pattern.Pattern) []inspect.Row {
	var rows []inspect.Row
	for _, f := range grade.Finished(b) {
		rows = append(rows, inspect.Row{Finished: f, On: p})
	}
	return rows
}

// withRows adds what a change wants measured on the pattern that it made.
func withRows(rows []inspect.Row, more []pattern.Finished, on pattern.Pattern) []inspect.Row {
	for _, f := range more {
		r := inspect.Row{Finished: f, On: &on}
		if i := slices.IndexFunc(rows, func(x inspect.Row) bool { return x.Name == f.Name }); i >= 0 {
			rows[i] = r
			continue
		}
		rows = append(rows, r)
	}
	return rows
}

// garment is the table of what the garment measures in these sizes.
func garment(sizes []*Size) sheet.Table {
	var names []string
	var taken [][]inspect.Taken
	for _, s := range sizes {
		names, taken = append(names, s.Pattern.Size), append(taken, s.Finished)
	}
	return book.Finished(names, taken)
}

// girths of the body stand in every size chart: a buyer chooses her size by them.
var girths = [...]string{"bust", "chest", "waist", "hip", "height"}

// chart is the table of the bodies of these sizes: the girths by which a size is chosen, and what the block
// or its finished measurements depend on. A skirt's buyer has no use for an arm; the report tells all.
func (m Made) chart(sizes []*Size) sheet.Table {
	used := m.used(sizes)
	for _, k := range girths {
		used[k] = true
	}
	var bodies []pattern.Pattern
	for _, s := range sizes {
		p := pattern.Pattern{Size: s.Pattern.Size, Body: map[string]float64{}}
		for k, v := range s.Pattern.Body {
			if used[k] {
				p.Body[k] = v
			}
		}
		bodies = append(bodies, p)
	}
	return book.Chart(bodies)
}

// used are the body measurements that the garment depends on.
func (m Made) used(sizes []*Size) map[string]bool {
	used := grade.Measures(m.Block)
	for _, s := range sizes {
		for _, f := range s.Finished {
			used[f.Body] = true
		}
	}
	return used
}

// custom is what goes with a pattern that was made for a body: that it was computed, where on the size chart
// the body lies, and what of it that the garment depends on lies outside. The report tells the rest.
func (m Made) custom(sizes []*Size) []string {
	var out []string
	used := m.used(sizes)
	for _, s := range sizes {
		if m.Block.Chart.Index(s.Pattern.Size) >= 0 {
			continue
		}
		if len(out) == 0 {
			out = append(out, "Custom sizes are computed, not fitted: a fitting decides.")
		}
		note := s.Pattern.Size + ":"
		var outside []string
		for _, c := range m.Report.Checks {
			switch {
			case c.Size != s.Pattern.Size:
			case c.Rule == "nearest_size":
				note += " " + c.Text
			case c.Rule == "outside_chart" && c.Verdict != inspect.Pass && used[c.Place]:
				way := "over"
				if c.Measured < 0 {
					way = "under"
				}
				outside = append(outside, fmt.Sprintf("%s %.0f mm %s", book.Words(c.Place), math.Abs(c.Measured), way))
			}
		}
		if len(outside) > 0 {
			note += " Outside the size chart, where nothing was fitted: " + strings.Join(outside, ", ") + "."
		}
		out = append(out, note)
	}
	return out
}
