package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/store/sqlite"
)

// pushing is the whole office behind HTTP, with one person signed in and a visit to write to.
type pushing struct {
	b      testing.TB
	db     *sqlite.DB
	url    string
	client *http.Client
	cookie *http.Cookie
	person store.Person
	visit  store.Visit
	zones  []store.Zone
	dir    string
	log    lines        // of the office
	up     atomic.Int64 // bytes of pushes as they came over the wire
}

// lines is a log that is read while it is written.
type lines struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *lines) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

// take returns what was written since the last time.
func (l *lines) take() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	defer l.text.Reset()
	return l.text.String()
}

func startPushing(b testing.TB) *pushing {
	b.Helper()
	p := &pushing{b: b}
	log := slog.New(slog.NewTextHandler(&p.log, nil))
	c := config{data: b.TempDir(), demo: true}
	house, err := openHouse(b.Context(), c, time.Now, log)
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = house.close() })
	if _, err := house.fillDemo(b.Context()); err != nil {
		b.Fatal(err)
	}
	handler, err := house.handler(c, log)
	if err != nil {
		b.Fatal(err)
	}
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path == "/api/v1/ops" {
			p.up.Add(r.ContentLength)
		}
		handler.ServeHTTP(w, r)
	}))
	b.Cleanup(srv.Close)
	p.dir, p.db, p.url, p.client, p.cookie = c.data, house.db, srv.URL, srv.Client(), &http.Cookie{Name: "swardbook", Value: "token"}
	p.client.Transport.(*http.Transport).MaxIdleConnsPerHost = 64
	p.signIn()
	return p
}

func (p *pushing) signIn() {
	p.b.Helper()
	ctx, db := p.b.Context(), p.db
	visits, err := db.Visits(ctx, store.VisitFilter{States: []store.VisitState{store.Planned}})
	if err != nil {
		p.b.Fatal(err)
	}
	p.visit = visits[0]
	if p.person, err = db.Person(ctx, p.visit.Crew); err != nil {
		p.b.Fatal(err)
	}
	if p.zones, err = db.Zones(ctx, p.visit.Property); err != nil {
		p.b.Fatal(err)
	}
	sum := sha256.Sum256([]byte(p.cookie.Value))
	if err := db.AddSession(ctx, sum[:], p.person.ID, "bench", time.Hour); err != nil {
		p.b.Fatal(err)
	}
}

// answers are what a crew really gives, one after the other.
var answers = [][2]string{
	{"pattern", "irregular_patches"}, {"edge_shape", "smooth_rounded"}, {"colour", "brown"}, {"core_depth_in", "2; 2 1/2; 7; 7,5 in"}, {"thatch_in", "0.4; 0.5"},
	{"tug_test", "firm"}, {"moisture_profile", "dry_all"}, {"sun_hours", "9"}, {"mow_height_in", "3 1/4"}, {"weed_cover_pct", "12"}, {"note", "Head by the shed throws into the fence."},
}

// body is a packed push of n readings of a new phone on a visit of its own, and the bare rows.
func (p *pushing) body(n int) (packed []byte, ids []string, raws [][]byte) {
	device, raws := p.readings(n)
	for _, raw := range raws {
		var head struct{ ID string }
		if err := json.Unmarshal(raw, &head); err != nil {
			p.b.Fatal(err)
		}
		ids = append(ids, head.ID)
	}
	return p.pack(device, raws, time.Now()), ids, raws
}

// readings are n rows of a new phone on a visit of its own.
func (p *pushing) readings(n int) (device string, raws [][]byte) {
	device = uuid.NewString()
	visit := p.visit
	visit.ID = uuid.NewString()
	if err := p.db.AddVisit(p.b.Context(), visit); err != nil {
		p.b.Fatal(err)
	}
	now := time.Now()
	for i := range n {
		id := uuid.Must(uuid.NewV7()).String()
		a := answers[i%len(answers)]
		raw, err := json.Marshal(map[string]any{
			"n": i + 1, "id": id, "op": "create", "entity": id, "base": 37120 + i, "form": "reading", "fver": 1, "author": p.person.ID,
			"hlc": fmt.Sprintf("%012x-%04x-%s", now.UnixMilli(), i, device[len(device)-4:]), "at": now.Add(time.Duration(i) * 20 * time.Second / time.Duration(n)).Format("2006-01-02T15:04:05.000Z07:00"),
			"body": map[string]any{"visit": visit.ID, "zone": p.zones[i%len(p.zones)].ID, "check": a[0], "typed": a[1], "edition": "2026-11-25"}, "photos": []any{},
		})
		if err != nil {
			p.b.Fatal(err)
		}
		raws = append(raws, raw)
	}
	return device, raws
}

