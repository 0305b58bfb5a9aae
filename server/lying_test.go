package main

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
)

// liar is a phone that sends what no page of ours would.
type liar struct {
	*pushing
	t      *testing.T
	device string
	n      int
}

// op is one operation with some members replaced, in JSON.
func (l *liar) op(changes map[string]string) string {
	l.n++
	id := uuid.Must(uuid.NewV7()).String()
	members := map[string]string{
		"n": fmt.Sprint(l.n), "id": quote(id), "op": `"create"`, "entity": quote(id), "base": "0", "form": `"reading"`, "fver": "1", "author": quote(l.person.ID),
		"hlc": quote(fmt.Sprintf("%012x-0000-3f9a", time.Now().UnixMilli())), "at": quote(time.Now().UTC().Format(time.RFC3339)),
		"body": l.body(l.visit.ID, `"firm"`, "2026-11-25"), "photos": "[]",
	}
	for k, v := range changes {
		members[k] = v
	}
	var list []string
	for k, v := range members {
		list = append(list, quote(k)+":"+v)
	}
	return "{" + strings.Join(list, ",") + "}"
}

func quote(s string) string { return fmt.Sprintf("%q", s) }

func (l *liar) body(visit, typed, edition string) string {
	return fmt.Sprintf(`{"visit":%q,"zone":%q,"check":"tug_test","typed":%s,"edition":%q}`, visit, l.zones[0].ID, typed, edition)
}

func (l *liar) push(ops ...string) string { return l.pushAs(l.device, time.Now(), ops...) }

func (l *liar) pushAs(device string, sent time.Time, ops ...string) string {
	return fmt.Sprintf(`{"proto":1,"app":"x","device":%q,"epoch":"","sent":%q,"unsent":0,"ops":[%s]}`, device, sent.Format(time.RFC3339), strings.Join(ops, ","))
}

// answered is what came back, and what the log says of it.
type answered struct {
	status int
	body   string
	log    string
}

