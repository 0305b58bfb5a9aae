package desk

import (
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"swardbook/diagnose"
	"swardbook/diagnose/knowledge"
	"swardbook/store"
	"swardbook/web/page"
)

// How much of an answer the visit page opens: causes below this likelihood, and beyond this many, are folded away.
const (
	showFrom = 0.15
	foldFrom = 0.05
	showMost = 5
	nextMost = 3
)

// How many findings stand at a cause, for it and as many against it: more at the first. Weaker ones are left out.
const (
	proofFirst = 8
	proofOther = 3
	proofFrom  = 0.1
)

// whyView is the engine's answer for one zone, with what people said of it.
func (d *Desk) whyView(a asking, o opened, how reckoned, said map[string]store.Review, notes *page.Notes) page.WhyView {
	w, found, ans := a.words, how.found, how.found.answer
	made := w.T("why.made", "when", moment(found.Made, a.place), "edition", found.Edition)
	if found.failed != "" || len(ans.Causes) == 0 {
		return page.WhyView{Verdict: w.T("why.error"), Made: made}
	}
	_, nothing := percent(ans.NothingWrong, w)
	y := page.WhyView{
		Verdict: verdict(ans, w), Made: made,
	}
	for _, c := range ans.Causes {
		review, judged := said[c.ID]
		open := judged || c.Role != "" || c.Likelihood >= showFrom && len(y.Causes) < showMost
		if !open && c.Likelihood < foldFrom {
			continue
		}
		on := notes
		if !open {
			on = nil // folded away, so not on paper
		}
		view := d.causeView(a, how, c, on)
		if judged {
			view.Overrule = overruleView(a, o, review, view.Label, on)
		}
		if open {
			y.Causes = append(y.Causes, view)
		} else {
			y.Rest = append(y.Rest, view)
		}
	}
	for _, n := range ans.Next[:min(len(ans.Next), nextMost)] {
		y.Next = append(y.Next, d.nextView(a, n, notes))
	}
	y.Nothing = notes.Of(w.T("why.nothing"), nothing, d.nothingWorking(a, how, nothing))
	if len(ans.Ignored) > 0 {
		y.Ignored = w.T("why.ignored", "findings", d.findingLabels(ans.Ignored, w))
	}
	return y
}

func verdict(a diagnose.Answer, w page.Words) string {
	switch a.Verdict {
	case diagnose.CantTell:
		return w.T("why.cant_tell")
	case diagnose.NothingWrong:
		return w.T("why.fine")
	}
	return ""
}

func (d *Desk) causeView(a asking, how reckoned, c diagnose.Likelihood, notes *page.Notes) page.CauseView {
	ans, label := how.found.answer, causeLabel(d.know(), c.ID, a.words.Lang)
	steps, says := percent(c.Likelihood, a.words)
	v := page.CauseView{
		ID: c.ID, URL: "/desk/causes/" + c.ID, Label: label, Percent: steps,
		Says: notes.Of(label, says, d.likelihoodWorking(a, how, c, says)),
		Role: d.roleWords(a.words, ans, c),
	}
	most := proofOther
	if c.ID == ans.Causes[0].ID {
		most = proofFirst
	}
	v.For, v.Against = d.proofs(a.words, c.For, "for", most, how.seen), d.proofs(a.words, c.Against, "against", most, how.seen)
	return v
}

func (d *Desk) proofs(w page.Words, list []diagnose.Weight, side string, most int, seen []diagnose.CheckValue) []page.Evidence {
	var out []page.Evidence
	for _, x := range list {
		if len(out) < most && math.Abs(x.Weight) >= proofFrom {
			out = append(out, d.evidence(w, x, side, seen))
		}
	}
	return out
}

// roleWords say what part a cause plays: the first, one beside it, or the result of another.
func (d *Desk) roleWords(w page.Words, ans diagnose.Answer, c diagnose.Likelihood) string {
	var parts []string
	switch {
	case len(c.DrivenBy) > 0:
		parts = append(parts, w.T("role.driven", "causes", causeLabels(d.know(), c.DrivenBy, w)))
	case c.Role == "primary" && c.ID == ans.Causes[0].ID:
		parts = append(parts, w.T("role.first"))
	case c.Role == "primary":
		parts = append(parts, w.T("role.beside"))
	case c.Role == "secondary":
		parts = append(parts, w.T("role.second"))
	default:
		parts = append(parts, w.T("role.possible"))
	}
	if driven := drivenBy(ans, c.ID); len(driven) > 0 {
		parts = append(parts, w.T("role.drives", "causes", causeLabels(d.know(), driven, w)))
	}
	return strings.Join(parts, " · ")
}

func drivenBy(ans diagnose.Answer, parent string) []string {
	var out []string
	for _, c := range ans.Causes {
		if slices.Contains(c.DrivenBy, parent) {
			out = append(out, c.ID)
		}
	}
	return out
}

