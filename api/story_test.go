package api_test

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
	"sync"
	"testing"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/workroom"
	"sizerun/testdata"
)

// What a storefront does in its first five minutes.
func TestAStorefrontOrdersAStyleAndDownloadsIt(t *testing.T) {
	h := newHouse(t)
	block, style := example(t, "saveBlock", "sleeve"), example(t, "saveStyle", "petal")

	a := h.must(201, "POST", "/v1/blocks", block)
	if got := a.header.Get("Location"); got != "/v1/blocks/wren-sleeve" {
		t.Errorf("the new block's Location is %q", got)
	}
	h.must(200, "POST", "/v1/blocks", block) // the same again changes nothing
	h.must(201, "POST", "/v1/styles", style)

	var kept struct {
		Version  string
		Document json.RawMessage
	}
	a = h.must(200, "GET", "/v1/blocks/wren-sleeve", "")
	a.into(t, &kept)
	if string(kept.Document) != block {
		t.Errorf("the block came back as %s", kept.Document)
	}
	h.must(304, "GET", "/v1/blocks/wren-sleeve", "", "If-None-Match", a.header.Get("ETag"))
	h.must(304, "GET", "/v1/blocks/wren-sleeve", "", "If-None-Match", `"x", W/`+a.header.Get("ETag"))
	h.must(200, "GET", "/v1/blocks/wren-sleeve", "", "If-None-Match", `"x"`)

	a = h.must(201, "POST", "/v1/runs", example(t, "submitRun", "order"), "Prefer", "respond-async, wait=20", "Idempotency-Key", `"order-1001"`)
	if got := a.header.Get("Preference-Applied"); got != "wait=20" {
		t.Errorf("Preference-Applied is %q", got)
	}
	var r run
	a.into(t, &r)
	if r.State != "done" || strings.Join(r.Sizes, " ") != "12 14 16" || r.Report == nil || r.Report.Fail != 0 {
		t.Fatalf("the run ended as %s", a.body)
	}
	if len(r.Files) != 4 {
		t.Fatalf("three papers and a report were asked for, there are %d files", len(r.Files))
	}
	for _, f := range r.Files {
		d := h.must(200, "GET", f.URL, "")
		sum := sha256.Sum256(d.body)
		if hex.EncodeToString(sum[:]) != f.SHA256 || d.header.Get("ETag") != `"`+f.SHA256+`"` || len(d.body) != f.Bytes {
			t.Errorf("%s is not what its hash and size say", f.Name)
		}
		if got := d.header.Get("Content-Type"); got != f.MediaType {
			t.Errorf("%s came as %q", f.Name, got)
		}
		if f.Name == "report.json" {
			same := h.must(200, "GET", r.Report.URL, "")
			if string(same.body) != string(d.body) {
				t.Error("the run's report and its report.json differ")
			}
			h.must(304, "GET", r.Report.URL, "", "If-None-Match", d.header.Get("ETag"))
		}
	}
	var list struct{ Items []struct{ ID string } }
	h.must(200, "GET", r.URL+"/files", "").into(t, &list)
	if len(list.Items) != len(r.Files) {
		t.Errorf("the run lists %d files, its files are %d", len(r.Files), len(list.Items))
	}

	again := h.must(201, "POST", "/v1/runs", example(t, "submitRun", "order"), "Idempotency-Key", `order-1001`)
	var same run
	again.into(t, &same)
	if same.ID != r.ID || again.header.Get("Idempotent-Replayed") != "true" {
		t.Errorf("the request sent again made run %s, not %s", same.ID, r.ID)
	}
	h.refused(422, "idempotency_key_reused", "POST", "/v1/runs", example(t, "submitRun", "customer"), "Idempotency-Key", `order-1001`)
	taken := h.refused(409, "external_id_taken", "POST", "/v1/runs", example(t, "submitRun", "order"))
	if taken.Run != r.URL {
		t.Errorf("the order number is taken by %q, the problem says %q", r.URL, taken.Run)
	}

	a = h.must(202, "POST", "/v1/runs", example(t, "submitRun", "customer"))
	if a.header.Get("Retry-After") == "" || a.header.Get("Location") == "" {
		t.Error("a 202 tells neither when nor where to ask")
	}
	var mine run
	h.must(200, "GET", a.header.Get("Location"), "", "Prefer", "wait=10").into(t, &mine)
	if mine.State != "done" || strings.Join(mine.Sizes, " ") != "order 1002" {
		t.Errorf("the customer's run ended as %+v", mine)
	}
}

