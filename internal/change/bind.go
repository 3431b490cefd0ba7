package change

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Kind is what an argument means.
type Kind string

// The kinds of parameter.
const (
	Length     Kind = "length"  // a number in the document's unit, or text with its own: "2in"
	Share      Kind = "share"   // a part of a whole: 0.5 is half-way
	Angle      Kind = "angle"   // degrees
	Number     Kind = "number"  // a whole number
	Choice     Kind = "choice"  // one of Choices
	Flag       Kind = "flag"    // true or false
	Name       Kind = "name"    // the name of something that is there, or is to be
	Names      Kind = "names"   // one name or a list of them
	PlaceOf    Kind = "place"   // a place on a piece
	EdgesOf    Kind = "edges"   // one edge or a list of them, each as "piece.edge"
	Unreadable Kind = "unknown" // never in a definition: a tag that cannot be read
)

// Param is one parameter of a change: all that a form or a schema needs.
type Param struct {
	Name     string
	Kind     Kind
	Unit     string // "mm", "deg", "" for none
	Bounded  bool
	Min, Max float64
	Default  string // as it would stand in a document; "" where there is none
	Required bool
	Choices  []string
	// Sides: instead of one value for both, an object may give each its own under these names.
	Sides    []string
	Sentence string
}

// Each is a value per half: of a sleeve, the half that keeps the back underarm and the other.
type Each struct{ Back, Front float64 }

// eachSides are the names under which an Each is given.
var eachSides = [2]string{"back", "front"}

const mostNames = 20

// paramsOf reads the tags of a parameter struct:
//
//	arg      name in the document
//	kind     Kind
//	min max  bounds, in the parameter's own unit (mm, degrees, …)
//	default  value as it stands in a document
//	choices  comma-separated
//	must     "yes": has to be given
//	says     one plain sentence
//
// Parameters that several changes share stand once, in a struct that each embeds.
func paramsOf(a args) []Param {
	fields := taggedFields(a)
	out := make([]Param, 0, len(fields))
	for _, f := range fields {
		p := Param{Name: f.Tag.Get("arg"), Kind: Kind(f.Tag.Get("kind")), Default: f.Tag.Get("default"),
			Required: f.Tag.Get("must") == "yes", Sentence: f.Tag.Get("says")}
		switch p.Kind {
		case Length:
			p.Unit = "mm"
		case Angle:
			p.Unit = "deg"
		case Share, Number, Choice, Flag, Name, Names, PlaceOf, EdgesOf:
		default:
			p.Kind = Unreadable
		}
		lo, err1 := strconv.ParseFloat(f.Tag.Get("min"), 64)
		hi, err2 := strconv.ParseFloat(f.Tag.Get("max"), 64)
		if err1 == nil && err2 == nil {
			p.Bounded, p.Min, p.Max = true, lo, hi
		}
		if c := f.Tag.Get("choices"); c != "" {
			p.Choices = strings.Split(c, ",")
		}
		ft := f.Type
		if ft.Kind() == reflect.Pointer {
			ft = ft.Elem()
		}
		if ft == reflect.TypeFor[Each]() {
			p.Sides = eachSides[:]
		}
		out = append(out, p)
	}
	return out
}

// taggedFields are the parameters among the fields, those of embedded structs in their place.
func taggedFields(a args) []reflect.StructField {
	return slices.DeleteFunc(reflect.VisibleFields(reflect.TypeOf(a).Elem()), func(f reflect.StructField) bool { return f.Tag.Get("arg") == "" })
}

