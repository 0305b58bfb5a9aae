package history

import (
	"cmp"
	"context"
	"math"
	"slices"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// Past is one property over time: its zones down, its visits across.
type Past struct {
	Property store.Property
	Visits   []store.Visit // by day, oldest first
	Earlier  int           // visits older than these
	Ahead    []store.Visit // planned and not begun, by day
	Zones    []ZonePast
	Applied  []ApplicationRecord // what stands of what was put down since the first of the visits, by day
}

// ZonePast is one zone over all visits.
type ZonePast struct {
	Zone   store.Zone
	Visits []ZoneVisit // one for each visit of the property, in its order
	Lines  []CheckLine // checks with a number on any visit, in the catalogue's order
	Causes []CauseLine // those that led on any visit, the one that was likeliest first
}

// CauseLine is how likely a cause was on each visit; nil where the zone was not weighed.
type CauseLine struct {
	ID, Label string
	Values    []*float64
	Most      float64
}

// ZoneVisit is what one visit found in one zone.
type ZoneVisit struct {
	Seen     bool // anything was recorded there
	Verdict  string
	CantSay  string
	Leading  []CauseRecord   // the likely causes, in the engine's order
	Readings []ReadingRecord // the current ones
}

// CheckLine is one measured check over the visits. A visit without a number has no value, which is not zero.
type CheckLine struct {
	Check     string
	Label     string
	Unit      string
	Values    []*float64
	Typed     []string
	Estimates []*Estimate // of Values
	Top       float64     // the most it can be
	Limits    []Limit     // between the states that the numbers mean, rising
	Change    *Change     // from the first number to the last; nil without two
}

// Limit is where one state of a finding ends and another begins.
type Limit struct {
	At           float64
	Below, Above checks.Text
	Source       string
}

// PropertyHistory reads the past of one property: its newest visits, all of them when newest is 0.
func PropertyHistory(ctx context.Context, s Store, know *knowledge.Loaded, property string, newest int) (Past, error) {
	p, err := s.Property(ctx, property)
	if err != nil {
		return Past{}, err
	}
	r := newReader(ctx, s, know)
	past := Past{Property: p}
	zones, err := s.Zones(ctx, p.ID)
	if err != nil {
		return Past{}, err
	}
	records, err := r.newest(&past, zones, newest)
	if err != nil {
		return Past{}, err
	}
	for _, z := range zones {
		if z.Archived.IsZero() {
			past.Zones = append(past.Zones, zonePast(know, z, records))
		}
	}
	return past, r.applied(&past, zones)
}

// newest reads visits from the last one back until there are enough. One that is still ahead is told apart and not counted.
func (r *reader) newest(past *Past, zones []store.Zone, enough int) (records []VisitRecord, err error) {
	all, err := r.visits(past.Property.ID, "", "")
	for i, v := range slices.Backward(all) {
		if enough > 0 && len(records) == enough {
			past.Earlier = i + 1
			break
		}
		rec, err := r.visit(v, zones)
		switch {
		case err != nil:
			return nil, err
		case v.State == store.Planned && len(rec.Zones) == 0:
			past.Ahead = append(past.Ahead, v)
		default:
			records, past.Visits = append(records, rec), append(past.Visits, v)
		}
	}
	slices.Reverse(records)
	slices.Reverse(past.Visits)
	slices.Reverse(past.Ahead)
	return records, err
}

// applied adds what was put down since the first visit that is shown and still stands.
func (r *reader) applied(past *Past, zones []store.Zone) error {
	from := ""
	if past.Earlier > 0 {
		from = past.Visits[0].Day
	}
	rec := PropertyRecord{Property: past.Property}
	if err := r.work(&rec, zones, from, ""); err != nil {
		return err
	}
	for _, a := range rec.Elsewhere {
		if a.Status == Current {
			past.Applied = append(past.Applied, a)
		}
	}
	slices.SortStableFunc(past.Applied, func(a, b ApplicationRecord) int { return cmp.Compare(a.Day, b.Day) })
	return nil
}

func zonePast(know *knowledge.Loaded, z store.Zone, visits []VisitRecord) ZonePast {
	past := ZonePast{Zone: z, Visits: make([]ZoneVisit, len(visits))}
	for i, v := range visits {
		for _, zr := range v.Zones {
			if zr.Zone.ID == z.ID {
				past.Visits[i] = zoneVisit(zr)
			}
		}
	}
	days := make([]string, len(visits))
	for i, v := range visits {
		days[i] = v.Visit.Day
	}
	for _, c := range know.Bundle.Checks {
		if line, any := checkLine(know, c, days, past.Visits); any {
			past.Lines = append(past.Lines, line)
		}
	}
	past.Causes = causeLines(past.Visits, visits, z.ID)
	return past
}

// causeLines follows the causes that led on any visit.
func causeLines(led []ZoneVisit, visits []VisitRecord, zone string) []CauseLine {
	var out []CauseLine
	for _, v := range led {
		for _, c := range v.Leading {
			if !slices.ContainsFunc(out, func(l CauseLine) bool { return l.ID == c.ID }) {
				out = append(out, CauseLine{ID: c.ID, Label: c.Label, Values: make([]*float64, len(visits))})
			}
		}
	}
	for i := range out {
		for j, v := range visits {
			z, weighed := zoneOn(v, zone)
			if p, known := z.All[out[i].ID]; weighed && known {
				out[i].Values[j], out[i].Most = &p, max(out[i].Most, p)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b CauseLine) int { return cmp.Compare(b.Most, a.Most) })
	return out
}

func zoneVisit(zr ZoneRecord) ZoneVisit {
	v := ZoneVisit{Seen: true, Verdict: zr.Verdict, CantSay: zr.CantSay}
	for _, c := range zr.Causes {
		if c.Role != "" {
			v.Leading = append(v.Leading, c)
		}
	}
	for _, r := range zr.Readings {
		if r.Current && !r.Blank {
			v.Readings = append(v.Readings, r)
		}
	}
	return v
}

// checkLine follows one check over the visits; false when it was never a number.
func checkLine(know *knowledge.Loaded, c checks.Check, days []string, visits []ZoneVisit) (CheckLine, bool) {
	n := len(visits)
	line := CheckLine{Check: c.ID, Values: make([]*float64, n), Typed: make([]string, n), Estimates: make([]*Estimate, n), Top: math.Inf(1)}
	if c.Hard != nil {
		line.Top = c.Hard.High
	}
	ruler := rulerOf(know, c)
	var known []Estimate
	for i, v := range visits {
		for _, r := range v.Readings {
			if r.Check != c.ID || r.Number == nil {
				continue
			}
			value, _ := checks.Read(c, r.Typed) // it was read once already: meaning has its mean
			e := ruler.estimate(days[i], value.Numbers)
			line.Label, line.Unit, line.Values[i], line.Typed[i], line.Estimates[i] = r.Label, r.Unit, r.Number, r.Typed, &e
		}
		if line.Estimates[i] != nil {
			known = append(known, *line.Estimates[i])
		}
	}
	line.Limits = ruler.limits()
	if change, ok := changeOf(known); ok {
		line.Change = &change
	}
	return line, len(known) > 0
}
