// Package shopkit is what tests of the service need and the trade does not: a maker that makes
// something small, quickly and the same each time, and that can be told to misbehave; and the
// documents that it is fed.
package shopkit

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"strings"
	"sync/atomic"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
)

// Block is a block document: a plain sleeve in three sizes.
func Block(name string) []byte {
	return []byte(`{ "block": "` + name + `", "title": "A plain sleeve", "unit": "mm", "drawn": "seam",
  "sizes": { "base": "10", "run": ["8", "10", "12"], "body": { "bust": [840, 880, 920] } },
  "pieces": { "sleeve": { "title": "Sleeve", "cut": { "count": 2, "pair": true, "cloth": "main" },
    "points": { "a": [0, 0], "b": [300, 0], "c": [300, 400], "d": [0, 400] },
    "outline": [ { "edge": "hem", "from": "a", "to": "b" }, { "edge": "front", "from": "b", "to": "c" },
                 { "edge": "cap", "from": "c", "to": "d" }, { "edge": "back", "from": "d", "to": "a" } ],
    "grain": { "from": [150, 50], "to": [150, 350] }, "align": "a",
    "grade": { "b": { "x": { "bust": 0.25 } }, "c": { "x": { "bust": 0.25 } } } } },
  "seams": [] }`)
}

// Style is a style document on a block.
func Style(name, block string) []byte {
	return []byte(`{ "style": "` + name + `", "title": "A sleeve", "block": "` + block + `", "changes": [], "allowances": { "default": "15mm" } }`)
}

// Maker is a shop.Maker. What it makes depends on its input alone.
type Maker struct {
	Engine string // "test-1" when empty
	// Before, when not nil, is called at the beginning of each Make; what it does happens to the
	// run: it may answer an error, panic, or wait.
	Before func(ctx context.Context, m shop.Making) error
	// FailChecks makes every check fail.
	FailChecks atomic.Bool
	// Refuse, when not nil, is what Check and Make answer.
	Refuse error

	Checks, Makes atomic.Int64
}

var _ shop.Maker = (*Maker)(nil)

// sizes answers the sizes that a request means: the block's when it asks for all.
func sizes(m shop.Making) ([]string, error) {
	b, err := document.DecodeBlock(m.Block, document.DefaultLimits())
	if err != nil {
		return nil, err
	}
	var out []string
	if m.Request.Sizes == nil {
		out = append(out, b.Chart.Run...)
	}
	for i, s := range m.Request.Sizes {
		if b.Chart.Index(s) < 0 {
			return nil, pattern.Faults{{Rule: "unknown_size", Pointer: fmt.Sprintf("/sizes/%d", i), Size: s, Detail: "the block has no such size",
				Valid: strings.Join(b.Chart.Run, ", "), Remedy: "name one of them"}}
		}
		out = append(out, s)
	}
	for _, b := range m.Request.Bodies {
		out = append(out, b.Name)
	}
	return out, nil
}

// Check implements shop.Maker.
func (k *Maker) Check(_ context.Context, m shop.Making) ([]byte, shop.Summary, error) {
	k.Checks.Add(1)
	return k.check(m)
}

func (k *Maker) check(m shop.Making) ([]byte, shop.Summary, error) {
	if k.Refuse != nil {
		return nil, shop.Summary{}, k.Refuse
	}
	names, err := sizes(m)
	if err != nil {
		return nil, shop.Summary{}, err
	}
	s := shop.Summary{Sizes: names, Pieces: 1}
	for _, n := range names {
		b := shop.SizeSummary{Size: n, Pass: 1}
		if k.FailChecks.Load() {
			b = shop.SizeSummary{Size: n, Fail: 1}
		}
		s.BySize = append(s.BySize, b)
		s.Pass, s.Fail = s.Pass+b.Pass, s.Fail+b.Fail
	}
	report, err := json.Marshal(s)
	return report, s, err
}

// Make implements shop.Maker.
func (k *Maker) Make(ctx context.Context, m shop.Making, progress func(string, int, int)) (shop.Product, error) {
	k.Makes.Add(1)
	if k.Before != nil {
		if err := k.Before(ctx, m); err != nil {
			return shop.Product{}, err
		}
	}
	report, s, err := k.check(m)
	if err != nil {
		return shop.Product{}, err
	}
	p := shop.Product{Report: report, Failed: s.Fail > 0}
	for i := range s.Sizes {
		if err := ctx.Err(); err != nil {
			return shop.Product{}, err
		}
		progress("grade", i+1, len(s.Sizes))
	}
	for _, o := range m.Request.Outputs {
		h := sha256.Sum256(fmt.Appendf(nil, "%s|%s|%v|%v|%s|%v", m.Block, m.Style, s.Sizes, m.Request.Bodies, m.Request.Stamp, o))
		p.Files = append(p.Files, shop.ProductFile{Name: m.Request.Style + "-" + strings.ReplaceAll(o.Paper, "+", "-") + ".pdf",
			MediaType: "application/pdf", Paper: o.Paper, Pages: len(s.Sizes), Data: fmt.Appendf(nil, "%%PDF-test %x", h)})
		s.Pages += len(s.Sizes)
	}
	p.Summary = s
	return p, nil
}

// Preview implements shop.Maker.
func (k *Maker) Preview(_ context.Context, m shop.Making) ([]byte, error) {
	_, s, err := k.check(m)
	if err != nil {
		return nil, err
	}
	return fmt.Appendf(nil, "<svg xmlns=\"http://www.w3.org/2000/svg\" data-sizes=\"%d\"/>", len(s.Sizes)), nil
}

// Changes implements shop.Maker.
func (k *Maker) Changes() []byte { return []byte(`{"changes":[]}`) }

// Version implements shop.Maker.
func (k *Maker) Version() string {
	if k.Engine == "" {
		return "test-1"
	}
	return k.Engine
}
