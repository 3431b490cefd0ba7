package api_test

import (
	"encoding/json"
	"maps"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"sizerun/openapi/conform"
)

// inventor makes requests out of the contract: what its schemas allow, and that with something
// broken.
type inventor struct {
	c *conform.Contract
	r *rand.Rand
}

func (v *inventor) chance(p float64) bool { return v.r.Float64() < p }

func pick[T any](v *inventor, from []T) T { return from[v.r.IntN(len(from))] }

// texts are tried against a schema's pattern; most are words that the contract's examples use.
var texts = []string{"wren-sleeve", "wren-petal", "sleeve", "petal", "hem", "crown", "cap_front", "underarm_front", "bust", "upper_arm", "12", "14", "16", "order 1002",
	"sleeve.hem", "*.hem", "sleeve.petal", "5/8in", "12.7mm", "1 1/2in", "Short set-in sleeve", "a", "2XL"}

// junk is what a schema hardly ever allows.
var junk = []any{nil, true, false, 0, -1, 1e308, -1e308, 1.5, "", " ", "\u0000", "\u202e", "∞", "NaN", "'; DROP TABLE runs; --", strings.Repeat("x", 2000),
	[]any{}, map[string]any{}, []any{[]any{[]any{}}}, map[string]any{"$ref": "#"}, []any{nil}, "99999999in", "1/0in", "-5mm"}

func (v *inventor) resolve(s any) map[string]any {
	o, _ := s.(map[string]any)
	for o["$ref"] != nil {
		ref, _ := o["$ref"].(string)
		target, _ := v.c.Node(strings.TrimPrefix(ref, "#")).(map[string]any)
		merged := maps.Clone(target)
		for k, x := range o {
			if k != "$ref" {
				merged[k] = x
			}
		}
		o = merged
	}
	return o
}

// invent makes a value of a schema; where schemas say things that this does not know, what comes out
// may not be valid, which does no harm: conform is asked.
func (v *inventor) invent(schema any, depth int) any {
	s := v.resolve(schema)
	for _, k := range []string{"oneOf", "anyOf"} {
		if l, ok := s[k].([]any); ok && (k == "oneOf" || s["type"] == nil) {
			return v.invent(pick(v, l), depth)
		}
	}
	if x, ok := s["const"]; ok {
		return x
	}
	if l, ok := s["enum"].([]any); ok {
		return pick(v, l)
	}
	kind, _ := s["type"].(string)
	if l, ok := s["type"].([]any); ok {
		kind, _ = pick(v, l).(string)
	}
	switch kind {
	case "object":
		return v.object(s, depth)
	case "array":
		n := v.number(s["minItems"], 0) + v.r.IntN(3)
		n = min(n, v.number(s["maxItems"], n))
		if depth > 8 {
			n = v.number(s["minItems"], 0)
		}
		out := make([]any, n)
		for i := range out {
			out[i] = v.invent(s["items"], depth+1)
		}
		return out
	case "integer":
		return v.number(s["minimum"], 0) + v.r.IntN(4)
	case "number":
		lo, hi := float64(v.number(s["minimum"], -200)), float64(v.number(s["maximum"], 200))
		return float64(int((lo+v.r.Float64()*(hi-lo))*1000)) / 1000
	case "boolean":
		return v.chance(0.5)
	case "string":
		pattern, _ := s["pattern"].(string)
		re, err := regexp.Compile(pattern)
		for range 40 {
			t := pick(v, texts)
			if err != nil || re.MatchString(t) {
				return t
			}
		}
		return "a"
	}
	return pick(v, junk)
}

func (v *inventor) number(x any, otherwise int) int {
	if n, ok := x.(json.Number); ok {
		if f, err := n.Float64(); err == nil {
			return int(f)
		}
	}
	return otherwise
}

func (v *inventor) object(s map[string]any, depth int) any {
	out := map[string]any{}
	props, _ := s["properties"].(map[string]any)
	must := map[string]bool{}
	required, _ := s["required"].([]any)
	for _, k := range required {
		must[k.(string)] = true
	}
	for _, k := range slices.Sorted(maps.Keys(props)) {
		if must[k] || depth < 6 && v.chance(0.4) {
			out[k] = v.invent(props[k], depth+1)
		}
	}
	if rest, ok := s["additionalProperties"].(map[string]any); ok {
		for range v.number(s["minProperties"], 0) + v.r.IntN(3) {
			out[pick(v, texts[:11])] = v.invent(rest, depth+1)
		}
	}
	return out
}

