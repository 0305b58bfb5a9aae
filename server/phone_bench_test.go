package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"
	"time"
)

// phone opens the phone's own modules in a browser that is signed in, and syncs once.
func (p *pushing) phone() *tab {
	tb := startBrowser(p.b, p.b.TempDir(), "").open(390, 844, false, p.url+"/sign-in")
	given, err := json.Marshal(map[string]any{"visit": p.visit.ID, "zones": p.zones, "answers": answers})
	if err != nil {
		p.b.Fatal(err)
	}
	tb.eval(`(async () => {
document.cookie = "swardbook=`+p.cookie.Value+`; path=/";
const {open} = await import("/static/js/db.js"), {Outbox} = await import("/static/js/outbox.js"), {Syncer} = await import("/static/js/sync.js"), {uuid7, chance} = await import("/static/js/ids.js");
const db = await open(), outbox = new Outbox(db), given = `+string(given)+`;
const syncer = new Syncer({db, outbox, app: "bench"}, {setTimer: (f, ms) => (ms >= 20_000 ? setTimeout(f, ms) : null)});
let i = 0;
const body = () => {
  const [check, typed] = given.answers[i % given.answers.length], zone = given.zones[i++ % given.zones.length].ID;
  return {visit: given.visit, zone, check, typed, edition: "2026-11-25"};
};
const record = () => outbox.record("reading", body());
const fill = (n) => db.keep(["ops", "meta"], async (tx) => { // what n saves leave behind
  const me = await tx.get("meta", "me");
  let counter = {device: crypto.randomUUID(), last: 0, recent: [], hlc: ""};
  for (let k = 0; k < n; k++) {
    const ms = Date.now() - (n - k) * 20_000, id = uuid7(ms, chance);
    const row = outbox.row({id, ms, form: "reading", body: body(), photos: [], more: {}}, counter, me.id);
    counter = {...counter, last: row.n, hlc: row.op.hlc};
    tx.put("ops", row);
  }
  await tx.put("meta", counter, "counter");
});
globalThis.phone = {outbox, syncer, record, fill};
return syncer.tapped();
})()`, nil)
	return tb
}

// BenchmarkPhoneSave is one strict save of a reading in a browser, until the store says that it is on the disk; beside it what the browser
// takes of that by itself: a bare transaction that puts one row as large and waits for the disk (bare), and one that does not wait (relaxed).
func BenchmarkPhoneSave(b *testing.B) {
	tb := startPushing(b).phone()
	type spread struct{ P50, P99 float64 }
	var got struct{ Save, Bare, Relaxed spread }
	for b.Loop() {
		tb.eval(`(async () => {
const spread = async (one) => { const times = [];
	for (let i = 0; i < 500; i++) { const t = performance.now(); await one(i); times.push(performance.now() - t); }
	times.sort((a, b) => a - b);
	return {P50: times[250], P99: times[495]}; };
const made = await phone.record(), open = indexedDB.open("bare", 1);
const db = await new Promise((r, no) => { open.onupgradeneeded = () => open.result.createObjectStore("rows"); open.onsuccess = () => r(open.result); open.onerror = no; });
const bare = (durability) => (i) => new Promise((r, no) => { const tx = db.transaction(["rows"], "readwrite", {durability}); tx.objectStore("rows").put(made, durability + i); tx.oncomplete = r; tx.onabort = no; });
const Save = await spread(() => phone.record()), Bare = await spread(bare("strict")), Relaxed = await spread(bare("relaxed"));
db.close();
indexedDB.deleteDatabase("bare");
return {Save, Bare, Relaxed};
})()`, &got)
	}
	for name, s := range map[string]spread{"": got.Save, "bare-": got.Bare, "relaxed-": got.Relaxed} {
		b.ReportMetric(s.P50, name+"p50-ms")
		b.ReportMetric(s.P99, name+"p99-ms")
	}
}