func TestARunWhoseChecksFailDeliversItsReportAndNoPattern(t *testing.T) {
	h := newHouse(t)
	h.stock()
	order := func(deliver string) run {
		var r run
		h.must(201, "POST", "/v1/runs", `{"style":"wren-petal","stamp":"will not sew"`+deliver+`}`, "Prefer", "wait=20").into(t, &r)
		return r
	}
	r := order("")
	if r.State != "failed" || r.Problem == nil || r.Problem.kind() != "checks_failed" || r.Deliver != "checked" {
		t.Fatalf("the run ended as %+v", r)
	}
	if len(r.Files) != 1 || r.Files[0].Name != "report.json" {
		t.Errorf("it delivers %+v", r.Files)
	}
	h.must(200, "GET", r.Report.URL, "")
	h.must(200, "GET", "/problems/"+r.Problem.kind(), "")
	if r := order(`,"deliver":"anyway"`); len(r.Files) != 2 || r.Deliver != "anyway" {
		t.Errorf("asked to deliver anyway, it delivers %+v", r.Files)
	}
}

func TestWaitingEndsAfterTheTimeThatWasAskedFor(t *testing.T) {
	h := newHouse(t)
	h.stock()
	release := h.maker.hold()
	defer release()
	began := time.Now()
	a := h.must(202, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=1")
	if took := time.Since(began); took < 900*time.Millisecond {
		t.Errorf("asked to wait a second, it waited %v", took)
	}
	where := a.header.Get("Location")
	h.must(404, "GET", where+"/report", "") // not made yet
	h.must(200, "GET", where+"/files", "")
	a = h.do("POST", where+"/cancel", "")
	var r run
	a.into(t, &r)
	if !r.CancelAsked && r.State != "cancelled" {
		t.Errorf("after the cancel the run is %s", a.body)
	}
	h.must(200, "GET", where, "", "Prefer", "wait=10").into(t, &r)
	if r.State != "cancelled" {
		t.Errorf("the run that was cancelled is %s", r.State)
	}
	h.must(200, "POST", where+"/cancel", "") // asking again does no harm
}

func TestFiftyRequestsWithOneKeyMakeOneRun(t *testing.T) {
	h := newHouse(t)
	h.stock()
	var mu sync.Mutex
	made := map[string]int{}
	var all sync.WaitGroup
	for range 50 {
		all.Go(func() {
			for {
				a := h.do("POST", "/v1/runs", `{"style":"wren-petal"}`, "Idempotency-Key", "one-order")
				if a.status == 409 || a.status == 429 { // still being admitted, or too many bodies at once: as told, later
					time.Sleep(20 * time.Millisecond)
					continue
				}
				var r run
				a.into(t, &r)
				mu.Lock()
				made[r.ID]++
				mu.Unlock()
				return
			}
		})
	}
	all.Wait()
	if len(made) != 1 {
		t.Errorf("fifty requests made %d runs: %v", len(made), made)
	}
}

func TestListsGoPageByPage(t *testing.T) {
	h := newHouse(t)
	h.stock()
	for i := range 5 {
		style := strings.Replace(example(t, "saveStyle", "petal"), `"style":"wren-petal"`, fmt.Sprintf(`"style":"s%d"`, i), 1)
		h.must(201, "POST", "/v1/styles", style)
		h.must(202, "POST", "/v1/runs", fmt.Sprintf(`{"style":"s%d"}`, i))
	}
	for path, want := range map[string]int{"/v1/styles": 6, "/v1/runs": 5, "/v1/blocks": 1} {
		seen := map[string]bool{}
		cursor := ""
		for pages := 1; ; pages++ {
			var page struct {
				Items      []struct{ ID, Name string }
				NextCursor *string `json:"next_cursor"`
			}
			h.must(200, "GET", path+"?limit=2&cursor="+cursor, "").into(t, &page)
			for _, it := range page.Items {
				seen[it.ID+it.Name] = true
			}
			if page.NextCursor == nil {
				break
			}
			if pages > 10 || len(page.Items) != 2 {
				t.Fatalf("%s: page %d has %d items and goes on", path, pages, len(page.Items))
			}
			cursor = *page.NextCursor
		}
		if len(seen) != want {
			t.Errorf("%s: %d things were listed, there are %d", path, len(seen), want)
		}
	}
	for _, bad := range []string{"0", "201", "-1", "+5", "x", "1e2", "9999999999999999999999", "", "%0a"} {
		p := h.refused(400, "invalid_parameter", "GET", "/v1/runs?limit="+bad, "")
		if len(p.Errors) != 1 || p.Errors[0].Parameter != "limit" || p.Errors[0].Valid == "" || p.Errors[0].Remedy == "" {
			t.Errorf("limit=%s: %+v", bad, p.Errors)
		}
	}
	h.must(400, "GET", "/v1/runs?limit=1&limit=2", "")
	h.must(400, "GET", "/v1/runs?cursor=nonsense", "")
	var page struct {
		NextCursor *string `json:"next_cursor"`
	}
	h.must(200, "GET", "/v1/styles?limit=1", "").into(t, &page)
	h.must(400, "GET", "/v1/runs?cursor="+*page.NextCursor, "") // another list's
}

func TestACheckTellsWhatARunWouldFindAndKeepsNothing(t *testing.T) {
	h := newHouse(t)
	h.must(201, "POST", "/v1/blocks", example(t, "saveBlock", "sleeve"))
	var c struct {
		Summary struct{ Sizes []string }
		Report  struct{ Checks []json.RawMessage }
	}
	h.must(200, "POST", "/v1/checks", example(t, "check", "style")).into(t, &c)
	if strings.Join(c.Summary.Sizes, " ") != "12 14" || len(c.Report.Checks) != 2 {
		t.Errorf("the check of two sizes tells %+v", c)
	}
	h.must(404, "GET", "/v1/styles/wren-petal", "")
	p := h.refused(422, "invalid", "POST", "/v1/checks", `{"block":"wren-sleeve","sizes":["12","18"]}`)
	if len(p.Errors) != 1 || p.Errors[0].Pointer != "/sizes/1" || p.Errors[0].Valid == "" || p.Errors[0].Remedy == "" || p.Errors[0].Detail == "" {
		t.Errorf("an unknown size is refused with %+v", p.Errors)
	}
}

func TestTheRegisterIsServedWholeAndOneByOne(t *testing.T) {
	h := newHouse(t)
	var list struct{ Items []struct{ Name string } }
	a := h.must(200, "GET", "/v1/changes", "")
	a.into(t, &list)
	h.must(304, "GET", "/v1/changes", "", "If-None-Match", a.header.Get("ETag"))
	if len(list.Items) != 2 {
		t.Fatalf("the register has %d changes", len(list.Items))
	}
	for _, c := range list.Items {
		var one struct{ Name string }
		h.must(200, "GET", "/v1/changes/"+c.Name, "").into(t, &one)
		if one.Name != c.Name {
			t.Errorf("%s answers %s", c.Name, one.Name)
		}
	}
	h.refused(404, "not_found", "GET", "/v1/changes/nothing", "")
}

// The demo through the real pipeline: its report, its files and its register keep the contract too.
func TestTheRealPipelineKeepsTheContract(t *testing.T) {
	room, err := workroom.New(document.DefaultLimits())
	if err != nil {
		t.Fatal(err)
	}
	h := newHouse(t, func(p *plan) { p.make = room })
	demo := func(name string) string {
		b, err := testdata.Files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	for _, x := range [][2]string{{"/v1/blocks", demo("blocks/wren-w.json")}, {"/v1/styles", demo("styles/wren-petal.json")}} {
		h.must(201, "POST", x[0], x[1])
	}
	var r run
	a := h.must(201, "POST", "/v1/runs", `{"style":"wren-petal","sizes":["14"],"outputs":[{"paper":"A4"},{"paper":"A0"}]}`, "Prefer", "wait=30")
	if a.into(t, &r); r.State != "done" {
		t.Fatalf("the demo ended as %s", a.body)
	}
	for _, f := range r.Files {
		b := h.must(200, "GET", f.URL, "").body
		if f.MediaType == "application/pdf" && !strings.HasPrefix(string(b), "%PDF-") {
			t.Errorf("%s is no PDF", f.Name)
		}
	}
	h.must(200, "GET", r.Report.URL, "")
	var check struct {
		Estimate struct{ Pages, Bytes, Points int }
	}
	h.must(200, "POST", "/v1/checks", `{"style":"wren-petal","sizes":["14"],"outputs":[{"paper":"A4"},{"paper":"A0"}]}`).into(t, &check)
	var sent struct {
		Report struct{ Pages int }
	}
	if a.into(t, &sent); check.Estimate.Pages != sent.Report.Pages || check.Estimate.Bytes == 0 || check.Estimate.Points == 0 {
		t.Errorf("the check tells of %+v, and the run has %d pages", check.Estimate, sent.Report.Pages)
	}
	var list struct{ Items []struct{ Name string } }
	h.must(200, "GET", "/v1/changes", "").into(t, &list)
	for _, c := range list.Items {
		h.must(200, "GET", "/v1/changes/"+c.Name, "")
	}
	if len(list.Items) < 3 {
		t.Errorf("the register has %d changes", len(list.Items))
	}
	// A change that can't be made is refused before anything is queued, at its place.
	bad := strings.Replace(demo("styles/wren-petal.json"), `"hem_in": "2in"`, `"hem_in": "400mm"`, 1)
	bad = strings.Replace(bad, `"style": "wren-petal"`, `"style": "too-far"`, 1)
	if h.do("POST", "/v1/styles", bad).status == 201 {
		p := h.refused(422, "invalid", "POST", "/v1/runs", `{"style":"too-far"}`)
		if len(p.Errors) == 0 || p.Errors[0].Pointer == "" || p.Errors[0].Valid == "" || p.Errors[0].Remedy == "" || p.Errors[0].Size == "" {
			t.Errorf("a petal that leaves the hem is refused with %+v", p.Errors)
		} else {
			t.Logf("%+v", p.Errors[0])
		}
	}
}
