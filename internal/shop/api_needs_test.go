package shop

import (
	"fmt"
	"testing"
)

func TestKeyReusedKnowsThatRefusalOnly(t *testing.T) {
	if !KeyReused(fmt.Errorf("admitting: %w", errKeyReused)) {
		t.Error("the refusal of a reused key is not recognised")
	}
	if KeyReused(&Error{Kind: Invalid, Detail: errKeyReused.Detail}) || KeyReused(nil) {
		t.Error("another refusal is taken for that of a reused key")
	}
}
