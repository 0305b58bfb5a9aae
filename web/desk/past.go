package desk

import (
	"cmp"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"swardbook/diagnose"
	"swardbook/store/history"
	"swardbook/web/page"
)

const (
	across    = 12 // how many visits a property's picture shows, the newest ones
	drawnMost = 3  // how many checks it shows unless others are asked for
)

// past draws zones down and visits across: causes, chosen checks, what was put down, photos, and the table behind it all.
func (d *Desk) past(r *http.Request, a asking, property string) (v page.PastView, err error) {
	ask := r.URL.Query()
	most := across
	if ask.Get("all") != "" {
		most = 0
	}
	p, err := history.PropertyHistory(r.Context(), d.db, d.know(), property, most)
	if err != nil {
		return v, err
	}
	v.Earlier, v.AllTo = p.Earlier, "?all=1"
	d.shown(a, p, ask["show"], &v)
	for _, x := range p.Visits {
		v.Visits = append(v.Visits, page.VisitCol{URL: "/desk/visits/" + x.ID, Day: shortDay(x.Day), State: a.words.T("state." + string(x.State)), Applied: appliedOn(p, x.ID)})
	}
	for _, x := range p.Ahead {
		v.Ahead = append(v.Ahead, page.Choice{Value: "/desk/visits/" + x.ID, Label: day(x.Day)})
	}
	for _, t := range p.Treatments() {
		v.Treatments = append(v.Treatments, a.words.T("past.treatment", "day", shortDay(t.Day), "name", t.Name, "zones", strings.Join(zoneNames(p, t.Zones), ", ")))
	}
	for _, z := range p.Zones {
		v.Zones = append(v.Zones, d.zoneHistory(r, a, p, z))
	}
	if len(p.Visits) == 0 || len(p.Zones) == 0 {
		return v, nil
	}
	var svg strings.Builder
	title := a.words.T("past.title", "address", p.Property.Address)
	if err := p.Scene(title, d.know().Bundle.Settings.Likely, drawn(v)).WriteSVG(&svg); err != nil {
		return v, err
	}
	v.SVG = svg.String()
	return v, nil
}

func drawn(v page.PastView) []string {
	var out []string
	for id := range v.Drawn {
		out = append(out, id)
	}
	return out
}

// shown lists the checks that can be drawn. Unless some are asked for, those that changed for sure, then those measured most often, are drawn.
func (d *Desk) shown(a asking, p history.Past, asked []string, v *page.PastView) {
	v.Drawn = map[string]bool{}
	score := map[string]int{}
	for _, c := range d.know().Bundle.Checks {
		for _, z := range p.Zones {
			for _, l := range z.Lines {
				if l.Check == c.ID {
					score[c.ID] += worth(l)
				}
			}
		}
		if score[c.ID] > 0 {
			v.Shown = append(v.Shown, page.Choice{Value: c.ID, Label: c.Label.In(a.words.Lang)})
			v.Drawn[c.ID] = slices.Contains(asked, c.ID)
		}
	}
	order := slices.Clone(v.Shown)
	slices.SortStableFunc(order, func(x, y page.Choice) int { return cmp.Compare(score[y.Value], score[x.Value]) })
	for i, c := range order {
		if len(asked) == 0 && i < drawnMost {
			v.Drawn[c.Value] = true
		}
	}
	for id, yes := range v.Drawn {
		if !yes {
			delete(v.Drawn, id)
		}
	}
}

// worth is how much a line has to show: its numbers, more when they changed beyond their errors.
func worth(l history.CheckLine) int {
	n := 0
	for _, x := range l.Values {
		if x != nil {
			n++
		}
	}
	if l.Change != nil && l.Change.Sure() {
		n += 100
	}
	return n
}

func appliedOn(p history.Past, visit string) []string {
	var out []string
	for _, x := range p.Applied {
		if x.Visit == visit {
			out = addOnce(out, x.Name)
		}
	}
	return out
}

