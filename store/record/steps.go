package record

import (
	"slices"
	"strconv"

	"swardbook/diagnose/plan"
	"swardbook/store"
)

// StepKey names a signed step as records do: the plan and the step's place in it.
func StepKey(planID string, n int) string { return planID + "/" + strconv.Itoa(n) }

// Fulfilled says whether a signed step is done, and on which day: by a manager's word; by records that stand, one for each of
// its materials; where it takes none, by the handing in of the visit it turned into. visit is the zero Visit for none.
func Fulfilled(s store.PlanStep, step plan.Step, visit store.Visit, current []store.Application) (day string, ok bool) {
	switch {
	case s.State == store.StepDropped:
		return "", false
	case s.State == store.StepDone:
		return s.Changed.UTC().Format("2006-01-02"), true
	case len(step.Goods) == 0:
		return visit.Day, visit.State == store.HandedIn || visit.State == store.SignedOff
	}
	for _, g := range step.Goods {
		at := slices.IndexFunc(current, func(a store.Application) bool {
			return a.Step == StepKey(s.Plan, s.N) && (g.Material == "" || a.Material == g.Material)
		})
		if at < 0 {
			return "", false
		}
		day = max(day, current[at].Day)
	}
	return day, true
}
