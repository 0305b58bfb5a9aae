package main

import (
	"fmt"
	"time"
)

// startingAt returns a clock that runs on from text (RFC 3339) at the usual speed; the machine's own clock when text is empty.
// The demo can so be seen in another season.
func startingAt(text string) (func() time.Time, error) {
	if text == "" {
		return time.Now, nil
	}
	begin, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return nil, fmt.Errorf("-clock %q is not a time such as 2026-08-27T09:00:00-04:00", text)
	}
	started := time.Now()
	return func() time.Time { return begin.Add(time.Since(started)) }, nil
}
