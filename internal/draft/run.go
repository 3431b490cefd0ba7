package draft

import (
	"fmt"
	"math"
	"sort"
	"strconv"

	"sizerun/internal/pattern"
)

// Draft draws one size. Pointers of faults: /draft, /ease/NAME, /lengths/NAME, /numbers/NAME,
// /body/NAME.
func Draft(size string, spec pattern.DraftSpec, body map[string]float64) (pattern.Pattern, error) {
	d, fs := check(&spec)
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	p, fs := d.one(size, &spec, body)
	return p, fs.Err()
}

// Run drafts a block in the named sizes of its chart, in their order. The error is pattern.Faults;
// each tells its size, and points into the block document.
func Run(b pattern.Block, sizes []string) ([]pattern.Pattern, error) {
	d, fs := Check(b)
	if len(fs) > 0 {
		return nil, fs
	}
	out := make([]pattern.Pattern, 0, len(sizes))
	for i, s := range sizes {
		k := b.Chart.Index(s)
		if k < 0 {
			fs = append(fs, pattern.Fault{Rule: "unknown_size", Pointer: pattern.Pointer("sizes", strconv.Itoa(i)), Size: s,
				Detail: fmt.Sprintf("block %q has no size %s", b.Name, pattern.Quote(s)), Valid: pattern.Choices(b.Chart.Run), Remedy: pattern.Suggest(s, b.Chart.Run)})
			continue
		}
		p, more := d.one(s, b.Draft, b.Chart.BodyOf(k))
		p.Base = s == b.Chart.Base
		for _, f := range more {
			f.Pointer = inChart(f.Pointer, b.Chart, k)
			fs = append(fs, f)
		}
		out = append(out, p)
	}
	if len(fs) > 0 {
		return nil, fs
	}
	return out, nil
}

// inChart turns a pointer to a body's measurement into one to its value in the chart; one that the
// chart does not hold points to the chart.
func inChart(ptr string, c pattern.SizeChart, size int) string {
	const body = "/body/"
	if len(ptr) <= len(body) || ptr[:len(body)] != body {
		return ptr
	}
	if _, ok := c.Body[ptr[len(body):]]; !ok {
		return "/sizes/body"
	}
	return "/sizes" + ptr + "/" + strconv.Itoa(size)
}

// reach is how far from its chart a body may lie, as for a block that is graded by shares: a third
// below the least and above the greatest.
const reach = 1.0 / 3

// Body drafts a block for one customer. It needs the measurements that the draft can't guess.
// Pointers of faults: /body/NAME.
func Body(b pattern.Block, name string, body map[string]float64) (pattern.Pattern, error) {
	d, fs := Check(b)
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	known := map[string]bool{}
	for k := range b.Chart.Body {
		known[k] = true
	}
	for _, m := range d.Measures {
		known[m.Name] = true
	}
	names := sorted(known)
	for _, k := range sorted(body) {
		if !known[k] {
			fs = append(fs, pattern.Fault{Rule: "unknown_measurement", Pointer: pattern.Pointer("body", k), Size: name,
				Detail: fmt.Sprintf("neither the size chart nor the draft has a measurement %s", pattern.Quote(k)), Valid: pattern.Choices(names), Remedy: pattern.Suggest(k, names)})
			continue
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, v := range b.Chart.Body[k] {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
		lo, hi = math.Floor(lo*(1-reach)), math.Ceil(hi*(1+reach))
		if v := body[k]; len(b.Chart.Body[k]) > 0 && !(v >= lo && v <= hi) {
			fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: pattern.Pointer("body", k), Size: name,
				Detail: fmt.Sprintf("%s is %s mm", k, whole(v)), Valid: fmt.Sprintf("%.0f to %.0f mm, a third beyond the chart", lo, hi),
				Remedy: "check the value and its unit; a body that far from the chart needs a block of its own"})
		}
	}
	if len(fs) > 0 {
		return pattern.Pattern{}, fs
	}
	p, fs := d.one(name, b.Draft, body)
	return p, fs.Err()
}

