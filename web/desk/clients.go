package desk

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/web/page"
)

type clientStore interface {
	Clients(ctx context.Context) ([]store.Client, error)
	Client(ctx context.Context, id string) (store.Client, error)
	AddClient(ctx context.Context, c store.Client) error
	Properties(ctx context.Context, client string) ([]store.Property, error)
	AddProperty(ctx context.Context, p store.Property) error
	AddZone(ctx context.Context, z store.Zone) error
	changeStore
	sketchStore
	dayStore
	bookStore
	calendarStore
}

// Clients lists everybody who pays.
func (d *Desk) Clients(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	away := r.URL.Query().Has("archived")
	rows, err := d.clientRows(r.Context(), a, away)
	if err != nil {
		return err
	}
	f, err := d.frame(r, a, "clients", a.words.T("desk.clients"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Clients(f, rows, d.allSeasons(a), away))
}

func (d *Desk) clientRows(ctx context.Context, a asking, away bool) ([]page.ClientRow, error) {
	clients, err := d.db.Clients(ctx)
	if err != nil {
		return nil, err
	}
	properties, err := d.db.Properties(ctx, "")
	if err != nil {
		return nil, err
	}
	last, err := d.newest.Get("", d.db.Changed(store.MarkVisits), func() (map[string]string, error) { return d.db.LastDays(ctx) })
	if err != nil {
		return nil, err
	}
	clients = slices.DeleteFunc(clients, func(c store.Client) bool { return c.Archived.IsZero() == away })
	places, newest := map[string][]string{}, map[string]string{}
	for _, p := range properties {
		if !p.Archived.IsZero() {
			continue
		}
		places[p.Client] = append(places[p.Client], p.Address)
		newest[p.Client] = max(newest[p.Client], last[p.ID])
	}
	rows := make([]page.ClientRow, len(clients))
	for i, c := range clients {
		rows[i] = page.ClientRow{
			URL: "/desk/clients/" + c.ID, Name: c.Name, Contact: contact(c), Properties: strings.Join(places[c.ID], "; "), Last: lastDay(newest[c.ID], a.words),
		}
	}
	slices.SortStableFunc(rows, func(a, b page.ClientRow) int { return cmp.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return rows, nil
}

// lastDays is the newest day of a visit that has begun, by property.
func lastDays(visits []store.Visit) map[string]string {
	last := map[string]string{}
	for _, v := range visits {
		if v.State != store.Planned {
			last[v.Property] = max(last[v.Property], v.Day)
		}
	}
	return last
}

func lastDay(text string, w page.Words) string {
	if text == "" {
		return w.T("client.last.none")
	}
	return day(text)
}

func contact(c store.Client) string {
	return strings.Trim(c.Phone+" · "+c.Email, " ·")
}

// NewClient draws the form for a client with the first property.
func (d *Desk) NewClient(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawNewClient(w, r, a, http.StatusOK, page.Form{})
}

func (d *Desk) drawNewClient(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form) error {
	f, err := d.frame(r, a, "clients", a.words.T("clients.new"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.NewClient(f, form, areaLabel(a)))
}

func areaLabel(a asking) string { return a.words.T("zone.area." + a.firm.Units) }

// AddClient takes in a client, the first property and its zones.
func (d *Desk) AddClient(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	c := store.Client{Name: form.V("name"), Phone: form.V("phone"), Email: form.V("email"), Note: form.V("note"), Photos: readConsent(form)}
	if c.Name == "" {
		form.Say("name", a.words.T("client.name.need"))
	}
	p, zones := readProperty(a, &form)
	if form.Bad() {
		return d.drawNewClient(w, r, a, http.StatusUnprocessableEntity, form)
	}
	c.ID, c.Created = uuid.NewString(), d.now()
	if err := d.db.AddClient(r.Context(), c); err != nil {
		return err
	}
	p.Client = c.ID
	return done(w, r, d.addProperty(r.Context(), p, zones), "/desk/clients/"+c.ID, "client")
}

// readConsent reads what a client said of photos; what is no answer counts as not asked.
func readConsent(form page.Form) store.Consent {
	if c := store.Consent(form.V("photos")); slices.Contains(store.Consents, c) {
		return c
	}
	return store.NotAsked
}

// consentSays is what the client said of photos, "" when nobody asked.
func consentSays(w page.Words, c store.Consent) string {
	if c == store.NotAsked {
		return ""
	}
	return w.T("client.photos.said." + string(c))
}

func (d *Desk) addProperty(ctx context.Context, p store.Property, zones []store.Zone) error {
	p.ID, p.Created = uuid.NewString(), d.now()
	if err := d.db.AddProperty(ctx, p); err != nil {
		return err
	}
	for _, z := range zones {
		z.ID, z.Property, z.Created = uuid.NewString(), p.ID, d.now()
		if err := d.db.AddZone(ctx, z); err != nil {
			return fmt.Errorf("zone %q of a new property: %w", z.Name, err)
		}
	}
	return nil
}

// readProperty reads a property and its zones and notes what is wrong at its input.
func readProperty(a asking, form *page.Form) (store.Property, []store.Zone) {
	p := store.Property{Address: form.V("address"), System: form.V("system"), Cautions: lines(form.V("cautions"))}
	if p.Address == "" {
		form.Say("address", a.words.T("property.address.need"))
	}
	if p.System != "present" && p.System != "none" {
		p.System = ""
	}
	var zones []store.Zone
	for i := range page.ZoneLines {
		n := strconv.Itoa(i)
		z, there := readZone(a, form, "zone."+n, "area."+n)
		if there {
			zones = append(zones, z)
		}
	}
	if len(zones) == 0 {
		form.Say("zone.0", a.words.T("zone.need"))
	}
	return p, zones
}

// readZone reads one zone; there is none when nothing was typed.
func readZone(a asking, form *page.Form, name, size string) (z store.Zone, there bool) {
	z.Name = form.V(name)
	sqft, ok := readArea(form.V(size), a.firm)
	z.AreaSqFt = sqft
	if !ok {
		form.Say(size, a.words.T("zone.area.wrong"))
	}
	if z.Name == "" && form.V(size) != "" {
		form.Say(name, a.words.T("zone.name.need"))
	}
	return z, z.Name != ""
}

func lines(text string) []string {
	var out []string
	for line := range strings.Lines(text) {
		if line = strings.TrimSpace(line); line != "" {
			out = append(out, line)
		}
	}
	return out
}

// Client is one client's page.
func (d *Desk) Client(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawClient(w, r, a, http.StatusOK, page.Form{})
}

func (d *Desk) drawClient(w http.ResponseWriter, r *http.Request, a asking, status int, form page.Form) error {
	c, err := d.db.Client(r.Context(), r.PathValue("client"))
	if err != nil {
		return err
	}
	visits, err := d.db.Visits(r.Context(), store.VisitFilter{Client: c.ID})
	if err != nil {
		return err
	}
	v := page.ClientView{Archived: d.archivedSays(a, c.Archived), ID: c.ID, Contact: contact(c), Note: c.Note, Photos: consentSays(a.words, c.Photos), Form: form, Area: areaLabel(a), Seasons: d.seasons(a, c.ID, visits)}
	if v.Properties, err = d.propertyRows(r.Context(), a, c.ID, visits); err != nil {
		return err
	}
	f, err := d.frame(r, a, "clients", c.Name)
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Client(f, v))
}

func (d *Desk) propertyRows(ctx context.Context, a asking, client string, visits []store.Visit) ([]page.PropertyRow, error) {
	properties, err := d.db.Properties(ctx, client)
	if err != nil {
		return nil, err
	}
	last := lastDays(visits)
	var rows []page.PropertyRow
	slices.SortStableFunc(properties, func(x, y store.Property) int { return cmp.Compare(archivedLast(x), archivedLast(y)) })
	for _, p := range properties {
		zones, err := d.db.Zones(ctx, p.ID)
		if err != nil {
			return nil, err
		}
		var names []string
		for _, z := range zones {
			if z.Archived.IsZero() {
				names = append(names, z.Name)
			}
		}
		row := page.PropertyRow{URL: "/desk/properties/" + p.ID, Address: p.Address, Zones: strings.Join(names, ", "), Last: lastDay(last[p.ID], a.words)}
		if !p.Archived.IsZero() {
			row.Archived = a.words.T("archived.since", "day", moment(p.Archived, a.place))
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// seasons are the years with a visit, newest first, and this year always.
func (d *Desk) seasons(a asking, client string, visits []store.Visit) []page.Choice {
	years := []string{d.now().In(a.place).Format("2006")}
	for _, v := range visits {
		if len(v.Day) >= 4 && v.State != store.Planned {
			years = append(years, v.Day[:4])
		}
	}
	slices.Sort(years)
	years = slices.Compact(years)
	slices.Reverse(years)
	out := make([]page.Choice, len(years))
	for i, y := range years {
		out[i] = page.Choice{Value: "/desk/clients/" + client + "/season/" + y, Label: a.words.T("client.season", "year", y)}
	}
	return out
}

// AddProperty takes in a further property of a client.
func (d *Desk) AddProperty(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	p, zones := readProperty(a, &form)
	if form.Bad() {
		return d.drawClient(w, r, a, http.StatusUnprocessableEntity, form)
	}
	p.Client = r.PathValue("client")
	if _, err := d.db.Client(r.Context(), p.Client); err != nil {
		return err
	}
	return done(w, r, d.addProperty(r.Context(), p, zones), "/desk/clients/"+p.Client, "property")
}
