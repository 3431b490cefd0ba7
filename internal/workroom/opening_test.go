package workroom

import (
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/testdata"
)

// Every garment of Rookery Lane can be put on in every size, in cloth that does not stretch.
func TestEveryDemoStyleCanBePutOn(t *testing.T) {
	styles, err := testdata.Files.ReadDir("styles")
	if err != nil {
		t.Fatal(err)
	}
	asked := 0
	for _, f := range styles {
		raw := demo(t, "styles/"+strings.TrimSuffix(f.Name(), ".json"))
		s, err := document.DecodeStyle(raw, document.DefaultLimits())
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range made(t, demo(t, "blocks/"+s.Block), raw).Report.Checks {
			if !strings.HasPrefix(c.Rule, "goes_over") {
				continue
			}
			asked++
			if c.Verdict != "pass" {
				t.Errorf("%s, size %s: %s", s.Name, c.Size, c.Text)
			}
		}
	}
	if asked < 12*len(styles)/2 {
		t.Errorf("only %d times was it asked whether a garment can be put on", asked)
	}
}
