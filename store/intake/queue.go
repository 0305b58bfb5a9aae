package intake

import (
	"context"
	"strings"
	"sync"
)

// job is one zone of one visit to diagnose; no zone means all of the visit's.
type job struct{ visit, zone string }

// queue runs jobs one after another on one goroutine. A job that waits already is not added again; one that is at work
// is, since what it read may be old.
type queue struct {
	run    func(context.Context, job)
	cancel context.CancelFunc
	done   chan struct{}
	wake   chan struct{}

	mu      sync.Mutex
	order   []job
	waiting map[job]bool
	working bool
	closed  bool
	idle    []chan struct{}
}

func newQueue(run func(context.Context, job)) *queue {
	ctx, cancel := context.WithCancel(context.Background())
	q := &queue{run: run, cancel: cancel, done: make(chan struct{}), wake: make(chan struct{}, 1), waiting: map[job]bool{}}
	go q.loop(ctx)
	return q
}

func (q *queue) add(j job) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.closed || q.waiting[j] {
		return
	}
	j = job{strings.Clone(j.visit), strings.Clone(j.zone)} // they may be cuts of a whole push
	q.waiting[j] = true
	q.order = append(q.order, j)
	select {
	case q.wake <- struct{}{}:
	default:
	}
}

func (q *queue) loop(ctx context.Context) {
	defer close(q.done)
	for {
		j, ok := q.next()
		if ok {
			q.run(ctx, j)
			continue
		}
		select {
		case <-q.wake:
		case <-ctx.Done():
			return
		}
	}
}

// next takes the oldest job; when there is none it tells those who wait.
func (q *queue) next() (job, bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.working = len(q.order) > 0 && !q.closed
	if !q.working {
		q.release()
		return job{}, false
	}
	j := q.order[0]
	q.order = q.order[1:]
	delete(q.waiting, j)
	return j, true
}

// release tells those who wait. The caller holds the lock.
func (q *queue) release() {
	for _, ch := range q.idle {
		close(ch)
	}
	q.idle = nil
}

func (q *queue) wait(ctx context.Context) error {
	q.mu.Lock()
	if q.closed || len(q.order) == 0 && !q.working {
		q.mu.Unlock()
		return nil
	}
	ch := make(chan struct{})
	q.idle = append(q.idle, ch)
	q.mu.Unlock()
	select {
	case <-ch:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (q *queue) close() {
	q.mu.Lock()
	q.closed = true
	q.mu.Unlock()
	q.cancel()
	<-q.done
	q.mu.Lock()
	q.release()
	q.mu.Unlock()
}
