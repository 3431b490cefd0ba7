package maker

import (
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
