package knowledge

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"
)

// altered is the built-in knowledge with one file changed: old becomes new at its first place, and an empty old appends.
func altered(t testing.TB, file, old, new string) fs.FS {
	t.Helper()
	files := fstest.MapFS{}
	names, err := fs.Glob(Files(), "*")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		text, err := fs.ReadFile(Files(), name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: text}
	}
	text := string(files[file].Data)
	switch {
	case old == "":
		text += new
	case !strings.Contains(text, old):
		t.Fatalf("%s does not hold %q", file, old)
	default:
		text = strings.Replace(text, old, new, 1)
	}
	files[file].Data = []byte(text)
	return files
}

func TestFaultsAreRefusedByLine(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, want string }{
		{"unknown finding", "links.csv", "", "hat_size,none,shade,often,EJ\n", `links.csv:\d+: unknown finding "hat_size"`},
		{"unknown state", "links.csv", "", "pattern,wavy,shade,often,EJ\n", `links.csv:\d+: unknown state "pattern wavy"`},
		{"unknown cause", "links.csv", "", "pattern,none,ghosts,often,EJ\n", `links.csv:\d+: unknown cause "ghosts"`},
		{"unknown word", "links.csv", "pattern,uniform,drought_stress,sometimes", "pattern,uniform,drought_stress,perhaps", `links.csv:4: "perhaps" is not a word`},
		{"a row without a source", "links.csv", "drought_stress,sometimes,EJ", "drought_stress,sometimes,", `links.csv:4: no source`},
		{"a row with an unknown source", "links.csv", "drought_stress,sometimes,EJ", "drought_stress,sometimes,HEARSAY", `links.csv:4: unknown source "HEARSAY"`},
		{"one unknown source of two", "bands.csv", "UMASS-INS; MSU-TUG", "UMASS-INS; HEARSAY", `bands.csv:\d+: unknown source "HEARSAY"`},
		{"a row twice", "links.csv", "", "pattern,none,drought_stress,rarely,EJ\n", `links.csv:\d+: "pattern,none,drought_stress" is already in links.csv:7`},
		{"words that add to too much", "links.csv", "pattern,uniform,drought_stress,sometimes", "pattern,uniform,drought_stress,nearly-always", `links.csv:7: pattern, drought_stress: the words add to 1.55`},
		{"words for every state that add to too little", "links.csv", "sun_hours,deep_shade,shade,often", "sun_hours,deep_shade,shade,rarely", `links.csv:\d+: sun_hours, shade: the words add to 0.21`},
		{"a missing column", "links.csv", "finding,state,cause,word,source", "finding,state,cause,word", `links.csv:3: the columns must be`},
		{"a missing cell", "links.csv", "pattern,uniform,drought_stress,sometimes,EJ", "pattern,uniform,drought_stress,sometimes", `links.csv:4: 4 columns, want 5`},
		{"a stray quote", "links.csv", "pattern,uniform,drought_stress", `pattern,uni"form,drought_stress`, `links.csv:4: `},
		{"a word above 1", "words.csv", "0.95", "1.95", `words.csv:\d+: p: 1.95 is outside`},
		{"a base that does not add to 1", "baseline.csv", "pattern,none,all,0.78", "pattern,none,all,0.8", `baseline.csv:15: pattern all: the shares add to 1.0200`},
		{"a base that lacks a state", "baseline.csv", "sun_hours,partial,all,0.2,EJ\n", "", `baseline.csv:\d+: sun_hours all: no share for partial`},
		{"a base twice", "baseline.csv", "", "sun_hours,partial,all,0.2,EJ\n", `baseline.csv:\d+: sun_hours partial all is already given`},
		{"a base in no season", "baseline.csv", "", "sun_hours,partial,monsoon,0.2,EJ\n", `baseline.csv:\d+: unknown season "monsoon"`},
		{"a base that is no number", "baseline.csv", "pattern,none,all,0.78", "pattern,none,all,NaN", `baseline.csv:\d+: p: "NaN" is not a number`},
		{"limits out of order", "bands.csv", "core_depth_in,medium,3,6", "core_depth_in,medium,6,3", `bands.csv:\d+: low must be under high`},
		{"a gap between limits", "bands.csv", "core_depth_in,medium,3,6", "core_depth_in,medium,4,6", `bands.csv:\d+: core_depth_in: the band must begin where the last one ends, at 3`},
		{"a state without limits", "bands.csv", "core_depth_in,deep,6,99,CP; MESA-PROBE; CO-WET68\n", "", `bands.csv:\d+: core_depth_in: 2 bands for 3 states`},
		{"a measured finding without limits", "bands.csv", "ph_kit,acid,0,5.8,CORN-PH; KS-FE\nph_kit,ok,5.8,7.4,CORN-PH; KS-FE\nph_kit,alkaline,7.4,14,CORN-PH; KS-FE\n", "", `findings.json:\d+: no bands for ph_kit`},
		{"no measuring error", "errors.csv", "core_depth_in,1,0,CP\n", "", `findings.json:\d+: no measuring error for core_depth_in`},
		{"a measuring error of nothing", "errors.csv", "core_depth_in,1,0", "core_depth_in,0,0", `errors.csv:\d+: no measurement is without error`},
		{"a loop of causes", "drives.csv", "", "weed_moss_invasion,shade,often,EJ\n", `drives.csv:\d+: closes a loop: weed_moss_invasion drives shade drives weed_moss_invasion`},
		{"a cause that drives itself", "drives.csv", "", "shade,shade,often,EJ\n", `drives.csv:\d+: closes a loop`},
		{"a rate over 1", "rates.csv", "shade,0.14", "shade,1.4", `rates.csv:\d+: spring: 1.4 is outside`},
		{"a cause without rates", "rates.csv", "shade,0.14,0.15,0.15,0.12,EJ\n", "", `causes.json:\d+: no rates for shade`},
		{"an unknown condition", "adjust.csv", "visit=routine", "mood=gloomy", `adjust.csv:\d+: when: unknown key "mood"`},
		{"a thirteenth month", "adjust.csv", `"month=6,7"`, `"month=6,13"`, `adjust.csv:\d+: "6,13" is not a rising list of months`},
		{"months out of order", "adjust.csv", `"month=6,7"`, `"month=7,6"`, `adjust.csv:\d+: "7,6" is not a rising list of months`},
		{"an adjustment that does two things", "adjust.csv", ",0.35,,,EJ", ",0.35,0.2,,EJ", `adjust.csv:\d+: exactly one of factor`},
		{"an adjustment on an unseen state", "adjust.csv", "seed=new", "finding:species=wheat", `adjust.csv:\d+: unknown state "wheat"`},
		{"a group of one", "groups.csv", "tug_test billbug_sign", "tug_test", `groups.csv:\d+: a group has at least two`},
		{"an ignored reading in no state", "ignore.csv", "dry_all", "dry_some", `ignore.csv:\d+: unknown state "moisture_profile dry_some"`},
		{"a source with no status", "sources.csv", ",judgement", ",rumour", `sources.csv:\d+: "rumour" is not a status`},
		{"an unknown field", "checks.json", `"kind": "choice"`, `"colour": 3, "kind": "choice"`, `checks.json:5: .*unknown field "colour"`},
		{"a broken file", "checks.json", `"kind": "choice",`, `"kind": "choice"`, `checks.json:6: invalid character`},
		{"a number for a text", "causes.json", `"plan": "water-more"`, `"plan": 3`, `causes.json:\d+: .*cannot unmarshal number`},
		{"a check twice", "checks.json", `"id": "colour"`, `"id": "pattern"`, `checks.json:\d+: "pattern" is already in checks.json:2`},
		{"an unknown section", "checks.json", `"section": "stand_back"`, `"section": "attic"`, `checks.json:2: unknown section "attic"`},
		{"an unknown aid", "checks.json", `"aid": "cans"`, `"aid": "guess"`, `checks.json:\d+: catch_can_du: "guess" is not an aid`},
		{"an unknown kind", "checks.json", `"kind": "choice"`, `"kind": "guess"`, `checks.json:2: pattern: "guess" is not a kind`},
		{"a check that yields what is unknown", "checks.json", `"finding": "pattern"`, `"finding": "patern"`, `checks.json:2: unknown finding "patern"`},
		{"a finding that no check yields", "checks.json", `"finding": "footprint_test"`, `"finding": "animal_digging"`, `findings.json:\d+: no check yields the finding footprint_test`},
		{"an option that is no state", "checks.json", `"id": "irregular_patches"`, `"id": "blotches"`, `checks.json:2: pattern: the options are not the states`},
		{"a range of one number", "checks.json", `"min_n": 4`, `"min_n": 1`, `checks.json:\d+: core_depth_in: a range needs`},
		{"bounds out of order", "checks.json", `"usual": {"low": 0, "high": 14}`, `"usual": {"low": 0, "high": 40}`, `checks.json:\d+: sun_hours: the bounds are out of order`},
		{"a label in one language", "checks.json", `"es": "Color"`, `"es": ""`, `checks.json:\d+: colour: a label is wanted in both languages`},
		{"a missing list", "groups.csv", "findings,source", "things,source", `groups.csv:2: the columns must be findings,source`},
		{"an action for nothing", "actions.json", `"cause": "shade"`, `"cause": "fog"`, `actions.json:\d+: unknown cause "fog"`},
		{"a caution for nowhere", "cautions.json", `["heat"]`, `["attic"]`, `cautions.json:\d+: unknown place "attic"`},
		{"thresholds out of order", "settings.json", `"likely": 0.25`, `"likely": 0.5`, `settings.json:7: likely is above cant_tell`},
		{"sure below can't tell", "settings.json", `"sure": 0.5`, `"sure": 0.3`, `settings.json:\d+: sure lies between cant_tell and 1`},
		{"a weakening called strong", "settings.json", `"strong": 10`, `"strong": 0.5`, `settings.json:\d+: strong is a factor of 1 or more`},
		{"eleven months", "settings.json", `["winter", "winter", "winter",`, `["winter", "winter",`, `settings.json:4: season_of has 11 months`},
		{"limits that overlap", "bands.csv", "core_depth_in,medium,3,6", "core_depth_in,medium,2,6", `bands.csv:\d+: core_depth_in: the band must begin where the last one ends, at 3`},
		{"two bands for a state", "bands.csv", "core_depth_in,deep,6,99", "core_depth_in,medium,6,99", `bands.csv:\d+: core_depth_in medium has two bands`},
		{"a limit that is no number", "bands.csv", "core_depth_in,medium,3,6", "core_depth_in,medium,3,deep", `bands.csv:\d+: high: "deep" is not a number`},
		{"a chance under 0", "baseline.csv", "pattern,none,all,0.78", "pattern,none,all,-0.78", `baseline.csv:\d+: p: -0.78 is outside`},
		{"a severity over 1", "causes.json", `"severity": 0.6,`, `"severity": 1.6,`, `causes.json:\d+: .*severity lies between 0 and 1`},
		{"a share over 1", "settings.json", `"other_rate": 0.1`, `"other_rate": 1.1`, `settings.json:\d+: other_rate lies between 0 and 1`},
		{"settings without a source", "settings.json", `"source": "EJ"`, `"source": ""`, `settings.json:\d+: no source`},
		{"a drive twice", "drives.csv", "", "shade,weed_moss_invasion,rarely,EJ\n", `drives.csv:\d+: "shade,weed_moss_invasion" is already in drives.csv:\d+`},
		{"a drive by an unknown word", "drives.csv", "drought_stress,weed_moss_invasion,sometimes", "drought_stress,weed_moss_invasion,mostly", `drives.csv:\d+: "mostly" is not a word`},
		{"a loop of three", "drives.csv", "", "drought_stress,traffic_wear,rarely,EJ\n", `drives.csv:\d+: closes a loop: drought_stress drives traffic_wear drives soil_compaction drives drought_stress`},
		{"an adjustment twice", "adjust.csv", "", "soil_compaction,visit=routine,,0.7,,,EJ\n", `adjust.csv:\d+: "soil_compaction, visit=routine" is already in adjust.csv:\d+`},
		{"a group twice", "groups.csv", "", "billbug_sign tug_test,EJ\n", `groups.csv:\d+: "billbug_sign tug_test" is already in groups.csv:\d+`},
		{"a rule twice", "ignore.csv", "", "penetration,,moisture_profile,dry_all,EJ\n", `ignore.csv:\d+: "penetration,,moisture_profile" is already in ignore.csv:\d+`},
		{"a measuring error twice", "errors.csv", "", "core_depth_in,2,0,CP\n", `errors.csv:\d+: "core_depth_in" is already in errors.csv:\d+`},
		{"rates twice", "rates.csv", "", "shade,0.1,0.1,0.1,0.1,EJ\n", `rates.csv:\d+: "shade" is already in rates.csv:\d+`},
		{"a source twice", "sources.csv", "", "EJ,Judgement,,,judgement\n", `sources.csv:\d+: "EJ" is already in sources.csv:\d+`},
		{"a word twice", "words.csv", "", "often,0.6,EJ\n", `words.csv:\d+: "often" is already in words.csv:\d+`},
		{"a cause twice", "causes.json", `"id": "sprinkler_coverage"`, `"id": "drought_stress"`, `causes.json:\d+: "drought_stress" is already in causes.json:2`},
		{"a cause without a step", "actions.json", `"cause": "red_thread"`, `"cause": "shade"`, `causes.json:\d+: no action for red_thread`},
		{"limits of a grass that leave a gap", "bands_by.csv", "root_depth_in,species,tf,medium,3,6", "root_depth_in,species,tf,medium,4,6", `bands_by.csv:\d+: root_depth_in: the band must begin where the last one ends, at 3`},
		{"limits of a grass that lack a state", "bands_by.csv", "root_depth_in,species,tf,deep,6,99,TURGEON; EJ\n", "", `bands_by.csv:\d+: root_depth_in: 2 bands for 3 states`},
		{"limits of an unknown grass", "bands_by.csv", "root_depth_in,species,tf,deep", "root_depth_in,species,wheat,deep", `bands_by.csv:\d+: unknown state "species wheat"`},
		{"limits that hang on a number", "bands_by.csv", "", "sun_hours,thatch_in,thin,deep_shade,0,3,EJ\n", `bands_by.csv:\d+: thatch_in is measured or has several signs`},
		{"two limits at once", "bands_by.csv", "", "sun_hours,species,kbg ff,deep_shade,0,3,EJ\n", `bands_by.csv:\d+: sun_hours: two sets of bands may hold at once`},
		{"limits of what is not measured", "bands_by.csv", "", "pattern,species,ff,none,0,3,EJ\n", `bands_by.csv:\d+: pattern: bands of its own and other_states are wanted`},
		{"text after a list", "sections.json", "", "[]", `sections.json:\d+: text after the end`},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := LoadFS(altered(t, c.file, c.old, c.new))
			if err == nil {
				t.Fatal("the fault was not seen")
			}
			if !regexp.MustCompile(c.want).MatchString(err.Error()) {
				t.Errorf("got %q, want %q", err, c.want)
			}
		})
	}
}

