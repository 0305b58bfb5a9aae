package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/remote"
)

// browser is one headless Chromium on a profile folder that outlives it.
type browser struct {
	t       testing.TB
	profile string
	cmd     *exec.Cmd
	ctx     context.Context
	clock   string // RFC 3339; pages see this time running on, "" the machine's
}

// findChromium returns the browser's path. Without one a laptop skips the test; under CI that is a failure.
func findChromium(t testing.TB) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatal("no Chromium on this machine")
	}
	t.Skip("no Chromium on this machine: sh .ci/setup installs it")
	return ""
}

// startBrowser starts Chromium on profile and connects to it.
func startBrowser(t testing.TB, profile, clock string) *browser {
	t.Helper()
	path := findChromium(t)
	portFile := filepath.Join(profile, "DevToolsActivePort")
	if err := os.Remove(portFile); err != nil && !os.IsNotExist(err) { // a killed browser leaves it behind
		t.Fatal(err)
	}
	cmd := exec.Command(path, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
		"--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
		"--host-resolver-rules=MAP office.example 127.0.0.1", "--remote-debugging-port=0", "--user-data-dir="+profile, "about:blank")
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	b := &browser{t: t, profile: profile, cmd: cmd, clock: clock}
	t.Cleanup(b.kill)
	url := waitFor(t, "the browser's door", 30*time.Second, func() (string, bool) {
		text, err := os.ReadFile(portFile)
		lines := strings.Split(strings.TrimSpace(string(text)), "\n")
		if err != nil || len(lines) < 2 {
			return "", false
		}
		return "ws://127.0.0.1:" + lines[0] + lines[1], true
	})
	ctx, cancel := remote.NewAllocator(context.Background(), url, remote.NoModifyURL)
	t.Cleanup(cancel)
	b.ctx = ctx
	return b
}

// kill ends the whole process group at once, as a dying phone would.
func (b *browser) kill() {
	if b.cmd == nil {
		return
	}
	if err := syscall.Kill(-b.cmd.Process.Pid, syscall.SIGKILL); err != nil && err != syscall.ESRCH {
		b.t.Log("kill:", err)
	}
	_ = b.cmd.Wait() // the exit status of a killed process says nothing
	b.cmd = nil
}

// tab is one page of a browser.
type tab struct {
	t   testing.TB
	ctx context.Context
}

// open opens a tab of the given size at url.
func (b *browser) open(width, height int, dark bool, url string) *tab {
	b.t.Helper()
	ctx, cancel := chromedp.NewContext(b.ctx)
	b.t.Cleanup(cancel)
	tb := &tab{b.t, ctx}
	if err := chromedp.Do(ctx, chromedp.Navigate("about:blank")); err != nil { // the first step binds the tab to this context: no limit here
		b.t.Fatal(err)
	}
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	tb.do("size", func(ctx context.Context, t *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, t, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: int64(width), Height: int64(height), DeviceScaleFactor: 1, Mobile: width < 600})
		if err == nil {
			_, err = cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		}
		if err == nil && b.clock != "" {
			_, err = cdp.Call(ctx, t, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: shiftedDate(b.t, b.clock)})
		}
		return chromedp.Void{}, err
	})
	tb.goTo(url)
	return tb
}

// shiftedDate is a script that makes Date run on from clock, since the network and the clock are the only things a test fakes.
func shiftedDate(t testing.TB, clock string) string {
	t.Helper()
	at, err := time.Parse(time.RFC3339, clock)
	if err != nil {
		t.Fatal(err)
	}
	return fmt.Sprintf(`(() => { const Real = Date, shift = %d - Real.now();
class Shifted extends Real { constructor(...a) { if (a.length) super(...a); else super(Real.now() + shift); } static now() { return Real.now() + shift; } }
globalThis.Date = Shifted; })()`, at.UnixMilli())
}

func (tb *tab) do(what string, step chromedp.Action[chromedp.Void]) {
	tb.t.Helper()
	ctx, cancel := context.WithTimeout(tb.ctx, 20*time.Second)
	defer cancel()
	if err := chromedp.Do(ctx, step); err != nil {
		tb.t.Fatalf("%s: %v", what, err)
	}
}

