package document

import (
	"reflect"
	"strings"
	"testing"

	"sizerun/internal/pattern"
	"sizerun/testdata"
)

// withFinished is the demo blouse block with another list of finished measurements.
func withFinished(t *testing.T, list string) (pattern.Block, error) {
	t.Helper()
	raw, err := testdata.Files.ReadFile("blocks/wren-w.json")
	if err != nil {
		t.Fatal(err)
	}
	s := string(raw)
	i := strings.LastIndex(s, `"finished":`)
	if i < 0 {
		t.Fatal("the demo block has no finished measurements")
	}
	return DecodeBlock([]byte(s[:i]+`"finished": `+list+`}`), DefaultLimits())
}

func TestFinishedMeasurementsComeBackAsTheyWereWritten(t *testing.T) {
	b, err := withFinished(t, `[
		{"name": "bust", "says": "Bust", "terms": [{"across": "front", "from": {"point": "underarm"}, "to": "centre_front", "times": 2}]},
		{"name": "arm", "says": "Arm", "body": "upper_arm", "terms": [{"across": "sleeve", "from": {"point": "underarm_back"}, "to": {"point": "underarm_front"}}]},
		{"name": "long", "says": "Length", "terms": [{"along": "back", "from": {"edge": "centre_back", "from": "cb_neck", "along": "1cm"}, "to": "hem"}]},
		{"name": "hem", "says": "Hem", "terms": [{"edges": [["front", "hem"], ["back", "hem"]], "outer": true, "times": 2}, {"edges": [["sleeve", "hem"]]}]}]`)
	if err != nil {
		t.Fatal(err)
	}
	if f := b.Finished[1].Terms[0]; f.Times != 1 || f.To.Point != "underarm_front" || b.Finished[1].Body != "upper_arm" || b.Finished[2].Terms[0].From.Along != 10 {
		t.Errorf("read as %+v", b.Finished)
	}
	raw, err := EncodeBlock(b)
	if err != nil {
		t.Fatal(err)
	}
	again, err := DecodeBlock(raw, DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(b.Finished, again.Finished) {
		t.Errorf("written and read again:\n%+v\n%+v", b.Finished, again.Finished)
	}
}

func TestAFinishedMeasurementThatLeadsNowhereIsRefused(t *testing.T) {
	for name, c := range map[string]struct{ list, rule, pointer, says string }{
		"unknown edge":   {`[{"name": "a", "says": "A", "terms": [{"edges": [["front", "hemm"]]}]}]`, "", "/finished/0/terms/0/edges/0/1", "hem"},
		"unknown piece":  {`[{"name": "a", "says": "A", "terms": [{"across": "frnt", "from": {"point": "x"}, "to": {"point": "y"}}]}]`, "", "/finished/0/terms/0/across", "front"},
		"unknown place":  {`[{"name": "a", "says": "A", "terms": [{"across": "front", "from": {"point": "underarmm"}, "to": "centre_front"}]}]`, "unknown_point", "/finished/0/terms/0/from/point", "underarm"},
		"two ways":       {`[{"name": "a", "says": "A", "terms": [{"edges": [["front", "hem"]], "across": "front"}]}]`, "term", "/finished/0/terms/0", "edges"},
		"no end":         {`[{"name": "a", "says": "A", "terms": [{"across": "front", "from": {"point": "underarm"}}]}]`, "term", "/finished/0/terms/0", "to"},
		"a coordinate":   {`[{"name": "a", "says": "A", "terms": [{"across": "front", "from": [0, 0], "to": "centre_front"}]}]`, "place", "/finished/0/terms/0/from", "name the place"},
		"never there":    {`[{"name": "a", "says": "A", "terms": [{"across": "front", "from": {"point": "underarm"}, "to": "hem"}]}]`, "", "/finished/0/terms/0", "ends at"},
		"twice":          {`[{"name": "a", "says": "A", "terms": [{"edges": [["front", "hem"]]}]}, {"name": "a", "says": "A", "terms": [{"edges": [["back", "hem"]]}]}]`, "duplicate_name", "/finished/1/name", "rename"},
		"unknown body":   {`[{"name": "a", "says": "A", "body": "bist", "terms": [{"edges": [["front", "hem"]]}]}]`, "", "/finished/0/body", "bust"},
		"no words":       {`[{"name": "a", "terms": [{"edges": [["front", "hem"]]}]}]`, "", "/finished/0", "says"},
		"no terms":       {`[{"name": "a", "says": "A", "terms": []}]`, "count", "/finished/0/terms", "at least 1"},
		"too many times": {`[{"name": "a", "says": "A", "terms": [{"edges": [["front", "hem"]], "times": 21}]}]`, "out_of_range", "/finished/0/terms/0/times", "20"},
		"outer across":   {`[{"name": "a", "says": "A", "terms": [{"across": "front", "from": {"point": "underarm"}, "to": "centre_front", "outer": true}]}]`, "term", "/finished/0/terms/0", "outer"},
	} {
		_, err := withFinished(t, c.list)
		found := false
		for _, f := range pattern.FaultsOf(err) {
			found = found || strings.HasPrefix(f.Pointer, c.pointer) && (c.rule == "" || f.Rule == c.rule) && strings.Contains(f.Error(), c.says)
		}
		if !found {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestADraftMayBringItsOwnList(t *testing.T) {
	block := func(finished string) (pattern.Block, error) {
		return DecodeBlock([]byte(`{"block": "lark", "draft": "skirt", "sizes": {"chart": "women-en", "run": ["84", "88"]}, "finished": `+finished+`}`), DefaultLimits())
	}
	b, err := block(`[{"name": "hem", "says": "Hem", "terms": [{"edges": [["front", "hem"]], "times": 2}]}]`)
	if err != nil || len(b.Finished) != 1 {
		t.Errorf("%v %v", b.Finished, err)
	}
	_, err = block(`[{"name": "hem", "says": "Hem", "terms": [{"edges": [["front", "selvedge"]]}]}]`)
	if fs := pattern.FaultsOf(err); len(fs) == 0 || fs[0].Pointer != "/finished/0/terms/0/edges/0" || fs[0].Rule != "unknown_edge" {
		t.Errorf("%v", err)
	}
}
