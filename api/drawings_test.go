package api_test

import (
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/workroom"
	"sizerun/testdata"
)

// A shop orders a companion with the working drawings of two sizes, and hears at once when it asks for
// one that the run does not make. The house holds every answer against the contract.
func TestACompanionIsOrderedWithTheDrawingsOfSomeSizes(t *testing.T) {
	room, err := workroom.New(document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	h := newHouse(t, func(p *plan) { p.make = room })
	for _, x := range [][2]string{{"/v1/blocks", "blocks/wren-w.json"}, {"/v1/styles", "styles/wren-petal.json"}} {
		b, err := testdata.Files.ReadFile(x[1])
		if err != nil {
			t.Fatal(err)
		}
		h.must(201, "POST", x[0], string(b))
	}
	order := `{"style":"wren-petal","sizes":["8","14"],"outputs":[{"paper":"A4","kind":"companion","drawings":`
	for drawings, sizes := range map[string][]string{`["14","8"]`: {"8", "14"}, `"all"`: {"8", "14"}, `["8"]`: {"8"}} {
		var r run
		a := h.must(201, "POST", "/v1/runs", order+drawings+`}]}`, "Prefer", "wait=30")
		if a.into(t, &r); r.State != "done" {
			t.Fatalf("%s ended as %s", drawings, a.body)
		}
		if !strings.Contains(strings.ReplaceAll(string(a.body), " ", ""), `"drawings":`+drawings) {
			t.Errorf("%s is not told again: %s", drawings, a.body)
		}
		var report struct {
			Drawings []struct{ Size string } `json:"working_drawings"`
		}
		h.must(200, "GET", r.Report.URL, "").into(t, &report)
		var got []string
		for _, d := range report.Drawings {
			got = append(got, d.Size)
		}
		if strings.Join(got, " ") != strings.Join(sizes, " ") {
			t.Errorf("%s: the report draws sizes %v", drawings, got)
		}
	}
	p := h.refused(422, "invalid", "POST", "/v1/runs", order+`["8","22"]}]}`)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "/outputs/0/drawings/1" || p.Errors[0].Remedy == "" {
		t.Errorf("a size that is not made: %+v", p.Errors)
	}
}
