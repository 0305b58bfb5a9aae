package desk

import (
	"context"
	"errors"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/web/page"
)

// silence is how long a phone that keeps something may be quiet before the office is told.
const silence = 24 * time.Hour

type phoneStore interface {
	SilentDevices(ctx context.Context, before time.Time) ([]store.Device, error)
	GiveUp(ctx context.Context, device string) error
}

// silent are the phones that said they keep something and were not heard of for a day. A phone that the office gave up comes
// back when it speaks again.
func (d *Desk) silent(ctx context.Context) ([]store.Device, error) {
	return d.db.SilentDevices(ctx, d.now().Add(-silence))
}

func (d *Desk) silentRows(ctx context.Context, a asking, names names) ([]page.SilentRow, error) {
	list, err := d.silent(ctx)
	if err != nil {
		return nil, err
	}
	rows := make([]page.SilentRow, len(list))
	for i, p := range list {
		who := make([]string, len(p.People))
		for j, id := range p.People {
			who[j] = names.person(id, a.words)
		}
		rows[i] = page.SilentRow{
			Name: a.words.T("silent.name", "name", p.ID[:min(8, len(p.ID))]), Who: strings.Join(who, ", "), Heard: moment(p.Last, a.place),
			Kept: a.words.N("silent.records", p.Unsent), URL: "/desk/silent/" + url.PathEscape(p.ID),
		}
	}
	return rows, nil
}

// GiveUp notes that nobody waits for a phone any more.
func (d *Desk) GiveUp(w http.ResponseWriter, r *http.Request) error {
	return done(w, r, d.db.GiveUp(r.Context(), r.PathValue("device")), "/desk/", "given-up")
}

// Copy is the page that takes in a saved copy.
func (d *Desk) Copy(w http.ResponseWriter, r *http.Request) error {
	return d.drawCopy(w, r, http.StatusOK, page.CopyView{})
}

func (d *Desk) drawCopy(w http.ResponseWriter, r *http.Request, status int, v page.CopyView) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	if v.Silent, err = d.silentRows(r.Context(), a, names); err != nil {
		return err
	}
	f, err := d.frame(r, a, "needs", a.words.T("copy.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Copy(f, v))
}

// TakeCopy takes in the file chosen and says what became of it. It is read as it comes; a fault in it is said at the file.
func (d *Desk) TakeCopy(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	file, err := fileOf(r)
	if err != nil {
		return d.drawCopy(w, r, http.StatusUnprocessableEntity, page.CopyView{Wrong: a.words.T("copy.need")})
	}
	res, err := d.intake.Copy(r.Context(), intake.Sender{Person: a.who, Agent: r.UserAgent()}, d.photos, file)
	var said *store.Error
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		return d.drawCopy(w, r, http.StatusRequestEntityTooLarge, page.CopyView{Wrong: a.words.T("copy.large"), Taken: copiedSays(a, res)})
	case errors.As(err, &said) && said.Kind != store.Internal:
		return d.drawCopy(w, r, http.StatusUnprocessableEntity, page.CopyView{Wrong: said.Say, Taken: copiedSays(a, res), Problems: res.Problems})
	case err != nil:
		return err
	}
	return d.drawCopy(w, r, http.StatusOK, page.CopyView{Taken: copiedSays(a, res), Problems: res.Problems})
}

// fileOf is the first file of a form, as a stream.
func fileOf(r *http.Request) (*multipart.Part, error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, err
	}
	for {
		part, err := parts.NextPart()
		if err != nil {
			return nil, err
		}
		if part.FormName() == "file" && part.FileName() != "" {
			return part, nil
		}
	}
}

// copiedSays says what became of a copy, nothing when nothing was read.
func copiedSays(a asking, c intake.Copied) []string {
	if c.Rows+c.Photos == 0 {
		if c.Device == "" {
			return nil
		}
		return []string{a.words.T("copy.empty")}
	}
	out := []string{a.words.N("copy.rows", c.Rows, "fresh", c.Fresh)}
	if c.Fresh+c.FreshPhotos == 0 {
		out = []string{a.words.T("copy.nothing_new")}
	}
	if c.Photos > 0 && c.FreshPhotos > 0 {
		out = append(out, a.words.N("copy.photos", c.Photos, "fresh", c.FreshPhotos))
	}
	if c.Aside > 0 {
		out = append(out, a.words.N("copy.aside", c.Aside))
	}
	return out
}
