package pattern

import (
	"math"
	"strings"
	"testing"

	"sizerun/internal/geom"
)

// cap is a piece like a small sleeve: hem, two seams, two halves of a curved cap.
func sleeve() *Piece {
	p := &Piece{Name: "sleeve", Edges: []Edge{
		{Name: "hem", From: "hem_back", To: "hem_front", Path: geom.Polyline(geom.Pt(-100, 0), geom.Pt(100, 0))},
		{Name: "seam_front", From: "hem_front", To: "front", Path: geom.Polyline(geom.Pt(100, 0), geom.Pt(110, 80))},
		{Name: "cap_front", From: "front", To: "crown", Path: geom.Path{geom.Cubic(geom.Pt(110, 80), geom.Pt(80, 90), geom.Pt(50, 180), geom.Pt(0, 180))}},
		{Name: "cap_back", From: "crown", To: "back", Path: geom.Path{geom.Cubic(geom.Pt(0, 180), geom.Pt(-50, 180), geom.Pt(-80, 90), geom.Pt(-110, 80))}},
		{Name: "seam_back", From: "back", To: "hem_back", Path: geom.Polyline(geom.Pt(-110, 80), geom.Pt(-100, 0))},
	}}
	p.Marks = []Mark{{Kind: Dot, Name: "dot", Edge: "cap_front", S: 40, At: p.Edges[2].Path.PointAt(40)}, {Kind: Dot, Name: "inside", At: geom.Pt(0, 60)}}
	return p
}

// A place is found the way a maker speaks of it.
func TestPlacesAreFound(t *testing.T) {
	p := sleeve()
	front := p.Edges[2].Path.Length()
	at := func(x, y float64) *geom.Point { q := geom.Pt(x, y); return &q }
	for name, c := range map[string]struct {
		pl   Place
		edge int
		s    float64
	}{
		"a corner belongs to the edge that begins there": {Place{Point: "crown"}, 3, 0},
		"a mark on an edge":                      {Place{Point: "dot"}, 2, 40},
		"a mark inside":                          {Place{Point: "inside"}, -1, 0},
		"along from the start":                   {Place{Edge: "hem", From: "hem_back", Along: 50.8}, 0, 50.8},
		"along from the end":                     {Place{Edge: "hem", From: "hem_front", Along: 50.8}, 0, 149.2},
		"half-way between crown and dot":         {Place{Between: [2]string{"crown", "dot"}, Share: 0.5}, 2, (front + 40) / 2},
		"the same said the other way":            {Place{Between: [2]string{"dot", "crown"}, Share: 0.5}, 2, (front + 40) / 2},
		"a quarter from the dot":                 {Place{Between: [2]string{"dot", "crown"}, Share: 0.25}, 2, 40 + (front-40)/4},
		"over the crown, the shorter way":        {Place{Between: [2]string{"front", "back"}, Share: 0.5, Edge: "cap_back"}, 3, 0},
		"over the hem, because it is named":      {Place{Between: [2]string{"front", "back"}, Share: 0.5, Edge: "hem"}, 0, 100},
		"share 0 is the first place":             {Place{Between: [2]string{"hem_back", "hem_front"}, Share: 0}, 0, 0},
		"share 1 is the second place":            {Place{Between: [2]string{"hem_back", "hem_front"}, Share: 1}, 1, 0},
		"a coordinate near the outline is on it": {Place{At: at(20, 0.3)}, 0, 120},
		"a coordinate inside":                    {Place{At: at(20, 60)}, -1, 0},
	} {
		e, s, q, err := p.Find(c.pl)
		if err == nil && c.edge >= 0 && e >= 0 && q.Dist(p.Edges[c.edge].Path.PointAt(c.s)) <= 1e-6 && p.EdgeStart(e)+s-p.EdgeStart(c.edge)-c.s < 1e-6 {
			continue // the end of one edge is the beginning of the next
		}
		if err != nil || e != c.edge || math.Abs(s-c.s) > 1e-6 {
			t.Errorf("%s: edge %d at %.4f (%v), want %d at %.4f", name, e, s, err, c.edge, c.s)
			continue
		}
		if e >= 0 && q.Dist(p.Edges[e].Path.PointAt(s)) > 1e-9 {
			t.Errorf("%s: the point %v is not on the edge at %.3f", name, q, s)
		}
	}
}

