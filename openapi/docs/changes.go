package docs

import (
	"bytes"
	"encoding/json"
	"fmt"
)

// changeView is a change as the page shows it.
type changeView struct {
	Name, Sentence, Promise string
	Params                  []fact
	Drawing                 []stroke
}

// stroke is a line of a change's small picture, in a box of 100 by 100, y up. Kind is one of the
// register's words and names the line's look in the style sheet.
type stroke struct{ Kind, Path string }

// readChanges reads the register as GET /v1/changes tells it.
func readChanges(b []byte) ([]changeView, error) {
	var all []struct {
		Name, Sentence, Promise string
		Parameters              map[string]any
		Drawing                 []stroke
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.UseNumber()
	if err := d.Decode(&all); err != nil {
		return nil, fmt.Errorf("docs: the register of changes: %w", err)
	}
	s := &spec{}
	out := make([]changeView, len(all))
	for i, c := range all {
		out[i] = changeView{Name: c.Name, Sentence: c.Sentence, Promise: c.Promise, Params: s.parts(c.Parameters, 0), Drawing: c.Drawing}
	}
	return out, nil
}
