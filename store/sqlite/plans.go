package sqlite

import (
	"context"
	"errors"
	"fmt"

	"swardbook/store"
)

// SignPlan keeps a signed plan with its steps and the visits they turn into, all or nothing. The draft is gone with it.
func (db *DB) SignPlan(ctx context.Context, p store.Plan, visits []store.Visit) (err error) {
	defer wrap(&err, "SignPlan(%s)", p.ID)
	return db.change(ctx, store.Change{By: p.By, What: "plan.signed", About: p.Visit, Detail: p.ID}, func(t *tx) error {
		for _, v := range visits {
			if err := t.addVisit(v); err != nil {
				return err
			}
		}
		err := t.exec(`INSERT INTO plans (id, property, visit, edition, by_person, at, body) VALUES ($1, $2, $3, $4, $5, $6, $7)`,
			p.ID, p.Property, p.Visit, p.Edition, p.By, formatTime(t.now), string(p.Body))
		if err != nil {
			return err
		}
		for _, s := range p.Steps {
			err := t.exec(`INSERT INTO plan_steps (plan, n, day, visit, state, why, changed) VALUES ($1, $2, $3, nullif($4, ''), $5, '', $6)`,
				p.ID, s.N, s.Day, s.Visit, string(store.StepPlanned), formatTime(t.now))
			if err != nil {
				return err
			}
		}
		return t.exec(`DELETE FROM plan_drafts WHERE visit = $1`, p.Visit)
	})
}

func scanPlan(row scanner) (p store.Plan, err error) {
	var body string
	err = row.Scan(&p.ID, &p.Property, &p.Visit, &p.Edition, &p.By, moments{&p.At}, &body)
	p.Body = []byte(body)
	return p, err
}

func scanStep(row scanner) (s store.PlanStep, err error) {
	err = row.Scan(&s.Plan, &s.N, &s.Day, &s.Visit, &s.State, &s.Why, moments{&s.Changed})
	return s, err
}

const (
	selectPlan = `SELECT id, property, visit, edition, by_person, at, body FROM plans`
	selectStep = `SELECT plan, n, day, coalesce(visit, ''), state, why, changed FROM plan_steps`
)

// Plans lists the signed plans of a property, of all when it is empty, oldest first, with where their steps stand.
func (db *DB) Plans(ctx context.Context, property string) (list []store.Plan, err error) {
	defer wrap(&err, "Plans(%s)", property)
	var w where
	w.equal("property", property)
	err = db.read(ctx, func(t *tx) error {
		if list, err = all(t, scanPlan, selectPlan+w.text+` ORDER BY seq`, w.args...); err != nil {
			return err
		}
		return t.withSteps(list)
	})
	return list, err
}

// Plan returns one signed plan.
func (db *DB) Plan(ctx context.Context, id string) (p store.Plan, err error) {
	defer wrap(&err, "Plan(%s)", id)
	err = db.read(ctx, func(t *tx) error {
		list := make([]store.Plan, 1)
		if list[0], err = one(t, notFound("plan"), scanPlan, selectPlan+` WHERE id = $1`, id); err != nil {
			return err
		}
		err = t.withSteps(list)
		p = list[0]
		return err
	})
	return p, err
}

func (t *tx) withSteps(list []store.Plan) (err error) {
	for i := range list {
		if list[i].Steps, err = all(t, scanStep, selectStep+` WHERE plan = $1 ORDER BY n`, list[i].ID); err != nil {
			return err
		}
	}
	return nil
}

// PlanSteps lists the steps that turned into a visit, in the order of their plans.
func (db *DB) PlanSteps(ctx context.Context, visit string) (list []store.PlanStep, err error) {
	defer wrap(&err, "PlanSteps(%s)", visit)
	err = db.read(ctx, func(t *tx) error {
		list, err = all(t, scanStep, selectStep+` WHERE visit = $1 ORDER BY plan, n`, visit)
		return err
	})
	return list, err
}

// SetStep says what became of a signed step.
func (db *DB) SetStep(ctx context.Context, plan string, n int, state store.StepState, why string) (err error) {
	defer wrap(&err, "SetStep(%s, %d)", plan, n)
	return db.change(ctx, store.Change{What: "plan.step", About: plan, Detail: fmt.Sprintf("%d: %s. %s", n, state, why)}, func(t *tx) error {
		return t.execOne(notFound("step"), `UPDATE plan_steps SET state = $3, why = $4, changed = $5 WHERE plan = $1 AND n = $2`, plan, n, string(state), why, formatTime(t.now))
	})
}

// SaveDraft keeps what a manager changed in a plan that is not signed yet, in place of what was there.
func (db *DB) SaveDraft(ctx context.Context, d store.PlanDraft) (err error) {
	defer wrap(&err, "SaveDraft(%s)", d.Visit)
	return db.change(ctx, store.Change{By: d.By, What: "plan.drafted", About: d.Visit}, func(t *tx) error {
		return t.exec(`INSERT INTO plan_drafts (visit, body, by_person, at) VALUES ($1, $2, $3, $4)
			ON CONFLICT (visit) DO UPDATE SET body = excluded.body, by_person = excluded.by_person, at = excluded.at`, d.Visit, string(d.Body), d.By, formatTime(t.now))
	})
}

// Draft returns what a manager changed in a plan that is not signed yet; an empty draft when nothing was.
func (db *DB) Draft(ctx context.Context, visit string) (d store.PlanDraft, err error) {
	defer wrap(&err, "Draft(%s)", visit)
	d.Visit = visit
	err = db.read(ctx, func(t *tx) error {
		found, err := one(t, notFound("draft"), scanDraft, `SELECT visit, body, by_person, at FROM plan_drafts WHERE visit = $1`, visit)
		var none *store.Error
		if errors.As(err, &none) && none.Kind == store.NotFound {
			return nil
		}
		d = found
		return err
	})
	return d, err
}

func scanDraft(row scanner) (d store.PlanDraft, err error) {
	var body string
	err = row.Scan(&d.Visit, &body, &d.By, moments{&d.At})
	d.Body = []byte(body)
	return d, err
}
