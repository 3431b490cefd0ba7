package change

import (
	"fmt"
	"math"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
)

// A dart into gathers (TRADE 5): its angle is left open, where it is or after it has been moved, and what
// the mouth is wider is gathered into the seam between two notches.

type dartToGathersArgs struct {
	Piece  string         `arg:"piece" kind:"name" must:"yes" says:"The piece with the dart."`
	Dart   string         `arg:"dart" kind:"name" says:"The dart; left out where the piece has only one."`
	To     *pattern.Place `arg:"to" kind:"place" says:"Where on the outline the gathers lie; left out, where the dart is."`
	Bust   *pattern.Place `arg:"bust" kind:"place" says:"The point that a moved dart is pivoted about, most often the bust point; left out, it is told by beyond."`
	Beyond float64        `arg:"beyond" kind:"length" min:"0" max:"120" default:"0mm" says:"How far that point lies beyond the dart's own point on its middle line."`
	Spread float64        `arg:"spread" kind:"length" min:"0" max:"400" default:"30mm" says:"How far the gathers reach on each side of the dart's mouth."`
}

func defineDartToGathers() Definition {
	return Definition{
		Name:     "dart_to_gathers",
		Sentence: "Leaves a dart's angle open and gathers it into the seam, where it is or at another place.",
		Promise:  "The angle is the dart's; every other edge keeps its length to 0.1 mm; the seam grows by exactly the mouth, between notches that meet.",
		Sketch: []Stroke{
			{Outline, geom.Polyline(geom.Pt(62, 91), geom.Pt(70, 95), geom.Pt(90, 75), geom.Pt(90, 5), geom.Pt(12, 5), geom.Pt(15, 50), geom.Pt(38, 60), geom.Pt(40, 83), geom.Pt(46, 86))},
			{CutAway, geom.Polyline(geom.Pt(62, 91), geom.Pt(58, 50), geom.Pt(46, 86))},
			{New, geom.Polyline(geom.Pt(46, 86), geom.Pt(49, 90), geom.Pt(51, 86), geom.Pt(54, 92), geom.Pt(56, 87), geom.Pt(59, 93), geom.Pt(62, 91))},
		},
		fresh: func() args { return new(dartToGathersArgs) },
	}
}

func (a *dartToGathersArgs) dart() *dartArgs { return &dartArgs{a.Piece, a.Dart, a.Bust, a.Beyond} }

func (a *dartToGathersArgs) check() pattern.Faults { return a.dart().check("dart_to_gathers") }

func (a *dartToGathersArgs) apply(w *work) error {
	o, err := w.openDart(a.dart(), a.To)
	if err != nil {
		return err
	}
	d := o.now
	q, at := fillMouth(&o.piece, d, d.name+"_gathers")
	n := len(q.Edges)
	e, prev, next := &q.Edges[at], &q.Edges[(at+n-1)%n], &q.Edges[(at+1)%n]
	room := math.Min(prev.Path.Length(), next.Path.Length()) - 8 // a notch keeps clear of a corner
	if a.Spread > math.Max(0, room) {
		return pattern.Fault{Rule: "no_room", Pointer: "/spread", Piece: q.Name, Edge: e.Name, Detail: fmt.Sprintf("the seam runs on for only %.1f mm beside the dart's mouth", room+8),
			Valid: fmt.Sprintf("0 to %.1f mm", math.Max(0, room)), Remedy: "spread the gathers less far"}
	}
	taken := knows(&q)
	start, end := free(d.name+"_gather_start", taken), free(d.name+"_gather_end", taken)
	for k, name := range [2]string{start, end} {
		m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: name, Edge: prev.Name, S: prev.Path.Length() - a.Spread, Match: q.Name + "_" + name}
		if k == 1 {
			m.Edge, m.S = next.Name, a.Spread
		}
		m.At = q.Edges[q.EdgeNamed(m.Edge)].Path.PointAt(m.S)
		q.Marks = append(q.Marks, m)
	}
	name, prevName, nextName, full := e.Name, prev.Name, next.Name, e.Path.Length()
	fitGrain(&q)
	w.dartSeam(q.Name, o.legs[0], o.legs[1])
	if err := w.replace(a.Piece, q); err != nil {
		return blame(err, "/piece")
	}
	seams, ok := w.between(q.Name, prevName, name, nextName)
	if !ok {
		return pattern.Fault{Rule: "between_seams", Pointer: "/to", Piece: q.Name, Edge: prevName, Detail: fmt.Sprintf("the gathers would lie where one seam ends and another begins, between %s and %s", prevName, nextName),
			Valid: "a place within one seam, or on an edge that is not sewn", Remedy: "choose a place away from the corner"}
	}
	for _, i := range seams {
		s := &w.p.Seams[i]
		if s.Cap {
			return pattern.Fault{Rule: "in_armhole", Pointer: "/to", Piece: q.Name, Edge: prevName, Detail: "a sleeve is eased into this edge, which cannot be gathered",
				Valid: "an edge outside the armhole", Remedy: "choose another place"}
		}
		if s.Gathers {
			// One side of it is drawn up evenly onto the other, which gathers in one place would upset.
			return pattern.Fault{Rule: "in_gathers", Pointer: "/to", Piece: q.Name, Edge: prevName, Detail: fmt.Sprintf("seam %s is gathered all along already", s.Name),
				Valid: "an edge that is not gathered onto anything, nor anything onto it", Remedy: "choose another place, or put this change before the one that gathers that seam"}
		}
		// Not all along, so the seam is not one that is gathered as a whole.
		s.Drawn += full
		a.meet(w, s, q.Name, start, end, full)
	}
	now := w.p.PieceNamed(q.Name)
	o.promise(w, now)
	for _, i := range seams {
		s := &w.p.Seams[i]
		x, err1 := inspect.Walk(&w.p, s.Sew)
		y, err2 := inspect.Walk(&w.p, s.To)
		if err1 == nil && err2 == nil {
			w.promise(inspect.Check{Rule: "gather_amount", Piece: now.Name, Place: s.Name, Measured: x.Len - y.Len, Want: pattern.Range{Min: s.Ease.Min + s.Drawn, Max: s.Ease.Max + s.Drawn}, Tolerance: 0.1, Unit: inspect.MM,
				Text: fmt.Sprintf("Seam %s: of %.1f mm, sewn to %.1f mm, %.1f mm are drawn up in gathers.", s.Name, x.Len, y.Len, s.Drawn)})
		}
	}
	a.tell(w, o, now, name, full)
	return nil
}

