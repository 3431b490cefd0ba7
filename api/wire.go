package api

import (
	"encoding/json"
	"net/url"
	"time"

	"sizerun/internal/document"
	"sizerun/internal/shop"
)

// The wire form of what the use cases answer. Members are only ever added.

func runURL(id string) string     { return "/v1/runs/" + url.PathEscape(id) }
func fileURL(id string) string    { return "/v1/files/" + url.PathEscape(id) }
func blockURL(name string) string { return "/v1/blocks/" + url.PathEscape(name) }
func styleURL(name string) string { return "/v1/styles/" + url.PathEscape(name) }

// stamp is a time in UTC as RFC 3339 has it; null when it has not come yet.
func stamp(t time.Time) *string {
	if t.IsZero() {
		return nil
	}
	s := t.UTC().Format(time.RFC3339Nano)
	return &s
}

// given is null for what was not given.
func given(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// list is a page of things. Items is never null.
type list[T any] struct {
	Items      []T     `json:"items"`
	NextCursor *string `json:"next_cursor"`
}

func listOf[S, T any](in []S, next string, wire func(S) T) list[T] {
	l := list[T]{Items: make([]T, len(in)), NextCursor: given(next)}
	for i, s := range in {
		l.Items[i] = wire(s)
	}
	return l
}

type documentWire struct {
	Name     string          `json:"name"`
	Title    string          `json:"title"`
	Version  string          `json:"version"`
	Block    string          `json:"block,omitempty"` // a style's
	Bytes    int             `json:"bytes"`
	SavedAt  *string         `json:"saved_at"`
	URL      string          `json:"url"`
	Document json.RawMessage `json:"document,omitempty"`
}

func blockWire(b shop.BlockInfo) documentWire {
	return documentWire{Name: b.Name, Title: b.Title, Version: b.Version, Bytes: b.Bytes, SavedAt: stamp(b.SavedAt), URL: blockURL(b.Name)}
}

func styleWire(s shop.StyleInfo) documentWire {
	return documentWire{Name: s.Name, Title: s.Title, Version: s.Version, Block: s.Block, Bytes: s.Bytes, SavedAt: stamp(s.SavedAt), URL: styleURL(s.Name)}
}

type runWire struct {
	ID           string       `json:"id"`
	URL          string       `json:"url"`
	State        string       `json:"state"`
	Style        string       `json:"style"`
	StyleVersion string       `json:"style_version"`
	Block        string       `json:"block"`
	BlockVersion string       `json:"block_version"`
	Engine       string       `json:"engine"`
	Sizes        []string     `json:"sizes"`
	Outputs      []outputWire `json:"outputs"`
	Deliver      string       `json:"deliver"`
	CancelAsked  bool         `json:"cancel_asked"`
	Progress     progressWire `json:"progress"`
	Problem      *problemWire `json:"problem"`
	Report       *summaryWire `json:"report"`
	Files        *[]fileWire  `json:"files,omitempty"` // absent in lists
	Stamp        string       `json:"stamp"`
	ExternalID   *string      `json:"external_id"`
	CreatedAt    *string      `json:"created_at"`
	StartedAt    *string      `json:"started_at"`
	FinishedAt   *string      `json:"finished_at"`
	ExpiresAt    *string      `json:"expires_at"`
}

type outputWire struct {
	Paper     string `json:"paper"`
	PerSize   bool   `json:"per_size"`
	SeamLines bool   `json:"seam_lines"`
	Kind      string `json:"kind"`
	Drawings  any    `json:"drawings,omitempty"` // "all", or a list of sizes
}

type progressWire struct {
	Stage string `json:"stage"`
	Done  int    `json:"done"`
	Total int    `json:"total"`
}

type summaryWire struct {
	Sizes  []string   `json:"sizes"`
	Pieces int        `json:"pieces"`
	Pages  int        `json:"pages"`
	Pass   int        `json:"pass"`
	Warn   int        `json:"warn"`
	Fail   int        `json:"fail"`
	BySize []sizeWire `json:"by_size"`
	URL    string     `json:"url,omitempty"`
}

type sizeWire struct {
	Size string `json:"size"`
	Pass int    `json:"pass"`
	Warn int    `json:"warn"`
	Fail int    `json:"fail"`
}

type fileWire struct {
	ID        string  `json:"id"`
	RunID     string  `json:"run_id"`
	Name      string  `json:"name"`
	MediaType string  `json:"media_type"`
	Paper     *string `json:"paper"`
	Pages     int     `json:"pages"`
	Bytes     int64   `json:"bytes"`
	SHA256    string  `json:"sha256"`
	URL       string  `json:"url"`
}

// runHead is a run as lists tell it.
func (a *API) runHead(r shop.Run) runWire {
	w := runWire{
		ID: r.ID, URL: runURL(r.ID), State: r.State,
		Style: r.Style, StyleVersion: r.StyleVersion, Block: r.Block, BlockVersion: r.BlockVersion, Engine: r.Engine,
		Sizes: orEmpty(r.Sizes), Outputs: make([]outputWire, len(r.Outputs)), Deliver: "checked", CancelAsked: r.CancelAsked,
		Progress: progressWire(r.Progress),
		Stamp:    r.Stamp, ExternalID: given(r.ExternalID),
		CreatedAt: stamp(r.CreatedAt), StartedAt: stamp(r.StartedAt), FinishedAt: stamp(r.FinishedAt), ExpiresAt: stamp(r.ExpiresAt),
	}
	for i, o := range r.Outputs {
		w.Outputs[i] = outputOf(o)
	}
	if r.DeliverAnyway {
		w.Deliver = "anyway"
	}
	if r.Report != nil {
		s := summaryOf(*r.Report)
		s.URL = runURL(r.ID) + "/report"
		w.Report = &s
	}
	if p := r.Problem; p != nil {
		k, known := kinds[p.Rule]
		name := p.Rule
		if !known {
			name, k = "gave_up", kinds["gave_up"]
		}
		w.Problem = &problemWire{Type: a.problemType(name), Title: k.title, Detail: p.Detail, Errors: errorItems(p.Faults)}
		if p.Detail == "" {
			w.Problem.Detail = k.title
		}
	}
	return w
}

// run is a run with its files.
func (a *API) run(r shop.Run) runWire {
	w := a.runHead(r)
	fs := filesOf(r.Files)
	w.Files = &fs
	return w
}

func outputOf(o document.Output) outputWire {
	kind := "pattern"
	if o.Companion {
		kind = "companion"
	}
	w := outputWire{Paper: o.Paper, PerSize: o.PerSize, SeamLines: o.SeamLines, Kind: kind}
	switch {
	case o.EveryDrawing:
		w.Drawings = "all"
	case len(o.Drawings) > 0:
		w.Drawings = o.Drawings
	}
	return w
}

func summaryOf(s shop.Summary) summaryWire {
	w := summaryWire{Sizes: orEmpty(s.Sizes), Pieces: s.Pieces, Pages: s.Pages, Pass: s.Pass, Warn: s.Warn, Fail: s.Fail, BySize: make([]sizeWire, len(s.BySize))}
	for i, b := range s.BySize {
		w.BySize[i] = sizeWire(b)
	}
	return w
}

func filesOf(fs []shop.FileInfo) []fileWire {
	out := make([]fileWire, len(fs))
	for i, f := range fs {
		out[i] = fileWire{ID: f.ID, RunID: f.RunID, Name: f.Name, MediaType: f.MediaType, Paper: given(f.Paper), Pages: f.Pages, Bytes: f.Bytes, SHA256: f.SHA256, URL: fileURL(f.ID)}
	}
	return out
}

func orEmpty(s []string) []string {
	if s == nil {
		return []string{}
	}
	return s
}
