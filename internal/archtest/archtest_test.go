// Package archtest holds the import rule of the house as a test: which room may know of which.
// The same rule stands in .golangci.yml for editors; this one runs with every `go test`.
package archtest

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

const module = "sizerun"

// allowed tells, per room, the rooms that it may import. A room stands for its whole folder.
// What is not listed is refused, so that a new room must be given its place here.
var allowed = map[string][]string{
	"internal/geom":        {},
	"internal/geom/offset": {"internal/geom"},
	"internal/pattern":     {"internal/geom"},
	"internal/draft":       {"internal/pattern", "internal/geom"},
	// A drafted block is graded by being drawn again in each size, so whoever grades drafts.
	"internal/grade":     {"internal/draft", "internal/pattern", "internal/geom"},
	"internal/allowance": {"internal/pattern", "internal/geom", "internal/geom/offset"},
	"internal/inspect":   {"internal/pattern", "internal/geom", "internal/geom/offset", "internal/allowance"},
	// change draws parallels: a facing follows its edge, a collar its neck.
	"internal/change": {"internal/pattern", "internal/geom", "internal/geom/offset", "internal/inspect"},
	"internal/sheet":  {"internal/geom"},
	"internal/book":   {"internal/pattern", "internal/geom", "internal/allowance", "internal/change", "internal/inspect", "internal/sheet"},
	"internal/maker": {"internal/pattern", "internal/geom", "internal/grade", "internal/change", "internal/allowance",
		"internal/inspect", "internal/book", "internal/sheet"},
	"internal/document":  {"internal/charts", "internal/draft", "internal/pattern", "internal/geom", "internal/inspect", "internal/change", "internal/maker"},
	"internal/write/pdf": {"internal/sheet", "internal/geom", "internal/pattern"},
	"internal/write/svg": {"internal/sheet", "internal/geom", "internal/pattern"},
	"internal/workroom": {"internal/geom", "internal/document", "internal/maker", "internal/change", "internal/pattern", "internal/sheet", "internal/shop",
		"internal/write/pdf", "internal/write/svg"},
	"internal/shop":           {"internal/pattern", "internal/document", "internal/maker"},
	"internal/store":          {"internal/shop"},
	"internal/store/db":       {"internal/shop"},
	"internal/store/sqlstore": {"internal/shop", "internal/store/db"},
	"internal/store/postgres": {"internal/shop", "internal/store", "internal/store/db", "internal/store/sqlstore", "migrations"},
	"internal/store/embedded": {"internal/shop", "internal/store", "internal/store/db", "internal/store/sqlstore", "migrations"},
	"internal/queue":          {"internal/shop"},
	"internal/files":          {"internal/shop"},
	"internal/files/bucket":   {"internal/files", "internal/shop"},
	"internal/hooks":          {"internal/shop"},
	"internal/config":         {},
	"internal/observe":        {},
	"internal/observe/meters": {"internal/shop"},
	"internal/observe/traces": {"internal/shop"},
	"api":                     {"internal/shop", "internal/document", "internal/pattern", "internal/observe", "openapi", "openapi/docs"},
	"workers":                 {"internal/shop", "internal/queue", "internal/observe"},
	"openapi":                 {},
	"openapi/docs":            {},
	"migrations":              {},
	"internal/charts":         {},

	"openapi/typescript/contract": {"openapi"},
}

// core is pure: values in, values out.
var core = []string{
	"internal/geom", "internal/geom/offset", "internal/pattern", "internal/draft", "internal/grade", "internal/allowance",
	"internal/change", "internal/inspect", "internal/sheet", "internal/book", "internal/maker",
}

// impure names what the core must not reach for.
var impure = []string{
	"context", "database/", "encoding/json", "io/fs", "log", "math/rand", "net", "os", "sync", "syscall", "time",
}

// drawer is the one package that may import the drawing library.
const drawer = "internal/write/pdf"

func root(t *testing.T) string {
	t.Helper()
	dir, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	return filepath.Join(dir, "..", "..")
}

