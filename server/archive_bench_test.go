package main

import (
	"crypto/sha256"
	"fmt"
	"net/http"
	"net/http/httptest"
	"runtime"
	"sync"
	"testing"
	"time"

	"swardbook/store/storetest"
)

// sink takes an answer and counts it.
type sink struct {
	http.ResponseWriter
	bytes int64
}

func (s *sink) Write(b []byte) (int, error) { s.bytes += int64(len(b)); return len(b), nil }
func (s *sink) Flush()                      {}

// peak watches the heap until it is asked for the most that was in use, in bytes. What nobody uses any more counts until it is collected.
func peak() func() uint64 {
	runtime.GC()
	var most uint64
	var done sync.WaitGroup
	end := make(chan struct{})
	done.Go(func() {
		for {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse)
			select {
			case <-end:
				return
			case <-time.After(20 * time.Millisecond):
			}
		}
	})
	return func() uint64 { close(end); done.Wait(); return most }
}

// BenchmarkArchive sends the season records of all clients, each in every form, as one archive, and prints the most memory that it takes: it must
// not grow with the number of clients.
func BenchmarkArchive(b *testing.B) {
	now, err := startingAt(august)
	if err != nil {
		b.Fatal(err)
	}
	for _, clients := range []int{100, 1000} {
		b.Run(fmt.Sprintf("%d_clients", clients), func(b *testing.B) {
			data := b.TempDir()
			large := storetest.Grow(b, data, clients*400, 4, now())
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
			for b.Loop() {
				r := httptest.NewRequest("GET", fmt.Sprintf("/desk/seasons.zip?year=%d", large.Day.Year()-1), nil)
				r.AddCookie(&http.Cookie{Name: "swardbook", Value: "token"})
				w := &sink{ResponseWriter: httptest.NewRecorder()}
				most := peak()
				began := time.Now()
				handler.ServeHTTP(w, r)
				b.ReportMetric(float64(most())/(1<<20), "MB/peak")
				b.ReportMetric(float64(time.Since(began).Milliseconds())/float64(large.Clients), "ms/client")
				b.ReportMetric(float64(w.bytes)/(1<<20), "MB/archive")
				if w.bytes < int64(large.Clients)*1000 {
					b.Fatalf("%d bytes of %d clients", w.bytes, large.Clients)
				}
			}
		})
	}
}
