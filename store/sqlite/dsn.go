package sqlite

import (
	"context"
	"database/sql"
	"fmt"
	"strconv"
	"strings"
)

// oldest is the first version of SQLite without the race that could reset the write-ahead log under a second connection.
var oldest = [3]int{3, 51, 3}

// The settings travel in the name, so that every connection of a pool has them. Without recursive triggers INSERT OR REPLACE
// deletes a row of the log and no trigger says no. What a savepoint keeps for undoing stays in memory (temp_store): a power cut undoes
// it anyhow. The log is copied into the database by the queue of pushes when nobody waits; 8000 pages are for when it never rests. What was deleted is
// overwritten (secure_delete): a client's data that were erased are not to be read from what the file holds unused.
const (
	writerSettings = "?_txlock=immediate&_pragma=busy_timeout(5000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)" +
		"&_pragma=foreign_keys(1)&_pragma=recursive_triggers(1)&_pragma=temp_store(2)&_pragma=wal_autocheckpoint(8000)&_pragma=trusted_schema(0)&_pragma=cell_size_check(1)&_pragma=secure_delete(1)&_dqs=0&_defensive=1&_error_rc=1&_time_format=sqlite"
	readerSettings = "?mode=ro&_pragma=busy_timeout(5000)&_pragma=query_only(1)&_dqs=0"
)

func writerDSN(path string) string { return "file:" + escapePath(path) + writerSettings }

// readerDSN needs the file: before the path, else mode=ro is not heard.
func readerDSN(path string) string { return "file:" + escapePath(path) + readerSettings }

var pathEscaper = strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23")

func escapePath(path string) string { return pathEscaper.Replace(path) }

// checkWriter asks SQLite for what was set: a setting that was not taken is silent otherwise, and an acknowledgement would
// come before the data is on the disk.
func checkWriter(ctx context.Context, w *sql.DB) error {
	var version string
	if err := w.QueryRowContext(ctx, `SELECT sqlite_version()`).Scan(&version); err != nil {
		return err
	}
	if !atLeast(version, oldest) {
		return fmt.Errorf("SQLite %s is too old: %d.%d.%d or later is needed", version, oldest[0], oldest[1], oldest[2])
	}
	for _, want := range []struct{ pragma, value string }{{"journal_mode", "wal"}, {"synchronous", "2"}, {"foreign_keys", "1"}, {"recursive_triggers", "1"}, {"secure_delete", "1"}} {
		var got string
		if err := w.QueryRowContext(ctx, "PRAGMA "+want.pragma).Scan(&got); err != nil {
			return err
		}
		if got != want.value {
			return fmt.Errorf("SQLite keeps %s at %q, not %q: what was recorded could be lost", want.pragma, got, want.value)
		}
	}
	return nil
}

// atLeast compares a version such as "3.54.1". What can't be read is too old.
func atLeast(version string, least [3]int) bool {
	parts := strings.Split(version, ".")
	for i, want := range least {
		if i >= len(parts) {
			return want == 0
		}
		got, err := strconv.Atoi(parts[i])
		if err != nil {
			return false
		}
		if got != want {
			return got > want
		}
	}
	return true
}
