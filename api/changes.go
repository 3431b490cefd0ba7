package api

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"sizerun/internal/shop"
)

// register is the register of changes as the maker tells it: a list of objects, each with a name.
type register struct {
	all    []json.RawMessage
	byName map[string]json.RawMessage
}

func readRegister(b []byte) (register, error) {
	r := register{all: []json.RawMessage{}, byName: map[string]json.RawMessage{}}
	if err := json.Unmarshal(b, &r.all); err != nil {
		return register{}, fmt.Errorf("api: the register of changes is not a JSON list: %w", err)
	}
	for i, m := range r.all {
		var c struct{ Name string }
		if err := json.Unmarshal(m, &c); err != nil {
			return register{}, fmt.Errorf("api: the register of changes: %w", err)
		}
		if c.Name == "" || r.byName[c.Name] != nil {
			return register{}, errors.New("api: the register of changes has one without a name, or two of one name")
		}
		r.all[i] = bytes.TrimSpace(m)
		r.byName[c.Name] = r.all[i]
	}
	return r, nil
}

func (a *API) listChanges(x *exchange, _ shop.ShopID) error {
	return x.answerTagged(list[json.RawMessage]{Items: a.changes.all})
}

func (a *API) getChange(x *exchange, _ shop.ShopID) error {
	name, err := x.part("name")
	if err != nil {
		return err
	}
	c, ok := a.changes.byName[name]
	if !ok {
		return refusal("not_found", "there is no change of that name; GET /v1/changes lists them all")
	}
	return x.answerTagged(c)
}
