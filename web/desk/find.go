package desk

import (
	"context"
	"net/http"
	"strings"
	"time"

	"swardbook/store"
	"swardbook/web/page"
)

type findStore interface {
	Find(ctx context.Context, typed string, limit int) ([]store.Found, error)
}

// foundAtMost is how many things one page of a search lists.
const foundAtMost = 40

// Find looks for clients, properties, visits and notes by a few letters; with a day, for properties to plan a visit for.
func (d *Desk) Find(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	v := page.FindView{Typed: r.URL.Query().Get("q")}
	look, at := d.found, "clients"
	if day, err := time.Parse(time.DateOnly, r.URL.Query().Get("day")); err == nil {
		v.Day, v.On = day.Format(time.DateOnly), day.Format("Monday 2 January 2006")
		look, at = d.foundToPlan, "days"
	}
	if err := look(r.Context(), a, &v); err != nil {
		return err
	}
	f, err := d.frame(r, a, at, a.words.T("find.title"))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Find(f, v))
}

func (d *Desk) found(ctx context.Context, a asking, v *page.FindView) error {
	list, err := d.db.Find(ctx, v.Typed, foundAtMost)
	for _, f := range list {
		v.Rows = append(v.Rows, page.FindRow{URL: foundURL(f), Kind: a.words.T("find.kind." + f.Kind), Title: f.Title, Words: f.Words})
	}
	v.More = len(list) == foundAtMost
	return err
}

// foundToPlan are the properties at work that were found, those of clients that were found, and the first ones when nothing was typed.
func (d *Desk) foundToPlan(ctx context.Context, a asking, v *page.FindView) error {
	names, err := d.names(ctx)
	if err != nil {
		return err
	}
	list, err := d.properties(ctx, v.Typed)
	if err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, p := range list {
		if c := names.clients[p.Client]; seen[p.ID] || !p.Archived.IsZero() || !c.Archived.IsZero() {
			continue
		}
		if v.More = len(v.Rows) == foundAtMost; v.More {
			break
		}
		seen[p.ID] = true
		v.Rows = append(v.Rows, page.FindRow{URL: "/desk/properties/" + p.ID + "?day=" + v.Day + "#h-plan", Kind: a.words.T("find.kind.property"), Title: p.Address, Words: names.clients[p.Client].Name})
	}
	return nil
}

func (d *Desk) properties(ctx context.Context, typed string) ([]store.Property, error) {
	if strings.TrimSpace(typed) == "" {
		return d.db.Properties(ctx, "")
	}
	list, err := d.db.Find(ctx, typed, foundAtMost)
	if err != nil {
		return nil, err
	}
	var out []store.Property
	for _, f := range list {
		var more []store.Property
		switch f.Kind {
		case "client":
			more, err = d.db.Properties(ctx, f.ID)
		case "property":
			more = make([]store.Property, 1)
			more[0], err = d.db.Property(ctx, f.ID)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, more...)
	}
	return out, nil
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
