package desk

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strings"
	"time"

	qr "github.com/piglig/go-qr"

	"swardbook/web/page"
)

type codeStore interface {
	AddCode(ctx context.Context, codeHash []byte, person string, ttl time.Duration) error
	SetActive(ctx context.Context, id string, active bool) error
}

// codeLife is how long a sign-in code works.
const codeLife = 10 * time.Minute

// Code makes a sign-in code for a person and shows it, once, as a square that a phone's camera reads. The code stands behind the #
// of the address, so it is in no log, here or at a proxy.
func (d *Desk) Code(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.db.Person(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	raw := make([]byte, 24)
	rand.Read(raw) // never fails
	code := base64.RawURLEncoding.EncodeToString(raw)
	sum := sha256.Sum256([]byte(code))
	if err := d.db.AddCode(r.Context(), sum[:], p.ID, codeLife); err != nil {
		return err
	}
	v := page.CodeView{Name: p.Name, Minutes: int(codeLife.Minutes()), Far: !loopback(r.Host)}
	if v.Path, v.Side, err = drawCode(d.origin(r) + "/sign-in/code#" + code); err != nil {
		return err
	}
	f, err := d.frame(r, a, "people", a.words.T("person.code.title", "name", p.Name))
	if err != nil {
		return err
	}
	f.CSS = []string{"house.css"}
	return page.Write(w, r, http.StatusOK, page.Code(f, v))
}

// origin is the site as the browser that asks sees it.
func (d *Desk) origin(r *http.Request) string {
	if d.tls || r.TLS != nil {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

func loopback(host string) bool {
	if name, _, err := net.SplitHostPort(host); err == nil {
		host = name
	}
	ip, err := netip.ParseAddr(strings.Trim(host, "[]"))
	return host == "localhost" || err == nil && ip.IsLoopback()
}

// quiet is the white border that readers need, in modules.
const quiet = 4

// drawCode is a text as the dark modules of a QR code.
func drawCode(text string) (path string, side int, err error) {
	code, err := qr.EncodeText(text, qr.Medium)
	if err != nil {
		return "", 0, err
	}
	var b strings.Builder
	for y := range code.Size() {
		for x := range code.Size() {
			if code.Module(x, y) {
				fmt.Fprintf(&b, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	return b.String(), code.Size() + 2*quiet, nil
}

// SignOutPerson signs a person out on every phone and desk.
func (d *Desk) SignOutPerson(w http.ResponseWriter, r *http.Request) error {
	p, err := d.db.Person(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	return done(w, r, d.db.EndSessionsOf(r.Context(), p.ID), "/desk/people", "signed-out")
}

// Leave lets a person sign in no more, or again. What they recorded stays theirs.
func (d *Desk) Leave(w http.ResponseWriter, r *http.Request) error {
	_, form, err := d.posted(r)
	if err != nil {
		return err
	}
	back, flash := form.V("how") == "back", "left-firm"
	if back {
		flash = "returned"
	}
	return done(w, r, d.db.SetActive(r.Context(), r.PathValue("person"), back), "/desk/people", flash)
}
