package web

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/http/httptest"
	"net/url"
	"runtime"
	"strings"
	"testing"
	"time"

	"swardbook/store"
	"swardbook/web/route"
)

// hostile makes requests that no page of ours makes.
type hostile struct {
	h      *house
	rnd    *rand.Rand
	routes []route.Route
	ids    []string
	bodies [][]byte
	kinds  []string
}

func pick[T any](rnd *rand.Rand, list []T) T { return list[rnd.IntN(len(list))] }

func newHostile(h *house, seed uint64, lawns ...lawn) *hostile {
	x := &hostile{h: h, rnd: rand.New(rand.NewPCG(seed, 1))}
	x.routes = h.routes()
	for _, l := range lawns {
		x.ids = append(x.ids, l.visit.ID, l.client.ID, l.property.ID, l.zones[0].ID)
	}
	x.ids = append(x.ids, "id-owner", "id-manager", "", "%00", "..%2f..%2fetc%2fpasswd", "'; DROP TABLE ops; --", "<script>", "%ff%fe", strings.Repeat("a", 3000), "-1", "0", "9999999999999999999",
		strings.Repeat("ab", 32), strings.Repeat("AB", 32), "null", "{visit}", "a%2fb", "%e2%80%ae", "😀")
	x.kinds = []string{"", "application/json", "application/x-www-form-urlencoded", "multipart/form-data", "multipart/form-data; boundary=x", "text/plain", "application/partial-upload",
		"image/jpeg", "application/json; charset=utf-16", ";;;", strings.Repeat("a/", 500)}
	x.bodies = x.manyBodies()
	return x
}

func (x *hostile) manyBodies() [][]byte {
	packed := func(n int) []byte {
		var b bytes.Buffer
		z := gzip.NewWriter(&b)
		_, _ = z.Write(make([]byte, n))
		_ = z.Close()
		return b.Bytes()
	}
	deep := strings.Repeat(`{"a":`, 20000)
	texts := []string{"", "{", "[]", "null", `{"ops":null}`, `{"proto":1,"app":"a","device":"x","epoch":"","sent":"2026-08-27T10:30:00Z","ops":[{}]}`, deep, strings.Repeat("[", 100000),
		`{"proto":99,"ops":[]}`, `{"proto":1,"app":"a","device":"x","epoch":"e","sent":"9999-99-99","ops":[{"n":-1}]}`, "name=owner&passcode=%00%ff", "a=%zz", strings.Repeat("a=b&", 20000),
		"how=taken&why=" + strings.Repeat("x", 70000), "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"../../x\"\r\n\r\nabc\r\n--x--\r\n", "--x\r\n", "\x00\x01\x02\xff",
		"zone=z&cause=c&judgement=ruled+out&reason=r", "day=2026-02-30&crew=id-owner&why=routine", "how=withdraw", "how=leave", "text=date%2Ctmin+%28C%29%0A2026-01-01%2Cx", "passcode=a&again=b"}
	bodies := [][]byte{packed(8 << 20), packed(10)[:5], bytes.Repeat([]byte("x"), 5<<20)}
	for _, text := range texts {
		bodies = append(bodies, []byte(text))
	}
	return bodies
}

func (x *hostile) path(pattern string) string {
	var b strings.Builder
	for part := range strings.SplitSeq(pattern, "/") {
		if strings.Contains(part, "{") || part == "*" || x.rnd.IntN(20) == 0 {
			part = pick(x.rnd, x.ids)
		}
		b.WriteString("/" + part)
	}
	path := strings.TrimPrefix(b.String(), "/")
	if x.rnd.IntN(4) == 0 {
		path += "?" + pick(x.rnd, []string{"a=%zz", "next=//evil.example", "since=-1&limit=99999999", "year=99999999999999999999", "zone=" + strings.Repeat("z", 2000), "before=x&by='", "done=%00", ";", "&&&"})
	}
	return path
}

