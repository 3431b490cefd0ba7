package workroom

import (
	"context"
	"testing"

	"sizerun/internal/document"
)

// What a check tells of a run is what the run delivers: pages to the page, bytes within a factor of two.
func TestAnEstimateIsWhatTheRunDelivers(t *testing.T) {
	for name, outputs := range map[string][]document.Output{
		"A4":        {{Paper: "A4"}},
		"A0":        {{Paper: "A0"}},
		"companion": {{Paper: "A4", Companion: true}},
		"several":   {{Paper: "Letter"}, {Paper: "A4+Letter", SeamLines: true}, {Paper: "Projector"}},
		"per size":  {{Paper: "A4", PerSize: true}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, sizes := range [][]string{{"8"}, {"8", "14", "22"}, nil} {
				r, m := room(t), making(t)
				m.Request.Sizes, m.Request.Outputs = sizes, outputs
				e, err := r.Estimate(context.Background(), m)
				if err != nil {
					t.Fatal(err)
				}
				p, err := r.Make(context.Background(), m, nil)
				if err != nil {
					t.Fatal(err)
				}
				bytes := len(p.Report)
				for _, f := range p.Files {
					bytes += len(f.Data)
				}
				t.Logf("%v: %d pages, %d bytes of %d, %d points", sizes, e.Pages, e.Bytes, bytes, e.Points)
				if e.Bytes < bytes/2 || e.Bytes > 2*bytes {
					t.Errorf("%v: %d bytes are estimated, %d delivered", sizes, e.Bytes, bytes)
				}
				off := e.Pages - p.Summary.Pages
				if outputs[0].PerSize { // the last size stands for all
					if off < 0 || off > p.Summary.Pages/2 {
						t.Errorf("%v: %d pages are estimated, %d delivered", sizes, e.Pages, p.Summary.Pages)
					}
				} else if off != 0 {
					t.Errorf("%v: %d pages are estimated, %d delivered", sizes, e.Pages, p.Summary.Pages)
				}
			}
		})
	}
}
