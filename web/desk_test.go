package web

import (
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"swardbook/diagnose/checks"
	"swardbook/store"
)

// numberIn is the number in brackets of the navigation's first entry.
func numberIn(t *testing.T, doc *html.Node) int {
	t.Helper()
	text := textOf(first(doc, "a", "href=/desk/", "aria-current"))
	_, inside, _ := strings.Cut(text, "(")
	n, err := strconv.Atoi(strings.TrimSuffix(inside, ")"))
	if err != nil {
		t.Fatalf("no number in %q", text)
	}
	return n
}

func TestAnEmptyDeskSaysSoAndHowToBegin(t *testing.T) {
	h := newHouse(t)
	doc := h.as(store.Manager).page("/desk/")
	if first(doc, "div", "class=empty").Data == "" || first(doc, "a", "href=/desk/clients/new").Data == "" {
		t.Error(textOf(doc))
	}
	if n := numberIn(t, doc); n != 0 {
		t.Errorf("%d things wait", n)
	}
	if n := len(every(first(doc, "ol", "class=first-steps"), "li")); n != 4 {
		t.Errorf("%d first steps", n)
	}
}

// TestTheFirstStepsGoOneByOne: each is marked when it was taken, and all are gone once a phone has sent something.
func TestTheFirstStepsGoOneByOne(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Owner)
	taken := func() (done int) {
		return len(every(first(b.page("/desk/"), "ol", "class=first-steps"), "span", "class=done"))
	}
	before := taken()
	l := h.lawn("Alder", "Back lawn")
	if n := taken(); n != before+2 {
		t.Errorf("%d steps taken after a client and a visit, %d before", n, before)
	}
	c, one, _ := h.choice()
	h.phone(store.Crew, "phone-1").reading(l.visit, l.zones[0], c.ID, one, "2026-08-27T10:31:00-04:00")
	if doc := b.page("/desk/"); first(doc, "ol", "class=first-steps").Data != "" {
		t.Error("the first steps stay when a phone was heard of")
	}
}

// TestAVisitIsPlannedFromADaySheet finds the property by its client, by its address and among all, and comes back to the day.
func TestAVisitIsPlannedFromADaySheet(t *testing.T) {
	h := newHouse(t)
	l, gone := h.lawn("Alder", "Back lawn"), h.lawn("Birch", "Lawn")
	if err := h.db.ArchiveProperty(t.Context(), gone.property.ID, false); err != nil {
		t.Fatal(err)
	}
	b := h.as(store.Manager)
	if form := first(b.page("/desk/days?day=2026-08-29"), "form", "action=/desk/find"); value(first(form, "input", "name=day"), "value") != "2026-08-29" {
		t.Fatal("the day sheet does not lead to planning")
	}
	page := "/desk/properties/" + l.property.ID
	for _, typed := range []string{"", "alder", l.property.Address} {
		doc := b.page("/desk/find?day=2026-08-29&q=" + url.QueryEscape(typed))
		if rows := every(doc, "tr", "data-row"); len(rows) != 1 || value(first(rows[0], "a"), "href") != page+"?day=2026-08-29#h-plan" {
			t.Errorf("%q finds %s", typed, textOf(doc))
		}
	}
	doc := b.page(page + "?day=2026-08-29")
	if got := value(first(doc, "input", "name=day"), "value"); got != "2026-08-29" {
		t.Errorf("the day proposed is %q", got)
	}
	form := url.Values{"back": {"2026-08-29"}, "day": {"soon"}, "crew": {"id-crew"}, "why": {"routine"}, "ask": {""}}
	doc = parsed(t, want(t, b.post(page+"/visits", form), 422))
	if value(first(doc, "input", "name=back"), "value") != "2026-08-29" {
		t.Error("after a wrong day the way back is lost")
	}
	form.Set("day", "2026-08-30")
	doc = b.follow(page+"/visits", form)
	if textOf(first(doc, "h1")) != "Day sheets of Sunday 30 August 2026" || !strings.Contains(textOf(first(doc, "section", "data-crew=id-crew")), l.property.Address) {
		t.Errorf("planned, and then: %s", textOf(doc))
	}
	if doc := b.page("/desk/find?day=tomorrow&q=alder"); len(every(doc, "input", "name=day")) != 0 {
		t.Error("a day that is none is taken along")
	}
}

