package observe_test

import (
	"bytes"
	"context"
	"encoding/json"
	"log/slog"
	"strings"
	"testing"

	"sizerun/internal/observe"
)

func TestEveryLineCarriesTheIdsOfItsContext(t *testing.T) {
	var b bytes.Buffer
	log := observe.NewLogger(&b, "json", slog.LevelInfo).With("part", "api").WithGroup("g")
	ctx := observe.WithRun(observe.WithRequest(context.Background(), "req_1"), "run_2")
	log.InfoContext(ctx, "hello", "n", 3)
	var m struct {
		Msg, Part string
		G         map[string]any
	}
	if err := json.Unmarshal(b.Bytes(), &m); err != nil {
		t.Fatal(err)
	}
	if m.Msg != "hello" || m.Part != "api" || m.G["request_id"] != "req_1" || m.G["run_id"] != "run_2" || m.G["n"] != 3.0 {
		t.Errorf("%s", b.String())
	}
	if observe.RequestID(ctx) != "req_1" || observe.RunID(ctx) != "run_2" || observe.RunID(context.Background()) != "" {
		t.Error("the ids don't come back")
	}
}

func TestALineStaysOneLine(t *testing.T) {
	for _, format := range []string{"text", "json"} {
		var b bytes.Buffer
		observe.NewLogger(&b, format, slog.LevelInfo).Info("saved", "name", "a\nlevel=ERROR msg=\"forged\"\r\n\u2028")
		if n := strings.Count(strings.TrimRight(b.String(), "\n"), "\n"); n != 0 {
			t.Errorf("%s: %q", format, b.String())
		}
	}
}

func TestBelowTheLevelNothingIsLogged(t *testing.T) {
	var b bytes.Buffer
	log := observe.NewLogger(&b, "text", slog.LevelWarn)
	a := observe.Asynq{Log: log}
	log.Info("quiet")
	a.Info("Starting processing")
	if b.Len() != 0 {
		t.Errorf("%q", b.String())
	}
	a.Warn("redis ", "is away")
	if !strings.Contains(b.String(), "asynq: redis is away") {
		t.Errorf("%q", b.String())
	}
}
