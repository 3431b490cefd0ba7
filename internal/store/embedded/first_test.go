package embedded_test

import (
	"database/sql"
	"path/filepath"
	"testing"
	"time"

	_ "modernc.org/sqlite" // the driver

	"sizerun/internal/store/embedded"
	"sizerun/internal/store/storetest"
)

func TestTheFirstReleaseWorksOnTodaysSchema(t *testing.T) {
	dir := t.TempDir()
	s, err := embedded.Open(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	d, err := sql.Open("sqlite", filepath.Join(dir, embedded.FileName)+"?_pragma=foreign_keys(1)")
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	storetest.FirstRelease(t, d, func(at time.Time) any { return at.UnixMicro() })
}
