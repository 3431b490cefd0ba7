package change_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"sizerun/internal/allowance"
	"sizerun/internal/change"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// The kit of the changes' tests: arguments as a document gives them, a change made on a pattern, what every
// change owes, what it must refuse. Pieces to make changes on are drafted in darted_test.go (blouse),
// skirt_test.go, strips_kit_test.go and demo_test.go (the demo blocks).

// arg, num, text, obj and list build the arguments of a change as a document would give them.
func obj(kv ...any) pattern.Arg {
	a := pattern.Arg{Kind: pattern.ArgObject, PerMM: 1}
	for i := 0; i < len(kv); i += 2 {
		a.Fields = append(a.Fields, pattern.Field{Name: kv[i].(string), Value: val(kv[i+1])})
	}
	return a
}

func val(v any) pattern.Arg {
	switch x := v.(type) {
	case pattern.Arg:
		return x
	case float64:
		return pattern.Arg{Kind: pattern.ArgNumber, Number: x, PerMM: 1}
	case int:
		return pattern.Arg{Kind: pattern.ArgNumber, Number: float64(x), PerMM: 1}
	case string:
		return pattern.Arg{Kind: pattern.ArgText, Text: x, PerMM: 1}
	case bool:
		return pattern.Arg{Kind: pattern.ArgBool, Bool: x}
	case []any:
		a := pattern.Arg{Kind: pattern.ArgList, PerMM: 1}
		for _, e := range x {
			a.List = append(a.List, val(e))
		}
		return a
	}
	panic(fmt.Sprintf("%T", v))
}

func bind(t testing.TB, name string, kv ...any) change.Bound {
	t.Helper()
	b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(kv...)})
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func tryBind(name string, kv ...any) (change.Bound, error) {
	return change.Bind(pattern.ChangeSpec{Change: name, Args: obj(kv...)})
}

