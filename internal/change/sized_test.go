package change_test

import (
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

func sized(t testing.TB, r change.Result) inspect.Sized {
	t.Helper()
	home := pattern.Allowances{Default: pattern.Allowance{Width: 15.9}, Edges: map[string]pattern.Allowance{"front.hem": {Width: 12.7, Turned: 2}, "back.hem": {Width: 12.7, Turned: 2}, "front.neck": {Width: 6}, "back.neck": {Width: 6}}}
	s := inspect.Sized{Pattern: r.Pattern, Promised: r.Checks}
	for i := range r.Pattern.Pieces {
		c, err := allowance.Make(r.Pattern.Size, &r.Pattern.Pieces[i], home)
		if err != nil {
			t.Fatal(err)
		}
		s.Cut = append(s.Cut, c)
	}
	return s
}
