package inspect

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"sizerun/internal/pattern"
)

// A pattern for one customer's body is computed from the chart's proportions. The further the body lies
// outside the chart the less they hold, so each measurement tells how far it does; and the size that is
// nearest by the girths tells where on the chart it lies.

// mainGirths are what a size is chosen by, the first that there is (EN 13402-3: bust for upper garments and
// dresses, waist and hip for lower ones; the hip before the waist, for a waist is more easily altered,
// common practice).
var mainGirths = [...]string{"bust", "chest", "hip", "waist"}

// bodies speaks of the patterns that are of no size of the chart.
func bodies(sizes []Sized, chart pattern.SizeChart) []Check {
	var out []Check
	for i := range sizes {
		s := &sizes[i]
		if len(chart.Run) > 0 && chart.Index(s.Pattern.Size) < 0 {
			w := watch{s: s}
			w.nearest(chart)
			w.outside(chart)
			out = append(out, w.out...)
		}
	}
	return out
}

// outside tells how far each measurement lies below the chart's smallest or above its largest.
func (w *watch) outside(chart pattern.SizeChart) {
	names := make([]string, 0, len(w.s.Pattern.Body))
	for k := range w.s.Pattern.Body {
		names = append(names, k)
	}
	sort.Strings(names)
	for _, k := range names {
		col := chart.Body[k]
		if len(col) == 0 {
			continue
		}
		v := w.s.Pattern.Body[k]
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, x := range col {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
		what := upper(plain(k))
		c := Check{Rule: "outside_chart", Place: k, Unit: MM, Tolerance: 0.05, Bearable: &pattern.Range{Min: -pattern.MaxBody, Max: pattern.MaxBody},
			Text: fmt.Sprintf("%s, %s mm, lies within the chart, %s to %s mm.", what, tenth(v), tenth(lo), tenth(hi))}
		switch {
		case v > hi:
			c.Measured = v - hi
			c.Text = fmt.Sprintf("%s, %s mm, is %s mm (%.1f %%) above the chart's largest, %s mm: nothing was fitted there.", what, tenth(v), tenth(v-hi), 100*(v-hi)/hi, tenth(hi))
		case v < lo:
			c.Measured = v - lo // less than 0: below
			c.Text = fmt.Sprintf("%s, %s mm, is %s mm (%.1f %%) below the chart's smallest, %s mm: nothing was fitted there.", what, tenth(v), tenth(lo-v), 100*(lo-v)/lo, tenth(lo))
		}
		w.say(c)
	}
}

// nearest tells the size that the body is nearest to by the garment's main girth, and by its others.
func (w *watch) nearest(chart pattern.SizeChart) {
	goes := map[string]bool{} // what the garment goes round; all of it where that isn't told
	for _, t := range w.s.Finished {
		if t.Body != "" {
			goes[t.Body] = true
		}
	}
	var c *Check
	var others []string
	for _, k := range mainGirths {
		v, ok := w.s.Pattern.Body[k]
		col := chart.Body[k]
		if !ok || len(col) != len(chart.Run) || len(goes) > 0 && !goes[k] {
			continue
		}
		best := 0
		for i, x := range col {
			if math.Abs(x-v) < math.Abs(col[best]-v) {
				best = i
			}
		}
		d := v - col[best]
		if c != nil {
			others = append(others, fmt.Sprintf("by the %s to size %s (%s)", plain(k), chart.Run[best], offset(d)))
			continue
		}
		c = &Check{Rule: "nearest_size", Place: k, Measured: d, Want: pattern.Range{Min: -pattern.MaxBody, Max: pattern.MaxBody}, Unit: MM,
			Text: fmt.Sprintf("By the %s this body is nearest to size %s (%s)", plain(k), chart.Run[best], offset(d))}
	}
	if c == nil {
		return
	}
	if len(others) > 0 {
		c.Text += ", " + strings.Join(others, ", ")
	}
	c.Text += "."
	w.say(*c)
}

// offset is a difference in words.
func offset(d float64) string {
	switch {
	case math.Abs(d) < 0.05:
		return "the same"
	case d > 0:
		return tenth(d) + " mm more"
	}
	return tenth(-d) + " mm less"
}

// tenth writes millimetres to a tenth, without a needless nought.
func tenth(v float64) string {
	return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0")
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
