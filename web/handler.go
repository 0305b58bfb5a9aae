package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/desk"
	"swardbook/web/page"
	"swardbook/web/route"
)

// statuses is the one table from kinds of errors to answers.
var statuses = map[store.Kind]struct {
	status int
	name   string // "error" of a JSON answer and key of the page's words
}{
	store.Internal:  {http.StatusInternalServerError, "internal"},
	store.NotFound:  {http.StatusNotFound, "not_found"},
	store.Invalid:   {http.StatusUnprocessableEntity, "invalid"},
	store.Conflict:  {http.StatusConflict, "conflict"},
	store.Forbidden: {http.StatusForbidden, "forbidden"},
	store.SignIn:    {http.StatusUnauthorized, "sign_in"},
	store.TooLarge:  {http.StatusRequestEntityTooLarge, "too_large"},
	store.Busy:      {http.StatusServiceUnavailable, "busy"},
	store.Outdated:  {http.StatusUpgradeRequired, "outdated"},
}

// Largest bodies: a page's form, and one push or one piece of a photo with room to spare.
const (
	maxForm = 64 << 10
	maxAPI  = 4 << 20
	maxCopy = intake.MaxCopy + 64<<10 // a copy saved on a phone, with what the form puts round it
)

// Forms that take a large file: a copy of a phone, and clients to be taken in (the file and, looked at again, its text).
const (
	copyPath   = "/desk/copy"
	importPath = "/desk/import"
	maxImport  = 2*desk.MaxSheet + 64<<10
)

// catch turns a handler that returns an error into one that answers it.
func (s *server) catch(h route.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if err := h(w, r); err != nil {
			s.answer(w, r, err)
		}
	})
}

// guard lets only a into h: the API answers with a status, a page asks to sign in first.
func (s *server) guard(a route.Audience, h route.Handler) http.Handler {
	return s.catch(func(w http.ResponseWriter, r *http.Request) error {
		who, known := route.Person(r.Context())
		switch {
		case a.Admits(who.Role):
			return h(w, r)
		case known:
			return store.Errorf(store.Forbidden, "%s", s.words(r).T("error.forbidden.say"))
		case isAPI(r) || r.Method != http.MethodGet && r.Method != http.MethodHead:
			return store.Errorf(store.SignIn, "%s", s.words(r).T("error.sign_in.say"))
		}
		http.Redirect(w, r, "/sign-in?next="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
		return nil
	})
}

// answer says err to whoever asked, as JSON or as a page, and leaves its private cause to the log.
func (s *server) answer(w http.ResponseWriter, r *http.Request, err error) { s.answerAs(w, r, 0, err) }

// answerAs is answer with a status of its own; 0 is the kind's.
func (s *server) answerAs(w http.ResponseWriter, r *http.Request, status int, err error) {
	n := noteOf(r)
	n.err = err
	kind := store.KindOf(err)
	var tooLarge *http.MaxBytesError
	if errors.As(err, &tooLarge) {
		kind, err = store.TooLarge, tooLarge
	}
	a := statuses[kind]
	if status == 0 {
		status = a.status
	}
	words := s.words(r)
	say := sentence(err)
	if kind == store.Internal || say == "" {
		say = words.T("error." + a.name + ".say")
	}
	w.Header().Del("Content-Encoding")
	w.Header().Del("Etag")
	w.Header().Set("Cache-Control", "no-store")
	if kind == store.Busy {
		w.Header().Set("Retry-After", "5")
	}
	if isAPI(r) {
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(map[string]string{"error": a.name, "say": say})
		return
	}
	who, _ := route.Person(r.Context())
	fault := page.Fault{Say: say, Next: words.T("error." + a.name + ".next"), ID: n.id, Retry: kind == store.SignIn}
	frame := page.Frame{W: words, Title: words.T("error." + a.name + ".title"), Person: who, Needs: -1}
	if err := page.Write(w, r, status, page.ErrorPage(frame, fault)); err != nil {
		http.Error(w, say, status)
	}
}

func sentence(err error) string {
	var e *store.Error
	if errors.As(err, &e) {
		return e.Say
	}
	return ""
}

func isAPI(r *http.Request) bool { return strings.HasPrefix(r.URL.Path, "/api/") }

// The longest a request may take to arrive and its answer to leave. A phone at the edge of a network sends a piece of a photo
// for minutes; a form is small. Whoever sends drop by drop is cut.
const (
	longestForm = time.Minute
	longestAPI  = 10 * time.Minute
)

// limited bounds what a request may send, and how long it may take.
func limited(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		most, longest := int64(maxForm), longestForm
		if isAPI(r) {
			most, longest = maxAPI, longestAPI
		}
		if r.URL.Path == copyPath && r.Method == http.MethodPost { // whether it may is asked before anything is read
			most, longest = maxCopy, longestAPI
		}
		if r.URL.Path == importPath && r.Method == http.MethodPost {
			most, longest = maxImport, longestAPI
		}
		c := http.NewResponseController(w)
		_ = c.SetReadDeadline(time.Now().Add(longest)) // a recorder in a test has no such thing
		_ = c.SetWriteDeadline(time.Now().Add(longest))
		r.Body = http.MaxBytesReader(w, r.Body, most)
		next.ServeHTTP(w, r)
	})
}

// policy is what our pages may load and where they may send: ourselves, and nothing written into the page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"manifest-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

// headed sets the headers that every answer carries.
func (s *server) headed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(self), microphone=()")
		if s.secure(r) {
			h.Set("Strict-Transport-Security", "max-age=31536000")
		}
		next.ServeHTTP(w, r)
	})
}
