package knowledge

import (
	"bytes"
	"encoding/csv"
	"io/fs"
	"os"
	"reflect"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"swardbook/diagnose/checks"
)

// laidOver is the built-in knowledge with a firm's files, by name and text, over it.
func laidOver(files map[string]string) (*Loaded, error) {
	over := fstest.MapFS{}
	for name, text := range files {
		over[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return LoadFS(Overlay(Files(), over, "valley/"))
}

func mustLay(t *testing.T, files map[string]string) *Loaded {
	t.Helper()
	k, err := laidOver(files)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestAFirmAddsItsOwnRows(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	theirs := mustLay(t, map[string]string{
		"links.csv":   "finding,state,cause,word,source\nfootprint_test,stays,shade,rarely,FIRM\n",
		"sources.csv": "key,title,by,year,status\nFIRM,Our own lawns,,2026,practice\n",
	})
	was, _ := ours.Finding("footprint_test")
	is, _ := theirs.Finding("footprint_test")
	if len(is.Rows) != len(was.Rows)+1 {
		t.Errorf("%d rows, want one more than %d", len(is.Rows), len(was.Rows))
	}
	if theirs.Edition == ours.Edition {
		t.Error("other knowledge has the same edition")
	}
	last := theirs.Rests[slices.IndexFunc(theirs.Rests, func(r Rest) bool { return r.Source == "FIRM" })]
	if last.File != "valley/links.csv" || last.Line != 2 {
		t.Errorf("the row is said to be in %s:%d", last.File, last.Line)
	}
}

func TestAFirmReplacesARowInItsPlace(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	theirs := mustLay(t, map[string]string{
		"links.csv": "finding,state,cause,word,source\npattern,uniform,drought_stress,rarely,CP\n",
		"rates.csv": "cause,spring,summer,fall,winter,source\nrust,0.2,0.3,0.4,0.001,CP\n",
	})
	was, _ := ours.Finding("pattern")
	is, _ := theirs.Finding("pattern")
	at := slices.IndexFunc(was.Rows, func(r Row) bool { return r.State == "uniform" && r.Cause == "drought_stress" })
	if len(is.Rows) != len(was.Rows) || is.Rows[at].Word != "rarely" || is.Rows[at].Source != "CP" {
		t.Errorf("%d rows, and the row is %+v", len(is.Rows), is.Rows[at])
	}
	if rust, _ := theirs.Cause("rust"); rust.Rates["fall"] != 0.4 {
		t.Errorf("rust has the rate %v", rust.Rates["fall"])
	}
}

func TestAFirmReplacesAnEntryAndASetting(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	theirs := mustLay(t, map[string]string{
		"sections.json": `[{"id": "stand_back", "label": {"en": "From the street", "es": "Desde la calle"}}]`,
		"settings.json": `{"settings": {"cant_tell": 0.5}}`,
	})
	at := slices.IndexFunc(ours.Bundle.Sections, func(s Section) bool { return s.ID == "stand_back" })
	if got := theirs.Bundle.Sections[at].Label; got != (checks.Text{EN: "From the street", ES: "Desde la calle"}) {
		t.Errorf("the section is called %v", got)
	}
	want := ours.Bundle.Settings
	want.CantTell = 0.5
	if !reflect.DeepEqual(theirs.Bundle.Settings, want) {
		t.Errorf("settings %+v, want only cant_tell changed", theirs.Bundle.Settings)
	}
}

// Every table says by which columns a firm's row finds the one it stands for, and ours have no two rows of one key.
func TestEveryTableHasItsKey(t *testing.T) {
	names, err := fs.Glob(Files(), "*.csv")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		columns, ok := keys[name]
		if !ok {
			t.Errorf("%s: keys does not name it", name)
			continue
		}
		text, err := fs.ReadFile(Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(bytes.NewReader(text))
		r.Comment = '#'
		rows, err := r.ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		seen := map[string]bool{}
		for _, row := range rows {
			key := strings.Join(row[:columns], ",")
			if seen[key] {
				t.Errorf("%s: two rows of the key %s", name, key)
			}
			seen[key] = true
		}
	}
}

// Two layers: a region's files under a firm's.
func TestAFirmLaysItsFilesOverARegions(t *testing.T) {
	rates := func(p string) fstest.MapFS {
		return fstest.MapFS{"rates.csv": {Data: []byte("cause,spring,summer,fall,winter,source\n" + p)}}
	}
	region := rates("rust,0.2,0.2,0.2,0.2,CP\nshade,0.3,0.3,0.3,0.3,CP\n")
	k, err := LoadFS(Overlay(Overlay(Files(), region, "region"), rates("rust,0.1,0.1,0.1,0.1,CP\n"), "firm"))
	if err != nil {
		t.Fatal(err)
	}
	rust, _ := k.Cause("rust")
	shade, _ := k.Cause("shade")
	if rust.Rates["fall"] != 0.1 || shade.Rates["fall"] != 0.3 {
		t.Errorf("rust %v, shade %v", rust.Rates["fall"], shade.Rates["fall"])
	}
}

func TestAFirmsFaultIsNamedInItsOwnFile(t *testing.T) {
	const links = "finding,state,cause,word,source\n# ours\n"
	for name, c := range map[string]struct {
		file, text, want string
	}{
		"an unknown cause":          {"links.csv", links + "pattern,uniform,ghosts,rarely,EJ\n", `valley/links.csv:3: unknown cause "ghosts"`},
		"a row twice":               {"links.csv", links + "footprint_test,stays,shade,rarely,EJ\nfootprint_test,stays,shade,often,EJ\n", `valley/links.csv:4: "footprint_test,stays,shade" is already in valley/links.csv:3`},
		"a replaced row twice":      {"links.csv", links + "pattern,uniform,drought_stress,rarely,EJ\npattern,uniform,drought_stress,often,EJ\n", `valley/links.csv:4: "pattern,uniform,drought_stress" is already in valley/links.csv:3`},
		"no source":                 {"links.csv", links + "pattern,uniform,drought_stress,rarely,\n", `valley/links.csv:3: no source`},
		"words that add up":         {"links.csv", links + "pattern,uniform,drought_stress,nearly-always,EJ\n", `valley/links.csv:3: pattern, drought_stress: the words add to 1.55`},
		"other columns":             {"links.csv", "finding,state\n", `valley/links.csv:1: the columns must be finding,state,cause,word,source`},
		"an empty file":             {"links.csv", "", `valley/links.csv:1: the columns must be`},
		"a misspelt file":           {"link.csv", links, `valley/link.csv:1: there is no file of this name to lay it over`},
		"broken JSON":               {"causes.json", "[{\n  \"id\": \"ants\",,}]", `valley/causes.json:2: invalid character`},
		"not a list":                {"causes.json", `{"id": "ants"}`, `valley/causes.json:1: a list is wanted`},
		"a cause without its parts": {"causes.json", `[{"id": "ants"}]`, `valley/causes.json:1: ants: a label is wanted`},
		"a cause nothing speaks of": {"causes.json", `[{"id": "ants"}]`, `valley/causes.json:1: no finding speaks of ants`},
		"a check of an old kind":    {"checks.json", "[\n{\"id\": \"ant_hills\", \"kind\": \"guess\"}]", `valley/checks.json:2: ant_hills: "guess" is not a kind of check`},
		"a setting out of order":    {"settings.json", `{"settings": {"likely": 0.9}}`, `valley/settings.json:1: likely is above cant_tell`},
		"a loop":                    {"drives.csv", "parent,child,word,source\nweed_moss_invasion,shade,rarely,EJ\n", `valley/drives.csv:2: closes a loop`},
		"bands that leave a gap":    {"bands.csv", "finding,state,low,high,source\nsun_hours,partial,5,6,CP\n", `valley/bands.csv:2: sun_hours: the band must begin where the last one ends, at 4`},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := laidOver(map[string]string{c.file: c.text})
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %s", err, c.want)
			}
		})
	}
}

