package desk

import (
	"context"

	"swardbook/web/page"
)

// visitWork says what keeps people off a visit's property just now, and leads to the plans the visit has steps of.
func (d *Desk) visitWork(ctx context.Context, a asking, o opened, v *page.VisitView) error {
	done, err := d.workOf(ctx, o.property.ID)
	if err != nil {
		return err
	}
	v.Off = d.offSays(a, done)
	steps, err := d.db.PlanSteps(ctx, o.visit.ID)
	seen := map[string]bool{}
	for _, s := range steps {
		if !seen[s.Plan] {
			seen[s.Plan] = true
			v.Plans = append(v.Plans, page.Choice{Value: "/desk/plans/" + s.Plan, Label: a.words.T("plan.of_visit")})
		}
	}
	return err
}
