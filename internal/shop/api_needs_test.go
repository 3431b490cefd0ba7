package shop

import (
	"fmt"
	"testing"
	"time"
)

func TestKeyReusedKnowsThatRefusalOnly(t *testing.T) {
	if !KeyReused(fmt.Errorf("admitting: %w", errKeyReused)) {
		t.Error("the refusal of a reused key is not recognised")
	}
	if KeyReused(&Error{Kind: Invalid, Detail: errKeyReused.Detail}) || KeyReused(nil) {
		t.Error("another refusal is taken for that of a reused key")
	}
}

func TestCursorsThatWereMadeUpAreNotReadable(t *testing.T) {
	for _, good := range []string{"", cursorOf("block", "wren-w"), runCursor(Run{ID: "run_1", CreatedAt: time.Unix(1, 0)})} {
		if !CursorReadable(good) {
			t.Errorf("our own cursor %q is not readable", good)
		}
	}
	for _, bad := range []string{"=", "a", "é", cursorOf("block", "\x00"), cursorOf("block", "\xff"), cursorOf("run", "1", "a\tb")} {
		if CursorReadable(bad) {
			t.Errorf("the cursor %q is readable", bad)
		}
	}
}
