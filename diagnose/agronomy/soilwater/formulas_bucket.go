package soilwater

import (
	"swardbook/diagnose/agronomy"
)

// withTAW adds the root zone's total to the values when it isn't given but follows from the soil and the roots.
func withTAW(v values) (values, error) {
	if v.Has("taw") {
		return v, nil
	}
	a, err := availableFrom(v)
	if err != nil {
		return nil, err
	}
	total, err := TotalAvailable(a, v.Q("root_depth"))
	if err != nil {
		return nil, err
	}
	return with(v, "taw", total.Value), nil
}

func with(v values, name string, value agronomy.Value) values {
	out := values{name: value}
	for k, x := range v {
		out[k] = x
	}
	return out
}

var bucketMay = []string{"days_rain", "days_irrigation", "days_runoff", "kc", "start_depletion", "adjust_p", "skip_light_rain", "efficiency", "scheduling_multiplier"}

func bucketFormula() agronomy.Formula {
	ways := []agronomy.Way{{Needs: []string{"days_eto", "taw", "mad"}, May: bucketMay, Run: runBucket}}
	ways = append(ways, soilWays([]string{"days_eto", "root_depth", "mad"}, bucketMay, runBucket)...)
	return agronomy.Formula{
		Name: "soil_bucket", Does: "The account of the root zone, day by day.", Source: fao56,
		Inputs: []agronomy.Input{inDaysETo, inDaysRain, inDaysIrr, inDaysOff, inTAW, inAvailable, inCapacity, inWilting, inTexture, inTable, inRoots, inStart, inMAD, inDaysKc, inAdjust, inSkip, inEffect, inMultiple},
		Outputs: []agronomy.Output{{Name: "end_depletion", Unit: "mm"}, {Name: "ks", Also: []string{"stress", "stress_coefficient"}, Unit: "fraction", Says: "stress at the beginning of each day, 1 is none"}, {Name: "actual_use", Also: []string{"etc_adjusted", "eta"}, Unit: "mm"},
			{Name: "deep_percolation", Also: []string{"percolation"}, Unit: "mm"}, {Name: "irrigate", Unit: "per day"}, {Name: "first_day_due", Unit: "day"}, {Name: "taw", Unit: "mm"}, {Name: "raw", Unit: "mm"},
			{Name: "net_need", Unit: "mm", Says: "after the last day"}, {Name: "gross_need", Unit: "mm"}},
		Ways: ways,
	}
}

func runBucket(v values) (results, error) {
	v, err := withTAW(v)
	if err != nil {
		return nil, err
	}
	s := agronomy.NewSheet("Dr = Dr before − (rain − run-off) − watering + Ks Kc ETo, within 0 and TAW; Ks = 1 while Dr ≤ p TAW, else (TAW − Dr) ÷ ((1 − p) TAW)", fao56+", equations 82 to 86")
	days, b := bucketFrom(s, v)
	if s.Err() != nil {
		return nil, s.Err()
	}
	acc, err := Run(days, b)
	if err != nil {
		return nil, err
	}
	n := len(acc.Days)
	dr, stress, used, deep, due := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]bool, n)
	firstDue := 0
	for i, d := range acc.Days {
		dr[i], stress[i], used[i], deep[i], due[i] = d.Depletion, d.Ks, d.ETa, d.Deep, d.Due
		if d.Due && firstDue == 0 {
			firstDue = i + 1
		}
	}
	unit := "mm"
	if agronomy.Customary(v["days_eto"].Unit) {
		unit = "in"
	}
	list := func(x []float64) agronomy.Result {
		r, err := s.Give(agronomy.OfList(x, "mm")).As(unit)
		s.Refuse(err)
		return r
	}
	out := results{"end_depletion": list(dr), "actual_use": list(used), "deep_percolation": list(deep), "ks": s.Give(agronomy.OfList(stress, "fraction")), "irrigate": s.Give(agronomy.OfFlags(due, "per day")),
		"taw": onSide(s, b.TAW, "mm", unit), "raw": onSide(s, b.P*b.TAW, "mm", unit), "net_need": onSide(s, dr[n-1], "mm", unit)}
	if firstDue > 0 {
		out["first_day_due"] = s.Number(float64(firstDue), "day")
	}
	if err := gross(v, out); err != nil {
		return nil, err
	}
	return out, s.Err()
}

// gross adds what to put down, by one correction only.
func gross(v values, out results) (err error) {
	switch {
	case v.Has("efficiency", "scheduling_multiplier"):
		return agronomy.RefuseSay("efficiency", v.Q("efficiency").String(), "left out when scheduling_multiplier is given", "Give efficiency or scheduling_multiplier, not both: the uneven watering would be corrected twice.")
	case v.Has("efficiency"):
		out["gross_need"], err = GrossByEfficiency(out["net_need"].Quantity(), v.Q("efficiency"))
	case v.Has("scheduling_multiplier"):
		out["gross_need"], err = GrossByMultiplier(out["net_need"].Quantity(), v.Q("scheduling_multiplier"))
	}
	return err
}

func expectedFormula() agronomy.Formula {
	return agronomy.Formula{
		Name: "expected_wetting", Does: "How deep the last rain or watering should have wetted, by the account.", Source: byBalance,
		Inputs: []agronomy.Input{inDaysETo, inDaysRain, inDaysIrr, inDaysOff, inAvailable, inCapacity, inWilting, inTexture, inTable, inRoots, inStart, inMAD, inDaysKc, inAdjust, inSkip},
		Outputs: []agronomy.Output{{Name: "wetting_depth", Unit: "in"}, {Name: "applied", Unit: "in"}, {Name: "depletion_before", Unit: "fraction"}, {Name: "days_since", Unit: "day"},
			{Name: "below_roots", Unit: "boolean", Says: "more came than the root zone lacked"}},
		Ways: soilWays([]string{"days_eto", "root_depth", "mad"}, bucketMay[:7], func(v values) (results, error) {
			v, err := withTAW(v)
			if err != nil {
				return nil, err
			}
			s := agronomy.NewSheet("account", fao56)
			days, b := bucketFrom(s, v)
			if s.Err() != nil {
				return nil, s.Err()
			}
			a, err := availableFrom(v)
			if err != nil {
				return nil, err
			}
			return expected(days, b, a, v.Q("root_depth").Unit)
		}),
	}
}

func expected(days []Day, b Bucket, available agronomy.Quantity, like string) (results, error) {
	e, err := ExpectedWetting(days, b, available)
	if err != nil {
		return nil, err
	}
	if agronomy.Customary(like) {
		if e.Depth, err = e.Depth.As("in"); err != nil {
			return nil, err
		}
		if e.Applied, err = e.Applied.As("in"); err != nil {
			return nil, err
		}
	}
	below := agronomy.Result{Value: agronomy.OfFlag(e.WentThru), Working: e.Depth.Working}
	return results{"wetting_depth": e.Depth, "applied": e.Applied, "depletion_before": e.Before, "days_since": e.DaysAgo, "below_roots": below}, nil
}
