package lessons

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/score"
	"swardbook/store"
)

// Scores are what came of the likelihoods that stood when visits were signed off.
type Scores struct {
	Visits int // signed off
	Zones  int // of them, with an answer of the engine
	Spoken int // of the zones, with a cause that a person confirmed or ruled out
	All    score.Score
	Causes []CauseScore // those that people spoke of most first
}

// CauseScore is the score of one cause.
type CauseScore struct {
	Cause string
	score.Score
}

// Bins of the reliability curve: few, since a firm's cases are few.
const bins = 5

// Scores compares what the engine said with what people said. Only signed-off visits count, only causes that a person confirmed
// or ruled out, and the likelihood is the one stored before the sign-off: nothing is computed anew.
func (s *Service) Scores(ctx context.Context) (Scores, error) {
	visits, err := s.signedOff(ctx)
	if err != nil {
		return Scores{}, err
	}
	out := Scores{Visits: len(visits)}
	said := map[string][]score.Said{}
	for _, v := range visits {
		if err := s.score(ctx, v, &out, said); err != nil {
			return Scores{}, err
		}
	}
	var all []score.Said
	for cause, list := range said {
		all = append(all, list...)
		out.Causes = append(out.Causes, CauseScore{cause, score.Of(list, bins)})
	}
	slices.SortFunc(out.Causes, func(a, b CauseScore) int { return cmp.Or(b.N-a.N, cmp.Compare(a.Cause, b.Cause)) })
	slices.SortFunc(all, func(a, b score.Said) int { return cmp.Compare(a.P, b.P) }) // so that a sum is the same every time
	out.All = score.Of(all, bins)
	return out, nil
}

func (s *Service) score(ctx context.Context, v store.Visit, out *Scores, said map[string][]score.Said) error {
	reviews, err := s.store.Reviews(ctx, v.ID)
	if err != nil {
		return err
	}
	diagnoses, err := s.store.Diagnoses(ctx, v.ID)
	if err != nil {
		return err
	}
	labels := labelsOf(reviews)
	for zone, answer := range answersAt(diagnoses, signOffOf(reviews)) {
		out.Zones++
		spoken := false
		for _, l := range labels[zone] {
			if p, ok := answer[l.cause]; ok {
				said[l.cause] = append(said[l.cause], score.Said{P: p, True: l.is})
				spoken = true
			}
		}
		if spoken {
			out.Spoken++
		}
	}
	return nil
}

// signOffOf is when a visit was signed off last, the zero time when it is not known.
func signOffOf(reviews []store.Review) time.Time {
	var at time.Time
	for _, r := range reviews {
		if r.Kind == "sign off" {
			at = r.At
		}
	}
	return at
}

// answersAt are the likelihoods by zone and cause that stood at a moment; without a moment, the last ones.
func answersAt(diagnoses []store.Diagnosis, at time.Time) map[string]map[string]float64 {
	out := map[string]map[string]float64{}
	for _, d := range diagnoses {
		if !at.IsZero() && d.Made.After(at) {
			continue
		}
		var a diagnose.Answer
		if err := json.Unmarshal(d.Answer, &a); err != nil || len(a.Causes) == 0 {
			delete(out, d.Zone) // the findings could not be weighed
			continue
		}
		like := make(map[string]float64, len(a.Causes))
		for _, c := range a.Causes {
			like[c.ID] = c.Likelihood
		}
		out[d.Zone] = like
	}
	return out
}
