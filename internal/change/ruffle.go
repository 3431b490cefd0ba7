package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A ruffle (TRADE 5): a strip longer than the edge it is sewn to by the fullness, gathered onto it; or a flounce,
// whose curve makes its hem longer than its upper edge.

type ruffleArgs struct {
	Edges    []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The edges that the ruffle is sewn to, in the order in which they meet, for one half of the body."`
	Fullness float64           `arg:"fullness" kind:"share" min:"1.05" max:"5" default:"2" says:"How many times as long as the edges the ruffle is: 1.5 is light, 2 usual, 3 full."`
	Width    float64           `arg:"width" kind:"length" min:"10" max:"1500" default:"80mm" says:"How deep the finished ruffle is."`
	Hem      float64           `arg:"hem" kind:"length" min:"0" max:"80" default:"12.7mm" says:"The allowance of its hem, turned twice."`
	Grain    string            `arg:"grain" kind:"choice" choices:"across,along,bias" default:"across" says:"Which way the grain runs over its depth: across the strip hangs best, along saves joins, bias is softest."`
	Shape    string            `arg:"shape" kind:"choice" choices:"straight,circle" default:"straight" says:"A straight ruffle is a strip that is gathered; a circle one, a flounce, is joined of half rings whose inner edge is as long as the edges, so that it is smooth at the seam and full at the hem."`
	Cloths   float64           `arg:"cloth_width" kind:"length" min:"300" max:"5000" default:"1400mm" says:"How wide the cloth is that can be used: a longer ruffle is cut as several equal lengths and joined. One along the grain is not bound by it."`
	Lengths  int               `arg:"lengths" kind:"number" min:"0" max:"20" default:"0" says:"In how many lengths, or half rings, it is cut; 0: as few as the cloth allows, or as many half rings as the fullness asks for. That may be more in larger sizes."`
	Cut      string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"fold" says:"Whether one ruffle is cut for each side, one whole, or half a one on the fold; auto: whole where the edges end at a fold."`
	Cloth    string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Notches  int               `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches each edge gets that has none; they keep the gathers even."`
	Name     string            `arg:"name" kind:"name" default:"ruffle" says:"The name of the ruffle."`
}

func defineRuffle() Definition {
	return Definition{
		Name:     "ruffle",
		Sentence: "Makes a ruffle: a strip as long as the edges times the fullness, gathered onto them, or a flounce of half rings; a long one is joined of equal lengths.",
		Promise:  "All its lengths together are the edges times the fullness long, the inner edges of its half rings as long as the edges, to 0.1 mm; its notches meet theirs when it is gathered evenly.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(30, 95), geom.Pt(25, 50), geom.Pt(75, 50), geom.Pt(70, 95))},
			{New, geom.Polyline(geom.Pt(5, 10), geom.Pt(95, 10), geom.Pt(95, 34), geom.Pt(5, 34), geom.Pt(5, 10))},
			{Construction, geom.Polyline(geom.Pt(25, 50), geom.Pt(5, 34))},
			{Construction, geom.Polyline(geom.Pt(75, 50), geom.Pt(95, 34))},
		},
		fresh: func() args { return new(ruffleArgs) },
	}
}

// ends is what a join takes at both ends of a length: home allowances of 5/8 in (common practice).
const ends = 2 * 5.0 / 8 * pattern.Inch