// send sends one request as one of the roles and returns who sent it and the answer.
func (x *hostile) send(browsers map[store.Role]*browser) (store.Role, *http.Request, *httptest.ResponseRecorder) {
	role := pick(x.rnd, []store.Role{"", store.Crew, store.Crew, store.Manager, store.Owner})
	line := pick(x.rnd, x.routes)
	method := line.Method
	if x.rnd.IntN(4) == 0 {
		method = pick(x.rnd, []string{"GET", "POST", "HEAD", "PATCH", "PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "BREW"})
	}
	body := pick(x.rnd, x.bodies)
	r, err := http.NewRequest(method, "http://lawns.example/", bytes.NewReader(body))
	if err != nil {
		x.h.t.Fatal(err)
	}
	path := x.path(line.Pattern)
	r.URL = &url.URL{Scheme: "http", Host: "lawns.example"}
	raw, query, _ := strings.Cut(path, "?")
	if plain, err := url.PathUnescape(raw); err == nil {
		r.URL.Path, r.URL.RawPath = plain, raw
	} else {
		r.URL.Path = raw
	}
	r.URL.RawQuery, r.RemoteAddr = query, "192.0.2.7:999"
	r.RequestURI = path
	for name, values := range map[string][]string{
		"Content-Type": x.kinds, "Content-Encoding": {"", "", "", "gzip", "br", "gzip, gzip"}, "Sec-Fetch-Site": {"same-origin", "same-origin", "same-origin", "same-origin", "same-origin", "same-origin", "cross-site", "none", "nonsense"},
		"Upload-Offset": {"", "0", "-1", "x", "99999999999999999999"}, "Upload-Length": {"", "10", "-5", "26214401"}, "If-None-Match": {"", "*", `W/"x"`, strings.Repeat(",", 5000)},
		"Accept-Encoding": {"", "gzip", "identity;q=0"}, "Range": {"", "bytes=0-1,2-3,-9999999"}, "X-Forwarded-For": {"", "127.0.0.1", "garbage, , 1"}, "Origin": {"", "null", "https://evil.example"},
	} {
		if v := pick(x.rnd, values); v != "" {
			r.Header.Set(name, v)
		}
	}
	if c := browsers[role].cookie; c != nil {
		r.AddCookie(c)
	} else if x.rnd.IntN(2) == 0 {
		r.AddCookie(&http.Cookie{Name: "swardbook", Value: pick(x.rnd, []string{"x", strings.Repeat("y", 4000), "token"})})
	}
	w := httptest.NewRecorder()
	x.h.handler.ServeHTTP(w, r)
	return role, r, w
}

// TestTenThousandHostileRequests ends without a fault of ours, with nothing shown to those it is not for, and a house that works.
func TestTenThousandHostileRequests(t *testing.T) {
	h := newHouse(t)
	mine, other := h.lawn("Alder", "Back lawn"), h.lawn("Bramble", "Secret corner")
	if err := h.db.AddPerson(t.Context(), store.Person{ID: "id-second", Name: "Second", Role: store.Crew, Lang: "en", Hash: shared().hash, Active: true}); err != nil {
		t.Fatal(err)
	}
	other.visit = store.Visit{ID: "v-second", Property: other.property.ID, Crew: "id-second", Day: "2026-08-28", Why: "routine", State: store.Planned}
	if err := h.db.AddVisit(t.Context(), other.visit); err != nil {
		t.Fatal(err)
	}
	const seed = 20260827
	x := newHostile(h, seed, mine, other)
	browsers := map[store.Role]*browser{"": h.as("")}
	statuses := map[int]int{}
	for i := range 10_000 {
		for _, role := range []store.Role{store.Crew, store.Manager, store.Owner} { // some requests sign people out or switch them off: that is what they ask for
			if i%500 == 0 {
				if err := h.db.SetActive(t.Context(), "id-"+string(role), true); err != nil {
					t.Fatal(err)
				}
				browsers[role] = h.as(role)
			}
		}
		role, r, w := x.send(browsers)
		statuses[w.Code]++
		if w.Code >= 500 {
			t.Fatalf("request %d of seed %d: %s %.200q as %q: %d %.300s\n%.2000s", i, seed, r.Method, r.RequestURI, role, w.Code, w.Body, h.log)
		}
		if role == "" && (bytes.Contains(w.Body.Bytes(), []byte("Household")) || bytes.Contains(w.Body.Bytes(), []byte("Lane"))) {
			t.Fatalf("request %d: %s %s shows a client to nobody", i, r.Method, r.RequestURI)
		}
		if loc := w.Header().Get("Location"); strings.HasPrefix(loc, "//") || strings.Contains(loc, "evil") && !strings.HasPrefix(loc, "/") {
			t.Fatalf("request %d: %s %s leads to %s", i, r.Method, r.RequestURI, loc)
		}
		h.log.Reset()
	}
	t.Log(statuses)
	if statuses[200] == 0 || statuses[403] == 0 || statuses[404] == 0 || statuses[405] == 0 || statuses[413]+statuses[422] == 0 {
		t.Errorf("the requests were not of all kinds: %v", statuses)
	}
	h.works(mine)
}

// works records a reading and sees it at the desk.
func (h *house) works(l lawn) {
	h.t.Helper()
	for _, role := range []store.Role{store.Crew, store.Manager} {
		if err := h.db.SetActive(h.t.Context(), "id-"+string(role), true); err != nil {
			h.t.Fatal(err)
		}
	}
	h.now = h.now.Add(time.Hour)
	l.visit = h.visit(l, "v-after", "2026-08-28")
	c, one, _ := h.choice()
	h.phone(store.Crew, "phone-after").reading(l.visit, l.zones[0], c.ID, one, "2026-08-28T10:30:00-04:00")
	text := textOf(h.as(store.Manager).page("/desk/visits/" + l.visit.ID))
	if !strings.Contains(text, c.Options[1].Label.EN) {
		h.t.Error("the house takes no readings any more")
	}
}

// TestCrewSeeTheirOwnVisitsOnly asks everything a phone can ask, by the ids of somebody else's visit.
func TestCrewSeeTheirOwnVisitsOnly(t *testing.T) {
	h := newHouse(t)
	other := h.lawn("Bramble", "Secret corner")
	if err := h.db.AddPerson(t.Context(), store.Person{ID: "id-second", Name: "Second", Role: store.Crew, Lang: "en", Hash: shared().hash, Active: true}); err != nil {
		t.Fatal(err)
	}
	h.people[store.Crew] = store.Person{ID: "id-second", Name: "Second", Role: store.Crew}
	second := h.as(store.Crew)
	for _, line := range h.routes() {
		if line.Method != http.MethodGet {
			continue
		}
		answer := second.get(concrete(line.Pattern, other))
		raw, _ := io.ReadAll(answer.Body)
		for _, word := range []string{"Household", "Bramble", "Secret corner"} {
			if bytes.Contains(raw, []byte(word)) {
				t.Errorf("%s shows %q to crew whose visit it is not", line.Pattern, word)
			}
		}
	}
}

// TestASlowClientIsCutAndHoldsNobodyUp opens connections that send drop by drop, while others are served.
func TestASlowClientIsCutAndHoldsNobodyUp(t *testing.T) {
	h := newHouse(t)
	server := httptest.NewUnstartedServer(h.handler)
	server.Config.ReadHeaderTimeout = 300 * time.Millisecond
	server.Start()
	defer server.Close()
	before := runtime.NumGoroutine()
	var slow []net.Conn
	for i := range 60 {
		c, err := net.Dial("tcp", server.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		slow = append(slow, c)
		_, _ = fmt.Fprintf(c, "POST /sign-in HTTP/1.1\r\nHost: x\r\nX-Drop-%d: ", i)
	}
	for range 20 {
		res, err := http.Get(server.URL + "/healthz")
		if err != nil || res.StatusCode != 200 {
			t.Fatalf("%v %v", res, err)
		}
		_ = res.Body.Close()
	}
	for _, c := range slow {
		_ = c.SetReadDeadline(time.Now().Add(5 * time.Second))
		if _, err := io.ReadAll(c); err != nil {
			t.Errorf("a slow client is still connected: %v", err)
		}
		_ = c.Close()
	}
	http.DefaultClient.CloseIdleConnections()
	for until := time.Now().Add(5 * time.Second); runtime.NumGoroutine() > before+3; time.Sleep(20 * time.Millisecond) {
		if time.Now().After(until) {
			t.Fatalf("%d goroutines before, %d after", before, runtime.NumGoroutine())
		}
	}
}

// deadlined is a writer that notes until when a body may arrive.
type deadlined struct {
	*httptest.ResponseRecorder
	read, write time.Duration
}

func (d *deadlined) SetReadDeadline(at time.Time) error  { d.read = time.Until(at); return nil }
func (d *deadlined) SetWriteDeadline(at time.Time) error { d.write = time.Until(at); return nil }

func TestEveryRequestHasATimeToArriveAndASizeToKeep(t *testing.T) {
	h := newHouse(t)
	for path, longest := range map[string]time.Duration{"/sign-in": longestForm, "/api/v1/ops": longestAPI, "/": longestForm} {
		w := &deadlined{ResponseRecorder: httptest.NewRecorder()}
		h.handler.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		if w.read > longest || w.read < longest-time.Minute/2 || w.write > longest || w.write <= 0 {
			t.Errorf("%s: %v to arrive, %v to leave", path, w.read, w.write)
		}
	}
	for path, most := range map[string]int{"/sign-in": maxForm, "/desk/people": maxForm, "/api/v1/ops": maxAPI} {
		r := httptest.NewRequest("POST", path, bytes.NewReader(make([]byte, most+1)))
		r.Header.Set("Content-Type", map[bool]string{true: "application/json", false: "application/x-www-form-urlencoded"}[isAPI(r)])
		r.AddCookie(h.as(store.Owner).cookie)
		w := httptest.NewRecorder()
		h.handler.ServeHTTP(w, r)
		if w.Code != http.StatusRequestEntityTooLarge && w.Code != http.StatusUnprocessableEntity && w.Code != http.StatusBadRequest {
			t.Errorf("%s took %d bytes: %d", path, most+1, w.Code)
		}
	}
}
