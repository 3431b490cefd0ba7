package inspect_test

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/inspect"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit/blouse"
)

// worn judges whether a garment can be put on.
func worn(p pattern.Pattern) []inspect.Check {
	var out []inspect.Check
	for _, c := range inspect.Run([]inspect.Sized{{Pattern: p, Worn: true}}, pattern.SizeChart{}, inspect.Options{}).Checks {
		if strings.HasPrefix(c.Rule, "goes_over") {
			out = append(out, c)
		}
	}
	return out
}

// tube is a skirt of one piece on the fold, half as wide as it is round.
func tube(waist float64) pattern.Pattern {
	return pattern.Pattern{Size: "14", Body: map[string]float64{"hip": 1000}, Pieces: []pattern.Piece{box("skirt", waist/2, 600, "hem", "side", "waist", "centre")}}
}

// box names the edges from below, counter-clockwise; the last lies on the fold.
func box(name string, w, h float64, names ...string) pattern.Piece {
	at := []geom.Point{geom.Pt(0, 0), geom.Pt(w, 0), geom.Pt(w, h), geom.Pt(0, h)}
	p := pattern.Piece{Name: name, Cut: pattern.Cut{Count: 1, Cloth: "main"}, Grain: [2]geom.Point{geom.Pt(w/2, h/4), geom.Pt(w/2, 3*h/4)}}
	for i, n := range names {
		path := geom.Polyline(at[i], at[(i+1)%4])
		p.Edges = append(p.Edges, pattern.Edge{Name: n, From: names[(i+3)%4] + "_" + n, To: n + "_" + names[(i+1)%4], Path: path, Fold: i == 3,
			Src: pattern.Source{Piece: name, Edge: n, S1: path.Length()}})
	}
	return p
}

func TestASkirtGoesOverTheHipOrOpens(t *testing.T) {
	zip := pattern.Opening{Src: pattern.Source{Piece: "skirt", Edge: "side", S0: 600, S1: 400}}
	slit := pattern.Opening{Src: pattern.Source{Piece: "skirt", Edge: "side", S0: 0, S1: 200}}
	wrap := pattern.Opening{Src: pattern.Source{Piece: "skirt", Edge: "side", S0: 600, S1: 0}}
	gathered := tube(1200)
	gathered.Pieces = append(gathered.Pieces, box("band", 350, 30, "stitched", "end", "upper", "middle"))
	gathered.Seams = []pattern.Seam{{Name: "waist", Gathers: true, Ease: pattern.Range{Min: 250, Max: 250}, Sew: []pattern.EdgeRef{{Piece: "skirt", Edge: "waist"}}, To: []pattern.EdgeRef{{Piece: "band", Edge: "stitched", Against: true}}}}
	for _, c := range []struct {
		claim    string
		p        pattern.Pattern
		openings []pattern.Opening
		mm       float64
		want     inspect.Verdict
	}{
		{"as wide as the hip", tube(1000), nil, 1000, inspect.Pass},
		{"as wide as the waist", tube(760), nil, 760, inspect.Warn},
		{"too narrow for any cloth", tube(480), nil, 480, inspect.Fail},
		{"with a zip", tube(760), []pattern.Opening{zip}, 1160, inspect.Pass},
		{"with a zip that is too short", tube(560), []pattern.Opening{zip}, 960, inspect.Warn},
		{"with a slit at the hem", tube(760), []pattern.Opening{slit}, 760, inspect.Warn},
		{"open right through", tube(480), []pattern.Opening{wrap}, 1680, inspect.Pass},
		{"gathered onto a band", gathered, nil, 700, inspect.Warn},
	} {
		c.p.Openings = c.openings
		got := worn(c.p)
		if len(got) != 1 || got[0].Rule != "goes_over_hip" || got[0].Verdict != c.want || math.Abs(got[0].Measured-c.mm) > 1e-6 {
			t.Errorf("%s: want %s, %g mm: %+v", c.claim, c.want, c.mm, got)
		}
	}
}

func TestANeckGoesOverTheHead(t *testing.T) {
	p := blouse.Make(blouse.Base())
	if got := worn(p); len(got) != 1 || got[0].Rule != "goes_over_head" || got[0].Verdict != inspect.Warn || got[0].Source != "common practice" {
		t.Errorf("an adult's head, by habit: %+v", got)
	}
	p.Body = map[string]float64{"head": 540, "hip": 960}
	if got := worn(p); len(got) != 1 || got[0].Verdict != inspect.Pass || got[0].Source != "the size chart" {
		t.Errorf("a head of 540 mm: %+v", got)
	}
	d := blouse.Base()
	d.Neck = 40
	p = blouse.Make(d)
	p.Body = map[string]float64{"head": 580}
	if got := worn(p); len(got) != 1 || got[0].Verdict == inspect.Pass {
		t.Errorf("a close neck: %+v", got)
	}
	block := inspect.Run([]inspect.Sized{{Pattern: p}}, pattern.SizeChart{}, inspect.Options{})
	for _, c := range block.Checks {
		if strings.HasPrefix(c.Rule, "goes_over") {
			t.Errorf("a block is no garment: %+v", c)
		}
	}
	skirt := tube(760)
	skirt.Body = nil
	if got := worn(skirt); len(got) != 0 {
		t.Errorf("nobody has told the hip: %+v", got)
	}
}

// Cloth that shrinks is cut larger; the head goes through what is left after the wash.
func TestANeckIsMeasuredAfterTheWash(t *testing.T) {
	p := blouse.Make(blouse.Base())
	plain := worn(p)[0].Measured
	for i := range p.Pieces {
		p.Pieces[i].Shrinks = pattern.Shrinkage{Warp: 0.05, Weft: 0.05}
	}
	if got := worn(p)[0].Measured; math.Abs(got-0.95*plain) > 1e-6 {
		t.Errorf("%g mm, before the wash %g", got, plain)
	}
}

// A facing has the same neck once more, and a square neck has two edges a side: each counts once.
func TestTheNeckIsMeasuredOnce(t *testing.T) {
	p := blouse.Make(blouse.Base())
	plain := worn(p)[0].Measured
	for _, name := range []string{"front", "back"} {
		q := p.PieceNamed(name).Clone()
		q.Name += "_facing"
		p.Pieces = append(p.Pieces, q)
		p.Seams = append(p.Seams, pattern.Seam{Name: q.Name, Sew: []pattern.EdgeRef{{Piece: q.Name, Edge: "neck"}}, To: []pattern.EdgeRef{{Piece: name, Edge: "neck"}}})
	}
	if got := worn(p)[0].Measured; math.Abs(got-plain) > 1e-9 {
		t.Errorf("faced: %g mm, plain %g", got, plain)
	}
}
