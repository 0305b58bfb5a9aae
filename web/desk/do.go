package desk

import (
	"cmp"
	"slices"

	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/web/page"
)

// Judgements of a person on a cause.
const (
	ruledOut  = "ruled out"
	confirmed = "confirmed"
)

// doView are the first steps for what is likely here, with what to mind. A cause that a person ruled out gets none, one
// that a person confirmed does.
func (d *Desk) doView(a asking, o opened, found diagnosed, said map[string]store.Review) page.DoView {
	causes := d.acting(found, said)
	var v page.DoView
	if len(causes) == 0 {
		v.Wait = d.waitSays(a, found)
		return v
	}
	where := map[string]bool{"always": true}
	for _, c := range causes {
		avoid := ""
		for _, x := range d.actionsOf(c.ID) {
			step := d.stepView(a, c, x)
			if say := x.Avoid.In(a.words.Lang); say != avoid {
				step.Mind, avoid = append(step.Mind, say), say
			}
			v.Steps = append(v.Steps, step)
			where["dig"] = where["dig"] || x.Dig
			where["pesticide"] = where["pesticide"] || x.Licence
		}
		if say := c.Expect.In(a.words.Lang); say != "" {
			v.Expect = append(v.Expect, c.Label.In(a.words.Lang)+": "+say)
		}
	}
	for _, c := range d.know.Bundle.Cautions {
		if slices.ContainsFunc(c.Where, func(at string) bool { return where[at] }) {
			v.Cautions = append(v.Cautions, c.Say.In(a.words.Lang))
		}
	}
	return v
}

// acting are the causes to act on: the likely ones, first those that others follow from.
func (d *Desk) acting(found diagnosed, said map[string]store.Review) []knowledge.Cause {
	var out []knowledge.Cause
	for _, c := range found.answer.Causes {
		judged := said[c.ID].Judgement
		if judged == ruledOut || judged != confirmed && (c.Role != "primary" || leading(found.answer) == "") {
			continue
		}
		if cause, ok := d.know.Cause(c.ID); ok {
			out = append(out, cause)
		}
	}
	return out
}

func (d *Desk) waitSays(a asking, found diagnosed) string {
	switch found.answer.Verdict {
	case nothingWrong:
		return a.words.T("do.nothing")
	case cantTell:
		return a.words.T("do.cant_tell")
	}
	return a.words.T("do.none")
}

func (d *Desk) actionsOf(cause string) []knowledge.Action {
	var out []knowledge.Action
	for _, x := range d.know.Bundle.Actions {
		if x.Cause == cause {
			out = append(out, x)
		}
	}
	slices.SortStableFunc(out, func(a, b knowledge.Action) int { return cmp.Compare(a.Order, b.Order) })
	return out
}

func (d *Desk) stepView(a asking, c knowledge.Cause, x knowledge.Action) page.StepView {
	lang := a.words.Lang
	s := page.StepView{Do: x.Do.In(lang), When: x.Window.In(lang), For: a.words.T("do.for", "cause", c.Label.In(lang))}
	if x.Licence {
		s.Tags = append(s.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.licence")})
	}
	if x.Dig {
		s.Tags = append(s.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.dig")})
	}
	return s
}
