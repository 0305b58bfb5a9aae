package sqlite

import (
	"context"
	"runtime"
	"strings"
	"time"
)

// slowNote is who is told of transactions that took long, and from how long on.
type slowNote struct {
	least time.Duration
	tell  func(ctx context.Context, what string, took time.Duration)
}

// NoteSlow sets who is told of every transaction that took least or longer, its wait for the writer included: by the name of
// the method, never with what it was asked. It is called before the database is shared; 0 tells nobody.
func (db *DB) NoteSlow(least time.Duration, tell func(ctx context.Context, what string, took time.Duration)) {
	db.slow = slowNote{least, tell}
}

// timed begins to measure a transaction and returns what ends it.
func (db *DB) timed(ctx context.Context) func() {
	if db.slow.least <= 0 {
		return func() {}
	}
	began := time.Now()
	return func() {
		if took := time.Since(began); took >= db.slow.least {
			db.slow.tell(ctx, caller(), took)
		}
	}
}

// caller is the exported method that asked for the transaction, as far as the stack shows it.
func caller() string {
	pcs := make([]uintptr, 16)
	frames := runtime.CallersFrames(pcs[:runtime.Callers(3, pcs)])
	last := "unknown"
	for {
		frame, more := frames.Next()
		if strings.Contains(frame.Function, "(*pushQueue).commit") {
			return "Push"
		}
		at := strings.LastIndex(frame.Function, ".(*DB).")
		if at < 0 && last != "unknown" || !more {
			return last
		}
		if at >= 0 {
			last, _, _ = strings.Cut(frame.Function[at+len(".(*DB)."):], ".")
		}
	}
}
