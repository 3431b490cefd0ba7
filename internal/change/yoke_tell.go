package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// promises measures the parts as they are sewn, before fullness is added.
func (a *yokeArgs) promises(w *work, y *yoked) {
	yoke, lower := w.p.PieceNamed(a.Name), w.p.PieceNamed(a.Piece)
	k, j := yoke.EdgeNamed(a.Line), lower.EdgeNamed(a.Line)
	ye, le := yoke.Edges[k].Path, lower.Edges[j].Path
	w.promise(inspect.Check{Rule: "yoke_equal", Piece: a.Piece, Place: y.seam, Measured: le.Length() - ye.Length(), Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("Both sides of the yoke seam are %.1f mm long.", ye.Length())})
	w.promiseLengths(&y.was, nil, yoke, lower)
	w.promiseMarks(&y.was, yoke, lower)
	w.promise(yokeWhole(y, yoke, lower, a.Line))
	if y.at >= 0 && a.Square {
		off := 0.0
		for _, q := range []*pattern.Piece{yoke, lower} {
			if c := q.EdgeNamed(y.was.Edges[y.centre].Name); c >= 0 {
				off = math.Max(off, squareOff(q, q.EdgeNamed(a.Line), c))
			}
		}
		w.promise(inspect.Check{Rule: "yoke_square", Piece: a.Name, Place: a.Line, Measured: off, Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("The yoke seam meets the centre square, to %.2f degrees.", off)})
	}
	if y.shut == "" {
		return
	}
	q := w.p.PieceNamed(y.shut)
	e := q.Edges[q.EdgeNamed(a.Line)].Path
	w.promise(inspect.Check{Rule: "yoke_smooth", Piece: q.Name, Place: a.Line, Measured: sharpest(e), Tolerance: 1, Unit: inspect.Degrees,
		Text: fmt.Sprintf("With its darts shut, the seam of %s is drawn without a corner.", q.Name)})
	off := apartAt(y.sharp, e, 60)
	w.promise(inspect.Check{Rule: "yoke_swept", Piece: q.Name, Place: a.Line, Measured: off, Want: pattern.Range{Max: sweptMost}, Unit: inspect.MM,
		Text: fmt.Sprintf("The smooth seam of %s lies within %.1f mm of where the shut darts put it.", q.Name, off)})
}

// yokeWhole measures that the parts, but for the sweep over the shut darts, are as large as the piece.
func yokeWhole(y *yoked, yoke, lower *pattern.Piece, line string) inspect.Check {
	swept := 0.0
	if y.shut != "" {
		q := yoke
		if y.shut == lower.Name {
			q = lower
		}
		swept = areaBetween(q.Edges[q.EdgeNamed(line)].Path, y.sharp)
	}
	off := (yoke.Outline().Area() + lower.Outline().Area() - y.sum - swept) / 100
	return inspect.Check{Rule: "yoke_whole", Piece: lower.Name, Place: "outline", Measured: off, Tolerance: 0.01 + y.slack, Unit: "cm2",
		Text: "Yoke and lower part together are as large as the piece was, with its darts drawn to the line."}
}

// fullPromises measures what was added to the lower part, and what is left of it in the seam.
func (a *yokeArgs) fullPromises(w *work, y *yoked, pl *yokePleat) {
	yoke, lower := w.p.PieceNamed(a.Name), w.p.PieceNamed(a.Piece)
	l, want, how := yoke.Edges[yoke.EdgeNamed(a.Line)].Path.Length(), a.Fullness, "gathered"
	if pl != nil {
		off := foldedOff(lower, pl.f.x, pl.f.name, pl.f.tucks)
		w.promise(inspect.Check{Rule: "yoke_pleat", Piece: lower.Name, Place: pl.f.name, Measured: off, Tolerance: 0.1, Unit: inspect.MM,
			Text: fmt.Sprintf("Folded, the box pleat of %s ends where the layer over it does, at the seam and at the hem, to %.3f mm.", lower.Name, off)})
		how = "pleated"
	}
	top, worst := 0.0, 0.0
	n := len(lower.Edges)
	for i := range lower.Edges {
		e := &lower.Edges[i]
		if e.Src.Piece != a.Piece || e.Src.Edge != a.Line && (pl == nil || !strings.HasPrefix(e.Name, pl.f.name)) {
			continue
		}
		if pl != nil && e.Src.Edge != a.Line {
			// Under a line that slants the cloth is longer than it is wide; how wide was asked for.
			top += math.Abs(pl.f.across(e.Path.End()) - pl.f.across(e.Path.Start()))
		} else {
			top += e.Path.Length()
		}
		for _, k := range [2]int{(i + 1) % n, (i + n - 1) % n} {
			if lower.Edges[k].Name == y.was.Edges[y.centre].Name {
				worst = math.Max(worst, squareOff(lower, i, k))
			}
		}
	}
	w.promise(inspect.Check{Rule: "yoke_fullness", Piece: lower.Name, Place: y.seam, Measured: top - l, Want: pattern.Range{Min: want, Max: want}, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("%.1f mm of %s are %s onto %.1f mm of its yoke.", top, lower.Name, how, l)})
	if a.Square {
		w.promise(inspect.Check{Rule: "yoke_square", Piece: lower.Name, Place: a.Line, Measured: worst, Tolerance: 1, Unit: inspect.Degrees,
			Text: fmt.Sprintf("The widened %s meets its new centre square, to %.2f degrees.", lower.Name, worst)})
	}
}

