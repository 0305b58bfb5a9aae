package main

import (
	"bufio"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"swardbook/store/sqlite"
)

// kill ends the office as a crash does, without a word.
func (o *office) kill() {
	o.t.Helper()
	if err := o.cmd.Process.Kill(); err != nil {
		o.t.Fatal(err)
	}
	_ = o.cmd.Wait() // the exit status of a killed process says nothing
	o.cmd = nil
}

// crew is a Node process that is many phones of one person.
type crew struct {
	t   *testing.T
	cmd *exec.Cmd
	in  io.WriteCloser
	out *bufio.Reader
}

// walked is what a crew says at the end.
type walked struct {
	Visit string `json:"visit"`
	Kept  []struct {
		ID     string   `json:"id"`
		Typed  string   `json:"typed"`
		Photos []string `json:"photos"`
	} `json:"kept"`
	Devices []struct {
		Device string `json:"device"`
		Last   int64  `json:"last"`
	} `json:"devices"`
	Shown []map[string]map[string]string `json:"shown"`
}

func findNode(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("node")
	if err != nil && os.Getenv("CI") != "" {
		t.Fatal("no Node.js on this machine")
	}
	if err != nil {
		t.Skip("no Node.js on this machine: sh .ci/setup installs it")
	}
	return path
}

// startCrew lets phones walk against the office, which must listen.
func startCrew(t *testing.T, o *office, phones int, seed uint64, share float64) *crew {
	t.Helper()
	return startCrewAt(t, o.url(""), phones, seed, share)
}

// startCrewAt is startCrew with another address; of the records that come to a phone's mind it makes only a share.
func startCrewAt(t *testing.T, url string, phones int, seed uint64, share float64) *crew {
	t.Helper()
	c := &crew{t: t, cmd: exec.Command(findNode(t), filepath.Join("..", "static", "jstest", "crew.mjs"), url, "Jonah", "meadow-walk-3", strconv.Itoa(phones), strconv.FormatUint(seed, 10), fmt.Sprint(share))}
	c.cmd.Stderr = os.Stderr
	var err error
	if c.in, err = c.cmd.StdinPipe(); err != nil {
		t.Fatal(err)
	}
	out, err := c.cmd.StdoutPipe()
	if err == nil {
		err = c.cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	c.out = bufio.NewReader(out)
	t.Cleanup(func() {
		if c.cmd.ProcessState == nil {
			_ = c.cmd.Process.Kill()
			_ = c.cmd.Wait()
		}
	})
	c.line()
	return c
}

func (c *crew) line() string {
	c.t.Helper()
	line, err := c.out.ReadString('\n')
	if err != nil {
		c.t.Fatalf("the crew ended: %v", err)
	}
	return line
}

// rest tells the phones that all is calm and waits until they have nothing left to send.
func (c *crew) rest() (w walked) {
	c.t.Helper()
	if _, err := fmt.Fprintln(c.in); err != nil {
		c.t.Fatal(err)
	}
	if err := json.Unmarshal([]byte(c.line()), &w); err != nil {
		c.t.Fatal(err)
	}
	if err := c.cmd.Wait(); err != nil {
		c.t.Fatal(err)
	}
	return w
}

// rounds is how often the office is killed: SWARDBOOK_ROUNDS, else few.
func rounds(t *testing.T, few int) int {
	t.Helper()
	text := os.Getenv("SWARDBOOK_ROUNDS")
	if text == "" {
		return few
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestD2OfficeKilledWhilePhonesSync: the real program dies at any moment while twenty phones send; what their screens called
// kept is there once, and what it acknowledged is there.
func TestD2OfficeKilledWhilePhonesSync(t *testing.T) {
	o := buildOffice(t)
	o.start()
	seed := uint64(time.Now().UnixNano())
	t.Log("seed", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	all := rounds(t, 5)
	c := startCrew(t, o, 20, seed, min(1, 15/float64(all)))
	began := time.Now()
	for range all {
		time.Sleep(time.Duration(50+chance.IntN(500)) * time.Millisecond)
		o.kill()
		o.start()
	}
	walked := time.Since(began)
	w := c.rest()
	t.Logf("%d rounds in %v, at rest %v later", all, walked.Round(time.Millisecond), (time.Since(began) - walked).Round(time.Millisecond))
	o.stop()
	o.compare(w)
}

// compare reads the office's files after everything has ended.
func (o *office) compare(w walked) {
	o.t.Helper()
	db, err := sqlite.Open(o.t.Context(), databaseIn(o.data), time.Now)
	if err != nil {
		o.t.Fatal(err)
	}
	current := map[string]map[string]string{}
	readings, err := db.Readings(o.t.Context(), w.Visit)
	if err != nil {
		o.t.Fatal(err)
	}
	for _, r := range readings {
		if r.Current && len(r.Typed) > 0 {
			if current[r.Zone] == nil {
				current[r.Zone] = map[string]string{}
			}
			current[r.Zone][r.Check] = r.ID
		}
	}
	if err := db.Close(); err != nil {
		o.t.Fatal(err)
	}
	raw, err := sql.Open("sqlite", databaseIn(o.data))
	if err != nil {
		o.t.Fatal(err)
	}
	defer raw.Close()
	if says := one[string](o.t, raw, `PRAGMA integrity_check`); says != "ok" {
		o.t.Fatal(says)
	}
	if n := one[int](o.t, raw, `SELECT count(*) FROM devices d WHERE d.through <> (SELECT count(*) FROM numbers WHERE device = d.id)
		OR d.through <> (SELECT coalesce(max(n), 0) FROM numbers WHERE device = d.id)`); n != 0 {
		o.t.Errorf("%d phones have holes", n)
	}
	if n := one[int](o.t, raw, `SELECT (SELECT count(*) FROM ops WHERE aside <> '') + (SELECT count(*) FROM clashes) + (SELECT count(*) FROM repeats)`); n != 0 {
		o.t.Errorf("%d records of honest phones were set aside, clashed or came twice", n)
	}
	o.t.Logf("%d records, %d phones", len(w.Kept), len(w.Devices))
	if len(w.Kept) < 20*len(w.Devices)/10 {
		o.t.Errorf("only %d records: nothing was put to the test", len(w.Kept))
	}
	for _, k := range w.Kept {
		if n := one[int](o.t, raw, `SELECT count(*) FROM readings WHERE typed = $1`, k.Typed); n != 1 {
			o.t.Errorf("%q was called kept and is there %d times", k.Typed, n)
		}
		for _, sha := range k.Photos {
			if _, err := os.Stat(filepath.Join(o.data, "photos", sha[:2], sha)); err != nil || one[int](o.t, raw, `SELECT complete FROM photos WHERE sha = $1`, sha) != 1 {
				o.t.Errorf("photo %s: %v", sha, err)
			}
		}
	}
	for i, shown := range w.Shown {
		for zone, cells := range current {
			for check, id := range cells {
				if check == "note" && shown[zone][check] != id {
					o.t.Errorf("phone %d shows %s in %s, the office %s", i, shown[zone][check], zone, id)
				}
			}
		}
	}
}

func one[T any](t testing.TB, db *sql.DB, query string, args ...any) (v T) {
	t.Helper()
	if err := db.QueryRow(query, args...).Scan(&v); err != nil {
		t.Fatal(query, err)
	}
	return v
}
