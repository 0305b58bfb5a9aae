package agronomy

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"
)

var (
	inNeed = Input{Name: "water_need", Unit: "in", Range: AtLeast(0), Says: "water to replace"}
	inRate = Input{Name: "precip_rate", Unit: "in/h", Range: Above(0), Says: "rate"}
)

func runTime(need, rate Quantity) (Result, error) {
	s := NewSheet("60 × water ÷ rate", "a handbook")
	w, r := s.Take(inNeed, need), s.Take(inRate, rate)
	s.Step("hours", w/r, "h", "water ÷ rate")
	s.Remark("At the mean rate.")
	return s.Number(60*w/r, "min"), s.Err()
}

// A working says what went in, as given and as used, the steps, the result and the source, to a person and as JSON.
func TestWorking(t *testing.T) {
	res, err := runTime(Q(25.4, "mm"), Q(0.5, "in/h"))
	if err != nil || math.Abs(res.Number-120) > 1e-9 || res.Unit != "min" {
		t.Fatalf("%v %v", res, err)
	}
	want := "60 × water ÷ rate; water_need: 25.4 mm = 1 in; precip_rate: 0.5 in/h; hours = 2 h (water ÷ rate); Result: 120 min; At the mean rate.; Source: a handbook."
	if got := res.Working.String(); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	raw, err := json.Marshal(res.Working)
	var back Working
	if err != nil || json.Unmarshal(raw, &back) != nil || back.String() != want {
		t.Errorf("%s", raw)
	}
	hours, err := res.As("h")
	if err != nil || hours.Number != 2 || hours.Working.Result != "120 min = 2 h" || res.Working.Result != "120 min" {
		t.Errorf("%+v %v", hours, err)
	}
	if _, err := res.As("in"); err == nil {
		t.Error("minutes become inches")
	}
}

// The first refusal stays and names the input; what follows is not a number, and no result passes for one.
func TestRefusals(t *testing.T) {
	for name, c := range map[string]struct {
		need, rate Quantity
		input, say string
	}{
		"below":        {Q(-1, "in"), Q(1, "in/h"), "water_need", "water_need is -1 in, but must be 0 in or more."},
		"at the open":  {Q(1, "in"), Q(0, "mm/h"), "precip_rate", "precip_rate is 0 mm/h, but must be above 0 in/h."},
		"not a number": {Q(math.NaN(), "in"), Q(1, "in/h"), "water_need", "water_need is NaN in, but must be 0 in or more."},
		"no unit":      {Q(1, ""), Q(1, "in/h"), "water_need", "water_need must be given in a unit like in: a unit is missing."},
		"another kind": {Q(1, "lb"), Q(1, "in/h"), "water_need", "water_need must be given in a unit like in: lb (mass) can't be given as in (length)."},
		"both":         {Q(1, "lb"), Q(-1, "in/h"), "water_need", "water_need must be given in a unit like in: lb (mass) can't be given as in (length)."},
	} {
		_, err := runTime(c.need, c.rate)
		var refused *InputError
		if !errors.As(err, &refused) || refused.Input != c.input || refused.Say != c.say {
			t.Errorf("%s: %v", name, err)
		}
	}
	s := NewSheet("", "")
	if s.Number(math.Inf(1), "in"); s.Err() == nil {
		t.Error("infinity is a result")
	}
	s = NewSheet("", "")
	s.Step("a step", math.NaN(), "", "")
	if s.Give(OfList([]float64{1, math.NaN()}, "in")); s.Err() == nil || len(s.Number(1, "in").Working.Steps) > 0 {
		t.Error("not a number is in a list, or in a working")
	}
}

func TestRanges(t *testing.T) {
	for _, c := range []struct {
		r       Range
		say     string
		in, out []float64
	}{
		{Range{}, "any number in mm", []float64{-1e9, 0, 5}, []float64{math.NaN(), math.Inf(1)}},
		{AtLeast(2), "2 mm or more", []float64{2, 3}, []float64{1.999}},
		{Above(2), "above 2 mm", []float64{2.001}, []float64{2, -1}},
		{Between(1, 2), "from 1 to 2 mm", []float64{1, 2}, []float64{0.999, 2.001}},
		{AboveTo(0, 1), "above 0 mm and up to 1 mm", []float64{1e-9, 1}, []float64{0, 1.1}},
		{Within(0, 1), "above 0 mm and below 1 mm", []float64{0.5}, []float64{0, 1}},
		{Range{Max: 3, HasMax: true}, "3 mm or less", []float64{3, -8}, []float64{3.1}},
	} {
		if got := c.r.Say("mm"); got != c.say {
			t.Errorf("%q, want %q", got, c.say)
		}
		for _, v := range c.in {
			if !c.r.Holds(v) {
				t.Errorf("%s refuses %v", c.say, v)
			}
		}
		for _, v := range c.out {
			if c.r.Holds(v) {
				t.Errorf("%s takes %v", c.say, v)
			}
		}
	}
}

// A converted limit is still within it.
func TestLimitSurvivesConversion(t *testing.T) {
	in := Input{Name: "share", Unit: "fraction", Range: Between(0, 0.1)}
	if v, err := in.Number(Q(10, "%")); err != nil || v > 0.1+1e-12 {
		t.Errorf("%v %v", v, err)
	}
}

func TestOptions(t *testing.T) {
	in := Input{Name: "soil", Kind: Text, OneOf: []string{"clay loam", "cool-season"}}
	for given, want := range map[string]string{"Clay Loam": "clay loam", "clay-loam": "clay loam", " cool season ": "cool-season"} {
		if got, err := in.Option(given); err != nil || got != want {
			t.Errorf("%q: %q %v", given, got, err)
		}
	}
	if _, err := in.Option("peat"); err == nil || !strings.Contains(err.Error(), `soil is "peat", but must be one of: clay loam, cool-season.`) {
		t.Error(err)
	}
}

func TestValueJSON(t *testing.T) {
	for want, v := range map[string]Value{
		`{"value":1.5,"unit":"in"}`:            Of(1.5, "in"),
		`{"value":[1,2],"unit":"mm"}`:          OfList([]float64{1, 2}, "mm"),
		`{"value":"loam","unit":"texture"}`:    OfText("loam", "texture"),
		`{"value":["yes"],"unit":"per value"}`: OfTexts([]string{"yes"}, "per value"),
		`{"value":true,"unit":"boolean"}`:      OfFlag(true),
		`{"value":[true,false],"unit":"days"}`: OfFlags([]bool{true, false}, "days"),
	} {
		if got, err := json.Marshal(v); err != nil || string(got) != want {
			t.Errorf("%s, want %s (%v)", got, want, err)
		}
	}
}

// A long list is cut short in a working, a gap is called one.
func TestLists(t *testing.T) {
	long := make([]float64, 1000)
	if s := OfList(long, "mm").String(); len(s) > 200 || !strings.HasSuffix(s, "… mm") {
		t.Errorf("%d letters: %.80s", len(s), s)
	}
	if s := OfList([]float64{1, math.NaN()}, "F").String(); s != "1, missing F" {
		t.Error(s)
	}
}