// bindArgs sets defaults, then what the document gives.
func bindArgs(change string, a args, arg pattern.Arg) pattern.Faults {
	v := reflect.ValueOf(a).Elem()
	params := paramsOf(a)
	field := map[string]reflect.Value{}
	for _, f := range taggedFields(a) {
		field[f.Tag.Get("arg")] = v.FieldByIndex(f.Index)
	}
	if arg.Kind != pattern.ArgObject && arg.Kind != pattern.ArgNone {
		return pattern.Faults{{Rule: "wrong_kind", Detail: change + ": its arguments are not an object", Valid: "an object", Remedy: "give the arguments by name"}}
	}
	given := map[string]*pattern.Arg{}
	var fs pattern.Faults
	names := make([]string, len(params))
	for i := range params {
		names[i] = params[i].Name
	}
	for i := range arg.Fields {
		f := &arg.Fields[i]
		if f.Name == "change" {
			continue
		}
		if _, ok := field[f.Name]; !ok {
			fs = append(fs, pattern.Fault{Rule: "unknown_argument", Pointer: pattern.Pointer(f.Name),
				Detail: fmt.Sprintf("%s has no parameter %s", change, pattern.Quote(f.Name)), Valid: pattern.Choices(names), Remedy: pattern.Suggest(f.Name, names)})
			if len(fs) > 20 {
				return fs
			}
			continue
		}
		if given[f.Name] != nil {
			fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: pattern.Pointer(f.Name),
				Detail: fmt.Sprintf("%s: %s is given twice", change, f.Name), Remedy: "give it once"})
			continue
		}
		given[f.Name] = &f.Value
	}
	for i := range params {
		p := &params[i]
		g := given[p.Name]
		switch {
		case g != nil:
			fs = append(fs, bindOne(change, p, pattern.Pointer(p.Name), field[p.Name], g)...)
		case p.Required:
			fs = append(fs, pattern.Fault{Rule: "missing_argument", Pointer: pattern.Pointer(p.Name),
				Detail: fmt.Sprintf("%s needs %s", change, p.Name), Valid: p.valid(), Remedy: p.ask() + ": " + p.Sentence})
		case p.Default != "":
			d := defaultArg(p)
			fs = append(fs, bindOne(change, p, pattern.Pointer(p.Name), field[p.Name], &d)...)
		}
	}
	if c, ok := a.(checker); ok && len(fs) == 0 {
		fs = c.check()
	}
	return fs
}

// defaultArg reads a default the way a document in millimetres would give it.
func defaultArg(p *Param) pattern.Arg {
	switch p.Kind {
	case Share, Angle, Number:
		x, _ := strconv.ParseFloat(p.Default, 64)
		return pattern.Arg{Kind: pattern.ArgNumber, Number: x, PerMM: 1}
	case Flag:
		return pattern.Arg{Kind: pattern.ArgBool, Bool: p.Default == "true"}
	}
	return pattern.Arg{Kind: pattern.ArgText, Text: p.Default}
}

// valid tells the range or the choices in words.
func (p *Param) valid() string {
	switch {
	case len(p.Choices) > 0:
		return strings.Join(p.Choices, ", ")
	case p.Kind == Length && p.Bounded:
		return fmt.Sprintf("%g to %g mm", p.Min, p.Max)
	case p.Kind == Angle && p.Bounded:
		return fmt.Sprintf("%g to %g degrees", p.Min, p.Max)
	case p.Bounded:
		return fmt.Sprintf("%g to %g", p.Min, p.Max)
	case p.Kind == Flag:
		return "true or false"
	case p.Kind == Name, p.Kind == Names:
		return pattern.NameRule
	case p.Kind == PlaceOf:
		return placeForms
	case p.Kind == EdgesOf:
		return "piece.edge"
	}
	return ""
}

// unit is what a number of this kind is followed by.
func (p *Param) unit() string {
	switch p.Kind {
	case Length:
		return " mm"
	case Angle:
		return " degrees"
	}
	return ""
}

// ask tells what to give.
func (p *Param) ask() string {
	what := "give"
	switch p.Kind {
	case Length:
		what += ` a length, as a number or with its unit ("2in")`
	case Share:
		what += " a share"
	case Angle:
		what += " an angle in degrees"
	case Number:
		what += " a whole number"
	case Choice:
		what += " one of the choices"
	case Flag:
		return "give true or false"
	case Name:
		return "give a name"
	case Names:
		return "give a name, or a list of names"
	case PlaceOf:
		return "tell a place"
	}
	if p.Bounded {
		what += " in that range"
	}
	return what
}

