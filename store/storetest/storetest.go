// Package storetest makes databases for tests: a real file in a folder that goes away, a clock that steps, and a firm with
// people, clients and visits that reads as a sentence. All names are invented.
package storetest

import (
	"context"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"swardbook/store/sqlite"
)

// Clock is a clock for tests. Each reading of it moves it on by Step. It is safe for use by many goroutines.
type Clock struct {
	Step time.Duration

	mu sync.Mutex
	at time.Time
}

// NewClock returns a clock that stands at at and does not step.
func NewClock(at time.Time) *Clock { return &Clock{at: at} }

// Now returns the time and steps on.
func (c *Clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	now := c.at
	c.at = c.at.Add(c.Step)
	return now
}

// Pass moves the clock.
func (c *Clock) Pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

// Morning is when a clock of Open begins: a Thursday in late summer.
var Morning = time.Date(2026, 8, 27, 9, 0, 0, 0, time.UTC)

// Open returns an empty database whose clock begins in the Morning and moves on a second with each transaction.
func Open(t testing.TB) *sqlite.DB {
	t.Helper()
	clock := NewClock(Morning)
	clock.Step = time.Second
	return OpenAt(t, clock)
}

// OpenAt returns an empty database that goes by a clock.
func OpenAt(t testing.TB, clock *Clock) *sqlite.DB {
	t.Helper()
	db, err := sqlite.Open(context.Background(), filepath.Join(t.TempDir(), "swardbook.db"), clock.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := db.Close(); err != nil {
			t.Error(err)
		}
	})
	return db
}

// slug makes an id that can be read in a failure.
func slug(parts ...string) string {
	return strings.ReplaceAll(strings.ToLower(strings.Join(parts, " ")), " ", "-")
}
