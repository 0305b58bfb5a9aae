package diagnose_test

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"swardbook/diagnose"
)

func one(t *testing.T, text string) diagnose.Case {
	t.Helper()
	cases, err := diagnose.ReadCases(strings.NewReader("[" + text + "]"))
	if err != nil {
		t.Fatal(err)
	}
	if len(cases) != 1 {
		t.Fatalf("%d cases", len(cases))
	}
	return cases[0]
}

func TestReadCase(t *testing.T) {
	c := one(t, `{"id":"A1","season":"fall","month":"sept","kind":"single","expect_primary":["x"],
		"context":{"site":"Routine visit","irrigation":"none","rain":"week"},
		"findings":{"depth":{"values":[1,2,3],"unit":"cm"},"look":"straw","count":0,"plants":["moss","clover"],"later":null}}`)
	if c.ID != "A1" || c.Season != "fall" || c.Month != 9 {
		t.Errorf("%+v", c)
	}
	for key, want := range map[string]string{"visit": "routine", "system": "none", "rain": "week", "site": "Routine visit"} {
		if c.Context[key] != want {
			t.Errorf("context %s: %q, want %q", key, c.Context[key], want)
		}
	}
	got, err := json.Marshal(c.Observed)
	want := `[{"finding":"count","number":{"mean":0,"sd":0,"n":1}},{"finding":"depth","number":{"mean":2,"sd":1,"n":3,"unit":"cm"}},` +
		`{"finding":"look","state":"straw"},{"finding":"plants","present":["moss","clover"]}]`
	if err != nil || string(got) != want {
		t.Errorf("%s\nwant\n%s", got, want)
	}
}

func TestReadCaseContextAsGivenWins(t *testing.T) {
	c := one(t, `{"id":"A","context":{"visit":"complaint","site":"routine visit","irrigation":"none to speak of"}}`)
	if c.Context["visit"] != "complaint" || c.Context["system"] != "" {
		t.Errorf("%v", c.Context)
	}
}

func TestReadMonths(t *testing.T) {
	for text, want := range map[string]int{`"July"`: 7, `"jul"`: 7, `7`: 7, `"12"`: 12, `null`: 0, `""`: 0} {
		if c := one(t, `{"id":"A","month":`+text+`}`); c.Month != want {
			t.Errorf("%s: %d", text, c.Month)
		}
	}
}

func TestReadCasesNamesCaseAndField(t *testing.T) {
	for text, want := range map[string][]string{
		`{}`:   {"list of cases"},
		`[`:    {"list of cases"},
		``:     {"input is empty"},
		" \n":  {"input is empty"},
		`null`: {"list of cases"},
		`[] []`: {
			"follows"},
		`[7]`:                                                            {"case 1", "object"},
		`[{"id":"A"},null]`:                                              {"case 2", "object"},
		`[{"id":5}]`:                                                     {"case 1", "id"},
		`[{"id":"A","season":3}]`:                                        {`"A"`, "season"},
		`[{"id":"A","month":"Juli"}]`:                                    {`"A"`, "month"},
		`[{"id":"A","month":13}]`:                                        {`"A"`, "month"},
		`[{"id":"A","month":7.5}]`:                                       {`"A"`, "month"},
		`[{"id":"A","context":{"rain":3}}]`:                              {`"A"`, "context", "rain"},
		`[{"id":"A","findings":[]}]`:                                     {`"A"`, "findings"},
		`[{"id":"A","findings":{"look":true}}]`:                          {`"A"`, "findings", "look"},
		`[{"id":"A","findings":{"look":""}}]`:                            {`"A"`, "look", "empty"},
		`[{"id":"A","findings":{"look":[]}}]`:                            {`"A"`, "look", "empty"},
		`[{"id":"A","findings":{"deep":{"values":[]}}}]`:                 {`"A"`, "deep", "values"},
		`[{"id":"A","findings":{"deep":{"values":[null]}}}]`:             {`"A"`, "deep", "values"},
		`[{"id":"A","findings":{"deep":{"values":[-1]}}}]`:               {`"A"`, "deep", "negative"},
		`[{"id":"A","findings":{"deep":{"values":[1],"units":"inch"}}}]`: {`"A"`, "deep", "units"},
		`[{"id":"A","findings":{"deep":1e999}}]`:                         {`"A"`, "deep"},
	} {
		_, err := diagnose.ReadCases(strings.NewReader(text))
		if err == nil {
			t.Errorf("%s: no error", text)
			continue
		}
		for _, part := range want {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("%s: %q does not name %q", text, err, part)
			}
		}
	}
}

// An empty case gets the base rates and a first check to do.
func TestEmptyCaseIsAnswered(t *testing.T) {
	a := answer(t, engine(t), one(t, `{"id":"empty","season":"summer"}`))
	if a.Verdict != diagnose.CantTell || len(a.Next) == 0 || len(a.Causes) != len(loaded(t).Bundle.Causes) {
		t.Errorf("%s, %d checks, %d causes", a.Verdict, len(a.Next), len(a.Causes))
	}
}

