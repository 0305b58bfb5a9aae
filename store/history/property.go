package history

import (
	"context"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
)

// Past is one property over time: its zones down, its visits across.
type Past struct {
	Property store.Property
	Visits   []store.Visit // by day, oldest first
	Zones    []ZonePast
}

// ZonePast is one zone over all visits.
type ZonePast struct {
	Zone   store.Zone
	Visits []ZoneVisit // one for each visit of the property, in its order
	Lines  []CheckLine // checks with a number on any visit, in the catalogue's order
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
	Check  string
	Label  string
	Unit   string
	Values []*float64
	Typed  []string
}

// PropertyHistory reads the whole past of one property.
func PropertyHistory(ctx context.Context, s Store, know *knowledge.Loaded, property string) (Past, error) {
	p, err := s.Property(ctx, property)
	if err != nil {
		return Past{}, err
	}
	r := newReader(ctx, s, know)
	rec, err := r.property(p, "", "")
	if err != nil {
		return Past{}, err
	}
	zones, err := r.store.Zones(r.ctx, p.ID)
	if err != nil {
		return Past{}, err
	}
	past := Past{Property: p}
	for _, v := range rec.Visits {
		past.Visits = append(past.Visits, v.Visit)
	}
	for _, z := range zones {
		past.Zones = append(past.Zones, zonePast(know, z, rec.Visits))
	}
	return past, nil
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
	for _, c := range know.Bundle.Checks {
		if line, any := checkLine(c.ID, past.Visits); any {
			past.Lines = append(past.Lines, line)
		}
	}
	return past
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
func checkLine(check string, visits []ZoneVisit) (CheckLine, bool) {
	line := CheckLine{Check: check, Values: make([]*float64, len(visits)), Typed: make([]string, len(visits))}
	any := false
	for i, v := range visits {
		for _, r := range v.Readings {
			if r.Check == check && r.Number != nil {
				line.Label, line.Unit, line.Values[i], line.Typed[i] = r.Label, r.Unit, r.Number, r.Typed
				any = true
			}
		}
	}
	return line, any
}
