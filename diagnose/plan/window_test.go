package plan_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose"
	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/plan"
)

// lawn is one zone with one likely cause.
func lawn(day, cause string, facts ...plan.Fact) plan.Input {
	for i := range facts {
		facts[i].Day = day
	}
	return plan.Input{Day: day, Place: plan.Place{State: "Ohio"}, Zones: []plan.Zone{{
		ID: "z", Name: "Zone", Area: agronomy.Q(1000, "ft2"), Grass: "tf", Facts: facts,
		Answer: diagnose.Answer{Verdict: diagnose.ACause, Causes: []diagnose.Likelihood{{ID: cause, Likelihood: 0.9, Role: diagnose.Primary}}},
	}}}
}

// warm is a spell of days with one soil temperature.
func warm(from string, days int, soil float64) *daily {
	w := &daily{Called: "made up", Days: map[string][3]float64{}}
	at, _ := time.Parse(time.DateOnly, from)
	for i := range days {
		w.Days[at.AddDate(0, 0, i).Format(time.DateOnly)] = [3]float64{soil - 8, soil + 8, soil}
	}
	return w
}

func dayOf(t *testing.T, in plan.Input, step string) plan.Step {
	t.Helper()
	pl, _ := planner(t)
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	return stepOf(t, p, step)
}

func TestWindowsBySeasonFrostAndSoil(t *testing.T) {
	thin := plan.Fact{Name: "ground_cover_pct", Value: q(70, "%")}
	for _, w := range []struct {
		name, day, cause, step, frost string
		weather                       plan.Weather
		on, basis                     string
	}{
		{"open today", "2026-08-20", "weed_moss_invasion", "overseed", "", nil, "2026-08-20", "calendar"},
		{"opens next", "2026-06-01", "weed_moss_invasion", "overseed", "", nil, "2026-08-15", "calendar"},
		{"the last day", "2026-09-15", "weed_moss_invasion", "overseed", "", nil, "2026-09-15", "calendar"},
		{"the day after", "2026-09-16", "weed_moss_invasion", "overseed", "", nil, "2027-08-15", "calendar"},
		{"an early frost closes it sooner", "2026-09-10", "weed_moss_invasion", "overseed", "09-25", nil, "2027-08-15", "calendar"},
		{"a late frost does not stretch it", "2026-09-16", "weed_moss_invasion", "overseed", "11-15", nil, "2027-08-15", "calendar"},
		{"over new year", "2026-12-20", "shade", "shade.thin_canopy", "", nil, "2026-12-20", "calendar"},
		{"over new year, seen in January", "2027-01-20", "shade", "shade.thin_canopy", "", nil, "2027-01-20", "calendar"},
		{"soil too warm: when the weather ends the calendar serves", "2026-08-20", "weed_moss_invasion", "overseed", "", warm("2026-08-15", 6, 84), "2026-08-28", "calendar"},
		{"soil warm enough after the calendar", "2026-09-20", "weed_moss_invasion", "overseed", "", warm("2026-09-15", 6, 62), "2026-09-20", "soil"},
		{"soil alone does not open it in winter", "2026-12-01", "weed_moss_invasion", "overseed", "", warm("2026-11-25", 7, 62), "2027-08-15", "calendar"},
		{"cold soil keeps the feed back", "2026-09-10", "nitrogen_deficiency", "feed", "", warm("2026-09-05", 6, 50), "2026-09-18", "calendar"},
	} {
		t.Run(w.name, func(t *testing.T) {
			in := lawn(w.day, w.cause, thin)
			in.Place.FirstFrost, in.Weather = w.frost, w.weather
			s := dayOf(t, in, w.step)
			if s.Day != w.on || s.Window.Basis != w.basis {
				t.Errorf("on %s by the %s, want %s by the %s", s.Day, s.Window.Basis, w.on, w.basis)
			}
			if s.Window.From == "" || s.Window.Basis == "calendar" && w.step == "overseed" && s.Window.Note.EN == "" {
				t.Errorf("the window says too little: %+v", s.Window)
			}
		})
	}
}

