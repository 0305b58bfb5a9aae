package history

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// reader remembers names and the catalogue's order while it reads.
type reader struct {
	ctx    context.Context
	store  Store
	know   *knowledge.Loaded
	names  map[string]string
	places map[string]int // check → place in the catalogue

	versions map[string]store.Material // by id and version, once asked for
}

func newReader(ctx context.Context, s Store, know *knowledge.Loaded) *reader {
	r := &reader{ctx: ctx, store: s, know: know, names: map[string]string{"": ""}, places: map[string]int{}}
	for i, c := range know.Bundle.Checks {
		r.places[c.ID] = i
	}
	return r
}

// name is a person's name; one who is gone keeps the id, so that a record is never without an author.
func (r *reader) name(id string) (string, error) {
	if name, ok := r.names[id]; ok {
		return name, nil
	}
	p, err := r.store.Person(r.ctx, id)
	if err != nil && store.KindOf(err) != store.NotFound {
		return "", err
	}
	r.names[id] = cmp.Or(p.Name, id)
	return r.names[id], nil
}

func (r *reader) property(p store.Property, from, to string) (PropertyRecord, error) {
	zones, err := r.store.Zones(r.ctx, p.ID)
	if err != nil {
		return PropertyRecord{}, err
	}
	visits, err := r.visits(p.ID, from, to)
	if err != nil {
		return PropertyRecord{}, err
	}
	rec := PropertyRecord{Property: p}
	for _, v := range visits {
		vr, err := r.visit(v, zones)
		if err != nil {
			return PropertyRecord{}, err
		}
		rec.Visits = append(rec.Visits, vr)
	}
	rec.Outcomes = outcomes(zones, rec.Visits, r.know.Bundle.Settings.Likely)
	rec.Audits, rec.Pairs = r.audits(rec.Visits), pairs(rec.Visits)
	if rec.Next, err = r.next(p.ID, to); err != nil {
		return PropertyRecord{}, err
	}
	return rec, r.work(&rec, zones, from, to)
}

func (r *reader) visits(property, from, to string) ([]store.Visit, error) {
	visits, err := r.store.Visits(r.ctx, store.VisitFilter{Property: property, FromDay: from, ToDay: to})
	slices.SortStableFunc(visits, func(a, b store.Visit) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Order, b.Order), cmp.Compare(a.ID, b.ID))
	})
	return visits, err
}

// readings in the order of the catalogue, then oldest first. Checks it does not hold come last.
func (r *reader) readings(list []store.Reading) ([]ReadingRecord, error) {
	out := make([]ReadingRecord, 0, len(list))
	for _, reading := range list {
		rec := meaning(r.know, reading)
		var err error
		if rec.By, err = r.name(reading.Author); err != nil {
			return nil, err
		}
		out = append(out, rec)
	}
	slices.SortStableFunc(out, func(a, b ReadingRecord) int {
		return cmp.Or(
			cmp.Compare(r.place(a.Check), r.place(b.Check)), cmp.Compare(a.Check, b.Check),
			cmp.Compare(a.Stamp, b.Stamp), cmp.Compare(a.Seq, b.Seq),
		)
	})
	return out, nil
}

func (r *reader) place(check string) int {
	if i, ok := r.places[check]; ok {
		return i
	}
	return len(r.places)
}

func (r *reader) visit(v store.Visit, zones []store.Zone) (VisitRecord, error) {
	rec := VisitRecord{Visit: v}
	var err error
	if rec.Crew, err = r.name(v.Crew); err != nil {
		return rec, err
	}
	p, err := r.paper(v.ID)
	if err != nil {
		return rec, err
	}
	for _, z := range withWhole(zones, p.readings) {
		zr, seen, err := r.zone(z, p)
		if err != nil {
			return rec, err
		}
		if seen {
			rec.Zones = append(rec.Zones, zr)
		}
	}
	for _, z := range rec.Zones {
		if z.Edition != "" && !slices.Contains(rec.Editions, z.Edition) {
			rec.Editions = append(rec.Editions, z.Edition)
		}
	}
	slices.Sort(rec.Editions)
	if rec.Asides, err = r.asides(p.asides, zones); err != nil {
		return rec, err
	}
	rec.Reviews, err = r.reviews(p, func(v store.Review) bool { return v.Kind == SignOff || v.Kind == SendBack })
	return rec, err
}

