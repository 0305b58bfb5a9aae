package desk

import (
	"cmp"
	"context"
	"net/http"
	"slices"

	"swardbook/store"
	"swardbook/web/page"
)

type needsStore interface {
	Visits(ctx context.Context, f store.VisitFilter) ([]store.Visit, error)
	Clients(ctx context.Context) ([]store.Client, error)
	Properties(ctx context.Context, client string) ([]store.Property, error)
	People(ctx context.Context, active bool) ([]store.Person, error)
	Writes() int64
	Changed(marks ...store.Mark) int64
}

// waiting counts what waits for a person: the rows of the first page's lists, but for those that are with the crew.
func (d *Desk) waiting(ctx context.Context, a asking) (int, error) {
	asides, err := d.openAsides(ctx)
	if err != nil {
		return 0, err
	}
	visits, err := d.db.Visits(ctx, store.VisitFilter{States: []store.VisitState{store.HandedIn}})
	if err != nil {
		return 0, err
	}
	wanting, err := d.wantingOnes(ctx)
	if err != nil {
		return 0, err
	}
	silent, err := d.silent(ctx)
	if err != nil {
		return 0, err
	}
	l, err := d.late(ctx, a)
	return len(asides) + len(visits) + len(wanting) + len(silent) + len(l.overdue) + len(l.near), err
}

// wantingOnes are the records that wait for what is missing in them.
func (d *Desk) wantingOnes(ctx context.Context) ([]store.Application, error) {
	list, err := d.wanting.Get("", d.db.Changed(store.MarkApplications), func() ([]store.Application, error) {
		return d.db.Applications(ctx, store.ApplicationFilter{Wanting: true})
	})
	return slices.Clone(list), err
}

// Needs is the first page: what needs a person, worst first.
func (d *Desk) Needs(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	v, err := d.firstly.of(d.state(a), func() (page.NeedsView, error) { return d.needs(r.Context(), a) })
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "needs", a.words.T("needs.title"))
	if err != nil {
		return err
	}
	f.Needs = len(v.Asides) + len(v.Waiting) + len(v.Wanting) + len(v.Silent) + len(v.Overdue) + len(v.Near)
	return page.Write(w, r, http.StatusOK, page.Needs(f, v))
}

func (d *Desk) needs(ctx context.Context, a asking) (page.NeedsView, error) {
	var v page.NeedsView
	names, err := d.names(ctx)
	if err != nil {
		return v, err
	}
	if v.Asides, err = d.asideRows(ctx, a, names); err != nil {
		return v, err
	}
	if v.Wanting, err = d.wantingRows(ctx, a, names); err != nil {
		return v, err
	}
	if v.Silent, err = d.silentRows(ctx, a, names); err != nil {
		return v, err
	}
	l, err := d.late(ctx, a)
	if err != nil {
		return v, err
	}
	v.Overdue, v.Near = l.overdue, l.near
	visits, err := d.db.Visits(ctx, store.VisitFilter{States: []store.VisitState{store.HandedIn, store.SentBack, store.Planned, store.UnderWay}, AtWork: true})
	if err != nil {
		return v, err
	}
	judged, err := d.judge(ctx, visits)
	if err != nil {
		return v, err
	}
	for _, j := range judged {
		row := j.row(a, names, d)
		switch j.visit.State {
		case store.HandedIn:
			v.Waiting = append(v.Waiting, row)
		case store.SentBack:
			v.Back = append(v.Back, row)
		default:
			v.Ahead = append(v.Ahead, row)
		}
	}
	v.First, err = d.firstSteps(ctx, a, names, len(visits) > 0)
	return v, err
}

// firstSteps lead an empty firm to a phone in the yard; none once a phone has sent anything.
func (d *Desk) firstSteps(ctx context.Context, a asking, names names, planned bool) ([]page.FirstStep, error) {
	devices, err := d.db.Devices(ctx)
	if err != nil || len(devices) > 0 {
		return nil, err
	}
	people := map[bool]string{true: "/desk/people"}[a.who.Role.May(store.Owner)]
	var out []page.FirstStep
	step := func(name, url string, done bool) {
		out = append(out, page.FirstStep{URL: url, Title: a.words.T("first." + name), Say: a.words.T("first." + name + ".say"), Done: done})
	}
	step("people", people, len(names.people) > 1)
	step("client", "/desk/clients/new", len(names.clients) > 0)
	step("visit", "/desk/days", planned)
	step("phone", people, false)
	return out, nil
}