func (tb *tab) goTo(url string) {
	tb.t.Helper()
	tb.do("open "+url, chromedp.Navigate(url))
}

// eval runs an expression (promises are awaited) and decodes its JSON value into out when out is not nil. One that is asked for nothing
// may lead away from its page before the answer is back.
func (tb *tab) eval(expression string, out any) {
	tb.t.Helper()
	err := tb.try(expression, out)
	if err != nil && out == nil && strings.Contains(err.Error(), "Inspected target navigated") {
		return
	}
	if err != nil {
		tb.t.Fatalf("%s: %v", expression, err)
	}
}

func (tb *tab) try(expression string, out any) error {
	ctx, cancel := context.WithTimeout(tb.ctx, 20*time.Second)
	defer cancel()
	text, err := chromedp.Run(ctx, chromedp.Evaluate[string](`(async () => JSON.stringify((await (`+expression+`)) ?? null))()`, chromedp.EvalAwaitPromise))
	if err != nil || out == nil {
		return err
	}
	return json.Unmarshal([]byte(text), out)
}

// waitUntil waits until an expression is true, asking by time and not by frame.
func (tb *tab) waitUntil(what, expression string) {
	tb.t.Helper()
	defer func() {
		if tb.t.Failed() {
			tb.shot(filepath.Join(os.TempDir(), "swardbook-failed.png"))
			var seen string
			err := tb.try(`location.href + " " + document.body.innerText.slice(0, 4000)`, &seen)
			tb.t.Logf("on the screen (%v): %s", err, seen)
		}
	}()
	waitFor(tb.t, what, 30*time.Second, func() (bool, bool) {
		var yes bool
		err := tb.try(`Boolean(await (`+expression+`))`, &yes)
		return true, err == nil && yes
	})
}

// text returns what a person reads in the element.
func (tb *tab) text(selector string) string {
	tb.t.Helper()
	var s string
	tb.eval(fmt.Sprintf(`document.querySelector(%q)?.innerText ?? ""`, selector), &s)
	return s
}

// click waits for the element and clicks it as a script would, wherever it is scrolled.
func (tb *tab) click(selector string) {
	tb.t.Helper()
	tb.waitUntil(selector, fmt.Sprintf(`document.querySelector(%q)`, selector))
	tb.eval(fmt.Sprintf(`document.querySelector(%q).click()`, selector), nil)
}

// fill types text into a field and leaves it.
func (tb *tab) fill(selector, text string) {
	tb.t.Helper()
	tb.waitUntil(selector, fmt.Sprintf(`document.querySelector(%q)`, selector))
	tb.eval(fmt.Sprintf(`(() => { const e = document.querySelector(%q); e.focus(); e.value = %q;
e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); e.blur(); })()`, selector, text), nil)
}

// shot writes a picture of the whole page, shotOfWindow of what the window shows.
func (tb *tab) shot(path string) { tb.t.Helper(); tb.picture(path, chromedp.FullScreenshot(100)) }
func (tb *tab) shotOfWindow(path string) {
	tb.t.Helper()
	tb.picture(path, chromedp.CaptureScreenshot())
}

func (tb *tab) picture(path string, take chromedp.Action[[]byte]) {
	tb.t.Helper()
	ctx, cancel := context.WithTimeout(tb.ctx, 20*time.Second)
	defer cancel()
	png, err := chromedp.Run(ctx, take)
	if err != nil {
		tb.t.Logf("picture %s: %v", path, err)
		return
	}
	if err := os.WriteFile(path, png, 0o644); err != nil {
		tb.t.Fatal(err)
	}
}

// waitFor asks every 50 ms until the answer is yes.
func waitFor[T any](t testing.TB, what string, limit time.Duration, ask func() (T, bool)) T {
	t.Helper()
	for end := time.Now().Add(limit); ; time.Sleep(50 * time.Millisecond) {
		if v, ok := ask(); ok {
			return v
		}
		if time.Now().After(end) {
			t.Fatalf("waited %v for %s", limit, what)
		}
	}
}
