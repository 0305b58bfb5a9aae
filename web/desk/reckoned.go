package desk

import (
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/checks"
	"swardbook/store"
	"swardbook/store/geo"
	"swardbook/store/history"
	"swardbook/store/intake"
)

// reckoned is what the workings of one zone's likelihoods are written from.
type reckoned struct {
	found diagnosed
	paths diagnose.Paths
	known bool // paths are the answer's; else what it rests on changed since
	seen  []diagnose.CheckValue
}

func (d *Desk) reckoned(ctx context.Context, o opened, zone string, found diagnosed) (reckoned, error) {
	r := reckoned{found: found, seen: intake.Values(d.know(), zone, o.readings)}
	if found.failed != "" || len(found.answer.Causes) == 0 {
		return r, nil
	}
	var err error
	r.paths, r.known, err = d.intake.Paths(ctx, found.Diagnosis, o.visit, o.property, o.readings)
	return r, err
}

// odds that are this near to 1 change little: such findings are told together.
const changesLittle = 0.1

// likelihoodWorking tells how likely a cause is and how that came about: its chance before anything was found, as odds, times what each
// finding multiplies.
func (d *Desk) likelihoodWorking(a asking, r reckoned, c diagnose.Likelihood, says string) []string {
	w := a.words
	path, ok := r.paths.Of(c.ID)
	if !r.known || !ok {
		return d.keptWorking(a, r, c, says)
	}
	lines := []string{w.T("reckon.odds"), w.T("reckon.season", "season", strings.ToLower(seasonSays(w, r.paths.Season)), "chance", share(path.Season))}
	if share(path.Known) != share(path.Season) {
		lines = append(lines, w.T("reckon.known", "chance", share(path.Known)))
	}
	if share(path.Rate) != share(path.Known) {
		lines = append(lines, w.T("reckon.course", "chance", share(path.Rate)))
	}
	lines = append(lines, d.multiplied(a, r, path, c.Likelihood, says)...)
	source := d.sourceSays(d.know().RateSource[c.ID])
	return append(lines, w.T("reckon.cause.source", "rates", source, "edition", r.found.Edition))
}

// multiplied are the lines of a path: the first odds, what each finding multiplies, and those that were answered.
func (d *Desk) multiplied(a asking, r reckoned, path diagnose.Path, answered float64, says string) []string {
	w := a.words
	lines := []string{w.T("reckon.before", "chance", share(path.Before), "odds", figures(diagnose.Odds(path.Before)))}
	little, many := 1.0, 0
	for i, t := range r.paths.Taken {
		times := path.Times(i)
		if math.Abs(math.Log(times)) < changesLittle {
			little, many = little*times, many+1
			continue
		}
		lines = append(lines, w.T("reckon.times", "times", figures(times), "finding", d.takenSays(a, r, t)))
	}
	if many > 0 {
		lines = append(lines, w.N("reckon.little", many, "times", figures(little)))
	}
	lines = append(lines, w.T("reckon.now", "odds", figures(diagnose.Odds(answered)), "chance", share(answered), "says", says))
	if len(r.paths.Taken) > 1 {
		lines = append(lines, w.T("reckon.order"))
	}
	return lines
}

// takenSays is a finding with the places that show it, and that another one says the same.
func (d *Desk) takenSays(a asking, r reckoned, t diagnose.Taken) string {
	said := make([]string, len(t.States))
	for i, state := range t.States {
		phrase, _ := d.findingPhrase(t.Finding, state, a.words.Lang)
		said[i] = phrase
		if in, of := diagnose.Places(&d.know().Bundle, r.seen, t.Finding, state); of > 0 {
			said[i] = a.words.T("proof.places", "what", phrase, "in", strconv.Itoa(in), "of", strconv.Itoa(of))
		}
	}
	out := strings.Join(said, "; ")
	if f, ok := d.know().Finding(t.Finding); ok {
		out = f.Label.In(a.words.Lang) + ": " + out
	}
	if t.Share < 1 {
		out = a.words.T("reckon.share", "finding", out, "share", figures(t.Share))
	}
	return out
}