func apply(t testing.TB, p pattern.Pattern, name string, kv ...any) change.Result {
	t.Helper()
	r, err := bind(t, name, kv...).Apply(p)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func applied(t testing.TB, p pattern.Pattern, name string, kv ...any) *pattern.Pattern {
	t.Helper()
	r := apply(t, p, name, kv...)
	return &r.Pattern
}

func lengthOf(p *pattern.Piece, edge string) float64 {
	i := p.EdgeNamed(edge)
	if i < 0 {
		return math.NaN()
	}
	return p.Edges[i].Path.Length()
}

func length(p *pattern.Pattern, piece, edge string) float64 {
	q := p.PieceNamed(piece)
	return q.Edges[q.EdgeNamed(edge)].Path.Length()
}

func passes(t *testing.T, r change.Result) {
	t.Helper()
	for _, c := range r.Checks {
		if c.Verdict != inspect.Pass {
			t.Errorf("size %s %s %s.%s: %.3f %s in %v ± %g: %s", c.Size, c.Rule, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Tolerance, c.Text)
		}
	}
}

// passed: every promise of a change is kept.
func passed(t testing.TB, claim string, checks []inspect.Check) {
	t.Helper()
	for _, c := range checks {
		if c.Verdict != inspect.Pass || c.Text == "" {
			t.Errorf("%s: %s %s.%s: %.4f in %v ± %g: %s", claim, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Tolerance, c.Text)
		}
	}
}

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

// cutOut adds home allowances to whatever pieces there are.
func cutOut(t testing.TB, r change.Result) inspect.Sized {
	t.Helper()
	home := pattern.Allowances{Default: pattern.Allowance{Width: 15.9}, Edges: map[string]pattern.Allowance{"*.neck": {Width: 6}}}
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

// whole runs every check of the house on what a change made.
func whole(t testing.TB, claim string, s inspect.Sized) {
	t.Helper()
	r := inspect.Run([]inspect.Sized{s}, pattern.SizeChart{}, inspect.Options{})
	for _, c := range r.Worst() {
		t.Errorf("%s: %s %s %s.%s: %.3f in %v: %s", claim, c.Verdict, c.Rule, c.Piece, c.Place, c.Measured, c.Want, c.Text)
	}
}

// inspected wants no failure in any size of a run that was changed.
func inspected(t *testing.T, sizes []inspect.Sized) {
	t.Helper()
	for _, c := range inspect.Run(sizes, blouse.Chart(), inspect.Options{}).Worst() {
		if c.Verdict == inspect.Fail {
			t.Errorf("%s size %s %s.%s: %.3f %s in %v ± %g: %s", c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Tolerance, c.Text)
		}
	}
}

// green makes a change in every size of the test skirt and holds the whole to inspection.
func green(t *testing.T, run []pattern.Pattern, chart pattern.SizeChart, specs ...[]any) []change.Result {
	t.Helper()
	var sizes []inspect.Sized
	var last []change.Result
	for _, p := range run {
		var r change.Result
		var promised []inspect.Check
		for _, s := range specs {
			r = apply(t, p, s[0].(string), s[1:]...)
			passes(t, r)
			promised = append(promised, r.Checks...)
			p = r.Pattern
		}
		r.Checks = promised
		sizes = append(sizes, cutOut(t, r))
		last = append(last, r)
	}
	for _, c := range inspect.Run(sizes, chart, inspect.Options{}).Worst() {
		t.Errorf("%s %s size %s %s.%s: %.3f %s in %v: %s", c.Verdict, c.Rule, c.Size, c.Piece, c.Place, c.Measured, c.Unit, c.Want, c.Text)
	}
	return last
}

func seamsMatch(t *testing.T, p *pattern.Pattern, ease map[string]float64) {
	t.Helper()
	for _, s := range p.Seams {
		a, err1 := inspect.Walk(p, s.Sew)
		b, err2 := inspect.Walk(p, s.To)
		if err1 != nil || err2 != nil {
			t.Errorf("seam %s: %v %v", s.Name, err1, err2)
			continue
		}
		if off := a.Len - b.Len - ease[s.Name]; math.Abs(off) > 0.1 && !s.Cap {
			t.Errorf("size %s: seam %s is %.3f mm off", p.Size, s.Name, off)
		}
	}
}

// tells: steps have amounts, the drawing is in order, its points are numbered, its measures measured.
func tells(t *testing.T, r change.Result) {
	t.Helper()
	if len(r.Steps) == 0 || len(r.Steps[0].Amounts) == 0 || len(r.Drawing.Steps) < 2 || len(r.Drawing.Lines) < 2 || len(r.Drawing.Points) < 2 || len(r.Drawing.Measures) == 0 || r.Drawing.Title == "" {
		t.Errorf("%d steps, drawing %d steps, %d lines, %d points, %d measures", len(r.Steps), len(r.Drawing.Steps), len(r.Drawing.Lines), len(r.Drawing.Points), len(r.Drawing.Measures))
	}
	for i, p := range r.Drawing.Points {
		if p.N != i+1 || !p.At.Finite() {
			t.Errorf("point %+v", p)
		}
	}
	for _, m := range r.Drawing.Measures {
		a, b := r.Drawing.Points[m.From-1].At, r.Drawing.Points[m.To-1].At
		if len(m.Path) == 0 && math.Abs(a.Dist(b)-m.MM) > 1e-6 || len(m.Path) > 0 && math.Abs(m.Path.Length()-m.MM) > 1e-6 || math.IsNaN(m.MM) {
			t.Errorf("measure %q %.3f", m.Label, m.MM)
		}
	}
	for _, s := range append(append([]string(nil), r.Drawing.Steps...), r.Steps[0].Text) {
		if strings.Contains(s, "NaN") || strings.Contains(s, "%!") || !strings.HasSuffix(s, ".") {
			t.Errorf("%q", s)
		}
	}
}

// refusal is what a change must say no to on the base size of the blouse.
type refusal struct {
	claim, rule, pointer, says string
	args                       []any
}

func refuses(t *testing.T, name string, list []refusal) {
	t.Helper()
	for _, c := range list {
		_, err := bind(t, name, c.args...).Apply(blouse.Make(blouse.Base()))
		if err == nil {
			t.Errorf("%s: was made", c.claim)
			continue
		}
		f := pattern.FaultsOf(err)[0]
		if f.Rule != c.rule || f.Pointer != c.pointer || f.Size != "14" || !strings.HasPrefix(f.Detail, name+": ") || !strings.Contains(f.Error(), c.says) || f.Remedy == "" {
			t.Errorf("%s: %+v", c.claim, f)
		}
	}
}

// refusals holds that each list of arguments is refused by the rule and pointer it is listed under.
func refusals(t *testing.T, p pattern.Pattern, name string, cases map[string][]any) {
	t.Helper()
	for want, args := range cases {
		b, err := change.Bind(pattern.ChangeSpec{Change: name, Args: obj(args...)})
		if err == nil {
			_, err = b.Apply(p)
		}
		if err == nil {
			t.Errorf("%s: not refused", want)
			continue
		}
		if f := pattern.FaultsOf(err)[0]; f.Rule+" "+f.Pointer != want || f.Remedy == "" {
			t.Errorf("%s: refused as %s %s: %v", want, f.Rule, f.Pointer, err)
		}
	}
}

func benchChange(b *testing.B, name string, kv ...any) {
	c := bind(b, name, kv...)
	p := blouse.Make(blouse.Base())
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}

func benchOn(b *testing.B, p pattern.Pattern, name string, kv ...any) {
	c := bind(b, name, kv...)
	for b.Loop() {
		if _, err := c.Apply(p); err != nil {
			b.Fatal(err)
		}
	}
}

// finite: a piece that a change has made is sound.
func finite(t testing.TB, name string, args []any, q *pattern.Piece) {
	t.Helper()
	for _, w := range unsoundPiece(q) {
		t.Fatalf("%s %v: piece %s: %s", name, args, q.Name, w)
	}
}

// attempt makes a change that may be refused. What it makes is sound; a refusal tells rule, size, place and
// remedy.
func attempt(t testing.TB, p pattern.Pattern, name string, args ...any) (res change.Result, made bool) {
	t.Helper()
	b, err := tryBind(name, args...)
	size := ""
	if err == nil {
		size = p.Size
		res, err = b.Apply(p)
	}
	if err != nil {
		for _, f := range pattern.FaultsOf(err) {
			if f.Rule == "" || f.Rule == "unknown" || f.Size != size || f.Remedy == "" || f.Pointer == "" && f.Piece == "" || strings.Contains(f.Error(), "NaN") {
				t.Fatalf("%s %v: a refusal that tells too little: %+v", name, args, f)
			}
		}
		return res, false
	}
	for i := range res.Pattern.Pieces {
		finite(t, name, args, &res.Pattern.Pieces[i])
	}
	return res, true
}
