package sheet

import (
	"fmt"
	"strings"

	"sizerun/internal/geom"
)

// Fault says what cannot be drawn, where, and how to mend it.
type Fault struct {
	Rule   string // stable identifier, snake_case
	Piece  string
	Size   string
	Detail string // what is wrong, with the values
	Valid  string // the valid range
	Remedy string
}

func (f Fault) Error() string {
	var b strings.Builder
	if f.Piece != "" {
		b.WriteString("piece " + f.Piece + ": ")
	}
	if f.Size != "" {
		b.WriteString("size " + f.Size + ": ")
	}
	b.WriteString(f.Detail)
	if f.Valid != "" {
		b.WriteString(" (valid: " + f.Valid + ")")
	}
	if f.Remedy != "" {
		b.WriteString("; " + f.Remedy)
	}
	return b.String()
}

// Bounds on a job. They are far above any garment: a coat of 60 pieces in 24 sizes is large.
const (
	MaxSizes  = 48
	MaxPieces = 200
	MaxReach  = 10_000    // mm, farthest coordinate
	MaxSegs   = 2_000     // in one size of one piece
	MaxLines  = 1_500_000 // straight stretches that the whole job flattens to, within 0.05 mm
	MaxRows   = 400       // of a table
	MaxCols   = 60
	MaxText   = 400 // runes of one string that are looked at
	MaxPages  = 1_500
	closedTol = 0.01
	maxStyle  = 999 // of the palette; far beyond any run
)

// check refuses a job that cannot be drawn.
func check(j Job, p Paper, o Options) error {
	switch {
	case len(j.Sizes) == 0 || len(j.Sizes) > MaxSizes:
		return Fault{Rule: "sizes", Detail: fmt.Sprintf("the job has %d sizes", len(j.Sizes)), Valid: fmt.Sprintf("1 to %d", MaxSizes), Remedy: "print fewer sizes at a time"}
	case len(j.Pieces) == 0 || len(j.Pieces) > MaxPieces:
		return Fault{Rule: "pieces", Detail: fmt.Sprintf("the job has %d pieces", len(j.Pieces)), Valid: fmt.Sprintf("1 to %d", MaxPieces), Remedy: "print fewer pieces at a time"}
	case !(p.Margin >= 6 && p.Margin <= 50):
		return Fault{Rule: "margin", Detail: fmt.Sprintf("the paper %s has a margin of %g mm", p.Name, p.Margin), Valid: "6 to 50 mm", Remedy: "printers cannot reach the edge: use at least 6 mm"}
	case !(p.W >= 140 && p.W <= 5000 && p.H >= 140 && p.H <= 5000):
		return Fault{Rule: "paper_size", Detail: fmt.Sprintf("the paper %s is %g by %g mm", p.Name, p.W, p.H), Valid: "140 to 5000 mm each way", Remedy: "choose one of " + strings.Join(PaperNames(), ", ")}
	case !(o.Gap >= 0 && o.Gap <= 100):
		return Fault{Rule: "gap", Detail: fmt.Sprintf("the gap between pieces is %g mm", o.Gap), Valid: "0 to 100 mm", Remedy: "leave it at 0 for the usual gap"}
	case !(o.Line == 0 || o.Line >= 0.1 && o.Line <= 3):
		return Fault{Rule: "line_width", Detail: fmt.Sprintf("the line width is %g mm", o.Line), Valid: "0.1 to 3 mm", Remedy: "leave it at 0 for the usual width"}
	}
	if j.Styles != nil && len(j.Styles) != len(j.Sizes) {
		return Fault{Rule: "styles", Detail: fmt.Sprintf("%d lines of the palette are named for %d sizes", len(j.Styles), len(j.Sizes)), Remedy: "name one per size, or none"}
	}
	for i, s := range j.Styles {
		if s < 0 || s > maxStyle {
			return Fault{Rule: "styles", Size: j.Sizes[i], Detail: fmt.Sprintf("line %d of the palette is wanted", s), Valid: fmt.Sprintf("0 to %d", maxStyle), Remedy: "use the size's place in its run"}
		}
	}
	seen := map[string]bool{}
	for _, s := range j.Sizes {
		if s == "" || seen[s] {
			return Fault{Rule: "size_name", Size: s, Detail: "a size name is empty or stands twice", Remedy: "give every size a name of its own"}
		}
		seen[s] = true
	}
	for _, pc := range j.Pieces {
		if err := checkPiece(j, pc); err != nil {
			return err
		}
	}
	for _, t := range []Table{j.Chart, j.Finished, j.Cutting} {
		cols := len(t.Head)
		for _, r := range t.Rows {
			cols = max(cols, len(r))
		}
		if len(t.Rows) > MaxRows || cols > MaxCols {
			return Fault{Rule: "table", Detail: fmt.Sprintf("the table %q has %d rows and %d columns", t.Title, len(t.Rows), cols), Valid: fmt.Sprintf("up to %d rows and %d columns", MaxRows, MaxCols), Remedy: "leave rows out"}
		}
	}
	return nil
}