func TestThePlanSaysWhatItRestsOn(t *testing.T) {
	pl, _ := planner(t)
	in := lawn("2026-08-20", "weed_moss_invasion")
	for _, w := range []struct {
		frost   string
		weather plan.Weather
		want    string
	}{
		{"", nil, "No weather was at hand: the dates rest on the month."},
		{"10-10", nil, "No weather was at hand: the dates rest on the month and the firm's frost dates (? and 10-10)."},
		{"10-10", warm("2026-08-15", 6, 70), "Weather: made up, up to 2026-08-20; later days rest on the calendar."},
	} {
		in.Place.FirstFrost, in.Weather = w.frost, w.weather
		p, err := pl.Make(in)
		if err != nil || p.Basis[0].EN != w.want || p.Basis[0].ES == "" {
			t.Errorf("%v, %v, want %s", p.Basis, err, w.want)
		}
	}
}

// A plan with a window by the soil's temperature says whether it was measured; one without such a window does not speak of it.
func TestThePlanSaysWhereTheSoilsTemperatureIsFrom(t *testing.T) {
	pl, _ := planner(t)
	none := "No soil temperature was measured lately, and air can't stand in for it: windows by soil temperature rest on the calendar. Measure at 2 in before you begin."
	for _, w := range []struct {
		name, cause string
		weather     plan.Weather
		want        string
	}{
		{"no weather", "weed_moss_invasion", nil, none},
		{"a probe", "weed_moss_invasion", warm("2026-08-15", 6, 70), "Soil at 2 in: 70 F on 2026-08-20, measured. It stands for 7 days; later windows by soil temperature rest on the calendar."},
		{"a probe that ended a week ago", "weed_moss_invasion", warm("2026-08-10", 4, 70), "Soil at 2 in: 70 F on 2026-08-13, measured. It stands for 7 days; later windows by soil temperature rest on the calendar."},
		{"a probe that ended longer ago", "weed_moss_invasion", warm("2026-08-09", 4, 70), none},
		{"a station without a probe", "weed_moss_invasion", airOnly{warm("2026-08-15", 6, 70)}, none},
		{"nothing rests on the soil", "dull_blades", nil, ""},
	} {
		in := lawn("2026-08-20", w.cause, plan.Fact{Name: "ground_cover_pct", Value: q(70, "%")})
		in.Weather = w.weather
		p, err := pl.Make(in)
		got := ""
		for _, b := range p.Basis {
			if strings.HasPrefix(b.EN, "No soil") || strings.HasPrefix(b.EN, "Soil") {
				got += b.EN
			}
		}
		if err != nil || got != w.want {
			t.Errorf("%s: %q, %v, want %q", w.name, got, err, w.want)
		}
	}
}

// airOnly is a station without a probe in the soil.
type airOnly struct{ *daily }

func (airOnly) Soil(string) (float64, bool) { return 0, false }

