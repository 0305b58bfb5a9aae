package irrigation

import "swardbook/diagnose/agronomy"

// Formulas are what this package adds to the registry.
func Formulas() []agronomy.Formula {
	return []agronomy.Formula{canAudit(), multiplier(), runTime(), flowRate(), bucket(), coefficient(), allowance(), cycles()}
}

func canAudit() agronomy.Formula {
	return agronomy.Formula{
		Name: "can_audit", Does: "Rate and uniformity of a sprinkler zone from catch cans.", Source: auditSource,
		Inputs: []agronomy.Input{inCatch, inMean, inThroat, inDiameter, inTime, inDULQ, inHead, inWind},
		Outputs: []agronomy.Output{
			{Name: "mean", Unit: "mL", Says: "mean catch"}, {Name: "can_count", Unit: "cans"}, {Name: "low_quarter_count", Unit: "cans"}, {Name: "low_quarter_mean", Unit: "mL"},
			{Name: "du_lq", Also: []string{"low_quarter_uniformity", "distribution_uniformity", "du"}, Unit: "fraction", Says: "low-quarter uniformity"}, {Name: "low_half_count", Unit: "cans"}, {Name: "low_half_mean", Unit: "mL"},
			{Name: "du_lh", Also: []string{"low_half_uniformity"}, Unit: "fraction", Says: "low-half uniformity"}, {Name: "cu", Also: []string{"christiansen", "christiansen_cu", "uniformity_coefficient"}, Unit: "fraction", Says: "Christiansen's coefficient"},
			{Name: "scheduling_multiplier", Unit: "ratio", Says: "from the measured low half"}, {Name: "net_precip_rate", Also: []string{"precip_rate"}, Unit: "in/h"}, {Name: "throat_area", Unit: "in2"},
			{Name: "rating", Unit: "class", Says: "of the low-quarter uniformity"}, {Name: "wind_ok", Unit: "boolean", Says: "calm enough for the test to count"},
		},
		Ways: []agronomy.Way{
			{Needs: []string{"catch"}, Run: runAudit},
			{Needs: []string{"catch", "head_type"}, Run: runRating},
			{Needs: []string{"du_lq", "head_type"}, Run: runRating},
			{Needs: []string{"wind"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				ok, err := CalmEnough(v.Q("wind"))
				return agronomy.Results{"wind_ok": ok}, err
			}},
			{Needs: []string{"throat_diameter"}, Run: runMouth},
			{Needs: []string{"catch", "test_time"}, May: []string{"throat_area", "throat_diameter"}, Run: runNetRate},
			{Needs: []string{"mean_catch", "test_time"}, May: []string{"throat_area", "throat_diameter"}, Run: runNetRate},
		},
	}
}

func runAudit(v agronomy.Values) (agronomy.Results, error) {
	a, err := AuditCans(v.List("catch"))
	if err != nil {
		return nil, err
	}
	out := agronomy.Results{"mean": a.Mean, "can_count": a.Count, "low_quarter_count": a.LowCount, "low_quarter_mean": a.LowMean, "du_lq": a.DULQ,
		"low_half_count": a.HalfCount, "low_half_mean": a.HalfMean, "du_lh": a.DULH, "cu": a.CU}
	if a.Multiplier.Unit != "" {
		out["scheduling_multiplier"] = a.Multiplier
	}
	return out, nil
}

func runRating(v agronomy.Values) (agronomy.Results, error) {
	du := v.Q("du_lq")
	if v.Has("catch") {
		a, err := AuditCans(v.List("catch"))
		if err != nil {
			return nil, err
		}
		du = a.DULQ.Quantity()
	}
	word, err := Rating(du, v.Text("head_type"))
	return agronomy.Results{"rating": word}, err
}

func runMouth(v agronomy.Values) (agronomy.Results, error) {
	s := agronomy.NewSheet("mouth = π × diameter² ÷ 4", "plane geometry")
	s.Take(inDiameter, v.Q("throat_diameter"))
	mouth, err := MouthOf(v.Q("throat_diameter"))
	return agronomy.Results{"throat_area": s.Number(mouth.Value, mouth.Unit)}, err
}

func runNetRate(v agronomy.Values) (agronomy.Results, error) {
	mean := v.Q("mean_catch")
	if !v.Has("mean_catch") {
		a, err := AuditCans(v.List("catch"))
		if err != nil {
			return nil, err
		}
		mean = a.Mean.Quantity()
	}
	mouth := v.Q("throat_area")
	if v.Has("throat_diameter") && !v.Has("throat_area") {
		var err error
		if mouth, err = MouthOf(v.Q("throat_diameter")); err != nil {
			return nil, err
		}
	}
	if mouth.Unit == "" && inMean.WorkUnit(mean.Unit) == "mL" {
		return nil, agronomy.RefuseSay("throat_area", "", "above 0 cm2", "The rate from a volume needs throat_area (opening of a can, above 0 cm2), or throat_diameter.")
	}
	rate, err := NetRate(mean, mouth, v.Q("test_time"))
	return agronomy.Results{"net_precip_rate": rate}, err
}

