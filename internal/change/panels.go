package change

import (
	"fmt"
	"math"
	"slices"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// Panels (TRADE 5): a piece is split into n along straight lines from its hem to its top, at equal shares of
// both, darts folded.

type panelsArgs struct {
	Piece   string   `arg:"piece" kind:"name" must:"yes" says:"The piece that is split."`
	Number  int      `arg:"number" kind:"number" min:"2" max:"20" default:"2" says:"Into how many panels the piece, as it is drawn, is split."`
	Hem     string   `arg:"hem" kind:"name" default:"hem" says:"The edge at which the lines begin."`
	Top     []string `arg:"top" kind:"names" default:"waist" says:"The edge at which they end, or several that follow each other over darts."`
	Centre  bool     `arg:"centre" kind:"flag" default:"true" says:"On a piece with a fold: whether the panel at the fold is drawn half as wide as the others, so that all are equal when it is opened."`
	Notches int      `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches are spread over every new seam."`
	Line    string   `arg:"line" kind:"name" default:"panel" says:"The name of the new edges, which a number is added to."`
}

func definePanels() Definition {
	return Definition{
		Name:     "panels",
		Sentence: "Splits a piece into a number of equal panels, from its hem to its top.",
		Promise:  "The panels together are the piece, edge for edge and mark for mark; they share hem and top equally; every new seam matches to 0.1 mm.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(5, 5), geom.Pt(95, 5), geom.Pt(80, 95), geom.Pt(20, 95), geom.Pt(5, 5))},
			{New, geom.Polyline(geom.Pt(35, 5), geom.Pt(40, 95))},
			{New, geom.Polyline(geom.Pt(65, 5), geom.Pt(60, 95))},
		},
		fresh: func() args { return new(panelsArgs) },
	}
}

// topRun finds named edges of a piece and orders them as the outline runs; between them lie only darts.
func (w *work) topRun(ptr string, p *pattern.Piece, names []string) ([]int, error) {
	var idx []int
	for i, n := range names {
		at := ptr
		if len(names) > 1 {
			at += pattern.Pointer(fmt.Sprint(i))
		}
		k, err := w.edge(at, p, n)
		if err != nil {
			return nil, err
		}
		if p.Edges[k].Fold || p.IsLeg(n) {
			return nil, pattern.Fault{Rule: "no_top", Pointer: at, Piece: p.Name, Edge: n, Detail: fmt.Sprintf("edge %s.%s is a fold or a dart's leg", p.Name, n), Valid: "edges that are cut", Remedy: "name the upper edges"}
		}
		idx = append(idx, k)
	}
	for _, first := range idx {
		order := []int{first}
		for k := w.beside(p, first, 1); slices.Contains(idx, k) && len(order) < len(idx); k = w.beside(p, k, 1) {
			order = append(order, k)
		}
		if len(order) == len(idx) {
			return order, nil
		}
	}
	return nil, pattern.Fault{Rule: "edges_apart", Pointer: ptr, Piece: p.Name, Edge: names[0], Detail: fmt.Sprintf("the edges %v of %q do not follow each other", names, p.Name), Valid: "edges with nothing but darts between them", Remedy: "name edges that do"}
}

// alongRun is the place a distance along edges that follow each other.
func alongRun(p *pattern.Piece, idx []int, d float64) spot {
	for i, k := range idx {
		l := p.Edges[k].Path.Length()
		if d <= l || i == len(idx)-1 {
			return spot{k, math.Min(math.Max(d, 0), l)}
		}
		d -= l
	}
	return spot{}
}

func runLength(p *pattern.Piece, idx []int) float64 {
	l := 0.0
	for _, k := range idx {
		l += p.Edges[k].Path.Length()
	}
	return l
}

func (a *panelsArgs) check() pattern.Faults {
	if len(a.Piece)+4 > pattern.MaxName {
		return pattern.Faults{{Rule: "bad_name", Pointer: "/piece", Detail: "panels: its panels would have too long a name", Valid: pattern.NameRule, Remedy: "give the piece a shorter name"}}
	}
	return nil
}