func zoneNames(p history.Past, ids []string) []string {
	var out []string
	for _, z := range p.Zones {
		if slices.Contains(ids, z.Zone.ID) {
			out = append(out, z.Zone.Name)
		}
	}
	return out
}

func (d *Desk) zoneHistory(r *http.Request, a asking, p history.Past, z history.ZonePast) page.ZoneHistory {
	h := page.ZoneHistory{Name: z.Zone.Name, Area: area(z.Zone.AreaSqFt, a.firm, a.words)}
	for i, x := range z.Visits {
		h.Leads = append(h.Leads, ledSays(a, x))
		for _, reading := range x.Readings {
			if reading.SHA != "" && d.hasPhoto(r.Context(), reading.SHA) {
				when := shortDay(p.Visits[i].Day)
				h.Photos = append(h.Photos, page.PhotoView{URL: "/desk/photos/" + reading.SHA, Here: true, Caption: when, Alt: a.words.T("past.photo", "zone", z.Zone.Name, "day", when)})
			}
		}
	}
	for _, c := range z.Causes {
		line := page.HistoryLine{Label: c.Label}
		for _, p := range c.Values {
			text := ""
			if p != nil {
				_, text = percent(*p, a.words)
			}
			line.Cells = append(line.Cells, text)
		}
		h.Lines = append(h.Lines, line)
	}
	for _, l := range z.Lines {
		h.Lines = append(h.Lines, historyLine(a, l))
		if l.Change != nil {
			h.Trends = append(h.Trends, trendSays(a.words, l))
		}
	}
	return h
}

// ledSays is what a visit found in a zone, in a few words.
func ledSays(a asking, v history.ZoneVisit) string {
	switch {
	case !v.Seen:
		return a.words.T("zone.untouched")
	case v.CantSay != "" || v.Verdict == "":
		return a.words.T("zone.pending")
	case v.Verdict == diagnose.NothingWrong:
		return a.words.T("zone.fine")
	case len(v.Leading) == 0:
		return a.words.T("zone.cant_tell")
	}
	_, says := percent(v.Leading[0].Likelihood, a.words)
	return v.Leading[0].Label + " " + says
}

func historyLine(a asking, l history.CheckLine) page.HistoryLine {
	line := page.HistoryLine{Label: l.Label}
	for _, e := range l.Estimates {
		text := ""
		if e != nil {
			text = l.Says(*e)
		}
		line.Cells = append(line.Cells, text)
	}
	limits := make([]string, len(l.Limits))
	for i, x := range l.Limits {
		limits[i] = a.words.T("past.limit", "at", figure(x.At), "unit", l.Unit, "below", x.Below.In(a.words.Lang), "above", x.Above.In(a.words.Lang))
	}
	line.Limit = strings.Join(limits, "; ")
	return line
}

// trendSays is what can be said of a check over time. Only what lies outside its bounds is called a change.
func trendSays(w page.Words, l history.CheckLine) page.Trend {
	c := *l.Change
	key := "past.same"
	switch {
	case c.Sure() && c.By > 0:
		key = "past.rose"
	case c.Sure():
		key = "past.fell"
	}
	t := page.Trend{Sure: c.Sure(), Say: w.T(key, "check", l.Label, "first", l.Says(c.First), "last", l.Says(c.Last), "from", shortDay(c.First.Day), "to", shortDay(c.Last.Day))}
	if c.SlopeErr > 0 {
		t.Rate = w.T("past.slope", "by", signed(c.Slope, c.SlopeErr), "err", within(c.SlopeErr, c.SlopeErr), "unit", l.Unit, "n", c.Visits)
	}
	return t
}

// within writes a number as finely as its error is worth: to the error's first digit.
func within(x, off float64) string {
	return strconv.FormatFloat(x, 'f', max(0, int(math.Ceil(-math.Log10(off)))), 64)
}

// signed writes a number with its sign.
func signed(x, off float64) string {
	text := within(x, off)
	if rest, negative := strings.CutPrefix(text, "-"); negative {
		return "−" + rest
	}
	return "+" + text
}
