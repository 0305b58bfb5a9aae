// Package watch counts what the program does and remembers its last faults: for whoever measures it, in Prometheus' form, and for
// the owner's page. It knows routes, statuses and times, and nothing of what people typed.
package watch

import (
	"fmt"
	"net/http"
	"sync"
	"time"

	"github.com/VictoriaMetrics/metrics"
)

// remembered is how many faults are kept.
const remembered = 20

// Fault is one request that failed by our fault.
type Fault struct {
	At    time.Time
	ID    string // of the request, as it stands on the error's page and in the log
	Route string
}

// Watch counts. A nil Watch counts nothing. It is safe for use by many goroutines at once.
type Watch struct {
	set     *metrics.Set
	now     func() time.Time
	started time.Time

	mu     sync.Mutex
	faults []Fault // oldest first
	total  int
}

// New begins to watch.
func New(now func() time.Time) *Watch {
	return &Watch{set: metrics.NewSet(), now: now, started: now()}
}

// Started is when the program began.
func (w *Watch) Started() time.Time {
	if w == nil {
		return time.Time{}
	}
	return w.started
}

// Request counts one request: its route's pattern, never its address.
func (w *Watch) Request(method, route string, status int, took time.Duration, id string) {
	if w == nil {
		return
	}
	labels := fmt.Sprintf(`{method=%q,route=%q}`, known(method), route)
	w.set.GetOrCreatePrometheusHistogram("swardbook_request_seconds" + labels).Update(took.Seconds())
	w.set.GetOrCreateCounter(fmt.Sprintf(`swardbook_requests_total{method=%q,route=%q,status="%dxx"}`, known(method), route, status/100)).Inc()
	if status < 500 || status == http.StatusServiceUnavailable || status == http.StatusInsufficientStorage {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.total++
	w.faults = append(w.faults, Fault{w.now(), id, method + " " + route})
	if len(w.faults) > remembered {
		w.faults = w.faults[1:]
	}
}

// known keeps made-up methods from making series without end.
func known(method string) string {
	switch method {
	case "GET", "HEAD", "POST", "PATCH", "PUT", "DELETE", "OPTIONS":
		return method
	}
	return "other"
}

// Slow counts what the database took long for, by the store's method.
func (w *Watch) Slow(what string) {
	if w != nil {
		w.set.GetOrCreateCounter(fmt.Sprintf(`swardbook_slow_queries_total{method=%q}`, what)).Inc()
	}
}

// Gauge shows a number that is asked for whenever it is looked at.
func (w *Watch) Gauge(name string, value func() float64) {
	if w != nil {
		w.set.NewGauge(name, value)
	}
}

// Faults returns the last faults, newest first, and how many there were since the start.
func (w *Watch) Faults() (list []Fault, total int) {
	if w == nil {
		return nil, 0
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	for i := len(w.faults) - 1; i >= 0; i-- {
		list = append(list, w.faults[i])
	}
	return list, w.total
}

// ServeHTTP writes everything that is counted, and the process's own numbers, in Prometheus' text form.
func (w *Watch) ServeHTTP(rw http.ResponseWriter, r *http.Request) {
	if r.URL.Path != "/metrics" {
		http.NotFound(rw, r)
		return
	}
	rw.Header().Set("Content-Type", "text/plain; version=0.0.4; charset=utf-8")
	w.set.WritePrometheus(rw)
	metrics.WriteProcessMetrics(rw)
}
