package sqlite_test

import (
	"context"
	"database/sql"
	"fmt"
	"path/filepath"
	"testing"

	"swardbook/store/sqlite"
	"swardbook/store/storetest"
)

// BenchmarkPush500 is a full batch of readings; compare it with the bare insert of the same rows.
func BenchmarkPush500(b *testing.B) {
	db := storetest.Open(b)
	h := storetest.Firm(b, db).Owner("Iris").Crew("Jonah")
	property := h.Client("Odalys Fenwright").Property("14 Alder Rise").Zone("Front lawn")
	visit := property.Visit("2026-08-27", "Jonah")
	i := 0
	for b.Loop() {
		b.StopTimer()
		i++
		p := h.Phone(fmt.Sprint("d", i), "Jonah")
		for range 500 {
			p.Reads(visit.ID, property.Zones[0].ID, "tug_test", "firm")
		}
		b.StartTimer()
		if res, err := db.Push(context.Background(), p.Batch(1, 500)); err != nil || res.Through != 500 {
			b.Fatal(res, err)
		}
	}
}

// BenchmarkBareInsert500 writes the same rows into a table with the same keys and nothing else.
func BenchmarkBareInsert500(b *testing.B) {
	w, err := sql.Open("sqlite", sqlite.WriterDSN(filepath.Join(b.TempDir(), "bare.db")))
	must(b, err)
	defer w.Close()
	w.SetMaxOpenConns(1)
	_, err = w.Exec(`CREATE TABLE ops (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, device TEXT NOT NULL, n INTEGER NOT NULL, raw BLOB NOT NULL, UNIQUE (device, n)) STRICT`)
	must(b, err)
	insert, err := w.Prepare(`INSERT INTO ops (id, device, n, raw) VALUES ($1, $2, $3, $4)`)
	must(b, err)
	raw := make([]byte, 120)
	i := 0
	for b.Loop() {
		i++
		tx, err := w.Begin()
		must(b, err)
		for n := range 500 {
			_, err := tx.Stmt(insert).Exec(fmt.Sprint(i, "-", n), fmt.Sprint("d", i), n+1, raw)
			must(b, err)
		}
		must(b, tx.Commit())
	}
}
