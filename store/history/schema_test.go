package history_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"testing"

	"swardbook/store/history"
)

// fits holds a value against the part of JSON Schema that ours uses, and names the first thing that does not fit.
func fits(schema map[string]any, x any, at string) error {
	if !slices.Contains(kinds(schema["type"]), kindOf(x)) {
		return fmt.Errorf("%s is %s, not %v", at, kindOf(x), schema["type"])
	}
	if enum, ok := schema["enum"].([]any); ok && !slices.Contains(enum, x) {
		return fmt.Errorf("%s is %v, none of %v", at, x, enum)
	}
	if pattern, ok := schema["pattern"].(string); ok && !regexp.MustCompile(pattern).MatchString(x.(string)) {
		return fmt.Errorf("%s: %v does not match %s", at, x, pattern)
	}
	switch x := x.(type) {
	case []any:
		for i, item := range x {
			if err := fits(schema["items"].(map[string]any), item, fmt.Sprintf("%s[%d]", at, i)); err != nil {
				return err
			}
		}
	case map[string]any:
		return objectFits(schema, x, at)
	}
	return nil
}

func objectFits(schema, x map[string]any, at string) error {
	for _, name := range schema["required"].([]any) {
		if _, ok := x[name.(string)]; !ok {
			return fmt.Errorf("%s lacks %s", at, name)
		}
	}
	own := schema["properties"].(map[string]any)
	for name, value := range x {
		part, ok := own[name].(map[string]any)
		if !ok {
			return fmt.Errorf("%s has %s, which the schema does not know", at, name)
		}
		if err := fits(part, value, at+"."+name); err != nil {
			return err
		}
	}
	return nil
}

func kinds(t any) []string {
	if list, ok := t.([]any); ok {
		var out []string
		for _, x := range list {
			out = append(out, kinds(x)...)
		}
		return out
	}
	if t == "number" {
		return []string{"number", "integer"}
	}
	return []string{t.(string)}
}

func kindOf(x any) string {
	switch x := x.(type) {
	case string:
		return "string"
	case float64:
		if x == float64(int64(x)) {
			return "integer"
		}
		return "number"
	case []any:
		return "array"
	case map[string]any:
		return "object"
	}
	return "null"
}

func TestSeasonFitsItsSchema(t *testing.T) {
	_, rec, table := fullSeason(t)
	var schema, season map[string]any
	if err := json.Unmarshal(history.Schema, &schema); err != nil {
		t.Fatal(err)
	}
	write := func() {
		var out bytes.Buffer
		if err := rec.WriteJSON(&out, table); err != nil {
			t.Fatal(err)
		}
		season = nil
		if err := json.Unmarshal(out.Bytes(), &season); err != nil {
			t.Fatal(err)
		}
	}
	write()
	if err := fits(schema, season, "season"); err != nil {
		t.Error(err)
	}
	rows := schema["properties"].(map[string]any)["rows"].(map[string]any)["items"].(map[string]any)["properties"].(map[string]any)
	if len(rows) != len(table.Columns) {
		t.Errorf("the schema knows %d keys of a row, the table has %d columns", len(rows), len(table.Columns))
	}
	table.Rows[0][place(table, "kind")] = history.Str("something else")
	write()
	if fits(schema, season, "season") == nil {
		t.Error("an unknown kind of row fits the schema")
	}
}
