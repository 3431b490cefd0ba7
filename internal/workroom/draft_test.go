package workroom

import (
	"context"
	"fmt"
	"math"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/draft"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// plainStyle is a block as it is, with the hems that it has.
func plainStyle(block string) []byte {
	return []byte(fmt.Sprintf(`{"style": %q, "block": %q, "allowances": {"default": "5/8in"}}`, block, block))
}

// TestEveryDraftSewsInEverySizeOfBothCharts: all checks green, growth over the run included.
func TestEveryDraftSewsInEverySizeOfBothCharts(t *testing.T) {
	for _, chart := range document.Charts() {
		c, err := document.ChartNamed(chart)
		if err != nil {
			t.Fatal(err)
		}
		for _, kind := range draft.Names() {
			if d, _ := draft.Named(kind); !covers(c.Sizes, d) {
				if kind != "plain_sleeve" { // its armhole is the garment's, which no body chart has
					t.Errorf("chart %s lacks what the draft %s needs", chart, kind)
				}
				continue
			}
			t.Run(chart+"/"+kind, func(t *testing.T) {
				t.Parallel()
				m := made(t, []byte(fmt.Sprintf(`{"block": "own", "draft": %q, "sizes": {"chart": %q}}`, kind, chart)), plainStyle("own"))
				if len(m.Sizes) != len(c.Sizes.Run) || m.Report.Pass < 150 {
					t.Errorf("%d sizes of %d, %d checks passed", len(m.Sizes), len(c.Sizes.Run), m.Report.Pass)
				}
				for _, k := range m.Report.Checks {
					if k.Verdict != "pass" {
						t.Errorf("%s: size %s %s %s %s: %s", k.Verdict, k.Size, k.Piece, k.Place, k.Rule, k.Text)
					}
				}
			})
		}
	}
}

func covers(c pattern.SizeChart, d draft.Definition) bool {
	for _, m := range d.Measures {
		if _, ok := c.Body[m.Name]; !ok && m.Guess == nil {
			return false
		}
	}
	return true
}

func TestDraftedDemoBlocksSew(t *testing.T) {
	for _, name := range []string{"wren-draft-bodice", "dunlin-skirt", "rook-trousers", "plover-circle"} {
		m := made(t, demo(t, "blocks/"+name), plainStyle(name))
		if m.Report.Fail+m.Report.Warn > 0 || m.Report.Pass < 150 {
			t.Errorf("%s: %d pass, %d warn, %d fail", name, m.Report.Pass, m.Report.Warn, m.Report.Fail)
		}
	}
}

// TestChangesAreMadeOnDraftedBlocks: petals on a drafted sleeve, in every size.
func TestChangesAreMadeOnDraftedBlocks(t *testing.T) {
	m := made(t, demo(t, "blocks/wren-draft-bodice"), []byte(`{"style": "own", "block": "wren-draft-bodice",
		"changes": [{"change": "petal", "piece": "sleeve", "cap_share": 0.5, "hem_in": "2in", "top": "back"}],
		"allowances": {"default": "5/8in", "edges": {"sleeve_back.hem": {"width": "1/2in", "turned": "twice"}, "sleeve_front.hem": {"width": "1/2in", "turned": "twice"}}}}`))
	if len(m.Sizes) != 12 {
		t.Errorf("%d sizes", len(m.Sizes))
	}
	for _, c := range m.Report.Checks {
		if c.Verdict == "fail" {
			t.Errorf("size %s: %s", c.Size, c.Text)
		}
	}
	for _, s := range m.Sizes {
		if s.Pattern.PieceNamed("sleeve_back") == nil || s.Pattern.PieceNamed("sleeve_front") == nil {
			t.Errorf("size %s has no petals", s.Pattern.Size)
		}
	}
}

// TestOneCustomersBodyIsDrafted: redrawn for that body, under the same checks; a size's own measurements
// give that size.
func TestOneCustomersBodyIsDrafted(t *testing.T) {
	block := demo(t, "blocks/wren-draft-bodice")
	order := func(body map[string]float64) shop.Making {
		return shop.Making{Block: block, Style: plainStyle("wren-draft-bodice"), Request: document.RunRequest{Sizes: []string{},
			Bodies: []document.Body{{Name: "order 1001", Body: body}}, Outputs: []document.Output{{Paper: "A0"}}}}
	}
	body := map[string]float64{"bust": 955, "waist": 790, "neck": 377, "shoulder": 124, "nape_to_waist": 412, "scye_depth": 217, "upper_arm": 301}
	p, err := room(t).Make(context.Background(), order(body), nil)
	if err != nil {
		t.Fatal(err)
	}
	if p.Failed || p.Summary.Warn > 0 || len(p.Files) != 1 || p.Summary.Sizes[0] != "order 1001" {
		t.Errorf("%+v", p.Summary)
	}
	c, err := document.ChartNamed("women-en")
	if err != nil {
		t.Fatal(err)
	}
	m, err := room(t).make(context.Background(), order(c.Sizes.BodyOf(4)), nil)
	if err != nil {
		t.Fatal(err)
	}
	stock := made(t, block, plainStyle("wren-draft-bodice"), c.Sizes.Run[4])
	for i, piece := range stock.Sizes[0].Pattern.Pieces {
		if a, b := piece.Outline().Area(), m.Sizes[0].Pattern.Pieces[i].Outline().Area(); math.Abs(a-b) > 1e-6 {
			t.Errorf("%s of the size's own body has %g mm², the size %g", piece.Name, b, a)
		}
	}
	for _, bad := range []struct {
		pointer string
		change  func(map[string]float64)
	}{
		{"/body/bust", func(b map[string]float64) { b["bust"] = 2000 }},
		{"/body/upper_arm", func(b map[string]float64) { delete(b, "upper_arm") }},
		{"/body/upper_leg", func(b map[string]float64) { b["upper_leg"] = 500 }},
		{"/body/waist", func(b map[string]float64) { b["waist"] = 420 }},
	} {
		b := map[string]float64{}
		for k, v := range body {
			b[k] = v
		}
		bad.change(b)
		_, err := room(t).make(context.Background(), order(b), nil)
		fs := pattern.FaultsOf(err)
		if len(fs) == 0 || fs[0].Pointer != bad.pointer || fs[0].Size != "order 1001" || fs[0].Remedy == "" {
			t.Errorf("want a refusal at %s, got %+v", bad.pointer, fs)
		}
	}
}