// judged is a visit with what its zones look like.
type judged struct {
	visit store.Visit
	zones []zoneState
}

// judge looks into every visit and puts the worst first: readings that disagree, then no response where it was due, then nothing to go by, then a leading
// cause that changed, then whatever waits longest.
func (d *Desk) judge(ctx context.Context, visits []store.Visit) ([]judged, error) {
	out := make([]judged, 0, len(visits))
	for _, v := range visits {
		j := judged{visit: v}
		if v.State != store.Planned {
			var err error
			if j.zones, err = d.zoneStates(ctx, v); err != nil {
				return nil, err
			}
		}
		out = append(out, j)
	}
	slices.SortStableFunc(out, func(a, b judged) int {
		return cmp.Or(cmp.Compare(a.rank(), b.rank()), a.visit.HandedIn.Compare(b.visit.HandedIn), cmp.Compare(a.visit.Day, b.visit.Day), cmp.Compare(a.visit.Order, b.visit.Order))
	})
	return out, nil
}

func (j judged) rank() int {
	worst := rankFine
	if j.visit.State != store.HandedIn {
		return worst
	}
	for _, z := range j.zones {
		worst = min(worst, z.rank())
	}
	return worst
}

func (j judged) row(a asking, names names, d *Desk) page.VisitRow {
	row := page.VisitRow{
		URL: "/desk/visits/" + j.visit.ID, Address: names.address(j.visit.Property), Client: names.clientOf(j.visit.Property),
		Day: day(j.visit.Day), Who: names.person(j.visit.Crew, a.words),
	}
	if j.visit.State != store.HandedIn {
		row.Reasons = append(row.Reasons, stateReason(j.visit.State, a.words))
	}
	for _, z := range j.zones {
		row.Reasons = append(row.Reasons, z.reasons(a.words, d.know())...)
		row.Zones = append(row.Zones, z.line(a.words, d.know()))
	}
	if len(row.Reasons) == 0 {
		row.Reasons = []page.Reason{{Say: a.words.T("reason.look")}}
	}
	return row
}

// stateReason is a visit's state as a tag.
func stateReason(s store.VisitState, w page.Words) page.Reason {
	kind := map[store.VisitState]string{store.HandedIn: "ask", store.SentBack: "stop", store.SignedOff: "done"}[s]
	return page.Reason{Kind: kind, Say: w.T("state." + string(s))}
}

// names are the words for ids that the lists of one page share.
type names struct {
	clients    map[string]store.Client
	properties map[string]store.Property
	people     map[string]store.Person
}

// names are read anew when the office changed anything; whoever gets them only looks.
func (d *Desk) names(ctx context.Context) (names, error) {
	return d.naming.Get("", d.db.Changed(), func() (names, error) { return d.allNames(ctx) })
}

func (d *Desk) allNames(ctx context.Context) (names, error) {
	n := names{map[string]store.Client{}, map[string]store.Property{}, map[string]store.Person{}}
	clients, err := d.db.Clients(ctx)
	if err != nil {
		return n, err
	}
	for _, c := range clients {
		n.clients[c.ID] = c
	}
	properties, err := d.db.Properties(ctx, "")
	if err != nil {
		return n, err
	}
	for _, p := range properties {
		n.properties[p.ID] = p
	}
	people, err := d.db.People(ctx, false)
	for _, p := range people {
		n.people[p.ID] = p
	}
	return n, err
}

func (n names) address(property string) string  { return n.properties[property].Address }
func (n names) clientOf(property string) string { return n.clients[n.properties[property].Client].Name }

func (n names) person(id string, w page.Words) string {
	switch p, ok := n.people[id]; {
	case id == "":
		return w.T("person.nobody")
	case ok:
		return p.Name
	}
	return w.T("person.unknown")
}