// twoPhones makes readings of one zone that disagree without knowing of each other.
func (h *house) twoPhones(l lawn) (c checks.Check, earlier, later string) {
	h.t.Helper()
	c, one, two := h.choice()
	mine, other := h.phone(store.Crew, "phone-1"), h.phone(store.Manager, "phone-2")
	earlier = mine.reading(l.visit, l.zones[0], c.ID, one, "2026-08-27T10:31:00-04:00")
	later = other.reading(l.visit, l.zones[0], c.ID, two, "2026-08-27T10:48:00-04:00")
	mine.handIn(l.visit, "2026-08-27T11:20:00-04:00")
	return c, earlier, later
}

func TestTheWorstVisitComesFirstAndNumbersAgree(t *testing.T) {
	h := newHouse(t)
	calm, bad := h.lawn("Calm", "Lawn"), h.lawn("Bad", "Lawn")
	p := h.phone(store.Crew, "phone-0")
	c, one, _ := h.choice()
	p.reading(calm.visit, calm.zones[0], c.ID, one, "2026-08-27T08:30:00-04:00")
	p.handIn(calm.visit, "2026-08-27T09:00:00-04:00")
	h.now = h.now.Add(time.Minute)
	h.twoPhones(bad)
	m, _ := h.measured()
	p.reading(calm.visit, calm.zones[0], m.ID, "about two", "2026-08-27T09:30:00-04:00")

	doc := h.as(store.Manager).page("/desk/")
	lists := every(doc, "tbody")
	if len(lists) < 2 {
		t.Fatalf("%d lists: %s", len(lists), textOf(doc))
	}
	rows := every(lists[1], "tr")
	if len(rows) != 2 || !strings.Contains(textOf(rows[0]), bad.property.Address) {
		t.Errorf("the visit with readings that disagree is not first: %s", textOf(lists[1]))
	}
	if tag := textOf(first(rows[0], "span", "class=stop")); !strings.Contains(tag, c.Label.EN) {
		t.Errorf("the reason is %q", tag)
	}
	if n, listed := numberIn(t, doc), len(rows)+len(every(lists[0], "tr")); n != listed || n != 3 {
		t.Errorf("%d are counted, %d are listed", n, listed)
	}
	if text := textOf(lists[0]); !strings.Contains(text, "about two") || !strings.Contains(text, m.Label.EN) {
		t.Errorf("what was set aside is %q", text)
	}
}

func TestAVisitShowsWhatWasSeenWhyAndWhatToDo(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn", "Front lawn")
	c, _, _ := h.twoPhones(l)
	p := h.phone(store.Crew, "phone-3")
	m, typed := h.measured()
	p.reading(l.visit, l.zones[0], m.ID, typed, "2026-08-27T10:50:00-04:00")
	if err := h.intake.Wait(t.Context()); err != nil {
		t.Fatal(err)
	}
	doc := h.as(store.Manager).page("/desk/visits/" + l.visit.ID)
	text := textOf(doc)
	for _, wanted := range []string{l.property.Address, l.client.Name, "Brown since the heat", "Dog until noon", "Back lawn", "Front lawn", c.Label.EN, m.Label.EN, m.Units[0].Label.EN, "10:50"} {
		if !strings.Contains(text, wanted) {
			t.Errorf("no %q on the page", wanted)
		}
	}
	if n := len(every(first(doc, "div", "class=three"), "section")); n != 3 {
		t.Errorf("%d columns", n)
	}
	if n := len(every(doc, "article", "class=because")); n == 0 {
		t.Errorf("no cause: %s", text)
	}
	for _, bar := range every(doc, "rect", "class=level") {
		if n, err := strconv.Atoi(value(bar, "width")); err != nil || n%5 != 0 || n < 0 || n > 100 {
			t.Errorf("a likelihood of %q", value(bar, "width"))
		}
	}
	if open := textOf(first(doc, "a", "aria-current=true")); !strings.Contains(open, "Back lawn") {
		t.Errorf("the zone that wants a person is not open: %q", open)
	}
	other := h.as(store.Manager).page("/desk/visits/" + l.visit.ID + "?zone=" + l.zones[1].ID)
	if open := textOf(first(other, "a", "aria-current=true")); !strings.Contains(open, "Front lawn") {
		t.Errorf("the zone asked for is not open: %q", open)
	}
}

