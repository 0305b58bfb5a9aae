package main

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/uuid"

	"swardbook/static"
	"swardbook/store/sqlite"
)

// outlet is a disk whose power the test can cut: .ci/powercut.
type outlet struct {
	t    testing.TB
	path string // what lies on the disk
	cmd  *exec.Cmd
	in   io.WriteCloser
	out  *bufio.Reader
}

// plugIn mounts such a disk. A laptop without FUSE, or without the right to mount, skips the test; under CI that is a failure.
func plugIn(t testing.TB) *outlet {
	t.Helper()
	if _, err := os.Stat("/dev/fuse"); err != nil || os.Getuid() != 0 {
		if os.Getenv("CI") != "" {
			t.Fatal("a disk whose power can be cut needs /dev/fuse and root", err)
		}
		t.Skip("a disk whose power can be cut needs /dev/fuse and root")
	}
	dir := t.TempDir()
	binary, err := powerCutter()
	if err != nil {
		t.Fatal(err)
	}
	backing, mount := filepath.Join(dir, "backing"), filepath.Join(dir, "disk")
	for _, d := range []string{backing, mount} {
		if err := os.Mkdir(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	o := &outlet{t: t, path: mount, cmd: exec.Command(binary, backing, mount)}
	o.cmd.Stderr = os.Stderr
	if o.in, err = o.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := o.cmd.StdoutPipe()
	if err == nil {
		err = o.cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = o.in.Close() // it unmounts and ends
		_ = o.cmd.Wait()
	})
	o.out = bufio.NewReader(out)
	o.hear("ready")
	return o
}

func (o *outlet) hear(want string) {
	o.t.Helper()
	if line, err := o.out.ReadString('\n'); err != nil || strings.TrimSpace(line) != want {
		o.t.Fatalf("the disk says %q (%v), not %q", line, err, want)
	}
}

func (o *outlet) tell(command, want string) {
	o.t.Helper()
	if _, err := fmt.Fprintln(o.in, command); err != nil {
		o.t.Fatal(err)
	}
	o.hear(want)
}

// after is a folder with what the disk holds after the cut.
func (o *outlet) after() string {
	o.t.Helper()
	dir := o.t.TempDir()
	o.tell("write "+dir, "written")
	return dir
}

// sender pushes until the office answers no more, and remembers what was acknowledged.
type sender struct {
	o      *office
	cookie *http.Cookie
	person string
	visit  string
	zone   string

	mu     sync.Mutex
	rows   []string // ids that the office said are durable
	photos []string // digests that it said are whole
}

func newSender(t testing.TB, o *office) *sender {
	t.Helper()
	s := &sender{o: o}
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.PostForm(o.url("/sign-in"), url.Values{"name": {"Jonah"}, "passcode": {"meadow-walk-3"}})
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	for _, c := range res.Cookies() {
		s.cookie = c
	}
	var pack struct {
		Person struct{ ID string }
		Days   []string
		Visits []struct{ ID, Crew, Day, State, Property string }
		Zones  []struct{ ID, Property string }
	}
	if status := s.ask(http.MethodGet, "/api/v1/pack", nil, nil, &pack); status != http.StatusOK {
		t.Fatal("the packet: ", status)
	}
	s.person = pack.Person.ID
	for _, v := range pack.Visits {
		if v.Crew == s.person && v.State == "planned" {
			s.visit = v.ID
			for _, z := range pack.Zones {
				if z.Property == v.Property {
					s.zone = z.ID
				}
			}
		}
	}
	if s.zone == "" {
		t.Fatalf("no visit to write to: %+v", pack)
	}
	return s
}

// ask returns the status of an answer, 0 when there was none.
func (s *sender) ask(method, path string, body []byte, headers map[string]string, into any) int {
	req, err := http.NewRequest(method, s.o.url(path), bytes.NewReader(body))
	if err != nil {
		return 0
	}
	for k, v := range headers {
		req.Header.Set(k, v)
	}
	if s.cookie != nil {
		req.AddCookie(s.cookie)
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return 0
	}
	defer res.Body.Close()
	raw, err := io.ReadAll(res.Body)
	if err != nil || into != nil && json.Unmarshal(raw, into) != nil {
		return 0
	}
	if res.Header.Get("Upload-Complete") == "?1" {
		return http.StatusCreated
	}
	return res.StatusCode
}

// phone sends rows of one device until there is no answer.
func (s *sender) phone() {
	device, n := uuid.NewString(), 0
	for {
		var ids, ops []string
		for range 1 + rand.IntN(30) {
			n++
			id := uuid.Must(uuid.NewV7()).String()
			ids = append(ids, id)
			ops = append(ops, fmt.Sprintf(`{"n":%d,"id":%q,"op":"create","entity":%q,"base":0,"form":"reading","fver":1,"author":%q,"hlc":"0199b2c4d5e6-%04x-3f9a","at":"2026-08-27T09:00:00Z","body":{"visit":%q,"zone":%q,"check":"note","typed":"word %s","edition":"e"},"photos":[]}`,
				n, id, id, s.person, n%65536, s.visit, s.zone, id))
		}
		body := fmt.Sprintf(`{"proto":1,"app":"t","device":%q,"epoch":"","sent":"2026-08-27T09:00:00Z","unsent":0,"ops":[%s]}`, device, strings.Join(ops, ","))
		var reply struct{ Through int }
		if s.ask(http.MethodPost, "/api/v1/ops", []byte(body), map[string]string{"Content-Type": "application/json"}, &reply) != http.StatusOK || reply.Through != n {
			return
		}
		s.mu.Lock()
		s.rows = append(s.rows, ids...)
		s.mu.Unlock()
	}
}

// camera sends photos until there is no answer.
func (s *sender) camera() {
	for n := 0; ; n++ {
		raw := picture(rand.Int(), 20_000+rand.IntN(200_000))
		sum := sha256.Sum256(raw)
		sha := hex.EncodeToString(sum[:])
		headers := map[string]string{"Content-Type": "application/partial-upload", "Upload-Offset": "0", "Upload-Length": fmt.Sprint(len(raw)), "Upload-Media-Type": "image/jpeg"}
		if s.ask(http.MethodPatch, "/api/v1/photos/"+sha, raw, headers, nil) != http.StatusCreated {
			return
		}
		s.mu.Lock()
		s.photos = append(s.photos, sha)
		s.mu.Unlock()
	}
}

// sendAll runs phones and a camera until the office is gone.
func (s *sender) sendAll() (done func()) {
	var all sync.WaitGroup
	for range 4 {
		all.Go(s.phone)
	}
	all.Go(s.camera)
	return all.Wait
}

func (s *sender) acknowledged() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return min(len(s.rows)/100, len(s.photos))
}

