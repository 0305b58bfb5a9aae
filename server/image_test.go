package main

import (
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"syscall"
	"testing"
	"time"
)

// TestTheProgramNeedsNothingBesideItself runs the program as the image does: alone in an empty root of which it may write its data folder
// only, as nobody in particular, with the environment that the Dockerfile sets. Its health check answers, and time zones are known.
func TestTheProgramNeedsNothingBesideItself(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root can change the root")
	}
	o := buildOffice(t)
	o.layIn()
	place := filepath.Join(t.TempDir(), "root")
	text, err := os.ReadFile(filepath.Join(root(t), "Dockerfile"))
	if err != nil {
		t.Fatal(err)
	}
	line := regexp.MustCompile(`(?m)^ENV (.*)$`).FindSubmatch(text)
	if line == nil || !strings.Contains(string(text), "\nUSER 65532:65532\n") || !strings.Contains(string(text), "\nFROM scratch\n") {
		t.Fatal("the image is another one")
	}
	if err := os.MkdirAll(filepath.Join(place, "data"), 0o755); err != nil {
		t.Fatal(err)
	}
	for dir := place; dir != os.TempDir() && dir != "/"; dir = filepath.Dir(dir) { // nobody has to get there
		if err := os.Chmod(dir, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.CopyFS(filepath.Join(place, "data"), os.DirFS(o.data)); err != nil {
		t.Fatal(err)
	}
	err = filepath.Walk(filepath.Join(place, "data"), func(path string, _ os.FileInfo, err error) error {
		if err != nil {
			return err
		}
		return os.Chown(path, 65532, 65532)
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := copied(filepath.Join(place, "swardbook"), o.binary); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(filepath.Join(place, "swardbook"), 0o755); err != nil {
		t.Fatal(err)
	}
	program := func(args ...string) *exec.Cmd {
		cmd := exec.Command("/swardbook", args...)
		cmd.Dir, cmd.Env = "/", append(strings.Fields(string(line[1])), "SWARDBOOK_ADDR="+o.addr)
		cmd.SysProcAttr = &syscall.SysProcAttr{Chroot: place, Credential: &syscall.Credential{Uid: 65532, Gid: 65532}}
		return cmd
	}
	o.cmd = program("serve")
	o.cmd.Stdout, o.cmd.Stderr = &o.log, &o.log
	if err := o.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(o.stop)
	waitFor(t, "a good health", 30*time.Second, func() (bool, bool) { return true, program("health").Run() == nil })
	client := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.PostForm(o.url("/sign-in"), url.Values{"name": {"Jonah"}, "passcode": {"meadow-walk-3"}})
	if err != nil {
		t.Fatal(err)
	}
	_ = res.Body.Close()
	if len(res.Cookies()) != 1 || res.StatusCode != http.StatusSeeOther {
		t.Errorf("nobody can sign in: %s", res.Status)
	}
	if strings.Contains(o.log.String(), `"ERROR"`) {
		t.Error(o.log.String())
	}
}
