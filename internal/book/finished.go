package book

import (
	"math"
	"strconv"

	"sizerun/internal/inspect"
	"sizerun/internal/sheet"
)

// Finished tells what the garment measures, a column a size as in the size chart beside it and in the
// same unit. A row that can't be measured in any size is left out; the report tells why.
func Finished(sizes []string, taken [][]inspect.Taken) sheet.Table {
	t := sheet.Table{Title: "Finished garment, cm", Head: append([]string{"Size"}, sizes...)}
	seen := map[string]bool{}
	for _, list := range taken {
		for _, x := range list {
			if seen[x.Name] || x.Gone != "" {
				continue
			}
			seen[x.Name] = true
			row := []string{x.Says}
			for _, other := range taken {
				row = append(row, cell(other, x.Name))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

func cell(list []inspect.Taken, name string) string {
	for _, x := range list {
		if x.Name == name && x.Gone == "" {
			return strconv.FormatFloat(math.Round(x.MM)/10, 'f', -1, 64)
		}
	}
	return "–"
}
