package knowledge

import (
	"fmt"
	"math"
	"slices"

	"swardbook/diagnose/checks"
)

func (l *loader) readChecks(b *Bundle) {
	sections := l.readSections(b)
	l.checks, l.numeric = map[string]bool{}, map[string]bool{}
	l.checkAt = map[string]pos{}
	seen := map[string]pos{}
	yielded := map[string]bool{}
	b.Checks = []checks.Check{}
	for _, e := range list[checks.Check](l, "checks.json") {
		c := e.v
		l.once(seen, c.ID, e.at)
		l.labelled(e.at, c.ID, c.Label)
		l.unknown(!sections[c.Section], e.at, "section", c.Section)
		if !(c.Minutes > 0 && c.Minutes <= 240) {
			l.fail(e.at, "%s: minutes are wanted", c.ID)
		}
		l.source(e.at, c.Source)
		l.checkControl(e.at, c)
		l.checkYields(e.at, c)
		for _, y := range c.Yields {
			yielded[y.Finding] = yielded[y.Finding] || !c.Retired
			l.numeric[y.Finding] = l.numeric[y.Finding] || len(c.Units) > 0
		}
		l.checks[c.ID], l.checkAt[c.ID] = true, e.at
		b.Checks = append(b.Checks, c)
	}
	for _, f := range b.Findings {
		if !yielded[f.ID] {
			l.fail(l.findingAt[f.ID], "no check yields the finding %s", f.ID)
		}
	}
}

func (l *loader) readSections(b *Bundle) map[string]bool {
	known := map[string]bool{}
	seen := map[string]pos{}
	b.Sections = []Section{}
	for _, e := range list[Section](l, "sections.json") {
		l.once(seen, e.v.ID, e.at)
		l.labelled(e.at, e.v.ID, e.v.Label)
		known[e.v.ID] = true
		b.Sections = append(b.Sections, e.v)
	}
	return known
}

// checkControl wants the parts that the kind's control needs, and no others.
func (l *loader) checkControl(at pos, c checks.Check) {
	numeric, options := false, false
	switch c.Kind {
	case checks.Choice, checks.Signs:
		options = true
	case checks.Measure, checks.Repeated, checks.Count:
		numeric = true
	case checks.Mix:
		options, numeric = true, true
	case checks.Note, checks.Photo, checks.Place:
	default:
		l.fail(at, "%s: %q is not a kind of check", c.ID, c.Kind)
		return
	}
	if options != (len(c.Options) > 1) {
		l.fail(at, "%s: %d options for a %s", c.ID, len(c.Options), c.Kind)
	}
	if numeric != (len(c.Units) > 0) || numeric != (c.Hard != nil) || numeric != (c.Usual != nil) {
		l.fail(at, "%s: units, hard and usual bounds go with numbers, and only with them", c.ID)
		return
	}
	l.checkOptions(at, c)
	if c.Aid != "" && (!numeric || !slices.Contains(checks.Aids, c.Aid)) {
		l.fail(at, "%s: %q is not an aid of the phone for numbers", c.ID, c.Aid)
	}
	if numeric {
		l.checkNumbers(at, c)
	}
}

func (l *loader) checkOptions(at pos, c checks.Check) {
	seen := map[string]pos{}
	for _, o := range c.Options {
		l.once(seen, o.ID, at)
		l.labelled(at, c.ID+" "+o.ID, o.Label)
	}
	_, known := seen[c.None]
	if (c.Kind == checks.Signs || c.Kind == checks.Mix) != known {
		l.fail(at, "%s: none must be an option of a check for signs or a mix", c.ID)
	}
}

func (l *loader) checkNumbers(at pos, c checks.Check) {
	h, u := *c.Hard, *c.Usual
	if !(h.Low < h.High && u.Low < u.High && h.Low <= u.Low && u.High <= h.High) {
		l.fail(at, "%s: the bounds are out of order", c.ID)
	}
	if first := c.Units[0]; first.Mul != 1 || first.Div != 1 {
		l.fail(at, "%s: the first unit is the check's own, mul 1, div 1", c.ID)
	}
	seen := map[string]pos{}
	for _, unit := range c.Units {
		l.once(seen, unit.ID, at)
		l.labelled(at, c.ID+" "+unit.ID, unit.Label)
		if !(unit.Mul > 0 && unit.Div > 0) || math.IsInf(unit.Mul/unit.Div, 0) {
			l.fail(at, "%s: unit %s cannot be converted", c.ID, unit.ID)
		}
	}
	if c.Decimals < 0 || c.Decimals > 4 {
		l.fail(at, "%s: decimals lie between 0 and 4", c.ID)
	}
}

