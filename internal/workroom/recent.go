package workroom

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"sync"

	"sizerun/internal/document"
	"sizerun/internal/maker"
	"sizerun/internal/sheet"
	"sizerun/internal/shop"
)

// A style is ordered over and over, and all that differs is the buyer's stamp: what was made and laid out last is kept,
// so that such an order costs the writing of its files. A room keeps few designs, and of each few sheets: a design of
// twelve sizes with a sheet takes some megabytes.
const (
	mostDesigns = 6
	mostSheets  = 4
	// mostKept bounds a sheet that is kept, in items of its pages and forms.
	mostKept = 20_000
)

// design is a style that was made in some sizes. What it holds is read by many and never written to.
type design struct {
	key  [sha256.Size]byte
	made maker.Made

	mu     sync.Mutex
	report []byte
	order  []string
	sheets map[string]sheet.Document // by all that the layout depends on but what the stamp says
}

// recent keeps the designs, the last used first.
type recent struct {
	mu      sync.Mutex
	designs []*design
}

func designKey(m shop.Making) ([sha256.Size]byte, error) {
	b, err := json.Marshal(struct {
		Block, Style [sha256.Size]byte
		Alone        bool
		Sizes, Body  any
	}{sha256.Sum256(m.Block), sha256.Sum256(m.Style), m.Style == nil, m.Request.Sizes, m.Request.Bodies})
	if err != nil {
		return [sha256.Size]byte{}, err
	}
	return sha256.Sum256(b), nil
}

// get answers the design of that key, or nil.
func (r *recent) get(key [sha256.Size]byte) *design {
	r.mu.Lock()
	defer r.mu.Unlock()
	for i, d := range r.designs {
		if d.key == key {
			copy(r.designs[1:i+1], r.designs[:i])
			r.designs[0] = d
			return d
		}
	}
	return nil
}

// put keeps a design, and lets the one go that was not used for longest. Of two that made the same at once, the later
// stays.
func (r *recent) put(d *design) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.designs = slices.DeleteFunc(r.designs, func(o *design) bool { return o.key == d.key })
	r.designs = append([]*design{d}, r.designs[:min(len(r.designs), mostDesigns-1)]...)
}

// forget lets all of them go.
func (r *recent) forget() {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.designs = nil
}

// reported is the report, with the working drawings of some sizes.
func (d *design) reported(drawn ...*maker.Size) ([]byte, error) {
	if len(drawn) > 0 {
		return document.EncodeReport(d.made, drawn...)
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.report == nil {
		b, err := document.EncodeReport(d.made)
		if err != nil {
			return nil, err
		}
		d.report = b[:len(b):len(b)]
	}
	return d.report, nil
}

// sheetKey is all that a layout depends on, besides the design and the stamp's words.
func sheetKey(s aSheet) string {
	pr := s.print
	pr.Stamp = ""
	return fmt.Sprintf("%v|%s|%v|%+v", s.companion, s.paper, s.print.Stamp != "", pr)
}

// laid answers a sheet of the design that was laid out before, with this order's stamp.
func (d *design) laid(s aSheet, m sheet.Metrics) (sheet.Document, bool) {
	d.mu.Lock()
	doc, ok := d.sheets[sheetKey(s)]
	d.mu.Unlock()
	if !ok || s.print.Stamp == "" {
		return doc, ok
	}
	return sheet.Restamp(doc, s.print.Stamp, m)
}

// keep keeps a sheet for the next order.
func (d *design) keep(s aSheet, doc sheet.Document) {
	items := 0
	for i := range doc.Pages {
		items += len(doc.Pages[i].Items)
	}
	for i := range doc.Forms {
		items += len(doc.Forms[i].Items)
	}
	if items > mostKept {
		return
	}
	key := sheetKey(s)
	d.mu.Lock()
	defer d.mu.Unlock()
	if _, known := d.sheets[key]; known {
		return
	}
	if len(d.order) == mostSheets {
		delete(d.sheets, d.order[0])
		d.order = d.order[1:]
	}
	if d.sheets == nil {
		d.sheets = map[string]sheet.Document{}
	}
	d.sheets[key] = doc
	d.order = append(d.order, key)
}
