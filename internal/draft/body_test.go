package draft

import (
	"math"
	"math/rand"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
)

// size88 is a body of bust 88 cm; what a draft may guess is left out.
func size88() map[string]float64 {
	return map[string]float64{"bust": 880, "waist": 720, "hip": 960, "neck": 362, "shoulder": 121.5, "nape_to_waist": 406, "scye_depth": 212,
		"upper_arm": 280, "body_rise": 280, "inside_leg": 780, "armhole": 440, "wrist": 160, "arm_length": 580}
}

// someone is a random plausible body: it grows with the bust as charts do (common practice), and every
// measurement strays from that by itself, about as much as those of the bodies of ANSUR II do within one
// bust size.
func someone(r *rand.Rand) map[string]float64 {
	bust := 740 + 560*r.Float64()
	k := (bust - 880) / 40
	near := func(v, sd float64) float64 { return v + sd*math.Max(-2, math.Min(2, r.NormFloat64())) }
	b := map[string]float64{
		"bust": bust, "waist": near(720+40*k, 35), "hip": near(960+38*k, 35), "neck": near(362+10*k, 8), "shoulder": near(121.5+3*k, 5),
		"nape_to_waist": near(406+4*k, 14), "scye_depth": near(212+4*k, 6), "upper_arm": near(280+12*k, 10), "body_rise": near(280+6*k, 8),
		"inside_leg": near(780, 40), "armhole": near(430+13*k, 10), "wrist": near(161+5*k, 6), "arm_length": near(580+4*k, 20),
	}
	if r.Intn(2) == 0 {
		b["back_width"] = near(344+10*k, 6)
		b["chest_width"] = near(321+11*k, 6)
		b["waist_to_hip"] = near(207+2.5*k, 8)
	}
	if r.Intn(2) == 0 {
		b["bust_span"] = near(184+8*k, 8)
		b["bust_depth"] = near(268+5*k, 10)
		b["front_waist"] = b["nape_to_waist"] + b["neck"]/20 + near(32+1.5*k, 6)
	}
	return b
}

func drafted(t testing.TB, kind string, body map[string]float64, ease map[string]float64) pattern.Pattern {
	t.Helper()
	p, err := Draft("own", pattern.DraftSpec{Kind: kind, Ease: ease}, body)
	if err != nil {
		t.Fatalf("%s of %v: %v", kind, body, err)
	}
	return p
}

func edge(t testing.TB, p *pattern.Pattern, piece, name string) geom.Path {
	t.Helper()
	pc := p.PieceNamed(piece)
	if pc == nil || pc.EdgeNamed(name) < 0 {
		t.Fatalf("there is no edge %s.%s", piece, name)
	}
	return pc.Edges[pc.EdgeNamed(name)].Path
}

// sewn is the length of one side of a seam.
func sewn(t testing.TB, p *pattern.Pattern, refs []pattern.EdgeRef) float64 {
	t.Helper()
	l := 0.0
	for _, r := range refs {
		l += edge(t, p, r.Piece, r.Edge).Length()
	}
	return l
}

// interior is the angle inside the outline at the corner where the named edge begins, in degrees.
func interior(t testing.TB, p *pattern.Pattern, piece, name string) float64 {
	t.Helper()
	pc := p.PieceNamed(piece)
	i := pc.EdgeNamed(name)
	in := pc.Edges[(i+len(pc.Edges)-1)%len(pc.Edges)].Path
	return 180 - in.EndTangent().AngleTo(pc.Edges[i].Path.StartTangent())*180/math.Pi
}
