package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/intake"
	"swardbook/store/record"
)

// The names under which the settings hold what a plan asks of the firm and of a zone.
const (
	placeSetting = "place"
	lawnSetting  = "lawn " // and the zone's id
)

// lawn is what a plan must know of a zone and no check asks.
type lawn struct {
	Grass string      `json:"grass"`
	Facts []plan.Fact `json:"facts"`
}

// yearsBack is how far back what was put down is looked at: labels count over a year, intervals over less.
const yearsBack = 2

// planInput gathers everything a plan of a visit rests on.
func (d *Desk) planInput(ctx context.Context, a asking, o opened, draft planDraft, stock stocked) (plan.Input, error) {
	today := d.now().In(a.place).Format(time.DateOnly)
	in := plan.Input{Day: max(today, o.visit.Day), Overruled: draft.Overruled}
	if err := d.db.Setting(ctx, placeSetting, &in.Place); err != nil {
		return in, err
	}
	if o.property.Region != "" {
		in.Place.Region = o.property.Region
	}
	if err := d.planZones(ctx, o, &in); err != nil {
		return in, err
	}
	if err := d.planMaterials(ctx, o, &in, stock); err != nil {
		return in, err
	}
	if err := d.planWorks(ctx, o.property.ID, &in); err != nil {
		return in, err
	}
	firm, err := d.recordFirm(ctx)
	if err != nil {
		return in, err
	}
	in.Limits = firmLimits(a, firm)
	s, err := d.station(ctx, a)
	if s != nil {
		in.Weather = s
	}
	return in, err
}

func firmLimits(a asking, f record.Firm) []plan.Limit {
	var out []plan.Limit
	for per, most := range map[string]float64{plan.PerApplication: f.NOnce, plan.PerYear: f.NYear} {
		if most > 0 {
			out = append(out, plan.Limit{Of: "N", Per: per, Max: agronomy.Q(most, "lb N/1000 ft2"), Why: a.words.T("plan.firm_limit")})
		}
	}
	return out
}

// planZones are the zones with an answer: what is thought of them, what was said of it, and what was seen.
func (d *Desk) planZones(ctx context.Context, o opened, in *plan.Input) error {
	answers, err := d.answers(ctx, o.visit.ID)
	if err != nil {
		return err
	}
	for _, s := range o.states {
		found, ok := answers[s.zone.ID]
		if !ok || found.failed != "" || s.zone.AreaSqFt <= 0 {
			continue
		}
		z, err := d.planZone(ctx, o, s, found)
		if err != nil {
			return err
		}
		in.Zones = append(in.Zones, z)
	}
	return nil
}

// planZone is one zone as a plan sees it.
func (d *Desk) planZone(ctx context.Context, o opened, s zoneState, found diagnosed) (plan.Zone, error) {
	z := plan.Zone{ID: s.zone.ID, Name: s.zone.Name, Area: agronomy.Q(s.zone.AreaSqFt, "ft2"), Answer: found.answer, Judged: map[string]string{}}
	for cause, review := range overrulings(o.reviews, s.zone.ID) {
		z.Judged[cause] = judgements[review.Judgement]
	}
	seen := diagnose.Observe(&d.know().Bundle, intake.Values(d.know(), s.zone.ID, o.readings))
	z.Facts = plan.Facts(seen, o.visit.Day, d.unitOf)
	known, err := d.lawn(ctx, s.zone.ID)
	z.Grass, z.Facts = known.Grass, append(z.Facts, known.Facts...)
	return z, err
}

func (d *Desk) lawn(ctx context.Context, zone string) (l lawn, err error) {
	err = d.db.Setting(ctx, lawnSetting+zone, &l)
	return l, err
}

// unitOf is the unit that a measured finding is in: that of the check it comes from.
func (d *Desk) unitOf(finding string) string {
	for _, c := range d.know().Bundle.Checks {
		for _, y := range c.Yields {
			if y.Finding == finding && len(c.Units) > 0 {
				return c.Units[0].ID
			}
		}
	}
	return ""
}

// planMaterials are what the firm offers, and what was put down here since two years.
func (d *Desk) planMaterials(ctx context.Context, o opened, in *plan.Input, stock stocked) error {
	list, err := d.db.Materials(ctx)
	if err != nil {
		return err
	}
	left, err := stock(ctx, list)
	if err != nil {
		return err
	}
	for _, m := range list {
		if !m.Retired {
			in.Materials = append(in.Materials, planMaterial(m, left[m.ID]))
		}
	}
	material, err := d.materialOf(ctx)
	if err != nil {
		return err
	}
	since := d.now().AddDate(-yearsBack, 0, 0).Format(time.DateOnly)
	all, err := d.db.Applications(ctx, store.ApplicationFilter{Property: o.property.ID, FromDay: since})
	if err != nil {
		return err
	}
	for _, x := range record.Current(all) {
		m, known := material(x.Material, x.Version)
		for i, z := range x.Zones {
			p := plan.Applied{ID: fmt.Sprint(x.ID, "/", i), Day: x.Day, Zones: []string{z.Zone}}
			if known && z.AreaSqFt > 0 {
				pm := planMaterial(m, 0)
				rate := agronomy.Q(z.Amount/z.AreaSqFt*1000, x.Unit+per1000)
				p.Material, p.Rate = &pm, &rate
			}
			in.Applied = append(in.Applied, p)
		}
	}
	return nil
}

