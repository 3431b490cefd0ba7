package change

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// A shaped waistband (TRADE 5): a contour band. Where a straight one stands away from a body that widens below
// the waist, this one is the top of the skirt or trousers themselves, their darts shut and their sides laid
// together, so that it follows the body down to its lower edge.

type shapedArgs struct {
	Edges   []pattern.EdgeRef `arg:"edges" kind:"edges" must:"yes" says:"The waist edges, in the order in which they meet, for one half of the body; one dart may lie between two of them."`
	Width   float64           `arg:"width" kind:"length" min:"15" max:"200" default:"45mm" says:"How wide the finished band is: as far below the waist it is cut off."`
	Overlap float64           `arg:"overlap" kind:"length" min:"0" max:"150" default:"0mm" says:"How far the band runs on past its opening for the fastening."`
	Open    string            `arg:"open" kind:"choice" choices:"start,end" default:"end" says:"At which end of the edges the opening is, where both of them or none lie on the fold; else it is at the one that does not."`
	Faced   bool              `arg:"faced" kind:"flag" default:"true" says:"Whether it is cut twice and its upper edge faced with the second layer."`
	Cut     string            `arg:"cut" kind:"choice" choices:"auto,each,whole,fold" default:"auto" says:"Whether one band is cut for each side, one whole, or half a one on the fold; auto: on the fold where the middle lies there, whole if it has an overlap, too."`
	Cloth   string            `arg:"cloth" kind:"name" default:"main" says:"The cloth that it is cut from."`
	Notches int               `arg:"notches" kind:"number" min:"0" max:"9" default:"1" says:"How many notches each edge of its seam gets."`
	Name    string            `arg:"name" kind:"name" default:"waistband" says:"The name of the band."`
}

func defineShapedWaistband() Definition {
	return Definition{
		Name:     "shaped_waistband",
		Sentence: "Cuts a shaped waistband off the top of a skirt or trousers with the darts shut and the sides laid together, so that it follows the body.",
		Promise:  "Its lower edge is as long as the top of what is left, with the darts closed, and its upper edge as the waist was, to 0.1 mm; both run smoothly over darts and side seams; it is as wide as asked for.",
		Sketch: []Stroke{
			{CutAway, geom.Path{geom.Cubic(geom.Pt(92, 58), geom.Pt(70, 50), geom.Pt(35, 50), geom.Pt(10, 56))}},
			{Outline, geom.Path{geom.Cubic(geom.Pt(95, 46), geom.Pt(70, 38), geom.Pt(35, 38), geom.Pt(8, 44))}},
			{Outline, geom.Polyline(geom.Pt(8, 44), geom.Pt(4, 5), geom.Pt(98, 5), geom.Pt(95, 46))},
			{New, geom.Path{geom.Cubic(geom.Pt(8, 64), geom.Pt(35, 57), geom.Pt(70, 57), geom.Pt(96, 66)), geom.Line(geom.Pt(96, 66), geom.Pt(88, 90)),
				geom.Cubic(geom.Pt(88, 90), geom.Pt(68, 80), geom.Pt(38, 79), geom.Pt(15, 88)), geom.Line(geom.Pt(15, 88), geom.Pt(8, 64))}},
		},
		fresh: func() args { return new(shapedArgs) },
	}
}

// evenTo, mm, is by how much a line that is drawn smooth over sides and darts may leave the parallel (common practice).
const evenTo = 1.5

// shapedBand is a shaped waistband being made.
type shapedBand struct {
	c     *contour
	mid   int    // the end of the run at the middle of the band: 0 its beginning, 1 its end
	as    string // each, whole, fold
	piece pattern.Piece
	sewn  []string // its sewn edges, from left to right
	seams []string
	fold  bool    // its middle lies on a fold
	tall  float64 // the length of the end at its middle
}

