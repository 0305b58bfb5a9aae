package record

import (
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"swardbook/store"
)

// The codes of limits that were passed. Each has a sentence under "flag.<code>".
const (
	Once       = "once"        // more at once than the label allows
	Year       = "year"        // more in the year than the label allows
	Times      = "times"       // oftener in the year than the label allows
	Interval   = "interval"    // too soon after the last time
	ActiveOnce = "active_once" // more of an active ingredient at once
	ActiveYear = "active_year" // more of an active ingredient in the year, over all materials
	WindLow    = "wind_low"
	WindHigh   = "wind_high"
	TempLow    = "temp_low"
	TempHigh   = "temp_high"
	SeedSoon   = "seed_soon"   // seed too soon after an application
	AfterSeed  = "after_seed"  // an application too soon after seed
	NOnce      = "n_once"      // the firm's own limit of nitrogen at once
	NYear      = "n_year"      // the firm's own limit of nitrogen in the year
	Unlisted   = "unlisted"    // the material is not on the firm's list
	NotYours   = "not_yours"   // of a visit of somebody else's
	SignedOff  = "signed_off"  // reached the office after the visit was signed off
	Reversed   = "reversed"    // ended before it began
	TwoCorrect = "two_correct" // corrected twice, by people who did not know of each other
)

// Known is what a record is judged by: materials by id as they were when it was made, and the records of the property before.
type Known struct {
	Material func(id string, version int64) (store.Material, bool)
	Earlier  []store.Application
	Firm     Firm
}

// slack keeps a sum of binary fractions that meets a limit exactly from passing it.
const slack = 1 + 1e-9

const sqFtPerAcre = 43560

// judging is one record under judgement.
type judging struct {
	*Book
	a     store.Application
	m     store.Material
	known Known
	day   time.Time
	flags []store.Flag
}

// Judge lists the limits that a record passes, in the order of its zones. Records of Earlier that were corrected or withdrawn,
// and the one that this corrects, must be left out of Earlier.
func (b *Book) Judge(a store.Application, known Known) []store.Flag {
	m, ok := known.Material(a.Material, a.Version)
	j := &judging{Book: b, a: a, m: m, known: known, flags: []store.Flag{}}
	j.day, _ = time.Parse(time.DateOnly, a.Day)
	if !ok {
		j.flag(Unlisted, "")
	}
	if start, err := time.Parse(time.RFC3339, a.Start); err == nil {
		if end, err := time.Parse(time.RFC3339, a.End); err == nil && end.Before(start) {
			j.flag(Reversed, "")
		}
	}
	j.conditions()
	for _, z := range a.Zones {
		j.zone(z)
	}
	return j.flags
}

func (j *judging) flag(code, zone string, words ...string) {
	f := store.Flag{Code: code, Zone: zone}
	for i := 0; i+1 < len(words); i += 2 {
		if f.Words == nil {
			f.Words = map[string]string{}
		}
		f.Words[words[i]] = words[i+1]
	}
	j.flags = append(j.flags, f)
}

// over flags a value above a limit; a limit of 0 is none.
func (j *judging) over(code, zone string, value, limit float64, words ...string) {
	if limit > 0 && value > limit*slack {
		j.flag(code, zone, append(words, "value", Say(value), "limit", Say(limit))...)
	}
}

func (j *judging) conditions() {
	l := j.m.Limits
	if wind, ok := j.number(j.a, Wind); ok {
		j.over(WindHigh, "", wind, l.WindHigh)
		if wind < l.WindLow {
			j.flag(WindLow, "", "value", Say(wind), "limit", Say(l.WindLow))
		}
	}
	if temp, ok := j.number(j.a, Temperature); ok {
		j.over(TempHigh, "", temp, l.TempHigh)
		if l.TempLow != 0 && temp < l.TempLow {
			j.flag(TempLow, "", "value", Say(temp), "limit", Say(l.TempLow))
		}
	}
}

