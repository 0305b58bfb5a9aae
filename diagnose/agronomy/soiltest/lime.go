// Package soiltest reads soil tests: lime from buffers, classes of phosphorus and potassium by extractant, what a deficit
// weighs on the ground, sodium, and gypsum. A number is never compared without its extractant, unit and depth.
package soiltest

import (
	_ "embed"
	"fmt"
	"math"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/rows"
)

const (
	tableSource    = "Penn State Agricultural Analytical Services Laboratory, lime recommendations for turf, by Mehlich-buffer acidity"
	bufferSource   = "North Carolina Department of Agriculture, buffer table and lime formula: acidity = 4 × (6.6 − buffer pH)"
	materialSource = "material = requirement ÷ (calcium carbonate equivalent ÷ 100); surface caps: 50 lb/1000 ft² is common practice, Purdue AY-18 allows 100 on higher-cut turf"
)

//go:embed data/lime.csv
var limeText string

// limeRow is a line of the table: lb CCE/1000 ft2 for the pH goals 7.0, 6.5 and 6.0.
type limeRow struct {
	acidity float64
	goal    map[float64]float64
}

var limeTable = func() []limeRow {
	var table []limeRow
	for _, r := range rows.Must(limeText, "acidity", "goal_7.0", "goal_6.5", "goal_6.0") {
		table = append(table, limeRow{r.Number("acidity"), map[float64]float64{7: r.Number("goal_7.0"), 6.5: r.Number("goal_6.5"), 6: r.Number("goal_6.0")}})
	}
	return table
}()

var (
	inAcidity  = agronomy.Input{Name: "exchangeable_acidity", Also: []string{"acidity", "buffer_acidity"}, Unit: "meq/100 g", Range: agronomy.Between(0, limeTable[len(limeTable)-1].acidity), Says: "acidity by the Mehlich buffer"}
	inGoal     = agronomy.Input{Name: "ph_goal", Also: []string{"goal_ph", "goal"}, Unit: "pH", Range: agronomy.Between(6, 7), Says: "pH aimed at: 6.0, 6.5 or 7.0"}
	inPH       = agronomy.Input{Name: "soil_ph", Also: []string{"ph"}, Unit: "pH", Range: agronomy.Between(3, 10), Says: "pH of the soil in water"}
	inBuffer   = agronomy.Input{Name: "buffer_ph", Also: []string{"mehlich_buffer_ph"}, Unit: "pH", Range: agronomy.Between(3, 6.6), Says: "pH in the Mehlich buffer; other buffers are not interchangeable"}
	inTarget   = agronomy.Input{Name: "target_ph", Also: []string{"target"}, Unit: "pH", Range: agronomy.Range{Min: 4, Max: 6.6, HasMin: true, HasMax: true, MaxOpen: true}, Says: "pH aimed at"}
	inResidual = agronomy.Input{Name: "residual_credit", Also: []string{"credit"}, Unit: "ton/acre", Range: agronomy.AtLeast(0), Says: "lime of earlier years that still works"}
	inNeed     = agronomy.Input{Name: "lime_cce", Also: []string{"requirement", "lime_requirement", "lime"}, Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "requirement as pure calcium carbonate"}
	inCCE      = agronomy.Input{Name: "material_cce", Also: []string{"cce", "neutralizing_value"}, Unit: "%", Range: agronomy.AboveTo(0, 180), Says: "calcium carbonate equivalent of the material"}
	inFineness = agronomy.Input{Name: "fineness", Also: []string{"fineness_efficiency", "efficiency"}, Unit: "%", Range: agronomy.AboveTo(0, 100), Says: "how much of the material is fine enough to work, where an effective equivalent is wanted"}
	inSurface  = agronomy.Input{Name: "max_per_application", Also: []string{"cap", "surface_cap"}, Unit: "lb/1000 ft2", Range: agronomy.Above(0), Says: "most lime on the surface at once"}
	inArea     = agronomy.Input{Name: "area", Unit: "ft2", Range: agronomy.Above(0), Says: "ground to treat"}
	inMaterial = agronomy.Input{Name: "material", Unit: "lb/1000 ft2", Range: agronomy.AtLeast(0), Says: "material on an area"}
	inBag      = agronomy.Input{Name: "bag", Unit: "lb", Range: agronomy.Above(0), Says: "weight of a bag"}
	inWeight   = agronomy.Input{Name: "material_total", Unit: "lb", Range: agronomy.AtLeast(0), Says: "material for the area"}
)

