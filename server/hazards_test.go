package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var (
	hazardRow = regexp.MustCompile(`(?m)^\| ([A-E]\d+(?:, [A-E]\d+)*) [^|]+\|([^|]+)\|([^|]+)\|$`)
	ticked    = regexp.MustCompile("`([^`]+)`")
)

// TestHazardsNameTheirProof: every hazard of DEVELOPERS.md has its row, and every proof it names is a test that is there.
func TestHazardsNameTheirProof(t *testing.T) {
	text, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	tests := everyTest(t)
	seen := map[string]bool{}
	for _, row := range hazardRow.FindAllStringSubmatch(string(text), -1) {
		for name := range strings.SplitSeq(row[1], ", ") {
			seen[name] = true
		}
		for _, proof := range ticked.FindAllStringSubmatch(row[3], -1) {
			if !strings.Contains(tests, "func "+proof[1]+"(") && !strings.Contains(tests, "'"+proof[1]+"'") && !strings.Contains(tests, "`"+proof[1]+"`") {
				t.Errorf("%s: there is no test %q", row[1], proof[1])
			}
		}
	}
	for letter, last := range map[string]int{"A": 11, "B": 13, "C": 10, "D": 11, "E": 3} {
		for n := 1; n <= last; n++ {
			if name := letter + string(rune('0'+n/10)) + string(rune('0'+n%10)); !seen[strings.Replace(name, letter+"0", letter, 1)] {
				t.Errorf("hazard %s has no row", name)
			}
		}
	}
}

// everyTest is the text of all tests of the office and of the phone.
func everyTest(t *testing.T) string {
	t.Helper()
	var all strings.Builder
	for _, pattern := range []string{"*_test.go", "../web/*_test.go", "../web/field/*_test.go", "../store/*/*_test.go", "../static/jstest/*.test.js"} {
		files, err := filepath.Glob(pattern)
		if err != nil || len(files) == 0 {
			t.Fatal(pattern, err)
		}
		for _, file := range files {
			text, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			all.Write(text)
		}
	}
	return all.String()
}
