package desk

import (
	"context"
	"math"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/web/page"
)

// noResponse is a step that was taken, should have worked by now, and whose cause still leads.
type noResponse struct {
	action    string  // id of the step
	days, due float64 // since it was taken, and until it works
}

// withoutResponse looks, in the zones of a visit whose leading cause is that of last time, for steps against it that are overdue to show.
func (d *Desk) withoutResponse(ctx context.Context, v store.Visit, zones []zoneState) error {
	same := false
	for _, z := range zones {
		same = same || z.lead != "" && z.lead == z.before
	}
	if !same {
		return nil
	}
	courses, err := d.intake.Courses(ctx, v)
	if err != nil {
		return err
	}
	for i, z := range zones {
		if z.lead != "" && z.lead == z.before {
			zones[i].unmoved = unmoved(d.know().Bundle.Effects, z.lead, courses[z.zone.ID].Done)
		}
	}
	return nil
}

// unmoved is the step against a cause that had the longest time beyond what it needs; nil when none is due.
func unmoved(effects []knowledge.Effect, cause string, done []diagnose.Done) *noResponse {
	var worst *noResponse
	for _, taken := range done {
		for _, e := range effects {
			if e.Cause != cause || e.Action != taken.Action || taken.Days < e.Days {
				continue
			}
			if worst == nil || taken.Days-e.Days > worst.days-worst.due {
				worst = &noResponse{e.Action, taken.Days, e.Days}
			}
		}
	}
	return worst
}

// says is the reason in the row.
func (n noResponse) says(zone string, w page.Words, k *knowledge.Loaded) string {
	name := n.action
	for _, a := range k.Bundle.Actions {
		if a.ID == n.action {
			name = a.Do.In(w.Lang)
		}
	}
	return w.T("reason.unmoved", "zone", zone, "days", int(math.Round(n.days)), "due", int(math.Round(n.due)), "step", strings.TrimSuffix(name, "."))
}