func bindOne(change string, p *Param, ptr string, v reflect.Value, g *pattern.Arg) pattern.Faults {
	if v.Kind() == reflect.Pointer {
		n := reflect.New(v.Type().Elem())
		if fs := bindOne(change, p, ptr, n.Elem(), g); len(fs) > 0 {
			return fs
		}
		v.Set(n)
		return nil
	}
	wrong := func(detail string) pattern.Faults {
		return pattern.Faults{{Rule: "wrong_kind", Pointer: ptr, Detail: fmt.Sprintf("%s: %s %s", change, p.Name, detail), Valid: p.valid(), Remedy: p.ask()}}
	}
	switch x := v.Addr().Interface().(type) {
	case *float64:
		n, fs := p.number(change, ptr, g)
		*x = n
		return fs
	case *int:
		n, fs := p.number(change, ptr, g)
		*x = int(n)
		return fs
	case *Each:
		return p.each(change, ptr, x, g)
	case *bool:
		if g.Kind != pattern.ArgBool {
			return wrong("is neither true nor false")
		}
		*x = g.Bool
	case *string:
		s, fs := p.text(change, ptr, g)
		*x = s
		return fs
	case *[]string:
		list := []pattern.Arg{*g}
		if g.Kind == pattern.ArgList {
			list = g.List
		}
		if len(list) == 0 || len(list) > mostNames {
			return wrong(fmt.Sprintf("must name 1 to %d things", mostNames))
		}
		var fs pattern.Faults
		for i := range list {
			at := ptr
			if g.Kind == pattern.ArgList {
				at += pattern.Pointer(fmt.Sprint(i))
			}
			s, f := p.text(change, at, &list[i])
			fs = append(fs, f...)
			for _, o := range *x {
				if o == s && len(f) == 0 {
					fs = append(fs, pattern.Fault{Rule: "given_twice", Pointer: at, Detail: fmt.Sprintf("%s: %s names %s twice", change, p.Name, s), Remedy: "name it once"})
				}
			}
			*x = append(*x, s)
		}
		return fs
	case *[]pattern.EdgeRef:
		refs, fs := p.edges(change, ptr, g)
		*x = refs
		return fs
	case *pattern.Place:
		pl, fs := bindPlace(change, p, ptr, g)
		*x = pl
		return fs
	default:
		return wrong("has a kind that cannot be read")
	}
	return nil
}

// number reads a length, share, angle or whole number and holds it to its range.
func (p *Param) number(change, ptr string, g *pattern.Arg) (float64, pattern.Faults) {
	fault := func(rule, detail string) pattern.Faults {
		return pattern.Faults{{Rule: rule, Pointer: ptr, Detail: fmt.Sprintf("%s: %s %s", change, p.Name, detail), Valid: p.valid(), Remedy: p.ask()}}
	}
	x := 0.0
	switch {
	case g.Kind == pattern.ArgNumber:
		x = g.Number
		if p.Kind == Length && g.PerMM != 0 {
			x *= g.PerMM
		}
	case g.Kind == pattern.ArgText && p.Kind == Length:
		mm, err := pattern.ParseLength(g.Text)
		if err != nil {
			f := pattern.FaultsOf(err)[0]
			f.Pointer, f.Detail = ptr, fmt.Sprintf("%s: %s: %s", change, p.Name, f.Detail)
			return 0, pattern.Faults{f}
		}
		x = mm
	default:
		return 0, fault("wrong_kind", "is not a number")
	}
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0, fault("wrong_kind", "is not an ordinary number")
	}
	if p.Kind == Number && x != math.Trunc(x) {
		return 0, fault("wrong_kind", "is not a whole number")
	}
	if p.Bounded && !(pattern.Range{Min: p.Min, Max: p.Max}).Has(x, 1e-9) {
		return 0, fault("out_of_range", fmt.Sprintf("is %.6g%s", x, p.unit()))
	}
	return x, nil
}

