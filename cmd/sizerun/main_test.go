package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"sizerun/testdata"
)

// call runs the program in this process.
func call(t *testing.T, args ...string) (code int, out, errOut string) {
	t.Helper()
	var o, e bytes.Buffer
	code = run(context.Background(), args, &o, &e)
	return code, o.String(), e.String()
}

// demoFile writes a demo document into a folder and tells its name. spoil edits it first.
func demoFile(t *testing.T, dir, name string, spoil func(string) string) string {
	t.Helper()
	b, err := testdata.Files.ReadFile(name + ".json")
	if err != nil {
		t.Fatal(err)
	}
	s := string(b)
	if spoil != nil {
		if s = spoil(s); s == string(b) {
			t.Fatal("nothing was spoiled")
		}
	}
	file := filepath.Join(dir, filepath.Base(name)+".json")
	if err := os.WriteFile(file, []byte(s), 0o600); err != nil {
		t.Fatal(err)
	}
	return file
}

func replace(old, new string) func(string) string {
	return func(s string) string { return strings.Replace(s, old, new, 1) }
}

func TestCheckTellsWhetherAStyleSews(t *testing.T) {
	dir := t.TempDir()
	style := demoFile(t, dir, "styles/wren-petal", nil)
	code, out, errOut := call(t, "check", style, "--sizes", "6,14,28")
	if code != exitOK || !strings.Contains(out, "cap_ease") || !strings.Contains(out, "petal_together") {
		t.Fatalf("exit %d\n%s%s", code, out, errOut)
	}
	// The block beside the style comes before the built-in one.
	demoFile(t, dir, "blocks/wren-w", replace(`"crown": [0, 156]`, `"crown": [0, 186]`))
	code, out, _ = call(t, "check", style, "--sizes", "14")
	if code != exitFailed || !strings.Contains(out, "fail") {
		t.Errorf("a cap 30 mm too high: exit %d\n%s", code, out)
	}
	code, out, _ = call(t, "check", style, "--sizes", "14", "--json")
	var report struct{ Fail int }
	if err := json.Unmarshal([]byte(out), &report); err != nil || report.Fail == 0 || code != exitFailed {
		t.Errorf("exit %d, %d fail, %v", code, report.Fail, err)
	}
}

func TestCheckTakesABlockByItself(t *testing.T) {
	block := demoFile(t, t.TempDir(), "blocks/wren-w", nil)
	if code, out, errOut := call(t, "check", block); code != exitOK || !strings.Contains(out, "seam_length") {
		t.Errorf("exit %d\n%s%s", code, out, errOut)
	}
}

func TestARefusedInputExitsWithTwoAndNamesThePlace(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(string) string
		args  []string
		says  string
	}{
		"cut short":      {func(s string) string { return s[:len(s)/2] }, nil, "/style"},
		"unknown member": {replace(`"changes"`, `"chances"`), nil, "changes"},
		"misspelt piece": {replace(`"piece": "sleeve"`, `"piece": "sleave"`), nil, "sleeve"},
		"hem too far":    {replace(`"2in"`, `"90in"`), nil, "/style/changes/0"},
		"unknown size":   {replace(`"2in"`, `"50mm"`), []string{"--sizes", "15"}, "/sizes/0"},
	} {
		t.Run(name, func(t *testing.T) {
			style := demoFile(t, t.TempDir(), "styles/wren-petal", c.spoil)
			code, out, errOut := call(t, append([]string{"check", style}, c.args...)...)
			if code != exitRefused || !strings.Contains(errOut, c.says) || out != "" {
				t.Errorf("exit %d, want %d and %q\n%s%s", code, exitRefused, c.says, out, errOut)
			}
			dir := filepath.Join(t.TempDir(), "out")
			if code, _, _ := call(t, append([]string{"make", style, "--out", dir}, c.args...)...); code != exitRefused {
				t.Errorf("make exits with %d", code)
			}
			if _, err := os.Stat(dir); !os.IsNotExist(err) {
				t.Error("make left something behind")
			}
		})
	}
	if code, _, errOut := call(t, "make", "style.json"); code != exitRefused || !strings.Contains(errOut, "--out") {
		t.Errorf("a missing flag: exit %d, %s", code, errOut)
	}
}

