package desk

import (
	"context"
	"slices"
	"strings"

	"swardbook/diagnose"
	"swardbook/web/page"
)

// sharedView lists the causes that are likely in several zones which share what brings them: said once, for the property.
// Where a manager ruled a cause out it is not likely any more.
func (d *Desk) sharedView(ctx context.Context, a asking, o opened, notes *page.Notes) ([]page.SharedView, error) {
	answers, err := d.answers(ctx, o.visit.ID)
	if err != nil {
		return nil, err
	}
	var zones []diagnose.ZoneAnswer
	names := map[string]string{}
	for _, s := range o.states {
		found, ok := answers[s.zone.ID]
		if !ok {
			continue
		}
		names[s.zone.ID] = s.zone.Name
		answer, said := found.answer, overrulings(o.reviews, s.zone.ID)
		answer.Causes = slices.Clone(answer.Causes)
		for i := range answer.Causes {
			if said[answer.Causes[i].ID].Judgement == "ruled out" {
				answer.Causes[i].Role, answer.Causes[i].Likelihood = "", 0
			}
		}
		zones = append(zones, diagnose.ZoneAnswer{Zone: s.zone.ID, Area: s.zone.AreaSqFt, Answer: answer})
	}
	var out []page.SharedView
	for _, c := range diagnose.Property(&d.know().Bundle, zones) {
		if !c.Once {
			continue
		}
		in := make([]string, len(c.Zones))
		for i, id := range c.Zones {
			in[i] = names[id]
		}
		_, says := percent(c.Likelihood, a.words)
		label := causeLabel(d.know(), c.ID, a.words.Lang)
		out = append(out, page.SharedView{
			URL: "/desk/causes/" + c.ID, Label: label, Mean: notes.Of(label, says, sharedWorking(a, zones, names, c, says)), By: a.words.T("shared.by." + c.Shared),
			Say: a.words.T("shared.say", "zones", strings.Join(in, ", ")),
		})
	}
	return out, nil
}