// A whole folder as a firm would write it: a cause of its own with a check and a finding, and the rates of its region.
func TestAFirmsFolder(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	k, err := LoadFS(Overlay(Files(), os.DirFS("../../testdata/overlay"), "valley"))
	if err != nil {
		t.Fatal(err)
	}
	if got, want := len(k.Bundle.Causes), len(ours.Bundle.Causes)+1; got != want {
		t.Errorf("%d causes, want %d", got, want)
	}
	voles, ok := k.Cause("vole_runs")
	if !ok || voles.Rates["spring"] != 0.08 || voles.Source != "VALLEY" {
		t.Errorf("the firm's cause is %+v", voles)
	}
	if check, ok := k.Check("surface_runs"); !ok || check.Minutes != 1 {
		t.Errorf("the firm's check is %+v", check)
	}
	if f, ok := k.Finding("surface_runs"); !ok || len(f.Rows) != 1 || len(f.Base["all"]) != 3 {
		t.Errorf("the firm's finding is %+v", f)
	}
	drought, _ := k.Cause("drought_stress")
	shade, _ := k.Cause("shade")
	ourShade, _ := ours.Cause("shade")
	if drought.Rates["summer"] != 0.36 || !reflect.DeepEqual(shade, ourShade) {
		t.Errorf("drought %v, shade %v", drought.Rates, shade.Rates)
	}
	if last := k.Bundle.Adjust[len(k.Bundle.Adjust)-1]; last.Cause != "vole_runs" || len(k.Bundle.Adjust) != len(ours.Bundle.Adjust)+1 {
		t.Errorf("the firm's adjustment is %+v", last)
	}
	if again, err := Decode(k.JSON); err != nil || again.Edition != k.Edition {
		t.Errorf("the phone gets %v, %v", again, err)
	}
}

// A folder may hold what is not knowledge.
func TestNotesBesideAFirmsFilesAreLeftAlone(t *testing.T) {
	ours, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	if theirs := mustLay(t, map[string]string{"README.md": "Why we think so.", ".keep": ""}); theirs.Edition != ours.Edition {
		t.Error("notes change the edition")
	}
}
