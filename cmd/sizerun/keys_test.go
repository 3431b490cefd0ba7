package main

import (
	"regexp"
	"strings"
	"testing"
)

// An operator makes, lists, rotates and revokes keys beside a service that may be running.
func TestAnOperatorLooksAfterKeys(t *testing.T) {
	t.Setenv("SIZERUN_DATA", t.TempDir())
	do := func(want int, args ...string) string {
		t.Helper()
		code, out, errOut := call(t, args...)
		if code != want {
			t.Fatalf("%v: exit %d\n%s%s", args, code, out, errOut)
		}
		return out + errOut
	}
	const shopName = "Rookery Lane Patterns"
	whole := regexp.MustCompile(`^szr_([a-z2-7]{16})_[a-z2-7]{52}\n$`)
	made := do(exitOK, "key", "add", shopName, "--scope", "read", "--description", "the web shop")
	m := whole.FindStringSubmatch(made)
	if m == nil {
		t.Fatalf("made: %q", made)
	}
	do(exitOK, "key", "add", shopName, "--sandbox")
	if out := do(exitRefused, "key", "add", shopName, "--sandbox", "--scope", "admin"); !strings.Contains(out, "sandbox") {
		t.Errorf("refused with %q", out)
	}
	do(exitRefused, "key", "add", shopName, "--scope", "owner")

	list := do(exitOK, "key", "list", shopName)
	lines := strings.Split(strings.TrimSpace(list), "\n")
	if len(lines) != 3 || !strings.Contains(lines[1], "make, sandbox") || !strings.Contains(lines[2], m[1]) || !strings.Contains(lines[2], "the web shop") || !strings.Contains(lines[2], "never") {
		t.Errorf("the list:\n%s", list)
	}
	if strings.Contains(list, made[21:40]) {
		t.Error("the list shows a secret")
	}

	turned := do(exitOK, "key", "rotate", shopName, m[1], "--grace", "1h")
	if again := whole.FindStringSubmatch(turned); again == nil || again[1] != m[1] || turned == made {
		t.Errorf("rotated: %q", turned)
	}
	if list := do(exitOK, "key", "list", shopName); !strings.Contains(list, "the old secret too") {
		t.Errorf("after the rotation:\n%s", list)
	}
	do(exitOK, "key", "revoke", shopName, m[1])
	if list := do(exitOK, "key", "list", shopName); !strings.Contains(list, "revoked 20") {
		t.Errorf("after the revocation:\n%s", list)
	}
	do(exitFailed, "key", "rotate", shopName, m[1])
	do(exitFailed, "key", "revoke", shopName, "nobody")
	if out := do(exitFailed, "key", "list", "Another Shop"); !strings.Contains(out, "Another Shop") {
		t.Errorf("an unknown shop: %q", out)
	}
}

// An operator sets a shop's quota, sees it, and gives it back.
func TestAnOperatorSetsQuotas(t *testing.T) {
	t.Setenv("SIZERUN_DATA", t.TempDir())
	t.Setenv("SIZERUN_PAGES_A_DAY", "700")
	do := func(want int, args ...string) string {
		t.Helper()
		code, out, errOut := call(t, append([]string{"shop", "quota"}, args...)...)
		if code != want {
			t.Fatalf("%v: exit %d\n%s%s", args, code, out, errOut)
		}
		return strings.Join(strings.Fields(out), " ")
	}
	if code, _, errOut := call(t, "key", "add", "Heron Street"); code != exitOK {
		t.Fatal(errOut)
	}
	const plain = "of used may have runs at once 0 10000 runs today 0 any number pages today 0 700 bytes kept 0 any number"
	if got := do(exitOK, "Heron Street"); got != plain {
		t.Errorf("at first: %s", got)
	}
	if got := do(exitOK, "Heron Street", "--runs-a-day", "20", "--pages-a-day=0", "--bytes-kept", "5000000000"); got != "of used may have runs at once 0 10000 runs today 0 20 pages today 0 any number bytes kept 0 5000000000" {
		t.Errorf("set: %s", got)
	}
	if got := do(exitOK, "Heron Street", "--unset"); got != plain {
		t.Errorf("given back: %s", got)
	}
	do(exitFailed, "Heron Street", "--runs-a-day=-1")
	do(exitFailed, "Nobody")
}