func TestPlacesThatAreNotThere(t *testing.T) {
	for name, c := range map[string]struct {
		pl            Place
		rule, pointer string
	}{
		"no such point":   {Place{Point: "crwon"}, "unknown_point", "/point"},
		"no such edge":    {Place{Edge: "him", From: "hem_back", Along: 3}, "unknown_edge", "/edge"},
		"no end of it":    {Place{Edge: "hem", From: "crown", Along: 3}, "unknown_end", "/from"},
		"past the end":    {Place{Edge: "hem", From: "hem_back", Along: 200.1}, "off_edge", "/along"},
		"before the end":  {Place{Edge: "hem", From: "hem_back", Along: -1}, "off_edge", "/along"},
		"NaN":             {Place{Edge: "hem", From: "hem_back", Along: math.NaN()}, "off_edge", "/along"},
		"share too large": {Place{Between: [2]string{"crown", "dot"}, Share: 1.1}, "out_of_range", "/share"},
		"share NaN":       {Place{Between: [2]string{"crown", "dot"}, Share: math.NaN()}, "out_of_range", "/share"},
		"from inside":     {Place{Between: [2]string{"inside", "dot"}, Share: 0.5}, "off_outline", "/between/0"},
		"no second place": {Place{Between: [2]string{"crown", "dott"}, Share: 0.5}, "unknown_point", "/between/1"},
		"nothing":         {Place{}, "no_place", ""},
	} {
		_, _, _, err := sleeve().Find(c.pl)
		fs := FaultsOf(err)
		if len(fs) != 1 || fs[0].Rule != c.rule || fs[0].Pointer != c.pointer || fs[0].Remedy == "" || fs[0].Valid == "" {
			t.Errorf("%s: %+v", name, fs)
		}
	}
}

// Both ways round of a symmetrical piece are equally long: the way must be named.
func TestAnAmbiguousWayIsRefused(t *testing.T) {
	sq := &Piece{Name: "square"}
	pts := []geom.Point{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}, {X: 0, Y: 10}}
	for i, n := range []string{"a", "b", "c", "d"} {
		sq.Edges = append(sq.Edges, Edge{Name: "e" + n, From: n, To: string("bcda"[i]), Path: geom.Polyline(pts[i], pts[(i+1)%4])})
	}
	if _, _, _, err := sq.Find(Place{Between: [2]string{"a", "c"}, Share: 0.5}); err == nil || FaultsOf(err)[0].Rule != "ambiguous_place" {
		t.Error(err)
	}
	for edge, want := range map[string]geom.Point{"ea": pts[1], "eb": pts[1], "ec": pts[3], "ed": pts[3]} {
		if _, _, at, err := sq.Find(Place{Between: [2]string{"a", "c"}, Share: 0.5, Edge: edge}); err != nil || at.Dist(want) > 1e-9 {
			t.Errorf("over %s: %v, %v", edge, at, err)
		}
	}
}

func TestPointersAreEscaped(t *testing.T) {
	// RFC 6901, section 5: "a/b" and "m~n".
	if got := Pointer("a/b", "m~n", "", "0"); got != "/a~1b/m~0n//0" {
		t.Error(got)
	}
}

func TestSuggestions(t *testing.T) {
	known := []string{"bust", "waist", "upper_arm", "hip"}
	for got, want := range map[string]string{"bsut": "bust", "uperarm": "upper_arm", "Waist": "waist", "hips": "hip"} {
		if s := Suggest(got, known); !strings.Contains(s, `"`+want+`"`) {
			t.Errorf("%s: %s", got, s)
		}
	}
	if s := Suggest("elephant", known); !strings.HasPrefix(s, "use one of bust, hip") {
		t.Error(s)
	}
	if s := Suggest("x", nil); s == "" {
		t.Error("nothing is said where there is no choice")
	}
}