func (j *judging) zone(z store.AppliedZone) {
	now := j.part(j.a, j.m, z)
	year := now
	times := 1
	rolling := []dated{{0, now, 1}}
	for _, e := range j.known.Earlier {
		if !inZone(e, z.Zone) {
			continue
		}
		m, _ := j.known.Material(e.Material, e.Version)
		days, known := daysBetween(e.Day, j.a.Day)
		if known {
			j.apart(e, m, z.Zone, days)
		}
		put := dated{days: days}
		for _, ez := range e.Zones {
			if ez.Zone == z.Zone {
				put.part = put.part.plus(j.part(e, m, ez))
			}
		}
		if e.Material == j.m.ID && j.m.ID != "" {
			put.times = 1
		}
		if known {
			rolling = append(rolling, put)
		}
		if yearOf(e.Day) == yearOf(j.a.Day) {
			year, times = year.plus(put.part), times+put.times
		}
	}
	label := year
	if j.m.Limits.Rolling {
		label, times = worst(rolling)
	}
	j.amounts(z.Zone, now, year, label)
	j.over(Times, z.Zone, float64(times), float64(j.m.Limits.Times))
}

// dated is what a zone got some days before what is judged (negative: after it), and how many times of the same product that was.
type dated struct {
	days  int
	part  Part
	times int
}

// worst is the most of each product and active, and the most applications, in any 365 days that hold the day judged, whose own part comes first.
// The worst of them begin on a day on which something was put down.
func worst(list []dated) (most Part, times int) {
	most = list[0].part
	for _, first := range list {
		if first.days < 0 || first.days > 364 {
			continue
		}
		var got Part
		n := 0
		for _, x := range list {
			if first.days-364 <= x.days && x.days <= first.days {
				got, n = got.plus(x.part), n+x.times
			}
		}
		most, times = Part{most.N, most.P2O5, most.K2O, larger(most.Active, got.Active), larger(most.Product, got.Product)}, max(times, n)
	}
	return most, times
}

func larger(a, b map[string]float64) map[string]float64 {
	out := maps.Clone(b)
	for k, v := range a {
		out[k] = max(out[k], v)
	}
	return out
}

// amounts holds what the zone got at once and in a year against the limits: the firm's by the calendar, the label's by its own year.
func (j *judging) amounts(zone string, now, year, label Part) {
	l := j.m.Limits
	unit := j.m.Unit
	j.over(Once, zone, now.Product[j.m.ID], l.Once, "unit", unit)
	j.over(Year, zone, label.Product[j.m.ID], l.Year, "unit", unit)
	for _, act := range j.m.Actives {
		key := fold(act.Name)
		j.over(ActiveOnce, zone, now.Active[key], act.OnceLbA, "active", act.Name)
		j.over(ActiveYear, zone, label.Active[key], act.YearLbA, "active", act.Name)
	}
	if j.m.Grade.N > 0 {
		j.over(NOnce, zone, now.N, j.known.Firm.NOnce)
		j.over(NYear, zone, year.N, j.known.Firm.NYear)
	}
}

// apart holds the days between an earlier record and this one against both labels.
func (j *judging) apart(e store.Application, m store.Material, zone string, days int) {
	if days < 0 {
		return
	}
	soon := func(code string, least int) {
		if days < least {
			j.flag(code, zone, "material", e.Name, "value", strconv.Itoa(days), "limit", strconv.Itoa(least))
		}
	}
	if e.Material == j.m.ID && j.m.ID != "" {
		soon(Interval, j.m.Limits.IntervalDays)
	}
	if j.seed(j.m) {
		soon(SeedSoon, m.Limits.SeedAfter)
	}
	if j.seed(m) {
		soon(AfterSeed, j.m.Limits.SeedBefore)
	}
}

func (b *Book) seed(m store.Material) bool { k, _ := b.Kind(m.Kind); return k.Seed }

func inZone(a store.Application, zone string) bool {
	return slices.ContainsFunc(a.Zones, func(z store.AppliedZone) bool { return z.Zone == zone })
}

func yearOf(day string) string { y, _, _ := strings.Cut(day, "-"); return y }

// daysBetween counts the days from one local day to another.
func daysBetween(from, to string) (int, bool) {
	a, err := time.Parse(time.DateOnly, from)
	if err != nil {
		return 0, false
	}
	b, err := time.Parse(time.DateOnly, to)
	return int(b.Sub(a).Hours() / 24), err == nil
}

func fold(name string) string { return strings.ToLower(strings.TrimSpace(name)) }

// Say writes a number with up to three decimals, for the words of a flag.
func Say(x float64) string { return strconv.FormatFloat(math.Floor(x*1000+0.5)/1000, 'f', -1, 64) }
