package intake

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/record"
)

// What a manager's word makes of a cause for the next visit: as sure as a person can be of a lawn.
const (
	confirmedRate = 0.95
	ruledOutRate  = 0.01
)

// Courses tell by zone what went before a visit: what the last visit that says anything of the zone left of each cause, and the
// signed steps that were taken by then. A cause that a manager confirmed or ruled out at that visit stands as said.
func (s *Service) Courses(ctx context.Context, visit store.Visit) (map[string]diagnose.Course, error) {
	there := store.PropertyMark(visit.Property)
	began := s.store.Changed(there)
	visits, err := s.visits.Get(visit.Property, began, func() ([]store.Visit, error) {
		return s.store.Visits(ctx, store.VisitFilter{Property: visit.Property})
	})
	if err != nil {
		return nil, err
	}
	marks := []store.Mark{there}
	for _, v := range visits {
		if v.Day < visit.Day {
			marks = append(marks, store.SaidMark(v.ID))
		}
	}
	mark := s.store.Changed(marks...)
	if s.store.Changed(there) != began {
		return s.courses(ctx, visit, visits) // the list is old already
	}
	name := visit.ID + " " + visit.Day + " " + s.know().Edition
	return s.before.Get(name, mark, func() (map[string]diagnose.Course, error) { return s.courses(ctx, visit, visits) })
}

func (s *Service) courses(ctx context.Context, visit store.Visit, visits []store.Visit) (map[string]diagnose.Course, error) {
	lasts, err := s.lastOnes(ctx, visit, visits)
	if err != nil {
		return nil, err
	}
	out := map[string]diagnose.Course{}
	said := map[string][]store.Review{}
	for zone, last := range lasts {
		if _, known := said[last.visit.ID]; !known {
			if said[last.visit.ID], err = s.store.Reviews(ctx, last.visit.ID); err != nil {
				return nil, err
			}
		}
		if before := s.earlier(visit, last, said[last.visit.ID]); len(before) > 0 {
			out[zone] = diagnose.Course{Before: before}
		}
	}
	plans, err := s.store.Plans(ctx, visit.Property)
	if err != nil {
		return nil, err
	}
	put, err := s.store.Applications(ctx, store.ApplicationFilter{Property: visit.Property})
	if err != nil {
		return nil, err
	}
	for zone, done := range s.taken(visit, plans, visits, record.Current(put)) {
		c := out[zone]
		c.Done = done
		out[zone] = c
	}
	return out, nil
}

// taken lists by zone the signed steps that were taken on or before the day of a visit, as records and visits tell.
func (s *Service) taken(visit store.Visit, plans []store.Plan, visits []store.Visit, put []store.Application) map[string][]diagnose.Done {
	know, _ := s.knowing()
	out := map[string][]diagnose.Done{}
	for _, p := range plans {
		var body plan.Plan
		if json.Unmarshal(p.Body, &body) != nil {
			continue // of a form that this release does not read
		}
		for _, st := range p.Steps {
			if st.N < 0 || st.N >= len(body.Steps) {
				continue
			}
			step := body.Steps[st.N]
			on, done := record.Fulfilled(st, step, visitOf(visits, st.Visit), put)
			if !done {
				continue
			}
			days, ok := daysBetween(on, visit.Day)
			known := slices.ContainsFunc(know.Bundle.Actions, func(a knowledge.Action) bool { return a.ID == step.Action })
			if !ok || days < 0 || !known {
				continue
			}
			for _, part := range step.Parts {
				out[part.Zone] = append(out[part.Zone], diagnose.Done{Action: step.Action, Days: days})
			}
		}
	}
	return out
}

// visitOf finds a visit, the zero Visit when it is not there.
func visitOf(visits []store.Visit, id string) store.Visit {
	at := slices.IndexFunc(visits, func(v store.Visit) bool { return v.ID == id })
	if at < 0 {
		return store.Visit{}
	}
	return visits[at]
}

// lastOne is the newest diagnosis of a zone at the last visit before.
type lastOne struct {
	visit  store.Visit
	zone   string
	answer lastAnswer
}

// lastAnswer is what the next visit reads of an answer; all of it would be ten times as much.
type lastAnswer struct {
	Counted int `json:"counted"`
	Causes  []struct {
		ID      string  `json:"id"`
		Carried float64 `json:"carried"`
	} `json:"causes"`
}

// lastOnes finds, by zone, the newest diagnosis of the latest earlier visit that weighed a finding there.
func (s *Service) lastOnes(ctx context.Context, visit store.Visit, visits []store.Visit) (map[string]lastOne, error) {
	before, err := s.store.DiagnosesBefore(ctx, visit.Property, visit.Day)
	if err != nil {
		return nil, err
	}
	out := map[string]lastOne{}
	for _, head := range before {
		if _, known := out[head.Zone]; known {
			continue
		}
		d, err := s.store.Diagnosis(ctx, head.ID)
		if err != nil {
			return nil, err
		}
		var a lastAnswer
		if json.Unmarshal(d.Answer, &a) == nil && a.Counted > 0 {
			out[d.Zone] = lastOne{visitOf(visits, d.Visit), d.Zone, a}
		}
	}
	return out, nil
}

// earlier lists what last left, in thousandths: phones get the same numbers, and finer would be vain.
func (s *Service) earlier(visit store.Visit, last lastOne, said []store.Review) []diagnose.Earlier {
	know, _ := s.knowing()
	days, ok := daysBetween(last.visit.Day, visit.Day)
	if !ok {
		return nil
	}
	var out []diagnose.Earlier
	for _, l := range last.answer.Causes {
		if _, known := know.Cause(l.ID); !known {
			continue // of an earlier edition
		}
		rate := l.Carried
		for _, r := range said {
			switch {
			case r.Kind != "overrule" || r.Zone != last.zone || r.Cause != l.ID:
			case r.Judgement == "confirmed":
				rate = confirmedRate
			case r.Judgement == "ruled out":
				rate = ruledOutRate
			}
		}
		out = append(out, diagnose.Earlier{Cause: l.ID, Likelihood: math.Round(rate*1000) / 1000, Days: days})
	}
	return out
}

// daysBetween counts the days from one local day to another.
func daysBetween(from, to string) (float64, bool) {
	a, err := time.Parse(time.DateOnly, from)
	if err != nil {
		return 0, false
	}
	b, err := time.Parse(time.DateOnly, to)
	return math.Round(b.Sub(a).Hours() / 24), err == nil
}
