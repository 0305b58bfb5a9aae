package compute

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"testing"
)

// Whatever is given, the answer is JSON of the same length, refused or with finite numbers, and never a panic.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		`[]`, `{"formula":"run_time","inputs":{"water_need":{"value":1,"unit":"in"}}}`,
		`[{"id":1,"formula":"degree_days","inputs":{"tmax":{"value":[1,null,3],"unit":"C"},"tmin":{"value":[0,0,0],"unit":"C"},"base":{"value":0,"unit":"C"}}}]`,
		`{"formula":"polygon_area","inputs":{"polygon":{"value":[[0,0],[0,1],[1,1e3]],"unit":"deg lat, lon"}}}`,
		`{"formula":"direct_sun","inputs":{"date":{"value":"2026-02-30"},"latitude":{"value":91,"unit":"deg"},"longitude":{"value":0,"unit":"deg"}}}`,
		`{"formula":"sample_size","inputs":{"cv":{"value":1e3,"unit":"%"},"allowed_error":{"value":1e-9,"unit":"%"}}}`,
		`{"inputs":{"x":{"value":{},"unit":"m"}}}`, `[{"inputs":{"a":[true,"x",null]}}]`,
	} {
		f.Add([]byte(seed))
	}
	if all, err := os.ReadFile(checksFile); err == nil {
		var list []json.RawMessage
		if json.Unmarshal(all, &list) == nil {
			for _, one := range list {
				f.Add([]byte(one))
			}
		}
	}
	r := NewRegistry()
	f.Fuzz(func(t *testing.T, raw []byte) {
		checks, err := Decode(bytes.NewReader(raw))
		if err != nil {
			return
		}
		if len(checks) > 50 {
			checks = checks[:50]
		}
		answers := r.Run(checks)
		text, err := json.Marshal(answers)
		if err != nil || len(answers) != len(checks) {
			t.Fatalf("%d answers for %d checks, %v", len(answers), len(checks), err)
		}
		for i, a := range answers {
			if a.Error == nil && len(a.Outputs) == 0 {
				t.Errorf("neither an output nor an error: %s", text)
			}
			for name, out := range a.Outputs {
				for _, v := range append(out.result.Numbers, out.result.Number) {
					if math.IsNaN(v) || math.IsInf(v, 0) {
						t.Errorf("%s is %v", name, v)
					}
				}
			}
			Compare(checks[i], a)
		}
	})
}