// linesWithout is what stays of a built-in table without the rows that match.
func linesWithout(t *testing.T, file, match string) []byte {
	t.Helper()
	text, err := fs.ReadFile(Files(), file)
	if err != nil {
		t.Fatal(err)
	}
	return regexp.MustCompile("(?m)^"+match+".*\n").ReplaceAll(text, nil)
}

// refusedWith lays whole files over a copy of the built-in knowledge and returns the faults.
func refusedWith(t *testing.T, files map[string][]byte) string {
	t.Helper()
	all := altered(t, "words.csv", "0.95", "0.95").(fstest.MapFS)
	for name, text := range files {
		all[name] = &fstest.MapFile{Data: text}
	}
	_, err := LoadFS(all)
	if err == nil {
		t.Fatal("the fault was not seen")
	}
	return err.Error()
}

func TestACauseThatNoCheckTellsFromAnotherIsRefused(t *testing.T) {
	links := string(linesWithout(t, "links.csv", `[a-z_]+,[a-z_0-9]+,rust,`))
	for _, row := range regexp.MustCompile(`(?m)^.*,red_thread,.*\n`).FindAllString(links, -1) {
		links += strings.Replace(row, ",red_thread,", ",rust,", 1)
	}
	got := refusedWith(t, map[string][]byte{"links.csv": []byte(links)})
	if !regexp.MustCompile(`causes.json:\d+: no check can tell rust from red_thread: they have the same links in every finding`).MatchString(got) {
		t.Error(got)
	}
}

