package sprayer

import (
	"fmt"
	"math"
	"strings"

	"swardbook/diagnose/agronomy"
)

const (
	activeSource   = "Agrochemical and Pesticide Safety Handbook, examples 4 and 5; University of Missouri Extension G1272, How much chemical to mix"
	mixSource      = "tank-mix arithmetic from the label's rate and the measured output (standard label arithmetic, memory)"
	dilutionSource = "Calculating dilutions (farm-supply page after extension text); U.S. Army MD0173, Pesticides in the military: product = finished spray × strength ÷ strength of the concentrate"
)

var (
	inRate     = agronomy.Input{Name: "product_rate", Also: []string{"product", "label_rate"}, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2"}, Range: agronomy.Above(0), Says: "product on an area, as volume or weight"}
	inMixRate  = agronomy.Input{Name: "product_rate", Also: []string{"product", "label_rate"}, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2", "lb/100 gal", "fl oz/gal"}, Range: agronomy.Above(0), Says: "product on an area, or in a volume of spray"}
	inLabelTop = agronomy.Input{Name: "label_max_rate", Also: []string{"max_rate", "label_maximum_rate"}, Unit: "fl oz/1000 ft2", Or: []string{"lb/1000 ft2"}, Range: agronomy.Above(0), Says: "the label's greatest rate in one application"}
	inArea     = agronomy.Input{Name: "area", Also: []string{"treated_area", "spray_area"}, Unit: "ft2", Range: agronomy.Above(0), Says: "ground to spray"}
	inTank     = agronomy.Input{Name: "tank", Also: []string{"tank_size", "tank_volume"}, Unit: "gal", Range: agronomy.Above(0), Says: "what the tank holds"}
	inAIRate   = agronomy.Input{Name: "ai_rate", Also: []string{"rate", "ae_rate"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "active ingredient, or acid equivalent, on an area"}
	inDry      = agronomy.Input{Name: "formulation", Also: []string{"ai_percent", "percent_ai"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "active ingredient in a dry product"}
	inStrength = agronomy.Input{Name: "concentration", Also: []string{"acid_equivalent", "ai_per_gal", "ai_per_gallon", "ae_per_gal"}, Unit: "lb/gal", Range: agronomy.AboveTo(0, 20), Says: "active ingredient, or acid equivalent, in a gallon"}
)

// top is what stands over the stroke of a rate, without the substance: lb ai/acre is lb.
func top(unit string) string {
	head, _, _ := strings.Cut(unit, "/")
	return strings.TrimSpace(agronomy.Bare(strings.TrimSpace(head)))
}

func isVolume(unit string) bool { return agronomy.SameKind(top(unit), "gal") }

// totalUnit is the unit of a total of a rate: what stands over its stroke, large volumes as gallons.
func totalUnit(rate string) string {
	switch t := top(rate); t {
	case "pt", "qt", "gal":
		return "gal"
	default:
		return t
	}
}

// smallOn is the small measure a person pours or weighs on 1000 ft2 or 100 m2.
func smallOn(rate string) string {
	switch {
	case agronomy.Metric(rate) && isVolume(rate):
		return "mL/100 m2"
	case agronomy.Metric(rate):
		return "g/100 m2"
	case isVolume(rate):
		return "fl oz/1000 ft2"
	}
	return "oz/1000 ft2"
}

// ProductPer1000 is a product rate on 1000 ft2 or 100 m2, in the measure that is poured or weighed.
func ProductPer1000(rate agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("on 1000 ft² = on an acre ÷ 43.56", unitSource)
	v := s.Take(inRate, rate)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(v, inRate.WorkUnit(rate.Unit), smallOn(rate.Unit)), s.Err()
}

// ProductTotal is the product for an area, in the measure of the rate (gallons for pints and quarts).
func ProductTotal(rate, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product = rate × area", mixSource)
	r, a := s.Take(inRate, rate), s.Take(inArea, area)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(r*a/1000, top(inRate.WorkUnit(rate.Unit)), totalUnit(rate.Unit)), s.Err()
}

// WithinLabel refuses a product rate above the label's greatest rate; reaching it exactly is allowed.
func WithinLabel(rate, most agronomy.Quantity) error {
	s := agronomy.NewSheet("", "")
	r, m := s.Take(inRate, rate), s.Take(inLabelTop, most)
	if s.Err() != nil {
		return s.Err()
	}
	if inRate.WorkUnit(rate.Unit) != inLabelTop.WorkUnit(most.Unit) {
		return agronomy.Refuse("label_max_rate", most.String(), "of the same kind as product_rate, "+rate.String())
	}
	if !agronomy.NoMore(r, m) {
		return agronomy.Refuse("product_rate", rate.String(), "no more than the label's "+most.String())
	}
	return nil
}

// SprayTotal is the spray for an area.
func SprayTotal(area, output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("spray = output × area", activeSource)
	a, o := s.Take(inArea, area), s.Take(inOutput, output)
	return s.In(o*a/1000, "gal", agronomy.VolumeLike(output.Unit)), s.Err()
}

// PerGallon is the product in a gallon of spray: fl oz or oz a gallon, mL or g a litre.
func PerGallon(rate, output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product in a gallon = product rate ÷ output", mixSource)
	r, o := s.Take(inRate, rate), s.Take(inOutput, output)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	small := top(smallOn(rate.Unit)) + "/gal"
	if agronomy.Metric(rate.Unit) {
		small = top(smallOn(rate.Unit)) + "/L"
	}
	return s.In(r/o, top(inRate.WorkUnit(rate.Unit))+"/gal", small), s.Err()
}

// AreaPerGallon is the ground that a gallon covers, in square feet or square metres.
func AreaPerGallon(output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ground for a gallon = 1 ÷ output", courseSource)
	o := s.Take(inOutput, output)
	return s.In(1000/o, "ft2", agronomy.GroundLike(output.Unit)), s.Err()
}

// AreaPerLitre is the ground that a litre covers, in square metres.
func AreaPerLitre(output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ground for a litre = 1 ÷ output", courseSource)
	o := s.Take(inOutput, output)
	return s.In(1000/o/agronomy.MustConvert(1, "gal", "L"), "ft2", "m2"), s.Err()
}

// AreaPerTank is the ground that a tank covers: acres or hectares when the output is by them, or ft2, or m2.
func AreaPerTank(tank, output agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("ground for a tank = tank ÷ output", "boom-sprayer seven-step note (chemical maker's turf page)")
	t, o := s.Take(inTank, tank), s.Take(inOutput, output)
	return s.In(t/o*1000, "ft2", agronomy.AreaLike(output.Unit)), s.Err()
}

// ProductPerTank is the product for a full tank at a rate on an area.
func ProductPerTank(rate, output, tank agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product for a tank = tank ÷ output × product rate", mixSource)
	r, o, t := s.Take(inRate, rate), s.Take(inOutput, output), s.Take(inTank, tank)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(t/o*r, top(inRate.WorkUnit(rate.Unit)), totalUnit(rate.Unit)), s.Err()
}

var inMix = agronomy.Input{Name: "product_rate", Also: []string{"product"}, Unit: "lb/100 gal", Or: []string{"fl oz/gal"}, Range: agronomy.Above(0), Says: "product in a volume of spray"}

// ProductInTank is the product for a tank at a rate in a volume of spray ("2 lb/100 gal", "1.5 fl oz/gal").
func ProductInTank(rate, tank agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product for a tank = tank × rate in a volume", "Calculating dilutions (farm-supply page after extension text)")
	r, t := s.Take(inMix, rate), s.Take(inTank, tank)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	if inMix.WorkUnit(rate.Unit) == "fl oz/gal" {
		if agronomy.Metric(rate.Unit) {
			return s.In(r*t, "fl oz", "mL"), s.Err()
		}
		return s.Number(r*t, "fl oz"), s.Err()
	}
	return s.In(r*t/100, "lb", totalUnit(rate.Unit)), s.Err()
}

// MixRate is a rate in a volume of spray on one gallon, or one litre.
func MixRate(rate agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product in a gallon, as given for a volume", mixSource)
	r := s.Take(inMix, rate)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	if inMix.WorkUnit(rate.Unit) == "fl oz/gal" {
		return s.In(r, "fl oz/gal", map[bool]string{true: "mL/L", false: "fl oz/gal"}[agronomy.Metric(rate.Unit)]), s.Err()
	}
	return s.In(r, "lb/100 gal", map[bool]string{true: "g/L", false: "oz/gal"}[agronomy.Metric(rate.Unit)]), s.Err()
}

// Tanks is how a job's spray is filled.
type Tanks struct {
	Total   agronomy.Result // spray for the area
	Full    agronomy.Result // full tanks
	Partial agronomy.Result // last tank; 0 when the full ones are enough
	Fills   agronomy.Result // full and partial
}

// Fill parts the spray for an area into full tanks and a last partial one.
func Fill(area, output, tank agronomy.Quantity) (Tanks, error) {
	spray, err := SprayTotal(area, output)
	if err != nil {
		return Tanks{}, err
	}
	s := agronomy.NewSheet("full tanks = spray ÷ tank, rounded down; the rest is the last tank", mixSource)
	inSpray := agronomy.Input{Name: "spray_total", Unit: "gal", Range: agronomy.Above(0), Says: "spray for the area"}
	g, t := s.Take(inSpray, spray.Quantity()), s.Take(inTank, tank)
	full := agronomy.Down(g / t)
	rest := g - full*t
	if rest < 1e-9*t {
		rest = 0
	}
	unit := agronomy.VolumeLike(tank.Unit)
	out := Tanks{Total: spray, Full: s.Number(full, "count"), Partial: s.In(rest, "gal", unit), Fills: s.Number(agronomy.Up(g/t), "count")}
	return out, s.Err()
}

var inPartial = agronomy.Input{Name: "partial_tank", Unit: "gal", Range: agronomy.AtLeast(0), Says: "spray in the last tank"}

// ProductInPartial is the product for a part of a tank, at the same ratio as a full one.
func ProductInPartial(rate, output, partial agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product = part of the tank ÷ output × product rate", mixSource)
	r, o, t := s.Take(inRate, rate), s.Take(inOutput, output), s.Take(inPartial, partial)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(t/o*r, top(inRate.WorkUnit(rate.Unit)), totalUnit(rate.Unit)), s.Err()
}

// counted is what a unit counts: "ae" for acid equivalent, "ai" for active ingredient, "" when it doesn't say.
func counted(unit string) string {
	for _, word := range strings.FieldsFunc(unit, func(r rune) bool { return r == ' ' || r == '/' }) {
		switch word {
		case "ae", "a.e.":
			return "ae"
		case "ai", "a.i.":
			return "ai"
		}
	}
	return ""
}

// oneSubstance refuses acid equivalent against active ingredient: a label uses one or the other.
func oneSubstance(name string, given agronomy.Quantity, other string) error {
	a, b := counted(given.Unit), counted(other)
	if a != "" && b != "" && a != b {
		return agronomy.RefuseSay(name, given.String(), "in "+b, fmt.Sprintf("%s is %s, counted as %s, and the other as %s: acid equivalent is not active ingredient.", name, given, a, b))
	}
	return nil
}

// ProductFromDry is the dry product that brings a rate of active ingredient, per area as the rate is given.
func ProductFromDry(aiRate, percent agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product = active ingredient ÷ (% ÷ 100)", activeSource)
	s.Refuse(oneSubstance("formulation", percent, aiRate.Unit))
	r, p := s.Take(inAIRate, aiRate), s.Take(inDry, percent)
	return s.In(r/(p/100), "lb/1000 ft2", agronomy.MassOn(aiRate.Unit)), s.Err()
}

// ProductFromLiquid is the liquid product that brings a rate of active ingredient or acid equivalent: pints on an acre,
// fl oz on 1000 ft2, litres on a hectare, mL on 100 m2.
func ProductFromLiquid(aiRate, perGallon agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("product = active ingredient ÷ active ingredient in a gallon", activeSource)
	s.Refuse(oneSubstance("concentration", perGallon, aiRate.Unit))
	r, c := s.Take(inAIRate, aiRate), s.Take(inStrength, perGallon)
	unit := map[string]string{"gal/acre": "pt/acre", "gal/1000 ft2": "fl oz/1000 ft2", "L/ha": "L/ha", "L/100 m2": "mL/100 m2"}[agronomy.VolumeOn(aiRate.Unit)]
	return s.In(r/c, "gal/1000 ft2", unit), s.Err()
}

// ActiveRate is the active ingredient that a rate of product brings: of a dry one by percent, of a liquid one by weight in
// a gallon. It is given on an acre, or hectare.
func ActiveRate(rate, strength agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("active ingredient = product rate × strength", activeSource)
	ai := active(s, rate, strength)
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	return s.In(ai, "lb/1000 ft2", acreUnit(rate.Unit)), s.Err()
}

func acreUnit(like string) string {
	if agronomy.Metric(like) {
		return "kg/ha"
	}
	return "lb/acre"
}

var inEither = agronomy.Input{Name: "concentration", Unit: "lb/gal", Or: []string{"%"}, Range: agronomy.AboveTo(0, 100), Says: "active ingredient in a gallon, or percent of a dry product"}

// active is the active ingredient of a rate in lb/1000 ft2.
func active(s *agronomy.Sheet, rate, strength agronomy.Quantity) float64 {
	r, c := s.Take(inRate, rate), s.Take(inEither, strength)
	if s.Err() != nil {
		return math.NaN()
	}
	liquid, byVolume := inRate.WorkUnit(rate.Unit) == "fl oz/1000 ft2", inEither.WorkUnit(strength.Unit) == "lb/gal"
	if liquid != byVolume {
		want := map[bool]string{true: "in a gallon, like 2 lb ai/gal, since the product is measured by volume", false: "in percent, since the product is weighed"}[liquid]
		s.Refuse(agronomy.Refuse("concentration", strength.String(), want))
	}
	if liquid {
		return r / 128 * c
	}
	return r * c / 100
}

var (
	inConcentrate = agronomy.Input{Name: "concentrate", Also: []string{"concentration", "concentrate_strength"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "strength of the concentrate"}
	inFinished    = agronomy.Input{Name: "strength", Also: []string{"final_concentration", "wanted_strength", "finished_strength", "final_strength"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "strength of the finished spray"}
	inVolume      = agronomy.Input{Name: "volume", Also: []string{"finished_volume", "spray_volume"}, Unit: "gal", Range: agronomy.Above(0), Says: "finished spray"}
)

// Dilute is the concentrate and the water that make a volume of finished spray of a strength, and the parts of water to
// one part of concentrate.
func Dilute(concentrate, strength, volume agronomy.Quantity) (product, water, parts agronomy.Result, err error) {
	s := agronomy.NewSheet("product = finished spray × strength ÷ strength of the concentrate; parts of water = concentrate ÷ strength − 1", dilutionSource)
	c, f := s.Take(inConcentrate, concentrate), s.Take(inFinished, strength)
	if s.Err() == nil && f > c {
		s.Refuse(agronomy.Refuse("strength", strength.String(), "no more than the concentrate's "+concentrate.String()))
	}
	parts = s.Number(c/f-1, "ratio")
	if volume.Unit == "" {
		return product, water, parts, s.Err()
	}
	v := s.Take(inVolume, volume)
	unit := agronomy.VolumeLike(volume.Unit)
	return s.In(v*f/c, "gal", unit), s.In(v*(1-f/c), "gal", unit), parts, s.Err()
}
