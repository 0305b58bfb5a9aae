package desk

import (
	"encoding/json"
	"net/http"
	"strconv"

	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/web/page"
)

// SaveLawn keeps what a plan must know of the firm's place and of the zones of a visit's property.
func (d *Desk) SaveLawn(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	visit, err := d.db.Visit(r.Context(), r.PathValue("visit"))
	if err != nil {
		return err
	}
	zones, err := d.db.Zones(r.Context(), visit.Property)
	if err != nil {
		return err
	}
	ids, old := make([]string, len(zones)), map[string]lawn{}
	for i, z := range zones {
		ids[i] = z.ID
		if old[z.ID], err = d.lawn(r.Context(), z.ID); err != nil {
			return err
		}
	}
	place, lawns := d.readLawn(a, &form, ids, old)
	visits := visiting{Within: readWhole(a, &form, "within", mostWithin)}
	if form.Bad() {
		return d.drawPlan(w, r, http.StatusUnprocessableEntity, form)
	}
	if err := d.db.SaveSetting(r.Context(), placeSetting, place); err != nil {
		return err
	}
	if form.V("within") != "" {
		if err := d.db.SaveSetting(r.Context(), visitingSetting, visits); err != nil {
			return err
		}
	}
	for zone, l := range lawns {
		if err := d.db.SaveSetting(r.Context(), lawnSetting+zone, l); err != nil {
			return err
		}
	}
	return back(w, r, planURL(visit.ID), "lawn")
}

// SignedPlan shows a plan as it was signed, with what became of its steps.
func (d *Desk) SignedPlan(w http.ResponseWriter, r *http.Request) error {
	return d.drawSigned(w, r, http.StatusOK, page.Form{})
}

func (d *Desk) drawSigned(w http.ResponseWriter, r *http.Request, status int, form page.Form) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	p, err := d.db.Plan(r.Context(), r.PathValue("plan"))
	if err != nil {
		return err
	}
	var body plan.Plan
	if err := json.Unmarshal(p.Body, &body); err != nil {
		return err
	}
	property, err := d.db.Property(r.Context(), p.Property)
	if err != nil {
		return err
	}
	names, err := d.names(r.Context())
	if err != nil {
		return err
	}
	v := d.planBody(a, body, form)
	v.Signed, v.URL, v.Visit, v.Property, v.Address = a.words.T("plan.signed.on", "when", moment(p.At, a.place), "who", names.person(p.By, a.words)), "/desk/plans/"+p.ID, p.Visit, "/desk/properties/"+p.Property, property.Address
	v.NamePeople(func(id string) string { return names.person(id, a.words) })
	for i := range v.Steps {
		if err := d.stepState(r, a, p, i, &v.Steps[i]); err != nil {
			return err
		}
	}
	f, err := d.frame(r, a, "clients", a.words.T("plan.title", "address", property.Address))
	if err != nil {
		return err
	}
	return page.Write(w, r, status, page.Plan(f, v))
}

// stepState says what became of a signed step, and leads to the visit it turned into.
func (d *Desk) stepState(r *http.Request, a asking, p store.Plan, n int, v *page.PlanStepView) error {
	for _, s := range p.Steps {
		if s.N != n {
			continue
		}
		v.State = page.Reason{Say: a.words.T("plan.step." + string(s.State))}
		v.Open = s.State == store.StepPlanned
		if s.State == store.StepDropped {
			v.DropWhy = s.Why
		}
		if s.Visit == "" {
			continue
		}
		visit, err := d.db.Visit(r.Context(), s.Visit)
		if err != nil {
			return err
		}
		v.VisitURL, v.VisitDay = "/desk/visits/"+s.Visit, shortDay(visit.Day)
		due, err := d.stepsOf(r.Context(), visit)
		if err != nil {
			return err
		}
		for _, x := range due {
			if x.Plan == p.ID && x.N == n && x.done {
				v.State, v.Open = page.Reason{Kind: "done", Say: a.words.T("plan.step.done")}, false
			}
		}
	}
	return nil
}

// ChangeStep says that a signed step is done or is not to be done, with a reason.
func (d *Desk) ChangeStep(w http.ResponseWriter, r *http.Request) error {
	a, form, err := d.posted(r)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(r.PathValue("step"))
	if err != nil {
		return store.Errorf(store.NotFound, "%s", a.words.T("plan.step.unknown"))
	}
	state := store.StepState(form.V("state"))
	if state != store.StepDone && state != store.StepDropped {
		form.Say("why."+strconv.Itoa(n), a.words.T("plan.step.unknown"))
	}
	if state == store.StepDropped && form.V("why") == "" {
		form.Say("why."+strconv.Itoa(n), a.words.T("plan.step.need"))
	}
	if form.Bad() {
		return d.drawSigned(w, r, http.StatusUnprocessableEntity, form)
	}
	id := r.PathValue("plan")
	return done(w, r, d.db.SetStep(r.Context(), id, n, state, form.V("why")), "/desk/plans/"+id, "step")
}