func TestChoosingBetweenReadingsThatDisagree(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	c, earlier, later := h.twoPhones(l)
	b := h.as(store.Manager)
	path := "/desk/visits/" + l.visit.ID
	doc := b.page(path)
	buttons := every(first(doc, "form", "class=dispute"), "button", "name=reading")
	if len(buttons) != 2 || value(buttons[0], "value") != earlier || value(buttons[1], "value") != later {
		t.Fatalf("%d readings to choose from: %s", len(buttons), textOf(doc))
	}
	doc = b.follow(path+"/choose", url.Values{"zone": {l.zones[0].ID}, "reading": {earlier}})
	if len(every(doc, "form", "class=dispute")) != 0 {
		t.Error("they still disagree")
	}
	if got := textOf(first(doc, "table", "class=seen")); !strings.Contains(got, c.Options[1].Label.EN) || strings.Contains(got, c.Options[2].Label.EN) {
		t.Errorf("what counts is %q", got)
	}
	want(t, b.post(path+"/choose", url.Values{"reading": {earlier}}), 404)
}

func TestOverruling(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	h.twoPhones(l)
	b := h.as(store.Manager)
	path := "/desk/visits/" + l.visit.ID
	cause := strings.TrimPrefix(value(first(b.page(path), "article", "class=because"), "id"), "c-")

	form := url.Values{"zone": {l.zones[0].ID}, "cause": {cause}, "judgement": {"ruled out"}, "reason": {"  "}}
	doc := parsed(t, want(t, b.post(path+"/overrule", form), 422))
	if textOf(first(doc, "span", "id=reason-"+cause+"-wrong")) == "" {
		t.Error("nothing is said at the reason")
	}
	if _, kept := attr(first(first(doc, "article", "id=c-"+cause), "input", "value=ruled out"), "checked"); !kept {
		t.Error("the judgement is lost")
	}
	if _, open := attr(first(first(doc, "article", "id=c-"+cause), "details", "class=differ"), "open"); !open {
		t.Error("the form is folded away")
	}
	form.Set("judgement", "")
	form.Set("reason", "Dug a second square.")
	doc = parsed(t, want(t, b.post(path+"/overrule", form), 422))
	if got := textOf(first(doc, "textarea", "id=reason-"+cause)); got != "Dug a second square." {
		t.Errorf("the sentence is lost: %q", got)
	}
	form.Set("judgement", "ruled out")
	doc = b.follow(path+"/overrule", form)
	said := textOf(first(first(doc, "article", "id=c-"+cause), "div", "class=said"))
	if !strings.Contains(said, "Dug a second square.") || !strings.Contains(said, "%") || !strings.Contains(said, "manager") {
		t.Errorf("what was said is %q", said)
	}
	if first(first(doc, "article", "id=c-"+cause), "rect", "class=level").Data == "" {
		t.Error("the engine's number is gone")
	}
	form.Set("cause", "no-such-cause")
	want(t, b.post(path+"/overrule", form), 404)
}

