package plan

import (
	"fmt"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/knowledge"
)

// Planner makes plans out of causes by the rows of a bundle. It keeps nothing between calls and may be used from several
// goroutines.
type Planner struct {
	b       *knowledge.Bundle
	p       *knowledge.Planning
	edition string
	actions map[string]*knowledge.Action
	deeds   map[string]*knowledge.Deed
	causes  map[string]*knowledge.Cause
	works   map[string]*knowledge.Work
	uses    map[string]*knowledge.Use
	who     map[string]*knowledge.Who
	grasses map[string]*knowledge.Grass
	waits   map[string]*knowledge.Wait
	windows map[string][]*knowledge.Window // by action, best first
	amounts map[string][]*knowledge.Amount
	notes   map[string]checks.Text
	roles   map[string]string
	whens   map[string][][]knowledge.Term
}

// New reads a bundle's planning rows. They are checked when the bundle is loaded; an error here means one that was not.
func New(b *knowledge.Bundle, edition string) (*Planner, error) {
	p := &b.Planning
	pl := &Planner{
		b: b, p: p, edition: edition, whens: map[string][][]knowledge.Term{},
		actions: byID(b.Actions, func(a *knowledge.Action) string { return a.ID }),
		deeds:   byID(p.Deeds, func(d *knowledge.Deed) string { return d.Action }),
		causes:  byID(b.Causes, func(c *knowledge.Cause) string { return c.ID }),
		works:   byID(p.Works, func(w *knowledge.Work) string { return w.ID }),
		uses:    byID(p.Uses, func(u *knowledge.Use) string { return u.ID }),
		who:     byID(p.Who, func(w *knowledge.Who) string { return w.ID }),
		grasses: byID(p.Grasses, func(g *knowledge.Grass) string { return g.ID }),
		waits:   byID(p.Waits, func(w *knowledge.Wait) string { return w.Active }),
		windows: map[string][]*knowledge.Window{}, amounts: map[string][]*knowledge.Amount{},
		notes: map[string]checks.Text{}, roles: map[string]string{},
	}
	for i := range p.Windows {
		w := &p.Windows[i]
		pl.windows[w.Action] = append(pl.windows[w.Action], w)
	}
	for i := range p.Amounts {
		a := &p.Amounts[i]
		pl.amounts[a.Action] = append(pl.amounts[a.Action], a)
	}
	for _, n := range p.Notes {
		pl.notes[n.ID] = n.Say
	}
	for _, r := range p.Roles {
		pl.roles[r.ID] = r.Fact
	}
	return pl, pl.parse()
}

func byID[T any](list []T, id func(*T) string) map[string]*T {
	out := make(map[string]*T, len(list))
	for i := range list {
		out[id(&list[i])] = &list[i]
	}
	return out
}

// parse reads every condition once.
func (pl *Planner) parse() error {
	var texts []string
	for _, r := range pl.p.Rules {
		texts = append(texts, r.When, r.Unless)
	}
	for _, d := range pl.p.Deeds {
		texts = append(texts, d.When)
	}
	for _, h := range pl.p.Honest {
		texts = append(texts, h.When)
	}
	for _, text := range texts {
		groups, err := knowledge.ParseWhen(text)
		if err != nil {
			return fmt.Errorf("plan: %w", err)
		}
		pl.whens[text] = groups
	}
	return nil
}