// imports calls visit for each import of each Go file that is not a test.
func imports(t *testing.T, visit func(room, file, path string)) {
	t.Helper()
	base := root(t)
	seen := 0
	err := filepath.WalkDir(base, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if name != "." && (strings.HasPrefix(name, ".") || strings.HasPrefix(name, "_") || name == "testdata" || name == "node_modules") && path != base {
				return filepath.SkipDir
			}
			if _, err := os.Stat(filepath.Join(path, "go.mod")); err == nil && path != base {
				return filepath.SkipDir // a module of its own: tools, witnesses
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(base, path)
		if err != nil {
			return err
		}
		seen++
		for _, im := range f.Imports {
			p, err := strconv.Unquote(im.Path.Value)
			if err != nil {
				return err
			}
			visit(filepath.ToSlash(filepath.Dir(rel)), rel, p)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 50 {
		t.Fatalf("saw only %d files: the walk is broken", seen)
	}
}

func exempt(room string) bool {
	return strings.HasPrefix(room, "cmd") || strings.HasPrefix(room, "internal/testkit") || strings.HasPrefix(room, "deploy") ||
		forTests(room)
}

// forTests tells the conformance suites, drawers of fixtures and referees that only tests import.
func forTests(room string) bool {
	base := room[strings.LastIndex(room, "/")+1:]
	return base == "conform" || strings.HasSuffix(base, "test") && room != "internal/archtest"
}

func TestRoomsKnowOnlyTheRoomsBelowThem(t *testing.T) {
	imports(t, func(room, file, path string) {
		rest, ours := strings.CutPrefix(path, module+"/")
		if exempt(room) {
			return
		}
		may, known := allowed[room]
		if !known {
			t.Errorf("%s: room %s has no place in the import rule; add it to archtest", file, room)
			return
		}
		if ours && (strings.HasPrefix(rest, "internal/testkit") || forTests(rest)) {
			t.Errorf("%s imports %s: test helpers are for tests only", file, path)
			return
		}
		if !ours {
			return
		}
		for _, m := range may {
			if rest == m {
				return
			}
		}
		t.Errorf("%s imports %s, which %s may not know", file, path, room)
	})
}

func TestCoreIsPure(t *testing.T) {
	in := map[string]bool{}
	for _, r := range core {
		in[r] = true
	}
	imports(t, func(room, file, path string) {
		if !in[room] {
			return
		}
		for _, p := range impure {
			if path == strings.TrimSuffix(p, "/") || strings.HasPrefix(path, strings.TrimSuffix(p, "/")+"/") {
				t.Errorf("%s imports %s: the core does no I/O, keeps no clock and starts nothing", file, path)
			}
		}
		if !strings.HasPrefix(path, module+"/") && strings.Contains(strings.Split(path, "/")[0], ".") {
			t.Errorf("%s imports %s: the core stands on the standard library alone", file, path)
		}
	})
}

func TestOnlyOneRoomKnowsTheDrawingLibrary(t *testing.T) {
	imports(t, func(room, file, path string) {
		if strings.HasPrefix(path, "github.com/tdewolff/") && room != drawer {
			t.Errorf("%s imports %s; only %s may", file, path, drawer)
		}
	})
}

func TestOnlyTheirRoomsKnowHowThingsAreObserved(t *testing.T) {
	imports(t, func(room, file, path string) {
		if strings.HasPrefix(path, "github.com/prometheus/") && room != "internal/observe/meters" {
			t.Errorf("%s imports %s; only internal/observe/meters may", file, path)
		}
		if strings.HasPrefix(path, "go.opentelemetry.io/") && room != "internal/observe/traces" && room != "internal/observe" {
			t.Errorf("%s imports %s; only internal/observe may", file, path)
		}
	})
}

func TestOnlyTheEdgeKnowsEcho(t *testing.T) {
	imports(t, func(room, file, path string) {
		if strings.HasPrefix(path, "github.com/labstack/") && room != "api" {
			t.Errorf("%s imports %s; only api may", file, path)
		}
	})
}