func TestSigningOffAndSendingBack(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	b := h.as(store.Manager)
	path := "/desk/visits/" + l.visit.ID
	want(t, b.post(path+"/sign-off", nil), 409)
	h.twoPhones(l)

	doc := parsed(t, want(t, b.post(path+"/send-back", url.Values{"reason": {" "}}), 422))
	if textOf(first(doc, "span", "id=back-reason-wrong")) == "" {
		t.Error("nothing is said at the reason")
	}
	doc = b.follow(path+"/send-back", url.Values{"reason": {"Count the grubs again."}})
	if numberIn(t, doc) != 0 || !strings.Contains(textOf(doc), l.property.Address) {
		t.Errorf("sent back, but: %s", textOf(doc))
	}
	if text := textOf(b.page(path)); !strings.Contains(text, "Count the grubs again.") {
		t.Error("the sentence is not on the visit")
	}
	want(t, b.post(path+"/sign-off", nil), 409)

	h.now = h.now.Add(time.Hour)
	p := h.phone(store.Crew, "phone-4")
	p.handIn(l.visit, "2026-08-28T10:30:00-04:00")
	doc = b.follow(path+"/sign-off", nil)
	if numberIn(t, doc) != 0 || first(doc, "p", "role=status").Data == "" {
		t.Errorf("signed off, but: %s", textOf(doc))
	}
	if v, err := h.db.Visit(t.Context(), l.visit.ID); err != nil || v.State != store.SignedOff {
		t.Errorf("%v, %v", v.State, err)
	}
	want(t, b.post(path+"/send-back", url.Values{"reason": {"Once more."}}), 409)
}

func TestSettlingWhatWasSetAside(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	m, typed := h.measured()
	p := h.phone(store.Crew, "phone-1")
	bad := p.reading(l.visit, l.zones[0], m.ID, "about two", "2026-08-27T09:30:00-04:00")
	future := p.reading(l.visit, l.zones[0], m.ID, typed, "2026-09-09T09:30:00-04:00")
	b := h.as(store.Manager)
	doc := b.page("/desk/aside")
	if n := len(every(first(doc, "article", "id=a-"+bad), "button")); n != 1 {
		t.Errorf("what can't be read has %d ways to settle it", n)
	}
	if n := len(every(first(doc, "article", "id=a-"+future), "button")); n != 2 {
		t.Errorf("what can be read has %d ways to settle it: %s", n, textOf(doc))
	}
	doc = parsed(t, want(t, b.post("/desk/aside/"+future, url.Values{"how": {"taken"}}), 422))
	if textOf(first(doc, "span", "id=why-"+future+"-wrong")) == "" {
		t.Error("nothing is said at the reason")
	}
	want(t, b.post("/desk/aside/"+bad, url.Values{"how": {"taken"}, "why": {"It is fine."}}), 422)
	b.follow("/desk/aside/"+bad, url.Values{"how": {"left"}, "why": {"It says nothing."}})
	doc = b.follow("/desk/aside/"+future, url.Values{"how": {"taken"}, "why": {"The phone's clock was off."}})
	if len(every(doc, "article")) != 0 {
		t.Errorf("still listed: %s", textOf(doc))
	}
	if text := textOf(first(b.page("/desk/visits/"+l.visit.ID), "table", "class=seen")); !strings.Contains(text, m.Label.EN) {
		t.Errorf("taken in, but not seen: %q", text)
	}
	want(t, b.post("/desk/aside/"+future, url.Values{"how": {"left"}, "why": {"Once more."}}), 404)
}

