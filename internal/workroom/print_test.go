package workroom

import (
	"bytes"
	"context"
	"testing"

	"sizerun/internal/document"
)

// Sheets are drawn several at once; they come in the order asked for, and are the same bytes as one by one.
func TestSheetsDrawnAtOnceAreThoseDrawnAlone(t *testing.T) {
	m := making(t, "8", "16", "24")
	m.Request.Outputs = []document.Output{{Paper: "Letter", PerSize: true}, {Paper: "A0"}, {Paper: "A4", Companion: true}, {Paper: "Projector", SeamLines: true}}
	told := []int{}
	p, err := room(t).Make(context.Background(), m, func(stage string, done, total int) {
		if stage == "drawing" {
			told = append(told, done*100+total)
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []int{6, 106, 206, 306, 406, 506, 606} {
		if k >= len(told) || told[k] != want {
			t.Fatalf("progress was told as %v", told)
		}
	}
	for k, want := range []string{"wren-petal-8-Letter.pdf", "wren-petal-16-Letter.pdf", "wren-petal-24-Letter.pdf", "wren-petal-A0.pdf", "wren-petal-companion-A4.pdf", "wren-petal-Projector.pdf"} {
		if p.Files[k].Name != want {
			t.Fatalf("file %d is %s, want %s", k, p.Files[k].Name, want)
		}
	}
	for i, k := range []int{3, 4, 5} {
		alone := m
		alone.Request.Outputs = m.Request.Outputs[i+1 : i+2]
		q, err := room(t).Make(context.Background(), alone, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(q.Files[0].Data, p.Files[k].Data) {
			t.Errorf("%s differs from the one drawn alone", p.Files[k].Name)
		}
	}
}
