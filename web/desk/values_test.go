package desk

import (
	"math"
	"testing"
	"time"

	"swardbook/diagnose/checks"
	"swardbook/diagnose/plan"
	"swardbook/store"
	"swardbook/store/history"
	"swardbook/web/page"
)

func wordsFor(t *testing.T) page.Words {
	t.Helper()
	w, err := page.LoadWords("en")
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func text(en string) checks.Text { return checks.Text{EN: en} }

var (
	colour = checks.Check{ID: "hue", Kind: checks.Choice, Options: []checks.Option{{ID: "green", Label: text("Green")}, {ID: "pale", Label: text("Pale")}}}
	marks  = checks.Check{ID: "marks", Kind: checks.Signs, None: "none", Options: []checks.Option{{ID: "none", Label: text("Nothing")}, {ID: "moss", Label: text("Moss")}, {ID: "holes", Label: text("Holes")}}}
	depth  = checks.Check{ID: "depth", Kind: checks.Repeated, Decimals: 1, Units: []checks.Unit{{ID: "in", Label: text("in"), Mul: 1, Div: 1}, {ID: "cm", Label: text("cm"), Mul: 50, Div: 127}}}
	height = checks.Check{ID: "height", Kind: checks.Measure, Decimals: 1, Units: depth.Units}
	remark = checks.Check{ID: "remark", Kind: checks.Note}
)

func TestAReadingSaysWhatItMeans(t *testing.T) {
	w := wordsFor(t)
	for _, c := range []struct {
		check checks.Check
		typed string
		want  string
	}{
		{colour, "pale", "Pale"},
		{colour, "-", "taken back"},
		{colour, "mauve", "mauve"},
		{marks, "moss", "Moss"},
		{marks, "moss -holes", "Moss; looked for, not there: Holes"},
		{marks, "-holes", "looked for, not there: Holes"},
		{marks, "none", "Nothing"},
		{height, "0", "0 in"},
		{height, "2 1/2", "2 1/2 in"},
		{height, "6 cm", "6 cm"},
		{height, "about two", "about two"},
		{depth, "2; 2 1/2; 7; 7 1/2 in", "2; 2 1/2; 7; 7 1/2 in (mean 4.8 in)"},
		{depth, "5", "5 in"},
		{remark, "A head is stuck.", "A head is stuck."},
	} {
		if got := say(c.check, store.Reading{Typed: c.typed}, w); got != c.want {
			t.Errorf("%s %q: %q, want %q", c.check.ID, c.typed, got, c.want)
		}
	}
}

func TestAChanceIsSaidInStepsOfFive(t *testing.T) {
	w := wordsFor(t)
	for p, want := range map[float64]string{
		0: "under 5\u00a0%", 0.049: "under 5\u00a0%", 0.05: "5\u00a0%", 0.074: "5\u00a0%", 0.076: "10\u00a0%", 0.5: "50\u00a0%", 0.95: "95\u00a0%", 0.951: "over 95\u00a0%", 1: "over 95\u00a0%",
	} {
		if _, got := percent(p, w); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
}

func TestAnAreaInTheFirmsUnits(t *testing.T) {
	w := wordsFor(t)
	us, metric := store.Firm{Units: "us"}, store.Firm{Units: "metric"}
	if got := area(2150, us, w); got != "2,150 sq ft" {
		t.Error(got)
	}
	if got := area(1234567, us, w); got != "1,234,567 sq ft" {
		t.Error(got)
	}
	if got := area(2152.782, metric, w); got != "200 m²" {
		t.Error(got)
	}
	if got := area(0, us, w); got != "" {
		t.Errorf("an unknown area is %q", got)
	}
	for typed, ok := range map[string]bool{"": true, "2150": true, "2150.5": true, "2,150": false, "-4": false, "0": false, "NaN": false, "1e9": false, "big": false} {
		if _, got := readArea(typed, us); got != ok {
			t.Errorf("%q: %v", typed, got)
		}
	}
	if sqft, _ := readArea("200", metric); math.Abs(sqft-2152.782) > 0.001 {
		t.Errorf("200 m² are %v sq ft", sqft)
	}
}

// Only a change that lies outside its bounds is called one; the rate has its error beside it.
func TestTrendsAreSaidWithTheirUncertainty(t *testing.T) {
	w := wordsFor(t)
	line := history.CheckLine{Label: "Weeds", Unit: "%"}
	first, last := history.Estimate{Day: "2026-05-02", Mean: 22, Low: 15, High: 31}, history.Estimate{Day: "2026-08-27", Mean: 9, Low: 5, High: 16}
	for _, c := range []struct {
		change history.Change
		say    string
		rate   string
	}{
		{history.Change{First: first, Last: last, By: -13, Low: -23, High: -3}, "Weeds fell from 22 % (15–31) to 9 % (5–16), 2 May 2026 to 27 Aug 2026.", ""},
		{history.Change{First: last, Last: first, By: 13, Low: 3, High: 23, Slope: 3.25, SlopeErr: 0.5, Visits: 4}, "Weeds rose from 9 % (5–16) to 22 % (15–31), 27 Aug 2026 to 2 May 2026.", "Slope +3.2 ± 0.5 % in 30 days, over 4 visits."},
		{history.Change{First: first, Last: last, By: -13, Low: -30, High: 4, Slope: -3.25, SlopeErr: 2, Visits: 3}, "Weeds: 22 % (15–31) on 2 May 2026, 9 % (5–16) on 27 Aug 2026; too uncertain to call it a change.", "Slope −3 ± 2 % in 30 days, over 3 visits."},
	} {
		line.Change = &c.change
		if got := trendSays(w, line); got.Say != c.say || got.Rate != c.rate || got.Sure != c.change.Sure() {
			t.Errorf("%q, %q", got.Say, got.Rate)
		}
	}
}

func TestDaysAndTimes(t *testing.T) {
	place := time.FixedZone("there", -4*3600)
	for _, c := range []struct{ got, want string }{
		{day("2026-08-27"), "Thu 27 Aug 2026"},
		{day("someday"), "someday"},
		{shortDay("2026-08-27"), "27 Aug 2026"},
		{moment(time.Date(2026, 8, 27, 1, 5, 0, 0, time.UTC), place), "26 Aug, 21:05"},
		{moment(time.Time{}, place), ""},
		{clock("2026-08-27T10:31:00.120-04:00"), "10:31"},
		{stamp("2026-08-27T10:31:00-04:00"), "27 Aug, 10:31"},
		{stamp("noon"), "noon"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// A blend's purity times its germination is its pure live seed: the sum of share, purity and germination of its lots.
func TestSeedOfABlend(t *testing.T) {
	s := seedOf([]store.SeedLot{{Grass: "tf", Share: 90, Purity: 98, Germination: 85}, {Grass: "kbg", Share: 10, Purity: 80, Germination: 60}})
	if want := 0.9*0.98*0.85 + 0.1*0.8*0.6; math.Abs(s.Purity*s.Germination-want) > 1e-12 || s.Shares[0].Share != 0.9 {
		t.Errorf("%+v gives %v, want %v", s, s.Purity*s.Germination, want)
	}
}

// Work that put nothing down is known to the next plan; what put something down has its own record.
func TestWorkOfASignedStep(t *testing.T) {
	core := plan.Step{Works: []string{"core"}, Parts: []plan.Part{{Zone: "a"}, {Zone: "b"}}}
	got := worksOf("p/0", "2026-09-01", core)
	if len(got) != 1 || got[0].Day != "2026-09-01" || len(got[0].Zones) != 2 || got[0].Works[0] != "core" {
		t.Errorf("%+v", got)
	}
	core.Goods = []plan.Goods{{Use: "seed", Material: "m"}}
	if got := worksOf("p/0", "2026-09-01", core); got != nil {
		t.Errorf("counted twice: %+v", got)
	}
}