func (a *shapedArgs) apply(w *work) error {
	run, err := w.runOf("/edges", a.Edges)
	if err != nil {
		return err
	}
	if w.p.PieceNamed(a.Name) != nil {
		return pattern.Fault{Rule: "name_taken", Pointer: "/name", Piece: a.Name, Detail: fmt.Sprintf("there is a piece %q already", a.Name),
			Valid: "not " + pattern.Choices(w.p.PieceNames()), Remedy: "choose another name"}
	}
	if err := atTop(w, run); err != nil {
		return err
	}
	b := shapedBand{mid: 1, as: a.Cut}
	if run.fold[0] != run.fold[1] && run.fold[0] || run.fold[0] == run.fold[1] && a.Open == "end" {
		b.mid = 0
	}
	b.fold = run.fold[b.mid]
	if b.as == cutAuto {
		switch {
		case !b.fold:
			b.as = cutEach
		case a.Overlap > 0:
			b.as = cutWhole
		default:
			b.as = cutFold
		}
	}
	if b.as != cutEach && !b.fold {
		return pattern.Fault{Rule: "no_middle", Pointer: "/cut", Piece: run.refs[0].Piece, Detail: "the middle of the band does not lie on a fold, so that there is nothing to mirror it about",
			Valid: cutEach, Remedy: "cut one for each side"}
	}
	if b.c, err = w.takeContour(run, a.Name, a.Width); err != nil {
		return err
	}
	if off := uneven(b.c.lower, b.c.upper, a.Width); off > evenTo {
		return pattern.Fault{Rule: "no_sweep", Pointer: "/width", Piece: run.refs[0].Piece, Edge: run.refs[0].Edge,
			Detail: fmt.Sprintf("drawn smooth, a band of %s off these edges would be up to %.1f mm wider or narrower in places", say(a.Width), off),
			Valid:  fmt.Sprintf("edges that a smooth line follows to %g mm", evenTo), Remedy: "make it narrower, or true the waist over its darts and side seams first"}
	}
	if err := a.draw(&b); err != nil {
		return err
	}
	a.sew(w, &b)
	if err := w.addPiece("/name", b.piece); err != nil {
		return err
	}
	a.promises(w, &b)
	a.tell(w, &b)
	return nil
}

// atTop refuses edges that do not lie across the grain above their piece: no body widens below a hem, and an armhole
// has nothing that could be cut off level.
func atTop(w *work, run seamRun) error {
	const most = 60.0 // degrees; the waist of a full circle in four parts leans by 45, for they lie with an edge upright
	seen := map[string]bool{}
	for i := 0; i < len(run.refs); i++ {
		p := w.p.PieceNamed(run.refs[i].Piece)
		if seen[p.Name] {
			return pattern.Fault{Rule: "edges_apart", Pointer: "/edges", Piece: p.Name, Edge: run.refs[i].Edge,
				Detail: fmt.Sprintf("edges of another piece lie between two edges of piece %q", p.Name), Valid: "all the edges of a piece, one after another", Remedy: "list the waist of one half of the body only"}
		}
		seen[p.Name] = true
		first := p.Edges[p.EdgeNamed(run.refs[i].Edge)].Path
		for i+1 < len(run.refs) && run.refs[i+1].Piece == p.Name {
			i++
		}
		last := p.Edges[p.EdgeNamed(run.refs[i].Edge)].Path
		// The outline has the piece on its left, and runs against the band.
		out := first.End().Sub(last.Start()).Right()
		if up := (geom.Vec{Y: 1}); out == (geom.Vec{}) || degrees(out, up) > most {
			return pattern.Fault{Rule: "no_waist", Pointer: "/edges", Piece: p.Name, Edge: run.refs[i].Edge,
				Detail: fmt.Sprintf("edge %s does not lie across the top of piece %q: it is no waist", run.refs[i].Edge, p.Name), Valid: "the upper edge of a skirt or of trousers", Remedy: "name the edges of the waist"}
		}
	}
	return nil
}

// bandSide is one of the long sides of a band, from left to right.
type bandSide []pattern.Edge

func (s bandSide) start() geom.Point { return s[0].Path.Start() }
func (s bandSide) end() geom.Point   { return s[len(s)-1].Path.End() }

// mirrored turns a side over; its edges are called after the left half of the body and come from nowhere.
func (s bandSide) mirrored(m geom.Affine) bandSide {
	out := make(bandSide, len(s))
	for i, e := range s {
		out[len(s)-1-i] = pattern.Edge{Name: e.Name + "_left", Path: e.Path.Reverse().Transform(m)}
	}
	return out
}

