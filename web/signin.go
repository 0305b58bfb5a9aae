package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/go-chi/httprate"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/pass"
	"swardbook/web/route"
)

// Names finds who a name belongs to.
type Names interface {
	PersonByName(ctx context.Context, name string) (store.Person, error)
}

// Tries to sign in within one minute: for one name from anywhere, and from one address for any name (a whole office may
// sit behind one).
const (
	triesPerName    = 10
	triesPerAddress = 30
)

// throttle counts tries by name and by address.
type throttle struct{ name, address *httprate.RateLimiter }

func newThrottle() throttle {
	quiet := httprate.WithResponseHeaders(httprate.ResponseHeaders{RetryAfter: "Retry-After"})
	return throttle{
		name:    httprate.NewRateLimiter(triesPerName, time.Minute, quiet),
		address: httprate.NewRateLimiter(triesPerAddress, time.Minute, quiet),
	}
}

func (t throttle) full(w http.ResponseWriter, r *http.Request, name string) bool {
	return t.address.OnLimit(w, r, addressOf(r)) || t.name.OnLimit(w, r, strings.ToLower(name))
}

// addressOf is where a request came from; neighbours within one IPv6 network are one.
func addressOf(r *http.Request) string {
	return httprate.CanonicalizeIP(middleware.GetClientIP(r.Context()))
}

func (s *server) signInPage(w http.ResponseWriter, r *http.Request) error {
	next := localPath(r.URL.Query().Get("next"))
	if who, known := route.Person(r.Context()); known {
		http.Redirect(w, r, afterSignIn(next, who.Role), http.StatusSeeOther)
		return nil
	}
	return s.drawSignIn(w, r, http.StatusOK, page.Form{}, next)
}

func (s *server) drawSignIn(w http.ResponseWriter, r *http.Request, status int, form page.Form, next string) error {
	words := s.doorWords(r)
	return page.Write(w, r, status, page.SignIn(page.Frame{W: words, Title: words.T("sign.in")}, form, next))
}

// doorWords are in the browser's language, since nobody is known yet.
func (s *server) doorWords(r *http.Request) page.Words {
	if strings.HasPrefix(strings.ToLower(r.Header.Get("Accept-Language")), "es") {
		return s.door
	}
	return s.words(r)
}

// signIn answers a wrong name and a wrong passcode alike, in the same time.
func (s *server) signIn(w http.ResponseWriter, r *http.Request) error {
	form, err := page.ReadForm(s.doorWords(r), r)
	if err != nil {
		return err
	}
	words, next := s.doorWords(r), localPath(form.V("next"))
	if s.tries.full(w, r, form.V("name")) {
		form.Say("name", words.T("sign.slow"))
		return s.drawSignIn(w, r, http.StatusTooManyRequests, form, next)
	}
	who, ok, err := s.known(r.Context(), form.V("name"), form.Values.Get("passcode"))
	if err != nil {
		return err
	}
	if !ok {
		form.Say("passcode", words.T("sign.wrong"))
		return s.drawSignIn(w, r, http.StatusUnprocessableEntity, form, next)
	}
	return s.welcome(w, r, who, next)
}

// known returns the active person with this name and passcode.
func (s *server) known(ctx context.Context, name, passcode string) (store.Person, bool, error) {
	who, err := s.db.PersonByName(ctx, name)
	if err != nil && store.KindOf(err) != store.NotFound {
		return who, false, err
	}
	there := err == nil && who.Active && who.Hash != ""
	hash := pass.Nobody()
	if there {
		hash = who.Hash
	}
	ok, err := pass.Check(ctx, hash, passcode)
	return who, ok && there, err
}

// signOut ends the session and nothing else: what is kept on a phone stays there.
func (s *server) signOut(w http.ResponseWriter, r *http.Request) error {
	if _, hash := s.token(r); hash != nil {
		if err := s.db.EndSession(r.Context(), hash); err != nil && store.KindOf(err) != store.NotFound {
			return err
		}
	}
	s.setCookie(w, r, "", -time.Second)
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// home sends everyone to where their day begins.
func (s *server) home(w http.ResponseWriter, r *http.Request) error {
	who, known := route.Person(r.Context())
	to := "/sign-in"
	if known {
		to = afterSignIn("", who.Role)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

func afterSignIn(next string, role store.Role) string {
	switch {
	case next != "" && next != "/":
		return next
	case role.May(store.Manager):
		return "/desk/"
	}
	return "/field/"
}

// localPath returns next when it is a path of this site, else nothing. Browsers read a backslash as a slash and skip
// control characters, so neither may appear.
func localPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil {
		return ""
	}
	if !strings.HasPrefix(next, "/") || strings.HasPrefix(next, "//") || strings.ContainsRune(next, '\\') {
		return ""
	}
	if strings.ContainsFunc(next, func(c rune) bool { return c < ' ' || c == 0x7f }) {
		return ""
	}
	return next
}
