package main

import (
	"crypto/sha256"
	"net/http"
	"net/http/httptest"
	"os"
	"slices"
	"strconv"
	"testing"
	"time"

	"swardbook/store/storetest"
)

// BenchmarkDesk asks for the desk's pages in a firm with 100,000 visits and a million readings behind it (SWARDBOOK_READINGS makes another
// number of them), and reports how long the server takes: the median and the slowest of a hundred, in milliseconds.
func BenchmarkDesk(b *testing.B) {
	readings := 1_000_000
	if n, err := strconv.Atoi(os.Getenv("SWARDBOOK_READINGS")); err == nil {
		readings = n
	}
	now, err := startingAt(august)
	if err != nil {
		b.Fatal(err)
	}
	data := b.TempDir()
	large := storetest.Grow(b, data, readings, 20, now())
	c := config{data: data}
	h, err := openHouse(b.Context(), c, now, silent())
	if err != nil {
		b.Fatal(err)
	}
	defer func() { _ = h.close() }()
	handler, err := h.handler(c, silent())
	if err != nil {
		b.Fatal(err)
	}
	sum := sha256.Sum256([]byte("token"))
	if err := h.db.AddSession(b.Context(), sum[:], large.Owner, "bench", time.Hour); err != nil {
		b.Fatal(err)
	}
	ask := func(path string) time.Duration {
		r := httptest.NewRequest("GET", path, nil)
		r.AddCookie(&http.Cookie{Name: "swardbook", Value: "token"})
		w := httptest.NewRecorder()
		began := time.Now()
		handler.ServeHTTP(w, r)
		if w.Code != http.StatusOK {
			b.Fatalf("%s: %d %.300s", path, w.Code, w.Body.String())
		}
		return time.Since(began)
	}
	for _, page := range []struct {
		name string
		path func(i int) string
	}{
		{"first page", func(int) string { return "/desk/" }},
		{"visit", func(i int) string { return "/desk/visits/" + large.Past(large.Visits-1-i) }},
		{"property", func(i int) string { return "/desk/properties/" + large.Property(i) }},
		{"day sheets", func(int) string { return "/desk/days" }},
		{"clients", func(int) string { return "/desk/clients" }},
		{"find a letter", func(int) string { return "/desk/find?q=a" }},
		{"find a word", func(i int) string { return "/desk/find?q=lane+" + strconv.Itoa(i) }},
	} {
		b.Run(page.name, func(b *testing.B) {
			ask(page.path(0))
			for b.Loop() {
				var took []time.Duration
				for i := range 100 {
					took = append(took, ask(page.path(i)))
				}
				slices.Sort(took)
				b.ReportMetric(float64(took[50].Microseconds())/1000, "ms/median")
				b.ReportMetric(float64(took[98].Microseconds())/1000, "ms/p99")
			}
		})
	}
}