func TestACauseThatNothingSpeaksOfIsRefused(t *testing.T) {
	got := refusedWith(t, map[string][]byte{"links.csv": linesWithout(t, "links.csv", `[a-z_]+,[a-z_0-9]+,rust,`)})
	if !regexp.MustCompile(`causes.json:\d+: no finding speaks of rust: no check can tell it from nothing wrong`).MatchString(got) {
		t.Error(got)
	}
}

func TestACheckThatNothingUsesIsRefused(t *testing.T) {
	got := refusedWith(t, map[string][]byte{"links.csv": linesWithout(t, "links.csv", "sun_hours,")})
	if !regexp.MustCompile(`checks.json:\d+: nothing uses the check sun_hours: no link, adjustment or rule speaks of what it yields`).MatchString(got) {
		t.Error(got)
	}
}

func TestAMissingFileIsNamed(t *testing.T) {
	_, err := LoadFS(fstest.MapFS{})
	if err == nil || !strings.Contains(err.Error(), "links.csv:1: ") {
		t.Errorf("got %v", err)
	}
}

func TestRoundingOfABaseIsMended(t *testing.T) {
	k, err := LoadFS(altered(t, "baseline.csv", "pattern,none,all,0.78", "pattern,none,all,0.7805"))
	if err != nil {
		t.Fatal(err)
	}
	f, _ := k.Finding("pattern")
	sum := 0.0
	for _, p := range f.Base["all"] {
		sum += p
	}
	if sum < 1-1e-12 || sum > 1+1e-12 {
		t.Errorf("the shares add to %v", sum)
	}
}