// compare looks for everything acknowledged in a data folder.
func (s *sender) compare(t testing.TB, data string) {
	t.Helper()
	db, err := sqlite.Open(t.Context(), databaseIn(data), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	if n, err := db.Here(t.Context(), s.rows); err != nil || n != len(s.rows) {
		t.Errorf("of %d rows that were acknowledged %d are there (%v)", len(s.rows), n, err)
	}
	raw, err := sql.Open("sqlite", databaseIn(data))
	if err != nil {
		t.Fatal(err)
	}
	defer raw.Close()
	var says string
	if err := raw.QueryRow(`PRAGMA integrity_check`).Scan(&says); err != nil || says != "ok" {
		t.Errorf("the database: %s, %v", says, err)
	}
	var holes int
	if err := raw.QueryRow(`SELECT count(*) FROM devices d WHERE d.through <> (SELECT count(*) FROM numbers WHERE device = d.id)`).Scan(&holes); err != nil || holes != 0 {
		t.Errorf("%d phones have holes (%v)", holes, err)
	}
	for _, sha := range s.photos {
		bytes, err := os.ReadFile(filepath.Join(data, "photos", sha[:2], sha))
		if sum := sha256.Sum256(bytes); err != nil || hex.EncodeToString(sum[:]) != sha {
			t.Errorf("photo %s was acknowledged: %v", sha, err)
		}
	}
	t.Logf("%d rows and %d photos were acknowledged", len(s.rows), len(s.photos))
}

// TestD1PowerCutUnderTheOffice: the power goes while phones send. What was acknowledged is on the disk, whatever of the rest survives.
func TestD1PowerCutUnderTheOffice(t *testing.T) {
	o := buildOffice(t)
	for round := range rounds(t, 2) {
		t.Run(fmt.Sprint("round ", round), func(t *testing.T) {
			power := plugIn(t)
			o.t, o.data = t, filepath.Join(power.path, "data")
			o.start()
			s := newSender(t, o)
			wait := s.sendAll()
			waitFor(t, "acknowledgements", 60*time.Second, func() (bool, bool) { return true, s.acknowledged() >= 2 })
			time.Sleep(time.Duration(rand.IntN(500)) * time.Millisecond)
			power.tell(fmt.Sprint("cut ", round*7), "cut")
			o.kill()
			wait()
			s.compare(t, filepath.Join(power.after(), "data"))
		})
	}
}

// TestD3AFailingSyncEndsTheOffice: the disk fails to sync in mid-work. Nothing is acknowledged after that, the program ends with a clear
// word, and what was acknowledged before is there.
func TestD3AFailingSyncEndsTheOffice(t *testing.T) {
	o := buildOffice(t)
	power := plugIn(t)
	o.data = filepath.Join(power.path, "data")
	o.start()
	s := newSender(t, o)
	wait := s.sendAll()
	waitFor(t, "acknowledgements", 60*time.Second, func() (bool, bool) { return true, s.acknowledged() >= 2 })
	power.tell("fail 3", "failing")
	ended := make(chan error, 1)
	go func(cmd *exec.Cmd) { ended <- cmd.Wait() }(o.cmd)
	select {
	case err := <-ended:
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			t.Errorf("it ended with %v, as if all were well", err)
		}
	case <-time.After(30 * time.Second):
		t.Error("the office goes on over a broken disk")
		_ = o.cmd.Process.Kill()
		<-ended
	}
	o.cmd = nil
	wait()
	if !strings.Contains(o.log.String(), "disk") {
		t.Errorf("its log says nothing of the disk:\n%s", o.log.String())
	}
	power.tell("cut 0", "cut")
	s.compare(t, filepath.Join(power.after(), "data"))
}

