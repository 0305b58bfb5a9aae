package desk

import (
	"slices"
	"strings"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/web/page"
)

// judgements turns what a manager said, as it is kept, into what the plan asks.
var judgements = map[string]string{"ruled out": plan.RuledOut, "confirmed": plan.Confirmed}

// doView are the first steps for what is likely here, with what to mind. A cause that a person ruled out gets none, one
// that a person confirmed does.
func (d *Desk) doView(a asking, o opened, found diagnosed, said map[string]store.Review) page.DoView {
	judged := map[string]string{}
	for cause, review := range said {
		judged[cause] = judgements[review.Judgement]
	}
	steps := plan.First(&d.know().Bundle, found.answer, monthOf(o.visit.Day), judged)
	v := page.DoView{Wait: waitSays(a, found, steps)}
	avoid, asked := map[string]bool{}, map[string]int{}
	for _, s := range steps {
		step := d.stepView(a, s, found.answer, avoid)
		if at, ok := asked[step.Do]; ok && s.Kind == plan.Refer { // one person is asked once, for all of it
			v.Steps[at].For += ", " + causeLabel(d.know(), s.Cause, a.words.Lang)
			continue
		}
		if s.Kind == plan.Refer {
			asked[step.Do] = len(v.Steps)
		}
		v.Steps = append(v.Steps, step)
		for _, c := range s.Cautions {
			v.Cautions = addOnce(v.Cautions, c.Say.In(a.words.Lang))
		}
	}
	v.Expect = d.expect(a, found.answer, steps)
	if len(steps) > 0 {
		v.Cautions = append(d.always(a), v.Cautions...)
	}
	return v
}

// expect is what to expect of every cause that is acted upon, in the order in which the causes stand.
func (d *Desk) expect(a asking, ans diagnose.Answer, steps []plan.FirstStep) []string {
	var out []string
	for _, c := range ans.Causes {
		acted := slices.ContainsFunc(steps, func(s plan.FirstStep) bool { return s.Cause == c.ID && s.Kind == plan.Do })
		if cause, ok := d.know().Cause(c.ID); ok && acted && cause.Expect.EN != "" {
			out = append(out, cause.Label.In(a.words.Lang)+": "+cause.Expect.In(a.words.Lang))
		}
	}
	return out
}

func monthOf(day string) int {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return 0
	}
	return int(t.Month())
}

func addOnce(list []string, say string) []string {
	if slices.Contains(list, say) {
		return list
	}
	return append(list, say)
}

// always are the cautions that stand with every plan.
func (d *Desk) always(a asking) []string {
	var out []string
	for _, c := range d.know().Bundle.Cautions {
		if slices.Contains(c.Where, "always") {
			out = append(out, c.Say.In(a.words.Lang))
		}
	}
	return out
}

func waitSays(a asking, found diagnosed, steps []plan.FirstStep) string {
	switch {
	case found.failed != "":
		return a.words.T("do.none")
	case found.answer.Verdict == diagnose.CantTell:
		return a.words.T("do.cant_tell")
	case found.answer.Verdict == diagnose.NothingWrong && len(steps) == 0:
		return a.words.T("do.nothing")
	case len(steps) == 0:
		return a.words.T("do.none")
	}
	return ""
}

// stepView draws one step. What must not be combined with the steps of a cause is said at the first of them.
func (d *Desk) stepView(a asking, s plan.FirstStep, ans diagnose.Answer, avoid map[string]bool) page.StepView {
	lang := a.words.Lang
	v := page.StepView{Do: s.Do.In(lang), When: s.Window.In(lang)}
	switch s.Kind {
	case plan.Check:
		v.Do, v.Mind = a.words.T("do.check", "check", checkLabel(d.know(), s.ID, lang)), []string{s.Do.In(lang)}
	case plan.Refer:
		v.Do = a.words.T("do.refer", "whom", s.Do.In(lang))
	}
	if s.Cause != "" {
		v.For = d.forWhat(a.words, ans, s)
	}
	if s.Opens > 0 {
		v.Tags = append(v.Tags, page.Reason{Kind: "ask", Say: a.words.T("do.opens", "month", a.words.T("month."+time.Month(s.Opens).String()))})
	}
	if s.Licence {
		v.Tags = append(v.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.licence")})
	}
	if s.Dig {
		v.Tags = append(v.Tags, page.Reason{Kind: "stop", Say: a.words.T("do.dig")})
	}
	if say := strings.TrimSpace(s.Avoid.In(lang)); say != "" && !avoid[s.Cause] {
		avoid[s.Cause] = true
		v.Mind = append(v.Mind, say)
	}
	return v
}

// forWhat names the cause a step is for, and what drives it: the reason that such a step speaks of.
func (d *Desk) forWhat(w page.Words, ans diagnose.Answer, s plan.FirstStep) string {
	label := causeLabel(d.know(), s.Cause, w.Lang)
	at := slices.IndexFunc(ans.Causes, func(c diagnose.Likelihood) bool { return c.ID == s.Cause })
	if at < 0 || len(ans.Causes[at].DrivenBy) == 0 || s.Kind != plan.Do {
		return w.T("do.for", "cause", label)
	}
	return w.T("do.for.driven", "cause", label, "drivers", causeLabels(d.know(), ans.Causes[at].DrivenBy, w))
}
