package desk

import (
	"context"
	"net/http"

	"swardbook/store"
	"swardbook/web/page"
)

type findStore interface {
	Find(ctx context.Context, typed string, limit int) ([]store.Found, error)
}

// foundAtMost is how many things one page of a search lists.
const foundAtMost = 40

// Find looks for clients, properties, visits and notes by a few letters.
func (d *Desk) Find(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	v := page.FindView{Typed: r.URL.Query().Get("q")}
	list, err := d.db.Find(r.Context(), v.Typed, foundAtMost)
	if err != nil {
		return err
	}
	for _, f := range list {
		v.Rows = append(v.Rows, page.FindRow{URL: foundURL(f), Kind: a.words.T("find.kind." + f.Kind), Title: f.Title, Words: f.Words})
	}
	v.More = len(list) == foundAtMost
	f, err := d.frame(r, a, "clients", a.words.T("find.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Find(f, v))
}

func foundURL(f store.Found) string {
	switch f.Kind {
	case "client":
		return "/desk/clients/" + f.ID
	case "property":
		return "/desk/properties/" + f.ID
	}
	return "/desk/visits/" + f.ID
}