func (p *Param) each(change, ptr string, x *Each, g *pattern.Arg) pattern.Faults {
	if g.Kind != pattern.ArgObject {
		n, fs := p.number(change, ptr, g)
		x.Back, x.Front = n, n
		return fs
	}
	var fs pattern.Faults
	seen := map[string]bool{}
	for i := range g.Fields {
		f := &g.Fields[i]
		at := ptr + pattern.Pointer(f.Name)
		var dst *float64
		switch f.Name {
		case eachSides[0]:
			dst = &x.Back
		case eachSides[1]:
			dst = &x.Front
		}
		if dst == nil || seen[f.Name] {
			fs = append(fs, pattern.Fault{Rule: "unknown_argument", Pointer: at, Detail: fmt.Sprintf("%s: %s has no side %s, or has it twice", change, p.Name, pattern.Quote(f.Name)),
				Valid: strings.Join(eachSides[:], ", "), Remedy: "give back and front once each, or one value for both"})
			if len(fs) > 20 {
				return fs
			}
			continue
		}
		seen[f.Name] = true
		n, f2 := p.number(change, at, &f.Value)
		*dst = n
		fs = append(fs, f2...)
	}
	for _, s := range eachSides {
		if !seen[s] && len(fs) == 0 {
			fs = append(fs, pattern.Fault{Rule: "missing_argument", Pointer: ptr + pattern.Pointer(s), Detail: fmt.Sprintf("%s: %s lacks the value for %s", change, p.Name, s),
				Valid: p.valid(), Remedy: "give back and front, or one value for both"})
		}
	}
	return fs
}

func (p *Param) text(change, ptr string, g *pattern.Arg) (string, pattern.Faults) {
	fault := func(rule, detail, remedy string) (string, pattern.Faults) {
		return "", pattern.Faults{{Rule: rule, Pointer: ptr, Detail: fmt.Sprintf("%s: %s %s", change, p.Name, detail), Valid: p.valid(), Remedy: remedy}}
	}
	if g.Kind != pattern.ArgText {
		return fault("wrong_kind", "is not a text", p.ask())
	}
	if p.Kind == Choice {
		for _, c := range p.Choices {
			if c == g.Text {
				return g.Text, nil
			}
		}
		return fault("unknown_choice", "cannot be "+pattern.Quote(g.Text), pattern.Suggest(g.Text, p.Choices))
	}
	if !pattern.ValidName(g.Text) {
		return fault("bad_name", "cannot be named "+pattern.Quote(g.Text), "use such a name")
	}
	return g.Text, nil
}

// edges reads edges spoken of as "piece.edge", one or a list.
func (p *Param) edges(change, ptr string, g *pattern.Arg) ([]pattern.EdgeRef, pattern.Faults) {
	fault := func(rule, at, detail, remedy string) pattern.Fault {
		return pattern.Fault{Rule: rule, Pointer: at, Detail: fmt.Sprintf("%s: %s %s", change, p.Name, detail), Valid: p.valid(), Remedy: remedy}
	}
	list := []pattern.Arg{*g}
	if g.Kind == pattern.ArgList {
		list = g.List
	}
	if len(list) == 0 || len(list) > mostNames {
		return nil, pattern.Faults{fault("wrong_kind", ptr, fmt.Sprintf("must name 1 to %d edges", mostNames), p.Sentence)}
	}
	var out []pattern.EdgeRef
	var fs pattern.Faults
	for i := range list {
		at := ptr
		if g.Kind == pattern.ArgList {
			at += pattern.Pointer(fmt.Sprint(i))
		}
		piece, edge, ok := strings.Cut(list[i].Text, ".")
		r := pattern.EdgeRef{Piece: piece, Edge: edge}
		switch {
		case list[i].Kind != pattern.ArgText:
			fs = append(fs, fault("wrong_kind", at, "is not a text", p.Sentence))
		case !ok || !pattern.ValidName(piece) || !pattern.ValidName(edge):
			fs = append(fs, fault("bad_name", at, "cannot be "+pattern.Quote(list[i].Text), "name the piece, a dot, and its edge"))
		case slices.Contains(out, r):
			fs = append(fs, fault("given_twice", at, "names "+list[i].Text+" twice", "name it once"))
		default:
			out = append(out, r)
		}
	}
	return out, fs
}

