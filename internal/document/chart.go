package document

import (
	"fmt"
	"path"
	"sort"
	"strings"

	"sizerun/internal/charts"
	"sizerun/internal/pattern"
)

// Chart is a size chart that comes with the service.
type Chart struct {
	Name, Title string
	Sizes       pattern.SizeChart
	Sources     map[string]string   // mark → where values so marked are from
	From        map[string][]string // measurement → the mark of each value
}

// Charts lists the names of the size charts that come with the service.
func Charts() []string {
	files, err := charts.Files.ReadDir(".")
	if err != nil {
		return nil // an embedded folder can always be read
	}
	var out []string
	for _, f := range files {
		out = append(out, strings.TrimSuffix(f.Name(), path.Ext(f.Name())))
	}
	sort.Strings(out)
	return out
}

// ChartNamed reads one of them. An unknown name is a Fault without a pointer.
func ChartNamed(name string) (Chart, error) {
	data, err := charts.Files.ReadFile(name + ".json")
	if err != nil || !pattern.ValidName(name) {
		return Chart{}, pattern.Fault{Rule: "unknown_chart", Detail: fmt.Sprintf("there is no size chart %s", pattern.Quote(name)), Valid: pattern.Choices(Charts()), Remedy: pattern.Suggest(name, Charts())}
	}
	return decodeChart(data)
}

func decodeChart(data []byte) (Chart, error) {
	v, err := read(data, DefaultLimits())
	if err != nil {
		return Chart{}, err
	}
	d := &decoder{lim: DefaultLimits(), per: 1}
	var c Chart
	d.object(v, []string{"chart", "title", "unit", "base", "run", "sources", "body"}, []string{"breaks"})
	d.unit(v)
	c.Name, c.Title = d.name(v, "chart", "chart"), d.text(v, "title")
	d.field(v, "base", func(m *value) { c.Sizes.Base = d.size(m) })
	sizes := func(name string, into *[]string) {
		d.field(v, name, func(m *value) {
			d.items(m, "sizes", pattern.MaxSizes, func(_ int, m *value) { *into = append(*into, d.size(m)) })
		})
	}
	sizes("run", &c.Sizes.Run)
	sizes("breaks", &c.Sizes.Breaks)
	c.Sources = map[string]string{}
	d.field(v, "sources", func(m *value) {
		d.members(m, "source", pattern.MaxMeasures, func(k string, m *value) { c.Sources[k] = d.textValue(m) })
	})
	c.Sizes.Body, c.From = map[string][]float64{}, map[string][]string{}
	d.field(v, "body", func(m *value) {
		d.members(m, "measurement", pattern.MaxMeasures, func(k string, m *value) {
			d.object(m, []string{"values", "from"}, nil)
			d.field(m, "values", func(m *value) {
				d.items(m, "lengths", pattern.MaxSizes, func(_ int, m *value) {
					c.Sizes.Body[k] = append(c.Sizes.Body[k], d.length(m, "the measurement", 1, pattern.MaxBody))
				})
			})
			d.field(m, "from", func(m *value) {
				d.items(m, "marks of sources", pattern.MaxSizes, func(_ int, m *value) {
					s := d.textValue(m)
					if c.Sources[s] == "" {
						d.fail(pattern.Fault{Rule: "unknown_source", Detail: fmt.Sprintf("there is no source %s", pattern.Quote(s)), Valid: pattern.Choices(sortedKeys(c.Sources)), Remedy: "say where the value is from"})
					}
					c.From[k] = append(c.From[k], s)
				})
			})
			if n := len(c.Sizes.Run); len(c.Sizes.Body[k]) != n || len(c.From[k]) != n {
				d.fail(pattern.Fault{Rule: "chart_length", Detail: fmt.Sprintf("%s has %d values and %d sources for %d sizes", k, len(c.Sizes.Body[k]), len(c.From[k]), n), Valid: "one value and one source per size", Remedy: "complete the row"})
			}
		})
	})
	return c, d.faults.Err()
}

// namedChart reads {"chart": name} with, if wanted, a choice of its sizes and another base size.
func (d *decoder) namedChart(v *value) pattern.SizeChart {
	var c pattern.SizeChart
	if !d.object(v, []string{"chart"}, []string{"run", "base"}) {
		return c
	}
	known := false
	d.field(v, "chart", func(m *value) {
		s := d.textValue(m)
		if m.kind != kText {
			return
		}
		ch, err := ChartNamed(s)
		if err != nil {
			d.fail(pattern.FaultsOf(err)[0])
			return
		}
		c, known = ch.Sizes, true
	})
	if !known {
		return c
	}
	d.field(v, "run", func(m *value) {
		var keep []int
		d.items(m, "sizes", d.lim.Sizes, func(_ int, m *value) {
			s := d.size(m)
			i := c.Index(s)
			switch {
			case i < 0:
				d.fail(pattern.Fault{Rule: "unknown_size", Detail: fmt.Sprintf("the chart has no size %s", pattern.Quote(s)), Valid: pattern.Choices(c.Run), Remedy: pattern.Suggest(s, c.Run)})
			case len(keep) > 0 && i <= keep[len(keep)-1]:
				d.fail(pattern.Fault{Rule: "size_order", Detail: fmt.Sprintf("size %s comes out of order", s), Valid: "sizes in the chart's order, each once: " + strings.Join(c.Run, ", "), Remedy: "sort them, small to large"})
			default:
				keep = append(keep, i)
			}
		})
		if m.kind == kList && len(m.list) == 0 {
			d.fail(pattern.Fault{Rule: "count", Detail: "the run has no size", Valid: fmt.Sprintf("1 to %d sizes", len(c.Run)), Remedy: `name a size, or leave "run" out for all of them`})
		}
		if len(keep) == len(m.list) && len(keep) > 0 {
			c = chosen(c, keep)
		}
	})
	d.field(v, "base", func(m *value) {
		s := d.size(m)
		if c.Index(s) < 0 {
			d.fail(pattern.Fault{Rule: "unknown_size", Detail: fmt.Sprintf("the run has no size %s", pattern.Quote(s)), Valid: pattern.Choices(c.Run), Remedy: pattern.Suggest(s, c.Run)})
			return
		}
		c.Base = s
	})
	return c
}

// chosen is the chart with these sizes only. A break stays with the first size at or after it; a base
// size that was not chosen gives way to the middle one.
func chosen(c pattern.SizeChart, keep []int) pattern.SizeChart {
	out := pattern.SizeChart{Base: c.Base, Body: make(map[string][]float64, len(c.Body))}
	for _, i := range keep {
		out.Run = append(out.Run, c.Run[i])
	}
	if out.Index(c.Base) < 0 {
		out.Base = out.Run[len(out.Run)/2]
	}
	for _, b := range c.Breaks {
		for k, i := range keep {
			if i < c.Index(b) {
				continue
			}
			if n := len(out.Breaks); k > 0 && (n == 0 || out.Breaks[n-1] != c.Run[i]) {
				out.Breaks = append(out.Breaks, c.Run[i])
			}
			break
		}
	}
	for name, vals := range c.Body {
		for _, i := range keep {
			out.Body[name] = append(out.Body[name], vals[i])
		}
	}
	return out
}