// shares are how much of hem and top each panel takes, from the beginning of the hem on.
func (a *panelsArgs) shares(w *work, p *pattern.Piece, hem int) []float64 {
	out := make([]float64, a.Number)
	sum := 0.0
	for i := range out {
		out[i] = 1
	}
	if a.Centre {
		if p.Edges[w.beside(p, hem, 1)].Fold {
			out[a.Number-1] = 0.5
		} else if p.Edges[w.beside(p, hem, -1)].Fold {
			out[0] = 0.5
		}
	}
	for _, x := range out {
		sum += x
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

func (a *panelsArgs) apply(w *work) error {
	p, err := w.piece("/piece", a.Piece)
	if err != nil {
		return err
	}
	was := p.Clone()
	hem, err := w.edge("/hem", &was, a.Hem)
	if err != nil {
		return err
	}
	top, err := w.topRun("/top", &was, a.Top)
	if err != nil {
		return err
	}
	if slices.Contains(top, hem) {
		return pattern.Fault{Rule: "given_twice", Pointer: "/top", Piece: was.Name, Edge: a.Hem, Detail: fmt.Sprintf("edge %s is both hem and top", a.Hem), Valid: pattern.Choices(was.EdgeNames()), Remedy: "name two edges that lie opposite"}
	}
	shares := a.shares(w, &was, hem)
	hemLen, topLen := was.Edges[hem].Path.Length(), runLength(&was, top)
	// Each line is found on the whole piece and again on what the cuts so far have left of it.
	rest := was.Clone()
	var parts []pattern.Piece
	var lines []geom.Path
	var seams []pattern.Seam
	at := 0.0
	for i := range a.Number - 1 {
		at += shares[i]
		from, to := spot{hem, at * hemLen}, alongRun(&was, top, (1-at)*topLen)
		for _, s := range []spot{from, to} {
			l := was.Edges[s.edge].Path.Length()
			if d := math.Min(s.s, l-s.s); d < 2 && d > tiny {
				return pattern.Fault{Rule: "near_corner", Pointer: "/number", Piece: was.Name, Edge: was.Edges[s.edge].Name, Detail: fmt.Sprintf("line %d would end %.2f mm from a corner of edge %s", i+1, d, was.Edges[s.edge].Name),
					Valid: "at least 2 mm from it", Remedy: "choose another number of panels"}
			}
		}
		path := geom.Polyline(from.at(&was), to.at(&was))
		if err := w.staysInside(&was, path, "/number"); err != nil {
			return err
		}
		lines = append(lines, path)
		f, t, err := onRest(&rest, path)
		if err != nil {
			return err
		}
		l := cutLine{from: f, to: t, path: path, edge: fmt.Sprintf("%s_%d", a.Line, i+1)}
		left, err := leftOf(&rest, l, fmt.Sprintf("%s_%d", a.Piece, i+1))
		if err != nil {
			return blame(err, "/number")
		}
		l.src = left.Edges[len(left.Edges)-1].Src
		right, err := rightOf(&rest, l, fmt.Sprintf("%s_%d", a.Piece, i+2))
		if err != nil {
			return blame(err, "/number")
		}
		seam := w.notchedSeam(w.seamFree(fmt.Sprintf("%s_%s_%d", a.Piece, a.Line, i+1)), &left, &right, a.Notches)
		seam.SmoothStart, seam.SmoothEnd = midEdge(&was, from), midEdge(&was, to)
		seams = append(seams, seam)
		parts, rest = append(parts, left), right
	}
	parts = append(parts, rest)
	for i := range parts {
		if was.Title != "" {
			parts[i].Title = fmt.Sprintf("%s, panel %d", was.Title, i+1)
		}
	}
	if err := w.replace(a.Piece, parts...); err != nil {
		return blame(err, "/piece")
	}
	w.p.Seams = append(w.p.Seams, seams...)
	a.tell(w, &was, parts, lines, seams, shares)
	return nil
}

// onRest finds the ends of a line on what is left of the piece.
func onRest(rest *pattern.Piece, path geom.Path) (f, t spot, err error) {
	e0, s0, _, d0 := rest.Nearest(path.Start())
	e1, s1, _, d1 := rest.Nearest(path.End())
	if d0 > pattern.Near || d1 > pattern.Near {
		return f, t, pattern.Fault{Rule: "no_part", Pointer: "/number", Piece: rest.Name, Detail: "a line does not lie on what the lines before it have left", Valid: "lines side by side", Remedy: "choose fewer panels"}
	}
	return spot{e0, s0}, spot{e1, s1}, nil
}

// notchedSeam joins the last edges of two parts that were cut along one line, and spreads notches over both.
func (w *work) notchedSeam(name string, left, right *pattern.Piece, n int) pattern.Seam {
	le, re := &left.Edges[len(left.Edges)-1], &right.Edges[len(right.Edges)-1]
	s := pattern.Seam{Name: name, Sew: []pattern.EdgeRef{{Piece: left.Name, Edge: le.Name}}, To: []pattern.EdgeRef{{Piece: right.Name, Edge: re.Name, Against: true}}}
	l, r := le.Path.Length(), re.Path.Length()
	for i := range n {
		k := float64(i+1) / float64(n+1)
		mark := free(fmt.Sprintf("%s_notch_%d", le.Name, i+1), func(x string) bool { return knows(left)(x) || knows(right)(x) })
		m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: mark, Match: left.Name + "_" + mark, Edge: le.Name, S: k * l, At: le.Path.PointAt(k * l)}
		left.Marks = append(left.Marks, m)
		m.Edge, m.S, m.At = re.Name, r-k*l, re.Path.PointAt(r-k*l)
		right.Marks = append(right.Marks, m)
		s.Notches = append(s.Notches, [2]pattern.MarkRef{{Piece: left.Name, Mark: mark}, {Piece: right.Name, Mark: mark}})
	}
	return s
}

func (a *panelsArgs) tell(w *work, was *pattern.Piece, parts []pattern.Piece, lines []geom.Path, seams []pattern.Seam, shares []float64) {
	area, lost, hem, top := -was.Outline().Area(), 0, 0.0, 0.0
	// What of an edge is on a panel is told by where the panel's edges came from.
	length := func(p *pattern.Piece, of string) float64 {
		return lengthFrom(p, was.Edges[was.EdgeNamed(of)].Src)
	}
	sum := func(p *pattern.Piece, names []string) float64 {
		l := 0.0
		for _, n := range names {
			l += length(p, n)
		}
		return l
	}
	hemLen, topLen := length(was, a.Hem), sum(was, a.Top)
	for i := range parts {
		p := &parts[i]
		area += p.Outline().Area()
		hem = math.Max(hem, math.Abs(length(p, a.Hem)-shares[i]*hemLen))
		top = math.Max(top, math.Abs(sum(p, a.Top)-shares[i]*topLen))
	}
	for _, m := range was.Marks {
		found := false
		for i := range parts {
			found = found || parts[i].MarkNamed(m.Name) != nil
		}
		if !found {
			lost++
		}
	}
	w.promise(inspect.Check{Rule: "panels_whole", Piece: was.Name, Place: "outline", Measured: area / 100, Tolerance: 0.01, Unit: "cm2", Text: fmt.Sprintf("The %d panels together are as large as %s.", len(parts), was.Name)})
	w.promise(inspect.Check{Rule: "panels_hem", Piece: was.Name, Place: a.Hem, Measured: hem, Tolerance: 0.1, Unit: inspect.MM, Text: fmt.Sprintf("The panels share the hem of %s equally, to %.3f mm.", was.Name, hem)})
	w.promise(inspect.Check{Rule: "panels_top", Piece: was.Name, Place: a.Top[0], Measured: top, Tolerance: 0.1, Unit: inspect.MM, Text: fmt.Sprintf("The panels share the top of %s equally, to %.3f mm.", was.Name, top)})
	w.promise(inspect.Check{Rule: "panels_marks", Piece: was.Name, Place: "marks", Measured: float64(lost), Unit: inspect.Count, Text: fmt.Sprintf("Every mark of %s is on one of its panels.", was.Name)})
	off := 0.0
	for i := range seams {
		x, err1 := inspect.Walk(&w.p, seams[i].Sew)
		y, err2 := inspect.Walk(&w.p, seams[i].To)
		if err1 != nil || err2 != nil {
			off = math.Inf(1)
			continue
		}
		off = math.Max(off, math.Abs(x.Len-y.Len))
	}
	w.promise(inspect.Check{Rule: "panels_seams", Piece: was.Name, Place: a.Line, Measured: off, Tolerance: 0.1, Unit: inspect.MM, Text: fmt.Sprintf("Both sides of every new seam are equal, to %.3f mm.", off)})
	names := make([]string, len(parts))
	for i := range parts {
		names[i] = parts[i].Name
	}
	st := Step{Stage: Prepare, Pieces: names, Text: fmt.Sprintf("Right sides together, sew the panels %s to each other in order, matching notches; %s.", said(names), NeatenOpen)}
	d := plan{d: Drawing{Title: fmt.Sprintf("Panels of %s, size %s", was.Name, w.p.Size)}}
	d.line(Outline, was.Name, was.Outline(), was.Name)
	word := "equal panels"
	if shares[0] != shares[1] || shares[len(shares)-1] != shares[0] {
		word = "panels, the one at the fold drawn half"
	}
	d.step("Divide the hem (%s) and the top (%s, darts folded) of %s for %d %s.", say(hemLen), say(topLen), was.Name, len(parts), word)
	var ends [][2]int
	for i, l := range lines {
		ends = append(ends, [2]int{d.point(l.Start(), fmt.Sprintf("hem %d", i+1)), d.point(l.End(), fmt.Sprintf("top %d", i+1))})
		st.Amounts = append(st.Amounts, Amount{fmt.Sprintf("seam %d", i+1), l.Length()})
	}
	d.step("Join them by straight lines, mark %s on each, and trace the panels apart.", several(a.Notches, "notch", "notches"))
	for i, l := range lines {
		d.line(New, names[i], l, fmt.Sprintf("%s_%d", a.Line, i+1))
		d.measure(ends[i][0], ends[i][1], l, "seam")
	}
	w.res.Steps = append(w.res.Steps, st)
	w.res.Drawing = d.d
}

// said lists names for a sentence.
func said(names []string) string {
	t := ""
	for i, n := range names {
		switch {
		case i == 0:
		case i == len(names)-1:
			t += " and "
		default:
			t += ", "
		}
		t += n
	}
	return t
}
