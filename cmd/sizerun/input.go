package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"path/filepath"
	"strings"

	"sizerun/internal/document"
	"sizerun/internal/pattern"
	"sizerun/internal/shop"
	"sizerun/testdata"
)

// maxDocument bounds what the command line reads from a file; the decoder has its own limits.
const maxDocument = 16 << 20

// readFile reads a document, "-" from standard input.
func readFile(name string) ([]byte, error) {
	f := os.Stdin
	if name != "-" {
		var err error
		if f, err = os.Open(name); err != nil {
			return nil, err
		}
		defer f.Close()
	}
	b, err := io.ReadAll(io.LimitReader(f, maxDocument+1))
	if err == nil && len(b) > maxDocument {
		err = fmt.Errorf("%s is larger than %d bytes", name, maxDocument)
	}
	return b, err
}

// head is what tells a block from a style before either is decoded.
type head struct {
	Style  string          `json:"style"`
	Block  string          `json:"block"`
	Title  string          `json:"title"`
	Pieces json.RawMessage `json:"pieces"`
	Draft  json.RawMessage `json:"draft"`
}

func peek(raw []byte) head {
	var h head
	_ = json.Unmarshal(raw, &h) // a document that is no JSON is refused by its decoder, with the place
	return h
}

// order gathers the documents of one making.
func order(styleFile, blockFile string, sizes []string) (shop.Making, error) {
	raw, err := readFile(styleFile)
	if err != nil {
		return shop.Making{}, err
	}
	h := peek(raw)
	m := shop.Making{Style: raw}
	if h.Style == "" && len(h.Pieces)+len(h.Draft) > 0 {
		// A block by itself is the style without changes.
		m.Block = raw
		if m.Style, err = plain(h); err != nil {
			return shop.Making{}, err
		}
	} else if m.Block, err = findBlock(h.Block, blockFile, styleFile); err != nil {
		return shop.Making{}, err
	}
	if len(sizes) != 1 || sizes[0] != "all" {
		m.Request.Sizes = sizes
	}
	return m, nil
}

// plain is the style of a block as it is.
func plain(h head) ([]byte, error) {
	return json.Marshal(map[string]any{"style": h.Block, "title": h.Title, "block": h.Block, "changes": []any{}, "allowances": map[string]any{"default": "5/8in"}})
}

// findBlock looks for a style's block: the file named, then NAME.json beside the style, in a folder
// "blocks" beside it or beside its folder, then the built-in demo.
func findBlock(name, file, styleFile string) ([]byte, error) {
	if file != "" {
		return readFile(file)
	}
	if !pattern.ValidName(name) {
		return nil, pattern.Faults{{Rule: "missing_member", Pointer: "/style/block", Detail: "the style does not name its block", Remedy: "add \"block\": the block's name"}}
	}
	dir := filepath.Dir(styleFile)
	for _, p := range []string{filepath.Join(dir, name+".json"), filepath.Join(dir, "blocks", name+".json"), filepath.Join(dir, "..", "blocks", name+".json")} {
		b, err := readFile(p)
		if err == nil {
			return b, nil
		}
		if !errors.Is(err, os.ErrNotExist) {
			return nil, err
		}
	}
	if b, err := testdata.Files.ReadFile(path.Join("blocks", name+".json")); err == nil {
		return b, nil
	}
	return nil, fmt.Errorf("block %q of %s was not found beside it; name its file with --block", name, styleFile)
}

// papers reads "A4,Letter" into outputs.
func papers(list []string, perSize, seamLines bool) []document.Output {
	var out []document.Output
	for _, p := range list {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, document.Output{Paper: p, PerSize: perSize, SeamLines: seamLines})
		}
	}
	return out
}

// refused tells an input that was refused from a failure of ours.
func refused(err error) bool {
	var fs pattern.Faults
	var f pattern.Fault
	var e *shop.Error
	return errors.As(err, &fs) || errors.As(err, &f) || errors.As(err, &e) && len(e.Faults) > 0
}

func printFaults(w io.Writer, err error) {
	fs := pattern.FaultsOf(err)
	var e *shop.Error
	if errors.As(err, &e) {
		fs = e.Faults
	}
	const most = 20
	for i, f := range fs {
		if i == most {
			fmt.Fprintf(w, "  and %d more\n", len(fs)-most)
			return
		}
		fmt.Fprintln(w, "  "+f.Error())
	}
}
