package intake

import (
	"context"
	"testing"
	"testing/synctest"
	"time"
)

// Diagnosing waits while phones send, and no longer than it may.
func TestDiagnosingLetsPhonesGoFirst(t *testing.T) {
	for name, c := range map[string]struct {
		sends, want time.Duration
	}{
		"nobody sends":           {0, 0},
		"one sends for a moment": {30 * time.Millisecond, 30*time.Millisecond + quiet},
		"the crowd never ends":   {time.Hour, patience},
	} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				var c2 calm
				if c.sends > 0 {
					end := c2.begin()
					time.AfterFunc(c.sends, end)
				}
				began := time.Now()
				c2.wait(t.Context())
				if took := time.Since(began); took < c.want || took > c.want+quiet {
					t.Errorf("it waited %v, want %v", took, c.want)
				}
			})
		})
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	var c calm
	defer c.begin()()
	began := time.Now()
	if c.wait(gone); time.Since(began) > patience/2 {
		t.Error("an office that closes waits")
	}
}
