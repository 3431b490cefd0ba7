package maker

import (
	"slices"

	"sizerun/internal/grade"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
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
