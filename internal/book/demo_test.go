package book_test

import (
	"io/fs"
	"path"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/pattern"
	"sizerun/internal/sheet"
	"sizerun/testdata"
)

var a4 = sheet.Paper{Name: "A4", W: 210, H: 297}

// demo makes a demo style in these sizes; in the smallest, the base and the largest when none are named.
func demo(t testing.TB, name string, sizes ...string) maker.Made {
	t.Helper()
	read := func(name string) []byte {
		b, err := testdata.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	style, err := document.DecodeStyle(read("styles/"+name+".json"), document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	return made(t, read("blocks/"+style.Block+".json"), style, sizes...)
}

// plain makes a demo block as it is, with a common allowance.
func plain(t testing.TB, block string, sizes ...string) maker.Made {
	t.Helper()
	b, err := testdata.Files.ReadFile("blocks/" + block + ".json")
	if err != nil {
		t.Fatal(err)
	}
	return made(t, b, pattern.Style{Name: block, Block: block, Allowances: pattern.Allowances{Default: pattern.Allowance{Width: 15.875}}}, sizes...)
}

func made(t testing.TB, raw []byte, style pattern.Style, sizes ...string) maker.Made {
	t.Helper()
	block, err := document.DecodeBlock(raw, document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	if len(sizes) == 0 {
		run := block.Chart.Run
		sizes = []string{run[0], block.Chart.Base, run[len(run)-1]}
	}
	m, err := maker.Make(maker.Input{Block: block, Style: style, Sizes: sizes}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// demos lists the demo styles.
func demos(t testing.TB) []string {
	t.Helper()
	files, err := fs.Glob(testdata.Files, "styles/*.json")
	if err != nil || len(files) < 10 {
		t.Fatalf("%d demo styles, %v", len(files), err)
	}
	var out []string
	for _, f := range files {
		out = append(out, strings.TrimSuffix(path.Base(f), ".json"))
	}
	return out
}

// running is what a document says as running text, its pages' feet left out.
func running(d sheet.Document) string {
	var b strings.Builder
	for _, p := range d.Pages {
		for _, it := range p.Items {
			if it.Text != nil && it.Text.At.Y > 20 {
				b.WriteString(it.Text.S + " ")
			}
		}
	}
	return b.String()
}