func TestMakeLeavesWholeFiles(t *testing.T) {
	dir := t.TempDir()
	style := demoFile(t, dir, "styles/wren-petal", nil)
	out := filepath.Join(dir, "out")
	code, table, errOut := call(t, "make", style, "--out", out, "--sizes", "8,10,12", "--paper", "A4,Letter,A0")
	if code != exitOK {
		t.Fatalf("exit %d\n%s%s", code, table, errOut)
	}
	for _, name := range []string{"report.json", "wren-petal-A4.pdf", "wren-petal-Letter.pdf", "wren-petal-A0.pdf"} {
		b, err := os.ReadFile(filepath.Join(out, name))
		if err != nil {
			t.Error(err)
			continue
		}
		if strings.HasSuffix(name, ".pdf") && (!bytes.HasPrefix(b, []byte("%PDF-")) || !bytes.Contains(b[len(b)-32:], []byte("%%EOF"))) {
			t.Errorf("%s is not a whole PDF", name)
		}
		if !strings.Contains(table, name) {
			t.Errorf("the table does not name %s:\n%s", name, table)
		}
	}
	if left, _ := filepath.Glob(filepath.Join(out, ".part-*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestMakeWithholdsWhatDoesNotSew(t *testing.T) {
	dir := t.TempDir()
	demoFile(t, dir, "blocks/wren-w", replace(`"crown": [0, 156]`, `"crown": [0, 186]`))
	style := demoFile(t, dir, "styles/wren-petal", nil)
	out := filepath.Join(dir, "out")
	if code, _, _ := call(t, "make", style, "--out", out, "--sizes", "14", "--paper", "A0"); code != exitFailed {
		t.Errorf("exit %d", code)
	}
	if _, err := os.Stat(filepath.Join(out, "report.json")); err != nil {
		t.Error(err)
	}
	if pdfs, _ := filepath.Glob(filepath.Join(out, "*.pdf")); len(pdfs) > 0 {
		t.Errorf("delivered %v", pdfs)
	}
	call(t, "make", style, "--out", out, "--sizes", "14", "--paper", "A0", "--anyway")
	if pdfs, _ := filepath.Glob(filepath.Join(out, "*.pdf")); len(pdfs) != 1 {
		t.Errorf("anyway: %v", pdfs)
	}
}

func TestTheDemoGoesTheWholeWay(t *testing.T) {
	out := t.TempDir()
	code, table, errOut := call(t, "demo", "--out", out)
	if code != exitOK {
		t.Fatalf("exit %d\n%s%s", code, table, errOut)
	}
	raw, err := os.ReadFile(filepath.Join(out, "run.json"))
	if err != nil {
		t.Fatal(err)
	}
	var r runJSON
	if err := json.Unmarshal(raw, &r); err != nil {
		t.Fatal(err)
	}
	if r.State != "done" || r.Report.Fail != 0 || len(r.Files) != 5 || len(r.Report.BySize) != 12 {
		t.Errorf("%+v", r)
	}
	for _, f := range r.Files {
		if info, err := os.Stat(filepath.Join(out, f.Name)); err != nil || info.Size() != int64(f.Bytes) {
			t.Errorf("%s: %v", f.Name, err)
		}
	}
}

func TestHelpAndVersion(t *testing.T) {
	if code, out, _ := call(t, "--help"); code != exitOK || !strings.Contains(out, "demo") {
		t.Errorf("exit %d\n%s", code, out)
	}
	if code, out, _ := call(t, "version"); code != exitOK || !strings.HasPrefix(out, "sizerun-") {
		t.Errorf("exit %d %s", code, out)
	}
	if code, _, errOut := call(t, "mend"); code != exitRefused || errOut == "" {
		t.Errorf("exit %d", code)
	}
}
