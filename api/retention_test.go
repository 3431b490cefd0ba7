package api_test

import (
	"testing"
	"time"
)

func TestARunIsErasedAtOnce(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	var l link
	h.must(201, "POST", r.Files[0].URL+"/link", "").into(t, &l)
	mine := h.key
	h.key = h.newKey("Heron Street")
	theirs := h.refused(404, "not_found", "DELETE", r.URL, "")
	unknown := h.refused(404, "not_found", "DELETE", r.URL+"0", "")
	if len(theirs.Detail)+1 != len(unknown.Detail) {
		t.Errorf("another shop's run: %q, no run: %q", theirs.Detail, unknown.Detail)
	}
	h.key = mine
	h.must(204, "DELETE", r.URL, "")
	for _, p := range []string{r.URL, r.URL + "/files", r.URL + "/archive", r.Files[0].URL, l.path(t)} {
		h.refused(404, "not_found", "GET", p, "")
	}
	h.refused(404, "not_found", "DELETE", r.URL, "")
	h.ordered() // the order number is free
}

func TestARunThatIsBeingMadeIsErasedWhenItStops(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	var r run
	h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`).into(t, &r)
	for until := time.Now().Add(10 * time.Second); r.State != "making"; time.Sleep(5 * time.Millisecond) {
		h.must(200, "GET", r.URL, "").into(t, &r)
		if time.Now().After(until) {
			t.Fatal("the run was never begun")
		}
	}
	h.must(202, "DELETE", r.URL, "").into(t, &r)
	if !r.CancelAsked {
		t.Error("it is not told that it is to be stopped")
	}
	for until := time.Now().Add(10 * time.Second); h.do("GET", r.URL, "").status != 404; time.Sleep(5 * time.Millisecond) {
		if time.Now().After(until) {
			t.Fatal("the run was stopped and is still there")
		}
	}
}

func TestAnExpiredRunSaysSo(t *testing.T) {
	h := newHouse(t)
	h.stock()
	r := h.ordered()
	h.pass(91 * 24 * time.Hour)
	if _, err := h.svc.Retire(t.Context()); err != nil {
		t.Fatal(err)
	}
	h.must(200, "GET", r.URL, "").into(t, &r)
	if r.State != "expired" || len(r.Files) != 0 || r.ExternalID != nil {
		t.Errorf("%+v", r)
	}
	var runs struct{ Items []run }
	h.must(200, "GET", "/v1/runs", "").into(t, &runs)
	if len(runs.Items) != 1 || runs.Items[0].State != "expired" {
		t.Errorf("in the list: %+v", runs)
	}
	h.refused(404, "not_found", "GET", r.URL+"/archive", "")
	h.refused(404, "not_found", "GET", r.URL+"/report", "")
	h.must(200, "POST", r.URL+"/cancel", "")
	h.must(204, "DELETE", r.URL, "")
}
