package main

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

// badNetwork stands between phones and the office and does what networks do: nothing, late, twice, half, or a page of its own.
type badNetwork struct {
	to     string
	calm   atomic.Bool
	faults atomic.Int64

	mu     sync.Mutex
	chance *rand.Rand
}

func (n *badNetwork) roll() int {
	n.mu.Lock()
	defer n.mu.Unlock()
	return n.chance.IntN(100)
}

func (n *badNetwork) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body, err := io.ReadAll(r.Body)
	if err != nil {
		panic(http.ErrAbortHandler)
	}
	roll := 100
	if !n.calm.Load() {
		roll = n.roll()
	}
	if roll < 32 {
		n.faults.Add(1)
	}
	switch {
	case roll < 4: // it never gets there
		panic(http.ErrAbortHandler)
	case roll < 8: // a portal
		w.Header().Set("Content-Type", "text/html")
		_, _ = io.WriteString(w, `<html><body>Welcome to our network</body></html>`)
		return
	case roll < 10:
		http.Redirect(w, r, "/welcome", http.StatusFound)
		return
	case roll < 13:
		http.Error(w, "<h1>Bad gateway</h1>", http.StatusBadGateway)
		return
	case roll < 17: // half of it gets there
		n.forward(r, body[:len(body)/2], int64(len(body)))
		panic(http.ErrAbortHandler)
	case roll < 22: // it gets there and the answer is lost
		n.forward(r, body, int64(len(body)))
		panic(http.ErrAbortHandler)
	case roll < 26: // twice
		n.forward(r, body, int64(len(body)))
	case roll < 29: // late, and once more behind what comes next
		time.Sleep(time.Duration(50+n.roll()*3) * time.Millisecond)
		later := r.Clone(context.Background())
		time.AfterFunc(time.Duration(n.roll()*5)*time.Millisecond, func() { n.forward(later, body, int64(len(body))) })
	}
	res := n.forward(r, body, int64(len(body)))
	if res == nil {
		panic(http.ErrAbortHandler)
	}
	for k, v := range res.header {
		w.Header()[k] = v
	}
	w.WriteHeader(res.status)
	if roll >= 29 && roll < 32 { // half an answer
		_, _ = w.Write(res.body[:len(res.body)/2])
		_ = http.NewResponseController(w).Flush()
		panic(http.ErrAbortHandler)
	}
	_, _ = w.Write(res.body)
}

// passed is an answer as it came from the office.
type passed struct {
	status int
	header http.Header
	body   []byte
}

// forward sends a request on, saying that it has size bytes; nil when there was no answer.
func (n *badNetwork) forward(r *http.Request, body []byte, size int64) *passed {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, r.Method, n.to+r.URL.RequestURI(), bytes.NewReader(body))
	if err != nil {
		return nil
	}
	req.Header, req.ContentLength, req.Host = r.Header.Clone(), size, r.Host
	res, err := http.DefaultTransport.RoundTrip(req)
	if err != nil {
		return nil
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		return nil
	}
	return &passed{res.StatusCode, res.Header, raw}
}

// TestPhonesBehindABadNetwork: the phone's own modules and the real program, with a network between them that loses, cuts, repeats and
// delays by a seed, and an office that is killed. SWARDBOOK_ROUNDS=50 walks more seeds, SWARDBOOK_SEED=7 replays one.
func TestPhonesBehindABadNetwork(t *testing.T) {
	first := uint64(time.Now().UnixNano())
	more := rounds(t, 1)
	if text := os.Getenv("SWARDBOOK_SEED"); text != "" {
		n, err := strconv.ParseUint(text, 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		first, more = n, 1
	}
	o := buildOffice(t)
	folder := o.data
	for i := range more {
		seed := first + uint64(i)
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			o.t, o.data = t, fmt.Sprint(folder, i)
			o.start()
			n := &badNetwork{to: "http://" + o.addr, chance: rand.New(rand.NewPCG(seed, 2))}
			srv := httptest.NewServer(n)
			defer srv.Close()
			srv.Config.ErrorLog = nil
			n.calm.Store(true) // signing in is done by a person, who tries again
			c := startCrewAt(t, srv.URL, 6, seed, 1)
			n.calm.Store(false)
			time.Sleep(1200 * time.Millisecond)
			o.kill()
			o.start()
			time.Sleep(1200 * time.Millisecond)
			n.calm.Store(true)
			w := c.rest()
			o.stop()
			o.compare(w)
			t.Logf("%d faults", n.faults.Load())
			if n.faults.Load() < 20 {
				t.Errorf("only %d faults: nothing was put to the test", n.faults.Load())
			}
		})
	}
}
