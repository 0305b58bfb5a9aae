package desk

import (
	"cmp"
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	ics "github.com/arran4/golang-ical"

	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/web/page"
)

type calendarStore interface {
	SetCalendar(ctx context.Context, tokenHash []byte, person string) error
	EndCalendar(ctx context.Context, person string) error
	Calendar(ctx context.Context, person string) (store.Calendar, error)
	OpenCalendar(ctx context.Context, tokenHash []byte) (store.Calendar, error)
}

// How many days a calendar looks back and ahead.
const (
	calendarBack  = 30
	calendarAhead = 400
)

// calendarOf is whose calendar a page is about: the person named, else whoever asks.
func (d *Desk) calendarOf(r *http.Request, a asking) (store.Person, string, error) {
	id := r.PathValue("person")
	if id == "" {
		return a.who, "/desk/calendar", nil
	}
	p, err := d.db.Person(r.Context(), id)
	return p, "/desk/people/" + url.PathEscape(id) + "/calendar", err
}

// Calendar tells of the address at which a person's visits, windows and follow-ups are read as a calendar.
func (d *Desk) Calendar(w http.ResponseWriter, r *http.Request) error {
	return d.drawCalendar(w, r, "")
}

func (d *Desk) drawCalendar(w http.ResponseWriter, r *http.Request, fresh string) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, path, err := d.calendarOf(r, a)
	if err != nil {
		return err
	}
	v := page.CalendarView{Path: path, Fresh: fresh}
	c, err := d.db.Calendar(r.Context(), p.ID)
	if err == nil {
		v.Made, v.Seen = moment(c.Made, a.place), cmp.Or(moment(c.Seen, a.place), a.words.T("calendar.unseen"))
	} else if store.KindOf(err) != store.NotFound {
		return err
	}
	f, err := d.frame(r, a, "days", a.words.T("calendar.title", "name", p.Name))
	if err != nil {
		return err
	}
	if fresh != "" {
		w.Header().Set("Cache-Control", "no-store")
	}
	return page.Write(w, r, http.StatusOK, page.Calendar(f, v))
}

// MakeCalendar makes an address, shown this once, or ends the one there is.
func (d *Desk) MakeCalendar(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, path, err := d.calendarOf(r, a)
	if err != nil {
		return err
	}
	if form.V("how") == "end" {
		return done(w, r, d.db.EndCalendar(r.Context(), p.ID), path, "calendar-ended")
	}
	if !p.Active {
		return store.Errorf(store.Conflict, "%s", a.words.T("calendar.left"))
	}
	raw := make([]byte, 32)
	rand.Read(raw) // never fails
	token := base64.RawURLEncoding.EncodeToString(raw)
	sum := sha256.Sum256([]byte(token))
	if err := d.db.SetCalendar(r.Context(), sum[:], p.ID); err != nil {
		return err
	}
	return d.drawCalendar(w, r, d.origin(r)+"/cal/"+token+".ics")
}

