package plan

import (
	"cmp"
	"slices"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/knowledge"
)

// horizon is how many days ahead a day is looked for: a season and the same window of the next.
const horizon = 400

// patience is how many days a second choice may lie ahead and still be taken before the best.
const patience = 60

// dates gives every task of a zone its day. What may be done soonest goes first, so that the season decides between two that
// can't both be done; of those with the same day the one that stands earlier in the order of work.
func (r *run) dates(s *site) {
	for _, t := range s.tasks {
		t.first = r.opens(t, r.startOf(t))
	}
	list := slices.Clone(s.tasks)
	slices.SortStableFunc(list, func(a, b *task) int {
		return cmp.Or(cmp.Compare(b.wished(), a.wished()), cmp.Compare(far(a.first), far(b.first)), cmp.Compare(a.action.Order, b.action.Order), cmp.Compare(a.place(), b.place()))
	})
	done := map[*task]bool{}
	var give func(t *task)
	give = func(t *task) {
		if done[t] {
			return
		}
		done[t] = true
		for _, before := range r.sooner(s, t) {
			give(before)
		}
		if t.deed.Pick == "" {
			r.date(t)
			return
		}
		for _, o := range r.choose(s, t) {
			done[o] = true
		}
	}
	for _, t := range list {
		give(t)
	}
}

// again asks once more for what found no day, or not the day wished for, while others of the zone had none yet: the seed that is
// sown that day may be what allows it. It stays as it was where that would break what another one holds to.
func (r *run) again(s *site) {
	onWish := func(t *task) bool { return t.dated && t.wish != nil && dayText(t.day) == t.wish.Day }
	for _, t := range s.tasks {
		if onWish(t) || t.dated && t.wished() == 0 {
			continue
		}
		was := *t
		t.dated, t.moved, t.refused = false, nil, nil
		r.date(t)
		better := onWish(t) || t.dated && !was.dated
		if !better || slices.ContainsFunc(s.tasks, func(o *task) bool { return o.dated && slices.ContainsFunc(r.check(o), Conflict.Stands) }) {
			*t = was
		}
	}
}

// mostParts is into how many dates a total is parted at most.
const mostParts = 6

// parts gives what a limit at once left of a total its own later dates, each at the soonest that will do. What finds no day within
// the horizon is said on the part before it.
func (r *run) parts(s *site) {
	for _, first := range s.tasks {
		for t, n := first, 1; t.dated && n < mostParts; n++ {
			rest := t.rest()
			if rest == nil {
				break
			}
			next := r.newTask(s, t.action, t.causes...)
			next.wish, next.owed, next.after = nil, rest, t.day+1
			s.tasks = append(s.tasks, next)
			r.date(next)
			if !next.dated {
				s.tasks = s.tasks[:len(s.tasks)-1]
				break
			}
			t = next
		}
	}
}

// rest is what is left of the total of a task's first parted good.
func (t *task) rest() *agronomy.Quantity {
	for _, g := range t.goods {
		if g.Rest != nil {
			return g.Rest
		}
	}
	return nil
}

// choose dates every task of a pick as if it were alone, keeps the one that has its materials, or else a day, and takes the
// others out of the zone. It returns all of them.
func (r *run) choose(s *site, t *task) []*task {
	var all []*task
	var best *task
	most, has := -1, false
	for _, o := range s.tasks {
		if o.deed.Pick != t.deed.Pick {
			continue
		}
		all = append(all, o)
		r.date(o)
		if w := o.worth(); w > most {
			best, most, has = o, w, o.dated
		}
		o.dated = false
	}
	best.dated = has
	s.tasks = slices.DeleteFunc(s.tasks, func(o *task) bool { return o.deed.Pick == t.deed.Pick && o != best })
	return all
}

// worth compares tasks of which one is done.
func (t *task) worth() int {
	switch {
	case !t.dated:
		return 0
	case slices.ContainsFunc(t.deed.Uses, func(u string) bool { return t.picked[u] == nil }):
		return 1
	}
	return 2
}

func (t *task) place() int { return t.causes[0].place }

