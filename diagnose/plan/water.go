package plan

import (
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/irrigation"
	"swardbook/diagnose/agronomy/soilwater"
	"swardbook/diagnose/knowledge"
)

// water is a depth of water: its volume, and where the sprinklers were measured how long they run, in cycles where the
// soil can't take it at once. Uniformity counts once, in the run time.
func (r *run) water(t *task, a *knowledge.Amount) []Figure {
	depth := agronomy.Q(a.Rate, a.Unit)
	out := []Figure{r.asTold("water", a)}
	if v, err := soilwater.WaterVolume(t.at.zone.Area, depth); err == nil {
		out = append(out, r.figure("volume", v))
	}
	rate, ok := r.role(t.at, "rate", "in/h")
	if !ok {
		return out
	}
	precip := agronomy.Q(rate, "in/h")
	run, err := irrigation.LowerRunTime(depth, precip)
	if m, ok := r.multiplier(t); ok && err == nil {
		run, err = irrigation.UpperRunTime(depth, precip, m.Quantity())
	}
	if err != nil {
		return out
	}
	return append(append(out, r.figure("run time", run)), r.cycles(t, precip, run.Quantity())...)
}

// multiplier is the scheduling multiplier of the uniformity that was measured.
func (r *run) multiplier(t *task) (agronomy.Result, bool) {
	du, ok := r.role(t.at, "uniformity", "fraction")
	if !ok {
		return agronomy.Result{}, false
	}
	m, err := irrigation.MultiplierFromQuarter(agronomy.Q(du, "fraction"))
	return m, err == nil
}

func (r *run) runFactor(t *task) []Figure {
	m, ok := r.multiplier(t)
	if !ok {
		return nil
	}
	return []Figure{r.figure("run factor", m)}
}

func (r *run) cycles(t *task, precip, total agronomy.Quantity) []Figure {
	z := t.at.zone
	if z.Soil == "" || z.Slope == nil {
		return nil
	}
	class, err := irrigation.SlopeClass(*z.Slope)
	if err != nil {
		return nil
	}
	g, err := irrigation.GroundOf(z.Soil, class)
	if err != nil {
		return nil
	}
	c, err := irrigation.CycleAndSoak(precip, g.Intake.Quantity(), g.Storage.Quantity(), total)
	if err != nil {
		return nil
	}
	return []Figure{r.figure("cycles", c.Count), r.figure("each cycle", c.Each), r.figure("soak", c.Soak)}
}
