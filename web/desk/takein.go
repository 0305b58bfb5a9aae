package desk

import (
	"context"
	"errors"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"github.com/google/uuid"

	"swardbook/store"
	"swardbook/store/book"
	"swardbook/web/page"
)

type bookStore interface {
	book.Store
	TakeIn(ctx context.Context, clients []store.Client, properties []store.Property, zones []store.Zone) error
	AllZones(ctx context.Context) ([]store.Zone, error)
}

// MaxSheet is the largest file of clients that is taken in, in bytes.
const MaxSheet = 4 << 20

// badShown is how many bad rows a page names; all of them are counted.
const badShown = 200

// TakeIn asks for a file of clients, properties and zones.
func (d *Desk) TakeIn(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	return d.drawTakeIn(w, r, a, http.StatusOK, page.TakeInView{})
}

func (d *Desk) drawTakeIn(w http.ResponseWriter, r *http.Request, a asking, status int, v page.TakeInView) error {
	f, err := d.frame(r, a, "clients", a.words.T("take.title"))
	if err != nil {
		return err
	}
	f.CSS = []string{"office.css"}
	return page.Write(w, r, status, page.TakeIn(f, v))
}

// LookAtSheet reads a file, shows which column is what and what would be added, and takes it in when that is asked for and no row is bad.
func (d *Desk) LookAtSheet(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	form, raw, err := readSheetForm(a, r)
	if err != nil {
		return err
	}
	sheet, err := book.ReadSheet(raw)
	if err != nil {
		form.Say("file", err.Error())
		return d.drawTakeIn(w, r, a, http.StatusUnprocessableEntity, page.TakeInView{Form: form})
	}
	v := page.TakeInView{Form: form, Text: string(raw), Read: true, Shapes: sheet.Shapes, Rows: len(sheet.Rows)}
	columns := mapping(a, sheet, form, &v)
	v.Unit = unitOfSheet(a, sheet, form, columns)
	taking, err := d.planTaking(r.Context(), sheet, columns, v.Unit)
	if err != nil {
		return err
	}
	v.Clients, v.Properties, v.Zones, v.Same = len(taking.Clients), len(taking.Properties), len(taking.Zones), taking.Same
	for i, b := range taking.Bad {
		if i < badShown {
			v.Bad = append(v.Bad, page.BadRow{Line: strconv.Itoa(b.Line), Says: b.Says})
		}
	}
	v.BadCount = len(taking.Bad)
	if form.V("how") != "take" || v.BadCount > 0 || v.Clients+v.Properties+v.Zones == 0 {
		status := http.StatusOK
		if form.V("how") == "take" {
			status = http.StatusUnprocessableEntity
		}
		return d.drawTakeIn(w, r, a, status, v)
	}
	return done(w, r, d.db.TakeIn(r.Context(), taking.Clients, taking.Properties, taking.Zones), "/desk/clients", "taken-in")
}

// readSheetForm reads the upload, or the text of a file that was looked at before.
func readSheetForm(a asking, r *http.Request) (page.Form, []byte, error) {
	if err := r.ParseMultipartForm(MaxSheet); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			return page.Form{}, nil, err
		}
		return page.Form{}, nil, &store.Error{Kind: store.Invalid, Say: a.words.T("error.form.say"), Err: err}
	}
	form := page.Form{Values: r.PostForm}
	file, _, err := r.FormFile("file")
	if err != nil {
		return form, []byte(form.Values.Get("text")), nil // none was chosen: the text that was looked at before, or nothing
	}
	defer file.Close()
	raw, err := io.ReadAll(io.LimitReader(file, MaxSheet+1))
	if err == nil && len(raw) > MaxSheet {
		err = store.Errorf(store.TooLarge, "%s", a.words.T("take.large"))
	}
	return form, raw, err
}

// mapping is which column is which field: what was chosen, else what the names say.
func mapping(a asking, sheet book.Sheet, form page.Form, v *page.TakeInView) map[string]int {
	columns := book.Guess(sheet.Columns)
	chosen := form.V("mapped") != ""
	if chosen {
		columns = map[string]int{}
	}
	choices := []page.Choice{{Value: "", Label: a.words.T("take.column.none")}}
	for i, c := range sheet.Columns {
		choices = append(choices, page.Choice{Value: strconv.Itoa(i), Label: c + example(sheet, i)})
	}
	for _, field := range book.Fields {
		if n, err := strconv.Atoi(form.V("column." + field)); chosen && err == nil && n >= 0 && n < len(sheet.Columns) {
			columns[field] = n
		}
		in := page.Input{Name: "column." + field, Label: a.words.T("take.field." + field), Type: "select", Choices: choices}
		if n, ok := columns[field]; ok {
			in.Value = strconv.Itoa(n)
		}
		v.Columns = append(v.Columns, in)
	}
	return columns
}

// example is the first thing that stands in a column.
func example(sheet book.Sheet, i int) string {
	for _, r := range sheet.Rows {
		if i < len(r.Cells) && r.Cells[i] != "" {
			text := []rune(r.Cells[i])
			if len(text) > 24 {
				text = append(text[:24], '…')
			}
			return " (" + string(text) + ")"
		}
	}
	return ""
}

// unitOfSheet is what areas are in: as chosen, as the column's name says, else the firm's own.
func unitOfSheet(a asking, sheet book.Sheet, form page.Form, columns map[string]int) string {
	if u := form.V("unit"); u == "us" || u == "metric" {
		return u
	}
	if i, ok := columns["area"]; ok {
		name := strings.ToLower(sheet.Columns[i])
		if strings.Contains(name, "sqft") || strings.Contains(name, "sq ft") || strings.Contains(name, "feet") {
			return "us"
		}
		if strings.Contains(name, "m2") || strings.Contains(name, "m²") {
			return "metric"
		}
	}
	return a.firm.Units
}

func (d *Desk) planTaking(ctx context.Context, sheet book.Sheet, columns map[string]int, unit string) (book.Taking, error) {
	var held book.Held
	var err error
	if held.Clients, err = d.db.Clients(ctx); err != nil {
		return book.Taking{}, err
	}
	if held.Properties, err = d.db.Properties(ctx, ""); err != nil {
		return book.Taking{}, err
	}
	if held.Zones, err = d.db.AllZones(ctx); err != nil {
		return book.Taking{}, err
	}
	perArea := 1.0
	if unit == "metric" {
		perArea = 1 / squareMetre
	}
	return book.Plan(sheet, columns, perArea, held, uuid.NewString), nil
}

// Book hands everything out in open formats. It is sent while it is made; a fault on the way cuts the connection, so that no half file passes for a whole one.
func (d *Desk) Book(w http.ResponseWriter, r *http.Request) error {
	attach(w, "application/zip", "book-"+d.now().Format(time.DateOnly)+".zip")
	out := http.NewResponseController(w)
	more := func() {
		_ = out.SetWriteDeadline(time.Now().Add(clientTime)) // where there is no connection there is no deadline
		_ = out.Flush()
	}
	more()
	if _, err := book.Export(r.Context(), w, d.db, d.photos, d.now(), more); err != nil {
		panic(http.ErrAbortHandler)
	}
	return nil
}