// keptWorking is all that is kept of how an answer came about: what its odds would be without each finding.
func (d *Desk) keptWorking(a asking, r reckoned, c diagnose.Likelihood, says string) []string {
	w := a.words
	odds := diagnose.Odds(c.Likelihood)
	lines := []string{w.T("reckon.kept"), w.T("reckon.now", "odds", figures(odds), "chance", share(c.Likelihood), "says", says)}
	for side, list := range [][]diagnose.Weight{c.For, c.Against} {
		for _, x := range list {
			if x.Weight < changesLittle {
				continue
			}
			weight := x.Weight
			if side == 1 {
				weight = -weight
			}
			lines = append(lines, w.T("reckon.without", "finding", d.findingSays(x.Finding, x.State, w.Lang), "times", figures(math.Exp(weight)), "odds", figures(odds/math.Exp(weight))))
		}
	}
	return append(lines, w.T("reckon.kept.source", "edition", r.found.Edition, "when", moment(r.found.Made, a.place)))
}

// nothingWorking tells how likely it is that nothing is wrong.
func (d *Desk) nothingWorking(a asking, r reckoned, says string) []string {
	if !r.known {
		p := r.found.answer.NothingWrong
		return []string{a.words.T("reckon.kept"), a.words.T("reckon.now", "odds", figures(diagnose.Odds(p)), "chance", share(p), "says", says),
			a.words.T("reckon.kept.source", "edition", r.found.Edition, "when", moment(r.found.Made, a.place))}
	}
	lines := append([]string{a.words.T("reckon.odds")}, d.multiplied(a, r, r.paths.Nothing, r.found.answer.NothingWrong, says)...)
	return append(lines, a.words.T("reckon.nothing.source", "edition", r.found.Edition))
}

// nextWorking tells why a check comes where it does among those that would settle something.
func nextWorking(a asking, n diagnose.Next) []string {
	per := n.Minutes + diagnose.Handling
	return []string{a.words.T("reckon.next"),
		a.words.T("reckon.next.line", "gain", figures(n.Gain), "minutes", figures(n.Minutes), "handling", figures(diagnose.Handling), "worth", figures(n.Gain/per)),
		a.words.T("reckon.next.source")}
}

// sharedWorking tells how much of the property a cause is expected in.
func sharedWorking(a asking, zones []diagnose.ZoneAnswer, names map[string]string, c diagnose.PropertyCause, says string) []string {
	lines := []string{a.words.T("reckon.shared")}
	for _, z := range zones {
		at := slices.IndexFunc(z.Answer.Causes, func(l diagnose.Likelihood) bool { return l.ID == c.ID })
		if at >= 0 && z.Answer.Counted > 0 {
			lines = append(lines, a.words.T("reckon.shared.zone", "zone", names[z.Zone], "area", area(z.Area, a.firm, a.words), "chance", share(z.Answer.Causes[at].Likelihood)))
		}
	}
	return append(lines, a.words.T("reckon.shared.now", "chance", share(c.Likelihood), "says", says), a.words.T("reckon.arithmetic"))
}

// areaWorking tells where a zone's area is from: its outline, else whoever typed it.
func areaWorking(a asking, z store.Zone) []string {
	if z.AreaSqFt <= 0 {
		return nil
	}
	if ring, err := geo.ParseRing(z.Outline); err == nil && len(ring) > 2 {
		if res, err := ring.Area(); err == nil && math.Abs(res.Number/z.AreaSqFt-1) < 0.005 {
			q := res.Quantity()
			return a.worked(&q, res.Working.Lines())
		}
	}
	return []string{a.words.T("reckon.area", "area", area(z.AreaSqFt, a.firm, a.words)), a.words.T("reckon.area.source")}
}

// measuredWorking is how a reading's number came about, with its spread and its bounds; nothing for what is no number.
func (d *Desk) measuredWorking(c checks.Check, r store.Reading) []string {
	v, _ := checks.Read(c, r.Typed)
	m, ok := history.Measure(d.know(), c, v, r.Typed)
	if !ok {
		return nil
	}
	return m.Working.Lines()
}

// share writes a chance in percent with three figures.
func share(p float64) string { return significant(p*100, 3) + "\u00a0%" }

// figures writes a number with four figures.
func figures(x float64) string { return significant(x, 4) }

// significant writes a number with so many figures, never with an exponent.
func significant(x float64, n int) string {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', n, 64), 64)
	if err != nil || math.IsInf(rounded, 0) || math.IsNaN(rounded) {
		return agronomy.Figure(x)
	}
	return strconv.FormatFloat(rounded, 'f', -1, 64)
}
