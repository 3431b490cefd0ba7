package api_test

import (
	"strings"
	"testing"

	"sizerun/internal/shop"
)

// A storefront orders what is published, with what it may choose, sees what it has ordered, and nothing
// else of the shop.
func TestAStorefrontOrdersWhatIsPublished(t *testing.T) {
	for name, where := range map[string]func(*plan){"embedded": func(*plan) {}, "postgres": onPostgres} {
		t.Run(name, func(t *testing.T) {
			h := newHouse(t, where)
			h.stock()
			k := h.scoped(`{"scope":"storefront"}`)
			front, wait := "Bearer "+k.Key, []string{"Prefer", "wait=20"}
			as := func(headers ...string) []string { return append([]string{"Authorization", front}, headers...) }
			order := `{"style":"wren-petal","sizes":["12"],"parameters":{"hem":45}}`
			p := h.refused(422, "invalid", "POST", "/v1/runs", order, as()...)
			unknown := h.refused(422, "invalid", "POST", "/v1/runs", strings.ReplaceAll(order, "wren-petal", "wren-petax"), as()...)
			if p.Errors[0].Pointer != "/style" || strings.ReplaceAll(p.Errors[0].Detail, "wren-petal", "IT") != strings.ReplaceAll(unknown.Errors[0].Detail, "wren-petax", "IT") {
				t.Errorf("before it is published: %+v, and of what there is not %+v", p.Errors, unknown.Errors)
			}
			h.must(404, "GET", "/v1/styles/wren-petal/offer", "", as()...)
			h.must(200, "POST", "/v1/styles/wren-petal/offer", example(t, "publishStyle", "length"))
			h.must(200, "GET", "/v1/styles/wren-petal/offer", "", as()...)

			var low, high, plain run
			h.must(201, "POST", "/v1/runs", order, as(wait...)...).into(t, &low)
			h.must(201, "POST", "/v1/runs", strings.Replace(order, "45", "60", 1), as(wait...)...).into(t, &high)
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal","sizes":["12"]}`, as(wait...)...).into(t, &plain)
			if low.State != "done" || high.State != "done" || low.Files[0].SHA256 == high.Files[0].SHA256 || low.Files[0].SHA256 == plain.Files[0].SHA256 {
				t.Errorf("what was chosen made no difference: %+v, %+v, %+v", low.Files, high.Files, plain.Files)
			}
			h.must(200, "GET", low.URL, "", as()...)
			h.must(200, "GET", low.Files[0].URL, "", as()...)
			h.must(201, "POST", low.URL+"/link", "", as()...)

			for body, pointer := range map[string]string{
				`{"style":"wren-petal","sizes":["16"]}`:                                          "/sizes/0",
				`{"style":"wren-petal","outputs":[{"paper":"A4"},{"paper":"A0"}]}`:               "/outputs/1/paper",
				`{"style":"wren-petal","parameters":{"hem":61}}`:                                 "/parameters/hem",
				`{"style":"wren-petal","parameters":{"hem":29.9}}`:                               "/parameters/hem",
				`{"style":"wren-petal","parameters":{"cap":1}}`:                                  "/parameters",
				`{"style":"wren-petal","deliver":"anyway"}`:                                      "/deliver",
				`{"style":"wren-petal","body":{"name":"M","body":{"bust":900,"upper_arm":300}}}`: "/body",
			} {
				p := h.refused(422, "invalid", "POST", "/v1/runs", body, as()...)
				if p.Errors[0].Pointer != pointer || p.Errors[0].Valid == "" || p.Errors[0].Remedy == "" {
					t.Errorf("%s: %+v", body, p.Errors)
				}
			}
			// The shop's own orders and another storefront's are not there for it.
			var own, theirs run
			h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, wait...).into(t, &own)
			h.must(201, "POST", "/v1/runs", order, "Authorization", "Bearer "+h.scoped(`{"scope":"storefront"}`).Key, "Prefer", "wait=20").into(t, &theirs)
			for _, r := range []run{own, theirs} {
				h.refused(404, "not_found", "GET", r.URL, "", as()...)
				h.refused(404, "not_found", "GET", r.Files[0].URL, "", as()...)
			}
			h.must(204, "DELETE", "/v1/styles/wren-petal/offer", "")
			h.refused(404, "not_found", "DELETE", "/v1/styles/wren-petal/offer", "")
			h.refused(422, "invalid", "POST", "/v1/runs", order, as()...)
			h.must(200, "GET", low.URL, "", as()...)
		})
	}
}

func TestWhatCanNotBeMadeIsNotPublished(t *testing.T) {
	h := newHouse(t)
	h.stock()
	for body, pointer := range map[string]string{
		`{"sizes":["99"]}`:  "/sizes/0",
		`{"papers":["A9"]}`: "/papers/0",
		`{"price":1}`:       "/price",
		`{"parameters":[{"name":"hem","change":7,"argument":"hem_in","min":1,"max":2}]}`:     "/parameters/0/change",
		`{"parameters":[{"name":"hem","change":0,"argument":"change","min":1,"max":2}]}`:     "/parameters/0/argument",
		`{"parameters":[{"name":"hem","change":0,"argument":"hem_in","min":3,"max":2}]}`:     "/parameters/0",
		`{"parameters":[{"name":"hem","change":0,"argument":"hem_in","min":1,"max":1e999}]}`: "",
	} {
		a := h.do("POST", "/v1/styles/wren-petal/offer", body)
		var p problem
		if a.into(t, &p); a.status != 422 && a.status != 400 || len(p.Errors) == 0 || !strings.HasPrefix(p.Errors[0].Pointer, pointer) {
			t.Errorf("%s: %d %s", body, a.status, a.body)
		}
	}
	h.refused(404, "not_found", "POST", "/v1/styles/nothing/offer", `{}`)
	h.refused(404, "not_found", "GET", "/v1/styles/wren-petal/offer", "", "Authorization", "Bearer "+h.newKey("Another Shop"))
	if ns, _, err := h.svc.Audit(t.Context(), h.shopID(), "", 0); err != nil || ns[0].Action == shop.DidPublish {
		t.Errorf("what was refused is noted: %+v, %v", ns[0], err)
	}
}
