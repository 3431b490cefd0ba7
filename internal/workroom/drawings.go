package workroom

import (
	"fmt"
	"slices"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
)

// MaxDrawings bounds the working drawings of one companion: a page and more each. It is enough for a style
// of 25 changes in 12 sizes.
const MaxDrawings = 300

// drawable judges the sizes whose working drawings an output asks for: they must be made by this run, and
// not be too many.
func drawable(q document.RunRequest, b pattern.Block, st pattern.Style, o document.Output) pattern.Faults {
	if !o.Companion {
		return nil
	}
	made := slices.Clone(q.Sizes)
	if q.Sizes == nil {
		made = slices.Clone(b.Chart.Run)
	}
	for _, c := range q.Bodies {
		made = append(made, c.Name)
	}
	var fs pattern.Faults
	for i, s := range o.Drawings {
		if !slices.Contains(made, s) {
			fs = append(fs, pattern.Fault{Rule: "unknown_size", Pointer: fmt.Sprintf("/drawings/%d", i), Size: s,
				Detail: fmt.Sprintf("size %s is to be drawn, but this run does not make it", pattern.Quote(s)), Valid: pattern.Choices(made), Remedy: pattern.Suggest(s, made)})
		}
	}
	n := max(len(o.Drawings), 1)
	if o.EveryDrawing {
		n = len(made)
	}
	if each := len(st.Changes); n > 1 && n*each > MaxDrawings {
		fs = append(fs, pattern.Fault{Rule: "count", Pointer: "/drawings",
			Detail: fmt.Sprintf("%d sizes of a style of %d changes are %d working drawings", n, each, n*each),
			Valid:  fmt.Sprintf("at most %d drawings, here %d sizes", MaxDrawings, max(MaxDrawings/each, 1)), Remedy: "draw fewer sizes at once"})
	}
	return fs
}

// drawnIn lists the sizes whose working drawings any of the sheets shows, in the order made.
func drawnIn(made maker.Made, sheets []aSheet) []*maker.Size {
	some := map[*maker.Size]bool{}
	for _, s := range sheets {
		if s.companion {
			for _, d := range made.Drawn(s.print) {
				some[d] = true
			}
		}
	}
	var out []*maker.Size
	for i := range made.Sizes {
		if some[&made.Sizes[i]] {
			out = append(out, &made.Sizes[i])
		}
	}
	return out
}