func TestANewClientWithPropertyAndZones(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	form := url.Values{
		"name": {"Household at Fen Lane"}, "phone": {"555 0102"}, "address": {""}, "system": {"none"}, "cautions": {"Gate sticks\n\n Slope "},
		"zone.0": {"Front"}, "area.0": {"1,800"}, "zone.2": {"Back"}, "area.2": {"2150"}, "area.3": {"40"},
	}
	doc := parsed(t, want(t, b.post("/desk/clients/new", form), 422))
	for _, at := range []string{"address", "area-0", "zone-3"} {
		if textOf(first(doc, "span", "id=in-"+at+"-wrong")) == "" {
			t.Errorf("nothing is said at %s", at)
		}
	}
	for name, typed := range map[string]string{"name": "Household at Fen Lane", "area.0": "1,800", "zone.2": "Back"} {
		if got := value(first(doc, "input", "name="+name), "value"); got != typed {
			t.Errorf("%s is %q", name, got)
		}
	}
	form.Set("address", "3 Fen Lane")
	form.Set("area.0", "1800")
	form.Del("area.3")
	doc = b.follow("/desk/clients/new", form)
	if text := textOf(doc); !strings.Contains(text, "3 Fen Lane") || !strings.Contains(text, "Front, Back") {
		t.Errorf("the client's page: %s", text)
	}
	properties, err := h.db.Properties(t.Context(), "")
	if err != nil || len(properties) != 1 || strings.Join(properties[0].Cautions, "|") != "Gate sticks|Slope" || properties[0].System != "none" {
		t.Errorf("%+v, %v", properties, err)
	}
	if text := textOf(b.page("/desk/clients")); !strings.Contains(text, "Household at Fen Lane") || !strings.Contains(text, "555 0102") {
		t.Error(text)
	}
}

func TestPlanningAVisitAndAddingAZone(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	b := h.as(store.Manager)
	path := "/desk/properties/" + l.property.ID
	for _, c := range []struct{ at, day, crew, why string }{
		{"day", "tomorrow", "id-crew", "routine"}, {"crew", "2026-08-30", "nobody", "routine"}, {"why", "2026-08-30", "id-crew", "curious"},
	} {
		form := url.Values{"day": {c.day}, "crew": {c.crew}, "why": {c.why}, "ask": {"It is brown."}}
		doc := parsed(t, want(t, b.post(path+"/visits", form), 422))
		if textOf(first(doc, "span", "id=in-"+c.at+"-wrong")) == "" {
			t.Errorf("nothing is said at %s", c.at)
		}
		if got := textOf(first(doc, "textarea", "name=ask")); got != "It is brown." {
			t.Errorf("what the client said is lost: %q", got)
		}
	}
	for range 2 {
		b.follow(path+"/visits", url.Values{"day": {"2026-08-30"}, "crew": {"id-crew"}, "why": {"routine"}, "ask": {""}})
	}
	sheet, err := h.db.Visits(t.Context(), store.VisitFilter{Crew: "id-crew", FromDay: "2026-08-30", ToDay: "2026-08-30"})
	if err != nil || len(sheet) != 2 || sheet[0].Order != 1 || sheet[1].Order != 2 {
		t.Errorf("%+v, %v", sheet, err)
	}
	want(t, b.post(path+"/zones", url.Values{"name": {""}, "area": {""}}), 422)
	want(t, b.post(path+"/zones", url.Values{"name": {"Strip"}, "area": {"-3"}}), 422)
	if text := textOf(b.follow(path+"/zones", url.Values{"name": {"Strip"}, "area": {"120"}})); !strings.Contains(text, "Strip") || !strings.Contains(text, "120 sq ft") {
		t.Error(text)
	}
}

