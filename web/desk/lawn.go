package desk

import (
	"context"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
	"swardbook/web/page"
)

// lawnView is the form of what a plan must know and no check asks.
func (d *Desk) lawnView(ctx context.Context, a asking, o opened) (page.LawnView, error) {
	v := page.LawnView{}
	var place plan.Place
	if err := d.db.Setting(ctx, placeSetting, &place); err != nil {
		return v, err
	}
	visits, err := d.visiting(ctx)
	if err != nil {
		return v, err
	}
	v.Within = strconv.Itoa(visits.Within)
	v.Region, v.State, v.LastFrost, v.FirstFrost = place.Region, place.State, place.LastFrost, place.FirstFrost
	v.Grasses = []page.Choice{{Label: a.words.T("plan.grass.unknown")}}
	for _, g := range d.know().Bundle.Planning.Grasses {
		v.Grasses = append(v.Grasses, page.Choice{Value: g.ID, Label: g.Label.In(a.words.Lang)})
	}
	for _, s := range o.states {
		known, err := d.lawn(ctx, s.zone.ID)
		if err != nil {
			return v, err
		}
		z := page.LawnZone{ID: s.zone.ID, Name: s.zone.Name, Grass: known.Grass}
		for i, f := range d.know().Bundle.Planning.Facts {
			in := page.Input{Name: "fact." + s.zone.ID + "." + f.ID, ID: "fact-" + strconv.Itoa(i) + "-" + stepAnchor(s.zone.ID), Label: f.Label.In(a.words.Lang)}
			if f.Unit != "" {
				in.Label, in.Type = in.Label+" ("+a.unit(f.Unit)+")", "decimal"
			} else {
				in.Type, in.Choices = "select", []page.Choice{{Label: "–"}}
				for _, state := range f.States {
					in.Choices = append(in.Choices, page.Choice{Value: state, Label: strings.ReplaceAll(state, "_", " ")})
				}
			}
			in.Value = factValue(a, known.Facts, f.ID)
			z.Facts = append(z.Facts, in)
		}
		v.Zones = append(v.Zones, z)
	}
	return v, nil
}

// factValue is a fact as its input shows it: a number as it was given, with its unit where the firm's is another.
func factValue(a asking, facts []plan.Fact, id string) string {
	for _, f := range slices.Backward(facts) {
		if f.Name == id && f.Value != nil {
			return shownFact(a, *f.Value)
		}
		if f.Name == id {
			return f.State
		}
	}
	return ""
}

// readLawn reads that form: the firm's place, and for each zone its grass and facts. A fact that did not change keeps its day.
func (d *Desk) readLawn(a asking, form *page.Form, zones []string, old map[string]lawn) (plan.Place, map[string]lawn) {
	place := plan.Place{Region: form.V("region"), State: form.V("state"), LastFrost: readFrost(a, form, "last_frost"), FirstFrost: readFrost(a, form, "first_frost")}
	today := d.now().In(a.place).Format(time.DateOnly)
	out := map[string]lawn{}
	for _, zone := range zones {
		l := lawn{Grass: form.V("grass." + zone), Facts: []plan.Fact{}}
		for _, f := range d.know().Bundle.Planning.Facts {
			name := "fact." + zone + "." + f.ID
			typed := form.V(name)
			if typed == "" {
				continue
			}
			fact := plan.Fact{Name: f.ID, Day: today}
			if typed == factValue(a, old[zone].Facts, f.ID) {
				fact.Day = factDay(old[zone].Facts, f.ID)
			}
			if f.Unit != "" {
				q, ok := agronomy.ReadQuantity(typed, agronomy.Q(1, f.Unit).Crew(a.metric()).Unit, parseDecimal)
				if !ok {
					form.Say(name, a.words.T("plan.fact.wrong"))
					continue
				}
				fact.Value = &q
			} else {
				fact.State = typed
			}
			l.Facts = append(l.Facts, fact)
		}
		out[zone] = l
	}
	return place, out
}

func shownFact(a asking, q agronomy.Quantity) string {
	if q.Unit == agronomy.Q(1, q.Unit).Crew(a.metric()).Unit {
		return filled(q.Value)
	}
	return filled(q.Value) + " " + agronomy.UnitWords(q.Unit)
}

func factDay(facts []plan.Fact, id string) string {
	for _, f := range slices.Backward(facts) {
		if f.Name == id {
			return f.Day
		}
	}
	return ""
}

// readFrost reads a day of the year such as 04-25.
func readFrost(a asking, form *page.Form, name string) string {
	typed := form.V(name)
	if typed == "" {
		return ""
	}
	if _, err := time.Parse("01-02", typed); err != nil {
		form.Say(name, a.words.T("plan.frost.wrong"))
		return ""
	}
	return typed
}
