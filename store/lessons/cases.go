package lessons

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/learn"
	"swardbook/store"
	"swardbook/store/intake"
)

// signedOff lists the visits that count, by day.
func (s *Service) signedOff(ctx context.Context) ([]store.Visit, error) {
	return s.store.Visits(ctx, store.VisitFilter{States: []store.VisitState{store.SignedOff}})
}

// cases are all zones of all signed-off visits, with what people said of their causes.
func (s *Service) cases(ctx context.Context) ([]learn.Case, error) {
	visits, err := s.signedOff(ctx)
	if err != nil {
		return nil, err
	}
	var out []learn.Case
	met := map[string]bool{}
	for _, v := range visits {
		more, err := s.casesOf(ctx, v, met)
		if err != nil {
			return nil, err
		}
		out = append(out, more...)
	}
	return out, nil
}

// casesOf are the zones of one visit in which something was read. met remembers the zones and seasons that came before.
func (s *Service) casesOf(ctx context.Context, v store.Visit, met map[string]bool) ([]learn.Case, error) {
	property, err := s.store.Property(ctx, v.Property)
	if err != nil {
		return nil, err
	}
	readings, err := s.store.Readings(ctx, v.ID)
	if err != nil {
		return nil, err
	}
	reviews, err := s.store.Reviews(ctx, v.ID)
	if err != nil {
		return nil, err
	}
	labels := labelsOf(reviews)
	var out []learn.Case
	for _, zone := range zonesOf(readings) {
		c := learn.Case{Case: intake.Case(s.ours, v, property, zone, readings, diagnose.Course{})}
		if len(c.Case.Observed) == 0 {
			continue
		}
		for _, l := range labels[zone] {
			if l.is {
				c.Confirmed = append(c.Confirmed, l.cause)
			} else {
				c.RuledOut = append(c.RuledOut, l.cause)
			}
		}
		key := zone + " " + s.seasonOf(v.Day)
		c.First = v.Why != "routine" && !met[key]
		met[key] = met[key] || c.First
		out = append(out, c)
	}
	return out, nil
}

// zonesOf are the zones with a reading of their own, in the order they were first read.
func zonesOf(readings []store.Reading) []string {
	var out []string
	seen := map[string]bool{"": true}
	for _, r := range readings {
		if !seen[r.Zone] {
			seen[r.Zone] = true
			out = append(out, r.Zone)
		}
	}
	return out
}

// seasonOf names the season of a day with its year; the winter of a December is that of the January after it.
func (s *Service) seasonOf(day string) string {
	parts := strings.Split(day, "-")
	if len(parts) != 3 {
		return day
	}
	year, err := strconv.Atoi(parts[0])
	month, err2 := strconv.Atoi(parts[1])
	of := s.ours.Bundle.SeasonOf
	if err != nil || err2 != nil || month < 1 || month > len(of) {
		return day
	}
	season := of[month-1]
	if slices.Equal(of[month-1:], slices.Repeat([]string{season}, len(of)-month+1)) && of[0] == season {
		year++
	}
	return strconv.Itoa(year) + " " + season
}

// label is what a person said of a cause.
type label struct {
	cause string
	is    bool
}

// labelsOf are the last words on every cause, by zone, in the order the causes were first spoken of.
func labelsOf(reviews []store.Review) map[string][]label {
	out := map[string][]label{}
	for _, r := range reviews {
		if r.Kind != "overrule" {
			continue
		}
		said := label{r.Cause, r.Judgement == "confirmed"}
		known := false
		for i, l := range out[r.Zone] {
			if l.cause == r.Cause {
				out[r.Zone][i], known = said, true
			}
		}
		if !known {
			out[r.Zone] = append(out[r.Zone], said)
		}
	}
	return out
}