// withWhole adds a nameless zone for readings of a whole visit, when there are any.
func withWhole(zones []store.Zone, readings []ReadingRecord) []store.Zone {
	for _, r := range readings {
		if r.Zone == "" {
			return append([]store.Zone{{Property: "", Name: ""}}, zones...)
		}
	}
	return zones
}

// zone reads one zone of a visit; false when nothing was recorded there.
func (r *reader) zone(z store.Zone, p paper) (ZoneRecord, bool, error) {
	rec := ZoneRecord{Zone: z}
	for _, reading := range p.readings {
		if reading.Zone == z.ID {
			rec.Readings = append(rec.Readings, reading)
		}
	}
	var err error
	if rec.Overrules, err = r.reviews(p, func(v store.Review) bool { return v.Kind == Overrule && v.Zone == z.ID }); err != nil {
		return rec, false, err
	}
	if rec.Choices, err = r.reviews(p, func(v store.Review) bool { return v.Kind == Choose && v.Zone == z.ID }); err != nil {
		return rec, false, err
	}
	d, diagnosed := p.diagnoses[z.ID]
	if diagnosed {
		if err := r.diagnosis(&rec, d); err != nil {
			return rec, false, err
		}
	}
	return rec, diagnosed || len(rec.Readings)+len(rec.Overrules)+len(rec.Choices) > 0, nil
}

// diagnosis puts in the newest answer, or why there was none.
func (r *reader) diagnosis(rec *ZoneRecord, d store.Diagnosis) error {
	var answer struct {
		diagnose.Answer
		Error string `json:"error"`
	}
	if err := json.Unmarshal(d.Answer, &answer); err != nil {
		return fmt.Errorf("diagnosis %s can't be read: %w", d.ID, err)
	}
	rec.Edition, rec.Diagnosed, rec.Verdict, rec.CantSay = d.Edition, d.Made, answer.Verdict, answer.Error
	judged := map[string]string{}
	for _, o := range rec.Overrules {
		judged[o.Cause] = o.Judgement
	}
	rec.All = make(map[string]float64, len(answer.Causes))
	for _, c := range answer.Causes {
		rec.All[c.ID] = c.Likelihood
		if c.Role == "" && judged[c.ID] == "" {
			continue
		}
		rec.Causes = append(rec.Causes, CauseRecord{
			ID: c.ID, Label: r.cause(c.ID), Likelihood: c.Likelihood, Percent: PercentOf(c.Likelihood), Role: c.Role, Judgement: judged[c.ID],
		})
	}
	return nil
}

func (r *reader) cause(id string) string {
	if c, ok := r.know.Cause(id); ok {
		return c.Label.EN
	}
	return id
}

// reviews that a test picks, oldest first.
func (r *reader) reviews(p paper, pick func(store.Review) bool) ([]ReviewRecord, error) {
	var list []ReviewRecord
	for _, review := range p.reviews {
		if !pick(review) {
			continue
		}
		name, err := r.name(review.By)
		if err != nil {
			return nil, err
		}
		rec := ReviewRecord{Review: review, Name: name, Percent: PercentOf(review.Engine)}
		if review.Cause != "" {
			rec.Label = r.cause(review.Cause)
		}
		if chosen, ok := p.reading(review.Reading); ok {
			rec.Label, rec.Chosen = chosen.Label, &chosen
		}
		list = append(list, rec)
	}
	return list, nil
}

// asides are the readings set aside and not taken in since, oldest first.
func (r *reader) asides(list []store.Aside, zones []store.Zone) ([]AsideRecord, error) {
	var out []AsideRecord
	for _, a := range list {
		if a.Settled == "taken" {
			continue
		}
		name, err := r.name(a.Author)
		if err != nil {
			return nil, err
		}
		rec := AsideRecord{Aside: a, Name: name, Label: a.Check}
		if c, ok := r.know.Check(a.Check); ok {
			rec.Label = c.Label.EN
		}
		for _, z := range zones {
			if z.ID == a.Zone {
				rec.Zone = z.Name
			}
		}
		out = append(out, rec)
	}
	slices.SortStableFunc(out, func(a, b AsideRecord) int { return cmp.Compare(a.Seq, b.Seq) })
	return out, nil
}
