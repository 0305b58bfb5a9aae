package desk

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/web/page"
)

type linkStore interface {
	AddLink(ctx context.Context, tokenHash []byte, l store.Link) error
	Links(ctx context.Context, client string) ([]store.Link, error)
	RevokeLink(ctx context.Context, client, id string) error
	OpenLink(ctx context.Context, tokenHash []byte) (store.Link, error)
}

// tokenBytes of chance make an address that nobody guesses.
const tokenBytes = 32

// linkDays are how long a link may hold, in days; the second is the first choice.
var linkDays = []string{"30", "90", "365"}

// Links lists the addresses that a client was given and makes new ones.
func (d *Desk) Links(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawLinks(w, r, a, http.StatusOK, page.Form{}, "")
}

func (d *Desk) drawLinks(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form, fresh string) error {
	c, err := d.db.Client(r.Context(), r.PathValue("client"))
	if err != nil {
		return err
	}
	list, err := d.db.Links(r.Context(), c.ID)
	if err != nil {
		return err
	}
	shows, err := d.linkChoices(r.Context(), a, c.ID)
	if err != nil {
		return err
	}
	v := page.LinksView{Client: c.Name, To: "/desk/clients/" + c.ID, Form: form, Fresh: fresh, Shows: shows}
	for _, days := range linkDays {
		v.Days = append(v.Days, page.Choice{Value: days, Label: a.words.T("link.days", "n", days)})
	}
	for _, l := range list {
		v.Rows = append(v.Rows, d.linkRow(a, l, shows))
	}
	f, err := d.frame(r, a, "clients", a.words.T("link.title", "client", c.Name))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Links(f, v))
}

// linkChoices are what a link may show: the seasons, and the visits that are signed off, newest first.
func (d *Desk) linkChoices(ctx context.Context, a asking, client string) ([]page.Choice, error) {
	visits, err := d.db.Visits(ctx, store.VisitFilter{Client: client})
	if err != nil {
		return nil, err
	}
	var out []page.Choice
	for _, s := range d.seasons(a, client, visits) {
		out = append(out, page.Choice{Value: "season " + s.Value[strings.LastIndex(s.Value, "/")+1:], Label: s.Label})
	}
	names, err := d.names(ctx)
	slices.Reverse(visits)
	for _, v := range visits {
		if v.State == store.SignedOff {
			out = append(out, page.Choice{Value: "visit " + v.ID, Label: a.words.T("link.visit", "day", day(v.Day), "address", names.address(v.Property))})
		}
	}
	return out, err
}

func (d *Desk) linkRow(a asking, l store.Link, shows []page.Choice) page.GivenLink {
	row := page.GivenLink{ID: l.ID, Made: moment(l.Made, a.place), Until: shortDay(l.Expires.In(a.place).Format(time.DateOnly)), Shows: a.words.T("client.season", "year", l.Year)}
	for _, s := range shows {
		if l.Visit != "" && s.Value == "visit "+l.Visit {
			row.Shows = s.Label
		}
	}
	row.Opened = a.words.T("link.unopened")
	if l.Times > 0 {
		row.Opened = a.words.T("link.opened", "first", moment(l.Opened, a.place), "last", moment(l.Seen, a.place), "n", l.Times)
	}
	switch {
	case !l.Revoked.IsZero():
		row.State = page.Reason{Say: a.words.T("link.revoked")}
	case !l.Open(d.now()):
		row.State = page.Reason{Say: a.words.T("link.over")}
	default:
		row.State, row.Holds = page.Reason{Kind: "done", Say: a.words.T("link.holds")}, true
	}
	return row
}

// AddLink makes an address and shows it this once: the database keeps only the hash of what can't be guessed in it.
func (d *Desk) AddLink(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	client := r.PathValue("client")
	shows, err := d.linkChoices(r.Context(), a, client)
	if err != nil {
		return err
	}
	days, _ := strconv.Atoi(form.V("days")) // what is no number is none of the choices
	if !slices.Contains(linkDays, form.V("days")) {
		form.Say("days", a.words.T("link.days.need"))
	}
	if !slices.ContainsFunc(shows, func(c page.Choice) bool { return c.Value == form.V("shows") }) {
		form.Say("shows", a.words.T("link.shows.need"))
	}
	if form.Bad() {
		return d.drawLinks(w, r, a, http.StatusUnprocessableEntity, form, "")
	}
	l := store.Link{ID: uuid.NewString(), Client: client, By: a.who.ID, Expires: d.now().Add(time.Duration(days) * 24 * time.Hour)}
	kind, what, _ := strings.Cut(form.V("shows"), " ")
	if kind == "visit" {
		l.Visit = what
	} else if l.Year, err = strconv.Atoi(what); err != nil {
		return err
	}
	secret := make([]byte, tokenBytes)
	_, _ = rand.Read(secret) // never fails: it ends the program instead
	token := base64.RawURLEncoding.EncodeToString(secret)
	if err := d.db.AddLink(r.Context(), hashOf(token), l); err != nil {
		return err
	}
	scheme := "http://"
	if d.tls || r.TLS != nil {
		scheme = "https://"
	}
	return d.drawLinks(w, r, a, http.StatusOK, page.Form{}, scheme+r.Host+"/c/"+token)
}

func hashOf(token string) []byte {
	sum := sha256.Sum256([]byte(token))
	return sum[:]
}

// RevokeLink ends an address for good.
func (d *Desk) RevokeLink(w http.ResponseWriter, r *http.Request) error {
	client := r.PathValue("client")
	return done(w, r, d.db.RevokeLink(r.Context(), client, r.PathValue("link")), "/desk/clients/"+client+"/links", "revoked")
}