// ReadCalendar answers a calendar program. Which of unknown, ended and left it is, is not said.
func (d *Desk) ReadCalendar(w http.ResponseWriter, r *http.Request) error {
	sum := sha256.Sum256([]byte(strings.TrimSuffix(r.PathValue("token"), ".ics")))
	c, err := d.db.OpenCalendar(r.Context(), sum[:])
	if err != nil {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	if a.who, err = d.db.Person(r.Context(), c.Person); err != nil {
		return err
	}
	cal, err := d.calendar(r.Context(), a, d.origin(r))
	if err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/calendar; charset=utf-8")
	h.Set("Cache-Control", "private, no-store")
	h.Set("X-Robots-Tag", "noindex, nofollow")
	_, err = w.Write([]byte(cal.Serialize(ics.WithNewLineWindows)))
	return err
}

// calendar holds a person's visits, and the windows and follow-ups of signed steps; a manager's holds everybody's.
func (d *Desk) calendar(ctx context.Context, a asking, origin string) (*ics.Calendar, error) {
	cal := ics.NewCalendarFor("Swardbook")
	cal.SetProductId("-//Swardbook//Swardbook//EN")
	cal.SetMethod(ics.MethodPublish)
	cal.SetXWRCalName(a.words.T("calendar.title", "name", a.who.Name))
	names, err := d.names(ctx)
	if err != nil {
		return nil, err
	}
	c := calendarMaker{desk: d, a: a, names: names, cal: cal, origin: origin, now: d.now()}
	if err := c.visits(ctx); err != nil {
		return nil, err
	}
	return cal, c.steps(ctx)
}

type calendarMaker struct {
	desk   *Desk
	a      asking
	names  names
	cal    *ics.Calendar
	origin string
	now    time.Time
}

func (c calendarMaker) day(days int) string {
	return c.now.In(c.a.place).AddDate(0, 0, days).Format(time.DateOnly)
}

func (c calendarMaker) visits(ctx context.Context) error {
	f := store.VisitFilter{FromDay: c.day(-calendarBack), ToDay: c.day(calendarAhead), AtWork: true}
	if !c.a.who.Role.May(store.Manager) {
		f.Crew = c.a.who.ID
	}
	list, err := c.desk.db.Visits(ctx, f)
	for _, v := range list {
		say := []string{c.a.words.T("state." + string(v.State)), c.names.person(v.Crew, c.a.words)}
		if v.Ask != "" {
			say = append(say, v.Ask)
		}
		to := c.origin + "/desk/visits/" + v.ID
		if !c.a.who.Role.May(store.Manager) {
			to = c.origin + "/field/"
		}
		c.event("visit-"+v.ID, v.Day, v.Day, c.a.words.T("kind."+v.Why)+": "+c.names.address(v.Property), c.names.address(v.Property), strings.Join(say, "\n"), to, v.Changed)
	}
	return err
}

// event is one entry of whole days, both included.
func (c calendarMaker) event(id, from, to, summary, where, say, link string, changed time.Time) {
	first, err := time.Parse(time.DateOnly, from)
	last, err2 := time.Parse(time.DateOnly, to)
	if err != nil || err2 != nil || last.Before(first) {
		return // without days there is nothing to enter
	}
	e := c.cal.AddEvent(id + "@swardbook")
	e.SetDtStampTime(c.now.UTC())
	if !changed.IsZero() {
		e.SetModifiedAt(changed.UTC())
	}
	e.SetAllDayStartAt(first)
	e.SetAllDayEndAt(last.AddDate(0, 0, 1)) // the end is the first day after
	e.SetSummary(summary)
	e.SetLocation(where)
	e.SetDescription(say)
	e.SetURL(link)
	e.SetProperty(ics.ComponentPropertyTransp, "TRANSPARENT")
}

// steps enters windows of signed steps that are not done, and of those that are done the days on which they should show.
func (c calendarMaker) steps(ctx context.Context) error {
	signed, err := c.desk.db.Plans(ctx, "")
	if err != nil {
		return err
	}
	for _, p := range signed {
		place, ok := c.names.properties[p.Property]
		if !ok || !place.Archived.IsZero() || !c.names.clients[place.Client].Archived.IsZero() {
			continue
		}
		var body plan.Plan
		if err := json.Unmarshal(p.Body, &body); err != nil {
			return fmt.Errorf("plan %s: %w", p.ID, err)
		}
		for _, s := range p.Steps {
			if s.N >= len(body.Steps) {
				continue
			}
			if own, err := c.concerns(ctx, s); err != nil || !own {
				if err != nil {
					return err
				}
				continue
			}
			c.step(p, s, body.Steps[s.N])
		}
	}
	return nil
}

// concerns reports whether a step is for this calendar: a crew member's own visits only.
func (c calendarMaker) concerns(ctx context.Context, s store.PlanStep) (bool, error) {
	if c.a.who.Role.May(store.Manager) {
		return true, nil
	}
	if s.Visit == "" {
		return false, nil
	}
	v, err := c.desk.db.Visit(ctx, s.Visit)
	return v.Crew == c.a.who.ID, err
}

func (c calendarMaker) step(p store.Plan, s store.PlanStep, step plan.Step) {
	address, link := c.names.address(p.Property), c.origin+"/desk/plans/"+p.ID
	id := fmt.Sprintf("%s-%d", p.ID, s.N)
	do := step.Do.In(c.a.words.Lang)
	w := step.Window
	switch {
	case s.State == store.StepPlanned && w.From != "" && w.To != "" && w.To >= c.day(-calendarBack):
		c.event("window-"+id, w.From, w.To, c.a.words.T("calendar.window", "step", do, "address", address), address, w.Say.In(c.a.words.Lang), link, s.Changed)
	case s.State == store.StepDone && step.ShowsFrom != "" && cmp.Or(step.ShowsBy, step.ShowsFrom) >= c.day(-calendarBack):
		c.event("follow-up-"+id, step.ShowsFrom, cmp.Or(step.ShowsBy, step.ShowsFrom), c.a.words.T("calendar.follow", "step", do, "address", address), address, step.Result.In(c.a.words.Lang), link, s.Changed)
	}
}
