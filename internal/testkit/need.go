// Package testkit is what tests share: outside tools and how to be without them. Only tests import
// it.
package testkit

import (
	"os"
	"os/exec"
	"testing"
)

// RequireEnv makes a missing tool or service a failure instead of a skip: the gate sets it, so
// that a check against an outside witness cannot go missing unseen.
const RequireEnv = "REQUIRE_SERVICES"

// debian tells which package a tool comes in, where the names differ.
var debian = map[string]string{
	"mutool": "mupdf-tools", "pdftotext": "poppler-utils", "pdffonts": "poppler-utils",
	"pdfinfo": "poppler-utils", "pdftocairo": "poppler-utils", "pdftoppm": "poppler-utils",
	"fitz": "python3-fitz", "ezdxf": "python3-ezdxf", "shapely": "python3-shapely",
	"fontTools": "python3-fonttools", "paperconf": "libpaper-utils", "xmllint": "libxml2-utils", "rsvg-convert": "librsvg2-bin",
}

// Need returns the path of an outside tool. Without it the test is skipped, or fails when
// RequireEnv is 1.
func Need(t testing.TB, tool string) string {
	t.Helper()
	path, err := exec.LookPath(tool)
	if err != nil {
		missing(t, tool)
	}
	return path
}

// Python is Debian's own interpreter: only it sees the python3-… packages.
const Python = "/usr/bin/python3"

// NeedPython returns the path of an interpreter that can import the modules. Without them the test
// is skipped, or fails when RequireEnv is 1.
func NeedPython(t testing.TB, modules ...string) string {
	t.Helper()
	for _, m := range modules {
		if err := exec.Command(Python, "-c", "import "+m).Run(); err != nil {
			missing(t, m)
		}
	}
	return Python
}

func missing(t testing.TB, tool string) {
	t.Helper()
	pkg := tool
	if p, ok := debian[tool]; ok {
		pkg = p
	}
	if os.Getenv(RequireEnv) == "1" {
		t.Fatalf("%s is needed (%s=1): apt-get install -y %s", tool, RequireEnv, pkg)
	}
	t.Skipf("skipped: %s is not installed: apt-get install -y %s", tool, pkg)
}
