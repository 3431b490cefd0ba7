package inspect

import (
	"fmt"
	"math"
	"strings"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// Row is a finished measurement that is wanted, and the pattern in whose words it is told: the block
// in this size, or the pattern as a change that asks for it had just made it.
type Row struct {
	pattern.Finished
	On *pattern.Pattern
}

// Taken is a finished measurement of one size.
type Taken struct {
	Name, Says string
	Body       string // the body measurement that it goes with, "" for none
	MM         float64
	Gone       string // why it can't be measured any more; then MM is 0
}

// Finished measures the garment on its made pattern. What a style has cut away, sewn on to or laid into
// pleats is left out with the reason, never guessed. Cloth that is to shrink is measured as it will be.
func Finished(made *pattern.Pattern, rows []Row) []Taken {
	out := make([]Taken, 0, len(rows))
	wash := washed(made)
	for i := range rows {
		r := &rows[i]
		t := Taken{Name: r.Name, Says: r.Says, Body: r.Body}
		if _, ok := made.Body[r.Name]; t.Body == "" && ok && girths[r.Name] {
			t.Body = r.Name
		}
		mm, err := measureRow(wash, r)
		if err != nil {
			t.Gone = pattern.FaultsOf(err)[0].Detail
		} else {
			t.MM = mm
		}
		out = append(out, t)
	}
	return out
}

// girths are the names that a finished measurement shares with the body it goes round; others say so.
var girths = map[string]bool{"bust": true, "chest": true, "waist": true, "hip": true}

// CheckFinished measures a block's list on the block itself, where every term must be there to be measured.
// Pointers begin at the list.
func CheckFinished(p *pattern.Pattern, list []pattern.Finished) pattern.Faults {
	var fs pattern.Faults
	for i := range list {
		_, err := measureRow(p, &Row{list[i], p})
		fs = append(fs, pattern.FaultsOf(err).Under(pattern.Pointer(fmt.Sprint(i)))...)
	}
	return fs
}

func measureRow(made *pattern.Pattern, r *Row) (float64, error) {
	g := gauge{on: r.On, made: made}
	sum := 0.0
	for k := range r.Terms {
		t := &r.Terms[k]
		var mm float64
		var err error
		if len(t.Edges) > 0 {
			mm, err = g.edges(t)
		} else {
			mm, err = g.way(t)
		}
		if err == nil && !(mm > 0 && mm < 1e6) {
			err = pattern.Fault{Rule: "no_length", Detail: "it has no length"}
		}
		if err != nil {
			fs := pattern.FaultsOf(err).Under(pattern.Pointer("terms", fmt.Sprint(k)))
			fs[0].Size = made.Size
			return 0, fs
		}
		sum += float64(max(1, t.Times)) * mm
	}
	return sum, nil
}

// ease compares the garment with the body that is to wear it. A garment of woven cloth needs room for
// breathing and moving (common practice: 25 to 50 mm at the waist and hip of close clothes, more over the
// bust); how much is the maker's to say, but with less than none nobody can get into it.
func (w *watch) ease() {
	for _, t := range w.s.Finished {
		body, ok := w.s.Pattern.Body[t.Body]
		if t.Gone != "" || !ok {
			continue
		}
		d := t.MM - body
		text := fmt.Sprintf("%s: the garment measures %.1f mm, the body %.1f mm, %.1f mm of ease.", t.Says, t.MM, body, d)
		if d < 0 {
			text = fmt.Sprintf("%s: the garment measures %.1f mm, the body %.1f mm, %.1f mm too little unless the cloth stretches.", t.Says, t.MM, body, -d)
		}
		w.say(Check{Rule: "wearing_ease", Place: t.Name, Measured: d, Want: pattern.Range{Max: pattern.MaxBody}, Tolerance: w.o.SeamLength, Unit: MM,
			Bearable: &pattern.Range{Min: -pattern.MaxBody, Max: pattern.MaxBody}, Text: text})
	}
}

// washed is the pattern with cloth that is cut larger, because it shrinks, as it is after the wash.
func washed(p *pattern.Pattern) *pattern.Pattern {
	q := *p
	q.Pieces = append([]pattern.Piece(nil), p.Pieces...)
	for i := range q.Pieces {
		pc := &q.Pieces[i]
		u := pc.Grain[1].Sub(pc.Grain[0]).Unit()
		if pc.Shrinks == (pattern.Shrinkage{}) || u == (geom.Vec{}) {
			continue
		}
		*pc = pc.Clone()
		k, j := 1-pc.Shrinks.Warp, 1-pc.Shrinks.Weft
		turn := geom.RotateAbout(pc.Align, u.AngleTo(geom.Vec{X: 1}))
		back := geom.RotateAbout(pc.Align, geom.Vec{X: 1}.AngleTo(u))
		at := geom.Vec{X: pc.Align.X, Y: pc.Align.Y}
		m := turn.Then(geom.Translate(at.Neg())).Then(geom.Scale(k, j)).Then(geom.Translate(at)).Then(back)
		for e := range pc.Edges {
			pc.Edges[e].Path = pc.Edges[e].Path.Transform(m)
		}
		for n := range pc.Marks {
			mk := &pc.Marks[n]
			mk.At = m.Apply(mk.At)
			if e := pc.EdgeNamed(mk.Edge); e >= 0 {
				mk.S, _ = pc.Edges[e].Path.Project(mk.At)
			}
		}
		for n := range pc.Lines {
			pc.Lines[n].Path = pc.Lines[n].Path.Transform(m)
		}
		pc.Grain = [2]geom.Point{m.Apply(pc.Grain[0]), m.Apply(pc.Grain[1])}
	}
	return &q
}

// gauge measures on the made pattern what is told in the words of another.
type gauge struct{ on, made *pattern.Pattern }

// plain is a name of the document as people read it.
func plain(name string) string { return strings.ReplaceAll(name, "_", " ") }

// source is where on the pattern of the words an edge is: itself, whole, unless it says otherwise.
func source(p *pattern.Piece, e *pattern.Edge) pattern.Source {
	if e.Src == (pattern.Source{}) {
		return pattern.Source{Piece: p.Name, Edge: e.Name, S1: e.Path.Length()}
	}
	return e.Src
}

func (g *gauge) edgeOn(r pattern.EdgeRef, pointer string) (*pattern.Piece, *pattern.Edge, error) {
	c, err := Walk(g.on, []pattern.EdgeRef{r})
	if err != nil {
		return nil, nil, pattern.FaultsOf(err).Under(pointer)
	}
	return c.Links[0].Piece, &c.Links[0].Piece.Edges[c.Links[0].Edge], nil
}

// edges is the length of what came of the term's edges, as it is sewn.
func (g *gauge) edges(t *pattern.Term) (float64, error) {
	lengths := map[[2]string]float64{}
	var order [][2]string
	for i, r := range t.Edges {
		ptr := pattern.Pointer("edges", fmt.Sprint(i))
		p, e, err := g.edgeOn(r, ptr)
		if err != nil {
			return 0, err
		}
		refs, ok := pattern.Covering(source(p, e), g.made.Pieces, false)
		if !ok {
			return 0, pattern.Fault{Rule: "cut_away", Pointer: ptr, Piece: r.Piece, Edge: r.Edge, Detail: fmt.Sprintf("a part of the %s of the %s is cut away or replaced", plain(r.Edge), plain(r.Piece))}
		}
		for _, c := range refs {
			if by := sewnTo(g.made, c); t.Outer && by != "" && sewnTo(g.on, r) == "" && !g.endsThere(by) {
				return 0, pattern.Fault{Rule: "sewn_on", Pointer: ptr, Piece: r.Piece, Edge: r.Edge, Detail: fmt.Sprintf("the %s of the %s is sewn to the %s", plain(r.Edge), plain(r.Piece), plain(by))}
			}
			key := [2]string{c.Piece, c.Edge}
			if _, twice := lengths[key]; twice {
				continue
			}
			pc := g.made.PieceNamed(c.Piece)
			lengths[key] = g.upToCentre(pc, pc.Edges[pc.EdgeNamed(c.Edge)].Path)
			order = append(order, key)
		}
	}
	if err := g.drawUp(lengths); err != nil {
		return 0, err
	}
	sum := 0.0
	for _, k := range order {
		sum += lengths[k]
	}
	return sum, nil
}

// sewnTo names the piece that an edge is sewn to, "" for a free edge.
func sewnTo(p *pattern.Pattern, r pattern.EdgeRef) string {
	on := func(refs []pattern.EdgeRef) bool {
		for _, x := range refs {
			if x.Piece == r.Piece && x.Edge == r.Edge {
				return true
			}
		}
		return false
	}
	for i := range p.Seams {
		s := &p.Seams[i]
		switch {
		case len(s.Sew) == 0 || len(s.To) == 0:
		case on(s.Sew):
			return s.To[0].Piece
		case on(s.To):
			return s.Sew[0].Piece
		}
	}
	return ""
}

// endsThere: a piece that is turned in, or binds the edge, leaves the edge the garment's own.
func (g *gauge) endsThere(piece string) bool {
	p := g.made.PieceNamed(piece)
	return p != nil && p.Adds != nil && *p.Adds == 0
}

// upToCentre is an edge's length, without what runs on over a stand: beyond a line that has the name of an
// edge which was a centre on the pattern of the words and is no edge any more.
func (g *gauge) upToCentre(pc *pattern.Piece, path geom.Path) float64 {
	l := path.Length()
	for i := range pc.Lines {
		c := &pc.Lines[i]
		if len(c.Path) == 0 || !g.wasCentre(pc, c.Name) {
			continue
		}
		for _, end := range [2]geom.Point{c.Path.Start(), c.Path.End()} {
			if s, d := path.Project(end); d <= 0.05 {
				l = math.Max(s, path.Length()-s)
			}
		}
	}
	return l
}

// wasCentre: the pattern of the words has an edge of that name on the piece, which is none now.
func (g *gauge) wasCentre(pc *pattern.Piece, name string) bool {
	for _, was := range []string{pc.Of, pc.Name} {
		if p := g.on.PieceNamed(was); p != nil && p.EdgeNamed(name) >= 0 && pc.EdgeNamed(name) < 0 {
			return true
		}
	}
	return false
}

// tight is the least surplus of a sewn side, mm, that is drawn up rather than eased or off.
const tight = 5.0

// drawUp gives edges that are gathered or eased onto something shorter the length of that. It can be told for
// a whole side of a seam only.
func (g *gauge) drawUp(lengths map[[2]string]float64) error {
	for i := range g.made.Seams {
		s := &g.made.Seams[i]
		for _, sides := range [2][2][]pattern.EdgeRef{{s.Sew, s.To}, {s.To, s.Sew}} {
			mine, err1 := Walk(g.made, sides[0])
			other, err2 := Walk(g.made, sides[1])
			if err1 != nil || err2 != nil || mine.Len-other.Len < 0.5 {
				continue
			}
			all, some, lost := 0.0, false, false
			for _, r := range sides[0] {
				l, ok := lengths[[2]string{r.Piece, r.Edge}]
				some, all = some || ok, all+l
				lost = lost || !ok && g.known(r)
			}
			switch {
			case !some:
				continue
			case lost && !s.Gathers && s.Drawn == 0 && mine.Len-other.Len < tight:
				continue
			case lost:
				return pattern.Fault{Rule: "part_gathered", Piece: sides[0][0].Piece, Detail: fmt.Sprintf("only a part of what is gathered in the seam %s counts", plain(s.Name))}
			}
			// A side that lists both halves of an edge counts it twice.
			k := other.Len / all
			done := map[[2]string]bool{}
			for _, r := range sides[0] {
				key := [2]string{r.Piece, r.Edge}
				if l, ok := lengths[key]; ok && !done[key] {
					lengths[key], done[key] = l*k, true
				}
			}
		}
	}
	return nil
}

// known: an edge of the pattern of the words, not one that a change made.
func (g *gauge) known(r pattern.EdgeRef) bool {
	pc := g.made.PieceNamed(r.Piece)
	if pc == nil || pc.EdgeNamed(r.Edge) < 0 {
		return false
	}
	src := source(pc, &pc.Edges[pc.EdgeNamed(r.Edge)])
	p := g.on.PieceNamed(src.Piece)
	return p != nil && p.EdgeNamed(src.Edge) >= 0
}
