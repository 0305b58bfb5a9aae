package plan

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
)

// task is one piece of work in one zone.
type task struct {
	key    string // Step.ID without its number
	action *knowledge.Action
	deed   *knowledge.Deed
	at     *site
	causes []wanted // the leading one first
	works  map[string]bool
	rules  []*knowledge.Rule
	wish   *Wish

	after   int                  // the first day of a later part
	owed    *agronomy.Quantity   // what an earlier part of the same total left; nil for the first part
	picked  map[string]*Material // by use
	goods   []Good
	day     int
	dated   bool
	span    span
	first   int        // the first day its window is open
	blocked []Conflict // what forbids it on that day
	moved   []Conflict // what forbids it on the day wished for
	waived  []Conflict // overruled
	sure    []Conflict // overruled: that its cause is not sure enough
	refused []Conflict // why there is no day
}

// entry is the task as others see it. Before its amounts are reckoned it holds the materials picked.
func (t *task) entry() *entry {
	e := &entry{id: t.key, day: t.day, works: t.works, task: t}
	if len(t.goods) == 0 {
		for _, m := range t.picked {
			e.goods = append(e.goods, put{material: m})
		}
	}
	for _, g := range t.goods {
		p := put{material: t.picked[g.Use], nutrient: nutrientOf(g)}
		if g.Rate != nil {
			p.rate = *g.Rate
		}
		if p.material != nil || p.nutrient != nil {
			e.goods = append(e.goods, p)
		}
	}
	return e
}

// nutrientOf is what a feeding without a material on the list brings.
func nutrientOf(g Good) map[string]float64 {
	if g.Target == nil || g.Material != "" {
		return nil
	}
	for _, of := range []string{"N", "P2O5", "K2O"} {
		if strings.HasPrefix(g.Target.Unit, "lb "+of) || strings.HasPrefix(g.Target.Unit, "kg "+of) {
			if v, err := g.Target.In("lb " + of + "/1000 ft2"); err == nil {
				return map[string]float64{of: v}
			}
		}
	}
	return nil
}

// has says whether a material of the task holds a nutrient.
func (t *task) has(nutrient string) bool {
	for _, m := range t.picked {
		if m == nil || m.Grade == nil {
			continue
		}
		switch nutrient {
		case "N":
			return m.Grade.N > 0
		case "P2O5":
			return m.Grade.P2O5 > 0
		case "K2O":
			return m.Grade.K2O > 0
		}
	}
	return false
}

// newTask puts an action into a zone.
func (r *run) newTask(s *site, act *knowledge.Action, causes ...wanted) *task {
	t := &task{action: act, deed: r.deeds[act.ID], at: s, causes: causes, day: never, first: never, works: map[string]bool{}, picked: map[string]*Material{}}
	if t.deed == nil {
		t.deed = &knowledge.Deed{Action: act.ID}
	}
	t.key = cmp.Or(t.deed.Merge, act.ID)
	for _, w := range t.deed.Works {
		t.works[w] = true
	}
	r.addUses(t.works, t.deed.Uses...)
	for i := range r.p.Rules {
		if slices.ContainsFunc(r.p.Rules[i].Works, func(w string) bool { return t.works[w] }) {
			t.rules = append(t.rules, &r.p.Rules[i])
		}
	}
	t.wish = r.wishFor(t)
	return t
}

func (r *run) wishFor(t *task) *Wish {
	for i := range r.in.Wishes {
		w := &r.in.Wishes[i]
		if stem(w.Step) == t.key && (w.Zone == "" || w.Zone == t.at.zone.ID) {
			return w
		}
	}
	return nil
}

// stem is a step's id without its number.
func stem(id string) string {
	key, _, _ := strings.Cut(id, "#")
	return key
}

// tasks lists what the causes of a zone ask for. refused are pesticides for causes that are not sure enough.
func (r *run) tasks(s *site) (refused []Refused) {
	for _, w := range s.acted {
		for i := range r.b.Actions {
			act := &r.b.Actions[i]
			if act.Cause != w.cause.ID {
				continue
			}
			t := r.newTask(s, act, w)
			m := moment{r, s, t, r.day, 0}
			if when := m.holds(t.deed.When); when == no || t.deed.Sure && when != yes {
				continue
			}
			standing, waived := split(r.overrule(t, r.unsure(t)))
			t.sure = waived
			switch {
			case len(standing) > 0:
				refused = append(refused, r.refuse(t, standing...))
			case t.wish != nil && t.wish.Drop:
				refused = append(refused, r.refuse(t, r.dropped(t)))
			default:
				s.tasks = append(s.tasks, t)
			}
		}
	}
	r.pick(s)
	s.merge()
	return refused
}

// pick keeps, of actions of which only one is done, those whose condition is known to hold, if there are any; else the first.
// Which of several does it is decided by their days (choose).
func (r *run) pick(s *site) {
	sure := map[string]bool{}
	for _, t := range s.tasks {
		if t.deed.Pick != "" && t.fits(r) == yes {
			sure[t.deed.Pick] = true
		}
	}
	seen := map[string]bool{}
	s.tasks = slices.DeleteFunc(s.tasks, func(t *task) bool {
		if t.deed.Pick == "" {
			return false
		}
		first := !seen[t.deed.Pick]
		seen[t.deed.Pick] = true
		if sure[t.deed.Pick] {
			return t.fits(r) != yes
		}
		return !first
	})
}

// fits says whether the action's condition holds; one without a condition always fits.
func (t *task) fits(r *run) answer {
	if t.deed.When == "" {
		return yes
	}
	return moment{r, t.at, t, r.day, 0}.holds(t.deed.When)
}

// merge makes one piece of work of all that are one: the one whose cause has the most leverage leads.
func (s *site) merge() {
	var out []*task
	for _, t := range s.tasks {
		at := slices.IndexFunc(out, func(o *task) bool { return o.key == t.key && t.deed.Merge != "" })
		if at < 0 {
			out = append(out, t)
			continue
		}
		for _, w := range t.causes {
			if !slices.ContainsFunc(out[at].causes, func(o wanted) bool { return o.cause.ID == w.cause.ID }) {
				out[at].causes = append(out[at].causes, w)
			}
		}
	}
	s.tasks = out
}

// unsure is the conflict of a pesticide for what is not sure enough: none of its causes is likely enough or confirmed, or the
// diagnosis can't tell.
func (r *run) unsure(t *task) []Conflict {
	if !t.action.Licence || len(t.causes) == 0 || !t.at.unsure && slices.ContainsFunc(t.causes, wanted.mayTreat) {
		return nil
	}
	return []Conflict{{Rule: "unsure", Kind: ByPractice, Step: t.key, Zone: t.at.zone.ID, Source: t.action.Source,
		Say: r.say("unsure", "percent", fmt.Sprint(math.Round(t.causes[0].likelihood*20)*5))}}
}

func (r *run) dropped(t *task) Conflict {
	return Conflict{Rule: "dropped", Kind: ByFirm, Step: t.key, Zone: t.at.zone.ID, Source: t.action.Source, Say: r.say("dropped", "why", t.wish.Why)}
}

func (r *run) refuse(t *task, why ...Conflict) Refused {
	out := Refused{Step: t.key, Action: t.action.ID, Zone: t.at.zone.ID, Do: t.action.Do, Conflicts: why}
	for _, w := range t.causes {
		out.Causes = append(out.Causes, w.cause.ID)
	}
	return out
}