func (a *yokeArgs) tell(w *work, y *yoked, pl *yokePleat) {
	yoke, lower := w.p.PieceNamed(a.Name), w.p.PieceNamed(a.Piece)
	l := yoke.Edges[yoke.EdgeNamed(a.Line)].Path.Length()
	amounts := []Amount{{"yoke seam", l}}
	if a.Fullness > 0 {
		in := times(lower) / math.Max(1, float64(lower.Cut.Count)) * a.Fullness
		full := Amount{"fullness, in all", in}
		how := fmt.Sprintf("Run two rows of long stitches on %s along the yoke seam, between the notches on both sides of the centre, and draw %s up to %s on each side.", a.Piece, say(y.gather+a.Fullness), say(y.gather))
		if pl != nil {
			how = fmt.Sprintf("Lay the box pleat of %s at the centre: bring each fold to its placement line, dot on dot, so that the folds face apart; press and baste it along the yoke seam.", a.Piece)
		}
		w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{a.Piece}, Text: how, Amounts: []Amount{full}})
	}
	text := fmt.Sprintf("Right sides together, sew %s to %s along the yoke seam (%.0f mm), notch to notch; press the allowances into the yoke.", a.Piece, a.Name, l)
	if y.shut != "" {
		taken := 0.0
		for _, d := range y.darts {
			taken += d.mouth()
		}
		amounts = append(amounts, Amount{"darts taken in", taken})
		text += fmt.Sprintf(" The seam takes in %s: nothing of that is sewn as a dart.", listed(a.Dart))
	}
	if a.Shape == "pointed" {
		text += " At the point sew to the corner, stop with the needle down, clip the lower part to the corner and turn."
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Assemble, Pieces: []string{a.Name, a.Piece}, Text: text, Amounts: amounts})
	w.res.Drawing = a.drawing(w, y, pl).d
}

func listed(names []string) string {
	out := make([]string, len(names))
	for i, n := range names {
		out[i] = "the " + strings.ReplaceAll(n, "_", " ")
		if !strings.Contains(n, "dart") {
			out[i] += " dart"
		}
	}
	return strings.Join(out, " and ")
}

func (a *yokeArgs) drawing(w *work, y *yoked, pl *yokePleat) plan {
	yoke, lower := w.p.PieceNamed(a.Name), w.p.PieceNamed(a.Piece)
	d := plan{d: Drawing{Title: fmt.Sprintf("Yoke of %s, size %s", a.Piece, w.p.Size)}}
	d.line(Outline, a.Piece, y.was.Outline(), a.Piece)
	d.step("Find the two ends of the line on the outline.")
	u, v := d.point(y.l.path.Start(), "beginning"), d.point(y.l.path.End(), "end")
	square := ""
	if y.at >= 0 && a.Square {
		square = ", square to the centre"
	}
	d.step("Draw the %s line%s.", a.Shape, square)
	d.line(New, a.Piece, y.l.path, a.Line)
	d.measure(u, v, y.l.path, "yoke seam")
	if y.shut != "" {
		d.step("Draw the legs of %s to the line.", listed(a.Dart))
		for i, c := range y.darts {
			d.line(Construction, a.Piece, geom.Polyline(c.a, c.tip, c.b), c.name)
			m, t := d.point(y.first[i], c.name+", old point"), d.point(c.tip, c.name+" on the line")
			d.measure(m, t, nil, "moved")
		}
		d.step("Cut along the line, shut the darts leg on leg about their points, and draw the seam with one sweep of the curve, as long as the other side.")
		q := w.p.PieceNamed(y.shut)
		d.line(New, q.Name, q.Outline(), q.Name)
		d.line(Construction, q.Name, y.sharp, "seam as the shut darts leave it")
	}
	if a.Fullness > 0 && pl == nil {
		d.step("Lay the centre of the lower part %s further out, and run the seam and the hem on to it; the gathers reach to the notch.", say(a.Fullness))
		c := lower.Edges[lower.EdgeNamed(y.was.Edges[y.centre].Name)].Path
		x, z := d.point(c.Start(), "new centre"), d.point(c.Start().Add(c.StartTangent().Left().Mul(a.Fullness)), "old centre")
		d.line(New, a.Piece, lower.Outline(), a.Piece)
		d.measure(x, z, nil, "fullness")
	}
	if pl != nil {
		d.step("Cut along the line of the pleat, %s from the centre, lay the parts %s apart, fold the pleat and trace top and hem through all layers.", say(a.Fullness/2), say(a.Fullness))
		d.line(New, a.Piece, lower.Outline(), a.Piece)
		for _, t := range pl.r.lets {
			x, z := d.point(t.fold.Start(), "fold"), d.point(t.to.Start(), "placement")
			d.line(New, a.Piece, t.fold, "fold")
			d.line(Construction, a.Piece, t.to, "placement")
			d.measure(x, z, nil, "let in")
		}
	}
	d.step("Mark the notches across the seam and trace the parts apart.")
	for _, m := range yoke.Marks {
		if m.Edge == a.Line && m.Kind == pattern.Notch {
			d.point(m.At, m.Name)
		}
	}
	return d
}
