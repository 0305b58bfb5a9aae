package desk

import (
	"cmp"
	"context"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

type seasonStore interface{ history.Store }

// Season is everything about one client in one year, for the screen and for paper.
func (d *Desk) Season(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	year, err := readYear(a, r.PathValue("year"))
	if err != nil {
		return err
	}
	record, err := history.Season(r.Context(), d.db, d.know(), r.PathValue("client"), year)
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "clients", a.words.T("season.title", "client", record.Client.Name, "year", year))
	if err != nil {
		return err
	}
	f.CSS = append(f.CSS, "past.css")
	return page.Write(w, r, http.StatusOK, page.Season(f, d.seasonView(a, record)))
}

func readYear(a asking, text string) (int, error) {
	year, err := strconv.Atoi(text)
	if err != nil || year < 1900 || year > 9999 {
		return 0, store.Errorf(store.NotFound, "%s", a.words.T("season.year.wrong"))
	}
	return year, nil
}

func (d *Desk) seasonView(a asking, record history.Record) page.SeasonView {
	year := strconv.Itoa(record.Year)
	v := page.SeasonView{Client: record.Client.Name, ClientTo: "/desk/clients/" + record.Client.ID, Firm: a.firm.Name}
	if !record.Client.Photos.Shown() {
		v.Consent = consentSays(a.words, record.Client.Photos)
	}
	for _, form := range history.Forms {
		v.Files = append(v.Files, page.Choice{Value: v.ClientTo + "/season." + form.Name + "?year=" + year, Label: a.words.T("season.file." + form.Name)})
	}
	for _, p := range record.Properties {
		part := page.SeasonProperty{Address: p.Property.Address}
		for _, visit := range p.Visits {
			if visit.Visit.State != store.Planned || len(visit.Applied) > 0 {
				part.Visits = append(part.Visits, seasonVisit(a, visit, &v.Notes))
			}
		}
		for _, o := range p.Outcomes {
			part.Outcomes = append(part.Outcomes, d.seasonOutcome(a, o))
		}
		for _, t := range p.Totals {
			total := page.SeasonTotal{Zone: t.Zone.Name}
			for _, s := range t.Sums {
				total.Sums = append(total.Sums, sumSays(a, t, s, &v.Notes))
			}
			part.Totals = append(part.Totals, total)
		}
		d.seasonClosing(a, p, &part, &v.Notes)
		v.Properties = append(v.Properties, part)
	}
	return v
}

// sumSays is a sum with its limit and its working.
func sumSays(a asking, t history.ZoneSum, s history.Sum, notes *page.Notes) page.SeasonSum {
	unit := strings.ReplaceAll(s.Unit, "sq ft", "ft2")
	out := page.SeasonSum{Name: s.Name}
	lines := workingOfActive(a, t.Total, s.Name)
	if nutrient, ok := nutrients[s.Name]; ok && unit == "lb"+per1000 {
		lines = workingOfNutrient(a, t.Total, nutrient)
	}
	out.Value = notes.Of(t.Zone.Name+", "+s.Name, a.rate(s.Value, unit), lines)
	if s.Limit > 0 {
		key := "season.limit"
		if s.Over() {
			key = "season.limit.over"
		}
		out.Limit = a.words.T(key, "limit", a.rate(s.Limit, unit), "whose", s.Whose)
	}
	return out
}

// seasonClosing is what the year left: photos before and after, tests of the sprinklers, and what comes next.
func (d *Desk) seasonClosing(a asking, p history.PropertyRecord, part *page.SeasonProperty, notes *page.Notes) {
	for _, pair := range p.Pairs {
		told := photoPair(a.words, pair, "/desk/photos/")
		told.Photos = slices.DeleteFunc(told.Photos, func(x page.PhotoView) bool { return !d.hasPhoto(context.Background(), path.Base(x.URL)) })
		if len(told.Photos) > 0 {
			part.Pairs = append(part.Pairs, told)
		}
	}
	for _, x := range p.Audits {
		part.Audits = append(part.Audits, page.SeasonAudit{Day: day(x.Day), Zone: x.Zone.Name, Test: x.Label, Value: meanOf(a, notes, x.ReadingRecord, x.Working), Means: x.Means, So: x.Longer()})
	}
	for _, s := range p.Next {
		step := page.SeasonNext{Do: a.prose(s.Do), When: a.prose(s.When()), Who: s.Who, Zones: strings.Join(s.Zones, ", ")}
		if s.Day != "" {
			step.Day = day(s.Day)
		}
		part.Next = append(part.Next, step)
	}
}

// photoPair is a zone's first and last photo, under an address.
func photoPair(w page.Words, pair history.PhotoPair, under string) page.SeasonPair {
	out := page.SeasonPair{Zone: pair.Zone.Name}
	add := func(x history.DatedPhoto, key string) {
		when := shortDay(x.Day)
		out.Photos = append(out.Photos, page.PhotoView{URL: under + x.SHA, Here: true, Caption: w.T(key, "day", when), Alt: w.T("past.photo", "zone", pair.Zone.Name, "day", when)})
	}
	if pair.Alone() {
		add(pair.First, "season.photo.only")
		return out
	}
	add(pair.First, "season.photo.before")
	add(pair.Last, "season.photo.after")
	return out
}

