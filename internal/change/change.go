package change

import (
	"fmt"
	"slices"
	"sort"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Definition is what the register tells about a change.
type Definition struct {
	Name     string
	Sentence string // what it does
	Promise  string // what it keeps exactly
	Params   []Param
	// Sketch is a small drawing in a box 100 wide and 100 high, y up.
	Sketch []Stroke
	fresh  func() args
}

// Stroke is a line of a Sketch.
type Stroke struct {
	Kind StrokeKind
	Path geom.Path
}

// StrokeKind tells what a drawn line is.
type StrokeKind string

// The kinds of line in sketches and working drawings.
const (
	Outline      StrokeKind = "outline"
	Construction StrokeKind = "construction"
	New          StrokeKind = "new"
	CutAway      StrokeKind = "cut_away"
)

// args is a change's parameter struct: tagged fields, and the work itself. Fields are read only.
type args interface {
	apply(w *work) error
}

// checker is an args that has rules between its fields, which tags cannot tell.
type checker interface{ check() pattern.Faults }

// Register lists every change, sorted by name.
func Register() []Definition {
	defs := definitions()
	for i := range defs {
		defs[i].Params = paramsOf(defs[i].fresh())
	}
	sort.Slice(defs, func(i, j int) bool { return defs[i].Name < defs[j].Name })
	return defs
}

// definitions is the register without the parameters, which are read from tags.
func definitions() []Definition {
	return slices.Concat(generalChanges(), sleeveChanges(), dartChanges(), neckChanges(), skirtChanges(), stripChanges())
}

// Bound is a change with its arguments, ready for any number of sizes.
type Bound struct {
	def  Definition
	args args
}

// Bind finds the change and reads its arguments. Its error is pattern.Faults, with pointers into the
// arguments ("/cap_share").
func Bind(spec pattern.ChangeSpec) (Bound, error) {
	var names []string
	for _, d := range definitions() {
		names = append(names, d.Name)
		if d.Name != spec.Change {
			continue
		}
		a := d.fresh()
		if fs := bindArgs(d.Name, a, spec.Args); len(fs) > 0 {
			return Bound{}, fs
		}
		d.Params = paramsOf(a)
		return Bound{d, a}, nil
	}
	sort.Strings(names)
	return Bound{}, pattern.Faults{{Rule: "unknown_change", Pointer: "/change", Detail: fmt.Sprintf("there is no change %s", pattern.Quote(spec.Change)),
		Valid: pattern.Choices(names), Remedy: pattern.Suggest(spec.Change, names)}}
}

// Definition tells which change it is.
func (b Bound) Definition() Definition { return b.def }

// Apply makes the change in one size. The pattern given is not touched. Its error is pattern.Faults
// that name size, place and remedy.
func (b Bound) Apply(p pattern.Pattern) (Result, error) {
	if b.args == nil {
		return Result{}, pattern.Faults{{Rule: "not_bound", Detail: "no change is bound", Remedy: "bind a change before applying it"}}
	}
	w := &work{change: b.def.Name, p: p.Clone()}
	w.sources()
	if err := b.args.apply(w); err != nil {
		return Result{}, w.named(err)
	}
	if err := w.sound(); err != nil {
		return Result{}, w.named(err)
	}
	if err := w.stillThere(&p); err != nil {
		return Result{}, w.named(err)
	}
	if err := w.stillSewn(&p); err != nil {
		return Result{}, w.named(err)
	}
	w.tellMade(&p)
	w.tellGone()
	w.res.Pattern = w.p
	for i := range w.res.Checks {
		w.res.Checks[i].Size = p.Size
	}
	return w.res, nil
}