// planWorks are the steps of signed plans that were done and put nothing down: coring, raking, digging. What put something
// down has its own record.
func (d *Desk) planWorks(ctx context.Context, property string, in *plan.Input) error {
	signed, err := d.db.Plans(ctx, property)
	if err != nil {
		return err
	}
	visits, err := d.db.Visits(ctx, store.VisitFilter{Property: property})
	if err != nil {
		return err
	}
	became := map[string]store.Visit{}
	for _, v := range visits {
		became[v.ID] = v
	}
	for _, p := range signed {
		var body plan.Plan
		if err := json.Unmarshal(p.Body, &body); err != nil {
			return err
		}
		for _, st := range p.Steps {
			if st.N >= len(body.Steps) || st.Day == "" {
				continue
			}
			if _, done := record.Fulfilled(st, body.Steps[st.N], became[st.Visit], nil); done {
				in.Applied = append(in.Applied, worksOf(record.StepKey(p.ID, st.N), st.Day, body.Steps[st.N])...)
			}
		}
	}
	return nil
}

func worksOf(id, day string, s plan.Step) []plan.Applied {
	a := plan.Applied{ID: id, Day: day, Works: s.Works}
	for _, part := range s.Parts {
		a.Zones = append(a.Zones, part.Zone)
	}
	if len(s.Works) == 0 || slices.ContainsFunc(s.Goods, func(g plan.Goods) bool { return g.Material != "" }) {
		return nil
	}
	return []plan.Applied{a}
}

const per1000 = "/1000 ft2"

// planMaterial is a material as a plan asks for it. What the label does not name is left out.
func planMaterial(m store.Material, left float64) plan.Material {
	out := plan.Material{
		ID: m.ID, Version: int(m.Version), Name: m.Name, Uses: m.Uses, Formulation: m.Formulation, Registration: m.RegNo, CCE: m.CCE, Rate: perThousand(m.Rate, m.Unit),
	}
	if g := m.Grade; g.N+g.P2O5+g.K2O > 0 {
		out.Grade = &plan.Grade{N: g.N, P2O5: g.P2O5, K2O: g.K2O, SlowN: g.SlowN, Yield: m.Density}
	}
	for _, act := range m.Actives {
		x := plan.Active{Name: strings.ToLower(act.Name), Percent: act.Percent, MaxOnce: quantity(act.OnceLbA, "lb/acre"), MaxYear: quantity(act.YearLbA, "lb/acre"), Density: quantity(act.LbPerGal, "lb/gal")}
		out.Actives = append(out.Actives, x)
	}
	if len(m.Seed) > 0 {
		out.Seed = seedOf(m.Seed)
	}
	if m.UnitCost > 0 {
		out.Cost = &plan.Price{Cents: int64(m.UnitCost*100 + 0.5), Pack: agronomy.Q(1, m.Unit)}
	}
	if m.StockDay != "" {
		q := agronomy.Q(left, m.Unit)
		out.Stock = &q
	}
	out.Label = planLabel(m)
	return out
}

func planLabel(m store.Material) plan.Label {
	l := m.Limits
	out := plan.Label{
		MaxRate: perThousand(l.Once, m.Unit), MaxYear: perThousand(l.Year, m.Unit), MaxTimes: l.Times, Rolling: l.Rolling, Interval: l.IntervalDays, ReEntry: l.ReentrySay,
		ReEntryTime: quantity(l.ReentryHours, "h"), WindMin: quantity(l.WindLow, "mi/h"), WindMax: quantity(l.WindHigh, "mi/h"), TempMin: quantity(l.TempLow, "F"), TempMax: quantity(l.TempHigh, "F"),
	}
	if l.SeedAfter > 0 {
		out.ToSeeding = &l.SeedAfter
	}
	if l.SeedBefore > 0 {
		out.FromSeeding = &l.SeedBefore
	}
	return out
}

// seedOf is a blend: purity by the grasses' shares, and germination so that the two give its pure live seed.
func seedOf(lots []store.SeedLot) *plan.Seed {
	s := &plan.Seed{}
	whole, alive := 0.0, 0.0
	for _, l := range lots {
		s.Shares = append(s.Shares, plan.Share{Grass: l.Grass, Share: l.Share / 100})
		s.Purity += l.Share * l.Purity
		alive += l.Share * l.Purity * l.Germination
		whole += l.Share
	}
	if whole > 0 && s.Purity > 0 {
		s.Purity, s.Germination = s.Purity/whole/100, alive/s.Purity/100
	}
	return s
}

func perThousand(x float64, unit string) *agronomy.Quantity { return quantity(x, unit+per1000) }

// quantity is nil for a number that the label does not name.
func quantity(x float64, unit string) *agronomy.Quantity {
	if x == 0 {
		return nil
	}
	q := agronomy.Q(x, unit)
	return &q
}
