// Package desk holds the manager's and the owner's pages: what needs a person, a visit with its evidence, clients and
// properties over time, the knowledge behind a cause, and the people who may sign in.
package desk

import (
	"context"
	"net/http"
	"net/url"
	"time"

	"github.com/go-chi/httprate"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/shelf"
	"swardbook/web/page"
	"swardbook/web/route"
)

// Desk answers the desk's routes.
type Desk struct {
	db      Store
	intake  Intake
	lessons Lessons
	know    func() *knowledge.Loaded
	photos  Photos
	now     func() time.Time
	house   House
	tls     bool
	texts   map[string]page.Words
	guesses *httprate.RateLimiter
	lately  memo[late]
	firstly memo[page.NeedsView]
	naming  shelf.Shelf[names]
	zoning  shelf.Shelf[[]zoneState]
	earlier shelf.Shelf[store.Visit]
	newest  shelf.Shelf[map[string]string]
	wanting shelf.Shelf[[]store.Application]
}

// Store is everything the desk asks of the database; each page's part is declared beside it.
type Store interface {
	firmStore
	needsStore
	visitStore
	reviewStore
	asideStore
	clientStore
	propertyStore
	peopleStore
	seasonStore
	findStore
	linkStore
	workStore
	phoneStore
	houseStore
	auditStore
	codeStore
	factorStore
	eraseStore
	retentionStore
}

type firmStore interface {
	Firm(ctx context.Context) (store.Firm, error)
}

// Deps is everything New is given.
type Deps struct {
	DB      Store
	Intake  Intake
	Lessons Lessons
	Photos  Photos
	Know    func() *knowledge.Loaded // the knowledge that counts now; asked anew each time
	Now     func() time.Time
	House   House // how the program and its data are; nil: nobody knows
	TLS     bool  // reached by https, here or at a proxy in front
}

// New returns the desk.
func New(d Deps) (*Desk, error) {
	words, err := page.LoadWords("en")
	if err != nil {
		return nil, err
	}
	desk := &Desk{db: d.DB, intake: d.Intake, lessons: d.Lessons, know: d.Know, photos: d.Photos, now: d.Now, house: d.House, tls: d.TLS, guesses: newProofs(), texts: map[string]page.Words{"en": words}}
	desk.naming.Now, desk.zoning.Now, desk.earlier.Now, desk.newest.Now, desk.wanting.Now = d.Now, d.Now, d.Now, d.Now, d.Now
	return desk, nil
}

// asking is one request with what every page needs of it.
type asking struct {
	who   store.Person
	words page.Words
	firm  store.Firm
	place *time.Location
}

func (d *Desk) asking(r *http.Request) (asking, error) {
	who, _ := route.Person(r.Context())
	firm, err := d.db.Firm(r.Context())
	if err != nil {
		return asking{}, err
	}
	place, err := time.LoadLocation(firm.Zone)
	if err != nil {
		place = time.UTC
	}
	words, ok := d.texts[who.Lang]
	if !ok {
		words = d.texts["en"]
	}
	return asking{who: who, words: words, firm: firm, place: place}, nil
}

// frame is what stands around a page. Modules are the desk's own; the flash is what the press before did.
func (d *Desk) frame(r *http.Request, a asking, now, title string) (page.Frame, error) {
	n, err := d.waiting(r.Context(), a)
	if err != nil {
		return page.Frame{}, err
	}
	f := page.Frame{W: a.words, Title: title, Person: a.who, Now: now, Needs: n, Modules: []string{"desk.js"}}
	if key := "flash." + r.URL.Query().Get("done"); a.words.Has(key) {
		f.Flash = a.words.T(key)
	}
	return f, nil
}

// back answers a press that did what it should: the browser asks for the page anew and is told what was done.
func back(w http.ResponseWriter, r *http.Request, path, done string) error {
	u, err := url.Parse(path)
	if err != nil {
		return err
	}
	q := u.Query()
	q.Set("done", done)
	u.RawQuery = q.Encode()
	http.Redirect(w, r, u.String(), http.StatusSeeOther)
	return nil
}
