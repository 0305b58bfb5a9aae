package intake

import (
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

// usual is an operation as our pages write it.
const usual = `{"n":1,"id":"0199a","op":"create","entity":"0199a","base":37120,"form":"reading","fver":1,"author":"u17","hlc":"01995b000000-0002-3f9a",` +
	`"at":"2026-09-21T08:30:11.120+02:00","body":{"visit":"v1","zone":"z1","check":"note","typed":"2½ \"in\"\n\ud83c\udf31","edition":"2026-11-25"},"photos":[]}`

// oddities are turned into other operations by one change each.
var oddities = [][2]string{
	{`"n":1`, `"n":01`}, {`"n":1`, `"n":1.0`}, {`"n":1`, `"n":-1`}, {`"n":1`, `"N":1`}, {`"n":1`, `"n":1,"n":2`}, {`"n":1`, `"\u006e":1`}, {`"n":1`, `"n":99999999999999999999`},
	{`"base":37120`, `"base":null`}, {`"fver":1`, `"fver":"1"`}, {`"fver":1`, `"fver":1e3`}, {`"photos":[]`, `"photos":null`}, {`"photos":[]`, `"photos":[{"sha":"x","size":1}]`},
	{`"photos":[]`, `"photos":[],"more":{"a":["]}",{}]}`}, {`"zone":"z1"`, `"zone":null`}, {`"zone":"z1"`, `"Zone":"z1"`}, {`"zone":"z1"`, `"area_sqft":1200.50,"name":"Front"`},
	{`"zone":"z1",`, ``}, {`\ud83c\udf31`, `\ud83c`}, {`\ud83c\udf31`, `\x`}, {`2½`, "2\x00"}, {`2½`, "2\xff"}, {`{"visit"`, `[{"visit"`}, {`"author":"u17"`, `"author":["u17"]`}, {`"op":"create"`, "\"op\"\t:\n\"create\" "},
	{`"photos":[]}`, `"photos":[]`}, {`"photos":[]}`, `"photos":[]},`}, {`"photos":[]}`, `"photos":[],}`}, {usual, `7`}, {usual, `"n"`}, {usual, ``},
}

func sameAsSlow(t testing.TB, raw []byte) (quick bool) {
	t.Helper()
	env, ops, ok := quickly(raw)
	if !ok || env.check() != nil {
		return false
	}
	got, err := env.request(ops)
	if err != nil {
		return false
	}
	want, err := slowly(raw)
	if err != nil {
		t.Fatalf("taken, and refused by encoding/json: %v\n%s", err, raw)
	}
	if !reflect.DeepEqual(got, want) {
		for i, op := range want.Ops {
			if i < len(got.Ops) && !reflect.DeepEqual(got.Ops[i], op) {
				t.Errorf("operation %d is read as\n%+v\nand by encoding/json as\n%+v", i, *got.Ops[i].said, *op.said)
			}
		}
		t.Fatalf("another answer than encoding/json's to %s", raw)
	}
	return true
}

func TestQuickReadsWhatPagesWrite(t *testing.T) {
	if !sameAsSlow(t, []byte(body(usual))) || !sameAsSlow(t, []byte(body(""))) {
		t.Error("the usual push was left to encoding/json")
	}
	if _, ops, _ := quickly([]byte(body(usual))); len(ops) != 1 || ops[0].said.Body.Typed != "2½ \"in\"\n🌱" {
		t.Errorf("read %+v", ops)
	}
	read := 0
	for _, o := range oddities {
		if sameAsSlow(t, []byte(body(strings.Replace(usual, o[0], o[1], 1)))) {
			read++
		}
	}
	if read == 0 || read == len(oddities) {
		t.Errorf("%d of %d odd ones were read", read, len(oddities))
	}
}

func FuzzQuick(f *testing.F) {
	f.Add([]byte(body(usual)))
	for _, o := range oddities {
		f.Add([]byte(body(strings.Replace(usual, o[0], o[1], 1))))
	}
	batches, err := filepath.Glob("../../testdata/batches/*.json")
	if err != nil || len(batches) == 0 {
		f.Fatal("no batches of releases", err)
	}
	for _, path := range batches {
		raw, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(raw)
	}
	f.Fuzz(func(t *testing.T, raw []byte) { sameAsSlow(t, raw) })
}
