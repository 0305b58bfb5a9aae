package desk

import (
	"bytes"
	"fmt"
	"net/http"
	"path"
	"strconv"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

// SeasonFile is a season record as a file; the address ends in the name of its form.
func (d *Desk) SeasonFile(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	year, err := readYear(a, r.URL.Query().Get("year"))
	if err != nil {
		return err
	}
	form, ok := history.FormNamed(strings.TrimPrefix(path.Ext(r.URL.Path), "."))
	if !ok {
		return store.Errorf(store.NotFound, "%s", a.words.T("season.year.wrong"))
	}
	record, err := history.Season(r.Context(), d.db, d.know(), r.PathValue("client"), year)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := form.Write(&out, record, record.Table(d.know()), d.paper(a)); err != nil {
		return err
	}
	attach(w, form.Type, "season-"+strconv.Itoa(year)+"."+form.Name)
	_, err = w.Write(out.Bytes())
	return err
}

func (d *Desk) paper(a asking) history.Paper {
	return history.Paper{Firm: a.firm.Name, Made: d.now(), Likely: d.know().Bundle.Settings.Likely, Photo: history.PaperPhoto(d.photoBytes)}
}

func attach(w http.ResponseWriter, kind, name string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Set("Cache-Control", "no-store")
}

// clientTime is how long writing one client's records may take before the connection counts as dead.
const clientTime = time.Minute

// Seasons are the season records of all clients as one archive. It is sent while it is made, one client at a time; who closes the
// connection stops it. A fault on the way cuts the connection, so that no half archive passes for a whole one.
func (d *Desk) Seasons(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	year, err := readYear(a, r.URL.Query().Get("year"))
	if err != nil {
		return err
	}
	clients, err := d.db.Clients(r.Context())
	if err != nil {
		return err
	}
	attach(w, "application/zip", fmt.Sprintf("seasons-%d.zip", year))
	out := http.NewResponseController(w)
	more := func(int) {
		_ = out.SetWriteDeadline(time.Now().Add(clientTime)) // where there is no connection there is no deadline
		_ = out.Flush()
	}
	more(0)
	if err := history.WriteAll(r.Context(), w, d.db, d.know(), clients, year, d.paper(a), more); err != nil {
		panic(http.ErrAbortHandler)
	}
	return nil
}

// SeasonSchema is what programs hold a season's JSON against.
func (d *Desk) SeasonSchema(w http.ResponseWriter, _ *http.Request) error {
	w.Header().Set("Content-Type", "application/schema+json")
	_, err := w.Write(history.Schema)
	return err
}

// seasonOutcome is what became of a zone, with its course where it was weighed more than once.
func (d *Desk) seasonOutcome(a asking, o history.OutcomeRecord) page.SeasonOutcome {
	out := page.SeasonOutcome{Zone: o.Zone.Name, Cause: o.Label, State: a.words.T("outcome." + o.State)}
	for _, c := range o.Course {
		_, says := percent(c.Likelihood, a.words)
		out.Course = append(out.Course, page.Choice{Value: day(c.Day), Label: says})
	}
	if len(o.Course) > 1 {
		var svg strings.Builder
		if err := o.Scene(d.know().Bundle.Settings.Likely).WriteSVG(&svg); err == nil {
			out.SVG = svg.String()
		}
	}
	return out
}

// allSeasons leads to the archive of the newest season.
func (d *Desk) allSeasons(a asking) page.Choice {
	year := d.now().In(a.place).Format("2006")
	return page.Choice{Value: "/desk/seasons.zip?year=" + year, Label: a.words.T("seasons.zip", "year", year)}
}