func TestAPropertyOverTime(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	before := h.visit(l, "v-before", "2026-05-12")
	p := h.phone(store.Crew, "phone-1")
	m, typed := h.measured()
	p.reading(before, l.zones[0], m.ID, typed, "2026-05-12T10:30:00-04:00")
	p.handIn(before, "2026-05-12T11:30:00-04:00")
	p.reading(l.visit, l.zones[0], m.ID, strconv.FormatFloat(m.Hard.Low, 'f', -1, 64), "2026-08-27T10:30:00-04:00")
	p.handIn(l.visit, "2026-08-27T11:30:00-04:00")
	b := h.as(store.Manager)
	doc := b.page("/desk/properties/" + l.property.ID)
	heads := every(first(first(doc, "table", "class=history"), "thead"), "a")
	if len(heads) != 2 || textOf(heads[0]) != "12 May 2026" || textOf(heads[1]) != "27 Aug 2026" {
		t.Errorf("visits across: %s", textOf(doc))
	}
	line := first(first(doc, "svg", "class=scene"), "polyline", "class=value")
	if n := len(strings.Fields(value(line, "points"))); n != 2 {
		t.Errorf("a line of %d points", n)
	}
	if text := textOf(first(doc, "section", "class=past")); !strings.Contains(text, m.Label.EN+": "+typed) && !strings.Contains(text, m.Label.EN+" fell from "+typed) {
		t.Errorf("nothing is said of the change: %s", text)
	}
	if other := b.page("/desk/properties/" + l.property.ID + "?show=none"); len(every(first(other, "svg", "class=scene"), "polyline", "class=value")) > 0 {
		t.Error("a check is drawn that was not chosen")
	}
	doc = b.page("/desk/visits/" + l.visit.ID)
	if cells := every(first(doc, "table", "class=seen"), "td"); len(cells) != 2 || !strings.Contains(textOf(cells[1]), typed) {
		t.Errorf("the visit before is not beside it: %s", textOf(first(doc, "table", "class=seen")))
	}
}

func TestTheSeasonRecordAsPageAndAsSheet(t *testing.T) {
	h := newHouse(t)
	l := h.lawn("Alder", "Back lawn")
	c, _, _ := h.twoPhones(l)
	b := h.as(store.Owner)
	text := textOf(b.page("/desk/clients/" + l.client.ID + "/season/2026"))
	for _, wanted := range []string{l.client.Name, l.property.Address, "Back lawn", c.Label.EN, c.Options[2].Label.EN} {
		if !strings.Contains(text, wanted) {
			t.Errorf("no %q in %s", wanted, text)
		}
	}
	answer := want(t, b.get("/desk/clients/"+l.client.ID+"/season.csv?year=2026"), 200)
	raw, _ := io.ReadAll(answer.Body)
	if !strings.HasPrefix(answer.Header.Get("Content-Type"), "text/csv") || !strings.HasPrefix(string(raw), "\uFEFF") || !strings.Contains(string(raw), l.property.Address) {
		t.Errorf("%s: %.200s", answer.Header.Get("Content-Type"), raw)
	}
	if !strings.Contains(answer.Header.Get("Content-Disposition"), "season-2026.csv") {
		t.Error(answer.Header.Get("Content-Disposition"))
	}
	want(t, b.get("/desk/clients/"+l.client.ID+"/season/twenty"), 404)
	want(t, b.get("/desk/clients/none/season/2026"), 404)
}

func TestACauseTellsJudgementFromPublished(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	kinds := map[string]bool{}
	for _, c := range h.know.Bundle.Causes {
		doc := b.page("/desk/causes/" + c.ID)
		if textOf(first(doc, "h1")) != c.Label.EN {
			t.Errorf("%s: %s", c.ID, textOf(first(doc, "h1")))
		}
		rows := 0
		for _, f := range h.know.Bundle.Findings {
			for _, row := range f.Rows {
				if row.Cause == c.ID {
					rows++
				}
			}
		}
		if got := len(every(first(doc, "table", "class=links"), "tr")); got != rows+min(rows, 1) {
			t.Errorf("%s: %d links drawn with their head, %d known", c.ID, got, rows)
		}
		steps := 0
		for _, x := range h.know.Bundle.Actions {
			if x.Cause == c.ID {
				steps++
			}
		}
		if got := len(every(first(doc, "table", "class=steps-table"), "tr")); got != steps+min(steps, 1) {
			t.Errorf("%s: %d steps drawn with their head, %d known", c.ID, got, steps)
		}
		for _, tag := range every(doc, "span", "class=tag") {
			kinds[textOf(tag)] = true
		}
	}
	if !kinds["judgement"] || !kinds["published"] {
		t.Errorf("kinds of sources: %v", kinds)
	}
	want(t, b.get("/desk/causes/none"), http.StatusNotFound)
}

