package diagnose_test

import (
	"math"
	"testing"

	"swardbook/diagnose"
)

// A limit that depends on the grass holds where the grass was seen: three and a half hours of sun are deep shade for
// bluegrass and not for fine fescue, and two and a half inches are a scalping height for tall fescue only.
func TestLimitsDependOnTheGrass(t *testing.T) {
	rises := func(cause, grass string, o diagnose.Observed) float64 {
		c := diagnose.Case{Season: "summer"}
		if grass != "" {
			c.Observed = []diagnose.Observed{state("species", grass)}
		}
		without := likelihood(answer(t, engine(t), c), cause)
		c.Observed = append(c.Observed, o)
		return likelihood(answer(t, engine(t), c), cause) / without
	}
	sun, cut, roots := measures("sun_hours", 3.5, 0, 1), measures("mow_height_in", 2.6, 0, 1), measures("root_depth_in", 2.7, 0.2, 6)
	if blue, fine := rises("shade", "kbg", sun), rises("shade", "ff", sun); blue < 1.2*fine {
		t.Errorf("3.5 h of sun raise shade by x%.2f in bluegrass, by x%.2f in fine fescue", blue, fine)
	}
	if blue, tall := rises("mower_scalping", "kbg", cut), rises("mower_scalping", "tf", cut); tall < 1.5*blue {
		t.Errorf("a cut at 2.6 in raises scalping by x%.2f in bluegrass, by x%.2f in tall fescue", blue, tall)
	}
	if rye, tall := rises("soil_compaction", "prg", roots), rises("soil_compaction", "tf", roots); tall < 1.2*rye {
		t.Errorf("roots of 2.7 in raise compaction by x%.2f in ryegrass, by x%.2f in tall fescue", rye, tall)
	}
	// Without the grass, and for one with no limits of its own, the general ones hold.
	if none, blue := rises("shade", "", sun), rises("shade", "kbg", sun); math.Abs(none/blue-1) > 0.25 {
		t.Errorf("the same limits raise shade by x%.2f and by x%.2f", none, blue)
	}
}
