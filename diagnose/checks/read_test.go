package checks

import (
	"encoding/json"
	"math"
	"os"
	"reflect"
	"testing"
)

type vectorFile struct {
	Checks  []Check `json:"checks"`
	Vectors []struct {
		Name     string          `json:"name"`
		Check    string          `json:"check"`
		Typed    string          `json:"typed"`
		Value    json.RawMessage `json:"value"`
		Problems json.RawMessage `json:"problems"`
	} `json:"vectors"`
}

func vectors(t testing.TB) (vectorFile, map[string]Check) {
	t.Helper()
	text, err := os.ReadFile("../../testdata/vectors/read.json")
	if err != nil {
		t.Fatal(err)
	}
	var f vectorFile
	if err := json.Unmarshal(text, &f); err != nil {
		t.Fatal(err)
	}
	byID := map[string]Check{}
	for _, c := range f.Checks {
		byID[c.ID] = c
	}
	return f, byID
}

// plainJSON is v as any JSON reader sees it.
func plainJSON(t testing.TB, v any) any {
	t.Helper()
	text, ok := v.(json.RawMessage)
	if !ok {
		var err error
		if text, err = json.Marshal(v); err != nil {
			t.Fatal(err)
		}
	}
	var out any
	if err := json.Unmarshal(text, &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func TestReadVectors(t *testing.T) {
	f, byID := vectors(t)
	if len(f.Vectors) < 80 {
		t.Fatalf("%d vectors, want at least 80", len(f.Vectors))
	}
	names := map[string]bool{}
	for _, v := range f.Vectors {
		if names[v.Name] {
			t.Errorf("two vectors are named %q", v.Name)
		}
		names[v.Name] = true
		t.Run(v.Name, func(t *testing.T) {
			value, problems := Read(byID[v.Check], v.Typed)
			if problems == nil {
				problems = []Problem{}
			}
			if got, want := plainJSON(t, value), plainJSON(t, v.Value); !reflect.DeepEqual(got, want) {
				t.Errorf("value of %q: got %v, want %v", v.Typed, got, want)
			}
			if got, want := plainJSON(t, problems), plainJSON(t, v.Problems); !reflect.DeepEqual(got, want) {
				t.Errorf("problems of %q: got %v, want %v", v.Typed, got, want)
			}
		})
	}
}

func FuzzRead(f *testing.F) {
	file, byID := vectors(f)
	for _, v := range file.Vectors {
		f.Add(v.Check, v.Typed)
	}
	f.Fuzz(func(t *testing.T, id, typed string) {
		c, ok := byID[id]
		if !ok {
			c = byID["cores"]
		}
		value, problems := Read(c, typed)
		for _, p := range problems {
			if !p.Ask && !reflect.DeepEqual(value, Value{}) {
				t.Errorf("%q: a value %v beside the problem %s", typed, value, p.Code)
			}
		}
		for _, x := range value.Numbers {
			if math.IsNaN(x) || math.IsInf(x, 0) || x < c.Hard.Low || x > c.Hard.High {
				t.Errorf("%q is read as %v", typed, x)
			}
		}
		if len(problems) == 0 && reflect.DeepEqual(value, Value{}) && c.Kind != Signs {
			t.Errorf("%q: neither a value nor a problem", typed)
		}
	})
}
