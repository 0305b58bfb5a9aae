package weather

import (
	"errors"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"swardbook/diagnose/agronomy"
	"swardbook/diagnose/agronomy/degreedays"
	"swardbook/diagnose/agronomy/soilwater"
)

func load(t testing.TB, name string) Series {
	t.Helper()
	file, err := os.Open("../../../testdata/weather/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	s, err := Read(file, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func on(year, month, day int) time.Time {
	return time.Date(year, time.Month(month), day, 0, 0, 0, 0, time.UTC)
}

var seattle = Station{Latitude: agronomy.Q(47.44, "deg N"), Elevation: agronomy.Q(132, "m"), WindHeight: agronomy.Q(10, "m")}

// Four years of a real station. Sums are those a spreadsheet makes of the same rows.
func TestRealStation(t *testing.T) {
	s := load(t, "seattle.csv")
	if len(s.Days) != 1461 || s.Missing != 0 || s.First() != on(2012, 1, 1) || s.Last() != on(2015, 12, 31) {
		t.Fatalf("%d days from %s to %s", len(s.Days), s.First(), s.Last())
	}
	year := s.TotalsOf(on(2012, 1, 1), on(2012, 12, 31))
	if year.Days != 366 || math.Abs(year.Rain-1226.0) > 0.05 {
		t.Errorf("2012: %+v", year)
	}
	if part := s.Between(on(2011, 1, 1), on(2012, 1, 3)); len(part.Days) != 3 {
		t.Errorf("%d days", len(part.Days))
	}
	if f := s.FrostsOf(2013); f.LastSpring.IsZero() || f.FirstAutumn.IsZero() || f.LastSpring.Month() > 5 || f.FirstAutumn.Month() < 10 {
		t.Errorf("%+v", f)
	}
}

// Degree days of a month by hand: July 2014 in New York, average method, base 50 °F.
func TestDegreeDaysByHand(t *testing.T) {
	july := load(t, "new-york.csv").Between(on(2014, 7, 1), on(2014, 7, 31))
	want := 0.0
	for _, d := range july.Days {
		want += math.Max(0, (d.Tmax*1.8+32+d.Tmin*1.8+32)/2-50)
	}
	for _, base := range []agronomy.Quantity{agronomy.Q(50, "F"), agronomy.Q(10, "C")} {
		got, err := july.DegreeDays(degreedays.Average, base, agronomy.Quantity{})
		if err != nil {
			t.Fatal(err)
		}
		if in, err := got.Total.As("F day"); err != nil || math.Abs(in.Number-want) > 1e-6 || want < 700 || want > 1000 {
			t.Errorf("base %s: %v, want %v", base, got.Total, want)
		}
	}
}

// The crabgrass and beetle windows fall when newsletters of these places put them: spring and early summer.
func TestEventWindows(t *testing.T) {
	s := load(t, "new-york.csv")
	for year := 2012; year <= 2015; year++ {
		for name, within := range map[string][2]time.Time{"crabgrass_preemergence": {on(year, 2, 25), on(year, 5, 5)}, "japanese_beetle_first_adults": {on(year, 5, 25), on(year, 7, 5)}} {
			e, _ := degreedays.EventNamed(name)
			w, err := s.EventWindow(e, year)
			if err != nil {
				t.Fatal(err)
			}
			if w.From.Before(within[0]) || w.From.After(within[1]) || e.To > 0 && !w.To.After(w.From) {
				t.Errorf("%d %s from %s to %s", year, name, w.From.Format("2 Jan"), w.To.Format("2 Jan"))
			}
		}
	}
	for name, year := range map[string]int{"smooth_crabgrass_first_emergence": 2014, "crabgrass_emergence": 2014, "japanese_beetle_first_adults": 2016} {
		e, _ := degreedays.EventNamed(name)
		if w, err := s.EventWindow(e, year); err == nil {
			t.Errorf("%s in %d: %+v", name, year, w)
		}
	}
}

// A year of reference evapotranspiration lies where maps of the region put it; each day's method is the best its columns allow.
func TestReferenceET(t *testing.T) {
	s := load(t, "seattle.csv").Between(on(2014, 1, 1), on(2014, 12, 31))
	et, err := s.ReferenceET(seattle)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, d := range et {
		if d.MM < 0 || d.MM > 12 || d.Method != PenmanFromTmin || d.Working.Source == "" {
			t.Fatalf("%+v", d)
		}
		sum += d.MM
	}
	if sum < 650 || sum > 1000 {
		t.Errorf("%v mm in a year", sum)
	}
	calm := s
	calm.Days = append([]Day(nil), s.Days...)
	for i := range calm.Days {
		calm.Days[i].Wind = math.NaN()
	}
	byTemperature, err := calm.ReferenceET(seattle)
	if err != nil {
		t.Fatal(err)
	}
	other := 0.0
	for _, d := range byTemperature {
		if d.Method != Hargreaves {
			t.Fatalf("%+v", d)
		}
		other += d.MM
	}
	if math.Abs(other-sum) > 0.25*sum {
		t.Errorf("Penman–Monteith %v mm, Hargreaves %v mm", sum, other)
	}
}

// Nothing is lost from the account: rain = use + change in the soil + what went deep.
func TestBalanceKeepsWater(t *testing.T) {
	for _, name := range []string{"seattle.csv", "new-york.csv"} {
		s := load(t, name)
		ground := Ground{Bucket: soilwater.Bucket{TAW: 25, P: 0.5, Kc: 0.8}, Available: agronomy.Q(1.9, "in/ft")}
		w, err := s.Balance(seattle, ground, map[string]float64{"2013-07-20": 12.5})
		if err != nil {
			t.Fatal(err)
		}
		in, used, deep := 12.5, 0.0, 0.0
		for i, d := range w {
			in += s.Days[i].Rain
			used += d.ETa
			deep += d.Deep
			if d.Depletion < 0 || d.Depletion > 25 || d.Ks < 0 || d.Ks > 1 {
				t.Fatalf("%+v", d)
			}
		}
		if lack := w[len(w)-1].Depletion; math.Abs(in-used-deep+lack) > 1e-6 {
			t.Errorf("%s: %v in, %v used, %v deep, %v short", name, in, used, deep, lack)
		}
	}
}

func TestExpectedWetting(t *testing.T) {
	s := load(t, "seattle.csv").Between(on(2014, 6, 20), on(2014, 7, 20))
	ground := Ground{Bucket: soilwater.Bucket{TAW: 25, P: 0.5, Kc: 0.8}, Available: agronomy.Q(2, "in/ft")}
	e, err := s.ExpectedWetting(seattle, ground, map[string]float64{"2014-07-17": 8})
	if err != nil {
		t.Fatal(err)
	}
	want := 8 / (2.0 / 12 * e.Before.Number)
	if e.Applied.Number != 8 || math.Abs(e.Depth.Number-want) > 1e-9 || e.DaysAgo.Number != 3 || e.Before.Number < 0.3 {
		t.Errorf("%v of %v, %v before, %v days ago", e.Depth, e.Applied, e.Before, e.DaysAgo)
	}
}

const good = "date,tmin (C),tmax (C),rain (mm)\n2026-05-01,5,15,0\n2026-05-02,6,16,T\n2026-05-03,7,17,3.5\n"

func TestReadForms(t *testing.T) {
	for name, text := range map[string]string{
		"plain":            good,
		"US units":         "Date,High [F],Low [F],Precip (in)\n2026-05-01,59,41,0\n2026-05-02,60.8,42.8,0\n2026-05-03,62.6,44.6,0.13779527559\n",
		"semicolons":       "date;tmin (°C);tmax (°C);rain (mm)\r\n2026-05-01;5,0;15,0;0\r\n2026-05-02;6;16;0\r\n2026-05-03;7;17;3,5\r\n",
		"more columns":     "\ufeffstation,date,tmin (C),tmax (C),rain (mm),note\nA,2026-05-01,5,15,0,\nA,2026-05-02,6,16,0,x\nA,2026-05-03,7,17,3.5,\n",
		"no last line end": strings.TrimSpace(good),
	} {
		s, err := Read(strings.NewReader(text), Options{})
		if err != nil || len(s.Days) != 3 || math.Abs(s.Days[2].Rain-3.5) > 1e-6 || math.Abs(s.Days[0].Tmin-5) > 1e-9 || math.Abs(s.Days[1].Tmax-16) > 1e-9 || Known(s.Days[0].Wind) {
			t.Errorf("%s: %v %+v", name, err, s)
		}
	}
}

// What is wrong is said with its line.
func TestReadRefuses(t *testing.T) {
	head := "date,tmin (C),tmax (C),rain (mm)\n"
	for name, c := range map[string]struct {
		text string
		line int
		say  string
	}{
		"empty":          {"", 1, "empty"},
		"no days":        {head, 1, "no days"},
		"no unit":        {"date,tmin,tmax (C),rain (mm)\n", 1, `"tmin" names no unit; write it after the name, as in tmin (C).`},
		"wrong unit":     {"date,tmin (mm),tmax (C),rain (mm)\n", 1, "must be in a unit like C"},
		"no rain":        {"date,tmin (C),tmax (C)\n", 1, "no column rain"},
		"twice a column": {"date,tmin (C),low (C),tmax (C),rain (mm)\n", 1, "a second time"},
		"no number":      {head + "2026-05-01,5,warm,0\n", 2, `tmax is "warm", which is no number.`},
		"no date":        {head + "1.5.2026,5,15,0\n", 2, "is no date"},
		"short row":      {head + "2026-05-01,5,15\n", 2, "3 fields"},
		"turned round":   {head + "2026-05-01,15,5,0\n", 2, "tmin (15 C) is above tmax (5 C)."},
		"too hot":        {head + "2026-05-01,5,155,0\n", 2, "tmax is 155 C, but must be from -60 to 60 C."},
		"sentinel":       {head + "2026-05-01,5,15,-9999\n", 2, "rain is -9999 mm, but must be from 0 to 2000 mm."},
		"gap":            {head + "2026-05-01,5,15,0\n2026-05-04,5,15,0\n", 3, "2 days are missing before 2026-05-04"},
		"twice":          {head + "2026-05-01,5,15,0\n2026-05-01,5,15,0\n", 3, "2026-05-01 is there twice."},
		"backwards":      {head + "2026-05-02,5,15,0\n2026-04-01,5,15,0\n", 3, "the oldest day must come first"},
		"lacking":        {head + "2026-05-01,5,15,0\n2026-05-02,5,,0\n", 3, "is missing; at most 0 days"},
		"quote":          {head + "2026-05-01,\"5,15,0\n", 2, "can't be read"},
	} {
		_, err := Read(strings.NewReader(c.text), Options{})
		var problems Problems
		if !errors.As(err, &problems) {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if problems[0].Line != c.line || !strings.Contains(problems[0].Say, c.say) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Allowed gaps are filled between their neighbours, marked, and never counted as zero warmth.
func TestGaps(t *testing.T) {
	text := "date,tmin (C),tmax (C),rain (mm)\n2026-05-01,10,20,0\n2026-05-04,13,23,1\n2026-05-05,,,\n2026-05-06,15,25,0\n"
	s, err := Read(strings.NewReader(text), Options{Gaps: 2})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Days) != 6 || s.Missing != 9 || Known(s.Days[1].Tmax) {
		t.Fatalf("%+v", s)
	}
	sums, err := s.DegreeDays(degreedays.Average, agronomy.Q(10, "C"), agronomy.Quantity{})
	if err != nil || sums.Filled != 3 || math.Abs(sums.Total.Number-(5+6+7+8+9+10)) > 1e-9 {
		t.Errorf("%v %+v", err, sums)
	}
	et, err := s.ReferenceET(seattle)
	if err != nil || !et[1].Estimated || et[0].Estimated || et[1].Method != Hargreaves {
		t.Errorf("%v %+v", err, et)
	}
	if _, err := Read(strings.NewReader(text+"2026-05-09,1,2,3\n2026-05-10,,,\n"), Options{Gaps: 2}); err == nil {
		t.Error("a gap at the end is taken")
	}
}

// A probe's file holds the soil's temperature alone, where the reader allows it; half a station's heading is still refused.
func TestProbeFile(t *testing.T) {
	text := "date,soil temperature (F)\n2026-05-01,50\n2026-05-03,59\n"
	if _, err := Read(strings.NewReader(text), Options{Gaps: 2}); err == nil {
		t.Error("a file without air is taken for a station's")
	}
	s, err := Read(strings.NewReader(text), Options{Gaps: 2, Probe: true})
	if err != nil || len(s.Days) != 3 || s.Missing != 1 || math.Abs(s.Days[2].Soil-15) > 1e-9 || Known(s.Days[1].Soil) || Known(s.Days[0].Tmax) {
		t.Errorf("%+v, %v", s, err)
	}
	for text, say := range map[string]string{
		"date,soil temperature (F)\n2026-05-01,\n":                  "The first day lacks soil temperature",
		"date,soil temperature (F)\n2026-05-01,300\n":               "soil temperature",
		"date,soil temperature (F),tmax (F)\n2026-05-01,50,60\n":    "no column tmin",
		"date,wind (m/s)\n2026-05-01,5\n":                           "no column tmax",
		"date,soil temperature (F)\n2026-05-01,50\n2026-05-02,NA\n": "nothing is known beyond",
	} {
		if _, err := Read(strings.NewReader(text), Options{Gaps: 2, Probe: true}); err == nil || !strings.Contains(err.Error(), say) {
			t.Errorf("%q: %v, want %s", text, err, say)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(good)
	f.Add("date;tmin (C);tmax (F);rain (in);wind (km/h);humidity (%)\n2026-05-01;5,5;60;0,1;10;80\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Read(strings.NewReader(text), Options{Gaps: 3})
		if err != nil {
			return
		}
		for i, d := range s.Days {
			if i > 0 && d.Date.Sub(s.Days[i-1].Date) != 24*time.Hour {
				t.Fatalf("a break before %s", d.Date)
			}
			if d.Tmin > d.Tmax || d.Rain < 0 || math.IsInf(d.Rain, 0) {
				t.Fatalf("%+v", d)
			}
		}
		if _, err := s.ReferenceET(seattle); err != nil {
			t.Fatal(err)
		}
	})
}

func BenchmarkReferenceET(b *testing.B) {
	s := load(b, "seattle.csv").Between(on(2014, 1, 1), on(2014, 12, 31))
	for b.Loop() {
		if _, err := s.ReferenceET(seattle); err != nil {
			b.Fatal(err)
		}
	}
}
