package desk

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"swardbook/store"
	"swardbook/web/page"
)

type auditStore interface {
	Audit(ctx context.Context, f store.AuditFilter) ([]store.Change, error)
	AuditKinds(ctx context.Context) ([]string, error)
}

// auditPage is how many lines one page has.
const auditPage = 100

// Audit is the owner's list of who changed what. There is no way to alter it.
func (d *Desk) Audit(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	filter := store.AuditFilter{By: q.Get("by"), What: q.Get("what"), Limit: auditPage}
	filter.Before, _ = strconv.ParseInt(q.Get("before"), 10, 64) // what is no number asks for the newest
	v := page.AuditView{By: filter.By, What: filter.What}
	if err := d.fillAudit(r.Context(), a, filter, &v); err != nil {
		return err
	}
	f, err := d.frame(r, a, "house", a.words.T("audit.title"))
	if err != nil {
		return err
	}
	f.CSS = []string{"house.css"}
	return page.Write(w, r, http.StatusOK, page.Audit(f, v))
}

func (d *Desk) fillAudit(ctx context.Context, a asking, filter store.AuditFilter, v *page.AuditView) error {
	names, err := d.names(ctx)
	if err != nil {
		return err
	}
	lines, err := d.db.Audit(ctx, filter)
	if err != nil {
		return err
	}
	for _, c := range lines {
		v.Rows = append(v.Rows, d.auditRow(ctx, a, names, c))
	}
	if len(lines) == auditPage {
		older := url.Values{"by": {filter.By}, "what": {filter.What}, "before": {strconv.FormatInt(lines[len(lines)-1].Seq, 10)}}
		v.Older = "/desk/audit?" + older.Encode()
	}
	kinds, err := d.db.AuditKinds(ctx)
	if err != nil {
		return err
	}
	v.Kinds = []page.Choice{{Value: "", Label: a.words.T("audit.anything")}}
	for _, k := range kinds {
		v.Kinds = append(v.Kinds, page.Choice{Value: k, Label: kindOf(a.words, k)})
	}
	people, err := d.db.People(ctx, false)
	v.People = []page.Choice{{Value: "", Label: a.words.T("audit.anybody")}}
	for _, p := range people {
		v.People = append(v.People, page.Choice{Value: p.ID, Label: p.Name})
	}
	return err
}

func kindOf(words page.Words, what string) string {
	if key := "audit.kind." + what; words.Has(key) {
		return words.T(key)
	}
	return what
}

func (d *Desk) auditRow(ctx context.Context, a asking, names names, c store.Change) page.AuditRow {
	row := page.AuditRow{When: moment(c.At, a.place), Who: a.words.T("audit.by.server"), What: kindOf(a.words, c.What), Detail: c.Detail, About: short(c.About)}
	if c.By != "" {
		row.Who = names.person(c.By, a.words)
	}
	switch kind, _, _ := strings.Cut(c.What, "."); kind {
	case "person":
		row.About, row.URL = names.person(c.About, a.words), "/desk/people#p-"+c.About
	case "client":
		row.About, row.URL = or(names.clients[c.About].Name, row.About), "/desk/clients/"+c.About
	case "property":
		row.About, row.URL = names.address(c.About), "/desk/properties/"+c.About
	case "visit":
		row.URL = "/desk/visits/" + c.About
		if v, err := d.db.Visit(ctx, c.About); err == nil {
			row.About = names.address(v.Property) + ", " + shortDay(v.Day)
		}
	case "material":
		row.URL = "/desk/materials/" + c.About
	}
	return row
}
