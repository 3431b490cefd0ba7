package inspect_test

import (
	"strings"
	"testing"

	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// gathered sews the back's side, gathered, to the front's armhole, with notches at a share of both; past
// 0.6 one of them is set wrong.
func gathered(notch float64) inspect.Report {
	p := blouse.Make(blouse.Base())
	f, b := p.PieceNamed("front"), p.PieceNamed("back")
	l := b.Edges[b.EdgeNamed("side")].Path.Length()
	b.Marks, f.Marks = nil, nil
	p.Seams = nil
	put := func(q *pattern.Piece, name, edge string, s float64) {
		q.Marks = append(q.Marks, pattern.Mark{Kind: pattern.Notch, Name: name, Count: 1, Edge: edge, S: s, At: q.Edges[q.EdgeNamed(edge)].Path.PointAt(s)})
	}
	long := f.Edges[f.EdgeNamed("armhole")].Path.Length()
	put(f, "f", "armhole", notch*long)
	put(b, "b", "side", notch*l)
	p.Seams = []pattern.Seam{{Name: "gathers", Gathers: true, Sew: []pattern.EdgeRef{{Piece: "back", Edge: "side"}}, To: []pattern.EdgeRef{{Piece: "front", Edge: "armhole"}},
		Ease: pattern.Range{Min: l - long, Max: l - long}, Notches: [][2]pattern.MarkRef{{{Piece: "back", Mark: "b"}, {Piece: "front", Mark: "f"}}}}}
	if notch > 0.6 {
		b.Marks[0].S -= 10
	}
	return inspect.Run([]inspect.Sized{{Pattern: p}}, blouse.Chart(), inspect.Options{})
}

func TestNotchesOfAGatheredSeamMeetInProportion(t *testing.T) {
	for _, notch := range []float64{0.25, 0.5, 0.7} {
		r := gathered(notch)
		seen := 0
		for _, c := range r.Checks {
			if c.Rule == "seam_length" && (c.Verdict != inspect.Pass || !strings.Contains(c.Text, "gathered")) {
				t.Errorf("%v %s", c.Verdict, c.Text)
			}
			if c.Rule != "notch_walk" {
				continue
			}
			seen++
			if spoiled := notch > 0.6; (c.Verdict == inspect.Fail) != spoiled {
				t.Errorf("notch at %g: %v: %s", notch, c.Verdict, c.Text)
			}
		}
		if seen != 1 {
			t.Errorf("%d notch checks", seen)
		}
	}
}

// Cloth that shrinks by 5 % along the grain only: gathers that are even before the wash need not be so after it, nor the
// other way round.
func TestGathersOfClothThatShrinksUnevenlyMayShift(t *testing.T) {
	at := func(warp float64) inspect.Verdict {
		p := blouse.Make(blouse.Base())
		f, b := p.PieceNamed("front"), p.PieceNamed("back")
		l, long := b.Edges[b.EdgeNamed("side")].Path.Length(), f.Edges[f.EdgeNamed("armhole")].Path.Length()
		f.Shrinks.Warp = warp
		f.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "f", Count: 1, Edge: "armhole", S: 0.53 * long, At: f.Edges[f.EdgeNamed("armhole")].Path.PointAt(0.53 * long)}}
		b.Marks = []pattern.Mark{{Kind: pattern.Notch, Name: "b", Count: 1, Edge: "side", S: 0.5 * l, At: b.Edges[b.EdgeNamed("side")].Path.PointAt(0.5 * l)}}
		p.Seams = []pattern.Seam{{Name: "gathers", Gathers: true, Sew: []pattern.EdgeRef{{Piece: "back", Edge: "side"}}, To: []pattern.EdgeRef{{Piece: "front", Edge: "armhole"}},
			Ease: pattern.Range{Min: l - long, Max: l - long}, Notches: [][2]pattern.MarkRef{{{Piece: "back", Mark: "b"}, {Piece: "front", Mark: "f"}}}}}
		for _, c := range inspect.Run([]inspect.Sized{{Pattern: p}}, blouse.Chart(), inspect.Options{}).Checks {
			if c.Rule == "notch_walk" {
				return c.Verdict
			}
		}
		return ""
	}
	if at(0) != inspect.Fail || at(0.01) != inspect.Fail || at(0.06) != inspect.Pass {
		t.Error(at(0), at(0.01), at(0.06))
	}
}