// The list of causes has them all, those met most at this time of the year first, and leads to each page; there what
// drives it is a link back.
func TestCausesAreListedByTheSeason(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Manager)
	doc := b.page("/desk/causes")
	var urls []string
	for _, a := range every(first(doc, "table", "class=causes"), "a") {
		urls = append(urls, value(a, "href"))
	}
	if len(urls) != len(h.know.Bundle.Causes) {
		t.Fatalf("%d causes listed of %d", len(urls), len(h.know.Bundle.Causes))
	}
	last := 1.0
	for _, url := range urls {
		c, ok := h.know.Cause(strings.TrimPrefix(url, "/desk/causes/"))
		if !ok || c.Rates["summer"] > last {
			t.Errorf("%s is not where it belongs in August", url)
		}
		last = c.Rates["summer"]
	}
	drive := h.know.Bundle.Drives[0]
	child := b.page("/desk/causes/" + drive.Child)
	if first(child, "a", "href=/desk/causes/"+drive.Parent).Data == "" {
		t.Errorf("%s does not lead to %s", drive.Child, drive.Parent)
	}
	for _, a := range h.know.Bundle.Adjust {
		if a.Cause == "*" || a.When["region"] == "" {
			continue
		}
		if text := textOf(b.page("/desk/causes/" + a.Cause)); !strings.Contains(text, "times "+strconv.FormatFloat(a.Factor, 'f', -1, 64)) {
			t.Errorf("%s: the region is not said", a.Cause)
		}
		break
	}
}

func TestPeople(t *testing.T) {
	h := newHouse(t)
	b := h.as(store.Owner)
	form := url.Values{"name": {"Perrin"}, "role": {"crew"}, "lang": {"es"}, "passcode": {"four short new words"}, "again": {"four short new words"}}
	if text := textOf(b.follow("/desk/people", form)); !strings.Contains(text, "Perrin") {
		t.Error(text)
	}
	p, err := h.db.PersonByName(t.Context(), "perrin")
	if err != nil || p.Role != store.Crew || p.Lang != "es" || !p.Active {
		t.Fatalf("%+v, %v", p, err)
	}
	doc := parsed(t, want(t, b.post("/desk/people", form), 422))
	if textOf(first(doc, "span", "id=in-name-wrong")) == "" {
		t.Error("a name twice, and nothing is said")
	}
	for input, typed := range map[string]string{"name": "", "role": "king", "passcode": "short", "again": "other"} {
		bad := url.Values{"name": {"Wystan"}, "role": {"crew"}, "passcode": {passcode}, "again": {passcode}}
		bad.Set(input, typed)
		if doc := parsed(t, want(t, b.post("/desk/people", bad), 422)); len(every(doc, "span", "class=wrong")) != 1 {
			t.Errorf("%s %q: %d sentences", input, typed, len(every(doc, "span", "class=wrong")))
		}
	}
	signed := h.as(store.Crew)
	want(t, signed.get("/api/v1/me"), 200)
	path := "/desk/people/" + h.people[store.Crew].ID + "/passcode"
	doc = parsed(t, want(t, b.post(path, url.Values{"passcode": {"short"}, "again": {"short"}}), 422))
	if _, open := attr(first(first(doc, "tr", "id=p-"+h.people[store.Crew].ID), "details"), "open"); !open {
		t.Error("the form is folded away")
	}
	b.follow(path, url.Values{"passcode": {"brand new words"}, "again": {"brand new words"}})
	want(t, signed.get("/api/v1/me"), 401)
	want(t, h.as("").post("/sign-in", credentials("crew", "brand new words")), 303)
	want(t, b.post("/desk/people/none/passcode", url.Values{"passcode": {passcode}, "again": {passcode}}), 404)
}
