package offset

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	sf "github.com/peterstace/simplefeatures/geom"

	"sizerun/internal/geom"
	"sizerun/internal/testkit"
)

// Second opinions: GEOS through Debian's python3-shapely (mitred buffers), simplefeatures (booleans),
// and a plain scanline count of winding numbers.

// geosScript answers each line {"ring": [[x,y],…], "d": d, "got": [[x,y],…]} with the mitred buffer's area, the
// greatest distance between its boundary and got, either way, and the area of got.
const geosScript = `
import sys, json, math
from shapely.geometry import Polygon, LineString, Point
from shapely.ops import unary_union
def far(a, b):
    line = LineString(b)
    return max(line.distance(Point(p)) for p in a)
def strips(ring, d):
    n = len(ring)
    parts = [Polygon(ring)]
    def normal(i):
        (ax, ay), (bx, by) = ring[i], ring[(i + 1) % n]
        l = math.hypot(bx - ax, by - ay)
        return (by - ay) / l * d, (ax - bx) / l * d
    for i in range(n):
        a, b = ring[i], ring[(i + 1) % n]
        x, y = normal(i)
        parts.append(Polygon([a, (a[0] + x, a[1] + y), (b[0] + x, b[1] + y), b]))
        u, v = normal(i - 1), (x, y)
        if u[0] * v[1] - u[1] * v[0] > 0:
            k = 2 * d * d / ((u[0] + v[0]) ** 2 + (u[1] + v[1]) ** 2)
            tip = (a[0] + k * (u[0] + v[0]), a[1] + k * (u[1] + v[1]))
            parts.append(Polygon([a, (a[0] + u[0], a[1] + u[1]), tip, (a[0] + v[0], a[1] + v[1])]))
    return unary_union(parts)
out = []
for line in sys.stdin:
    q = json.loads(line)
    if q["strips"]:
        b = strips(q["ring"], q["d"])
    else:
        b = Polygon(q["ring"]).buffer(q["d"], join_style=2, mitre_limit=1e4)
    got = q["got"] + q["got"][:1]
    if b.geom_type != "Polygon" or any(Polygon(i).area > 0.01 for i in b.interiors):
        out.append([b.area, -1, 0])
        continue
    ring = list(b.exterior.coords)
    out.append([b.area, max(far(ring, got), far(got, ring)), Polygon(got).area])
print(json.dumps(out))
`

type geosAsk struct {
	Ring [][2]float64 `json:"ring"`
	D    float64      `json:"d"`
	Got  [][2]float64 `json:"got"`
	// Strips asks for the union of the piece with a strip along every side and a kite at every corner instead of
	// GEOS's own buffer, which leaves out hollows shallower than a hundredth of the distance.
	Strips bool `json:"strips"`
}

