package main

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"swardbook/store/storetest"
)

const (
	simPhones   = 500
	simDesks    = 20
	rowsOfAPush = 5
	pauseMost   = 6 * time.Second // of a phone between two syncs; half of it on average
	deskPause   = 4 * time.Second
)

// largeFirm is the whole office over a large database, behind a socket on loopback.
type largeFirm struct {
	storetest.Large
	b       *testing.B
	house   *house
	url     string
	client  *http.Client
	edition string
	desk    *http.Cookie
	n       []int // last number of each phone
	devices []string
}

func startLarge(b *testing.B, readings int) *largeFirm {
	b.Helper()
	dir, now := b.TempDir(), time.Now()
	f := &largeFirm{b: b, Large: storetest.Grow(b, dir, readings, simPhones, now), n: make([]int, simPhones)}
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	c := config{data: dir}
	var err error
	if f.house, err = openHouse(b.Context(), c, time.Now, log); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = f.house.close() })
	handler, err := f.house.handler(c, log)
	if err != nil {
		b.Fatal(err)
	}
	srv := httptest.NewServer(handler)
	b.Cleanup(srv.Close)
	f.url, f.client, f.edition = srv.URL, srv.Client(), f.house.held.Know().Edition
	f.client.Transport.(*http.Transport).MaxIdleConnsPerHost = simPhones + simDesks
	f.desk = f.signIn(f.Manager)
	for range simPhones {
		f.devices = append(f.devices, uuid.NewString())
	}
	return f
}

func (f *largeFirm) signIn(person string) *http.Cookie {
	f.b.Helper()
	token := uuid.NewString()
	sum := sha256.Sum256([]byte(token))
	if err := f.house.db.AddSession(f.b.Context(), sum[:], person, "bench", time.Hour); err != nil {
		f.b.Fatal(err)
	}
	return &http.Cookie{Name: "swardbook", Value: token}
}

// ask sends one request and reads the answer to its end.
func (f *largeFirm) ask(who *http.Cookie, method, path string, body []byte) (took time.Duration, answer []byte, err error) {
	req, err := http.NewRequestWithContext(context.Background(), method, f.url+path, bytes.NewReader(body))
	if err != nil {
		return 0, nil, err
	}
	req.AddCookie(who)
	if body != nil {
		req.Header.Set("Content-Type", "application/json")
	}
	began := time.Now()
	res, err := f.client.Do(req)
	if err != nil {
		return 0, nil, err
	}
	defer res.Body.Close()
	answer, err = io.ReadAll(res.Body)
	if err == nil && res.StatusCode != http.StatusOK {
		err = fmt.Errorf("%s %s: %s", method, path, res.Status)
	}
	return time.Since(began), answer, err
}

