package history

import (
	"slices"

	"swardbook/diagnose"
	"swardbook/store"
)

// The states of an outcome, as a record shows them.
const (
	OnceSeen  = "looked at once"
	Still     = "still likely"
	NoLonger  = "no longer likely"
	RuledOut  = "ruled out"
	NoneFound = "nothing wrong found"
	NotTold   = "can't tell yet"
)

// OutcomeRecord is what became of a zone in the year: the cause that led first, and what the last visit says of it.
type OutcomeRecord struct {
	Zone  store.Zone
	ID    string // of the cause; "" when none led
	Label string
	State string
	Day   string // of the last visit that weighed it
	// From the visit on which the cause led first to the last one, each with a likelihood. Empty when none led.
	Course []CoursePoint
}

// CoursePoint is the likelihood of a cause on one visit.
type CoursePoint struct {
	Day        string
	Likelihood float64
	Percent    Percent
}

// Outcomes is what became of every zone on some visits of a property, in their order; likely is the least likelihood of a likely cause.
func Outcomes(visits []VisitRecord, likely float64) []OutcomeRecord {
	var zones []store.Zone
	for _, v := range visits {
		for _, z := range v.Zones {
			if !slices.ContainsFunc(zones, func(x store.Zone) bool { return x.ID == z.Zone.ID }) {
				zones = append(zones, z.Zone)
			}
		}
	}
	return outcomes(zones, visits, likely)
}

// outcomes reads the visits of a year zone by zone; likely is the least likelihood of a likely cause.
func outcomes(zones []store.Zone, visits []VisitRecord, likely float64) []OutcomeRecord {
	var out []OutcomeRecord
	for _, z := range zones {
		if o, seen := outcome(z, visits, likely); seen {
			out = append(out, o)
		}
	}
	return out
}

func outcome(zone store.Zone, visits []VisitRecord, likely float64) (o OutcomeRecord, seen bool) {
	o.Zone = zone
	var last ZoneRecord
	for _, v := range visits {
		z, ok := zoneOn(v, zone.ID)
		if !ok {
			continue
		}
		last, seen, o.Day = z, true, v.Visit.Day
		if lead, leads := leadOf(z); o.ID == "" && leads {
			o.ID, o.Label = lead.ID, lead.Label
		}
		if p, known := z.All[o.ID]; known && o.ID != "" {
			o.Course = append(o.Course, CoursePoint{v.Visit.Day, p, PercentOf(p)})
		}
	}
	if seen {
		o.State = o.judge(last, likely)
	}
	return o, seen
}

// judge says how it ended: a manager's word stands above the likelihood.
func (o OutcomeRecord) judge(last ZoneRecord, likely float64) string {
	switch {
	case o.ID == "" && last.Verdict == diagnose.NothingWrong:
		return NoneFound
	case o.ID == "":
		return NotTold
	case spokenOf(last, o.ID) == "ruled out":
		return RuledOut
	case len(o.Course) < 2:
		return OnceSeen
	case o.Course[len(o.Course)-1].Likelihood >= likely:
		return Still
	}
	return NoLonger
}

// zoneOn is a zone on a visit that has an answer of the engine.
func zoneOn(v VisitRecord, id string) (ZoneRecord, bool) {
	i := slices.IndexFunc(v.Zones, func(z ZoneRecord) bool { return z.Zone.ID == id && z.Edition != "" && z.CantSay == "" })
	if i < 0 {
		return ZoneRecord{}, false
	}
	return v.Zones[i], true
}

// leadOf is the first primary cause that nobody ruled out.
func leadOf(z ZoneRecord) (CauseRecord, bool) {
	for _, c := range z.Causes {
		if c.Role == "primary" && c.Judgement != "ruled out" {
			return c, true
		}
	}
	return CauseRecord{}, false
}

func spokenOf(z ZoneRecord, cause string) string {
	for _, c := range z.Causes {
		if c.ID == cause {
			return c.Judgement
		}
	}
	return ""
}

// outcome writes what became of a zone.
func (r *rows) outcome(property string, o OutcomeRecord) {
	own := line{"zone": Str(o.Zone.Name), "kind": Str("outcome"), "item_id": Str(o.ID), "item": Str(o.Label), "state": Str(o.State), "day": Str(o.Day)}
	if n := len(o.Course); n > 0 {
		first, last := o.Course[0], o.Course[n-1]
		own["likelihood_pct"] = last.Percent.Cell()
		if n > 1 {
			own["reason"] = Str(first.Percent.Cell().String() + " % on " + first.Day)
		}
	}
	r.add(line{"property": Str(property)}, own)
}