// TestA2PowerCutUnderTheBrowser: the power of a phone goes while somebody records. What its screen called kept is there, photos too.
func TestA2PowerCutUnderTheBrowser(t *testing.T) {
	findChromium(t)
	srv := httptest.NewServer(http.FileServerFS(static.FS))
	defer srv.Close()
	for round := range rounds(t, 1) {
		t.Run(fmt.Sprint("round ", round), func(t *testing.T) {
			power := plugIn(t)
			b := startBrowser(t, filepath.Join(power.path, "profile"), "")
			tb := b.open(390, 844, false, srv.URL+"/js/db.js")
			tb.eval(recording, nil)
			var kept []string
			waitFor(t, "records that are called kept", 60*time.Second, func() (bool, bool) {
				tb.eval(`globalThis.kept`, &kept)
				return true, len(kept) >= 40+round
			})
			power.tell(fmt.Sprint("cut ", round*7), "cut")
			b.kill()
			again := startBrowser(t, filepath.Join(power.after(), "profile"), "").open(390, 844, false, srv.URL+"/js/db.js")
			var there []string
			again.eval(listing, &there)
			lost := 0
			for _, id := range kept {
				if !slices.Contains(there, id) {
					lost++
				}
			}
			if lost > 0 {
				t.Errorf("of %d records that were called kept %d are lost, %d are there", len(kept), lost, len(there))
			}
			t.Logf("%d called kept, %d there", len(kept), len(there))
		})
	}
}

const (
	// recording saves without end, every fifth with a photo, and lists what the screen may call kept.
	recording = `(async () => {
const {open} = await import("/js/db.js"), {Outbox} = await import("/js/outbox.js"), {sha256} = await import("/js/pictures.js");
const outbox = new Outbox(await open());
globalThis.kept = [];
(async () => {
  for (let i = 0; ; i++) {
    const bytes = crypto.getRandomValues(new Uint8Array(50_000)).buffer;
    const photos = i % 5 ? [] : [{sha: await sha256(bytes), size: bytes.byteLength, type: "image/jpeg", bytes}];
    const row = await outbox.record("reading", {visit: "v", zone: "z", check: "note", typed: "word " + i, edition: "e"}, photos);
    kept.push(row.op.id);
  }
})();
})()`
	// listing is every record on the disk whose photos are whole there too.
	listing = `(async () => {
const {open} = await import("/js/db.js"), {Outbox} = await import("/js/outbox.js"), {sha256} = await import("/js/pictures.js");
const db = await open(), rows = await new Outbox(db).everything(), there = [];
for (const {op} of rows) {
  let whole = true;
  for (const p of op.photos) {
    const bytes = await db.read(["blobs"], (tx) => tx.get("blobs", p.sha));
    whole = whole && bytes && await sha256(bytes) === p.sha;
  }
  if (whole) there.push(op.id);
}
return there;
})()`
)
