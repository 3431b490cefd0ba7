package workroom

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/testkit"
)

// Every page of a sample says so, whatever the paper, also when it comes after a real order of the same
// design, and no page of a real one does. poppler reads the pages.
func TestEveryPageOfASampleSaysSo(t *testing.T) {
	reader, err := exec.LookPath("pdftotext")
	if err != nil {
		testkit.Missing(t, "pdftotext", "poppler-utils")
	}
	r := room(t)
	for _, sample := range []bool{false, true, false} {
		m := making(t, "14")
		m.Request.Sample, m.Request.Stamp = sample, "made for order 1001"
		m.Request.Outputs = []document.Output{{Paper: "A4"}, {Paper: "A0"}, {Paper: "Letter", Companion: true}, {Paper: "Projector"}}
		p, err := r.Make(context.Background(), m, nil)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range p.Files {
			path := filepath.Join(t.TempDir(), "a.pdf")
			if err := os.WriteFile(path, f.Data, 0o600); err != nil {
				t.Fatal(err)
			}
			text, err := exec.Command(reader, "-raw", path, "-").Output()
			if err != nil {
				t.Fatal(err)
			}
			pages := bytes.Split(bytes.TrimSuffix(text, []byte("\f")), []byte("\f"))
			if len(pages) != f.Pages {
				t.Fatalf("%s has %d pages, and %d were read", f.Name, f.Pages, len(pages))
			}
			for i, page := range pages {
				if strings.Contains(string(page), "Sample: not for sale") != sample {
					t.Errorf("sample %v: %s, page %d says: %.200q", sample, f.Name, i+1, page)
				}
			}
		}
	}
}
