package storetest_test

import (
	"context"
	"database/sql"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

// TestGrowMakesASoundFirm opens what was written in bulk as the program does: rows fit together, a phone's numbers have no hole, and an old
// phone may go on.
func TestGrowMakesASoundFirm(t *testing.T) {
	now := time.Date(2026, 8, 27, 9, 0, 0, 0, time.UTC)
	l := storetest.Grow(t, t.TempDir(), 2000, 5, now)
	raw, err := sql.Open("sqlite", "file:"+l.Path)
	if err != nil {
		t.Fatal(err)
	}
	defer raw.Close()
	for query, want := range map[string]string{
		`PRAGMA integrity_check`: "ok", `SELECT count(*) FROM pragma_foreign_key_check`: "0", `SELECT count(*) FROM readings`: "2000", `SELECT count(*) FROM visits`: "205",
		`SELECT count(*) FROM ops`: "2200", `SELECT count(*) FROM findable WHERE kind = 'note'`: "200", `SELECT count(*) FROM applications`: "20",
		`SELECT count(*) FROM devices d WHERE through <> (SELECT count(*) FROM ops o WHERE o.device = d.id)`: "0",
		`SELECT count(*) FROM ops WHERE json_valid(CAST(raw AS TEXT)) = 0`:                                   "0",
		`SELECT max(day) FROM visits WHERE state <> 'planned'`:                                               "2026-08-17",
	} {
		var got string
		if err := raw.QueryRow(query).Scan(&got); err != nil || got != want {
			t.Errorf("%s: %q %v, want %q", query, got, err, want)
		}
	}
	db, err := sqlite.Open(context.Background(), l.Path, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	visits, err := db.Visits(t.Context(), store.VisitFilter{Crew: l.Crew[3], FromDay: "2026-08-27", ToDay: "2026-08-27"})
	if err != nil || len(visits) != 1 || visits[0].ID != l.Visit(3) || visits[0].Property != l.PropertyOf(3) {
		t.Fatal(visits, err)
	}
	said, err := db.LatestDiagnoses(t.Context(), l.Past(7))
	if err != nil || len(said) != 2 || said[0].Answer[0] != '{' {
		t.Fatal(said, err)
	}
	zone := l.ZoneOf(3)
	res, err := db.Push(t.Context(), store.Batch{Device: "e0000000-0000-4000-8000-000000000003", By: l.Crew[3], Sent: now, Items: []store.Item{{Op: store.Op{ID: "new", N: 45, Raw: []byte("{}")},
		Reading: &store.Reading{ID: "new", Visit: l.Visit(3), Zone: zone, Author: l.Crew[3]}}}})
	if err != nil || res.Through != 45 || len(res.Fresh) != 1 {
		t.Fatal(res, err)
	}
}
