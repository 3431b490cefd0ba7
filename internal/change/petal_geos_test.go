package change_test

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"sizerun/internal/geom"
	"sizerun/internal/pattern"
	"sizerun/internal/testkit"
	"sizerun/internal/testkit/blouse"
)

// geosSays asks GEOS, through Debian's python3-shapely, about the plain sleeve and its two halves as
// polygons: are they simple, what is left of the sleeve, how much do they share.
const geosSays = `
import json, sys
from shapely.geometry import Polygon
out = []
for plain, back, front in json.load(sys.stdin):
    p, b, f = Polygon(plain), Polygon(back), Polygon(front)
    u = b.union(f)
    out.append({"valid": p.is_valid and b.is_valid and f.is_valid, "whole": u.geom_type == "Polygon" and len(u.interiors) == 0,
        "outside": u.difference(p).area, "away": p.difference(u).area, "pieces": sum(1 for g in getattr(p.difference(u), "geoms", [p.difference(u)]) if g.area > 1),
        "shared": b.intersection(f).area, "plain": p.area, "back": b.area, "front": f.area})
json.dump(out, sys.stdout)
`

func TestAnOutsideWitnessSeesTheSamePetals(t *testing.T) {
	python := testkit.NeedPython(t, "shapely")
	var in [][3][][2]float64
	var exact [][3]float64
	ring := func(q *pattern.Piece) [][2]float64 {
		var out [][2]float64
		for _, p := range q.Outline().Flatten(1e-3) {
			out = append(out, [2]float64{p.X, p.Y})
		}
		return out
	}
	sleeves(t, 7, 12, func(r *rand.Rand, d blouse.Draft, p pattern.Pattern) {
		res, err := bind(t, "petal", "cap_share", 0.3+0.6*r.Float64(), "hem_in", 10+60*r.Float64()).Apply(p)
		if err != nil {
			t.Fatal(err)
		}
		s, b, f := p.PieceNamed("sleeve"), res.Pattern.PieceNamed("sleeve_back"), res.Pattern.PieceNamed("sleeve_front")
		in = append(in, [3][][2]float64{ring(s), ring(b), ring(f)})
		pb, pf := b.Edges[b.EdgeNamed("petal")].Path.Reverse(), f.Edges[f.EdgeNamed("petal")].Path
		x := geom.Intersect(pb, pf, 1e-9)
		if len(x) != 1 {
			t.Fatalf("the curves cross %d times", len(x))
		}
		up, _ := pb.Split(x[0].S)
		dn, _ := pf.Split(x[0].T)
		shared := b.Edges[b.EdgeNamed("cap_front")].Path.Join(f.Edges[f.EdgeNamed("cap_back")].Path).Join(dn).Join(up.Reverse()).Area()
		exact = append(exact, [3]float64{shared, b.Outline().Area(), f.Outline().Area()})
	})
	data, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(python, "-c", geosSays)
	cmd.Stdin = strings.NewReader(string(data))
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var got []struct {
		Valid, Whole                                      bool
		Outside, Away, Shared, Plain, Back, Front, Pieces float64
	}
	if err := json.Unmarshal(out, &got); err != nil {
		t.Fatal(err)
	}
	const tol = 2.0 // mm²: 1e-3 mm of flattening along two metres
	for i, g := range got {
		if !g.Valid || !g.Whole || g.Outside > tol || g.Pieces != 1 {
			t.Errorf("sleeve %d: %+v", i, g)
		}
		if math.Abs(g.Shared-exact[i][0]) > tol || math.Abs(g.Back-exact[i][1]) > tol || math.Abs(g.Front-exact[i][2]) > tol {
			t.Errorf("sleeve %d: shared %.3f, back %.3f, front %.3f mm²; exactly %.3v", i, g.Shared, g.Back, g.Front, exact[i])
		}
		if math.Abs(g.Back+g.Front-g.Shared+g.Away-g.Plain) > tol {
			t.Errorf("sleeve %d: the areas do not add up: %+v", i, g)
		}
	}
	if len(got) != 12 {
		t.Errorf("the witness saw %d sleeves", len(got))
	}
}
