package desk

import (
	"context"
	"net/http"

	"swardbook/store"
	"swardbook/web/route"
)

// SignAsItStands signs the plan of a visit as the planner makes it, as a manager does who changes nothing. A plan without steps, or
// one that breaks a rule, is left unsigned.
func (d *Desk) SignAsItStands(ctx context.Context, who store.Person, visit, crew string) error {
	ctx = route.WithPerson(ctx, who)
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, planURL(visit), nil)
	if err != nil {
		return err
	}
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.planned(ctx, a, visit)
	if err != nil || len(p.plan.Steps) == 0 || len(p.stands()) > 0 {
		return err
	}
	signed, visits, err := d.signed(ctx, a, p, crew)
	if err != nil {
		return err
	}
	return d.db.SignPlan(ctx, signed, visits)
}
