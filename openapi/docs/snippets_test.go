package docs_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"sizerun/internal/testkit"
)

// The vector of Standard Webhooks 1.0.0.
const (
	vectorSecret    = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
	vectorID        = "msg_p5jXN8AQM9LWM0D4loKWxJek"
	vectorBody      = `{"test": 2432232314}`
	vectorSignature = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="
	vectorTime      = "1614265330"
)

// cases are what each snippet is asked: id, time, signature, body, now, and whether it holds.
var cases = [][6]string{
	{vectorID, vectorTime, vectorSignature, vectorBody, vectorTime, "yes"},
	{vectorID, vectorTime, "v1,AAAA " + vectorSignature, vectorBody, "1614265530", "yes"}, // while a secret is rotated
	{vectorID, vectorTime, vectorSignature, vectorBody + " ", vectorTime, "no"},
	{"msg_other", vectorTime, vectorSignature, vectorBody, vectorTime, "no"},
	{vectorID, vectorTime, "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OF=", vectorBody, vectorTime, "no"},
	{vectorID, vectorTime, "v1a," + vectorSignature[3:], vectorBody, vectorTime, "no"},
	{vectorID, vectorTime, "", vectorBody, vectorTime, "no"},
	{vectorID, vectorTime, vectorSignature, vectorBody, "1614265900", "no"}, // sent again by somebody, later
	{vectorID, "soon", vectorSignature, vectorBody, vectorTime, "no"},
}

// What is shown verifies, with the interpreter of each language, and refuses what was tampered with.
// The programs get the cases as arguments and print a word for each.
func TestEachSnippetVerifiesTheStandardsVector(t *testing.T) {
	for _, s := range []struct {
		file, as, tool, pkg string
		driver, driverName  string
		args                []string
	}{
		{"verify.go.txt", "verify.go", "go", "golang", `package main

import (
	"fmt"
	"net/http"
	"os"
	"strconv"
	"time"
)

func main() {
	for a := os.Args[1:]; len(a) > 5; a = a[6:] {
		h := http.Header{}
		h.Set("webhook-id", a[0])
		h.Set("webhook-timestamp", a[1])
		h.Set("webhook-signature", a[2])
		now, _ := strconv.ParseInt(a[4], 10, 64)
		fmt.Println(map[bool]string{true: "yes", false: "no"}[verify("` + vectorSecret + `", h, []byte(a[3]), time.Unix(now, 0))])
	}
}
`, "main.go", []string{"run", "verify.go", "main.go"}},
		{"verify.mjs", "verify.mjs", "node", "nodejs", `import { verify } from "./verify.mjs";
for (let a = process.argv.slice(2); a.length > 5; a = a.slice(6)) {
  const h = { "webhook-id": a[0], "webhook-timestamp": a[1], "webhook-signature": a[2] };
  console.log(verify("` + vectorSecret + `", h, Buffer.from(a[3]), Number(a[4])) ? "yes" : "no");
}
`, "main.mjs", []string{"main.mjs"}},
		{"verify.py", "verify.py", "python3", "python3", `import sys
from verify import verify
a = sys.argv[1:]
while len(a) > 5:
    h = {"webhook-id": a[0], "webhook-timestamp": a[1], "webhook-signature": a[2]}
    print("yes" if verify("` + vectorSecret + `", h, a[3].encode(), int(a[4])) else "no")
    a = a[6:]
`, "main.py", []string{"main.py"}},
		{"verify.php", "verify.php", "php", "php-cli", `<?php
require 'verify.php';
for ($a = array_slice($argv, 1); count($a) > 5; $a = array_slice($a, 6)) {
    $h = ['webhook-id' => $a[0], 'webhook-timestamp' => $a[1], 'webhook-signature' => $a[2]];
    echo verify('` + vectorSecret + `', $h, $a[3], (int) $a[4]) ? "yes\n" : "no\n";
}
`, "main.php", []string{"main.php"}},
	} {
		t.Run(s.file, func(t *testing.T) {
			tool, err := exec.LookPath(s.tool)
			if err != nil {
				testkit.Missing(t, s.tool, s.pkg)
			}
			code, err := os.ReadFile(filepath.Join("snippets", s.file))
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			for name, text := range map[string]string{s.as: string(code), s.driverName: s.driver} {
				if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
					t.Fatal(err)
				}
			}
			args := s.args
			var want []string
			for _, c := range cases {
				args = append(args, c[:]...)
				want = append(want, c[5])
			}
			c := exec.Command(tool, args...)
			c.Dir = dir
			out, err := c.CombinedOutput()
			if err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			if got := strings.Fields(string(out)); strings.Join(got, " ") != strings.Join(want, " ") {
				t.Errorf("it says %v, want %v", got, want)
			}
		})
	}
}