// body is a push of further readings of phone i on its visit of today.
func (f *largeFirm) body(i, rows int) []byte {
	var ops []json.RawMessage
	now, said := time.Now(), must(storetest.Answers())
	for range rows {
		f.n[i]++
		id, a := uuid.Must(uuid.NewV7()).String(), said[f.n[i]%len(said)]
		ops = append(ops, must(json.Marshal(map[string]any{
			"n": f.n[i], "id": id, "op": "create", "entity": id, "base": 0, "form": "reading", "fver": 1, "author": f.Crew[i],
			"hlc": fmt.Sprintf("%012x-%04x-%s", now.UnixMilli(), f.n[i]&0xffff, f.devices[i][32:]), "at": now.Format("2006-01-02T15:04:05.000Z07:00"),
			"body": map[string]any{"visit": f.Visit(i), "zone": f.ZoneOf(i), "check": a[0], "typed": a[1], "edition": f.edition}, "photos": []any{},
		})))
	}
	return must(json.Marshal(map[string]any{"proto": 1, "app": "bench", "device": f.devices[i], "epoch": "", "sent": now.Format(time.RFC3339), "unsent": rows, "ops": ops}))
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

func (f *largeFirm) push(who *http.Cookie, i, rows int) (time.Duration, error) {
	took, answer, err := f.ask(who, http.MethodPost, "/api/v1/ops", f.body(i, rows))
	var reply struct{ Through int }
	if err == nil && (json.Unmarshal(answer, &reply) != nil || reply.Through != f.n[i]) {
		err = fmt.Errorf("phone %d: %s", i, answer)
	}
	return took, err
}

// pages are what a desk opens, by what it is called in the table.
func (f *largeFirm) pages() [][2]string {
	i := rand.IntN(f.Visits)
	property := i % f.Properties
	client := f.Client(property % f.Clients)
	return [][2]string{
		{"first page", "/desk/"}, {"visit", "/desk/visits/" + f.Past(i)}, {"clients", "/desk/clients"}, {"client", "/desk/clients/" + client},
		{"property", "/desk/properties/" + f.Property(property)}, {"season", fmt.Sprintf("/desk/clients/%s/season/%d", client, f.Day.Year()-1)},
		{"search", "/desk/find?q=" + strconv.Itoa(property+1) + "+alder"}, {"search of one letter", "/desk/find?q=a"}, {"audit", "/desk/audit"},
	}
}

// alone measures every page and call with nobody else there: the median of some.
func (f *largeFirm) alone() map[string]time.Duration {
	f.b.Helper()
	all := map[string][]time.Duration{}
	owner, phone := f.signIn(f.Owner), f.signIn(f.Crew[0])
	note := func(name string, took time.Duration, err error) {
		if err != nil {
			f.b.Fatal(name, err)
		}
		all[name] = append(all[name], took)
	}
	for range 7 {
		for _, p := range f.pages() {
			took, _, err := f.ask(owner, http.MethodGet, p[1], nil)
			note(p[0], took, err)
		}
		for _, p := range [][2]string{{"day packet", "/api/v1/pack"}, {"feed", "/api/v1/feed?since=0&limit=500&epoch="}} {
			took, _, err := f.ask(phone, http.MethodGet, p[1], nil)
			note(p[0], took, err)
		}
		took, err := f.push(phone, 0, 20)
		note("push of 20", took, err)
		_ = f.house.intake.Wait(context.Background())
	}
	out := map[string]time.Duration{}
	for name, list := range all {
		slices.Sort(list)
		out[name] = list[len(list)/2]
	}
	return out
}

// crowd is what came of everybody at once.
type crowd struct {
	phones, desks []time.Duration
	rows          int
	failed        map[string]int
	heap          uint64
	took          time.Duration
}

// rush lets all phones sync and all desks read for a while, each with pauses as people make them.
func (f *largeFirm) rush(lasting time.Duration) crowd {
	c, mu := crowd{failed: map[string]int{}}, sync.Mutex{}
	var all sync.WaitGroup
	var phones [simPhones]*http.Cookie
	for i := range phones {
		phones[i] = f.signIn(f.Crew[i])
	}
	began := time.Now()
	until := began.Add(lasting)
	note := func(list *[]time.Duration, took time.Duration, rows int, err error) {
		mu.Lock()
		defer mu.Unlock()
		if err != nil {
			c.failed[err.Error()]++
			return
		}
		*list, c.rows = append(*list, took), c.rows+rows
	}
	for i := range simPhones {
		who := phones[i]
		all.Go(func() {
			for time.Sleep(time.Duration(rand.Int64N(int64(pauseMost)))); time.Now().Before(until); time.Sleep(time.Duration(rand.Int64N(int64(pauseMost)))) {
				took, err := f.push(who, i, rowsOfAPush)
				note(&c.phones, took, rowsOfAPush, err)
				took, _, err = f.ask(who, http.MethodGet, "/api/v1/pack", nil)
				note(&c.phones, took, 0, err)
			}
		})
	}
	for range simDesks {
		all.Go(func() {
			for time.Now().Before(until) {
				p := f.pages()
				took, _, err := f.ask(f.desk, http.MethodGet, p[rand.IntN(len(p)-1)][1], nil)
				note(&c.desks, took, 0, err)
				time.Sleep(time.Duration(rand.Int64N(int64(deskPause))))
			}
		})
	}
	for time.Now().Before(until) {
		time.Sleep(200 * time.Millisecond)
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		c.heap = max(c.heap, m.HeapInuse)
	}
	all.Wait()
	c.took = time.Since(began)
	slices.Sort(c.phones)
	slices.Sort(c.desks)
	return c
}

func (c crowd) String() string {
	at := func(list []time.Duration, of, out int) time.Duration {
		if len(list) == 0 {
			return -1
		}
		return list[len(list)*of/out].Round(100 * time.Microsecond)
	}
	return fmt.Sprintf("%.0f readings/s, %.0f phone requests/s (p50 %s, p99 %s), %.1f desk pages/s (p50 %s, p99 %s), heap %d MB, failed %v",
		float64(c.rows)/c.took.Seconds(), float64(len(c.phones))/c.took.Seconds(), at(c.phones, 1, 2), at(c.phones, 99, 100),
		float64(len(c.desks))/c.took.Seconds(), at(c.desks, 1, 2), at(c.desks, 99, 100), c.heap>>20, c.failed)
}

// bare writes as many rows as the log has into a table with the same keys and nothing else, and returns how fast batches of 20 go on from there.
func (f *largeFirm) bare() float64 {
	f.b.Helper()
	path := filepath.Join(f.b.TempDir(), "bare.db")
	db := must(sql.Open("sqlite", "file:"+path+"?_txlock=immediate&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)"))
	defer db.Close()
	db.SetMaxOpenConns(1)
	must(db.Exec(`CREATE TABLE ops (seq INTEGER PRIMARY KEY AUTOINCREMENT, id TEXT NOT NULL UNIQUE, device TEXT NOT NULL, n INTEGER NOT NULL, raw BLOB NOT NULL, UNIQUE (device, n)) STRICT`))
	must(db.Exec(`ATTACH $1 AS office`, "file:"+f.Path+"?mode=ro"))
	must(db.Exec(`INSERT INTO ops (id, device, n, raw) SELECT id, device, n, raw FROM office.ops ORDER BY seq`))
	insert := must(db.Prepare(`INSERT INTO ops (id, device, n, raw) VALUES ($1, $2, $3, $4)`))
	rows, began := 0, time.Now()
	for time.Since(began) < 2*time.Second {
		tx := must(db.Begin())
		in := tx.Stmt(insert)
		for i := range 20 {
			must(in.Exec(uuid.Must(uuid.NewV7()).String(), "bare", rows+i+1, make([]byte, 445)))
		}
		if err := tx.Commit(); err != nil {
			f.b.Fatal(err)
		}
		rows += 20
	}
	return float64(rows) / time.Since(began).Seconds()
}

// one is how many readings one phone alone can send in batches of 20, a second.
func (f *largeFirm) one() float64 {
	f.b.Helper()
	who, rows, began := f.signIn(f.Crew[1]), 0, time.Now()
	for time.Since(began) < 2*time.Second {
		if _, err := f.push(who, 1, 20); err != nil {
			f.b.Fatal(err)
		}
		rows += 20
	}
	return float64(rows) / time.Since(began).Seconds()
}

func sizeOf(path string) (n int64) {
	for _, end := range []string{"", "-wal"} {
		if info, err := os.Stat(path + end); err == nil {
			n += info.Size()
		}
	}
	return n
}

// BenchmarkFirm is one firm on one machine at several sizes: what each page and call costs alone, what 500 phones and 20 desks get at once,
// memory, the size of the file, and the same rows through bare SQLite. SWARDBOOK_READINGS lists the sizes, SWARDBOOK_RUSH how long the rush lasts.
func BenchmarkFirm(b *testing.B) {
	sizes, lasting := []int{10_000}, 5*time.Second
	if text := os.Getenv("SWARDBOOK_READINGS"); text != "" {
		sizes = nil
		for _, s := range strings.Split(text, ",") {
			sizes = append(sizes, must(strconv.Atoi(s)))
		}
	}
	if text := os.Getenv("SWARDBOOK_RUSH"); text != "" {
		lasting = must(time.ParseDuration(text))
	}
	var costs []map[string]time.Duration
	for _, readings := range sizes {
		b.Run(strconv.Itoa(readings), func(b *testing.B) {
			f := startLarge(b, readings)
			costs = append(costs, f.alone())
			b.Logf("%d readings, %d visits, %d properties: made in %s, file %d MB", f.Readings, f.Visits, f.Properties, f.Took.Round(time.Second), sizeOf(f.Path)>>20)
			bare, one := f.bare(), f.one()
			b.Logf("one phone, batches of 20: %.0f readings/s; bare SQLite %.0f rows/s, %.1f times", one, bare, bare/one)
			b.Logf("%d phones and %d desks for %s: %s", simPhones, simDesks, lasting, f.rush(lasting))
			b.ReportMetric(0, "ns/op")
		})
	}
	if len(costs) == len(sizes) { // not by b.Log: of a benchmark that holds others it prints nothing, and of any ten lines at most
		fmt.Println(growth(sizes, costs))
	}
}

// growth is the table of costs alone, and how each grew against n·log n from the first size to the last.
func growth(sizes []int, costs []map[string]time.Duration) string {
	var names []string
	for name := range costs[0] {
		names = append(names, name)
	}
	slices.Sort(names)
	out := &strings.Builder{}
	fmt.Fprintf(out, "%-22s", "median alone, ms")
	for _, s := range sizes {
		fmt.Fprintf(out, "%12d", s)
	}
	first, last := float64(sizes[0]), float64(sizes[len(sizes)-1])
	bound := last * math.Log(last) / (first * math.Log(first))
	fmt.Fprintf(out, "%10s (n·log n: %.0f)\n", "growth", bound)
	for _, name := range names {
		fmt.Fprintf(out, "%-22s", name)
		for _, c := range costs {
			fmt.Fprintf(out, "%12.2f", float64(c[name].Microseconds())/1000)
		}
		fmt.Fprintf(out, "%10.1f\n", float64(costs[len(costs)-1][name])/float64(costs[0][name]))
	}
	return out.String()
}