func checkPiece(j Job, pc Piece) error {
	if len(pc.Sizes) != len(j.Sizes) {
		return Fault{Rule: "piece_sizes", Piece: pc.Name, Detail: fmt.Sprintf("is drawn in %d sizes, the job has %d", len(pc.Sizes), len(j.Sizes)), Remedy: "give one drawing per size, with no cut line where a size lacks the piece"}
	}
	some := false
	for i, d := range pc.Sizes {
		if len(d.Cut) == 0 {
			continue
		}
		some = true
		bad := func(rule, detail, valid, remedy string) error {
			return Fault{Rule: rule, Piece: pc.Name, Size: j.Sizes[i], Detail: detail, Valid: valid, Remedy: remedy}
		}
		segs := len(d.Cut)
		paths := [...][]geom.Path{d.Seam, d.Notches, d.Inner, d.Folds}
		for _, ps := range paths {
			for _, p := range ps {
				segs += len(p)
			}
		}
		segs += len(d.Dots) + len(d.Squares) + len(d.Texts)
		if segs > MaxSegs {
			return bad("too_many_segments", fmt.Sprintf("has %d stretches and marks", segs), fmt.Sprintf("up to %d", MaxSegs), "fit dense lines to curves first")
		}
		far := geom.Point{}
		ok := true
		look := func(q geom.Point) {
			if ok && !(q.X >= -MaxReach && q.X <= MaxReach && q.Y >= -MaxReach && q.Y <= MaxReach) {
				far, ok = q, false
			}
		}
		path := func(p geom.Path) {
			for k := range p {
				look(p[k].P0)
				look(p[k].P1)
				look(p[k].P2)
				look(p[k].P3)
			}
		}
		path(d.Cut)
		for _, ps := range paths {
			for _, p := range ps {
				path(p)
			}
		}
		for _, q := range d.Dots {
			look(q)
		}
		look(d.Grain[0])
		look(d.Grain[1])
		for _, s := range d.Squares {
			look(s.At)
			look(geom.Pt(s.Dir.X, s.Dir.Y))
		}
		for _, t := range d.Texts {
			look(t.At)
		}
		if !ok {
			return bad("out_of_range", fmt.Sprintf("a point lies at (%g, %g)", far.X, far.Y), fmt.Sprintf("within %d mm of the align point", MaxReach), "check the measurement or the rule that moves it")
		}
		if g := d.Cut.Start().Dist(d.Cut.End()); g > closedTol {
			return bad("open_cut_line", fmt.Sprintf("the cut line is open by %.3f mm", g), fmt.Sprintf("up to %g mm", closedTol), "close the outline")
		}
		if b := d.Cut.Bounds(); b.W() < 1 && b.H() < 1 {
			return bad("no_extent", "the cut line has no extent", "at least 1 mm", "check the measurement or the rule that makes it so small")
		}
	}
	if !some {
		return Fault{Rule: "no_drawing", Piece: pc.Name, Detail: "is drawn in no size", Remedy: "leave the piece out"}
	}
	return nil
}
