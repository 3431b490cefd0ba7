package docs

import (
	"html/template"
	"maps"
	"slices"
	"strings"
)

// page is all that the documentation shows.
type page struct {
	Title, Summary, Version, Intro string
	Tags                           []tag
	Webhooks                       []operation
	Snippets                       []Snippet
	Changes                        []changeView
	Problems                       []Problem
	Schemas                        []schema
}

type tag struct {
	Name, Says string
	Operations []operation
}

type operation struct {
	ID, Method, Path, Summary, Says string
	Keyed                           bool
	Scope                           string // what the key must be for; "" when any will do
	Params                          []parameter
	Body                            *body
	Answers                         []answer
}

type parameter struct {
	fact
	In, Example string
}

type body struct {
	MediaType string
	Type      template.HTML
	Parts     []fact
	Examples  []example
}

type example struct{ Name, Summary, JSON string }

type answer struct {
	Status, Says string
	Headers      []fact
	Bodies       []body
	Problems     []string
}

// answering lists the operations that may answer with a problem.
func (p page) answering(problem string) []operation {
	var out []operation
	for _, t := range p.Tags {
		for _, o := range t.Operations {
			if slices.ContainsFunc(o.Answers, func(a answer) bool { return slices.Contains(a.Problems, problem) }) {
				out = append(out, o)
			}
		}
	}
	return out
}

var methods = []string{"post", "get", "put", "patch", "delete"} // HEAD goes wherever GET goes

// view reads the contract. Operations stand under their first tag; those whose tag the contract does
// not introduce come last, under it.
func (s *spec) view() page {
	info := object(s.root["info"])
	p := page{Title: text(info["title"]), Summary: text(info["summary"]), Version: text(info["version"]), Intro: text(info["description"]), Schemas: s.schemas()}
	at := map[string]int{}
	for _, t := range list(s.root["tags"]) {
		o := object(t)
		at[text(o["name"])] = len(p.Tags)
		p.Tags = append(p.Tags, tag{Name: text(o["name"]), Says: text(o["description"])})
	}
	keyed := len(list(s.root["security"])) > 0
	paths := object(s.root["paths"])
	for _, path := range slices.Sorted(maps.Keys(paths)) {
		item := object(paths[path])
		for _, m := range methods {
			if item[m] == nil {
				continue
			}
			op := s.operation(m, path, item, keyed)
			name := text(first(list(object(item[m])["tags"])))
			i, ok := at[name]
			if !ok {
				i = len(p.Tags)
				at[name] = i
				p.Tags = append(p.Tags, tag{Name: name})
			}
			p.Tags[i].Operations = append(p.Tags[i].Operations, op)
		}
	}
	hooks := object(s.root["webhooks"])
	for _, name := range slices.Sorted(maps.Keys(hooks)) {
		item := object(hooks[name])
		for _, m := range methods {
			if item[m] != nil {
				p.Webhooks = append(p.Webhooks, s.operation(m, name, item, false))
			}
		}
	}
	return p
}

// scope are those that a security requirement names: one of them will do.
func scope(requirements []any) string {
	var out []string
	for _, r := range requirements {
		for _, scopes := range object(r) {
			for _, s := range list(scopes) {
				out = append(out, text(s))
			}
		}
	}
	return strings.Join(out, " or ")
}

func first(l []any) any {
	if len(l) == 0 {
		return "other"
	}
	return l[0]
}

func (s *spec) operation(method, path string, item map[string]any, keyed bool) operation {
	node := object(item[method])
	op := operation{ID: text(node["operationId"]), Method: strings.ToUpper(method), Path: path, Summary: text(node["summary"]), Says: text(node["description"]), Keyed: keyed}
	if sec, ok := node["security"]; ok {
		op.Keyed = len(list(sec)) > 0
		op.Scope = scope(list(sec))
	}
	for _, v := range slices.Concat(list(item["parameters"]), list(node["parameters"])) {
		o, _ := s.follow(v)
		required, _ := o["required"].(bool)
		f := s.fact(text(o["name"]), required, o["schema"], 0)
		if says := text(o["description"]); says != "" {
			f.Says = says
		}
		pr := parameter{fact: f, In: text(o["in"])}
		if e, ok := o["example"]; ok {
			pr.Example = compact(e)
			if t := text(e); t != "" {
				pr.Example = t
			}
		}
		op.Params = append(op.Params, pr)
	}
	if b, _ := s.follow(node["requestBody"]); b != nil {
		if all := s.bodies(b["content"]); len(all) > 0 {
			op.Body = &all[0]
		}
	}
	answers := object(node["responses"])
	for _, status := range slices.Sorted(maps.Keys(answers)) {
		o, _ := s.follow(answers[status])
		a := answer{Status: status, Says: text(o["description"])}
		headers := object(o["headers"])
		for _, name := range slices.Sorted(maps.Keys(headers)) {
			h, _ := s.follow(headers[name])
			required, _ := h["required"].(bool)
			f := s.fact(name, required, h["schema"], 0)
			if says := text(h["description"]); says != "" {
				f.Says = says
			}
			a.Headers = append(a.Headers, f)
		}
		if problems := object(object(o["content"])["application/problem+json"]); problems != nil {
			a.Problems = slices.Sorted(maps.Keys(object(problems["examples"])))
		} else {
			a.Bodies = s.bodies(o["content"])
		}
		op.Answers = append(op.Answers, a)
	}
	return op
}

// bodies are the media types of a request or an answer.
func (s *spec) bodies(content any) []body {
	var out []body
	media := object(content)
	for _, mt := range slices.Sorted(maps.Keys(media)) {
		m := object(media[mt])
		sc, _ := s.follow(m["schema"])
		b := body{MediaType: mt, Type: s.typeOf(m["schema"]), Parts: s.parts(sc, 3)}
		examples := object(m["examples"])
		for _, name := range slices.Sorted(maps.Keys(examples)) {
			e, _ := s.follow(examples[name])
			if v, ok := e["value"]; ok {
				b.Examples = append(b.Examples, example{name, text(e["summary"]), layOut(v)})
			}
		}
		out = append(out, b)
	}
	return out
}
