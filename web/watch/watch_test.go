package watch

import (
	"fmt"
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

func text(t *testing.T, w *Watch, path string) (int, string) {
	t.Helper()
	rec := httptest.NewRecorder()
	w.ServeHTTP(rec, httptest.NewRequest("GET", path, nil))
	return rec.Code, rec.Body.String()
}

func TestRequestsAreCountedByRoute(t *testing.T) {
	w := New(time.Now)
	for range 3 {
		w.Request("GET", "/desk/visits/{visit}", 200, 30*time.Millisecond, "a")
	}
	w.Request("BREW", `none"`, 405, time.Second, "b")
	w.Slow("Readings")
	w.Gauge("swardbook_database_bytes", func() float64 { return 4096 })
	code, got := text(t, w, "/metrics")
	for _, line := range []string{
		`swardbook_requests_total{method="GET",route="/desk/visits/{visit}",status="2xx"} 3`,
		`swardbook_request_seconds_count{method="GET",route="/desk/visits/{visit}"} 3`,
		`swardbook_request_seconds_bucket{method="GET",route="/desk/visits/{visit}",le="0.05"} 3`,
		`swardbook_requests_total{method="other",route="none\"",status="4xx"} 1`,
		`swardbook_slow_queries_total{method="Readings"} 1`, `swardbook_database_bytes 4096`, "process_resident_memory_bytes",
	} {
		if !strings.Contains(got, line) {
			t.Errorf("no %s", line)
		}
	}
	if code != 200 || strings.Contains(got, "vmrange") {
		t.Errorf("%d: %s", code, got)
	}
	if code, _ := text(t, w, "/"); code != 404 {
		t.Errorf("/ answers %d", code)
	}
}

func TestTheLastFaultsAreRemembered(t *testing.T) {
	at := time.Date(2026, 8, 27, 9, 0, 0, 0, time.UTC)
	w := New(func() time.Time { at = at.Add(time.Minute); return at })
	w.Request("GET", "/", 503, 0, "busy")
	w.Request("PATCH", "/api/v1/photos/{sha}", 507, 0, "full")
	for i := range remembered + 5 {
		w.Request("GET", "/desk/", 500, 0, fmt.Sprint(i))
	}
	list, total := w.Faults()
	if total != remembered+5 || len(list) != remembered || list[0].ID != "24" || list[0].Route != "GET /desk/" || !list[0].At.After(list[1].At) {
		t.Errorf("%d, %+v", total, list)
	}
}

func TestNobodyWatching(t *testing.T) {
	var w *Watch
	w.Request("GET", "/", 500, 0, "")
	w.Slow("x")
	w.Gauge("x", nil)
	if list, n := w.Faults(); list != nil || n != 0 || !w.Started().IsZero() {
		t.Error("something was counted")
	}
}
