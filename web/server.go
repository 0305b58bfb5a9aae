// Package web is the HTTP side: one list of routes with who may use each, sessions, and one place where an error becomes
// an answer. The pages themselves are in web/desk and web/field.
package web

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"sync/atomic"
	"time"

	"github.com/go-chi/chi/v5"
	"github.com/go-chi/chi/v5/middleware"

	"swardbook/static"
	"swardbook/store"
	"swardbook/web/desk"
	"swardbook/web/page"
	"swardbook/web/route"
	"swardbook/web/watch"
)

// DB is what this package itself needs of the database.
type DB interface {
	Sessions
	Names
	Codes
	Factors
	Beginning
}

// Field gives the routes of the phone side.
type Field interface {
	Routes() []route.Route
}

// Deps is everything New is given.
type Deps struct {
	DB      DB
	Desk    *desk.Desk
	Field   Field
	Log     *slog.Logger
	Now     func() time.Time
	TLS     bool                            // reached by https, here or at a proxy in front
	Watch   *watch.Watch                    // counts requests; nil: nobody does
	Ready   func(ctx context.Context) error // why no requests should be sent here now; nil: always ready
	Proxies []string                        // CIDRs of proxies whose X-Forwarded-For is believed; none: the connection's own address counts
}

type server struct {
	db      DB
	log     *slog.Logger
	now     func() time.Time
	tls     bool
	tries   throttle
	halves  *halves
	watch   *watch.Watch
	ready   func(ctx context.Context) error
	texts   map[string]page.Words
	door    page.Words // Spanish, for signing in
	files   assets
	started atomic.Bool // there is a firm
}

// New returns the handler of the whole site.
func New(d Deps) (http.Handler, error) {
	s := &server{db: d.DB, log: d.Log, now: d.Now, tls: d.TLS, watch: d.Watch, ready: d.Ready, tries: newThrottle(), halves: newHalves(), texts: map[string]page.Words{}}
	words, err := page.LoadWords("en")
	if err != nil {
		return nil, err
	}
	s.texts["en"] = words
	if s.door, err = page.LoadWords("es"); err != nil {
		return nil, err
	}
	if s.files, err = loadAssets(static.FS); err != nil {
		return nil, err
	}
	return s.router(d)
}

// router puts every route of the list behind the same layers.
func (s *server) router(d Deps) (http.Handler, error) {
	mux := chi.NewRouter()
	mux.Use(s.logged, s.headed, s.recovered, clientAddress(d.Proxies), crowded(), sameSite(s), limited, middleware.GetHead, s.begun, s.withPerson)
	mux.NotFound(s.catch(func(w http.ResponseWriter, r *http.Request) error {
		return store.Errorf(store.NotFound, "%s", s.words(r).T("error.not_found.say"))
	}).ServeHTTP)
	mux.MethodNotAllowed(func(w http.ResponseWriter, r *http.Request) {
		s.answerAs(w, r, http.StatusMethodNotAllowed, store.Errorf(store.NotFound, "%s", s.words(r).T("error.not_found.say")))
	})
	seen := map[string]bool{}
	for _, line := range s.routes(d) {
		key := line.Method + " " + line.Pattern
		if seen[key] || line.Handler == nil {
			return nil, fmt.Errorf("web: route %s stands twice or has no handler", key)
		}
		seen[key] = true
		mux.Method(line.Method, line.Pattern, s.guard(line.Audience, line.Handler))
	}
	return mux, nil
}

// clientAddress finds out where a request really came from.
func clientAddress(proxies []string) func(http.Handler) http.Handler {
	if len(proxies) == 0 {
		return middleware.ClientIPFromRemoteAddr
	}
	return middleware.ClientIPFromXFF(proxies...)
}

// How many requests are worked on at once, how many may wait for their turn, and how long. Phones that are sent away come back
// after a while, each at its own moment.
const (
	atOnce      = 200
	waitingLine = 1000
	longestWait = 20 * time.Second
)

// crowded keeps a rush from taking all memory.
func crowded() func(http.Handler) http.Handler {
	return middleware.ThrottleWithOpts(middleware.ThrottleOpts{
		Limit: atOnce, BacklogLimit: waitingLine, BacklogTimeout: longestWait, StatusCode: http.StatusServiceUnavailable,
		RetryAfterFn: func(bool) time.Duration { return 5 * time.Second },
	})
}

// sameSite refuses what another site's page makes a browser send.
func sameSite(s *server) func(http.Handler) http.Handler {
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(s.catch(func(w http.ResponseWriter, r *http.Request) error {
		return store.Errorf(store.Forbidden, "%s", s.words(r).T("error.other_site.say"))
	}))
	return guard.Handler
}

// words are the texts in the language of whoever asks.
func (s *server) words(r *http.Request) page.Words {
	who, _ := route.Person(r.Context())
	if w, ok := s.texts[who.Lang]; ok {
		return w
	}
	return s.texts["en"]
}