// draw makes the piece of the two lines.
func (a *shapedArgs) draw(b *shapedBand) error {
	c := b.c
	// It lies with its middle upright.
	foot, head := c.lower.Start(), c.upper.Start()
	if b.mid == 1 {
		foot, head = c.lower.End(), c.upper.End()
	}
	b.tall = foot.Dist(head)
	m := geom.Translate(geom.Pt(0, 0).Sub(foot)).Then(geom.RotateAbout(geom.Pt(0, 0), head.Sub(foot).AngleTo(geom.Vec{Y: 1})))
	low := bandSide{{Name: "stitched", Path: c.lower.Transform(m)}}
	var high bandSide
	taken := map[string]bool{}
	for i, r := range c.run.refs {
		t := c.partOf(i)
		waist, which := waistName(r.Edge)
		name := strings.Trim(strings.ReplaceAll(waist+"_"+r.Piece+"_"+which, "__", "_"), "_")
		e := pattern.Edge{Name: free(name, func(n string) bool { return taken[n] }), Path: c.upper.Sub(c.at[i], c.at[i+1]).Transform(m)}
		e.Src = t.was.Edges[t.was.EdgeNamed(r.Edge)].Src
		taken[e.Name] = true
		high = append(high, e)
	}
	b.sewn = []string{"stitched"}
	marks := c.carried(m, high)
	if b.as == cutWhole {
		over := geom.MirrorAbout(geom.Pt(0, 0), geom.Vec{Y: 1})
		if l, h := low.mirrored(over), high.mirrored(over); b.mid == 1 {
			low, high = append(low, l...), append(high, h...)
		} else {
			low, high = append(l, low...), append(h, high...)
		}
		b.sewn = []string{low[0].Name, low[1].Name}
	}
	var lap geom.Path
	if a.Overlap > 0 {
		right := b.as == cutWhole || b.mid == 0
		if right {
			lap = geom.Polyline(low.end(), high.end())
			low = append(low, ranOn("overlap", low.end(), low[len(low)-1].Path.EndTangent(), a.Overlap))
			high = append(high, ranOn("overlap_top", high.end(), high[len(high)-1].Path.EndTangent(), a.Overlap))
		} else {
			lap = geom.Polyline(low.start(), high.start())
			x, y := ranOn("overlap", low.start(), low[0].Path.StartTangent().Neg(), a.Overlap), ranOn("overlap_top", high.start(), high[0].Path.StartTangent().Neg(), a.Overlap)
			x.Path, y.Path = x.Path.Reverse(), y.Path.Reverse()
			low, high = append(bandSide{x}, low...), append(bandSide{y}, high...)
		}
	}
	edges := append([]pattern.Edge{}, low...)
	edges = append(edges, pattern.Edge{Name: "end", Path: geom.Polyline(low.end(), high.end())})
	for i := len(high) - 1; i >= 0; i-- {
		e := high[i]
		e.Path = e.Path.Reverse()
		edges = append(edges, e)
	}
	edges = append(edges, pattern.Edge{Name: "begin", Path: geom.Polyline(high.start(), low.start())})
	src := make([]pattern.Source, len(edges))
	for i := range edges {
		edges[i].From, src[i] = edges[i].Name+"_from", edges[i].Src
	}
	p := newPiece(a.Name, titled(a.Name), a.cut(b), edges...)
	for i, s := range src {
		if s != (pattern.Source{}) {
			p.Edges[i].Src = s
		}
	}
	p.Marks = marks
	c.endSources(b, &p, a.Overlap > 0)
	if b.as == cutFold {
		e := &p.Edges[p.EdgeNamed([]string{"begin", "end"}[b.mid])]
		e.Name, e.Fold = "middle", true
	}
	if lap != nil {
		p.Lines = append(p.Lines, pattern.InnerLine{Name: "lap_line", Path: lap})
	}
	p.Grain = [2]geom.Point{geom.Pt(0, 0), geom.Pt(0, 1)}
	fitGrain(&p)
	b.piece = p
	return nil
}

// endSources tells of the ends that they are the tops of the edges beside the waist: what is said of those, such as
// where a zip opens them, holds for both parts. An end beyond an overlap is nothing of theirs, nor one on the half
// that was mirrored.
func (c *contour) endSources(b *shapedBand, p *pattern.Piece, lapped bool) {
	first, last := &c.parts[0], &c.parts[len(c.parts)-1]
	if !(b.as == cutWhole && b.mid == 0) && !(lapped && b.as != cutWhole && b.mid == 1) {
		e := &first.was.Edges[first.sides[0]]
		p.Edges[p.EdgeNamed("begin")].Src = subSource(e.Src, 0, first.cuts[0], e.Path.Length())
	}
	if !(b.as == cutWhole && b.mid == 1) && !(lapped && b.mid == 0) {
		e := &last.was.Edges[last.sides[1]]
		l := e.Path.Length()
		p.Edges[p.EdgeNamed("end")].Src = subSource(e.Src, l-last.cuts[len(last.cuts)-1], l, l)
	}
}