func TestRun(t *testing.T) {
	var out bytes.Buffer
	in := `[{"id":"one","season":"summer","findings":{"tint":"straw"}},{"id":"two","month":1,"findings":{}}]`
	if err := diagnose.Run(smallEngine(t), strings.NewReader(in), &out); err != nil {
		t.Fatal(err)
	}
	var got []map[string]json.RawMessage
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 || string(got[0]["id"]) != `"one"` || string(got[1]["id"]) != `"two"` {
		t.Fatalf("%s", out.String())
	}
	for _, field := range []string{"causes", "nothing_wrong", "next", "verdict"} {
		if len(got[0][field]) == 0 {
			t.Errorf("no %s", field)
		}
	}
	var causes []map[string]json.RawMessage
	if err := json.Unmarshal(got[0]["causes"], &causes); err != nil {
		t.Fatal(err)
	}
	for _, field := range []string{"id", "likelihood", "role", "for", "against"} {
		if len(causes[0][field]) == 0 || string(causes[0][field]) == "null" {
			t.Errorf("no %s in a cause", field)
		}
	}
}

// A case that can't be weighed stands as such in its place, and the others get their answers.
func TestRunSaysWhichCaseIsWrong(t *testing.T) {
	var out bytes.Buffer
	in := `[{"id":"good","month":1},{"id":"bad","month":1,"findings":{"tint":"plaid"}},{"id":"deep","month":1,"findings":{"core":-3}},{"id":"last","month":7}]`
	err := diagnose.Run(smallEngine(t), strings.NewReader(in), &out)
	if err == nil || !strings.Contains(err.Error(), "2 of 4") {
		t.Errorf("%v", err)
	}
	var got []struct{ ID, Verdict, Error string }
	if err := json.Unmarshal(out.Bytes(), &got); err != nil {
		t.Fatal(err)
	}
	if len(got) != 4 || got[0].Error != "" || got[3].Verdict == "" || !strings.Contains(got[1].Error, "plaid") || !strings.Contains(got[2].Error, "negative") {
		t.Errorf("%+v", got)
	}
}

func TestRunWritesNothingForWhatIsNoList(t *testing.T) {
	var out bytes.Buffer
	if err := diagnose.Run(smallEngine(t), strings.NewReader(`[{"id":"bad","month":1,"findings":{"tint":-}}]`), &out); err == nil || out.Len() > 0 {
		t.Errorf("%v, %q", err, out.String())
	}
}

// Listed measurements say what the check says when they are typed.
func TestRunDerivesWhatListedMeasurementsSay(t *testing.T) {
	answers := func(findings string) string {
		var out bytes.Buffer
		if err := diagnose.Run(smallEngine(t), strings.NewReader(`[{"id":"x","season":"summer","findings":`+findings+`}]`), &out); err != nil {
			t.Fatal(err)
		}
		return out.String()
	}
	listed := answers(`{"core":[1,2,8,9]}`)
	if both := answers(`{"core":{"values":[1,2,8,9]},"core_range":8}`); listed != both {
		t.Errorf("%s\n%s", listed, both)
	}
	if own := answers(`{"core":[1,2,8,9],"core_range":"small"}`); own == listed {
		t.Error("what the case says itself does not stand")
	}
	if cm := answers(`{"core":{"values":[2.54,5.08,20.32,22.86],"unit":"cm"}}`); !strings.Contains(cm, "core_range") {
		t.Errorf("%s", cm)
	}
	if few := answers(`{"core":[1,9]}`); strings.Contains(few, "core_range") {
		t.Errorf("two cores say how far cores lie apart: %s", few)
	}
}

func TestReadCaseOfAFurtherVisit(t *testing.T) {
	c := one(t, `{"id":"A","month":7,"before":[{"cause":"dry","likelihood":0.8,"days":14}],"done":[{"action":"dry.soak","days":10}]}`)
	if len(c.Before) != 1 || c.Before[0].Days != 14 || len(c.Done) != 1 || c.Done[0].Action != "dry.soak" {
		t.Errorf("%+v", c)
	}
	if _, err := diagnose.ReadCases(strings.NewReader(`[{"id":"A","before":[{"cause":"dry","likelihood":"much"}]}]`)); err == nil || !strings.Contains(err.Error(), "before.likelihood") {
		t.Errorf("%v", err)
	}
}

func TestRunOnNoCases(t *testing.T) {
	var out bytes.Buffer
	if err := diagnose.Run(smallEngine(t), strings.NewReader("[]"), &out); err != nil || strings.TrimSpace(out.String()) != "[]" {
		t.Errorf("%v %q", err, out.String())
	}
}

func FuzzReadCases(f *testing.F) {
	f.Add(`[{"id":"A","season":"summer","month":"July","context":{"visit":"routine"},"findings":{"tint":"straw","core":2,"plants":["none"]}}]`)
	f.Add(`[{"id":"A","month":7,"findings":{"core":{"values":[1,2.5],"unit":"cm"},"probe":1e308}}]`)
	f.Add(`[{"findings":{"":0}}]`)
	f.Add(`[null]`)
	f.Fuzz(func(t *testing.T, text string) {
		cases, err := diagnose.ReadCases(strings.NewReader(text))
		if err != nil {
			if cases != nil {
				t.Error("cases beside an error")
			}
			return
		}
		for _, c := range cases {
			a, err := smallEngine(t).Diagnose(c)
			if err == nil && !(a.NothingWrong >= 0 && a.NothingWrong <= 1) || math.IsNaN(a.NothingWrong) {
				t.Errorf("%v", a.NothingWrong)
			}
		}
	})
}
