package shop_test

import (
	"bytes"
	"errors"
	"log/slog"
	"strings"
	"testing"

	"sizerun/internal/shop"
)

func TestTheCauseIsForTheLogAndNotForTheCaller(t *testing.T) {
	err := &shop.Error{Kind: shop.Unavailable, Detail: "ask again", Cause: errors.New("host 10.0.0.7 refused")}
	if strings.Contains(err.Error(), "10.0.0.7") {
		t.Errorf("the caller is told %q", err)
	}
	var b bytes.Buffer
	slog.New(slog.NewTextHandler(&b, nil)).Error("failed", "error", err)
	if !strings.Contains(b.String(), "10.0.0.7") {
		t.Errorf("the log says %q", b.String())
	}
}
