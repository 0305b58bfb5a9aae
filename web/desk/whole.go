package desk

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

// Whole is the owner's view of a year: all lawns by main cause and how they responded, materials and what they cost, visits by crew, clients
// at risk, and how far the likelihoods held.
func (d *Desk) Whole(w http.ResponseWriter, r *http.Request) error {
	a, err := d.asking(r)
	if err != nil {
		return err
	}
	this := d.now().In(a.place).Year()
	year, err := readYear(a, cmp.Or(r.URL.Query().Get("year"), strconv.Itoa(this)))
	if err != nil {
		return err
	}
	b, err := d.reckon(r.Context(), year)
	if err != nil {
		return err
	}
	v := b.view(a)
	v.Year = strconv.Itoa(year)
	for y := this; y > this-4; y-- {
		v.Years = append(v.Years, page.Choice{Value: "/desk/whole?year=" + strconv.Itoa(y), Label: strconv.Itoa(y)})
	}
	scores, err := d.lessons.Scores(r.Context())
	if err != nil {
		return err
	}
	v.Scores = d.scoresView(a.words, scores)
	f, err := d.frame(r, a, "whole", a.words.T("whole.title", "year", year))
	if err != nil {
		return err
	}
	f.CSS = append(f.CSS, "past.css")
	return page.Write(w, r, http.StatusOK, page.Whole(f, v))
}

// yearBook is a year of all clients, added up from their season records.
type yearBook struct {
	causes    map[string]map[string]int // cause → how it went → zones
	materials map[string]*used
	visits    map[string]map[bool]int // crew → signed off → visits
	risks     []risk
	zones     int
}

type used struct {
	name, unit   string
	amount, cost float64
	unpriced     bool
}

// risk is a zone whose cause was likely at three visits running: it did not respond twice.
type risk struct{ client, property, address, zone, cause, since string }

func (d *Desk) reckon(ctx context.Context, year int) (*yearBook, error) {
	clients, err := d.db.Clients(ctx)
	if err != nil {
		return nil, err
	}
	b := &yearBook{causes: map[string]map[string]int{}, materials: map[string]*used{}, visits: map[string]map[bool]int{}}
	for _, c := range clients {
		rec, err := history.Season(ctx, d.db, d.know(), c.ID, year)
		if err != nil {
			return nil, err
		}
		for _, p := range rec.Properties {
			b.add(p)
			if err := d.atRisk(ctx, b, c, p, year); err != nil {
				return nil, err
			}
		}
	}
	return b, nil
}

// add puts one property's year to the rest.
func (b *yearBook) add(p history.PropertyRecord) {
	for _, o := range p.Outcomes {
		if b.causes[o.Label] == nil {
			b.causes[o.Label] = map[string]int{}
		}
		b.causes[o.Label][o.State]++
		b.zones++
	}
	applied := slices.Clone(p.Elsewhere)
	for _, v := range p.Visits {
		applied = append(applied, v.Applied...)
		if v.Visit.State == store.Planned {
			continue
		}
		if b.visits[v.Crew] == nil {
			b.visits[v.Crew] = map[bool]int{}
		}
		b.visits[v.Crew][v.Visit.State == store.SignedOff]++
	}
	for _, x := range applied {
		if x.Status == history.Current {
			b.use(x)
		}
	}
}

func (b *yearBook) use(x history.ApplicationRecord) {
	key := x.Name + " " + x.Unit
	if b.materials[key] == nil {
		b.materials[key] = &used{name: x.Name, unit: x.Unit}
	}
	u := b.materials[key]
	for _, z := range x.Zones {
		u.amount += z.Amount
		u.cost += z.Amount * x.Material.UnitCost
	}
	u.unpriced = u.unpriced || x.Material.UnitCost == 0
}

// runs is how many visits running a cause was likely for its zone to be at risk: the first finds it, two show no response.
const runs = 3

func (d *Desk) atRisk(ctx context.Context, b *yearBook, c store.Client, p history.PropertyRecord, year int) error {
	past, err := history.PropertyHistory(ctx, d.db, d.know(), p.Property.ID, 2*runs)
	if err != nil {
		return err
	}
	for _, z := range past.Zones {
		for _, line := range z.Causes {
			if since, ok := unresponsive(past.Visits, line, d.know().Bundle.Settings.Likely, year); ok && led(z, line.ID) {
				b.risks = append(b.risks, risk{c.Name, "/desk/properties/" + p.Property.ID, p.Property.Address, z.Zone.Name, line.Label, since})
				break
			}
		}
	}
	return nil
}

// led reports whether a cause led on any visit, and was not only brought by another.
func led(z history.ZonePast, cause string) bool {
	return slices.ContainsFunc(z.Visits, func(v history.ZoneVisit) bool { return len(v.Leading) > 0 && v.Leading[0].ID == cause })
}

