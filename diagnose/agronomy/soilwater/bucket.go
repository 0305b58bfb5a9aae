package soilwater

import (
	"math"

	"swardbook/diagnose/agronomy"
)

// Day is one day of the account, in mm.
type Day struct {
	ETo, Rain, Irrigation, RunOff float64
	Kc                            float64 // 0 takes the bucket's
}

// Bucket is the root zone as the account sees it.
type Bucket struct {
	TAW   float64 // total available water, mm
	Start float64 // depletion before the first day, mm
	P     float64 // share that may be used up
	Kc    float64
	// AdjustP fits P to each day's use (FAO-56, below table 22); SkipLightRain leaves out rain below a fifth of ETo.
	AdjustP, SkipLightRain bool
}

// Balance is one day's outcome, in mm.
type Balance struct {
	Depletion float64 // at the day's end
	Ks        float64 // stress at its beginning, 1 is none
	ETa       float64 // what the turf really used
	Deep      float64 // lost below the roots
	Due       bool    // watering is due: depletion has reached the allowed
}

// Account is a walk through days.
type Account struct {
	Days []Balance
}

// Run keeps the account day by day: depletion = depletion before − (rain − run-off) − irrigation + Ks Kc ETo, kept within 0
// and TAW; what would fall below 0 goes deep. Ks is that of the day's beginning.
func Run(days []Day, b Bucket) (Account, error) {
	if !(b.TAW > 0) || !(b.P > 0 && b.P <= 1) || !(b.Start >= 0 && b.Start <= b.TAW*(1+1e-12)) || !(b.Kc >= 0 && b.Kc <= 1.5) {
		return Account{}, agronomy.RefuseSay("taw", agronomy.Q(b.TAW, "mm").String(), "above 0 mm, with start_depletion from 0 to taw and p above 0 up to 1",
			"The root zone needs taw above 0 mm, start_depletion from 0 to taw ("+agronomy.Q(b.TAW, "mm").String()+"; "+agronomy.Q(b.Start, "mm").String()+" was given), p above 0 up to 1 and kc from 0 to 1.5.")
	}
	out := Account{Days: make([]Balance, len(days))}
	dr := b.Start
	for i, d := range days {
		out.Days[i] = step(d, b, dr)
		dr = out.Days[i].Depletion
	}
	return out, nil
}

func step(d Day, b Bucket, before float64) Balance {
	kc := b.Kc
	if d.Kc > 0 {
		kc = d.Kc
	}
	p := b.P
	if b.AdjustP {
		p = math.Max(0.1, math.Min(0.8, p+0.04*(5-kc*d.ETo)))
	}
	rain := d.Rain
	if b.SkipLightRain && rain < 0.2*d.ETo {
		rain = 0
	}
	bal := Balance{Ks: ks(before, b.TAW, p)}
	bal.ETa = bal.Ks * kc * d.ETo
	next := before - math.Max(0, rain-d.RunOff) - d.Irrigation + bal.ETa
	bal.Deep = math.Max(0, -next)
	bal.Depletion = math.Max(0, math.Min(b.TAW, next))
	bal.Due = bal.Depletion >= p*b.TAW-1e-9
	return bal
}
