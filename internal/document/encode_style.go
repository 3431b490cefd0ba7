package document

import (
	"fmt"
	"math"

	"sizerun/internal/pattern"
)

// EncodeStyle writes a style in its canonical form. Bare numbers among the arguments of changes
// keep the unit in which they were written, since only the change knows which of them are lengths.
func EncodeStyle(s pattern.Style) ([]byte, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	unit, err := unitOf(&s)
	if err != nil {
		return nil, err
	}
	w := &writer{}
	w.object(false, func() {
		w.key("style")
		w.str(s.Name)
		w.textIf("title", s.Title)
		w.textIf("shop", s.Shop)
		w.textIf("unit", unit)
		w.key("block")
		w.str(s.Block)
		if len(s.Changes) > 0 {
			w.key("changes")
			w.list(false, func() {
				for _, c := range s.Changes {
					w.next()
					w.object(true, func() {
						w.key("change")
						w.str(c.Change)
						encodeFields(w, c.Args.Fields)
					})
				}
			})
		}
		w.key("allowances")
		w.object(false, func() {
			w.key("default")
			encodeAllowance(w, s.Allowances.Default, unit)
			if len(s.Allowances.Edges) > 0 {
				w.key("edges")
				w.object(false, func() {
					for _, k := range sortedKeys(s.Allowances.Edges) {
						w.key(k)
						encodeAllowance(w, s.Allowances.Edges[k], unit)
					}
				})
			}
			if s.Allowances.Limit != 0 {
				w.key("limit")
				w.plain(s.Allowances.Limit)
			}
		})
		if len(s.Labels) > 0 {
			w.key("labels")
			w.list(false, func() {
				for _, l := range s.Labels {
					w.next()
					w.str(l)
				}
			})
		}
	})
	return append(w.b, '\n'), nil
}

// unitOf finds the unit in which the style's arguments were written; all must agree.
func unitOf(s *pattern.Style) (string, error) {
	per := 0.0
	var err error
	var walk func(ptr string, a *pattern.Arg)
	walk = func(ptr string, a *pattern.Arg) {
		if a.Kind == pattern.ArgNumber {
			p := a.PerMM
			if p == 0 {
				p = 1
			}
			if math.IsNaN(a.Number) || math.IsInf(a.Number, 0) {
				err = pattern.Faults{{Rule: "out_of_range", Pointer: ptr, Detail: "an argument is not a number", Valid: "ordinary numbers", Remedy: "check the value"}}
			}
			if per != 0 && p != per {
				err = pattern.Faults{{Rule: "mixed_units", Pointer: ptr, Detail: "arguments in different units", Valid: "one unit for all bare numbers", Remedy: "give lengths as text with their unit"}}
			}
			per = p
		}
		for i := range a.List {
			walk(ptr+pattern.Pointer(fmt.Sprint(i)), &a.List[i])
		}
		for i := range a.Fields {
			walk(ptr+pattern.Pointer(a.Fields[i].Name), &a.Fields[i].Value)
		}
	}
	for i := range s.Changes {
		walk(pattern.Pointer("changes", fmt.Sprint(i)), &s.Changes[i].Args)
	}
	if err != nil {
		return "", err
	}
	for _, u := range [...]string{"cm", "in"} {
		if f, _ := pattern.PerMM(u); f == per {
			return u, nil
		}
	}
	return "mm", nil
}

func encodeFields(w *writer, fields []pattern.Field) {
	for i := range fields {
		w.key(fields[i].Name)
		encodeArg(w, &fields[i].Value)
	}
}

func encodeArg(w *writer, a *pattern.Arg) {
	switch a.Kind {
	case pattern.ArgNumber:
		w.plain(a.Number)
	case pattern.ArgText:
		w.str(a.Text)
	case pattern.ArgBool:
		w.bool(a.Bool)
	case pattern.ArgList:
		w.list(true, func() {
			for i := range a.List {
				w.next()
				encodeArg(w, &a.List[i])
			}
		})
	default:
		w.object(true, func() { encodeFields(w, a.Fields) })
	}
}

// encodeAllowance writes a bare width where nothing else is told. In a document whose unit is not
// the millimetre, millimetres are marked as such.
func encodeAllowance(w *writer, a pattern.Allowance, unit string) {
	width := func() {
		if unit == "mm" {
			w.mm(a.Width)
			return
		}
		n := len(w.b)
		w.mm(a.Width)
		s := string(w.b[n:]) + "mm"
		w.b = w.b[:n]
		w.str(s)
	}
	if a.Turned == 0 && a.Start == "" && a.End == "" {
		width()
		return
	}
	w.object(true, func() {
		w.key("width")
		width()
		if a.Turned > 0 {
			w.textIf("turned", turns()[a.Turned])
		}
		w.textIf("start", string(a.Start))
		w.textIf("end", string(a.End))
	})
}
