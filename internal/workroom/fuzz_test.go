package workroom

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"math"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/internal/sheet/sheettest"
	"sizerun/internal/shop"
)

// FuzzMake feeds whole orders. Whatever comes, it is either made, with finite geometry, or refused
// with a place or a remedy; nothing panics.
func FuzzMake(f *testing.F) {
	block, style := demo(f, "blocks/wren-w"), demo(f, "styles/wren-petal")
	f.Add(block, style)
	for _, swap := range [][2]string{
		{`"hem_in": "2in"`, `"hem_in": "1mm"`}, {`"cap_share": 0.5`, `"cap_share": 0.99`}, {`"5/8in"`, `"60mm"`},
		{`"piece": "sleeve"`, `"piece": "front"`}, {`"top": "back"`, `"top": "front", "fullness": 0.9`},
	} {
		f.Add(block, bytes.Replace(style, []byte(swap[0]), []byte(swap[1]), 1))
	}
	for _, swap := range [][2]string{
		{`"crown": [0, 156]`, `"crown": [0, 16]`}, {`"underarm_back": [-182, 0]`, `"underarm_back": [-18, 0]`},
		{`"drawn": "seam"`, `"drawn": "cut", "included": "5/8in"`}, {`0.035`, `9`}, {`[-262, 154]`, `[-262, 131]`},
	} {
		f.Add(bytes.Replace(block, []byte(swap[0]), []byte(swap[1]), 1), style)
	}
	lim := document.DefaultLimits()
	r, err := New(lim)
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, block, style []byte) {
		m := shop.Making{Block: block, Style: style, Request: document.RunRequest{DeliverAnyway: true}}
		if b, err := document.DecodeBlock(block, lim); err == nil {
			run := b.Chart.Run
			m.Request.Sizes = []string{run[0]}
			if len(run) > 1 {
				m.Request.Sizes = append(m.Request.Sizes, run[len(run)-1])
			}
		}
		made, err := r.make(context.Background(), m, nil)
		if err != nil {
			var fs pattern.Faults
			if !errors.As(err, &fs) || len(fs) == 0 {
				t.Fatalf("not a refusal: %v", err)
			}
			for _, x := range fs {
				if x.Rule == "" || x.Rule == "unknown" || x.Detail == "" {
					t.Errorf("a refusal without a rule or a reason: %+v", x)
				}
			}
			return
		}
		for _, s := range made.Sizes {
			for _, c := range s.Cut {
				b := c.Cut.Bounds()
				if l := c.Cut.Length(); math.IsNaN(l) || math.IsInf(l, 0) || !b.Min.Finite() || !b.Max.Finite() || c.Cut.Area() <= 0 {
					t.Fatalf("size %s %s: a cut line of %v mm", s.Pattern.Size, c.Name, l)
				}
			}
		}
		raw, err := document.EncodeReport(made)
		if err != nil || !json.Valid(raw) {
			t.Fatalf("the report: %v", err)
		}
		for _, pg := range made.Companion(maker.Print{EveryDrawing: true}).Pages(sheet.Paper{Name: "A4", W: 210, H: 297}, sheettest.Metrics{}).Pages {
			for _, it := range pg.Items {
				if it.Text != nil && !it.Text.At.Finite() {
					t.Fatalf("the companion has %q nowhere", it.Text.S)
				}
			}
		}
	})
}