// yieldsFrom lists what each kind of check can yield from.
var yieldsFrom = map[checks.Kind][]string{
	checks.Choice: {"state"}, checks.Signs: {"signs"}, checks.Measure: {"mean"},
	checks.Mix: {"sum"}, checks.Repeated: {"mean", "range", "max"}, checks.Count: {"mean", "range", "max"},
}

func (l *loader) checkYields(at pos, c checks.Check) {
	says := len(c.Yields) > 0
	mute := c.Kind == checks.Note || c.Kind == checks.Photo || c.Kind == checks.Place
	if mute && says || !mute && !says && c.Kind != checks.Mix {
		l.fail(at, "%s: %d findings from a %s", c.ID, len(c.Yields), c.Kind)
	}
	for _, y := range c.Yields {
		f := l.states[y.Finding]
		if l.unknown(f == nil, at, "finding", y.Finding) {
			continue
		}
		if err := yieldFault(c, y, f); err != "" {
			l.fail(at, "%s: %s", c.ID, err)
		}
	}
}

func yieldFault(c checks.Check, y checks.Yield, f *Finding) string {
	switch {
	case !slices.Contains(yieldsFrom[c.Kind], y.From):
		return fmt.Sprintf("a %s yields nothing from %q", c.Kind, y.From)
	case y.MinN < 0 || y.From == "range" && y.MinN < 2:
		return "a range needs min_n of at least 2"
	case f.Multi != (c.Kind == checks.Signs):
		return fmt.Sprintf("%s has several signs and wants a check for signs", f.ID)
	case len(c.Options) > 0 && c.Kind != checks.Mix && !sameIDs(c.Options, f.States):
		return fmt.Sprintf("the options are not the states of %s", f.ID)
	}
	return ""
}

func sameIDs(options []checks.Option, states []State) bool {
	return slices.EqualFunc(options, states, func(o checks.Option, s State) bool { return o.ID == s.ID })
}

func (l *loader) readActions(b *Bundle, avoid map[string]checks.Text) {
	seen := map[string]pos{}
	has := map[string]bool{}
	b.Actions = []Action{}
	for _, e := range list[Action](l, "actions.json") {
		a := e.v
		l.once(seen, a.ID, e.at)
		l.unknown(l.causes[a.Cause] == nil, e.at, "cause", a.Cause)
		l.source(e.at, a.Source)
		if a.Order < 1 || a.Order > 6 {
			l.fail(e.at, "%s: order is 1 to 6", a.ID)
		}
		if a.ID == "" || a.Do.EN == "" || a.Window.EN == "" {
			l.fail(e.at, "%q: id, do and window are wanted", a.ID)
		}
		if a.Avoid == (checks.Text{}) {
			a.Avoid = avoid[a.Cause]
		}
		has[a.Cause] = true
		b.Actions = append(b.Actions, a)
	}
	for _, c := range b.Causes {
		if !has[c.ID] {
			l.fail(l.causeAt[c.ID], "no action for %s", c.ID)
		}
	}
}

func (l *loader) readCautions(b *Bundle) {
	seen := map[string]pos{}
	b.Cautions = []Caution{}
	places := []string{"dig", "pesticide", "slope", "heat", "always"}
	for _, e := range list[Caution](l, "cautions.json") {
		c := e.v
		l.once(seen, c.ID, e.at)
		l.labelled(e.at, c.ID, c.Say)
		l.source(e.at, c.Source)
		if len(c.Where) == 0 {
			l.fail(e.at, "%s: no place to show it", c.ID)
		}
		for _, w := range c.Where {
			l.unknown(!slices.Contains(places, w) && !l.checks[w], e.at, "place", w)
		}
		b.Cautions = append(b.Cautions, c)
	}
}

// Free are the ids of the checks that are answered in a person's own words, and of those that are answered by a photo: what may tell of people.
func (l *Loaded) Free() (words, pictures []string) {
	for _, c := range l.Bundle.Checks {
		switch c.Kind {
		case checks.Note:
			words = append(words, c.ID)
		case checks.Photo:
			pictures = append(pictures, c.ID)
		}
	}
	return words, pictures
}