func multiplier() agronomy.Formula {
	return agronomy.Formula{
		Name: "scheduling_multiplier", Does: "How much longer to water so that the drier parts get enough.", Source: multiplierSource,
		Inputs: []agronomy.Input{inDULQ, inDULH},
		Outputs: []agronomy.Output{
			{Name: "scheduling_multiplier", Unit: "ratio", Says: "from the low half when it was measured, else from the low quarter"},
			{Name: "multiplier_from_lq_formula", Unit: "ratio"}, {Name: "multiplier_from_measured_lh", Unit: "ratio"}, {Name: "du_lh_estimated", Also: []string{"du_lh", "estimated_du_lh", "du_lh_estimate"}, Unit: "fraction"},
		},
		Ways: []agronomy.Way{
			{Needs: []string{"du_lh"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				m, err := MultiplierFromHalf(v.Q("du_lh"))
				return agronomy.Results{"scheduling_multiplier": m, "multiplier_from_measured_lh": m}, err
			}},
			{Needs: []string{"du_lq"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				m, err := MultiplierFromQuarter(v.Q("du_lq"))
				if err != nil {
					return nil, err
				}
				half, err := HalfFromQuarter(v.Q("du_lq"))
				return agronomy.Results{"scheduling_multiplier": m, "multiplier_from_lq_formula": m, "du_lh_estimated": half}, err
			}},
		},
	}
}

func runTime() agronomy.Formula {
	return agronomy.Formula{
		Name: "run_time", Does: "How long to water.", Source: auditSource,
		Inputs: []agronomy.Input{inNeed, inRate, inDULQ, inDULH, inMultiplier},
		Outputs: []agronomy.Output{{Name: "run_time_lower", Unit: "min", Says: "at the mean rate"}, {Name: "run_time_upper", Unit: "min", Says: "so that drier parts get enough"},
			{Name: "scheduling_multiplier", Unit: "ratio"}},
		Ways: []agronomy.Way{
			{Needs: []string{"water_need", "precip_rate"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				lower, err := LowerRunTime(v.Q("water_need"), v.Q("precip_rate"))
				return agronomy.Results{"run_time_lower": lower}, err
			}},
			{Needs: []string{"water_need", "precip_rate", "scheduling_multiplier"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				return upper(v, v.Q("scheduling_multiplier"))
			}},
			{Needs: []string{"water_need", "precip_rate", "du_lh"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				m, err := MultiplierFromHalf(v.Q("du_lh"))
				return upperWith(v, m, err)
			}},
			{Needs: []string{"water_need", "precip_rate", "du_lq"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				m, err := MultiplierFromQuarter(v.Q("du_lq"))
				return upperWith(v, m, err)
			}},
		},
	}
}

func upper(v agronomy.Values, m agronomy.Quantity) (agronomy.Results, error) {
	u, err := UpperRunTime(v.Q("water_need"), v.Q("precip_rate"), m)
	return agronomy.Results{"run_time_upper": u}, err
}

func upperWith(v agronomy.Values, m agronomy.Result, err error) (agronomy.Results, error) {
	if err != nil {
		return nil, err
	}
	out, err := upper(v, m.Quantity())
	out["scheduling_multiplier"] = m
	return out, err
}

func flowRate() agronomy.Formula {
	return agronomy.Formula{
		Name: "flow_precip_rate", Does: "Gross rate of a zone from its flow.", Source: flowSource,
		Inputs:  []agronomy.Input{inFlow, inArea, inHeads, inHeadFlow, inHeadGap, inRowGap},
		Outputs: []agronomy.Output{{Name: "gross_precip_rate", Also: []string{"precip_rate"}, Unit: "in/h"}},
		Ways: []agronomy.Way{
			{Needs: []string{"flow", "area"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				r, err := GrossRate(v.Q("flow"), v.Q("area"))
				return agronomy.Results{"gross_precip_rate": r}, err
			}},
			{Needs: []string{"flow_per_head", "heads", "area"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				one := v.Q("flow_per_head")
				r, err := GrossRate(agronomy.Q(one.Value*v.Q("heads").Value, one.Unit), v.Q("area"))
				return agronomy.Results{"gross_precip_rate": r}, err
			}},
			{Needs: []string{"flow_per_head", "head_spacing", "row_spacing"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				r, err := GrossRateBySpacing(v.Q("flow_per_head"), v.Q("head_spacing"), v.Q("row_spacing"))
				return agronomy.Results{"gross_precip_rate": r}, err
			}},
			{Needs: []string{"flow", "head_spacing", "row_spacing"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				r, err := GrossRateBySpacing(v.Q("flow"), v.Q("head_spacing"), v.Q("row_spacing"))
				return agronomy.Results{"gross_precip_rate": r}, err
			}},
		},
	}
}

func bucket() agronomy.Formula {
	return agronomy.Formula{
		Name: "bucket_flow", Does: "Flow from the time a bucket takes to fill.", Source: "University of Idaho, Calibrating your sprinkler",
		Inputs:  []agronomy.Input{inVolume, inFill},
		Outputs: []agronomy.Output{{Name: "flow", Unit: "gpm"}},
		Ways: []agronomy.Way{{Needs: []string{"volume", "fill_time"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
			r, err := BucketFlow(v.Q("volume"), v.Q("fill_time"))
			return agronomy.Results{"flow": r}, err
		}}},
	}
}