// A bar is full at this weight (natural log-odds), and the words change at the other two.
const (
	fullWeight   = 3.0
	strongWeight = 2.0
	slightWeight = 0.5
)

// evidence is one finding as a sentence: "Short cores in 4 of 5 places speak strongly for it."
func (d *Desk) evidence(w page.Words, x diagnose.Weight, side string, seen []diagnose.CheckValue) page.Evidence {
	size := math.Abs(x.Weight)
	how := "clear"
	switch {
	case size >= strongWeight:
		how = "strong"
	case size < slightWeight:
		how = "slight"
	}
	what, plural := d.findingPhrase(x.Finding, x.State, w.Lang)
	if in, of := diagnose.Places(&d.know().Bundle, seen, x.Finding, x.State); of > 0 && in > 0 {
		what = w.T("proof.places", "what", what, "in", strconv.Itoa(in), "of", strconv.Itoa(of))
	}
	key := "proof.one"
	if plural {
		key = "proof.many"
	}
	return page.Evidence{
		Say:    capital(w.T(key, "what", what, "how", w.T("weight."+how+"."+side))),
		Weight: max(2, int(math.Round(100*min(size, fullWeight)/fullWeight))),
	}
}

// findingPhrase is a finding in its state as a phrase, and whether it is a plural: "short cores".
func (d *Desk) findingPhrase(finding, state, lang string) (phrase string, plural bool) {
	f, ok := d.know().Finding(finding)
	if !ok {
		return finding + ": " + state, false
	}
	for _, s := range f.States {
		if s.ID == state {
			return s.Say.In(lang), s.Plural
		}
	}
	return f.Label.In(lang), false
}

// findingSays is a finding in its state with its label before it: "soil cores: short cores".
func (d *Desk) findingSays(finding, state, lang string) string {
	phrase, _ := d.findingPhrase(finding, state, lang)
	f, ok := d.know().Finding(finding)
	if !ok || phrase == f.Label.In(lang) {
		return phrase
	}
	return f.Label.In(lang) + ": " + phrase
}

// capital begins a sentence.
func capital(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(r)) + s[size:]
}

func (d *Desk) findingLabels(ids []string, w page.Words) string {
	out := make([]string, len(ids))
	for i, id := range ids {
		out[i] = id
		if f, ok := d.know().Finding(id); ok {
			out[i] = f.Label.In(w.Lang)
		}
	}
	return strings.Join(out, ", ")
}

func (d *Desk) nextView(a asking, n diagnose.Next, notes *page.Notes) page.NextView {
	w := a.words
	v := page.NextView{Check: checkLabel(d.know(), n.Check, w.Lang)}
	v.Minutes = notes.Of(v.Check, w.T("minutes", "n", number(n.Minutes, 0)), nextWorking(a, n))
	switch apart := n.Apart[:min(len(n.Apart), 3)]; len(apart) {
	case 0:
	case 1:
		v.Apart = w.T("why.settles.one", "cause", causeLabel(d.know(), apart[0], w.Lang))
	default:
		v.Apart = w.T("why.settles", "causes", causeLabels(d.know(), apart, w))
	}
	return v
}

// overruleView is what a person said of a cause, with the number the engine had then.
func overruleView(a asking, o opened, r store.Review, cause string, notes *page.Notes) *page.OverruleView {
	_, engine := percent(r.Engine, a.words)
	return &page.OverruleView{
		Says: a.words.T("said." + r.Judgement), Reason: r.Reason,
		By:     o.names.person(r.By, a.words) + ", " + moment(r.At, a.place),
		Engine: a.words.T("said.engine"),
		Number: notes.Of(cause, engine, []string{a.words.T("said.number", "chance", share(r.Engine), "says", engine), a.words.T("said.source")}),
	}
}

// cited turns the keys of a source into what they are called and what kind they are.
func (d *Desk) cited(named string, w page.Words) []page.Cited {
	var out []page.Cited
	for _, key := range knowledge.SourceKeys(named) {
		s, ok := d.know().Source(key)
		if !ok {
			out = append(out, page.Cited{Kind: page.Reason{Kind: "ask", Say: w.T("source.judgement")}, Title: key})
			continue
		}
		kind := map[string]string{"read": "done", "part": "done", "own": "done", "judgement": "ask", "practice": "ask"}[s.Status]
		title := strings.Trim(strings.Join([]string{s.Title, s.By, s.Year}, ", "), ", ")
		if kind == "ask" && s.By == "" {
			title = "" // nobody's in particular: the kind says it all
		}
		out = append(out, page.Cited{Kind: page.Reason{Kind: kind, Say: w.T("source." + s.Status)}, Title: title})
	}
	return out
}