// unresponsive finds a cause that was likely at the last visits running, up to a year, and says since when.
func unresponsive(visits []store.Visit, line history.CauseLine, likely float64, year int) (since string, ok bool) {
	n := 0
	for i, v := range slices.Backward(visits) {
		if v.Day > fmt.Sprintf("%04d-12-31", year) || line.Values[i] == nil {
			continue
		}
		if *line.Values[i] < likely {
			break
		}
		n, since = n+1, v.Day
	}
	return since, n >= runs
}

func (b *yearBook) view(a asking) page.WholeView {
	v := page.WholeView{Causes: b.causeChart(a.words), Visits: b.visitChart(a.words)}
	total, unpriced := 0.0, false
	for _, key := range slices.Sorted(maps.Keys(b.materials)) {
		u := b.materials[key]
		row := page.MaterialUse{Name: u.name, Amount: a.amount(u.amount, u.unit), Cost: money(u.cost)}
		if u.unpriced {
			row.Cost, unpriced = a.words.T("whole.cost.unknown"), true
		}
		total += u.cost
		v.Materials = append(v.Materials, row)
	}
	v.Total = a.words.T("whole.cost", "total", money(total))
	if unpriced {
		v.Total += " " + a.words.T("whole.cost.part")
	}
	v.Costs = b.costChart(a.words)
	for _, x := range b.risks {
		v.Risks = append(v.Risks, page.RiskRow{Client: x.client, URL: x.property, Address: x.address, Zone: x.zone, Cause: x.cause, Since: shortDay(x.since)})
	}
	return v
}

// answersOf are the states of outcomes in the order a bar shows them.
var answersOf = []string{history.NoLonger, history.Still, history.OnceSeen, history.RuledOut, history.NoneFound, history.NotTold}

func (b *yearBook) causeChart(w page.Words) page.Bars {
	c := page.Bars{Title: w.T("whole.causes"), First: w.T("whole.cause")}
	for _, s := range answersOf {
		c.Parts = append(c.Parts, w.T("outcome."+s))
	}
	for label, by := range b.causes {
		row := page.Bar{Label: cmp.Or(label, w.T("whole.nothing"))}
		for _, s := range answersOf {
			row.Values = append(row.Values, float64(by[s]))
		}
		c.Rows = append(c.Rows, row)
	}
	return drawBars(c)
}

func (b *yearBook) visitChart(w page.Words) page.Bars {
	c := page.Bars{Title: w.T("whole.visits"), First: w.T("visit.crew"), Parts: []string{w.T("whole.signed"), w.T("whole.open")}}
	for crew, by := range b.visits {
		c.Rows = append(c.Rows, page.Bar{Label: cmp.Or(crew, w.T("person.nobody")), Values: []float64{float64(by[true]), float64(by[false])}})
	}
	return drawBars(c)
}

func (b *yearBook) costChart(w page.Words) page.Bars {
	c := page.Bars{Title: w.T("whole.costs"), First: w.T("whole.material"), Parts: []string{w.T("whole.cost.head")}}
	for _, u := range b.materials {
		if u.cost > 0 {
			c.Rows = append(c.Rows, page.Bar{Label: u.name, Values: []float64{u.cost}})
		}
	}
	return drawBars(c)
}

// sizes of a chart of bars, in millimetres
const (
	barsWide, barsLeft = 180.0, 74.0
	barHigh, barApart  = 5.0, 7.5
)

// drawBars puts the longest bar first and draws them as SVG without styles; each part of a bar has a class of its own.
func drawBars(c page.Bars) page.Bars {
	sum := func(b page.Bar) (s float64) {
		for _, x := range b.Values {
			s += x
		}
		return s
	}
	slices.SortFunc(c.Rows, func(x, y page.Bar) int { return cmp.Or(cmp.Compare(sum(y), sum(x)), cmp.Compare(x.Label, y.Label)) })
	if len(c.Rows) == 0 || sum(c.Rows[0]) == 0 {
		return c
	}
	most := sum(c.Rows[0])
	s := history.Scene{Title: c.Title, W: barsWide, H: float64(len(c.Rows))*barApart + 2}
	for i, row := range c.Rows {
		y, x := float64(i)*barApart+1, barsLeft
		s.Labels = append(s.Labels, history.SceneText{X: barsLeft - 2, Y: y + 3.6, Right: true, Text: row.Label})
		for n, value := range row.Values {
			if value == 0 {
				continue
			}
			wide := value / most * (barsWide - barsLeft - 16)
			s.Marks = append(s.Marks, history.Mark{Class: "bar" + strconv.Itoa(n+1), Points: [][2]float64{{x, y}, {x + wide, y}, {x + wide, y + barHigh}, {x, y + barHigh}, {x, y}}})
			x += wide
		}
		s.Labels = append(s.Labels, history.SceneText{X: x + 1.5, Y: y + 3.6, Class: "end", Text: figure(sum(row))})
	}
	var svg strings.Builder
	if err := s.WriteSVG(&svg); err == nil {
		c.SVG = svg.String()
	}
	return c
}