func (l *liar) send(method, path string, body []byte, headers map[string]string) answered {
	l.t.Helper()
	l.log.take()
	req, err := http.NewRequest(method, l.url+path, bytes.NewReader(body))
	if err != nil {
		l.t.Fatal(err)
	}
	for k, v := range headers {
		req.Header.Set(k, v)
	}
	req.AddCookie(l.cookie)
	res, err := l.client.Do(req)
	if err != nil {
		l.t.Fatal(err)
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	if err != nil {
		l.t.Fatal(err)
	}
	said := ""
	waitFor(l.t, "the log", 5*time.Second, func() (bool, bool) { said += l.log.take(); return true, strings.Contains(said, "msg=request") })
	return answered{res.StatusCode, string(raw), said}
}

func packed(t *testing.T, text io.Reader) []byte {
	t.Helper()
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestSpeed)
	if err == nil {
		_, err = io.Copy(z, text)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// zeros is n bytes of nothing.
func zeros(n int64) io.Reader { return io.LimitReader(repeat{}, n) }

type repeat struct{}

func (repeat) Read(p []byte) (int, error) { clear(p); return len(p), nil }

// TestPhonesThatLie: each is answered in our own words and logged once, and an honest phone beside them loses nothing.
func TestPhonesThatLie(t *testing.T) {
	p := startPushing(t)
	l := &liar{pushing: p, t: t, device: uuid.NewString()}
	honest := &liar{pushing: p, t: t, device: uuid.NewString()}
	others, err := p.db.Visits(t.Context(), store.VisitFilter{})
	if err != nil {
		t.Fatal(err)
	}
	foreign := ""
	for _, v := range others {
		if v.Crew != "" && v.Crew != p.person.ID && v.State == store.Planned {
			foreign = v.ID
		}
	}
	if foreign == "" {
		t.Fatal("the demo has no visit of somebody else's")
	}
	asJSON := map[string]string{"Content-Type": "application/json"}
	asGzip := map[string]string{"Content-Type": "application/json", "Content-Encoding": "gzip"}
	twice := l.op(nil)
	honestOps := 0
	tell := func() {
		t.Helper()
		honestOps++
		if a := honest.send("POST", "/api/v1/ops", []byte(honest.push(honest.op(nil))), asJSON); a.status != 200 || !strings.Contains(a.body, fmt.Sprintf(`"through":%d,`, honestOps)) || !strings.Contains(a.body, `"attention":[]`) {
			t.Fatalf("an honest phone beside them: %+v", a)
		}
	}
	tell()
	for _, c := range []struct {
		name   string
		body   []byte
		header map[string]string
		status int
		says   string
	}{
		{"a first row", []byte(l.push(twice)), asJSON, 200, `"through":1,`},
		{"somebody else's visit", []byte(l.push(l.op(map[string]string{"body": l.body(foreign, `"firm"`, "2026-11-25")}))), asJSON, 200, `"code":"not_yours"`},
		{"an id again with other content", []byte(l.push(strings.Replace(twice, `"typed":"firm"`, `"typed":"peels"`, 1))), asJSON, 200, `"clash":[1]`},
		{"a number again with another id", []byte(l.push(l.op(map[string]string{"n": "1"}))), asJSON, 409, `"fork":true`},
		{"beyond what was sent", []byte(l.push(l.op(map[string]string{"n": "900"}))), asJSON, 409, `"through":2`},
		{"half a body", []byte(l.push(l.op(nil)))[:200], asJSON, 400, `"error":"malformed"`},
		{"10 MB of JSON", []byte(l.push(`{"n":3,"id":"big","pad":"` + strings.Repeat("x", 10<<20) + `"}`)), asJSON, 413, `"error":"too_large"`},
		{"a bomb of zeros", packed(t, zeros(1<<28)), asGzip, 413, `"error":"too_large"`},
		{"a bomb of JSON", packed(t, strings.NewReader(l.push(`{"n":3,"id":"big","pad":"`+strings.Repeat("x", 10<<20)+`"}`))), asGzip, 413, `"error":"too_large"`},
		{"not gzip", []byte(l.push()), asGzip, 400, `"error":"malformed"`},
		{"gzip cut short", packed(t, strings.NewReader(l.push()))[:40], asGzip, 400, `"error":"malformed"`},
		{"a nest", []byte(strings.Repeat("[", 500_000)), asJSON, 400, `"error":"malformed"`},
		{"a nest in a row", []byte(l.push(`{"n":3,"id":"deep","body":` + strings.Repeat(`{"a":`, 200_000) + "1" + strings.Repeat("}", 200_000) + "}")), asJSON, 413, `"error"`},
		{"an edition that never existed", []byte(l.pushAs("liar-2", time.Now(), l.op(map[string]string{"n": "1", "body": l.body(p.visit.ID, `"firm"`, "3026-02-31")}))), asJSON, 200, `"attention":[]`},
		{"the year 9999", []byte(l.pushAs("liar-3", time.Now(), l.op(map[string]string{"n": "1", "at": `"9999-12-31T23:59:59Z"`, "hlc": `"ffffffffffff-ffff-3f9a"`}))), asJSON, 200, `"code":"future"`},
		{"a phone in the year 9999", []byte(l.pushAs("liar-4", time.Date(9999, 12, 31, 23, 59, 59, 0, time.UTC), l.op(map[string]string{"n": "1", "at": `"9999-12-31T23:59:59Z"`, "hlc": `"ffffffffffff-ffff-3f9a"`}))), asJSON, 200, `"through":1,`},
		{"half a character", []byte(l.pushAs("liar-5", time.Now(), l.op(map[string]string{"n": "1", "body": strings.Replace(l.body(p.visit.ID, `"\ud800 firm"`, "e"), "tug_test", "note", 1)}))), asJSON, 200, `"through":1,`},
	} {
		a := l.send("POST", "/api/v1/ops", c.body, c.header)
		if a.status != c.status || !strings.Contains(a.body, c.says) || !json.Valid([]byte(a.body)) {
			t.Errorf("%s: %d %.300s, want %d with %s", c.name, a.status, a.body, c.status, c.says)
		}
		if n := strings.Count(a.log, "msg=request"); n != 1 {
			t.Errorf("%s: %d lines in the log:\n%s", c.name, n, a.log)
		}
		tell()
	}
	l.photos()
	tell()
	if ops, err := p.db.Ops(t.Context(), store.OpFilter{Device: honest.device}); err != nil || len(ops) != honestOps {
		t.Errorf("of %d rows of the honest phone %d are there (%v)", honestOps, len(ops), err)
	}
	ops, err := p.db.Ops(t.Context(), store.OpFilter{Device: "liar-5"})
	if err != nil || len(ops) != 1 || !bytes.Contains(ops[0].Raw, []byte(`\ud800 firm`)) {
		t.Errorf("half a character is not kept as it came: %v, %v", ops, err)
	}
	current, err := p.db.Readings(t.Context(), p.visit.ID)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range current {
		if r.Check == "tug_test" && r.Current && r.Device != honest.device {
			t.Errorf("the reading that counts is of %s, though the honest phone's is the latest", r.Device)
		}
	}
}

// photos sends what isn't a photo, or not the one it is called.
func (l *liar) photos() {
	piece := func(raw []byte, sha, offset, length string) answered {
		return l.send("PATCH", "/api/v1/photos/"+sha, raw, map[string]string{"Content-Type": "application/partial-upload", "Upload-Offset": offset, "Upload-Length": length, "Upload-Media-Type": "image/jpeg"})
	}
	name := func(raw []byte) string { sum := sha256.Sum256(raw); return hex.EncodeToString(sum[:]) }
	page, real := []byte("<html><script>alert(1)</script>"), picture(1, 2000)
	for _, c := range []struct {
		what string
		got  answered
		want int
	}{
		{"a page", piece(page, name(page), "0", fmt.Sprint(len(page))), 422},
		{"other bytes than its name", piece(real, name([]byte("another")), "0", fmt.Sprint(len(real))), 422},
		{"a piece from nowhere", piece(real, name(real), "500000", "600000"), 409},
		{"ten thousand million bytes", piece(real, name(real), "0", "10000000000"), 413},
		{"a negative offset", piece(real, name(real), "-1", fmt.Sprint(len(real))), 400},
		{"a name that is a path", piece(real, "..%2f..%2fswardbook.db", "0", fmt.Sprint(len(real))), 400},
		{"the photo itself, after all that", piece(real, name(real), "0", fmt.Sprint(len(real))), 204},
	} {
		if c.got.status != c.want {
			l.t.Errorf("%s: %d %s, want %d", c.what, c.got.status, c.got.body, c.want)
		}
		if n := strings.Count(c.got.log, "msg=request"); n != 1 {
			l.t.Errorf("%s: %d lines in the log:\n%s", c.what, n, c.got.log)
		}
	}
}