// A manager may set practice aside with a reason; not without one, and never a label or a law.
func TestOverruling(t *testing.T) {
	pl, _ := planner(t)
	all := materials(t)
	in := lawn("2026-11-05", "nitrogen_deficiency")
	in.Materials = []plan.Material{all["f24"]}
	in.Wishes = []plan.Wish{{Step: "feed", Day: "2026-11-06"}}
	why := func(rule, why string) plan.Overrule {
		return plan.Overrule{Rule: rule, Step: "feed", By: "m1", Why: why}
	}
	for _, w := range []struct {
		name, state string
		overruled   []plan.Overrule
		on          string
	}{
		{"nothing", "Ohio", nil, "2027-05-15"},
		{"both rules", "Ohio", []plan.Overrule{why("window", "a warm autumn"), why("late_nitrogen", "a warm autumn")}, "2026-11-06"},
		{"one of two", "Ohio", []plan.Overrule{why("window", "a warm autumn")}, "2027-05-15"},
		{"without a reason", "Ohio", []plan.Overrule{why("window", ""), why("late_nitrogen", "")}, "2027-05-15"},
	} {
		t.Run(w.name, func(t *testing.T) {
			in := in
			in.Place.State, in.Overruled = w.state, w.overruled
			p, err := pl.Make(in)
			if err != nil {
				t.Fatal(err)
			}
			s := stepOf(t, p, "feed")
			if s.Day != w.on {
				t.Errorf("on %s, want %s", s.Day, w.on)
			}
			kept := slices.ContainsFunc(p.Conflicts, func(c plan.Conflict) bool {
				return c.Rule == "late_nitrogen" && c.Overrule != nil && c.Overrule.Why != ""
			})
			if kept != (w.on == "2026-11-06") {
				t.Errorf("who overruled what is not kept: %+v", p.Conflicts)
			}
		})
	}
	in.Day, in.Place.State = "2026-12-05", "New Jersey"
	in.Wishes[0].Day = "2026-12-06"
	in.Overruled = []plan.Overrule{why("window", "they insist"), why("late_nitrogen", "they insist"), why("nitrogen_nj", "they insist")}
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	if s := stepOf(t, p, "feed"); s.Day < "2027-03-01" {
		t.Errorf("New Jersey's law is overruled: %s", s.Day)
	}
}

func TestInputsThatCannotBeRead(t *testing.T) {
	pl, _ := planner(t)
	for _, spoil := range []func(*plan.Input){
		func(in *plan.Input) { in.Day = "tomorrow" },
		func(in *plan.Input) { in.Zones = append(in.Zones, in.Zones[0]) },
		func(in *plan.Input) { in.Zones[0].Facts = []plan.Fact{{Name: "soil_ph", Day: "2026-13-01"}} },
		func(in *plan.Input) { in.Applied = []plan.Applied{{ID: "a", Day: "", Zones: []string{"z"}}} },
	} {
		in := lawn("2026-08-20", "shade")
		spoil(&in)
		if _, err := pl.Make(in); err == nil {
			t.Error("it was planned")
		}
	}
	in := lawn("2026-08-20", "weed_moss_invasion", plan.Fact{Name: "ground_cover_pct", Value: q(70, "%")})
	in.Materials = []plan.Material{materials(t)["tf"]}
	p, err := pl.Make(in)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range []plan.Edit{
		{Step: "singing", Drop: true}, {Step: "overseed", Zone: "nowhere", Drop: true}, {Step: "overseed", Day: "soon"},
		{Step: "overseed", Target: q(3, "h")}, {Step: "overseed", Target: q(0, "lb PLS/1000 ft2")}, {Step: "overseed", Use: "sod", Target: q(3, "in")},
	} {
		if _, err := pl.Adjust(in, p, []plan.Edit{e}); err == nil {
			t.Errorf("%+v was carried out", e)
		}
	}
}

// What is missing is said, and nothing is made up for it.
func TestWhatIsMissingIsSaid(t *testing.T) {
	in := lawn("2026-08-20", "weed_moss_invasion", plan.Fact{Name: "ground_cover_pct", Value: q(70, "%")})
	s := dayOf(t, in, "overseed")
	if g := s.Parts[0].Goods[0]; g.Amount != nil || s.Goods[0].Lacking == nil || g.Target == nil {
		t.Errorf("no seed on the list: %+v", s.Goods)
	}
	in.Materials = []plan.Material{materials(t)["tf"]}
	in.Zones[0].Area = agronomy.Quantity{}
	s = dayOf(t, in, "overseed")
	if g := s.Parts[0].Goods[0]; g.Amount != nil || g.Rate == nil || g.Note.EN != "The area of Zone is not known: no amount." {
		t.Errorf("no area: %+v", g)
	}
	in.Zones[0].Grass = ""
	s = dayOf(t, in, "overseed")
	if g := s.Parts[0].Goods[0]; g.Amount != nil || g.Target != nil || fmt.Sprint(g.Note.EN) == "" {
		t.Errorf("no grass: %+v", g)
	}
}
