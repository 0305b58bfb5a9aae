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
		`[{"id":"A","findings":{"look":[1]}}]`:                           {`"A"`, "look", "signs"},
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

func TestRunWritesNothingWhenACaseIsWrong(t *testing.T) {
	for _, in := range []string{
		`[{"id":"good","month":1},{"id":"bad","month":1,"findings":{"tint":"plaid"}}]`,
		`[{"id":"bad","month":1,"findings":{"tint":-}}]`,
	} {
		var out bytes.Buffer
		err := diagnose.Run(smallEngine(t), strings.NewReader(in), &out)
		if err == nil || out.Len() > 0 {
			t.Errorf("%v, %q", err, out.String())
		}
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
