package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"net/http"
	"slices"
	"time"

	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/record"
	"swardbook/web/page"
)

// Load is what goes onto the truck on one day, for the screen and for paper: materials with their amounts, tools, stop by stop.
func (d *Desk) Load(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	today := d.now().In(a.place)
	on, err := time.Parse(time.DateOnly, cmp.Or(r.URL.Query().Get("day"), today.Format(time.DateOnly)))
	if err != nil {
		return store.Errorf(store.NotFound, "%s", a.words.T("load.day.wrong"))
	}
	text := on.Format(time.DateOnly)
	v := page.LoadView{Day: text, DayName: day(text), Before: loadURL(on.AddDate(0, 0, -1)), After: loadURL(on.AddDate(0, 0, 1))}
	if err := d.fillLoad(r.Context(), a, text, &v); err != nil {
		return err
	}
	f, err := d.frame(r, a, "load", a.words.T("load.title.day", "day", day(text)))
	if err != nil {
		return err
	}
	return page.Write(w, r, http.StatusOK, page.Load(f, v))
}

func loadURL(day time.Time) string { return "/desk/load?day=" + day.Format(time.DateOnly) }

// dueStep is a signed step that turned into a visit.
type dueStep struct {
	store.PlanStep
	step plan.Step
	done bool
}

func (d *Desk) fillLoad(ctx context.Context, a asking, day string, v *page.LoadView) error {
	visits, err := d.db.Visits(ctx, store.VisitFilter{FromDay: day, ToDay: day, AtWork: true})
	if err != nil {
		return err
	}
	names, err := d.names(ctx)
	if err != nil {
		return err
	}
	materials, err := d.db.Materials(ctx)
	if err != nil {
		return err
	}
	sum := loading{d: d, a: a, materials: materials, book: d.book(), notes: &v.Notes}
	var due [][]dueStep
	for _, visit := range visits {
		steps, err := d.stepsOf(ctx, visit)
		if err != nil {
			return err
		}
		if len(steps) == 0 {
			continue
		}
		stop := page.LoadStop{URL: "/desk/visits/" + visit.ID, Address: names.address(visit.Property), Crew: names.person(visit.Crew, a.words)}
		v.Stops, due = append(v.Stops, stop), append(due, steps)
		for _, s := range steps {
			if !s.done {
				sum.add(s.step, stop.Address)
			}
		}
	}
	v.Materials, v.Tools = sum.onto(), sum.tools
	for i, steps := range due { // after the sums, since the page shows them first
		for _, s := range steps {
			v.Stops[i].Lines = append(v.Stops[i].Lines, sum.stopLines(s, v.Stops[i].Address)...)
		}
	}
	return nil
}

// stepsOf are the signed steps of a visit that were not dropped, with whether records or the handing in fulfil them.
func (d *Desk) stepsOf(ctx context.Context, visit store.Visit) ([]dueStep, error) {
	list, err := d.db.PlanSteps(ctx, visit.ID)
	if err != nil || len(list) == 0 {
		return nil, err
	}
	all, err := d.db.Applications(ctx, store.ApplicationFilter{Visit: visit.ID})
	if err != nil {
		return nil, err
	}
	records := record.Current(all)
	var out []dueStep
	for _, s := range list {
		if s.State == store.StepDropped {
			continue
		}
		p, err := d.db.Plan(ctx, s.Plan)
		if err != nil {
			return nil, err
		}
		var body plan.Plan
		if err := json.Unmarshal(p.Body, &body); err != nil {
			return nil, err
		}
		if s.N < len(body.Steps) {
			_, done := record.Fulfilled(s, body.Steps[s.N], visit, records)
			out = append(out, dueStep{PlanStep: s, step: body.Steps[s.N], done: done})
		}
	}
	return out, nil
}

// loading adds up what steps take.
type loading struct {
	d         *Desk
	a         asking
	notes     *page.Notes
	materials []store.Material
	book      *record.Book
	lines     []page.LoadLine
	tools     []string
	sums      []float64
	from      [][]string // what each line is the sum of
}

// onto are the lines of the sums, each with what it is the sum of.
func (l *loading) onto() []page.LoadLine {
	for i := range l.lines {
		line := &l.lines[i]
		line.Amount = l.notes.Of(line.Name, line.Amount.Say, append([]string{l.a.words.T("load.sum")}, l.from[i]...))
	}
	return l.lines
}

func (l *loading) add(s plan.Step, stop string) {
	for _, t := range s.Tools {
		l.tool(l.a.in(t))
	}
	for _, g := range s.Goods {
		l.good(g, stop)
		at := slices.IndexFunc(l.materials, func(m store.Material) bool { return m.ID == g.Material })
		if at < 0 {
			continue
		}
		for _, id := range l.materials[at].Tools {
			if t, ok := l.book.Tool(id); ok {
				l.tool(t.Label.In(l.a.words.Lang))
			}
		}
	}
}

func (l *loading) tool(name string) {
	if name != "" && !slices.Contains(l.tools, name) {
		l.tools = append(l.tools, name)
	}
}

// good adds one material to the line of its name and unit.
func (l *loading) good(g plan.Goods, stop string) {
	name, unit, amount := cmp.Or(g.Name, g.Says.In(l.a.words.Lang)), "", 0.0
	if g.Total != nil {
		unit, amount = g.Total.Unit, g.Total.Value
	}
	at := slices.IndexFunc(l.lines, func(x page.LoadLine) bool { return x.Name == name && x.Unit == unit })
	if at < 0 {
		line := page.LoadLine{Name: name, Unit: unit}
		if g.Lacking != nil {
			line.Lacking = l.a.in(*g.Lacking)
		}
		if g.Label != nil {
			line.Reentry = g.Label.ReEntry
		}
		l.lines, l.sums, l.from = append(l.lines, line), append(l.sums, 0), append(l.from, nil)
		at = len(l.lines) - 1
	}
	l.sums[at] += amount
	if unit != "" {
		l.lines[at].Amount.Say = l.a.amount(l.sums[at], unit)
		l.from[at] = append(l.from[at], stop+": "+l.a.says(g.Total))
	}
}

// stopLines are a step's materials with each zone's amount, or what is to be done where nothing is put down.
func (l *loading) stopLines(s dueStep, stop string) []page.LoadTask {
	a := l.a
	if len(s.step.Goods) == 0 {
		return []page.LoadTask{{Do: a.in(s.step.Do), Done: s.done}}
	}
	var out []page.LoadTask
	for _, g := range s.step.Goods {
		task := page.LoadTask{Do: cmp.Or(g.Name, g.Says.In(a.words.Lang)), Done: s.done}
		for _, p := range s.step.Parts {
			for _, x := range p.Goods {
				if x.Use == g.Use && x.Amount != nil {
					_, amount, _ := workingsOf(l.d, x)
					task.Zones = append(task.Zones, page.LoadZone{Name: p.Name, Amount: l.notes.Of(stop+", "+p.Name+", "+task.Do, a.says(x.Amount), a.worked(x.Amount, amount))})
				}
			}
		}
		out = append(out, task)
	}
	return out
}