// meet puts the notches between which is gathered on the other side of the seam, too: before the first and
// after the last nothing is gathered.
func (a *dartToGathersArgs) meet(w *work, s *pattern.Seam, piece, start, end string, full float64) {
	sew, err1 := inspect.Walk(&w.p, s.Sew)
	to, err2 := inspect.Walk(&w.p, s.To)
	if err1 != nil || err2 != nil {
		return
	}
	for _, name := range [2]string{start, end} {
		x, ok := sew.MarkAt(piece, name)
		if !ok {
			continue
		}
		if name == lastOf(sew, piece, start, end) {
			x -= full
		}
		p, e, at := onChain(to, x)
		l := p.Edges[e].Path.Length()
		if math.Min(at, l-at) < 5 {
			continue // it would be cut away with the corner
		}
		m := pattern.Mark{Kind: pattern.Notch, Count: 1, Name: free(name, knows(p)), Edge: p.Edges[e].Name, S: at, At: p.Edges[e].Path.PointAt(at), Match: piece + "_" + name}
		p.Marks = append(p.Marks, m)
		s.Notches = append(s.Notches, [2]pattern.MarkRef{{Piece: piece, Mark: name}, {Piece: p.Name, Mark: m.Name}})
	}
}

// lastOf names the mark that is walked over last.
func lastOf(c inspect.Chain, piece, a, b string) string {
	x, _ := c.MarkAt(piece, a)
	y, _ := c.MarkAt(piece, b)
	if x > y {
		return a
	}
	return b
}

func (a *dartToGathersArgs) tell(w *work, o openedDart, q *pattern.Piece, edge string, full float64) {
	long, short := full+2*a.Spread, 2*a.Spread
	how := fmt.Sprintf("draw %s up to %s", say(long), say(short))
	if short == 0 {
		how = fmt.Sprintf("draw up the %s between them as far as they go", say(long))
	}
	w.res.Steps = append(w.res.Steps, Step{Stage: Prepare, Pieces: []string{q.Name},
		Text:    fmt.Sprintf("Run two rows of long stitches on %s between the notches of the gathers, one on each side of the seam line, and %s; spread the gathers evenly.", q.Name, how),
		Amounts: []Amount{{"gathered", long}, {"drawn up to", short}, {"taken in", full}}})
	l := o.drawing(w, "Dart into gathers", q)
	e := q.Edges[q.EdgeNamed(edge)].Path
	l.step("Leave the angle open and draw the seam line smoothly over the mouth.")
	x, y := l.point(e.Start(), "mouth"), l.point(e.End(), "mouth")
	l.line(New, q.Name, e, edge)
	l.measure(x, y, e, "gathered in")
	l.step("Mark the notches between which is gathered, %s on each side of the mouth.", say(a.Spread))
	for _, m := range q.Marks {
		if m.Match != "" && (m.Name == o.now.name+"_gather_start" || m.Name == o.now.name+"_gather_end") {
			l.point(m.At, m.Name)
		}
	}
	w.res.Drawing = l.d
}
