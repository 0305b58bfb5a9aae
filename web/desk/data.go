package desk

import (
	"archive/zip"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

type eraseStore interface {
	Erasure(ctx context.Context, client string, words, pictures []string) (store.Erasure, error)
	Erase(ctx context.Context, client string, words, pictures []string) (store.Erasure, error)
}

// kinds are the checks whose answers are free text, and those whose answers are photos.
func (d *Desk) kinds() (words, pictures []string) { return d.know().Free() }

// ClientData says what is kept of a client, what erasing would take and what would stay, and why.
func (d *Desk) ClientData(w http.ResponseWriter, r *http.Request) error {
	return d.drawData(w, r, http.StatusOK, page.Form{})
}

func (d *Desk) drawData(w http.ResponseWriter, r *http.Request, status int, form page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	words, pictures := d.kinds()
	e, err := d.db.Erasure(r.Context(), r.PathValue("client"), words, pictures)
	if err != nil {
		return err
	}
	v := page.DataView{Client: e.Client.Name, To: "/desk/clients/" + e.Client.ID, Properties: e.Properties, Visits: e.Visits, Notes: e.Notes,
		Photos: len(e.Photos), Links: e.Links, Records: e.Records, Form: form}
	if e.Held != "" {
		v.Held = day(e.Held)
	}
	if !e.Done.IsZero() {
		v.Done = moment(e.Done, a.place)
	}
	for _, o := range e.Open {
		v.Open = append(v.Open, page.Choice{Value: "/desk/visits/" + o.ID, Label: day(o.Day) + ", " + a.words.T("state."+string(o.State))})
	}
	f, err := d.frame(r, a, "clients", a.words.T("data.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.ClientData(f, v))
}

// EraseClient erases a client's data when the name was typed as it stands.
func (d *Desk) EraseClient(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	client, err := d.db.Client(r.Context(), r.PathValue("client"))
	if err != nil {
		return err
	}
	if !strings.EqualFold(form.V("name"), client.Name) {
		form.Say("name", a.words.T("data.name.wrong"))
		return d.drawData(w, r, http.StatusUnprocessableEntity, form)
	}
	words, pictures := d.kinds()
	if _, err := d.db.Erase(r.Context(), client.ID, words, pictures); err != nil {
		return err
	}
	return done(w, r, d.photos.Erase(r.Context()), "/desk/clients/"+client.ID+"/data", "erased")
}

// ClientZip is everything kept of a client, to be given to them: JSON, CSV, photos, and which links were opened when.
func (d *Desk) ClientZip(w http.ResponseWriter, r *http.Request) error {
	client, err := d.db.Client(r.Context(), r.PathValue("client"))
	if err != nil {
		return err
	}
	visits, err := d.db.Visits(r.Context(), store.VisitFilter{Client: client.ID})
	if err != nil {
		return err
	}
	words, pictures := d.kinds()
	e, err := d.db.Erasure(r.Context(), client.ID, words, pictures)
	if err != nil {
		return err
	}
	attach(w, "application/zip", "client.zip")
	z := zip.NewWriter(w)
	if err := d.clientFiles(r.Context(), z, client); err != nil {
		return err
	}
	var years []int
	for _, v := range visits {
		if year, err := strconv.Atoi(v.Day[:min(4, len(v.Day))]); err == nil && !slices.Contains(years, year) {
			years = append(years, year)
		}
	}
	for _, year := range years {
		if err := d.seasonFiles(r.Context(), z, client.ID, year); err != nil {
			return err
		}
	}
	for _, sha := range e.Photos {
		if err := d.photoFile(r.Context(), z, sha); err != nil {
			return err
		}
	}
	return z.Close()
}

// clientFiles are what is not in a season record: contact, places, and links.
func (d *Desk) clientFiles(ctx context.Context, z *zip.Writer, client store.Client) error {
	properties, err := d.db.Properties(ctx, client.ID)
	if err != nil {
		return err
	}
	zones := []store.Zone{}
	for _, p := range properties {
		list, err := d.db.Zones(ctx, p.ID)
		if err != nil {
			return err
		}
		zones = append(zones, list...)
	}
	links, err := d.db.Links(ctx, client.ID)
	if err != nil {
		return err
	}
	f, err := z.Create("client.json")
	if err != nil {
		return err
	}
	enc := json.NewEncoder(f)
	enc.SetIndent("", "  ")
	if err := enc.Encode(map[string]any{"client": client, "properties": properties, "zones": zones}); err != nil {
		return err
	}
	if f, err = z.Create("links.csv"); err != nil {
		return err
	}
	out := csv.NewWriter(f)
	rows := [][]string{{"made", "expires", "visit", "year", "first_opened", "last_opened", "times"}}
	at := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.Format(time.RFC3339)
	}
	for _, l := range links {
		rows = append(rows, []string{at(l.Made), at(l.Expires), l.Visit, strconv.Itoa(l.Year), at(l.Opened), at(l.Seen), strconv.Itoa(l.Times)})
	}
	return out.WriteAll(rows)
}

func (d *Desk) seasonFiles(ctx context.Context, z *zip.Writer, client string, year int) error {
	record, err := history.Season(ctx, d.db, d.know(), client, year)
	if err != nil {
		return err
	}
	for _, name := range []string{"json", "csv"} {
		form, _ := history.FormNamed(name)
		f, err := z.Create(fmt.Sprintf("season-%d.%s", year, name))
		if err != nil {
			return err
		}
		if err := form.Write(f, record, record.Table(d.know()), history.Paper{Made: d.now(), Likely: d.know().Bundle.Settings.Likely}); err != nil {
			return err
		}
	}
	return nil
}

// photoFile adds a photo; one that has not arrived is left out.
func (d *Desk) photoFile(ctx context.Context, z *zip.Writer, sha string) error {
	in, photo, err := d.photos.Open(ctx, sha)
	if store.KindOf(err) == store.NotFound && err != nil {
		return nil
	}
	if err != nil {
		return err
	}
	defer in.Close()
	f, err := z.Create("photos/" + sha + "." + strings.TrimPrefix(photo.Type, "image/"))
	if err != nil {
		return err
	}
	_, err = io.Copy(f, in)
	return err
}
