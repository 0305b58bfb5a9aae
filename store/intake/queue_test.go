package intake

import (
	"context"
	"sync"
	"testing"
	"time"
)

func TestQueueRunsEachWaitingJobOnce(t *testing.T) {
	var mu sync.Mutex
	runs := map[job]int{}
	gate := make(chan struct{})
	started := make(chan struct{}, 10)
	q := newQueue(func(_ context.Context, j job) {
		started <- struct{}{}
		<-gate
		mu.Lock()
		runs[j]++
		mu.Unlock()
	})
	defer q.close()
	first := job{"v", "front"}
	q.add(first)
	<-started // at work: what it read may be old, so it must run again
	for range 5 {
		q.add(first)
		q.add(job{"v", "back"})
	}
	close(gate)
	if err := q.wait(t.Context()); err != nil {
		t.Fatal(err)
	}
	mu.Lock()
	defer mu.Unlock()
	if runs[first] != 2 || runs[job{"v", "back"}] != 1 {
		t.Errorf("runs %v", runs)
	}
}

func TestQueueWaitGivesUp(t *testing.T) {
	gate := make(chan struct{})
	q := newQueue(func(context.Context, job) { <-gate })
	q.add(job{"v", "z"})
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	if err := q.wait(ctx); err == nil {
		t.Error("waited for a job that never ended, and was told all is done")
	}
	close(gate)
	q.close()
}

func TestQueueClosedTakesNothingAndHoldsNobody(t *testing.T) {
	ran := false
	q := newQueue(func(context.Context, job) { ran = true })
	q.close()
	q.add(job{"v", "z"})
	if err := q.wait(t.Context()); err != nil || ran {
		t.Errorf("after close: %v, ran %v", err, ran)
	}
}

func TestQueueCloseEndsTheJobAtWork(t *testing.T) {
	started := make(chan struct{})
	q := newQueue(func(ctx context.Context, _ job) {
		close(started)
		<-ctx.Done()
	})
	q.add(job{"v", "z"})
	<-started
	done := make(chan error, 1)
	go func() { done <- q.wait(context.Background()) }()
	q.close()
	select {
	case err := <-done:
		if err != nil {
			t.Error(err)
		}
	case <-time.After(5 * time.Second):
		t.Error("a waiter was left behind")
	}
}
