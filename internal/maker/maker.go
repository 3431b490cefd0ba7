package maker

import (
	"fmt"
	"strings"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/grade"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Input is everything that Make depends on.
type Input struct {
	Block  pattern.Block
	Style  pattern.Style
	Sizes  []string // of the block's run; nil means all of it, empty means none
	Bodies []Body
	Checks inspect.Options // the zero value asks for the defaults
}

// Body is one customer's measurements.
type Body struct {
	Name string
	Body map[string]float64 // mm
}

// Size is the style made in one size.
type Size struct {
	Pattern  pattern.Pattern
	Cut      []allowance.Piece // parallel to Pattern.Pieces
	Steps    []change.Step     // sewing steps that the changes add, with this size's amounts
	Drawings []change.Drawing  // working drawings, one a change
	Notions  []string          // what must be bought besides cloth
	Finished []inspect.Taken   // what the garment measures, as the block defines it
}

// Made is a finished style with its report.
type Made struct {
	Block  pattern.Block
	Style  pattern.Style
	Sizes  []Size
	Report inspect.Report
}

// Stage names where Make is, for whoever watches.
type Stage string

// The stages, in order.
const (
	Grading    Stage = "grading"
	Making     Stage = "making" // changes and allowances, a size at a time
	Inspecting Stage = "inspecting"
)

// Progress tells that done of total are finished in a stage. An answer stops Make with that error.
type Progress func(s Stage, done, total int) error

// Make makes the style. What it refuses is pattern.Faults: pointers lie under /block or /style.
func Make(in Input, progress Progress) (Made, error) {
	if progress == nil {
		progress = func(Stage, int, int) error { return nil }
	}
	bound, err := bind(in)
	if err != nil {
		return Made{}, err
	}
	if err := progress(Grading, 0, 1); err != nil {
		return Made{}, err
	}
	patterns, err := graded(in)
	if err != nil {
		return Made{}, err
	}
	made := Made{Block: in.Block, Style: in.Style}
	var judged []inspect.Sized
	for k, p := range patterns {
		if err := progress(Making, k, len(patterns)); err != nil {
			return Made{}, err
		}
		s, promised, err := one(in, bound, p)
		if err != nil {
			return Made{}, err
		}
		made.Sizes = append(made.Sizes, s)
		judged = append(judged, inspect.Sized{Pattern: s.Pattern, Cut: s.Cut, Promised: promised, Finished: s.Finished, Worn: len(in.Style.Changes) > 0})
	}
	if err := progress(Inspecting, 0, 1); err != nil {
		return Made{}, err
	}
	made.Report = inspect.Run(judged, in.Block.Chart, in.Checks)
	return made, nil
}

// bind checks the documents and gives each change its parameters, so that whatever can be refused
// before the first size is refused there, all of it at once.
func bind(in Input) ([]change.Bound, error) {
	var fs pattern.Faults
	fs = append(fs, pattern.FaultsOf(in.Block.Validate()).Under("/block")...)
	fs = append(fs, pattern.FaultsOf(in.Style.Validate()).Under("/style")...)
	bound := make([]change.Bound, 0, len(in.Style.Changes))
	for i, spec := range in.Style.Changes {
		b, err := change.Bind(spec)
		if err != nil {
			fs = append(fs, pattern.FaultsOf(err).Under(fmt.Sprintf("/style/changes/%d", i))...)
			continue
		}
		bound = append(bound, b)
	}
	return bound, fs.Err()
}

// graded gives every size asked for on its seam lines.
func graded(in Input) ([]pattern.Pattern, error) {
	sizes := in.Sizes
	if sizes == nil {
		sizes = in.Block.Chart.Run
	}
	if len(sizes)+len(in.Bodies) == 0 {
		return nil, pattern.Faults{{Rule: "count", Pointer: "/sizes", Detail: "no size is asked for", Valid: "1 size or more, or a body", Remedy: "name the sizes"}}
	}
	patterns, err := grade.Run(in.Block, sizes)
	if err != nil {
		return nil, pattern.FaultsOf(err).Under("/block")
	}
	for _, b := range in.Bodies {
		p, err := grade.Body(in.Block, b.Name, b.Body)
		if err != nil {
			return nil, pattern.FaultsOf(err)
		}
		patterns = append(patterns, p)
	}
	if in.Block.Drawn != pattern.DrawnCut {
		return patterns, nil
	}
	for i := range patterns {
		p := &patterns[i]
		for k := range p.Pieces {
			seam, err := allowance.SeamFromCut(p.Size, &p.Pieces[k], in.Block.Included)
			if err != nil {
				return nil, pattern.FaultsOf(err).Under("/block")
			}
			p.Pieces[k] = seam
		}
	}
	return patterns, nil
}

// one makes a single size: the changes in order, then the cut lines.
func one(in Input, bound []change.Bound, p pattern.Pattern) (Size, []inspect.Check, error) {
	s := Size{Pattern: p}
	rows := finishedOf(in.Block, &p)
	var promised []inspect.Check
	for i, b := range bound {
		r, err := b.Apply(s.Pattern)
		if err != nil {
			fs := pattern.FaultsOf(err).Under(fmt.Sprintf("/style/changes/%d", i))
			return Size{}, nil, sized(fs, p.Size)
		}
		s.Pattern = r.Pattern
		rows = withRows(rows, r.Finished, r.Pattern)
		s.Steps = append(s.Steps, r.Steps...)
		s.Drawings = append(s.Drawings, r.Drawing)
		s.Notions = append(s.Notions, r.Notions...)
		promised = append(promised, r.Checks...)
	}
	s.Notions = unique(s.Notions)
	s.Finished = inspect.Finished(&s.Pattern, rows)
	for k := range s.Pattern.Pieces {
		c, err := allowance.Make(p.Size, &s.Pattern.Pieces[k], in.Style.Allowances)
		if err != nil {
			return Size{}, nil, sized(underAllowances(err), p.Size)
		}
		s.Cut = append(s.Cut, c)
	}
	if err := unmet(in.Style.Allowances, &s.Pattern); err != nil {
		return Size{}, nil, err
	}
	return s, promised, nil
}

// underAllowances points into the style: to the allowance itself where the fault names it.
func underAllowances(err error) pattern.Faults {
	fs := append(pattern.Faults(nil), pattern.FaultsOf(err)...)
	for i := range fs {
		if strings.HasPrefix(fs[i].Pointer, "/allowances") {
			fs[i].Pointer = "/style" + fs[i].Pointer
		} else {
			fs[i].Pointer = "/style/allowances" + fs[i].Pointer
		}
	}
	return fs
}

func sized(fs pattern.Faults, size string) pattern.Faults {
	for i := range fs {
		if fs[i].Size == "" {
			fs[i].Size = size
		}
	}
	return fs
}