// wished puts what a manager asked for on a day before the rest, so that the rest makes room.
func (t *task) wished() int {
	if t.wish != nil && t.wish.Day != "" {
		return 1
	}
	return 0
}

// far makes never the latest of all days.
func far(day int) int {
	if day == never {
		return -never
	}
	return day
}

// startOf is the first day that is asked for: today, or the day wished for.
func (r *run) startOf(t *task) int {
	if t.owed != nil {
		return max(t.after, r.day)
	}
	if t.wish != nil && t.wish.Day != "" {
		if day, err := dayOf(t.wish.Day); err == nil {
			return max(day, r.day)
		}
	}
	return r.day
}

// sooner lists the tasks of the zone that come before a task by their kinds of work.
func (r *run) sooner(s *site, t *task) []*task {
	var out []*task
	for _, o := range s.tasks {
		if o != t && r.before(o, t) && !r.before(t, o) {
			out = append(out, o)
		}
	}
	return out
}

// isSooner says whether one kind of work goes before another.
func (pl *Planner) isSooner(first, then string) bool {
	return slices.ContainsFunc(pl.p.Sooner, func(p knowledge.Sooner) bool { return p.First == first && p.Then == then })
}

func (r *run) before(a, b *task) bool {
	return slices.ContainsFunc(r.p.Sooner, func(p knowledge.Sooner) bool {
		return a.works[p.First] && b.works[p.Then] && !a.works[p.Then] && !b.works[p.First]
	})
}

// date finds the day for a task, over the materials that would serve; the soonest day wins, then what need not be cut, then
// the lower cost.
func (r *run) date(t *task) {
	start := r.startOf(t)
	var best *found
	for _, picked := range r.choices(t) {
		t.picked = picked
		f := r.scan(t, start)
		if best == nil || f.better(best) {
			best = &f
		}
	}
	best.take(t)
	if t.wish != nil && t.wish.Day != "" {
		r.moved(t)
	}
}

// found is the outcome of a search with certain materials.
type found struct {
	picked  map[string]*Material
	day     int
	span    span
	goods   []Good
	first   int
	blocked []Conflict
	waived  []Conflict
	cents   int64
	lacking int
	noted   int // goods that are less than the row gives, or can't be reckoned
}

func (f found) better(o *found) bool {
	a, b := -far(f.day), -far(o.day)
	return cmp.Or(cmp.Compare(b, a), cmp.Compare(f.lacking, o.lacking), cmp.Compare(f.noted, o.noted), cmp.Compare(priced(f.cents), priced(o.cents))) < 0
}

// priced puts what has no price after what has one.
func priced(cents int64) int64 {
	if cents == 0 {
		return 1 << 60
	}
	return cents
}

func (f *found) take(t *task) {
	t.picked, t.day, t.span, t.goods, t.first, t.waived = f.picked, f.day, f.span, f.goods, f.first, f.waived
	t.dated = f.day != never
	t.blocked = f.blocked
	if !t.dated {
		t.refused = f.blocked
	}
}

// scan goes day by day from a start: the first that will do, or of two windows the better one where it is worth waiting.
func (r *run) scan(t *task, start int) found {
	f := found{picked: t.picked, day: never, first: never}
	second := found{day: never}
	for day := start; day <= start+horizon; day++ {
		sp, open := r.openOn(t, day)
		waived := []Conflict(nil)
		if !open {
			if waived = r.waivesWindow(t, day); waived == nil {
				continue
			}
		}
		standing, over := split(r.faults(t, day))
		goods := []Good(nil)
		if len(standing) == 0 {
			goods, standing, over = r.fits(t, day, over)
		}
		if f.first == never {
			f.first, f.blocked = day, standing
		}
		if len(standing) > 0 {
			continue
		}
		f.day, f.span, f.goods, f.waived = day, sp, goods, append(over, waived...)
		if sp.w == nil || sp.w.Rank == 1 || day-start <= patience || t.wished() == 1 || t.owed != nil {
			break
		}
		if second.day == never {
			second = f
		}
		f.day = never
	}
	if f.day == never && second.day != never {
		f = second
	}
	if f.first == never {
		f.blocked = []Conflict{r.outside(t, start)}
	}
	f.sum(t)
	return f
}

