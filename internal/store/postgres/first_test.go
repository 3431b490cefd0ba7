package postgres_test

import (
	"database/sql"
	"testing"
	"time"

	"sizerun/internal/store/postgres"
	"sizerun/internal/store/storetest"
	"sizerun/internal/testkit/pgtest"
)

func TestTheFirstReleaseWorksOnTodaysSchema(t *testing.T) {
	url := pgtest.Start(t, nil).Database(t)
	if _, err := postgres.Migrate(t.Context(), url); err != nil {
		t.Fatal(err)
	}
	d, err := sql.Open("pgx", url)
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	storetest.FirstRelease(t, d, func(at time.Time) any { return at })
}
