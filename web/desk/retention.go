package desk

import (
	"context"
	"net/http"
	"strconv"

	"swardbook/store"
	"swardbook/web/page"
)

type retentionStore interface {
	Retention(ctx context.Context) (store.Retention, error)
	SaveRetention(ctx context.Context, r store.Retention) error
	Overdue(ctx context.Context, r store.Retention, pictures []string) (store.Overdue, error)
	WasLetGo(ctx context.Context, sha string) (bool, error)
}

// Retain sets how long photos and the data of former clients are kept. When that would take something away, it says how much first and asks again.
func (d *Desk) Retain(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	set := store.Retention{PhotoYears: years(a, &form, "photos"), ClientYears: years(a, &form, "clients")}
	if form.Bad() {
		return d.drawHouse(w, r, http.StatusUnprocessableEntity, a, page.RetentionView{Form: form})
	}
	_, pictures := d.kinds()
	over, err := d.db.Overdue(r.Context(), set, pictures)
	if err != nil {
		return err
	}
	sure := strconv.Itoa(len(over.Photos)) + " " + strconv.Itoa(len(over.Clients))
	if len(over.Photos)+len(over.Clients) > 0 && form.V("sure") != sure {
		view := page.RetentionView{Form: form, Sure: sure}
		if n := len(over.Photos); n > 0 {
			view.Takes = append(view.Takes, a.words.N("keep.takes.photos", n))
		}
		if n := len(over.Clients); n > 0 {
			view.Takes = append(view.Takes, a.words.N("keep.takes.clients", n))
		}
		return d.drawHouse(w, r, http.StatusOK, a, view)
	}
	return done(w, r, d.db.SaveRetention(r.Context(), set), "/desk/house", "kept-for")
}

// years reads a number of years, 0 when nothing is typed.
func years(a asking, form *page.Form, name string) int {
	text := form.V(name)
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 || n > store.MostYears {
		form.Say(name, a.words.T("keep.years.wrong", "most", store.MostYears))
	}
	return n
}

// retentionView is what is set now.
func (d *Desk) retentionView(ctx context.Context) (v page.RetentionView, err error) {
	set, err := d.db.Retention(ctx)
	if set.PhotoYears > 0 {
		v.Photos = strconv.Itoa(set.PhotoYears)
	}
	if set.ClientYears > 0 {
		v.Clients = strconv.Itoa(set.ClientYears)
	}
	return v, err
}
