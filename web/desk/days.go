package desk

import (
	"context"
	"net/http"
	"strconv"
	"time"

	"swardbook/store"
	"swardbook/web/page"
)

type dayStore interface {
	MoveVisit(ctx context.Context, id, day, crew string, place int) error
}

// weekDays is how many days a board leads to.
const weekDays = 7

// Days is the board of one day: a sheet for each of the crew and one for nobody yet.
func (d *Desk) Days(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawDays(w, r, a, http.StatusOK, d.dayAsked(a, r.URL.Query().Get("day")), page.Form{})
}

// dayAsked is the day named, today when it is none.
func (d *Desk) dayAsked(a asking, text string) time.Time {
	if t, err := time.Parse(time.DateOnly, text); err == nil && t.Year() > 1999 && t.Year() < 2200 {
		return t
	}
	now := d.now().In(a.place)
	return time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
}

func (d *Desk) drawDays(w http.ResponseWriter, r *http.Request, a asking, status int, day time.Time, form page.Form) error {
	from := day.AddDate(0, 0, -int((day.Weekday()+6)%7)) // Monday
	visits, err := d.db.Visits(r.Context(), store.VisitFilter{FromDay: from.Format(time.DateOnly), ToDay: from.AddDate(0, 0, weekDays-1).Format(time.DateOnly), AtWork: true})
	if err != nil {
		return err
	}
	v := page.DaysView{Day: day.Format(time.DateOnly), Form: form, Before: daysURL(from.AddDate(0, 0, -weekDays)), After: daysURL(from.AddDate(0, 0, weekDays)), Today: "/desk/days"}
	counts := map[string]int{}
	for _, x := range visits {
		counts[x.Day]++
	}
	for i := range weekDays {
		t := from.AddDate(0, 0, i)
		key := t.Format(time.DateOnly)
		v.Week = append(v.Week, page.DayLink{URL: daysURL(t), Day: key, Label: t.Format("Mon 2 Jan"), N: counts[key], Now: key == v.Day})
	}
	if v.Sheets, err = d.sheets(r.Context(), a, v.Day, visits, form); err != nil {
		return err
	}
	f, err := d.frame(r, a, "days", a.words.T("days.of", "day", day.Format("Monday 2 January 2006")))
	if err != nil {
		return err
	}
	f.CSS = []string{"office.css"}
	f.Modules = append(f.Modules, "days.js")
	return page.Write(w, r, status, page.Days(f, v))
}

func daysURL(t time.Time) string { return "/desk/days?day=" + t.Format(time.DateOnly) }

// sheets are the day's visits by crew: nobody's first, then everybody who has some or could.
func (d *Desk) sheets(ctx context.Context, a asking, day string, visits []store.Visit, form page.Form) ([]page.DaySheet, error) {
	names, err := d.names(ctx)
	if err != nil {
		return nil, err
	}
	people, err := d.db.People(ctx, true)
	if err != nil {
		return nil, err
	}
	out := []page.DaySheet{{Name: a.words.T("person.nobody")}}
	at := map[string]int{"": 0}
	sheet := func(id, name string) int {
		if _, ok := at[id]; !ok {
			at[id] = len(out)
			out = append(out, page.DaySheet{ID: id, Name: name})
		}
		return at[id]
	}
	for _, p := range people {
		sheet(p.ID, p.Name)
	}
	for _, x := range visits {
		if x.Day != day {
			continue
		}
		i := sheet(x.Crew, names.person(x.Crew, a.words))
		row := page.DayVisit{
			ID: x.ID, URL: "/desk/visits/" + x.ID, Address: names.address(x.Property), Client: names.clientOf(x.Property), Ask: x.Ask, Why: a.words.T("kind." + x.Why),
			State: stateReason(x.State, a.words), Place: strconv.Itoa(len(out[i].Visits) + 1), Fixed: x.State == store.HandedIn || x.State == store.SignedOff,
		}
		if form.V("visit") == x.ID {
			row.Form = form
		}
		out[i].Visits = append(out[i].Visits, row)
	}
	return out, nil
}

// MoveVisit gives a visit another day, crew or place.
func (d *Desk) MoveVisit(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	v, err := d.db.Visit(r.Context(), form.V("visit"))
	if err != nil {
		return err
	}
	day, err := time.Parse(time.DateOnly, form.V("day"))
	if err != nil || day.Year() < 2000 || day.Year() > 2199 {
		form.Say("day", a.words.T("visit.day.need"))
	}
	place, err := strconv.Atoi(form.V("place"))
	if form.V("place") != "" && (err != nil || place < 1 || place > 500) {
		form.Say("place", a.words.T("days.place.wrong"))
	}
	if crew := form.V("crew"); crew != "" {
		if p, err := d.db.Person(r.Context(), crew); err != nil || !p.Active {
			form.Say("crew", a.words.T("visit.crew.need"))
		}
	}
	if form.Bad() {
		return d.drawDays(w, r, a, http.StatusUnprocessableEntity, d.dayAsked(a, v.Day), form)
	}
	to := form.V("day")
	if to != v.Day && form.V("crew") == v.Crew && form.V("place") == form.V("was") {
		place = 0 // another day and nothing else: last there
	}
	if err := d.db.MoveVisit(r.Context(), v.ID, to, form.V("crew"), place); err != nil {
		return err
	}
	http.Redirect(w, r, "/desk/days?day="+to+"&done=moved#d-"+v.ID, http.StatusSeeOther)
	return nil
}
