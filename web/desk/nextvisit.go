package desk

import (
	"context"
	"strings"

	"swardbook/web/page"
)

// nextVisit is the visit that is to be looked over after this one: the next of the first page's list, its first when this is the last of it or stands
// on none; "" when no other waits.
func (d *Desk) nextVisit(ctx context.Context, a asking, visit string) (string, error) {
	v, err := d.firstly.of(d.state(a), func() (page.NeedsView, error) { return d.needs(ctx, a) })
	if err != nil {
		return "", err
	}
	first, found := "", false
	for _, row := range v.Waiting {
		id := strings.TrimPrefix(row.URL, "/desk/visits/")
		switch {
		case id == visit:
			found = true
		case found:
			return id, nil
		case first == "":
			first = id
		}
	}
	return first, nil
}
