package main

import (
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"swardbook/static"
)

// engine is a browser that is given a page and a folder for all that it keeps, and no more: no driver, since the page tells by itself.
type engine struct {
	binary string
	args   func(home, url string) []string
	files  map[string]string // put into its folder before it starts
}

// engines are those that the office's other tests don't run on; `sh .ci/setup engines` installs them.
var engines = map[string]engine{
	"Firefox": {
		binary: "firefox-esr",
		args: func(home, url string) []string {
			return []string{"--headless", "--no-remote", "--profile", filepath.Join(home, "profile"), url}
		},
		files: map[string]string{"profile/user.js": `user_pref("browser.aboutwelcome.enabled", false);
user_pref("browser.sessionstore.resume_from_crash", false);
user_pref("browser.shell.checkDefaultBrowser", false);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("toolkit.startup.max_resumed_crashes", -1);
`},
	},
	"WebKit": {
		binary: "/usr/lib/*/webkit2gtk-4.1/MiniBrowser",
		args:   func(_, url string) []string { return []string{url} },
	},
}

// run starts it with everything it writes under home and returns how to kill it with all its children.
func (e engine) run(t *testing.T, home, display, url string) (kill func()) {
	t.Helper()
	for name, text := range e.files {
		path := filepath.Join(home, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	binary := e.binary
	if found, err := filepath.Glob(binary); err == nil && len(found) > 0 {
		binary = found[0]
	}
	cmd := exec.Command(binary, e.args(home, url)...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Env = append(os.Environ(), "HOME="+home, "XDG_DATA_HOME="+home+"/data", "XDG_CACHE_HOME="+home+"/cache", "XDG_CONFIG_HOME="+home+"/config",
		"DISPLAY="+display, "GDK_BACKEND=x11", "LIBGL_ALWAYS_SOFTWARE=1", "WEBKIT_DISABLE_COMPOSITING_MODE=1", "NO_AT_BRIDGE=1")
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	kill = sync.OnceFunc(func() {
		if err := syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL); err != nil && err != syscall.ESRCH {
			t.Log("kill:", err)
		}
		_ = cmd.Wait()
	})
	t.Cleanup(kill)
	return kill
}

// screen is a display without a glass.
func screen(t *testing.T) string {
	t.Helper()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("Xvfb", "-displayfd", "3", "-screen", "0", "800x900x24", "-nolisten", "tcp")
	cmd.ExtraFiles = []*os.File{write}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	_ = write.Close()
	defer read.Close()
	number := make([]byte, 8)
	n, err := read.Read(number)
	if err != nil {
		t.Fatal(err)
	}
	return ":" + strings.TrimSpace(string(number[:n]))
}

// teller serves the phone's modules and two pages: one records, one lists. Both tell what they have.
type teller struct {
	*httptest.Server
	mu    sync.Mutex
	kept  []string
	there []string
	heard bool // a list came
	fault string
}

const (
	recordingPage = `<!doctype html><title>r</title><script type="module">
const tell = (path, body) => fetch(path, {method: "POST", body});
addEventListener("unhandledrejection", (e) => tell("/fault", String(e.reason)));
const watch = setInterval(() => { if (globalThis.kept?.length) tell("/kept", JSON.stringify(kept)); }, 50);
await %s;
</script>`
	listingPage = `<!doctype html><title>l</title><script type="module">
const tell = (path, body) => fetch(path, {method: "POST", body});
try { await tell("/there", JSON.stringify(await %s)); } catch (e) { await tell("/fault", String(e)); }
</script>`
)

func newTeller(t *testing.T) *teller {
	s := &teller{}
	page := func(text string) http.HandlerFunc {
		return func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			_, _ = io.WriteString(w, text)
		}
	}
	hear := func(take func(raw []byte)) http.HandlerFunc {
		return func(_ http.ResponseWriter, r *http.Request) {
			raw, err := io.ReadAll(r.Body)
			s.mu.Lock()
			defer s.mu.Unlock()
			if err == nil {
				take(raw)
			}
		}
	}
	mux := http.NewServeMux()
	mux.Handle("/", http.FileServerFS(static.FS))
	mux.Handle("GET /record", page(fmt.Sprintf(recordingPage, recording)))
	mux.Handle("GET /list", page(fmt.Sprintf(listingPage, listing)))
	mux.Handle("POST /kept", hear(func(raw []byte) {
		var ids []string
		if json.Unmarshal(raw, &ids) == nil && len(ids) > len(s.kept) {
			s.kept = ids
		}
	}))
	mux.Handle("POST /there", hear(func(raw []byte) { s.heard = json.Unmarshal(raw, &s.there) == nil }))
	mux.Handle("POST /fault", hear(func(raw []byte) { s.fault = string(raw) }))
	s.Server = httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s
}

func (s *teller) called() []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return slices.Clone(s.kept)
}

// TestA2PowerCutUnderOtherEngines is TestA2PowerCutUnderTheBrowser with the engines of the other phones.
func TestA2PowerCutUnderOtherEngines(t *testing.T) {
	if os.Getenv("SWARDBOOK_ENGINES") == "" {
		t.Skip("make engines installs Firefox and WebKit and runs this")
	}
	display := screen(t)
	for name, e := range engines {
		for round := range rounds(t, 1) {
			t.Run(fmt.Sprint(name, " round ", round), func(t *testing.T) { cutUnder(t, e, display, round) })
		}
	}
}

func cutUnder(t *testing.T, e engine, display string, round int) {
	power, s := plugIn(t), newTeller(t)
	kill := e.run(t, power.path, display, s.URL+"/record")
	waitFor(t, "records that are called kept", 90*time.Second, func() (bool, bool) { return true, len(s.called()) >= 40+round })
	kept := s.called()
	power.tell(fmt.Sprint("cut ", round*7), "cut")
	kill()
	e.run(t, power.after(), display, s.URL+"/list")
	waitFor(t, "the list after the cut", 90*time.Second, func() (bool, bool) {
		s.mu.Lock()
		defer s.mu.Unlock()
		return true, s.heard || s.fault != ""
	})
	if s.fault != "" {
		t.Fatal(s.fault)
	}
	lost := slices.DeleteFunc(kept, func(id string) bool { return slices.Contains(s.there, id) })
	if len(lost) > 0 {
		t.Errorf("%d records that were called kept are lost, %d are there", len(lost), len(s.there))
	}
	t.Logf("%d called kept, %d there", len(s.called()), len(s.there))
}