func seasonVisit(a asking, v history.VisitRecord, notes *page.Notes) page.SeasonVisit {
	out := page.SeasonVisit{URL: "/desk/visits/" + v.Visit.ID, Day: day(v.Visit.Day), Crew: v.Crew, State: stateReason(v.Visit.State, a.words)}
	for _, z := range v.Zones {
		out.Zones = append(out.Zones, seasonZone(a, z, notes))
	}
	for _, r := range v.Reviews {
		out.Reviews = append(out.Reviews, a.words.T("review."+r.Kind, "who", r.Name, "when", moment(r.At, a.place), "reason", r.Reason))
	}
	for _, x := range v.Applied {
		out.Applied = append(out.Applied, seasonApplied(a, x, notes))
	}
	for _, x := range v.Asides {
		out.Asides = append(out.Asides, a.words.T("season.aside", "check", x.Label, "typed", x.Typed, "who", x.Name))
	}
	return out
}

// seasonApplied is one record of something put down, zone by zone.
func seasonApplied(a asking, x history.ApplicationRecord, notes *page.Notes) page.SeasonApplied {
	out := page.SeasonApplied{URL: "/desk/applications/" + x.ID, Name: x.Name, When: stamp(cmp.Or(x.Start, x.At)), Who: x.By, Status: a.words.T("status." + x.Status)}
	if len(x.Missing) > 0 && x.Status == history.Current {
		out.Lacks = a.words.T("record.missing", "items", strings.Join(x.Missing, ", "))
	}
	for _, z := range x.Zones {
		line := page.SeasonGot{Amount: z.Zone.Name + ": " + zoneAmount(a, x.Unit, z.AppliedZone)}
		if z.Rate != nil {
			line.Rate = rateOf(a, notes, x.Name+", "+z.Zone.Name, x.Unit, z.Amount, z.AreaSqFt, *z.Rate)
		}
		out.Zones = append(out.Zones, line)
	}
	return out
}

func seasonZone(a asking, z history.ZoneRecord, notes *page.Notes) page.SeasonZone {
	out := page.SeasonZone{Name: z.Zone.Name, Area: area(z.Zone.AreaSqFt, a.firm, a.words)}
	if out.Name == "" {
		out.Name = a.words.T("season.whole")
	}
	switch {
	case z.CantSay != "":
		out.Verdict = a.words.T("why.error")
	case z.Verdict == diagnose.CantTell:
		out.Verdict = a.words.T("why.cant_tell")
	case z.Verdict == diagnose.NothingWrong:
		out.Verdict = a.words.T("why.fine")
	}
	for i, c := range z.Causes {
		_, says := percent(c.Likelihood, a.words)
		line := page.SeasonCause{Label: c.Label, Says: says, Role: seasonRole(c.Role, i == 0, a.words)}
		if c.Judgement != "" {
			line.Judged = a.words.T("judgement." + c.Judgement)
		}
		out.Causes = append(out.Causes, line)
	}
	for _, o := range z.Overrules {
		out.Said = append(out.Said, a.words.T("season.said", "cause", o.Label, "judgement", a.words.T("judgement."+o.Judgement), "reason", o.Reason, "who", o.Name))
	}
	for _, r := range z.Readings {
		if r.SHA == "" {
			out.Rows = append(out.Rows, seasonRow(a, r, notes))
		}
	}
	out.Photos = len(z.Photos())
	return out
}

// seasonRow is one reading: a number with what was typed beside it, a choice in words, a note as it stands.
func seasonRow(a asking, r history.ReadingRecord, notes *page.Notes) page.SeasonRow {
	row := page.SeasonRow{Check: r.Label, Means: page.Worked{Say: r.State}, Who: r.By, When: stamp(r.At), Status: a.words.T("status." + r.Status)}
	switch {
	case r.Blank:
		row.Means.Say = a.words.T("value.blank")
	case r.Number != nil:
		row.Means, row.Typed = meanOf(a, notes, r, nil), r.Typed
	case r.State == "":
		row.Means.Say = r.Typed
	}
	return row
}

// said is a reading's number in the firm's units.
func said(a asking, r history.ReadingRecord) string {
	x, unit := r.Said(a.metric())
	return number(x, 2) + " " + unit
}

// seasonRole says why a cause stands where it does: the first drives others that may be surer than itself.
func seasonRole(role string, first bool, w page.Words) string {
	switch {
	case role == "primary" && first:
		return w.T("role.first")
	case role == "primary":
		return w.T("role.beside")
	case role == "secondary":
		return w.T("role.second")
	}
	return w.T("role.possible")
}
