package intake

import (
	"context"
	"sync"
	"time"
)

// How long diagnosing waits for phones that send: until none has for a moment, but never longer than patience, so that it goes
// on behind any crowd.
const (
	quiet    = 100 * time.Millisecond
	patience = 500 * time.Millisecond
)

// calm lets what can wait go behind what people wait for.
type calm struct {
	mu   sync.Mutex
	busy int
	last time.Time // when the last one ended
}

// begin notes that somebody sends, until the function returned is called.
func (c *calm) begin() (end func()) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.busy++
	return func() {
		c.mu.Lock()
		defer c.mu.Unlock()
		c.busy--
		c.last = time.Now()
	}
}

// left is how long it is at least until it is quiet.
func (c *calm) left() time.Duration {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.busy > 0 {
		return quiet
	}
	return quiet - time.Since(c.last)
}

// wait returns when it is quiet, patience is at its end, or ctx ends.
func (c *calm) wait(ctx context.Context) {
	ctx, cancel := context.WithTimeout(ctx, patience)
	defer cancel()
	for {
		left := c.left()
		if left <= 0 {
			return
		}
		select {
		case <-time.After(left):
		case <-ctx.Done():
			return
		}
	}
}