// FromTable is the lime of the turf table, as calcium carbonate, by the row at or next above the acidity. Nothing is
// needed where the soil's pH (without unit: not known) is at the goal already.
func FromTable(acidity, goal, soilPH agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("lime out of the table, by the row at or next above the acidity", tableSource)
	a, g := s.Take(inAcidity, acidity), s.Take(inGoal, goal)
	if s.Err() == nil && g != 6 && g != 6.5 && g != 7 {
		s.Refuse(agronomy.Refuse("ph_goal", goal.String(), "6.0, 6.5 or 7.0, the goals of the table"))
	}
	if soilPH.Unit != "" {
		if ph := s.Take(inPH, soilPH); ph >= g {
			s.Remark("The soil's pH is at the goal already: no lime.")
			return s.Number(0, "lb CCE/1000 ft2"), s.Err()
		}
	}
	if s.Err() != nil {
		return agronomy.Result{}, s.Err()
	}
	for _, row := range limeTable {
		if a <= row.acidity+1e-9 {
			s.Step("row", row.acidity, "meq/100 g", fmt.Sprintf("the table's row at or next above %s", agronomy.Figure(a)))
			return s.Number(row.goal[g], "lb CCE/1000 ft2"), s.Err()
		}
	}
	return agronomy.Result{}, agronomy.Refuse("exchangeable_acidity", acidity.String(), inAcidity.Range.Say(inAcidity.Unit))
}

// ByBuffer is the lime of the buffer formula.
type ByBuffer struct {
	Acidity agronomy.Result // meq/100 cm3
	Factor  agronomy.Result // share of the acidity to neutralise
	Lime    agronomy.Result // ton/acre, or tonne/ha for a metric credit
}

// FromBuffer works out lime from soil pH, buffer pH and target. A soil at its target needs none; a credit never makes
// lime less than nothing.
func FromBuffer(buffer, soilPH, target, credit agronomy.Quantity) (ByBuffer, error) {
	s := agronomy.NewSheet("lime = 4 × (6.6 − buffer pH) × (target − pH) ÷ (6.6 − pH) − residual credit", bufferSource)
	b, ph, goal := s.Take(inBuffer, buffer), s.Take(inPH, soilPH), s.Take(inTarget, target)
	residual := 0.0
	if credit.Unit != "" {
		residual = s.Take(inResidual, credit)
	}
	if s.Err() != nil {
		return ByBuffer{}, s.Err()
	}
	acidity := s.Step("acidity", 4*(6.6-b), "meq/100 cm3", "4 × (6.6 − buffer pH)")
	out := ByBuffer{Acidity: s.Number(acidity, "meq/100 cm3")}
	factor := 0.0
	if ph >= goal {
		s.Remark("The soil's pH is at the target already: no lime.")
	} else {
		factor = (goal - ph) / (6.6 - ph)
	}
	out.Factor = s.Number(s.Step("factor", factor, "ratio", "(target − pH) ÷ (6.6 − pH)"), "ratio")
	lime := acidity*factor - residual
	if lime < 0 {
		s.Remark("The credit covers the need.")
	}
	unit := "ton/acre"
	if agronomy.Metric(credit.Unit) {
		unit = "Mg/ha"
	}
	out.Lime = s.In(math.Max(0, lime), "ton/acre", unit)
	return out, s.Err()
}

// Material is the weight of a liming material for a requirement: by its equivalent, and by its fineness when that has a
// unit.
func Material(need, cce, fineness agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("material = requirement ÷ (CCE ÷ 100) ÷ (fineness ÷ 100, when given)", materialSource)
	n, c := s.Take(inNeed, need), s.Take(inCCE, cce)
	m := n / (c / 100)
	if fineness.Unit != "" {
		m /= s.Take(inFineness, fineness) / 100
	}
	return s.In(m, "lb/1000 ft2", agronomy.MassOn(need.Unit)), s.Err()
}

// Applications is in how many applications a material goes down under a surface cap: rounded up.
func Applications(material, most agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("applications = material ÷ most at once, rounded up", materialSource)
	m, c := s.Take(inMaterial, material), s.Take(inSurface, most)
	return s.Number(agronomy.Up(m/c), "count"), s.Err()
}

// Each is the material of each of so many equal applications.
func Each(material, count agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("each application = material ÷ applications", materialSource)
	in := agronomy.Input{Name: "applications", Unit: "count", Range: agronomy.AtLeast(1), Says: "applications"}
	m, n := s.Take(inMaterial, material), s.Take(in, count)
	return s.In(m/n, "lb/1000 ft2", agronomy.MassOn(material.Unit)), s.Err()
}

// Total is a material for an area.
func Total(material, area agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("total = material × area", materialSource)
	m, a := s.Take(inMaterial, material), s.Take(inArea, area)
	return s.In(m*a/1000, "lb", agronomy.MassLike(area.Unit)), s.Err()
}

// Bags is whole bags of a material: rounded up.
func Bags(total, bag agronomy.Quantity) (agronomy.Result, error) {
	s := agronomy.NewSheet("bags = total ÷ weight of a bag, rounded up", materialSource)
	t, b := s.Take(inWeight, total), s.Take(inBag, bag)
	return s.Number(agronomy.Up(t/b), "count"), s.Err()
}
