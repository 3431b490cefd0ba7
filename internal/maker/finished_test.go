package maker_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/geom"
	"sizerun/internal/grade"
	"sizerun/internal/inspect"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/testdata"
)

func read(t testing.TB, name string) []byte {
	t.Helper()
	b, err := testdata.Files.ReadFile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func block(t testing.TB, raw []byte) pattern.Block {
	t.Helper()
	b, err := document.DecodeBlock(raw, document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// made makes a style of changes in all sizes of a block, whatever its checks say.
func made(t testing.TB, b pattern.Block, changes string) maker.Made {
	t.Helper()
	s, err := document.DecodeStyle([]byte(fmt.Sprintf(`{"style": "s", "block": %q, "changes": [%s], "allowances": {"default": "10mm"}}`, b.Name, changes)), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	m, err := maker.Make(maker.Input{Block: b, Style: s}, nil)
	if err != nil {
		t.Fatalf("%s: %v", changes, err)
	}
	return m
}

func taken(t testing.TB, s *maker.Size, name string) inspect.Taken {
	t.Helper()
	for _, x := range s.Finished {
		if x.Name == name {
			return x
		}
	}
	t.Fatalf("%s is not measured in size %s", name, s.Pattern.Size)
	return inspect.Taken{}
}

// grows asks how much longer each measurement is with the changes than without them, in every size; what is
// not named must stay as it was, to 0.1 mm; NaN: it can't be measured any more; Inf: told elsewhere.
func grows(t *testing.T, b pattern.Block, changes string, by map[string]float64) {
	t.Helper()
	plain, style := made(t, b, ""), made(t, b, changes)
	for i := range plain.Sizes {
		for _, was := range plain.Sizes[i].Finished {
			is := taken(t, &style.Sizes[i], was.Name)
			if want := by[was.Name]; math.IsInf(want, 1) {
				continue
			} else if math.IsNaN(want) {
				if is.Gone == "" || is.MM != 0 {
					t.Errorf("%s, size %s: %s measures %.2f mm, but nothing is left to measure it by", changes, style.Sizes[i].Pattern.Size, was.Name, is.MM)
				}
			} else if is.Gone != "" || math.Abs(is.MM-was.MM-want) > 0.1 {
				t.Errorf("%s, size %s: %s grows from %.3f to %.3f mm (%s), not by %.3f", changes, style.Sizes[i].Pattern.Size, was.Name, was.MM, is.MM, is.Gone, want)
			}
		}
	}
}

func TestChangesShowInTheFinishedMeasurements(t *testing.T) {
	lost, other := math.NaN(), math.Inf(1)
	wren, bodice, skirt, circle := block(t, read(t, "blocks/wren-w")), block(t, read(t, "blocks/wren-draft-bodice")), block(t, read(t, "blocks/dunlin-skirt")), block(t, read(t, "blocks/plover-circle"))
	for _, c := range []struct {
		block   pattern.Block
		changes string
		by      map[string]float64
	}{
		{wren, `{"change": "lengthen", "piece": "sleeve", "by": "50mm"}`, map[string]float64{"sleeve_length": 50, "sleeve_hem": other}},
		{wren, `{"change": "lengthen", "piece": "sleeve", "by": "-20mm"}`, map[string]float64{"sleeve_length": -20, "sleeve_hem": other}},
		{wren, `{"change": "lengthen", "piece": ["front", "back"], "by": "50mm", "above": "60mm"}`, map[string]float64{"back_length": 50}},
		{wren, `{"change": "neckline", "lower": "20mm", "lower_back": "12mm", "strips": "remove"}`, map[string]float64{"back_length": -12}},
		{wren, `{"change": "button_stand", "button": "12mm"}`, nil},
		{wren, `{"change": "cuff", "edges": ["sleeve.hem"], "width": "25mm"}`, map[string]float64{"sleeve_length": 25, "sleeve_hem": lost}},
		{wren, `{"change": "shrinkage", "warp": 0.05, "weft": 0.03}`, nil},
		{wren, `{"change": "flare", "piece": "sleeve", "by": "120mm"}`, map[string]float64{"sleeve_hem": 120, "biceps": other, "sleeve_length": other}},
		{bodice, `{"change": "dart_move", "piece": "front", "dart": "bust_dart", "to": {"between": ["shoulder", "neck"], "share": 0.5}}`, nil},
		{skirt, `{"change": "lengthen", "piece": ["front", "back"], "by": "50mm"}`, map[string]float64{"length": 50}},
		{skirt, `{"change": "panels", "piece": "front", "number": 3, "top": ["waist_centre", "waist_side"]}`, nil},
		{skirt, `{"change": "pleats", "piece": "front", "kind": "knife", "number": 2, "depth": "20mm", "top": ["waist_centre"]}`, map[string]float64{"hem": 4 * 40}},
		{skirt, `{"change": "waistband", "edges": ["back.waist_centre", "back.waist_middle", "back.waist_side", "front.waist_side", "front.waist_centre"], "cut": "fold"}`, nil},
		// The hem of a flared piece grows with its length.
		{circle, `{"change": "lengthen", "piece": ["front", "back"], "by": "50mm"}`, map[string]float64{"length": 50, "hem": other}},
	} {
		grows(t, c.block, c.changes, c.by)
	}
}

func TestADraftMeasuresTheBodyAndItsEase(t *testing.T) {
	for _, c := range []struct {
		block string
		ease  map[string]float64 // of finished measurements that are the body's and an ease, by definition of the draft
		off   float64
	}{
		{"wren-draft-bodice", map[string]float64{"bust": 60, "biceps": 52}, 0.1},
		{"dunlin-skirt", map[string]float64{"hip": 40}, 0.1},
		{"plover-circle", map[string]float64{"waist": 10}, 0.1},
		// The notch of the hip lies on the front's hip line; in the back a few mm along the side, where the seat
		// seam leans.
		{"rook-trousers", map[string]float64{"hip": 1.75 * pattern.Inch}, 1.5},
	} {
		m := made(t, block(t, read(t, "blocks/"+c.block)), "")
		for i := range m.Sizes {
			s := &m.Sizes[i]
			for name, ease := range c.ease {
				x := taken(t, s, name)
				if want := s.Pattern.Body[x.Body] + ease; x.Gone != "" || math.Abs(x.MM-want) > c.off {
					t.Errorf("%s, size %s: %s measures %.3f mm (%s), not %.3f", c.block, s.Pattern.Size, name, x.MM, x.Gone, want)
				}
			}
		}
	}
}

func TestACircleSkirtHasTheHemOfItsCircle(t *testing.T) {
	// hem = angle × (r + length), r = waist / angle: whatever the size, the hem is longer than the waist by the
	// angle times the length.
	for q := 1.0; q <= 4; q++ {
		b := block(t, []byte(fmt.Sprintf(`{"block": "c", "draft": "circle_skirt", "sizes": {"chart": "women-en"}, "lengths": {"skirt": 620}, "numbers": {"quarters": %g}}`, q)))
		m := made(t, b, "")
		for i := range m.Sizes {
			s := &m.Sizes[i]
			angle := q * math.Pi / 2
			r := (s.Pattern.Body["waist"] + 10) / angle
			if x := taken(t, s, "hem"); math.Abs(x.MM-angle*(r+620)) > 0.1 {
				t.Errorf("%g quarters, size %s: the hem is %.3f mm, not %.3f", q, s.Pattern.Size, x.MM, angle*(r+620))
			}
			if x := taken(t, s, "length"); math.Abs(x.MM-620) > 0.05 {
				t.Errorf("%g quarters, size %s: it is %.3f mm long", q, s.Pattern.Size, x.MM)
			}
		}
	}
	// And as a change, instead of another skirt.
	m := made(t, block(t, read(t, "blocks/dunlin-skirt")), `{"change": "circle_skirt", "circle": "full", "measure": "waist", "ease": "10mm", "instead": ["front", "back"], "length": "500mm"}`)
	for i := range m.Sizes {
		s := &m.Sizes[i]
		waist := s.Pattern.Body["waist"] + 10
		for name, want := range map[string]float64{"waist": waist, "hem": waist + 2*math.Pi*500, "length": 500} {
			if x := taken(t, s, name); x.Gone != "" || math.Abs(x.MM-want) > 0.1 {
				t.Errorf("size %s: %s measures %.3f mm (%s), not %.3f", s.Pattern.Size, name, x.MM, x.Gone, want)
			}
		}
		if x := taken(t, s, "hip"); x.Gone == "" {
			t.Errorf("the hip of the skirt that was replaced measures %.1f mm", x.MM)
		}
	}
}

func TestAFlaredSkirtsHemGrowsByWhatItIsSpread(t *testing.T) {
	b := block(t, read(t, "blocks/dunlin-skirt"))
	plain, style := made(t, b, ""), made(t, b, `{"change": "skirt_flare", "pieces": ["front", "back"], "by": "900mm"}`)
	for i := range plain.Sizes {
		p, s := &plain.Sizes[i], &style.Sizes[i]
		// The hem is redrawn smooth, which is not quite as long as the opened one.
		if d := taken(t, s, "hem").MM - taken(t, p, "hem").MM; math.Abs(d-900) > 0.5 {
			t.Errorf("size %s: the hem grows by %.2f mm", s.Pattern.Size, d)
		}
		if d := taken(t, s, "waist").MM - taken(t, p, "waist").MM; math.Abs(d) > 0.1 {
			t.Errorf("size %s: the waist grows by %.2f mm", s.Pattern.Size, d)
		}
		// Hinged at the waist, a level opens in proportion to its depth; below closed darts, whose points lie
		// half-way to the hip, by less.
		d := taken(t, s, "hip").MM - taken(t, p, "hip").MM
		deep := s.Pattern.Body["waist_to_hip"] / 580
		if d < 0.5*deep*900 || d > deep*900 {
			t.Errorf("size %s: the hip grows by %.2f mm, at %.2f of the length", s.Pattern.Size, d, deep)
		}
	}
}

// sampled is the length of a path as a polyline of many points: slow, and of no use but to check by.
func sampled(p geom.Path) float64 {
	l := 0.0
	for _, s := range p {
		const n = 2000
		for i := range n {
			l += s.At(float64(i) / n).Dist(s.At(float64(i+1) / n))
		}
	}
	return l
}

// straight is the way from a point over a polyline outline until it leaves it.
func straight(out geom.Path, from geom.Point, d geom.Vec) float64 {
	var pts []geom.Point
	for _, s := range out {
		for i := range 500 {
			pts = append(pts, s.At(float64(i)/500))
		}
	}
	best := math.Inf(1)
	for i, a := range pts {
		b := pts[(i+1)%len(pts)]
		e := b.Sub(a)
		det := d.Cross(e)
		if det == 0 {
			continue
		}
		v := a.Sub(from)
		s, u := v.Cross(e)/det, v.Cross(d)/det
		if u >= 0 && u <= 1 && s > 1 {
			best = math.Min(best, s)
		}
	}
	return best
}

// TestDemoStylesMeasureWhatASlowRulerMeasures lays a plain ruler on every demo style: edges as dense polylines,
// levels as straight lines on pieces that were not cut up, turned or spread.
func TestDemoStylesMeasureWhatASlowRulerMeasures(t *testing.T) {
	styles, err := testdata.Files.ReadDir("styles")
	if err != nil {
		t.Fatal(err)
	}
	edges, levels := 0, 0
	for _, f := range styles {
		raw, err := testdata.Files.ReadFile("styles/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		style, err := document.DecodeStyle(raw, document.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		b := block(t, read(t, "blocks/"+style.Block))
		if slices.ContainsFunc(style.Changes, func(c pattern.ChangeSpec) bool { return c.Change == "shrinkage" }) {
			continue // its ruler would have to shrink
		}
		run := b.Chart.Run
		m, err := maker.Make(maker.Input{Block: b, Style: style, Sizes: []string{run[0], run[len(run)/2], run[len(run)-1]}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		style.Changes, style.Allowances.Edges = nil, nil
		plain, err := maker.Make(maker.Input{Block: b, Style: style, Sizes: []string{run[0], run[len(run)/2], run[len(run)-1]}}, nil)
		if err != nil {
			t.Fatal(err)
		}
		for i := range m.Sizes {
			s := &m.Sizes[i]
			for _, row := range grade.Finished(b) {
				x := taken(t, s, row.Name)
				want, how, ok := ruler(&s.Pattern, row)
				if x.Gone != "" || x.Says != row.Says || !ok || how == "levels" && !unturned(&s.Pattern, &plain.Sizes[i].Pattern, row) {
					continue
				}
				if how == "edges" {
					edges++
				} else {
					levels++
				}
				if math.Abs(x.MM-want) > 0.1 {
					t.Errorf("%s, size %s: %s measures %.3f mm; with a ruler %.3f", style.Name, s.Pattern.Size, row.Name, x.MM, want)
				}
			}
		}
	}
	if edges < 30 || levels < 40 {
		t.Errorf("only %d rows of edges and %d of levels could be checked with a ruler", edges, levels)
	}
}

// unturned: what a level begins at lies where it lay on the plain block. Where a part has been turned, for flare, a
// level bends with it.
func unturned(made, plain *pattern.Pattern, f pattern.Finished) bool {
	at := func(p *pattern.Pattern, t *pattern.Term) geom.Point {
		pc := p.PieceNamed(t.Piece)
		if m := pc.MarkNamed(t.From.Point); m != nil {
			return m.At
		}
		q, _ := pc.Corner(t.From.Point)
		return q
	}
	for k := range f.Terms {
		if at(made, &f.Terms[k]).Dist(at(plain, &f.Terms[k])) > 0.01 {
			return false
		}
	}
	return true
}

// ruler measures a row by hand where that is plainly possible.
func ruler(p *pattern.Pattern, f pattern.Finished) (mm float64, how string, ok bool) {
	for _, t := range f.Terms {
		l := 0.0
		for _, r := range t.Edges {
			pc := p.PieceNamed(r.Piece)
			if pc == nil || pc.EdgeNamed(r.Edge) < 0 || pc.MarkNamed("button_1") != nil {
				return 0, "", false
			}
			for i := range pc.Edges {
				if e := &pc.Edges[i]; e.Src.Piece == r.Piece && e.Src.Edge == r.Edge {
					l += sampled(e.Path)
				}
			}
			how = "edges"
		}
		if len(t.Edges) == 0 {
			pc := p.PieceNamed(t.Piece)
			if pc == nil || t.ToEdge == "" || t.From.Point == "" || len(pc.Lines) > 0 || t.Along {
				return 0, "", false
			}
			at, corner := pc.Corner(t.From.Point)
			if m := pc.MarkNamed(t.From.Point); m != nil {
				at, corner = m.At, true
			}
			to := pc.EdgeNamed(t.ToEdge)
			if !corner || to < 0 {
				return 0, "", false
			}
			u := pc.Grain[1].Sub(pc.Grain[0]).Unit().Left()
			if pc.Edges[to].Path.Start().Sub(at).Dot(u) < 0 {
				u = u.Neg()
			}
			// A piece that was spread or turned does not meet its centre square any more.
			if end := pc.Edges[to].Path.StartTangent(); math.Abs(end.Dot(u)) > 1e-6 {
				return 0, "", false
			}
			l, how = straight(pc.Outline(), at, u), "levels"
			// Where it comes to a dart or a bay of the outline first, a ruler is not enough.
			if _, d := pc.Edges[to].Path.Project(at.Add(u.Mul(l))); math.IsInf(l, 0) || d > 0.05 {
				return 0, "", false
			}
		}
		mm += float64(t.Times) * l
	}
	return mm, how, true
}

func TestAStyleTellsWhyAMeasureIsLeftOut(t *testing.T) {
	b := block(t, read(t, "blocks/wren-w"))
	style, err := document.DecodeStyle(read(t, "styles/wren-petal"), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	m, err := maker.Make(maker.Input{Block: b, Style: style}, nil)
	if err != nil {
		t.Fatal(err)
	}
	report, err := document.EncodeReport(m)
	if err != nil {
		t.Fatal(err)
	}
	for name, why := range map[string]string{"sleeve_hem": "cut away", "sleeve_length": "petal"} {
		if x := taken(t, m.Shown(), name); !strings.Contains(x.Gone, why) {
			t.Errorf("%s is left out because %q", name, x.Gone)
		} else if !strings.Contains(string(report), x.Gone) {
			t.Errorf("the report does not tell why %s is left out", name)
		}
	}
	// The halves lie over each other at the arm, where they together are the sleeve's width.
	if x := taken(t, m.Shown(), "biceps"); x.Gone != "" || math.Abs(x.MM-358) > 0.1 {
		t.Errorf("the arm measures %.2f mm (%s)", x.MM, x.Gone)
	}
	j := m.Job(maker.Print{})
	for _, r := range j.Finished.Rows {
		if len(r) != len(j.Sizes)+1 || strings.Contains(r[0], "crown to hem") {
			t.Errorf("page 1 has the row %q", r)
		}
	}
	if len(j.Finished.Rows) != 5 || j.Finished.Rows[0][5] != "102.8" {
		t.Errorf("page 1 tells of the garment: %q", j.Finished.Rows)
	}
}

func TestASkirtsChartTellsNoArm(t *testing.T) {
	rows := func(name string) []string {
		var out []string
		for _, r := range made(t, block(t, read(t, "blocks/"+name)), "").Job(maker.Print{}).Chart.Rows {
			out = append(out, r[0])
		}
		return out
	}
	if got := rows("dunlin-skirt"); !slices.Equal(got, []string{"Bust", "Waist", "Hip", "Waist to hip"}) {
		t.Errorf("a skirt is chosen by %q", got)
	}
	if got := rows("wren-w"); !slices.Contains(got, "Upper arm") || !slices.Contains(got, "Bust") {
		t.Errorf("a blouse is chosen by %q", got)
	}
}

func TestACustomersPatternSaysThatItIsComputed(t *testing.T) {
	b := block(t, read(t, "blocks/wren-w"))
	body := b.Chart.BodyOf(len(b.Chart.Run) - 1)
	body["bust"] += 60 // 1340 mm, the chart ends at 1280
	delete(body, "waist")
	style, err := document.DecodeStyle([]byte(`{"style": "s", "block": "wren-w", "allowances": {"default": "10mm"}}`), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	m, err := maker.Make(maker.Input{Block: b, Style: style, Sizes: []string{}, Bodies: []maker.Body{{Name: "order 1001", Body: body}}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	warned := slices.ContainsFunc(m.Report.Checks, func(c inspect.Check) bool {
		return c.Rule == "outside_chart" && c.Place == "bust" && c.Verdict == inspect.Warn && strings.Contains(c.Text, "60 mm (4.7 %) above the chart's largest, 1280 mm")
	})
	if !warned {
		t.Error("the report does not warn of the bust")
	}
	j, c := m.Job(maker.Print{}), m.Companion(maker.Print{})
	for where, notes := range map[string]string{"page 1": strings.Join(j.Notes, "\n"), "the companion": strings.Join(c.Custom, "\n")} {
		for _, w := range []string{"computed, not fitted: a fitting decides", "nearest to size 28", "Outside the size chart, where nothing was fitted: bust 60 mm over."} {
			if !strings.Contains(notes, w) {
				t.Errorf("%s does not say %q", where, w)
			}
		}
	}
	// Nobody has measured her waist: the base size's is not hers.
	for _, r := range j.Chart.Rows {
		if r[0] == "Waist" {
			t.Errorf("her waist is said to be %s cm", r[1])
		}
	}
	if stock := made(t, b, ""); len(stock.Companion(maker.Print{}).Custom) > 0 {
		t.Error("a stock size is called custom")
	}
}

func TestAFlutterTellsItsLengthAndItsHem(t *testing.T) {
	b := block(t, read(t, "blocks/wren-w"))
	for _, halves := range []bool{false, true} {
		m := made(t, b, fmt.Sprintf(`{"change": "flutter", "crown": "130mm", "ends": "130mm", "angle": 180, "halves": %t}`, halves))
		for i := range m.Sizes {
			s := &m.Sizes[i]
			if x := taken(t, s, "flutter_length"); x.Gone != "" || math.Abs(x.MM-130) > 0.05 {
				t.Errorf("size %s, halves %t: it is %.3f mm long at the shoulder (%s)", s.Pattern.Size, halves, x.MM, x.Gone)
			}
			// Half a ring of even depth: its hem is longer than the armhole by π times the depth.
			armhole := 0.0
			for k := range s.Pattern.Pieces {
				p := &s.Pattern.Pieces[k]
				if e := p.EdgeNamed("armhole"); e >= 0 {
					armhole += p.Edges[e].Path.Length()
				}
			}
			if x := taken(t, s, "flutter_hem"); x.Gone != "" || math.Abs(x.MM-armhole-math.Pi*130) > 0.1 {
				t.Errorf("size %s, halves %t: the hem is %.3f mm round an armhole of %.3f (%s)", s.Pattern.Size, halves, x.MM, armhole, x.Gone)
			}
		}
	}
}