func geos(t *testing.T, asks []geosAsk) [][3]float64 {
	t.Helper()
	python := testkit.NeedPython(t, "shapely")
	var in strings.Builder
	enc := json.NewEncoder(&in)
	for _, a := range asks {
		if err := enc.Encode(a); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command(python, "-c", geosScript)
	cmd.Stdin = strings.NewReader(in.String())
	cmd.Stderr = os.Stderr
	raw, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var out [][3]float64
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	if len(out) != len(asks) {
		t.Fatalf("%d answers to %d questions", len(out), len(asks))
	}
	return out
}

func ring(pts []geom.Point) [][2]float64 {
	out := make([][2]float64, len(pts))
	for i, p := range pts {
		out[i] = [2]float64{p.X, p.Y}
	}
	return out
}

func TestGEOSDrawsTheSameMitredPolygons(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	var asks []geosAsk
	var areas []float64
	for len(asks) < 120 {
		n := 3 + r.IntN(8)
		var pts []geom.Point
		for i := range n {
			a := (float64(i) + 0.5*r.Float64()) * 2 * math.Pi / float64(n)
			// Hollow corners too.
			q := 120 + 100*r.Float64()
			pts = append(pts, pt(q*math.Cos(a), q*math.Sin(a)))
		}
		d := -12 + 30*r.Float64()
		js := make([]Joint, n)
		for i := range js {
			js[i].Limit = 1e4
		}
		res, err := Loop(polygonEdges(d, pts...), js, 0)
		if err != nil {
			continue
		}
		asks = append(asks, geosAsk{ring(pts), d, ring(dense(res.Path, 1)), false})
		areas = append(areas, res.Path.Area())
	}
	worst, far := 0.0, 0.0
	for i, a := range geos(t, asks) {
		worst = math.Max(worst, math.Abs(a[0]-areas[i]))
		far = math.Max(far, a[1])
		if math.Abs(a[0]-areas[i]) > 1e-6*areas[i] || a[1] < 0 || a[1] > 1e-4 {
			t.Errorf("d %g: area %.6f, GEOS %.6f; boundary %.3g apart; %v", asks[i].D, areas[i], a[0], a[1], asks[i].Ring)
		}
	}
	t.Logf("worst area difference %.3g mm², boundaries within %.3g mm", worst, far)
}

func TestGEOSDrawsTheSameCurvedPieces(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	var asks []geosAsk
	for range 3 {
		for _, d := range []float64{6, 16, 32, -6, -16} {
			es := quarter(r, uniform(d))
			js := make([]Joint, len(es))
			for i := range js {
				js[i].Limit = 1e4
			}
			res := must(t, es, js)
			// Crowded at the ends, so that the first chord has the curve's own direction: a mitre's tip is
			// thrown far by a small turn.
			var src []geom.Point
			for _, g := range outline(es) {
				for _, t := range []float64{0, 1e-5, 1e-4, 1e-3} {
					src = append(src, g.At(t))
				}
				for k := 1; k < 150; k++ {
					src = append(src, g.At(float64(k)/150))
				}
				for _, t := range []float64{1e-3, 1e-4, 1e-5} {
					src = append(src, g.At(1-t))
				}
			}
			src = append(src, src[0])
			asks = append(asks, geosAsk{ring(src[:len(src)-1]), d, ring(dense(res.Path, 60)), d > 0})
		}
	}
	worst, area := 0.0, 0.0
	for i, a := range geos(t, asks) {
		worst = math.Max(worst, a[1])
		area = math.Max(area, math.Abs(a[0]-a[2]))
		if a[1] < 0 || a[1] > 0.02 {
			t.Errorf("d %g: boundaries lie %.4f mm apart", asks[i].D, a[1])
		}
	}
	t.Logf("%d curved pieces: boundaries within %.4f mm, areas within %.3f mm²", len(asks), worst, area)
}

func sfPolygon(pts []geom.Point) sf.Geometry {
	var xy []float64
	for _, p := range pts {
		xy = append(xy, p.X, p.Y)
	}
	if pts[0] != pts[len(pts)-1] {
		xy = append(xy, pts[0].X, pts[0].Y)
	}
	return sf.NewPolygon([]sf.LineString{sf.NewLineString(sf.NewSequence(xy, sf.DimXY))}).AsGeometry()
}

// On a convex polygon whose corners are all full mitres the result is the intersection of half-planes,
// each at its own width.
func TestUnequalMitresAreTheIntersectionOfHalfPlanes(t *testing.T) {
	r := rand.New(rand.NewPCG(15, 16))
	for range 80 {
		n := 3 + r.IntN(5)
		var pts []geom.Point
		for i := range n {
			a := (float64(i) + 0.4*r.Float64()) * 2 * math.Pi / float64(n)
			pts = append(pts, pt(300*math.Cos(a), 260*math.Sin(a)))
		}
		es := polygonEdges(0, pts...)
		js := make([]Joint, n)
		want := sfPolygon([]geom.Point{pt(-5e3, -5e3), pt(5e3, -5e3), pt(5e3, 5e3), pt(-5e3, 5e3)})
		for i := range es {
			es[i].Width = 4 + 30*r.Float64()
			js[i].Limit = 1e4
			u := es[i].Path.StartTangent()
			o := es[i].Path.Start().Add(u.Right().Mul(es[i].Width))
			half := sfPolygon([]geom.Point{o.Add(u.Mul(-2e4)), o.Add(u.Mul(2e4)), o.Add(u.Mul(2e4)).Add(u.Left().Mul(3e4)), o.Add(u.Mul(-2e4)).Add(u.Left().Mul(3e4))})
			var err error
			if want, err = sf.Intersection(want, half); err != nil {
				t.Fatal(err)
			}
		}
		got := must(t, es, js)
		if d := math.Abs(got.Path.Area() - want.Area()); d > 1e-6*want.Area() {
			t.Errorf("%d corners: area %.5f, half-planes %.5f", n, got.Path.Area(), want.Area())
		}
	}
}

// scanline measures the region that the polygon winds around at least once, line by line.
func scanline(vs []geom.Point, lines int) float64 {
	box := geom.EmptyRect()
	for _, v := range vs {
		box = box.Add(v)
	}
	type hit struct {
		x float64
		d int
	}
	area, h := 0.0, box.H()/float64(lines)
	for k := range lines {
		y := box.Min.Y + (float64(k)+0.5)*h
		var hits []hit
		for i, p := range vs {
			q := vs[(i+1)%len(vs)]
			if (p.Y <= y) == (q.Y <= y) {
				continue
			}
			d := -1
			if p.Y > y {
				d = 1
			}
			hits = append(hits, hit{p.X + (q.X-p.X)*(y-p.Y)/(q.Y-p.Y), d})
		}
		for i := 1; i < len(hits); i++ {
			for j := i; j > 0 && hits[j].x < hits[j-1].x; j-- {
				hits[j], hits[j-1] = hits[j-1], hits[j]
			}
		}
		w := 0
		for i, x := range hits {
			if w >= 1 {
				area += (x.x - hits[i-1].x) * h
			}
			w += x.d
		}
	}
	return area
}

func rawPolygon(pts []geom.Point) []rawSeg {
	var raw []rawSeg
	for i := range pts {
		raw = append(raw, rawSeg{Seg: geom.Line(pts[i], pts[(i+1)%len(pts)]), src: Source{Edge: i, Corner: -1}})
	}
	return raw
}

func TestTrimmingKeepsWhatIsWoundAround(t *testing.T) {
	r := rand.New(rand.NewPCG(17, 18))
	for k := range 200 {
		n := 4 + r.IntN(14)
		var pts []geom.Point
		for range n {
			pts = append(pts, pt(100*r.Float64(), 100*r.Float64()))
		}
		raw := rawPolygon(pts)
		rings, err := trim(raw)
		if err != nil {
			t.Fatalf("polygon %d: %v", k, err)
		}
		got := 0.0
		for _, rg := range rings {
			got += ringArea(raw, rg)
		}
		if want := scanline(pts, 4000); math.Abs(got-want) > 0.5+float64(n)*0.05 {
			t.Errorf("polygon %d: %.3f mm², scanline %.3f", k, got, want)
		}
	}
}
