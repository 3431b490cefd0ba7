package api_test

import (
	"strconv"
	"testing"
	"time"

	"sizerun/internal/shop"
)

type used struct {
	Used  int64
	Limit *int64
}

type usage struct {
	Day        string
	ResetsAt   time.Time `json:"resets_at"`
	Today      struct{ Runs, Pages used }
	Sandbox    struct{ Runs, Pages used } `json:"sandbox_today"`
	RunsAtOnce used                       `json:"runs_at_once"`
	BytesKept  used                       `json:"bytes_kept"`
}

// What a shop has had and may have is told to it, and an order over the day is refused before it is
// queued, with when to come again.
func TestAShopSeesWhatItHasHadAndMayHave(t *testing.T) {
	for name, where := range map[string]func(*plan){"embedded": func(*plan) {}, "postgres": onPostgres} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, where)
			h.stock()
			two := int64(2)
			if err := h.svc.SetQuota(t.Context(), h.shopID(), shop.QuotaSet{RunsADay: &two}, false); err != nil {
				t.Fatal(err)
			}
			var r run
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(t, &r)
			sandbox := h.scoped(`{"scope":"make","sandbox":true}`)
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20", "Authorization", "Bearer "+sandbox.Key)
			var u usage
			h.must(200, "GET", "/v1/usage", "").into(t, &u)
			bytes := int64(0)
			for _, f := range r.Files {
				bytes += int64(f.Bytes)
			}
			if u.Today.Runs.Used != 1 || *u.Today.Runs.Limit != 2 || u.Today.Pages.Used != 1 || u.Today.Pages.Limit != nil || u.Sandbox.Runs.Used != 1 || *u.Sandbox.Runs.Limit != 50 ||
				u.RunsAtOnce.Used != 0 || u.BytesKept.Used < 2*bytes-100 || u.BytesKept.Limit != nil || u.Day != u.ResetsAt.Add(-time.Hour).Format(time.DateOnly) {
				t.Errorf("the usage is %+v", u)
			}
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Idempotency-Key", "k", "Prefer", "wait=20")
			a := h.must(429, "POST", "/v1/runs", `{"style":"wren-petal"}`)
			n, err := strconv.Atoi(a.header.Get("Retry-After"))
			if left := int(time.Until(u.ResetsAt).Seconds()); err != nil || n < left-30 || n > left+30 {
				t.Errorf("to come again after %q, and the day lasts %d s", a.header.Get("Retry-After"), left)
			}
			// What was admitted is answered again, however full the day is.
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Idempotency-Key", "k")
			var other usage
			h.must(200, "GET", "/v1/usage", "", "Authorization", "Bearer "+h.newKey("Another Shop")).into(t, &other)
			if other.Today.Runs.Used+other.BytesKept.Used != 0 {
				t.Errorf("another shop's is %+v", other)
			}
		})
	}
}

func TestAShopThatKeepsAllThatItMayIsToldSo(t *testing.T) {
	h := newHouse(t)
	h.stock()
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(t, &r)
	one := int64(1)
	if err := h.svc.SetQuota(t.Context(), h.shopID(), shop.QuotaSet{BytesKept: &one}, false); err != nil {
		t.Fatal(err)
	}
	a := h.must(403, "POST", "/v1/runs", `{"style":"wren-petal"}`)
	var p problem
	if a.into(t, &p); p.kind() != "storage_full" || a.header.Get("WWW-Authenticate") != "" {
		t.Errorf("%v %s", a.header, a.body)
	}
	h.must(204, "DELETE", "/v1/runs/"+r.ID, "")
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20")
}

// The log says who did what, with which key and from where, and only to a key that looks after the shop.
func TestAShopSeesWhoDidWhat(t *testing.T) {
	h := newHouse(t)
	h.stock()
	k := h.scoped(`{"scope":"make"}`)
	var r run
	h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20", "Authorization", "Bearer "+k.Key).into(t, &r)
	h.must(204, "DELETE", k.URL, "")
	type line struct {
		ID, Action, Subject string
		Key, Address        *string
	}
	var got []line
	for cursor := "?limit=2"; ; {
		var page struct {
			Items      []line
			NextCursor *string `json:"next_cursor"`
		}
		h.must(200, "GET", "/v1/audit"+cursor, "").into(t, &page)
		got = append(got, page.Items...)
		if page.NextCursor == nil {
			break
		}
		cursor = "?limit=2&cursor=" + *page.NextCursor
	}
	want := []string{shop.DidRevokeKey, shop.DidOrder, shop.DidMakeKey, shop.DidSaveStyle, shop.DidSaveBlock, shop.DidMakeKey}
	if len(got) != len(want) {
		t.Fatalf("the log is %+v", got)
	}
	for i, n := range got {
		byShop := i < len(want)-1 // the first key was the operator's to make
		if n.Action != want[i] || (n.Key != nil) != byShop || (n.Address != nil) != byShop || byShop && *n.Address != "127.0.0.1" {
			t.Errorf("%d: %+v", i, n)
		}
	}
	if got[1].Subject != r.ID || *got[1].Key != k.ID || got[0].Subject != k.ID || *got[0].Key == k.ID {
		t.Errorf("%+v", got[:2])
	}
	var strangers struct{ Items []line }
	h.must(200, "GET", "/v1/audit", "", "Authorization", "Bearer "+h.newKey("Another Shop")).into(t, &strangers)
	if len(strangers.Items) != 1 {
		t.Errorf("a stranger sees %+v", strangers.Items)
	}
}