// fits reckons the goods and holds them to every limit.
func (r *run) fits(t *task, day int, over []Conflict) (goods []Good, standing, waived []Conflict) {
	goods, faults := r.reckon(t, day)
	standing, more := split(r.overrule(t, append(faults, r.overLimits(t, goods, day)...)))
	return goods, standing, append(over, more...)
}

// waivesWindow is the conflict of the wished day outside the windows where a manager overruled it, else nil. Other days
// stay as they were: that a window does not hold for one day opens no other.
func (r *run) waivesWindow(t *task, day int) []Conflict {
	if t.wished() == 0 || t.wish.Day != dayText(day) || !slices.ContainsFunc(r.in.Overruled, func(o Overrule) bool { return o.Rule == ruleWindow && stem(o.Step) == t.key }) {
		return nil
	}
	_, waived := split(r.overrule(t, []Conflict{r.outside(t, day)}))
	return waived
}

func (f *found) sum(t *task) {
	for _, g := range f.goods {
		f.cents += g.Cents
		if g.Material != "" && g.Note.EN != "" {
			f.noted++
		}
	}
	for _, use := range t.deed.Uses {
		if f.picked[use] == nil {
			f.lacking++
		}
	}
}

// moved says why a task is not on the day that was wished for.
func (r *run) moved(t *task) {
	want, err := dayOf(t.wish.Day)
	if err != nil || t.dated && t.day == want {
		return
	}
	if _, open := r.openOn(t, want); !open {
		t.moved = append(t.moved, r.outside(t, want))
	}
	standing, _ := split(r.faults(t, want))
	t.moved = append(t.moved, standing...)
	if len(standing) == 0 {
		_, over, _ := r.fits(t, want, nil)
		t.moved = append(t.moved, over...)
	}
	if !t.dated {
		t.refused = t.moved
	}
}

// choices lists the materials to try, by use: all that serve, or none where the list holds none.
func (r *run) choices(t *task) []map[string]*Material {
	out := []map[string]*Material{{}}
	for _, use := range t.deed.Uses {
		list := r.serving(t, use)
		if len(list) == 0 {
			continue
		}
		var next []map[string]*Material
		for _, have := range out {
			for _, m := range list {
				if len(next) < most {
					next = append(next, with(have, use, m))
				}
			}
		}
		out = next
	}
	return out
}

// most is how many ways of choosing materials are tried.
const most = 24

func with(have map[string]*Material, use string, m *Material) map[string]*Material {
	out := map[string]*Material{use: m}
	for k, v := range have {
		out[k] = v
	}
	return out
}

// serving lists the materials for a use: what the manager named, else all on the list that bring what is wanted.
func (r *run) serving(t *task, use string) []*Material {
	a := r.amountOf(t, use)
	var out []*Material
	for i := range r.in.Materials {
		m := &r.in.Materials[i]
		if t.wish != nil && t.wish.Material != "" && (t.wish.Use == "" || t.wish.Use == use) && slices.ContainsFunc(r.in.Materials, func(o Material) bool {
			return o.ID == t.wish.Material && slices.Contains(o.Uses, use)
		}) && m.ID != t.wish.Material {
			continue
		}
		if slices.Contains(m.Uses, use) && r.serves(t, a.By, m) {
			out = append(out, m)
		}
	}
	return out
}

// serves says whether a material brings what a way of reckoning wants.
func (r *run) serves(t *task, by string, m *Material) bool {
	switch by {
	case "nitrogen":
		return m.Grade != nil && m.Grade.N > 0
	case "phosphate":
		return m.Grade != nil && m.Grade.P2O5 > 0
	case "potash":
		return m.Grade != nil && m.Grade.K2O > 0
	case "lime":
		return m.CCE > 0
	case "seed", "seed_new":
		g := r.grass(t.at, t.deed)
		return g != nil && m.sows(g.ID)
	}
	return true
}