func (a *ruffleArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	as := a.Cut
	if as == cutFold && (run.ring || !run.fold[0] && !run.fold[1]) {
		as = cutAuto // no fold to mirror it about
	}
	s := strip{name: a.Name, cloth: a.Cloth, run: run, long: run.len * a.Fullness, high: a.Width, as: as, hangs: true, gathered: true,
		grain: grainOver(a.Grain), far: "hem", farOwn: &pattern.Allowance{Width: a.Hem, Turned: 2}, notches: a.Notches, longest: longestOf(a.Grain, a.Cloths, a.Width), lengths: a.Lengths}
	if a.Hem == 0 {
		s.farOwn.Turned = 0
	}
	if a.Shape == "circle" {
		s.long, s.gathered, s.rings = run.len, false, true
		if s.lengths == 0 {
			s.lengths = a.halves(&s)
		}
	}
	m, err := w.addStrip(s)
	if err != nil {
		if pattern.FaultsOf(err)[0].Pointer == "/edges" {
			err = blame(err, "/fullness")
		}
		return err
	}
	w.stripPromises(&s, &m, run.said())
	if s.rings {
		a.tellRings(w, &s, &m)
		return nil
	}
	sewn := m.sewnLength()
	if m.as != cutEach && (m.lengths || len(m.sewn) > 1) {
		sewn /= 2
	}
	w.promise(inspect.Check{Rule: "ruffle_fullness", Piece: a.Name, Place: m.sewn[0], Measured: sewn / run.len, Want: pattern.Range{Min: a.Fullness, Max: a.Fullness}, Tolerance: 1e-4, Unit: inspect.Count,
		Text: fmt.Sprintf("%s has %.2f times the length of %s.", a.Name, sewn/run.len, run.said())})
	join, amounts := "", []Amount{{"ruffle, one half or side", s.long}, {"edge, one half or side", run.len}, {"finished depth", a.Width}, {"hem", a.Hem}}
	spread := "between the notches"
	if m.lengths {
		join = m.tellJoin(a.Name, m.joined)
		spread = "so that the joins meet the notches of the edge"
		amounts = append(amounts, Amount{"each length", m.total / float64(m.n)})
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, run.pieces()...),
		Text: fmt.Sprintf("%s%sSew two rows of gathering stitches along its upper edge, draw it up from %s to %s, spread the gathers evenly %s, and sew it to %s, right sides together.",
			join, a.hemmed(), say(s.long), say(run.len), spread, run.said()),
		Amounts: amounts})
	sum := fmt.Sprintf("Draw a rectangle %s long, which is %.3g times the edge, and %s deep.", say(m.total), a.Fullness, say(a.Width))
	if m.lengths {
		sum = fmt.Sprintf("All round the ruffle is %s long, which is %.3g times the edge: draw one of its %d lengths, %s long and %s deep.", say(m.total), a.Fullness, m.n, say(m.total/float64(m.n)), say(a.Width))
	}
	w.stripDrawing(&s, &m, sum)
	return nil
}

// hemmed tells of its hem, if it has one.
func (a *ruffleArgs) hemmed() string {
	if a.Hem == 0 {
		return ""
	}
	return fmt.Sprintf("Hem its free edge: turn %s twice and stitch. ", say(a.Hem/2))
}

// grainOver is which way the grain runs over the depth of a strip that lies along x.
func grainOver(grain string) geom.Vec {
	return map[string]geom.Vec{"bias": {X: 1, Y: 1}, "across": {Y: 1}, "along": {X: 1}}[grain]
}

// longestOf is the longest strip that can be cut from cloth of a width, joins included: across the cloth its width,
// on the bias what lies between the selvedges at 45 degrees, along it as much as is wanted.
func longestOf(grain string, width, high float64) float64 {
	switch grain {
	case "along":
		return 0
	case "bias":
		// A strip of width h at 45 degrees loses h at its two ends.
		width = width*math.Sqrt2 - high
	}
	return math.Max(50, width-ends)
}

// halves is how many half rings give a hem that is as full as asked for: each adds π times the depth to it. They
// are more if the rings were too large for the cloth.
func (a *ruffleArgs) halves(s *strip) int {
	total := s.run.len
	if s.as != cutEach && !s.run.ring && (s.run.fold[0] || s.run.fold[1]) {
		total *= 2
	}
	n := max(1, int(math.Round(total*(a.Fullness-1)/(math.Pi*a.Width))))
	for n < 20 && 2*(total/float64(n)/math.Pi+a.Width+a.Hem) > a.Cloths {
		n++
	}
	return n
}

// tellRings promises and tells a flounce.
func (a *ruffleArgs) tellRings(w *work, s *strip, m *madeStrip) {
	n := float64(m.n)
	inner, outer := m.sewnLength(), n*edgeLength(m.piece, s.far)
	want := m.total + n*math.Pi*a.Width
	w.promise(inspect.Check{Rule: "flounce_hem", Piece: a.Name, Place: s.far, Measured: outer - want, Tolerance: 0.1, Unit: inspect.MM,
		Text: fmt.Sprintf("The hem of %s is %.1f mm round in all: every half ring adds π times its depth to its inner edge.", a.Name, outer)})
	r := inner / n / math.Pi
	w.res.Steps = append(w.res.Steps, Step{Stage: Finish, Pieces: append([]string{a.Name}, s.run.pieces()...),
		Text: fmt.Sprintf("%sLet it hang for a night. %sClip the allowance of its inner edge all round so that it opens to the line, and sew it to %s, right sides together, without gathers; the joins meet the notches of the edge.",
			m.tellJoin(a.Name, m.joined), a.hemmed(), s.run.said()),
		Amounts: []Amount{{"inner edge, in all", inner}, {"hem, in all", outer}, {"inner radius", r}, {"outer radius", r + a.Width}, {"finished depth", a.Width}, {"hem", a.Hem}}})
	w.stripDrawing(s, m, fmt.Sprintf("Of %s in all, each of %d half rings takes %s: divided by π that is the inner radius, %s. Draw half circles with that and with %s more.",
		say(m.total), m.n, say(m.total/n), say(r), say(a.Width)))
}