// ranOn is an edge that runs straight on.
func ranOn(name string, from geom.Point, along geom.Vec, by float64) pattern.Edge {
	return pattern.Edge{Name: name, Path: geom.Polyline(from, from.Add(along.Mul(by)))}
}

// cut is how often it is cut. A whole one with an overlap at one end is no mirror image of itself: that of its
// facing lies the other way round.
func (a *shapedArgs) cut(b *shapedBand) pattern.Cut {
	k := pattern.Cut{Count: 1, Cloth: a.Cloth}
	if a.Faced {
		k.Count, k.Layers = 2, 2
	}
	k.Interfaced = k.Count / max(1, k.Layers)
	switch {
	case b.as == cutWhole:
		k.Pair = a.Faced && a.Overlap > 0
	case b.as == cutEach && b.c.run.pair:
		k.Count, k.Interfaced, k.Pair = 2*k.Count, 2*k.Interfaced, true
	}
	return k
}

// sew sews it to what it was taken from, and its ends together where there is no opening.
func (a *shapedArgs) sew(w *work, b *shapedBand) {
	run, p := b.c.below, &b.piece
	s := strip{name: a.Name, run: run, long: b.c.lower.Length(), notches: a.Notches}
	for _, e := range b.sewn {
		refs := run.refs
		if e != "stitched" {
			refs = run.turned()
		}
		seam := s.notch(w, p, e, refs)
		seam.Name = w.seamFree(a.Name + "_seam")
		seam.Sew, seam.To = []pattern.EdgeRef{{Piece: a.Name, Edge: e}}, refs
		w.p.Seams = append(w.p.Seams, seam)
		b.seams = append(b.seams, seam.Name)
	}
	join := func(x, y string) {
		j := pattern.Seam{Name: w.seamFree(a.Name + "_join"), Sew: []pattern.EdgeRef{{Piece: a.Name, Edge: x}}, To: []pattern.EdgeRef{{Piece: a.Name, Edge: y, Against: x != y}}}
		w.p.Seams = append(w.p.Seams, j)
	}
	ends := [2]string{"begin", "end"}
	open := 1 - b.mid
	switch {
	case b.as == cutEach && run.ring:
		if a.Overlap == 0 {
			join("end", "begin")
		}
		return
	case b.as == cutEach:
		join(ends[b.mid], ends[b.mid])
	}
	if a.Overlap == 0 && run.fold[open] { // all the way round without an opening
		if b.as == cutWhole {
			join("end", "begin")
		} else {
			join(ends[open], ends[open])
		}
	}
}

// partOf is the part that an edge of the run lies on.
func (c *contour) partOf(i int) *contourPart {
	for k := range c.parts {
		if i <= c.parts[k].last {
			return &c.parts[k]
		}
	}
	return nil
}

// carried gives the marks that lay above the cut to the band: those of the waist to its upper edges, the others as
// dots, or to the edge that they lie beside.
func (c *contour) carried(m geom.Affine, high bandSide) []pattern.Mark {
	const near = 1.5 // mm that a smooth line may have moved away from them
	var out []pattern.Mark
	taken := func(n string) bool {
		for i := range out {
			if out[i].Name == n {
				return true
			}
		}
		return false
	}
	for i := range c.parts {
		t := &c.parts[i]
		for _, k := range t.was.Marks {
			if t.kept[k.Name] {
				continue
			}
			k.Name = free(k.Name, taken)
			done := false
			for j := t.first; j <= t.last && !done; j++ {
				if e := &high[j]; k.Edge == c.run.refs[j].Edge {
					l := e.Path.Length()
					k.Edge, k.S = e.Name, math.Min(k.S, l)
					k.At, done = e.Path.Reverse().PointAt(k.S), true
				}
			}
			if !done {
				at, best := geom.Point{}, math.Inf(1)
				for j := range t.lay {
					q := t.lay[j].Apply(k.At)
					if _, d := t.waist[j].Project(q); d < best {
						at, best = m.Apply(t.place.Apply(q)), d
					}
				}
				k.Edge, k.S, k.At = "", 0, at
				if k.Kind == pattern.Notch {
					k.Kind, k.Count = pattern.Dot, 0
				}
				for j := range high {
					if s, d := high[j].Path.Project(at); d < near {
						k.Edge, k.S = high[j].Name, high[j].Path.Length()-s
						k.At = high[j].Path.PointAt(s)
						break
					}
				}
			}
			out = append(out, k)
		}
	}
	return out
}