const placeForms = `{"point": name}; {"edge": name, "from": corner, "along": length}; {"between": [name, name], "share": 0 to 1}; {"at": [x, y]}; or just a name`

// bindPlace reads a place the way a block document tells one.
func bindPlace(change string, p *Param, ptr string, g *pattern.Arg) (pattern.Place, pattern.Faults) {
	var pl pattern.Place
	bad := func(at, detail string) (pattern.Place, pattern.Faults) {
		return pl, pattern.Faults{{Rule: "bad_place", Pointer: at, Detail: fmt.Sprintf("%s: %s %s", change, p.Name, detail), Valid: placeForms, Remedy: "tell the place in one of these ways"}}
	}
	if g.Kind == pattern.ArgText {
		if !pattern.ValidName(g.Text) {
			return bad(ptr, "cannot be named "+pattern.Quote(g.Text))
		}
		pl.Point = g.Text
		return pl, nil
	}
	if g.Kind != pattern.ArgObject {
		return bad(ptr, "is not a place")
	}
	has := map[string]bool{}
	length := Param{Name: p.Name, Kind: Length, Bounded: true, Min: -pattern.MaxPlaceLength, Max: pattern.MaxPlaceLength, Sentence: "a length along the edge"}
	share := Param{Name: p.Name, Kind: Share, Bounded: true, Min: 0, Max: 1, Sentence: "a share of the way"}
	name := Param{Name: p.Name, Kind: Name, Sentence: "the name of a point, mark or edge"}
	var fs pattern.Faults
	for i := range g.Fields {
		f := &g.Fields[i]
		at := ptr + pattern.Pointer(f.Name)
		if has[f.Name] {
			return bad(at, "tells "+f.Name+" twice")
		}
		has[f.Name] = true
		var more pattern.Faults
		switch f.Name {
		case "point":
			pl.Point, more = name.text(change, at, &f.Value)
		case "edge":
			pl.Edge, more = name.text(change, at, &f.Value)
		case "from":
			pl.From, more = name.text(change, at, &f.Value)
		case "along":
			pl.Along, more = length.number(change, at, &f.Value)
		case "share":
			pl.Share, more = share.number(change, at, &f.Value)
		case "between":
			if f.Value.Kind != pattern.ArgList || len(f.Value.List) != 2 {
				return bad(at, "lies between two names")
			}
			for k := range 2 {
				var m pattern.Faults
				pl.Between[k], m = name.text(change, at+pattern.Pointer(fmt.Sprint(k)), &f.Value.List[k])
				more = append(more, m...)
			}
		case "at":
			if f.Value.Kind != pattern.ArgList || len(f.Value.List) != 2 {
				return bad(at, "wants two coordinates")
			}
			q := new(geom.Point)
			var m1, m2 pattern.Faults
			q.X, m1 = length.number(change, at+"/0", &f.Value.List[0])
			q.Y, m2 = length.number(change, at+"/1", &f.Value.List[1])
			more = slices.Concat(m1, m2)
			pl.At = q
		default:
			return bad(at, "has no part "+pattern.Quote(f.Name))
		}
		fs = append(fs, more...)
	}
	if len(fs) > 0 {
		return pl, fs
	}
	forms := 0
	for _, k := range []string{"point", "at", "between"} {
		if has[k] {
			forms++
		}
	}
	if has["edge"] && !has["between"] {
		forms++
	}
	switch {
	case forms != 1:
		return bad(ptr, "is told in no way, or in several")
	case has["edge"] && !has["between"] && !has["along"]:
		return bad(ptr+"/along", "lacks the distance along the edge")
	case has["between"] && !has["share"]:
		return bad(ptr+"/share", "lacks the share of the way")
	case has["from"] && !has["edge"], has["along"] && (!has["edge"] || has["between"]), has["share"] && !has["between"]:
		return bad(ptr, "mixes two ways of telling a place")
	}
	return pl, nil
}
