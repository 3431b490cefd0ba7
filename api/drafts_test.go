package api_test

import (
	"fmt"
	"strings"
	"testing"

	"sizerun/internal/document"
	"sizerun/internal/draft"
	"sizerun/openapi"
)

// The contract lists the drafts and the charts that there are.
func TestTheContractKnowsEveryDraftAndChart(t *testing.T) {
	doc, err := openapi.Document()
	if err != nil {
		t.Fatal(err)
	}
	enum := func(schema, member string) string {
		s := doc["components"].(map[string]any)["schemas"].(map[string]any)[schema].(map[string]any)
		return fmt.Sprint(s["properties"].(map[string]any)[member].(map[string]any)["enum"])
	}
	if got, want := enum("DraftedBlock", "draft"), fmt.Sprint(draft.Names()); got != want {
		t.Errorf("drafts in the contract: %s, in the service: %s", got, want)
	}
	if got, want := enum("NamedChart", "chart"), fmt.Sprint(document.Charts()); got != want {
		t.Errorf("charts in the contract: %s, in the service: %s", got, want)
	}
}

func TestADraftedBlockIsKeptAndRefusedLikeAnyOther(t *testing.T) {
	h := newHouse(t)
	drafted := example(t, "saveBlock", "drafted")
	h.must(201, "POST", "/v1/blocks", drafted)
	h.must(200, "POST", "/v1/blocks", drafted)
	var b struct{ Document struct{ Draft string } }
	h.must(200, "GET", "/v1/blocks/wren-draft-bodice", "").into(t, &b)
	if b.Document.Draft != "bodice" {
		t.Errorf("the block comes back as %+v", b)
	}
	for _, c := range []struct{ old, new, pointer string }{
		{`"bodice"`, `"bodise"`, "/draft"},
		{`"women-en"`, `"women"`, "/sizes/chart"},
		{`"6cm"`, `"6m"`, "/ease/bust"},
	} {
		bad := strings.Replace(drafted, c.old, c.new, 1)
		if bad == drafted {
			t.Fatalf("the example has no %s", c.old)
		}
		p := h.refused(422, "invalid", "POST", "/v1/blocks", bad)
		if len(p.Errors) == 0 || p.Errors[0].Pointer != c.pointer || p.Errors[0].Remedy == "" {
			t.Errorf("%s is refused with %+v", c.new, p.Errors)
		}
	}
}
