package grade

import (
	"sizerun/internal/draft"
	"sizerun/internal/pattern"
)

// Measures are the body measurements that a block depends on: those that its rules take shares of, or that
// its draft uses.
func Measures(b pattern.Block) map[string]bool {
	used := map[string]bool{}
	if b.Draft != nil {
		d, _ := draft.Named(b.Draft.Kind)
		for _, m := range d.Measures {
			used[m.Name] = true
		}
		return used
	}
	for i := range b.Pieces {
		for _, r := range b.Pieces[i].Rules {
			for _, axis := range [2]map[string]float64{r.X, r.Y} {
				for k, share := range axis {
					if share != 0 {
						used[k] = true
					}
				}
			}
		}
	}
	return used
}
