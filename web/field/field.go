// Package field is the phone's side of the house: the pages as shells without data, the worker that keeps them, the day
// packet, and the doors that sync speaks to. What a person recorded is never refused here; it is handed to the intake.
package field

import (
	"context"
	"io"
	"log/slog"
	"net/http"
	"os"
	"sync/atomic"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/page"
	"swardbook/web/route"
)

// Intake takes in what a phone sends.
type Intake interface {
	Push(ctx context.Context, from intake.Sender, req intake.Request) (intake.Reply, error)
	Courses(ctx context.Context, visit store.Visit) (map[string]diagnose.Course, error)
}

// Photos keeps the bytes of photos.
type Photos interface {
	Append(ctx context.Context, sha string, offset, length int64, typ string, r io.Reader) (intake.Progress, error)
	Head(ctx context.Context, sha string) (intake.Progress, error)
	Open(ctx context.Context, sha string) (*os.File, store.Photo, error)
}

// Deps is everything New is given.
type Deps struct {
	DB          DB
	Intake      Intake
	Photos      Photos
	Know        func() *knowledge.Loaded // the knowledge that counts now; asked anew each time
	Now         func() time.Time
	Log         *slog.Logger
	PassThrough bool // hand out the worker that does nothing, after a release that went wrong
}

// Field answers the phones.
type Field struct {
	db          DB
	intake      Intake
	photos      Photos
	know        func() *knowledge.Loaded
	now         func() time.Time
	log         *slog.Logger
	tongues     []page.Words // English first
	passThrough bool
	last        atomic.Pointer[drawn]
	blocks      blocks
}

// New draws the shells and lists the release.
func New(d Deps) (*Field, error) {
	var tongues []page.Words
	for _, lang := range []string{"en", "es"} {
		words, err := page.LoadWords(lang)
		if err != nil {
			return nil, err
		}
		tongues = append(tongues, words)
	}
	if d.Now == nil {
		d.Now = time.Now
	}
	if d.Log == nil {
		d.Log = slog.Default()
	}
	f := &Field{
		db: d.DB, intake: d.Intake, photos: d.Photos, know: d.Know, now: d.Now, log: d.Log, tongues: tongues, passThrough: d.PassThrough,
	}
	f.blocks.places.Now, f.blocks.readings.Now, f.blocks.said.Now, f.blocks.rest.Now = d.Now, d.Now, d.Now, d.Now
	f.blocks.readings.Most, f.blocks.said.Most = 5000, 5000
	if err := f.draw(d.Know()); err != nil {
		return nil, err
	}
	return f, nil
}

// Routes lists the phone's routes. The shells and what the worker installs hold no data and need no session.
func (f *Field) Routes() []route.Route {
	routes := []route.Route{
		{Method: http.MethodGet, Pattern: "/sw.js", Audience: route.Anyone, Handler: f.serveWorker},
		{Method: http.MethodGet, Pattern: "/field/release.json", Audience: route.Anyone, Handler: f.serveRelease},
		{Method: http.MethodGet, Pattern: "/api/v1/me", Audience: route.Crew, Handler: f.me},
		{Method: http.MethodGet, Pattern: "/api/v1/pack", Audience: route.Crew, Handler: f.pack},
		{Method: http.MethodPost, Pattern: "/api/v1/ops", Audience: route.Crew, Handler: f.push},
		{Method: http.MethodGet, Pattern: "/api/v1/feed", Audience: route.Crew, Handler: f.feed},
		{Method: http.MethodHead, Pattern: "/api/v1/photos/{sha}", Audience: route.Crew, Handler: f.photoHead},
		{Method: http.MethodPatch, Pattern: "/api/v1/photos/{sha}", Audience: route.Crew, Handler: f.photoPiece},
		{Method: http.MethodGet, Pattern: "/api/v1/photos/{sha}", Audience: route.Crew, Handler: f.photoBytes},
		{Method: http.MethodGet, Pattern: "/api/v1/knowledge.json", Audience: route.Crew, Handler: f.knowledge},
	}
	for _, url := range f.drawn().release.made() {
		routes = append(routes, route.Route{Method: http.MethodGet, Pattern: url, Audience: route.Anyone, Handler: f.made(url)})
	}
	return routes
}