// Check tells whether a block asks for a draft that there is, with options that it has, and whether
// its chart holds what the draft needs. Pointers follow the block document.
func Check(b pattern.Block) (Definition, pattern.Faults) {
	if b.Draft == nil {
		return Definition{}, pattern.Faults{{Rule: "no_draft", Pointer: "/draft", Detail: fmt.Sprintf("block %q is not drafted from measurements", b.Name),
			Valid: pattern.Choices(Names()), Remedy: "name a draft"}}
	}
	d, fs := check(b.Draft)
	for _, m := range d.Measures {
		if _, ok := b.Chart.Body[m.Name]; !ok && m.Guess == nil {
			fs = append(fs, missing(&d, m, "/sizes/body", ""))
		}
	}
	return d, fs
}

// check looks at the kind and the options.
func check(s *pattern.DraftSpec) (Definition, pattern.Faults) {
	d, ok := Named(s.Kind)
	if !ok {
		return d, pattern.Faults{{Rule: "unknown_draft", Pointer: "/draft", Detail: fmt.Sprintf("there is no draft %s", pattern.Quote(s.Kind)),
			Valid: pattern.Choices(Names()), Remedy: pattern.Suggest(s.Kind, Names())}}
	}
	var fs pattern.Faults
	for _, w := range d.options(s) {
		for _, k := range sorted(w.given) {
			ptr := pattern.Pointer(w.key, k)
			o := optionNamed(w.list, k)
			if o == nil {
				fs = append(fs, pattern.Fault{Rule: "unknown_name", Pointer: ptr, Detail: fmt.Sprintf("the draft %q has no %s here", d.Name, pattern.Quote(k)),
					Valid: pattern.Choices(optionNames(w.list)), Remedy: pattern.Suggest(k, optionNames(w.list))})
				continue
			}
			if v := w.given[k]; !(v >= o.Min && v <= o.Max) {
				fs = append(fs, pattern.Fault{Rule: "out_of_range", Pointer: ptr, Detail: fmt.Sprintf("%s is %s%s", k, whole(v), w.unit),
					Valid: fmt.Sprintf("%s to %s%s", whole(o.Min), whole(o.Max), w.unit), Remedy: fmt.Sprintf("leave it out for %s%s", whole(o.Default), w.unit)})
			}
		}
	}
	return d, fs
}

func missing(d *Definition, m Measure, ptr, size string) pattern.Fault {
	var need []string
	for _, x := range d.Measures {
		if x.Guess == nil {
			need = append(need, x.Name)
		}
	}
	return pattern.Fault{Rule: "missing_measurement", Pointer: ptr + pattern.Pointer(m.Name), Size: size,
		Detail: fmt.Sprintf("the draft %q needs the measurement %q: %s", d.Name, m.Name, m.Sentence), Valid: "needed: " + pattern.Choices(need), Remedy: fmt.Sprintf("measure %q and add it", m.Name)}
}

// one draws a size whose options are checked.
func (d *Definition) one(size string, s *pattern.DraftSpec, body map[string]float64) (pattern.Pattern, pattern.Faults) {
	b := &board{size: size, body: make(map[string]float64, len(d.Measures))}
	o := d.options(s)
	b.ease, b.lengths, b.numbers = o[0].filled(), o[1].filled(), o[2].filled()
	for _, m := range d.Measures {
		v, ok := body[m.Name]
		switch {
		case ok:
		case m.Guess == nil:
			b.faults = append(b.faults, missing(d, m, "/body", size))
			continue
		case b.failed():
			continue // nothing to guess from
		default:
			v = m.Guess(b.body)
		}
		if !(v >= m.Min && v <= m.Max) {
			b.refuse("out_of_range", m.Name, fmt.Sprintf("%s is %s mm", m.Name, whole(v)), fmt.Sprintf("%s to %s mm", whole(m.Min), whole(m.Max)), "check the value and its unit; measured like this: "+m.Sentence)
			continue
		}
		b.body[m.Name] = v
	}
	if !b.failed() {
		d.draw(b)
	}
	if b.failed() {
		return pattern.Pattern{Size: size}, b.faults
	}
	full := make(map[string]float64, len(body))
	for k, v := range body {
		full[k] = v
	}
	return pattern.Pattern{Size: size, Body: full, Pieces: b.pieces, Seams: b.seams}, nil
}

func sorted[V any](m map[string]V) []string {
	out := make([]string, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	sort.Strings(out)
	return out
}
