package diagnose_test

import (
	"math"
	"testing"

	"swardbook/diagnose"
)

// soon is what a case says of one cause of the invented bundle.
func soon(t *testing.T, c diagnose.Case, cause string) float64 {
	t.Helper()
	c.Season = "summer"
	return likelihood(answer(t, smallEngine(t), c), cause)
}

func TestAVisitStartsFromTheLastOne(t *testing.T) {
	before := func(days float64) diagnose.Case {
		return diagnose.Case{Before: []diagnose.Earlier{{Cause: "bugs", Likelihood: 0.8, Days: days}}}
	}
	base := soon(t, diagnose.Case{}, "bugs")
	last := 1.0
	for _, days := range []float64{0, 3, 10, 30, 90, 1000} {
		p := soon(t, before(days), "bugs")
		if !(p < last) || p < base-1e-9 {
			t.Errorf("after %v days %v, before that %v, base %v", days, p, last, base)
		}
		last = p
	}
	if math.Abs(last-base) > 1e-6 {
		t.Errorf("after a thousand days %v, base %v", last, base)
	}
}

func TestAStepLowersItsCauseAsItWorks(t *testing.T) {
	done := func(days float64) float64 {
		return soon(t, diagnose.Case{
			Before: []diagnose.Earlier{{Cause: "packed", Likelihood: 0.8, Days: 200}},
			Done:   []diagnose.Done{{Action: "packed.core", Days: days}},
		}, "packed")
	}
	if fresh, half, all, more := done(0), done(30), done(60), done(90); !(fresh > half && half > all) || all != more {
		t.Errorf("%v %v %v %v", fresh, half, all, more)
	}
}

// What a step did before the last visit was seen then and does not count twice.
func TestAStepSeenAtTheLastVisitCountsOnce(t *testing.T) {
	at := func(step float64) float64 {
		return soon(t, diagnose.Case{
			Before: []diagnose.Earlier{{Cause: "packed", Likelihood: 0.5, Days: 10}},
			Done:   []diagnose.Done{{Action: "packed.core", Days: step}},
		}, "packed")
	}
	without := soon(t, diagnose.Case{Before: []diagnose.Earlier{{Cause: "packed", Likelihood: 0.5, Days: 10}}}, "packed")
	if worked := at(300); math.Abs(worked-without) > 1e-12 {
		t.Errorf("a step that had worked by then: %v, without it %v", worked, without)
	}
	if half := at(35); !(half < without) {
		t.Errorf("a step that goes on working: %v, without it %v", half, without)
	}
}

// Facts of the site are seen anew at each visit; what is carried holds them not.
func TestWhatIsCarriedLeavesTheSiteOut(t *testing.T) {
	e := engine(t)
	c := diagnose.Case{Season: "summer", Observed: []diagnose.Observed{
		{Finding: "sun_hours", Number: &diagnose.Number{Mean: 2, N: 1}}, {Finding: "pattern", State: "shade_outline"},
	}}
	a := answer(t, e, c)
	at := place(a, "shade")
	if a.Causes[at].Carried >= a.Causes[at].Likelihood {
		t.Errorf("%+v", a.Causes[at])
	}
	c.Observed = c.Observed[1:]
	bare := answer(t, e, c)
	if want := likelihood(bare, "shade"); math.Abs(a.Causes[at].Carried-want) > 1e-4 {
		t.Errorf("carried %v, without the site's fact %v", a.Causes[at].Carried, want)
	}
}