// BenchmarkPhoneSends is the whole client in a browser that sends 10,000 readings: us/confirmed is a reading's share of the time until every
// one is confirmed, us/reading until the phone has read the feed too and rests, and B/reading is what travels.
func BenchmarkPhoneSends(b *testing.B) {
	const readings = 10_000
	took, pushed := 0.0, 0.0
	for b.Loop() {
		b.StopTimer()
		p := startPushing(b)
		tb := p.phone()
		tb.eval(fmt.Sprintf(`phone.fill(%d)`, readings), nil)
		p.up.Store(0)
		b.StartTimer()
		tb.eval(`(() => { const began = performance.now(); phone.took = 0; phone.pushed = 0;
const confirm = phone.outbox.confirm.bind(phone.outbox);
phone.outbox.confirm = async (r) => { await confirm(r); phone.pushed = performance.now() - began; };
phone.syncer.tapped().then(() => { phone.took = performance.now() - began; }); })()`, nil)
		ms := waitFor(b, "the office to have everything", 5*time.Minute, func() (ms float64, done bool) {
			tb.eval(`phone.took`, &ms)
			return ms, ms > 0
		})
		took += ms
		var confirmed float64
		tb.eval(`phone.pushed`, &confirmed)
		pushed += confirmed
		b.StopTimer()
		var state struct {
			Device string
			Acked  struct{ Through int }
		}
		tb.eval(`phone.outbox.state()`, &state)
		if through, err := p.db.Through(b.Context(), state.Device); err != nil || through != readings || state.Acked.Through != readings {
			b.Fatalf("the office has %d (%v), the phone knows of %d", through, err, state.Acked.Through)
		}
		b.ReportMetric(float64(p.up.Load())/readings, "B/reading")
		b.StartTimer()
	}
	b.ReportMetric(1000*pushed/float64(b.N)/readings, "us/confirmed")
	b.ReportMetric(1000*took/float64(b.N)/readings, "us/reading")
}

// BenchmarkDayOfPhones is twenty phones at once that send a day each: 150 readings in three batches and 12 photos of 250 KB. From it
// follow the minutes and the room of 1,000 phones that come back to the yard together.
func BenchmarkDayOfPhones(b *testing.B) {
	const phones, photos, size = 20, 12, 250 << 10
	batches := []int{20, 40, 90}
	p := startPushing(b)
	before := folderSize(b, p.dir)
	made := 0
	for b.Loop() {
		b.StopTimer()
		days := make([]func(), phones)
		for i := range days {
			packed := p.day(batches)
			pictures := make([][]byte, photos)
			for k := range pictures {
				made++
				pictures[k] = picture(made, size)
			}
			days[i] = func() {
				sent := 0
				for k, body := range packed {
					sent += batches[k]
					p.push(body, sent)
				}
				for _, bytes := range pictures {
					p.sendPhoto(bytes)
				}
			}
		}
		b.StartTimer()
		var all sync.WaitGroup
		for _, day := range days {
			all.Go(day)
		}
		all.Wait()
	}
	per := b.Elapsed().Seconds() / float64(b.N) / phones
	b.ReportMetric(1000*per/60, "min/1000-phones")
	b.ReportMetric(1000*float64(folderSize(b, p.dir)-before)/float64(b.N)/phones/(1<<30), "GB/1000-phones")
}

func folderSize(b *testing.B, dir string) (total int64) {
	b.Helper()
	err := filepath.Walk(dir, func(_ string, info os.FileInfo, err error) error {
		if err == nil && info.Mode().IsRegular() {
			total += info.Size()
		}
		return err
	})
	if err != nil {
		b.Fatal(err)
	}
	return total
}

// picture is a file that begins like a JPEG and is like no other.
func picture(n, size int) []byte {
	raw := bytes.Repeat([]byte{byte(n)}, size)
	copy(raw, "\xff\xd8\xff\xe0")
	binary.BigEndian.PutUint64(raw[4:], uint64(n))
	return raw
}

func (p *pushing) sendPhoto(raw []byte) {
	sum := sha256.Sum256(raw)
	req, err := http.NewRequest(http.MethodPatch, p.url+"/api/v1/photos/"+hex.EncodeToString(sum[:]), bytes.NewReader(raw))
	if err != nil {
		p.b.Error(err)
		return
	}
	for k, v := range map[string]string{"Content-Type": "application/partial-upload", "Upload-Offset": "0", "Upload-Length": strconv.Itoa(len(raw)), "Upload-Media-Type": "image/jpeg"} {
		req.Header.Set(k, v)
	}
	req.AddCookie(p.cookie)
	res, err := p.client.Do(req)
	if err != nil {
		p.b.Error(err)
		return
	}
	defer res.Body.Close()
	if res.StatusCode != http.StatusNoContent || res.Header.Get("Upload-Complete") != "?1" {
		p.b.Error(res.Status, res.Header)
	}
}

// day is a phone's readings of one day in batches that follow each other.
func (p *pushing) day(batches []int) (packed [][]byte) {
	total := 0
	for _, n := range batches {
		total += n
	}
	device, raws := p.readings(total)
	at := 0
	for _, n := range batches {
		packed = append(packed, p.pack(device, raws[at:at+n], time.Now()))
		at += n
	}
	return packed
}
