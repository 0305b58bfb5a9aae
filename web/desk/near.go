package desk

import (
	"context"
	"fmt"
	"sync"
	"time"

	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// memo keeps what was worked out until anything is written or a minute is over.
type memo[T any] struct {
	mu    sync.Mutex
	key   string
	value T
}

// of returns what is kept under key, or works it out.
func (m *memo[T]) of(key string, make func() (T, error)) (T, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.key == key {
		return m.value, nil
	}
	value, err := make()
	if err == nil {
		m.key, m.value = key, value
	}
	return value, err
}

// late are the rows that the passing of days brings: steps past their day, and limits about to be reached.
type late struct {
	overdue []page.OverdueRow
	near    []page.NearRow
}

// aging is what the passing of days and the records of work rest on.
func (d *Desk) aging(a asking) string {
	return fmt.Sprint(d.db.Changed(store.MarkVisits, store.MarkApplications), d.since(a))
}

// state names everything a page of lists depends on but the words: a write, a minute, the firm.
func (d *Desk) state(a asking) string {
	return fmt.Sprint(d.db.Writes(), d.since(a))
}

func (d *Desk) since(a asking) string {
	return fmt.Sprint(" ", d.now().Truncate(time.Minute).Unix(), " ", a.firm, " ", a.who.Lang, " ", d.know().Edition)
}

func (d *Desk) late(ctx context.Context, a asking) (late, error) {
	return d.lately.of(d.aging(a), func() (l late, err error) {
		names, err := d.names(ctx)
		if err != nil {
			return l, err
		}
		if l.overdue, err = d.overdueRows(ctx, a, names); err != nil {
			return l, err
		}
		l.near, err = d.nearRows(ctx, a, names)
		return l, err
	})
}

// nearRows are the zones that are about to reach a limit of this calendar year, or of the last 365 days where a label counts so.
func (d *Desk) nearRows(ctx context.Context, a asking, names names) ([]page.NearRow, error) {
	firm, err := d.recordFirm(ctx)
	if err != nil {
		return nil, err
	}
	today := d.now().In(a.place)
	year, since := today.Format("2006"), today.AddDate(0, 0, -364).Format(time.DateOnly)
	list, err := d.db.Applications(ctx, store.ApplicationFilter{FromDay: since, ToDay: year + "-12-31"})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	material, err := d.materialOf(ctx)
	if err != nil {
		return nil, err
	}
	by := map[string][]store.Application{}
	var order []string
	for _, x := range list {
		if by[x.Property] == nil {
			order = append(order, x.Property)
		}
		by[x.Property] = append(by[x.Property], x)
	}
	var rows []page.NearRow
	for _, property := range order {
		current := record.Current(by[property])
		calendar := d.book().Totals(year, current, material)
		rolling := d.book().TotalsBetween(since, today.Format(time.DateOnly), current, material)
		for _, t := range d.book().TotalsBetween(since, year+"-12-31", current, material) {
			near := nearOf(t.Zone, firm, calendar, rolling)
			if len(near) == 0 {
				continue
			}
			z, err := d.db.Zone(ctx, t.Zone)
			if err != nil || !z.Archived.IsZero() || !names.properties[property].Archived.IsZero() {
				continue // a zone that is gone from the lists, or that no phone has sent yet
			}
			row := page.NearRow{URL: "/desk/properties/" + property + "/work", Address: names.address(property), Zone: z.Name}
			for _, n := range near {
				row.Reasons = append(row.Reasons, page.Reason{Kind: "ask", Say: nearSays(a, n)})
			}
			rows = append(rows, row)
		}
	}
	return rows, nil
}

// nearOf are the limits that a zone has come close to: in the calendar year, and in the last 365 days where a label counts so.
func nearOf(zone string, firm record.Firm, calendar, rolling []record.ZoneTotal) (near []record.Nearing) {
	for _, t := range calendar {
		if t.Zone == zone {
			near = append(near, t.Near(firm)...)
		}
	}
	for _, t := range rolling {
		if t.Zone == zone {
			near = append(near, t.NearRolling()...)
		}
	}
	return near
}

func nearSays(a asking, n record.Nearing) string {
	return a.words.T("near."+n.What, "name", n.Name, "sum", a.rate(n.Sum, n.Unit), "limit", a.rate(n.Limit, n.Unit))
}
