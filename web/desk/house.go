package desk

import (
	"context"
	"fmt"
	"net/http"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/web/page"
	"swardbook/web/watch"
)

type houseStore interface {
	Devices(ctx context.Context) ([]store.Device, error)
	Withdraw(ctx context.Context, device string, again bool) error
	Withdrawn(ctx context.Context) (map[string]time.Time, error)
	PhotoList(ctx context.Context) ([]store.Photo, error)
}

// HouseState is what the program knows of itself.
type HouseState struct {
	Database int64 // bytes
	Started  time.Time
	Program  string // which build
	Backup   BackupState
	Faults   []watch.Fault // newest first
	Failed   int           // how many there were since the start
}

// BackupState is how the scheduled backups stand.
type BackupState struct {
	Folder string // "" makes none
	Made   time.Time
	Rows   int64
	Photos int
	Failed bool // the last try
	Old    bool // older than it should be
}

// House answers how the house is. Without one the owner's page has no such facts.
type House interface {
	State(ctx context.Context) (HouseState, error)
}

// House is the owner's page of the state of the house.
func (d *Desk) House(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	keep, err := d.retentionView(r.Context())
	if err != nil {
		return err
	}
	return d.drawHouse(w, r, http.StatusOK, a, keep)
}

func (d *Desk) drawHouse(w http.ResponseWriter, r *http.Request, status int, a asking, keep page.RetentionView) (err error) {
	v := page.HouseView{Keep: keep}
	if v.Facts, v.Faults, err = d.houseFacts(r.Context(), a); err != nil {
		return err
	}
	if v.Phones, err = d.phoneRows(r.Context(), a); err != nil {
		return err
	}
	f, err := d.frame(r, a, "house", a.words.T("house.state"))
	if err != nil {
		return err
	}
	f.CSS = []string{"house.css"}
	return page.Write(w, r, status, page.House(f, v))
}

func (d *Desk) houseFacts(ctx context.Context, a asking) (facts []page.HouseFact, faults []page.FaultRow, err error) {
	var s HouseState
	if d.house != nil {
		if s, err = d.house.State(ctx); err != nil {
			return nil, nil, err
		}
	}
	photos, err := d.db.PhotoList(ctx)
	if err != nil {
		return nil, nil, err
	}
	var bytes int64
	for _, p := range photos {
		bytes += p.Size
	}
	w := a.words
	for _, x := range s.Faults {
		faults = append(faults, page.FaultRow{When: moment(x.At, a.place), ID: x.ID, Route: x.Route})
	}
	failed := w.T("house.faults.none")
	if s.Failed > 0 {
		failed = fmt.Sprint(s.Failed)
	}
	return []page.HouseFact{
		{Name: w.T("house.database"), Is: size(s.Database)},
		{Name: w.T("house.photos"), Is: w.N("house.photos", len(photos), "size", size(bytes))},
		backupFact(a, s.Backup),
		{Name: w.T("house.running"), Is: moment(s.Started, a.place)},
		{Name: w.T("house.program"), Is: or(s.Program, w.T("house.unknown"))},
		{Name: w.T("house.edition"), Is: short(d.know().Edition)},
		{Name: w.T("house.faults"), Is: failed},
	}, faults, nil
}

func backupFact(a asking, b BackupState) page.HouseFact {
	w := a.words
	fact := page.HouseFact{Name: w.T("house.backup"), Is: w.T("house.backup.off")}
	if b.Folder == "" {
		return fact
	}
	fact.Is, fact.Say = w.T("house.backup.none"), w.T("house.backup.folder", "folder", b.Folder)
	if !b.Made.IsZero() {
		fact.Is = w.T("house.backup.is", "when", moment(b.Made, a.place), "rows", b.Rows, "photos", b.Photos)
	}
	switch {
	case b.Failed:
		fact.Bad = w.T("house.backup.failed")
	case b.Old:
		fact.Bad = w.T("house.backup.old")
	}
	return fact
}

// clockOff is from when on a phone's clock is spoken of.
const clockOff = 2 * time.Minute

func (d *Desk) phoneRows(ctx context.Context, a asking) ([]page.PhoneRow, error) {
	devices, err := d.db.Devices(ctx)
	if err != nil {
		return nil, err
	}
	withdrawn, err := d.db.Withdrawn(ctx)
	if err != nil {
		return nil, err
	}
	names, err := d.names(ctx)
	if err != nil {
		return nil, err
	}
	var rows []page.PhoneRow
	for i := len(devices) - 1; i >= 0; i-- { // the last heard of first
		p := devices[i]
		row := page.PhoneRow{ID: p.ID, Last: moment(p.Last, a.place), Unsent: fmt.Sprint(p.Unsent), App: short(p.App)}
		var who []string
		for _, id := range p.People {
			who = append(who, names.person(id, a.words))
		}
		row.Who = or(strings.Join(who, ", "), a.words.T("person.unknown"))
		if at, ok := withdrawn[p.ID]; ok {
			row.Withdrawn = true
			row.Tags = append(row.Tags, a.words.T("house.phone.withdrawn", "when", moment(at, a.place)))
		}
		if p.Skew.Abs() > clockOff {
			row.Tags = append(row.Tags, a.words.T("house.phone.clock", "minutes", int(p.Skew.Abs().Minutes())))
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// Withdraw takes a lost phone out, or hears it again.
func (d *Desk) Withdraw(w http.ResponseWriter, r *http.Request) error {
	_, form, err := d.posted(r)
	if err != nil {
		return err
	}
	how, flash := form.V("how"), "withdrawn"
	switch how {
	case "again":
		flash = "heard-again"
	case "withdraw":
	default:
		return store.Errorf(store.Invalid, "A phone is withdrawn or heard again.")
	}
	return done(w, r, d.db.Withdraw(r.Context(), r.PathValue("device"), how == "again"), "/desk/house", flash)
}

// size writes bytes as a person reads them.
func size(n int64) string {
	switch {
	case n >= 1e9:
		return fmt.Sprintf("%.1f GB", float64(n)/1e9)
	case n >= 1e6:
		return fmt.Sprintf("%.1f MB", float64(n)/1e6)
	}
	return fmt.Sprintf("%.0f kB", float64(n)/1e3)
}

// short is the beginning of a digest, enough to tell two apart.
func short(text string) string {
	if len(text) > 12 {
		return text[:12]
	}
	return text
}

func or(text, other string) string {
	if text == "" {
		return other
	}
	return text
}