func coefficient() agronomy.Formula {
	return agronomy.Formula{
		Name: "scheduling_coefficient", Does: "Mean over the driest patch, and how long to water for that patch.", Source: coefficientSource,
		Inputs:  []agronomy.Input{inMeanRate, inDriest, inDayNeed},
		Outputs: []agronomy.Output{{Name: "scheduling_coefficient", Unit: "ratio"}, {Name: "run_time", Unit: "h/day"}},
		Ways: []agronomy.Way{
			{Needs: []string{"mean_rate", "driest_rate"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				r, err := SchedulingCoefficient(v.Q("mean_rate"), v.Q("driest_rate"))
				return agronomy.Results{"scheduling_coefficient": r}, err
			}},
			{Needs: []string{"mean_rate", "driest_rate", "need"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				r, err := RunTimeForDriest(v.Q("need"), v.Q("mean_rate"), v.Q("driest_rate"))
				return agronomy.Results{"run_time": r}, err
			}},
		},
	}
}

func allowance() agronomy.Formula {
	run := func(v agronomy.Values, etaf agronomy.Quantity) (agronomy.Results, error) {
		special := v.Q("special_area", agronomy.Q(0, "ft2"))
		most, err := WaterAllowance(v.Q("eto"), v.Q("landscape_area"), special, etaf, v.Q("conversion_factor", agronomy.Q(0.62, "ratio")))
		return agronomy.Results{"max_applied_water": most}, err
	}
	return agronomy.Formula{
		Name: "water_allowance", Does: "The year's greatest water by the ordinance.", Source: allowanceSource,
		Inputs:  []agronomy.Input{inETo, inLandscape, inSpecial, inETAF, inForm, inFactor},
		Outputs: []agronomy.Output{{Name: "max_applied_water", Unit: "gal/yr"}},
		Ways: []agronomy.Way{
			{Needs: []string{"eto", "landscape_area", "et_adjustment"}, May: []string{"special_area", "conversion_factor"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				return run(v, v.Q("et_adjustment"))
			}},
			{Needs: []string{"eto", "landscape_area", "form"}, May: []string{"special_area", "conversion_factor"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				etaf, err := AdjustmentFactor(v.Text("form"))
				if err != nil {
					return nil, err
				}
				return run(v, etaf)
			}},
		},
	}
}

func cycles() agronomy.Formula {
	return agronomy.Formula{
		Name: "cycle_and_soak", Does: "Cycles and pauses that keep water from running off.", Source: cycleSource,
		Inputs: []agronomy.Input{inSoil, inSlopeClass, inSlope, inIntake, inStorage, inCycleRate, inTotal},
		Outputs: []agronomy.Output{{Name: "intake_rate", Unit: "in/h"}, {Name: "surface_storage", Unit: "in"}, {Name: "limit_applies", Unit: "boolean"}, {Name: "max_minutes_per_cycle", Unit: "min"},
			{Name: "cycles", Unit: "count"}, {Name: "minutes_per_cycle", Unit: "min"}, {Name: "min_soak", Unit: "min"}},
		Ways: []agronomy.Way{
			{Needs: []string{"soil", "slope_class"}, May: []string{"precip_rate", "total_run_time"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				return runCycles(v, v.Text("slope_class"))
			}},
			{Needs: []string{"soil", "slope"}, May: []string{"precip_rate", "total_run_time"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				class, err := SlopeClass(v.Q("slope"))
				if err != nil {
					return nil, err
				}
				return runCycles(v, class)
			}},
			{Needs: []string{"intake_rate", "surface_storage", "precip_rate"}, May: []string{"total_run_time"}, Run: func(v agronomy.Values) (agronomy.Results, error) {
				return split(v, v.Q("intake_rate"), v.Q("surface_storage"))
			}},
		},
	}
}

func runCycles(v agronomy.Values, class string) (agronomy.Results, error) {
	g, err := GroundOf(v.Text("soil"), class)
	if err != nil {
		return nil, err
	}
	out := agronomy.Results{}
	if v.Has("precip_rate") {
		if out, err = split(v, g.Intake.Quantity(), g.Storage.Quantity()); err != nil {
			return nil, err
		}
	}
	out["intake_rate"], out["surface_storage"] = g.Intake, g.Storage
	return out, nil
}

func split(v agronomy.Values, intake, storage agronomy.Quantity) (agronomy.Results, error) {
	c, err := CycleAndSoak(v.Q("precip_rate"), intake, storage, v.Q("total_run_time"))
	if err != nil {
		return nil, err
	}
	out := agronomy.Results{"limit_applies": c.Limited, "min_soak": c.Soak}
	if c.Limited.Yes {
		out["max_minutes_per_cycle"] = c.Longest
	}
	if c.HasTotal {
		out["cycles"], out["minutes_per_cycle"] = c.Count, c.Each
	}
	return out, nil
}
