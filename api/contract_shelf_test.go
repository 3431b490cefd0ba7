package api_test

import (
	"fmt"
	"math/rand/v2"
	"net/url"
	"slices"
	"strings"
	"testing"

	"sizerun/openapi/conform"
)

// shelf is what invented requests can speak of. What a request did away with is made anew before the
// next round. An operation whose path names something else needs it put here; the test of the answers
// says so.
type shelf struct {
	run                     run
	hook                    endpoint
	event                   string
	key                     key
	file, archive, followed string // links
}

func (s *shelf) fill(h *house) {
	h.t.Helper()
	if s.run.ID == "" || h.do("GET", "/v1/runs/"+s.run.ID, "").status == 404 {
		for op, name := range map[string]string{"/v1/blocks": example(h.t, "saveBlock", "sleeve"), "/v1/styles": example(h.t, "saveStyle", "petal")} {
			if a := h.do("POST", op, name); a.status > 201 && op == "/v1/blocks" {
				h.t.Fatalf("%s: %d %s", op, a.status, a.body)
			}
		}
		h.must(201, "POST", "/v1/styles", strings.Replace(example(h.t, "saveStyle", "petal"), "Petal sleeve", fmt.Sprint("Petal sleeve ", rand.Uint64()), 1))
		h.must(201, "POST", "/v1/runs", `{"style":"wren-petal"}`, "Prefer", "wait=20").into(h.t, &s.run)
		s.file = s.link(h, "/v1/files/"+s.run.Files[0].ID+"/link")
		s.archive = s.link(h, s.run.URL+"/link")
		s.followed = s.link(h, s.run.URL+"/events/link")
	}
	// The style may not be what it was; one offer in some rounds is enough.
	h.do("POST", "/v1/styles/wren-petal/offer", `{"sizes":["14"],"papers":["A4"]}`)
	told := answer{}
	if s.hook.ID != "" {
		told = h.do("POST", "/v1/webhooks/"+s.hook.ID+"/test", "")
	}
	if told.status != 202 { // deleted, or switched off
		s.sweep(h, "/v1/webhooks", "")
		h.must(201, "POST", "/v1/webhooks", `{"url":"https://shop.example/hooks"}`).into(h.t, &s.hook)
		told = h.must(202, "POST", "/v1/webhooks/"+s.hook.ID+"/test", "")
	}
	var e struct{ ID string }
	told.into(h.t, &e)
	s.event = e.ID
	if s.key.ID != "" {
		h.must(200, "GET", "/v1/keys/"+s.key.ID, "").into(h.t, &s.key)
	}
	if s.key.ID == "" || s.key.RevokedAt != nil {
		s.sweep(h, "/v1/keys", strings.Split(h.key, "_")[1])
		s.key = key{}
		h.must(201, "POST", "/v1/keys", `{"scope":"read"}`).into(h.t, &s.key)
	}
}

// sweep makes room: a shop has so many of a thing at most, and the rounds before made some.
func (s *shelf) sweep(h *house, list, but string) {
	var l struct{ Items []struct{ ID string } }
	h.must(200, "GET", list, "").into(h.t, &l)
	for _, x := range l.Items {
		if x.ID != but {
			h.must(204, "DELETE", list+"/"+x.ID, "")
		}
	}
}

func (s *shelf) link(h *house, path string) string {
	var l struct{ URL string }
	h.must(201, "POST", path, "").into(h.t, &l)
	u, err := url.Parse(l.URL)
	if err != nil {
		h.t.Fatal(err)
	}
	return u.RequestURI()
}

// part is what stands for a variable of a path when all is well.
func (s *shelf) part(path, name string) string {
	if name == "event" {
		return s.event
	}
	for prefix, id := range map[string]string{
		"/v1/runs/": s.run.ID, "/v1/files/": s.run.Files[1].ID, "/v1/webhooks/": s.hook.ID, "/v1/keys/": s.key.ID,
		"/v1/blocks/": "wren-sleeve", "/v1/styles/": "wren-petal", "/v1/changes/": "lengthen", "/problems/": "invalid",
	} {
		if strings.HasPrefix(path, prefix) {
			return id
		}
	}
	return "x"
}

// strange stands for a variable now and then.
var strange = []string{"x", "a b", "%", "\u202e", "..", "\x00", strings.Repeat("n", 300), "wren-sleeve", "not_found"}

