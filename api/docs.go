package api

import (
	"sizerun/openapi/docs"
)

// makePages writes the pages for people; they never change while the process runs.
func makePages(contract, changes []byte) (*docs.Pages, error) {
	var ps []docs.Problem
	for name, k := range kinds {
		ps = append(ps, docs.Problem{Name: name, Status: k.status, Title: k.title, About: k.about})
	}
	return docs.Make(contract, changes, ps)
}

// getDocs is the contract as a page.
func (a *API) getDocs(x *exchange) error { return a.page(x, a.pages.Docs) }

// getProblemType is the page that a problem's type opens.
func (a *API) getProblemType(x *exchange) error {
	name, err := x.part("type")
	if err != nil {
		return err
	}
	page, ok := a.pages.Problems[name]
	if !ok {
		return refusal("not_found", "there is no problem of that type")
	}
	return a.page(x, page)
}

// page sends a page for people. Anybody may keep it for an hour, and ask then whether it still holds.
func (a *API) page(x *exchange, b []byte) error {
	h := x.Response().Header()
	h.Set("Content-Security-Policy", a.pages.Policy)
	h.Set("Cache-Control", "public, max-age=3600")
	return x.sendTagged("text/html; charset=utf-8", b)
}