// spoil changes one place of a value: takes out, adds, or replaces.
func (v *inventor) spoil(x any) any {
	switch w := x.(type) {
	case map[string]any:
		w = maps.Clone(w)
		keys := slices.Sorted(maps.Keys(w))
		switch {
		case len(keys) == 0 || v.chance(0.1):
			w[pick(v, []string{"surprise", "", "__proto__", "Style", "a.b"})] = pick(v, junk)
		case v.chance(0.2):
			delete(w, pick(v, keys))
		case v.chance(0.25):
			w[pick(v, keys)] = pick(v, junk)
		default:
			k := pick(v, keys)
			w[k] = v.spoil(w[k])
		}
		return w
	case []any:
		w = slices.Clone(w)
		switch {
		case len(w) == 0 || v.chance(0.2):
			return append(w, pick(v, junk))
		case v.chance(0.2):
			return w[:len(w)-1]
		case v.chance(0.1):
			return append(w, w[0])
		}
		i := v.r.IntN(len(w))
		w[i] = v.spoil(w[i])
		return w
	}
	return pick(v, junk)
}

// body is a body for an operation: an example, something of its schema, or either with faults.
func (v *inventor) body(op *conform.Operation) []byte {
	var x any
	examples := v.c.Examples(op)
	switch names := slices.Sorted(maps.Keys(examples)); {
	case v.chance(0.5) && len(names) > 0:
		x = examples[pick(v, names)]
	default:
		x = v.invent(op.BodySchema, 0)
	}
	for range v.r.IntN(4) {
		x = v.spoil(x)
	}
	b, err := json.Marshal(x)
	if err != nil {
		panic(err) // junk holds nothing that JSON can't
	}
	if v.chance(0.05) { // break the JSON itself
		i := v.r.IntN(len(b) + 1)
		b = slices.Insert(slices.Clone(b), i, byte(v.r.IntN(256)))
	}
	return b
}

// Each operation is asked what the contract lets it be asked, and that with faults. It never answers
// what the contract does not list, never with a failure of its own, and it takes no body that the
// contract does not allow.
func FuzzEveryOperationKeepsTheContract(f *testing.F) {
	for seed := range uint64(30) {
		f.Add(seed)
	}
	shared := openHouse(f, patient)
	shared.stock()
	var there shelf
	f.Fuzz(func(t *testing.T, seed uint64) {
		h := shared.as(t)
		there.fill(h)
		v := &inventor{h.contract, rand.New(rand.NewPCG(seed, 1))}
		for _, op := range h.contract.Operations() {
			v.ask(h, op, &there, seed)
		}
	})
}

// The inventor is worth its keep: of what it makes, the service takes some and refuses some, of
// every operation that has a body.
func TestInventedBodiesAreOfBothKinds(t *testing.T) {
	h := newHouse(t)
	h.stock()
	c := h.contract
	v := &inventor{c, rand.New(rand.NewPCG(1, 2))}
	// What the bodies that speak of something speak of.
	var e endpoint
	h.must(201, "POST", "/v1/webhooks", `{"url":"https://shop.example/hooks"}`).into(t, &e)
	there := strings.NewReplacer("/webhooks/{id}", "/webhooks/"+e.ID, "/styles/{name}", "/styles/wren-petal")
	for _, op := range c.Operations() {
		if op.BodySchema == nil {
			continue
		}
		taken, refused, pointed := 0, 0, 0
		for range 150 {
			a := h.do(op.Method, there.Replace(op.Path), string(v.body(op)))
			switch {
			case a.status < 300 || a.status == 409:
				taken++
			case a.status == 422 || a.status == 400:
				refused++
				var p problem
				a.into(t, &p)
				if len(p.Errors) > 0 && p.Errors[0].Detail != "" && p.Errors[0].Remedy != "" {
					pointed++
				}
			default:
				t.Errorf("%s: %d %s", op.ID, a.status, clip(a.body))
			}
		}
		if taken < 5 || refused < 50 {
			t.Errorf("%s: %d bodies were taken and %d refused", op.ID, taken, refused)
		}
		if pointed != refused {
			t.Errorf("%s: of %d refusals, %d name a fault and its remedy", op.ID, refused, pointed)
		}
	}
}
