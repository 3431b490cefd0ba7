package api_test

import (
	"fmt"
	"strings"
	"testing"

	"sizerun/internal/shop"
)

type batch struct {
	Items []struct {
		Status   int
		Replayed bool
		Run      *run
		Problem  *problem
	}
}

func TestABatchIsAnsweredItemByItem(t *testing.T) {
	h := newHouse(t)
	h.stock()
	body := `{"runs":[{"style":"wren-petal","external_id":"1"},{"style":"wren-petle"},{"style":"wren-petal","sizes":["7"]},
		{"style":"wren-petal","external_id":"1"},{"style":"wren-petal","surprise":1},{"style":"wren-petal","stamp":"order 2"}]}`
	var b batch
	h.must(200, "POST", "/v1/runs/batch", body, "Idempotency-Key", "night-1").into(t, &b)
	for i, want := range []struct {
		status        int
		kind, pointer string
	}{{202, "", ""}, {422, "invalid", "/runs/1/style"}, {422, "invalid", "/runs/2/sizes/0"}, {409, "external_id_taken", ""}, {422, "invalid", "/runs/4/surprise"}, {202, "", ""}} {
		got := b.Items[i]
		if got.Status != want.status || (got.Run == nil) != (want.kind != "") || (got.Problem == nil) != (want.kind == "") {
			t.Fatalf("item %d: %+v", i, got)
		}
		if got.Run != nil {
			h.must(200, "GET", got.Run.URL, "")
			continue
		}
		if got.Problem.kind() != want.kind || want.pointer != "" && got.Problem.Errors[0].Pointer != want.pointer {
			t.Errorf("item %d: %+v", i, got.Problem)
		}
	}
	if b.Items[3].Problem.Run != b.Items[0].Run.URL {
		t.Errorf("the order number is said to be %s's", b.Items[3].Problem.Run)
	}

	// Repeated, what was taken is answered, and what was not is tried again.
	style := strings.Replace(example(t, "saveStyle", "petal"), `"wren-petal"`, `"wren-petle"`, 1)
	h.must(201, "POST", "/v1/styles", style)
	var again batch
	h.must(200, "POST", "/v1/runs/batch", body, "Idempotency-Key", "night-1").into(t, &again)
	for _, i := range []int{0, 5} {
		if !again.Items[i].Replayed || again.Items[i].Run.ID != b.Items[i].Run.ID {
			t.Errorf("item %d again: %+v", i, again.Items[i])
		}
	}
	if got := again.Items[1]; got.Run == nil || got.Replayed {
		t.Errorf("what was refused is not tried again: %+v", got)
	}
	var runs struct{ Items []run }
	h.must(200, "GET", "/v1/runs", "").into(t, &runs)
	if len(runs.Items) != 3 {
		t.Errorf("there are %d runs", len(runs.Items))
	}
	// The key is the whole body's, whichever items it shares.
	h.refused(422, "idempotency_key_reused", "POST", "/v1/runs/batch", `{"runs":[{"style":"wren-petal"}]}`, "Idempotency-Key", "night-1")
	// A key of a single run is another one.
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal","stamp":"single"}`, "Idempotency-Key", "night-1")
}

func TestABatchHasAtMostAHundredRuns(t *testing.T) {
	h := newHouse(t)
	h.stock()
	items := make([]string, shop.MostInBatch)
	for i := range items {
		items[i] = fmt.Sprintf(`{"style":"wren-petal","external_id":"%d"}`, i)
	}
	var b batch
	h.must(200, "POST", "/v1/runs/batch", `{"runs":[`+strings.Join(items, ",")+`]}`, "Idempotency-Key", strings.Repeat("k", 255)).into(t, &b)
	if len(b.Items) != shop.MostInBatch {
		t.Fatalf("%d items", len(b.Items))
	}
	seen := map[string]bool{}
	for i, it := range b.Items {
		if it.Run == nil || it.Run.ExternalID == nil || *it.Run.ExternalID != fmt.Sprint(i) || seen[it.Run.ID] {
			t.Fatalf("item %d: %+v", i, it)
		}
		seen[it.Run.ID] = true
	}
	p := h.refused(422, "invalid", "POST", "/v1/runs/batch", `{"runs":[`+strings.Join(append(items, `{"style":"wren-petal"}`), ",")+`]}`)
	if p.Errors[0].Pointer != "/runs" || !strings.Contains(p.Errors[0].Valid, "100") {
		t.Errorf("%+v", p.Errors)
	}
	for _, bad := range []string{`{"runs":[]}`, `{"runs":[1]}`, `{"runs":{}}`, `{}`, `[]`, `{"runs":[{}],"more":1}`} {
		h.refused(422, "invalid", "POST", "/v1/runs/batch", bad)
	}
	for _, bad := range []string{`{"runs":[{"style":"a","style":"b"}]}`, `{"runs":[{}]} x`} {
		if a := h.do("POST", "/v1/runs/batch", bad); a.status != 400 && a.status != 422 {
			t.Errorf("%s: %d %s", bad, a.status, a.body)
		}
	}
}