// path is an operation's path with everything put in.
func (v *inventor) path(op *conform.Operation, s *shelf) string {
	switch {
	case strings.HasPrefix(op.Path, "/d/") && v.chance(0.7):
		return v.spoilLink(pick(v, []string{s.file, s.archive}))
	case strings.HasPrefix(op.Path, "/e/") && v.chance(0.7):
		return v.spoilLink(s.followed)
	}
	parts := strings.Split(op.Path, "/")
	for i, p := range parts {
		if name, ok := strings.CutPrefix(p, "{"); ok {
			parts[i] = s.part(op.Path, strings.TrimSuffix(name, "}"))
			if v.chance(0.25) {
				parts[i] = pick(v, append(strange, s.run.ID, s.run.Files[0].ID, s.hook.ID))
			}
			parts[i] = url.PathEscape(parts[i])
		}
	}
	path := strings.Join(parts, "/")
	q := url.Values{}
	for _, p := range op.Parameters() {
		name, _ := p["name"].(string)
		if p["in"] != "query" || !v.chance(0.5) {
			continue
		}
		switch {
		case name == "cursor":
			q.Set(name, pick(v, []string{"", "x", "cnVuCjE", "YmxvY2sKYQ", "YmxvY2sKAAE", "c3R5bGUK_w", "cnVuCnp6egpi", "cnVuCi0xCmI", strings.Repeat("A", 2000)}))
		case v.chance(0.5):
			q.Set(name, fmt.Sprint(v.invent(p["schema"], 0)))
		default:
			q.Set(name, pick(v, []string{"", "-1", "0", "x", "1e9", "99999999999999999999", " 5", "\x00", strings.Repeat("9", 500)}))
		}
	}
	if len(q) > 0 || v.chance(0.1) {
		q.Set("utm", "1") // caches and links add some that nobody asked for
		path += "?" + q.Encode()
	}
	return path
}

// spoilLink breaks a link, half of the time.
func (v *inventor) spoilLink(link string) string {
	if v.chance(0.5) {
		return link
	}
	path, query, _ := strings.Cut(link, "?")
	q, _ := url.ParseQuery(query)
	name := pick(v, []string{"expires", "key", "signature", "surprise"})
	if v.chance(0.3) {
		q.Del(name)
	} else {
		q.Set(name, pick(v, []string{"", "0", "x", "-1", "99999999999", q.Get(name) + "A"}))
	}
	return path + "?" + q.Encode()
}

// headers are those that the operation knows, well and badly filled, and some that it does not.
func (v *inventor) headers(op *conform.Operation, key, reading string, seed uint64) []string {
	known := map[string][]string{
		"Prefer":          {"wait=1", "wait=x", "", "respond-async"},
		"Idempotency-Key": {"", "", fmt.Sprint(seed), "a b", "k"},
		"If-None-Match":   {"", "", "*", `"x"`, "W/"},
		"Range":           {"", "", "bytes=0-0", "bytes=-", "bytes=9999999-", "x"},
		"If-Match":        {"", "", "", `"x"`, "*"},
		"Last-Event-ID":   {"", "", "1", "x", "-1", "99999999999999999999"},
		"Authorization":   {"Bearer " + key, "Bearer " + key, "Bearer " + key, "Bearer " + key, "Bearer " + key, "Bearer " + key, "Bearer " + reading, "Bearer x"},
	}
	for _, p := range op.Parameters() {
		if name, _ := p["name"].(string); p["in"] == "header" && known[name] == nil {
			known[name] = []string{"", fmt.Sprint(v.invent(p["schema"], 0)), "x", "-1"}
		}
	}
	var out []string
	for _, name := range sortedKeys(known) { // in order, so that a seed is the same request each time
		out = append(out, name, pick(v, known[name]))
	}
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// ask asks an operation something, and holds what must be true of any answer.
func (v *inventor) ask(h *house, op *conform.Operation, s *shelf, seed uint64) answer {
	h.t.Helper()
	body := ""
	if op.BodySchema != nil {
		body = string(v.body(op))
	}
	path := v.path(op, s)
	a := h.do(op.Method, path, body, v.headers(op, h.key, s.key.Key, seed)...)
	if a.status >= 500 {
		h.t.Errorf("seed %d: %s %s %s is answered with %d %s", seed, op.Method, path, body, a.status, a.body)
	}
	if op.BodySchema != nil && a.status < 300 {
		if err := v.c.ValidBody(op, []byte(body)); err != nil {
			h.t.Errorf("seed %d: %s takes a body that the contract does not allow: %s\n%v", seed, op.ID, body, err)
		}
	}
	if op.Method == "DELETE" {
		s.fill(h)
	}
	return a
}

// patient lets wrong keys be tried for ever, or all that comes after the first hundred would be the same.
func patient(p *plan) { p.cfg.WrongKeys = 1 << 30 }

// What is asked reaches every operation: each answers some of it and refuses some.
func TestEveryOperationAnswersAndRefuses(t *testing.T) {
	t.Parallel()
	h := newHouse(t, patient)
	h.stock()
	var s shelf
	answered, refused := map[string]int{}, map[string]int{}
	for seed := range uint64(45) {
		v := &inventor{h.contract, rand.New(rand.NewPCG(seed, 7))}
		s.fill(h)
		for _, op := range h.contract.Operations() {
			if v.ask(h, op, &s, seed).status < 400 {
				answered[op.ID]++
			} else {
				refused[op.ID]++
			}
		}
	}
	for _, op := range h.contract.Operations() {
		if answered[op.ID] == 0 {
			t.Errorf("%s was answered %d times of 45: does the shelf have what it needs?", op.ID, answered[op.ID])
		}
		if refused[op.ID] == 0 && (op.Keyed || strings.Contains(op.Path, "{")) {
			t.Errorf("%s was refused %d times of 45", op.ID, refused[op.ID])
		}
	}
}