// pack is a push of these rows as it travels.
func (p *pushing) pack(device string, raws [][]byte, now time.Time) []byte {
	var out bytes.Buffer
	z := gzip.NewWriter(&out)
	fmt.Fprintf(z, `{"proto":1,"app":"bench","device":%q,"epoch":"","sent":%q,"unsent":%d,"ops":[%s]}`, device, now.Format(time.RFC3339), len(raws), bytes.Join(raws, []byte(",")))
	if err := z.Close(); err != nil {
		p.b.Fatal(err)
	}
	return out.Bytes()
}

func (p *pushing) push(packed []byte, n int) {
	req, err := http.NewRequestWithContext(context.Background(), http.MethodPost, p.url+"/api/v1/ops", bytes.NewReader(packed))
	if err != nil {
		p.b.Error(err)
		return
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("Content-Encoding", "gzip")
	req.AddCookie(p.cookie)
	res, err := p.client.Do(req)
	if err != nil {
		p.b.Error(err)
		return
	}
	defer res.Body.Close()
	var reply struct {
		Through   int
		Attention []struct{ Say string }
	}
	if err := json.NewDecoder(res.Body).Decode(&reply); err != nil || res.StatusCode != http.StatusOK || reply.Through != n || len(reply.Attention) > 0 {
		p.b.Error(res.Status, err, reply)
	}
}

// BenchmarkPush is a batch of 500 readings: as bare rows, and through HTTP with sign-in, reading, checking and the diagnosis
// queued. rows/s of the two, from one run, say what all that costs; B/row is what a reading weighs on the wire.
func BenchmarkPush(b *testing.B) {
	const rows = 500
	p := startPushing(b)
	b.Run("bare", func(b *testing.B) {
		db, err := sql.Open("sqlite", "file:"+filepath.Join(b.TempDir(), "bare.db")+"?_txlock=immediate&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)")
		if err != nil {
			b.Fatal(err)
		}
		defer db.Close()
		db.SetMaxOpenConns(1)
		_, err = db.Exec(`CREATE TABLE ops (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, device TEXT NOT NULL, n INTEGER NOT NULL, raw BLOB NOT NULL, UNIQUE (device, n)) STRICT`)
		if err != nil {
			b.Fatal(err)
		}
		insert, err := db.Prepare(`INSERT INTO ops (id, device, n, raw) VALUES ($1, $2, $3, $4)`)
		if err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			b.StopTimer()
			_, ids, raws := p.body(rows)
			b.StartTimer()
			tx, err := db.Begin()
			if err != nil {
				b.Fatal(err)
			}
			in := tx.Stmt(insert)
			for i, id := range ids {
				if _, err := in.Exec(id, ids[0], i+1, raws[i]); err != nil {
					b.Fatal(err)
				}
			}
			if err := tx.Commit(); err != nil {
				b.Fatal(err)
			}
		}
		b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
	})
	b.Run("office", func(b *testing.B) {
		size := 0
		for b.Loop() {
			b.StopTimer()
			packed, _, _ := p.body(rows)
			size = len(packed)
			b.StartTimer()
			p.push(packed, rows)
		}
		b.ReportMetric(float64(rows*b.N)/b.Elapsed().Seconds(), "rows/s")
		b.ReportMetric(float64(size)/rows, "B/row")
	})
}

// BenchmarkPushOf32Phones is 32 phones that send batches of 20 at once; p99-ms is the slowest but one in a hundred.
func BenchmarkPushOf32Phones(b *testing.B) {
	const phones, rows = 32, 20
	p := startPushing(b)
	var mu sync.Mutex
	var took []time.Duration
	for b.Loop() {
		b.StopTimer()
		var bodies [phones][]byte
		for i := range bodies {
			bodies[i], _, _ = p.body(rows)
		}
		b.StartTimer()
		var all sync.WaitGroup
		for _, packed := range bodies {
			all.Go(func() {
				began := time.Now()
				p.push(packed, rows)
				mu.Lock()
				took = append(took, time.Since(began))
				mu.Unlock()
			})
		}
		all.Wait()
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
}
